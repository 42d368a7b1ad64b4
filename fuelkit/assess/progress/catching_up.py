"""Take over what was answered but is not in the record: after a stop, or from before there was one.

Answer sheets are the first thing written at a commit, the record is the second.
"""

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.answers import answers
from fuelkit.assess.flights import aircraft_of, flight_for
from fuelkit.assess.marking import mark_board
from fuelkit.assess.progress.tries import tried
from fuelkit.assess.sheet import SheetError, read_sheet
from fuelkit.assess.teach import fresh_board, unit_for
from fuelkit.flight.history import AskedError
from fuelkit.physics.errors import FuelkitError

_PRACTICE = "practice-"


def not_recorded(record, aircraft_name):
    """Return the entries of what a learner has answered in lessons and the record does not have.

    Parameters
    ----------
    record : ProgressRecord
    aircraft_name : str
        That the course is taught on; sheets for another aircraft file say nothing here.

    Returns
    -------
    list of dict
        By the time at which they were committed. Nothing that was committed before the record
        was erased.
    """
    entries = record.entries()
    known = {(e["unit"], e["board"]) for e in entries if e["event"] == "tried"}
    erased = max((e["time"] for e in entries if e["event"] == "erased"), default="")
    found = []
    for path in sorted(record.folder.glob(f"*lesson-*.{record.learner}.json")):
        try:
            sheet = read_sheet(path)
            unit = unit_for(sheet.unit.removeprefix(_PRACTICE), aircraft_name)
        except (SheetError, DataFileError):
            continue  # the lesson itself says so when it is opened
        if aircraft_of(unit.aircraft).fingerprint != sheet.aircraft or unit.kind != "lesson":
            continue
        for name, entry in sheet.answers.items():
            if (sheet.unit, name) not in known and entry["committed"] > erased:
                found += _entry(sheet, unit, name, entry)
    return sorted(found, key=lambda entry: entry["time"])


def _entry(sheet, unit, name, entry):
    """The entry of one board in a list; empty if the kit does not have the board any more."""
    try:
        board = _board(sheet, unit, name)
        computed = answers(flight_for(unit, board), board)
    except (FuelkitError, AskedError, ValueError):
        return []
    marked = mark_board(board, computed, entry["given"])
    made = tried(unit, board, marked, time=entry["committed"])
    return [made | {"unit": sheet.unit}]


def _board(sheet, unit, name):
    if not sheet.unit.startswith(_PRACTICE):
        return unit.board(name)
    like, _, number = name.rpartition("~")
    return fresh_board(unit, unit.board(like), int(number))
