"""Questions from every situation that a paper may draw: each flies, and each answer has a reason.

Which situation a paper meets follows from its secret, so that a fault in one of them would strike
some instructors and no test. A large and a small aircraft are tried;
FUELKIT_PAPERS=all tries every flight of the kit.
"""

import os

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.beliefs.flown import believed_flight
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.moments import moment
from fuelkit.assess.papers.from_flights import questions_from
from fuelkit.assess.papers.placed import flight_of_board
from tests.small_sitting import OWN, pool

ALL = os.environ.get("FUELKIT_PAPERS") == "all"
FLIGHTS = [
    (aircraft, sector)
    for aircraft in ("halbrook-40", "halbrook-180", "halbrook-300", OWN)
    for sector in sectors_for(aircraft_of(aircraft))
]
FEW = [("halbrook-300", "karn-ness-return"), (OWN, "standard")]


@pytest.mark.parametrize(("aircraft", "sector"), FLIGHTS if ALL else FEW)
def test_every_situation_gives_questions_whose_answers_have_reasons(aircraft, sector):
    """Flown until a while after it; all that is asked of it is answered, in words."""
    asked = set()
    for case in situations(aircraft, sector):
        end = case.end + 1800.0 if case.more else None
        history = flight_of(aircraft, sector, 0, case.more, end)
        fields = {"aircraft": aircraft, "sector": sector, "draw": 0, "more": case.more}
        for question in questions_from(history, fields):
            for answer in answers(history, question.board):
                told = answer.value if answer.ask.kind == "reason" else answer.reason
                assert told.strip().endswith("."), (case.words, question.identifier, told)
                asked.add(question.kind)
    assert asked >= {"state", "when", "figure", "reason"}


def test_a_belief_speaks_only_of_situations_that_its_own_flight_shows():
    """Same states of pumps and valves; where an answer hangs on masses, those masses too."""
    seen = set()
    for question in pool():
        board = question.board
        if board.scene != "flight" or question.kind not in ("state", "when", "order", "figure"):
            continue
        right = flight_of_board(board)
        for belief in question.believed:
            other = believed_flight(belief, board.aircraft, board.sector, board.draw, board.more)
            time = moment(right, board.shown)
            assert moment(other, board.shown) == time
            for part in (*right.aircraft.pumps, *right.aircraft.valves):
                assert right.position(part.name, time) == other.position(part.name, time)
            if question.kind != "figure":
                for tank in right.aircraft.tanks:
                    masses = [flight.quantity(tank.name, time) for flight in (right, other)]
                    assert abs(masses[0] - masses[1]) <= (
                        20.0 if question.kind == "when" else 100.0
                    )
            seen.add(question.kind)
    assert "state" in seen and len(seen) > 1
