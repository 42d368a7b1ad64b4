"""Make a learner's edition: gather what goes in, look through every byte of it, write the archive.

What is written into the archive are the very bytes that were looked through.
"""

import io
import json
import zipfile
from dataclasses import dataclass
from pathlib import Path

from fuelkit.assess.choice import chosen_aircraft, course_file
from fuelkit.assess.edition.contents import DATA, collected, load_contents
from fuelkit.assess.edition.first_page import course_toml, first_page, readme
from fuelkit.assess.integrity.scan import scan_items
from fuelkit.assess.integrity.scan_items import Finding, Item
from fuelkit.assess.integrity.scan_rules import squeezed
from fuelkit.assess.sheet import FORMAT, write_bytes_atomically
from fuelkit.physics.errors import FuelkitError

FOLDER = "fuel-course"
"""The folder into which the archive unpacks."""

PAPER_FILES = ("paper.ipynb", "paper.json")
"""What goes in of a learner's paper."""

_COURSE, _FIRST, _README = "lessons/course.toml", "lessons/00_start_here.ipynb", "README.md"
_TOLD = 20  # reasons
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first date that a zip archive can hold: the same always
_PLAIN_FILE = 0o100644 << 16  # a plain file that everybody can read


class EditionError(FuelkitError):
    """A course cannot be given out; the message says why."""


@dataclass(frozen=True)
class Edition:
    """A learner's edition that may be given out, or the reasons why not. Frozen.

    files : dict of str to bytes
        By path in the folder of the course, in order.
    refused : tuple of Finding
    """

    files: dict
    refused: tuple

    @property
    def why_refused(self):
        """The reasons, a line each; the first ones where there are many."""
        more = len(self.refused) - _TOLD
        rest = (f"and {more} more.",) if more > 0 else ()
        return (*(str(finding) for finding in self.refused[:_TOLD]), *rest)


def course_edition(root, secrets=()):
    """Return the files of the edition that a course's own settings ask for, by their paths.

    Parameters
    ----------
    root : Path
        The folder of the course.
    secrets : sequence of str or bytes
        As in `make_edition`.

    Raises
    ------
    EditionError
        If something in it is not for learners, or its aircraft's file is missing; names each.
    """
    aircraft = chosen_aircraft(root)
    if aircraft.endswith(".toml") and not Path(aircraft).is_file():
        raise EditionError(f"The course is taught on {aircraft}, and there is no such file.")
    school = course_file(root).school
    edition = make_edition(root, aircraft=aircraft, school=school, secrets=secrets)
    if edition.refused:
        why = "\n".join(edition.why_refused)
        raise EditionError(f"Learners must not get this; take it away first:\n{why}")
    return edition.files


def make_edition(root, *, aircraft="", school="", papers=(), secrets=(), others=()):
    """Return the learner's edition of a course.

    Parameters
    ----------
    root : str or Path
        The folder of the course.
    aircraft : str
        Name in the kit, or path of a file, that the edition is taught on; its file goes in.
    school : str
        Printed on the first page and on sheets.
    papers : sequence of (str, Path)
        Papers of one learner: the name of each and the folder with its two files.
    secrets : sequence of str or bytes
        What must not occur in any file; see `integrity.scan`.
    others : sequence of str
        Codes of other learners, which must not occur in the papers.
    """
    contents, root = load_contents(), Path(root)
    own = Path(aircraft) if aircraft.endswith(".toml") else None
    place = f"lessons/{own.name}" if own else ""
    found = list(collected(root, contents, (place,) if place else ()))
    items = {f.place: f for f in found if isinstance(f, Item)}
    faults = [f for f in found if isinstance(f, Finding)]
    if own:
        items[place] = Item(place, own.read_bytes())
    for name, folder in papers:
        _add_paper(items, faults, f"papers/{name}", Path(folder))
    _adapt(items, own.name if own else aircraft, school, [name for name, _ in papers])
    faults += [Finding(n, "it is missing from the course") for n in contents.needed
               if n not in items]  # fmt: skip
    faults += [f for item in items.values() for f in (*_pasted(item), *_sheets(item))]
    faults += scan_items(items.values(), secrets)
    if others:
        faults += scan_items([i for i in items.values() if i.place.startswith("papers/")], others)
    kept = [f for f in set(faults) if not contents.is_excused(f)]
    refused = tuple(sorted(kept, key=lambda f: (f.place, f.why)))
    return Edition({p: items[p].data for p in sorted(items)} if not refused else {}, refused)


def _add_paper(items, faults, place, folder):
    for name in PAPER_FILES:
        path = folder / name
        if path.is_symlink() or not path.is_file():
            faults.append(Finding(f"{place}/{name}", f"there is no plain file '{path}'"))
        else:
            items[f"{place}/{name}"] = Item(f"{place}/{name}", path.read_bytes())


def _adapt(items, aircraft, school, papers):
    """Put in what is the edition's own: settings, the school on the first page, the README."""
    if aircraft or school:
        items[_COURSE] = Item(_COURSE, course_toml(aircraft, school).encode())
    if school and _FIRST in items:
        items[_FIRST] = Item(_FIRST, first_page(items[_FIRST].data, school))
    text = (DATA / _README).read_text(encoding="utf-8")
    items[_README] = Item(_README, readme(text, school, papers).encode())


def _pasted(item):
    """Yield why a notebook is refused for what is pasted into it and cannot be looked into."""
    if not item.place.endswith(".ipynb"):
        return
    try:
        cells = json.loads(item.data)["cells"]
        pasted = any(cell.get("attachments") for cell in cells)
    except (ValueError, RecursionError, KeyError, TypeError, AttributeError):
        yield Finding(item.place, "it is damaged: it is no whole notebook")
        return
    if pasted:
        yield Finding(item.place, "it holds a picture that was pasted in, which cannot be read")


def _sheets(item):
    """Yield that a file is an answer sheet, also one without an answer: nobody gives that out."""
    text = squeezed(item.data.decode("utf-8", "replace"))
    if f'"format":"{squeezed(FORMAT)}"' in text:
        yield Finding(item.place, "it is a learner's answer sheet")


def zipped(files):
    """Return files as the bytes of a zip archive: the same files, the same bytes.

    In their order, with one date for all; packed by this Python's zlib, whose versions may differ.

    Parameters
    ----------
    files : dict of str to bytes
        By their paths in the archive.
    """
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for place, data in files.items():
            about = zipfile.ZipInfo(place, _EARLIEST)
            about.compress_type, about.external_attr = zipfile.ZIP_DEFLATED, _PLAIN_FILE
            about.create_system = 3  # modes as on Unix, whatever the machine
            packed.writestr(about, data)
    return memory.getvalue()


def write_archive(edition, path):
    """Write an edition as a zip archive; a stop at any instant leaves the old one or the new one.

    Raises
    ------
    ValueError
        If the edition is refused: then there is nothing to write.
    OSError
        If the file cannot be written.
    """
    if edition.refused or not edition.files:
        raise ValueError("edition: it is refused, so there is nothing to write.")
    path = Path(path)
    inner = {f"{FOLDER}/{place}": data for place, data in edition.files.items()}
    write_bytes_atomically(path, zipped(inner))
    path.chmod(0o644)  # made to be passed on
