"""Type in answer sheets that were written on paper, so that they are marked like all others."""

from pathlib import Path

from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.sittings import learners_of, sitting_of
from fuelkit.assess.papers.mark_sitting import key_of
from fuelkit.assess.papers.typed import TypedError, read_row, rows_of, typed_sheet
from fuelkit.assess.sheet import (
    Sheet,
    SheetError,
    learner_code,
    read_sheet,
    sheet_path,
    write_sheet,
)
from fuelkit.physics.errors import FuelkitError

SUMMARY = "Type in answer sheets that were written on paper."

_BACK, _STOP = "<", "q"
_HELP = (
    "A letter, or a figure with its unit, as it stands there. Enter alone: nothing stands there.\n"
    f"{_BACK}: one row back. {_STOP}: stop; what you have typed is kept, and goes on next time."
)
_LONG = 60  # signs; longer options stand a line each


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("sitting", help="name of the sitting, as in its blueprint")
    parser.add_argument("folder", help="where the sheets go, to be marked from there")


def run(arguments):
    """Ask for one learner code after the other, and for the rows of each sheet."""
    folder = Path(arguments.folder)
    sitting = sitting_of(instructor_folder(arguments.folder), arguments.sitting)
    done = 0
    while code := _asked("Learner code, Enter when there is none left > "):
        try:
            done += _one_learner(sitting, folder, learner_code(code))
        except FuelkitError as problem:
            print(f"  {problem}")
    print(f"{done} sheet{'s' * (done != 1)} typed in. Now: python -m fuelkit mark {folder}")
    return 0


def _one_learner(sitting, folder, code):
    """Type in one sheet; return whether it was handed in."""
    known = learners_of(sitting)
    if code not in known:
        raise SheetError(
            f"learner code: it is {code!r}; it must be one of {len(known)} in the sitting, from "
            f"{known[0]} to {known[-1]}."
        )
    key = key_of(sitting, code)
    path, rows = sheet_path(folder, key.paper, code), rows_of(key)
    sheet = read_sheet(path) if path.exists() else Sheet(key.paper, code, key.fingerprint)
    if sheet.handed_in or sheet.answers:
        raise SheetError(f"{path.name} is there already, from {code}. To type it in, move it away.")
    print(f"\n{code}: {len(key.questions)} questions, {len(rows)} rows.\n{_HELP}")
    sheet = _typed(sheet, rows, path)
    if sheet is None or not _asked("All rows are typed. Hand it in? y or n > ").startswith("y"):
        print("  Kept as it is; give the code again to go on.")
        return False
    write_sheet(typed_sheet(sheet, rows), path)
    print(f"  Handed in: {path}\n")
    return True


def _typed(sheet, rows, path):
    """Ask for every row that is not there yet, kept one by one; None if stopped."""
    place = sum(row.answer.ask.identifier in sheet.drafts.get(row.question, {}) for row in rows)
    while place < len(rows):
        row, said = rows[place], None
        _show(row, first=place == 0 or rows[place - 1].question != row.question)
        said = _asked(f"  {row.name} > ")
        if said in (_STOP, None):
            return None
        if said == _BACK:
            place = max(0, place - 1)
            continue
        try:
            text = read_row(row, said)
        except TypedError as problem:
            print(f"  {problem}")
            continue
        given = {**sheet.drafts.get(row.question, {}), row.answer.ask.identifier: text}
        sheet = sheet.with_draft(row.question, given)
        write_sheet(sheet, path)
        place += 1
    return sheet


def _show(row, *, first):
    if first:
        print()
    lettered = [f"({letter}) {option}" for letter, option in row.lettered.items()]
    long = any(len(option) > _LONG for option in lettered)
    between = "\n       " if long else "  "
    print(f"  {row.name} {row.answer.text}{between if lettered else ''}{between.join(lettered)}")


def _asked(words):
    """What is typed, or an empty text at the end of the input."""
    try:
        return input(words).strip()
    except EOFError:
        return _STOP if words.startswith("  ") else ""
