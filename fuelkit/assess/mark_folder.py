"""Mark a folder of answer sheets: every sound sheet is marked, every other one named and set aside.

A sheet is data. Nothing in it is run, and one bad sheet never stops the others.
"""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.answer_file import SIGN_IN
from fuelkit.assess.answers import answers
from fuelkit.assess.choice import chosen_aircraft
from fuelkit.assess.exports.cells import text_cell
from fuelkit.assess.flights import flight_for, flight_of
from fuelkit.assess.integrity.sittings import is_paper
from fuelkit.assess.marking import PASS_SHARE, Totals, mark_board
from fuelkit.assess.sheet import Sheet, SheetError, read_sheet, write_atomically
from fuelkit.assess.teach import unit_for


@dataclass(frozen=True)
class MarkedSheet(Totals):
    """A sheet with its marks, board by board. Frozen."""

    file: str
    sheet: Sheet
    title: str
    boards: tuple


@dataclass(frozen=True)
class SetAside:
    """A file that was not marked, and why. Frozen.

    is_fault : bool
        False for a sheet that is left alone as it should be: of a lesson, of practice, or of a
        kind that is marked otherwise.
    """

    file: str
    reason: str
    is_fault: bool = True


class NotMarkedError(SheetError):
    """A sheet that is not marked here: of a lesson, of practice, or of the other kind."""


def mark_sheet(sheet, file=""):
    """Return the marks of one sheet, board by board, against the computed flight.

    Parameters
    ----------
    sheet : Sheet
    file : str
        Name of its file, for the mark sheet.

    Returns
    -------
    MarkedSheet

    Raises
    ------
    SheetError
        If it is no exercise of this kit, was answered for another aircraft file, has answers to
        boards that the exercise does not have, was not handed in, or was changed afterwards.
    """
    unit = _unit_of(sheet)
    history = flight_of(unit.aircraft, unit.sector)
    if sheet.aircraft != history.aircraft.fingerprint:
        raise SheetError(
            f"it was answered for another edition of the aircraft file ({sheet.aircraft[:16]}; "
            f"here it is {history.aircraft.fingerprint})"
        )
    known = {board.name: {a.identifier for a in board.asks} for board in unit.boards}
    for name, entry in sheet.answers.items():
        if name not in known or not set(entry["given"]) <= known[name]:
            raise SheetError(f"it answers something that is not asked ({name[:40]!r})")
    _check_hand_in(sheet)
    boards = tuple(
        mark_board(
            board,
            answers(flight_for(unit, board), board),
            sheet.answers.get(board.name, {}).get("given", {}),
        )
        for board in unit.boards
    )
    return MarkedSheet(file, sheet, unit.title, boards)


def _unit_of(sheet):
    if sheet.unit.startswith("practice-"):
        raise NotMarkedError("it is practice, which is not marked")
    try:
        unit = unit_for(sheet.unit, chosen_aircraft())
    except DataFileError:
        raise SheetError(f"it belongs to no exercise of this kit ({sheet.unit[:40]!r})") from None
    if unit.kind != "exercise":
        raise NotMarkedError(f"it belongs to the lesson '{unit.title}', which is not marked")
    return unit


def _check_hand_in(sheet):
    if not sheet.answers:
        raise SheetError("it has no answers")
    if not sheet.handed_in:
        raise SheetError("it was not handed in; ask the learner to do so")
    if sheet.receipt != sheet.true_receipt():
        raise SheetError("it was changed after it was handed in: the receipt does not fit")


