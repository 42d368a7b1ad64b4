"""Mark the papers in a folder, sitting by sitting, and write what is made of them."""

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, read_toml
from fuelkit.assess.exports.mark_sheet import mark_sheet
from fuelkit.assess.exports.oneroster import Gradebook, Sitting, oneroster
from fuelkit.assess.exports.qti import qti_package
from fuelkit.assess.exports.statements import statements
from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.log import head
from fuelkit.assess.integrity.sittings import paper_name, sittings
from fuelkit.assess.mark_folder import set_aside_csv
from fuelkit.assess.papers.issue import LOG_FILE, over_cores
from fuelkit.assess.papers.mark_sitting import mark_sitting
from fuelkit.assess.papers.reporting import class_report, records
from fuelkit.assess.sheet import SheetError, read_sheet, write_atomically
from fuelkit.show.papers.reports import class_pages, feedback

EXPORTS = ("oneroster", "qti", "statements")
"""What can be written besides the mark sheet."""

NEED_RECEIVER = ("oneroster", "statements")
"""Exports in which the receiving system's own names stand."""

SCHEMA = 1
"""Version of the file with these names."""


def sittings_in(folder):
    """Return the names of the sittings whose papers lie in a folder."""
    known, found = [s.name for s in sittings(instructor_folder(folder))], set()
    for sheet in _sheets(folder):
        found.update(name for name in known if sheet.unit == paper_name(name, sheet.learner))
    return sorted(found)


def has_exercises(folder):
    """Return whether a sheet of an exercise lies in a folder."""
    return any(sheet.unit.startswith("exercise-") for sheet in _sheets(folder))


def _sheets(folder):
    """The sheets in a folder that can be read."""
    for path in Path(folder).glob("*.json"):
        try:
            yield read_sheet(path)
        except SheetError:
            continue


def read_receiver(path):
    """Return what a receiving system calls the school and the class, from a file.

    Parameters
    ----------
    path : str or Path
        TOML with `schema`, `school`, `class_group`, `category`, `session` (that system's own
        identifiers) and `home_page` (an address of the school's, under which learner codes and
        papers are named; nothing is fetched from it).

    Raises
    ------
    DataFileError
        With every fault.
    """
    path, found = Path(path), []
    section = Table(read_toml(path), path.name, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", "another", f"this kit reads version {SCHEMA}")
    names = ("school", "class_group", "category", "session", "home_page")
    receiver = {name: section.text(name) for name in names}
    section.finish()
    if found:
        raise DataFileError(path.name, found)
    return receiver


def mark_papers(
    name, sheets, out, *, exports=(), receiver=None, page="A4",
    progress=lambda done, total: None, work=None,
):  # fmt: skip
    """Mark the papers of one sitting and write everything; return the marked sitting.

    Parameters
    ----------
    name : str
        Of the sitting.
    sheets, out : Path
    exports : sequence of str
        Some of `EXPORTS`.
    receiver : dict of str to str, optional
        As `read_receiver` returns it; those of `NEED_RECEIVER` cannot do without.
    page : str
        Size of the printed pages.
    progress : callable
    work : callable, optional
        Maps a function over a sequence, such as that of a cluster; by default over the cores.
    """
    folder = instructor_folder(sheets)
    marked = mark_sitting(folder, name, sheets, progress, work)
    place = Path(out) / name
    (place / "feedback").mkdir(parents=True, exist_ok=True)
    write_atomically(place / "set-aside.csv", set_aside_csv(marked.set_aside))
    if not marked.papers:
        return marked
    report, share = class_report(marked), marked.plan["pass share"]
    told = [(paper.sheet.learner, feedback(paper, share)) for paper in marked.papers]
    for _ in (work or over_cores)(partial(_write_feedback, place / "feedback", page), told):
        pass
    kept_head = " ".join(head(folder / LOG_FILE).printed.split())
    pages = class_pages(marked, report, kept_head)
    write_atomically(place / "class-report.html", pages.html())
    (place / "class-report.pdf").write_bytes(pages.pdf(page))
    rows = records(marked)
    notes = {p.sheet.learner: "written reasons not marked yet" for p in marked.papers
             if p.open_reasons}  # fmt: skip
    (place / "mark-sheet.csv").write_bytes(mark_sheet(rows, share, notes))
    _export(place, name, marked, rows, exports, receiver)
    return marked


def _write_feedback(folder, page, told):
    """Write one learner's feedback, to read and to print; a code and its pieces are handed in."""
    code, sheet = told
    base = folder / code
    write_atomically(base.with_suffix(".html"), sheet.html())
    base.with_suffix(".pdf").write_bytes(sheet.pdf(page))


def _export(place, name, marked, rows, exports, receiver):
    now = datetime.now(UTC)
    if "oneroster" in exports:
        sitting = Sitting(name, marked.plan["title"], now.date(), now.date(), now)
        names = ("school", "class_group", "category", "session")
        book = Gradebook(**{field: receiver[field] for field in names})
        _write_all(place / "oneroster", oneroster(rows, sitting, book))
    if "qti" in exports:
        _write_all(place / "qti", qti_package(rows))
    if "statements" in exports:
        data = statements(rows, now, receiver["home_page"], marked.plan["pass share"])
        (place / "statements.json").write_bytes(data)


def _write_all(folder, files):
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        (folder / name).write_bytes(data)
