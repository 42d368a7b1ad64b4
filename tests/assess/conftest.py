"""What the tests of assessing share: the exercises, their flights, and sheets answered rightly."""

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit
from fuelkit.assess.flights import flight_of
from fuelkit.assess.sheet import Sheet

EXERCISES = ("exercise-engine-start", "exercise-cruise")


def right_answers(unit):
    """What an all-knowing learner writes, by board."""
    flight = flight_of(unit.aircraft, unit.sector)
    return {
        board.name: {a.ask.identifier: a.written() for a in answers(flight, board)}
        for board in unit.boards
    }


def sheet_of(unit_name, learner, given):
    """A handed-in sheet with given answers, by board."""
    unit = load_unit(unit_name)
    fingerprint = flight_of(unit.aircraft, unit.sector).aircraft.fingerprint
    sheet = Sheet(unit_name, learner, fingerprint)
    for board, values in given.items():
        sheet = sheet.with_committed(board, values)
    return sheet.with_hand_in()


@pytest.fixture(params=EXERCISES)
def exercise(request):
    """Each exercise of the kit in turn."""
    return load_unit(request.param)
