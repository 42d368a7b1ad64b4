"""What goes into a learner's edition: a list of what is taken, never of what is left out.

The files come from the folder of the course as they lie there, with or without a history of
versions. Whatever lies in a folder that goes in and is not on the list is told, so that nobody
believes it was given out, and nothing is given out that nobody thought of.
"""

import os
from dataclasses import dataclass
from fnmatch import fnmatchcase
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, read_toml
from fuelkit.assess.integrity.scan import LARGEST_BYTES
from fuelkit.assess.integrity.scan_items import Finding, file_item
from fuelkit.assess.integrity.scan_rules import why_name

SCHEMA = 1
DATA = resources.files("fuelkit.assess.edition") / "data"
_LIST = "learners_edition.toml"
_UNKNOWN = "it is of no kind that a learner's edition holds; move it out of this folder"


@dataclass(frozen=True)
class Contents:
    """The list. Frozen.

    goes_in : tuple of str
        Patterns of paths in the course.
    needed : tuple of str
        Files without which an edition would not start.
    passed_over : tuple of str
        Names that are made on each machine: never in, and no fault.
    excused : dict of str to tuple of str
        By file of the kit, what the scan would say of it without cause.
    """

    goes_in: tuple
    needed: tuple
    passed_over: tuple
    excused: dict

    def takes(self, place):
        """Whether the list has a path, such as "lessons/course.toml"."""
        parts = place.split("/")
        return any(_fits(parts, pattern.split("/")) for pattern in self.goes_in)

    @property
    def folders(self):
        """The folders at the top of the course from which files are taken."""
        return tuple(dict.fromkeys(p.split("/")[0] for p in self.goes_in if "/" in p))

    def is_excused(self, finding):
        """Whether a finding only says of a program of the kit that it deals with such things."""
        known = self.excused.get(finding.place, ())
        return any(finding.why == why or finding.why.startswith(f"{why} (") for why in known)


def _fits(parts, pattern):
    if not pattern:
        return not parts
    if pattern[0] == "**":
        return any(_fits(parts[i:], pattern[1:]) for i in range(len(parts)))
    return bool(parts) and fnmatchcase(parts[0], pattern[0]) and _fits(parts[1:], pattern[1:])


def load_contents():
    """Return the list of the kit.

    Raises
    ------
    DataFileError
        If its file has faults; all are listed.
    """
    found = []
    section = Table(read_toml(Path(str(DATA / _LIST))), _LIST, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", "another", f"this kit reads version {SCHEMA}")
    excused = section.tables("excused")
    contents = Contents(
        section.texts("goes_in"),
        section.texts("needed"),
        section.texts("passed_over"),
        {table.text("file"): table.texts("whys") for table in excused},
    )
    for table in excused:
        table.finish()
    section.finish()
    if found:
        raise DataFileError(_LIST, found)
    return contents


def collected(root, contents, more=()):
    """Yield an Item for each file of a course that goes in, a Finding for each that may not.

    Parameters
    ----------
    root : Path
        The folder of the course.
    contents : Contents
    more : sequence of str
        Paths that go in besides, such as an aircraft's file among the lessons.
    """
    root = Path(root)
    for pattern in contents.goes_in:
        if "/" not in pattern and (root / pattern).exists():
            yield file_item(root / pattern, pattern, LARGEST_BYTES)
    for folder in contents.folders:
        if (root / folder).is_symlink():
            yield Finding(folder, "it is a link, which may lead out of the course")
        elif (root / folder).is_dir():
            yield from _walked(root / folder, folder, contents, set(more))


def _walked(folder, place, contents, more):
    for entry in sorted(os.scandir(folder), key=lambda e: e.name):
        inner = f"{place}/{entry.name}"
        if entry.name in contents.passed_over:
            continue
        if entry.is_symlink():
            yield Finding(inner, "it is a link, which may lead out of the course")
        elif why := _why_name(entry.name, inner, contents):
            yield Finding(inner, why)
        elif entry.is_dir():
            yield from _walked(entry.path, inner, contents, more)
        elif contents.takes(inner) or inner in more:
            yield file_item(entry.path, inner, LARGEST_BYTES)
        else:
            yield Finding(inner, _UNKNOWN)


def _why_name(name, place, contents):
    why = why_name(name)
    return "" if why is None or contents.is_excused(Finding(place, why)) else why