def mark_folder(folder, progress=lambda done, total: None, *, papers_too=False):
    """Mark every sheet of an exercise in a folder.

    Parameters
    ----------
    folder : str or Path
        Sheets are its files that end in .json; hidden ones are left out, sub-folders too.
    progress : callable
        Called with how many files are done and how many there are.
    papers_too : bool
        Whether papers may lie there that are marked with their sitting: they are passed over.

    Returns
    -------
    marked : tuple of MarkedSheet
        By exercise and learner.
    set_aside : tuple of SetAside

    Raises
    ------
    NotADirectoryError
        If there is no such folder.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise NotADirectoryError(f"'{folder}' is not a folder; name the one with the sheets.")
    files = sheet_files(folder)
    marked, aside, progress_total = [], [], len(files)
    for done, path in enumerate(files, start=1):
        try:
            if not path.is_file() or path.is_symlink():
                raise SheetError("it is not a plain file")
            sheet = read_sheet(path)
            if not (papers_too and is_paper(sheet.unit)):
                marked.append(mark_sheet(sheet, path.name))
        except SheetError as problem:
            is_fault = not isinstance(problem, NotMarkedError)
            aside.append(SetAside(path.name, str(problem), is_fault))
        progress(done, progress_total)
    marked, doubled = without_doubles(marked)
    return tuple(sorted(marked, key=_order)), tuple(sorted(aside + doubled, key=lambda a: a.file))


def _order(marked):
    return marked.sheet.unit, marked.sheet.learner, marked.file


def without_doubles(marked):
    """Return sheets that stand alone, and the others as SetAside: nobody guesses which counts.

    Of files that hold the very same sheet the first stands alone, and the others are copies of it.

    Parameters
    ----------
    marked : sequence
        Marked sheets, each with its `sheet` and its `file`.
    """
    groups = {}
    for item in marked:
        groups.setdefault((item.sheet.unit, item.sheet.learner), []).append(item)
    single, doubled = [], []
    for items in groups.values():
        first, *rest = items
        if all(item.sheet == first.sheet for item in rest):
            single.append(first)
            copy = f"it is the same sheet as {first.file}, which is marked"
            doubled += [SetAside(item.file, copy, is_fault=False) for item in rest]
            continue
        for item in items:
            others = ", ".join(other.file for other in items if other is not item)
            reason = f"learner {item.sheet.learner} has more than one sheet (also {others})"
            doubled.append(SetAside(item.file, f"{reason}; keep the one that counts"))
    return single, doubled


def sheet_files(folder):
    """Return the files of a folder that ought to be answer sheets, by name.

    Those that end in .json; hidden ones are left out, sub-folders too.
    """
    return sorted(
        path
        for path in Path(folder).iterdir()
        if path.suffix == ".json" and path.name[0] != "." and path.name != SIGN_IN
    )


def mark_sheet_csv(marked, pass_share=PASS_SHARE):
    """Return the mark sheet as CSV text: one line a learner and exercise.

    No cell begins with a sign that a spreadsheet would take for a formula: codes and names are
    checked when sheets are read, and `exports.cells.text_cell` guards the rest.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = (
        "learner",
        "exercise",
        "marks",
        "of",
        "percent",
        "result",
        "handed in",
        "receipt",
        "file",
    )
    writer.writerow(head)
    for item in marked:
        sheet = item.sheet
        result = "pass" if item.has_passed(pass_share) else "not yet"
        row = (
            sheet.learner, sheet.unit, f"{item.marks:.1f}", f"{item.full:.1f}",
            f"{100 * item.share:.0f}", result, sheet.handed_in, sheet.receipt, item.file,
        )  # fmt: skip
        writer.writerow([text_cell(str(cell)) for cell in row])
    return out.getvalue()


def set_aside_csv(set_aside):
    """Return the list of files that were not marked, with the reasons, as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("file", "why it was set aside"))
    for item in set_aside:
        writer.writerow((text_cell(item.file), text_cell(item.reason)))
    return out.getvalue()


def write_mark_sheets(folder, marked, set_aside, pass_share=PASS_SHARE):
    """Write mark-sheet.csv and set-aside.csv into a folder; return their paths."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    files = {
        folder / "mark-sheet.csv": mark_sheet_csv(marked, pass_share),
        folder / "set-aside.csv": set_aside_csv(set_aside),
    }
    for path, text in files.items():
        write_atomically(path, text)
    return tuple(files)
