"""What the tests of assessing share: the exercises, their flights, and sheets answered rightly."""

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.course import LESSONS
from fuelkit.assess.flights import flight_for, flight_of
from fuelkit.assess.sheet import Sheet
from fuelkit.assess.teach import unit_for

EXERCISES = tuple(f"exercise-{lesson}" for lesson in LESSONS)


def right_answers(unit):
    """What an all-knowing learner writes, by board."""
    return {
        board.name: {a.ask.identifier: a.written() for a in answers(flight_for(unit, board), board)}
        for board in unit.boards
    }


def sheet_of(unit_name, learner, given):
    """A handed-in sheet with given answers, by board."""
    unit = unit_for(unit_name)
    fingerprint = flight_of(unit.aircraft, unit.sector).aircraft.fingerprint
    sheet = Sheet(unit_name, learner, fingerprint)
    for board, values in given.items():
        sheet = sheet.with_committed(board, values)
    return sheet.with_hand_in()


@pytest.fixture(params=EXERCISES)
def exercise(request):
    """Each exercise of the kit in turn."""
    return unit_for(request.param)
