"""Questions from every situation that a paper may draw: each flies, and each answer has a reason.

Which situation a paper meets follows from its secret, so that a fault in one of them would strike
some instructors and no test. A large and a small aircraft are tried;
FUELKIT_PAPERS=all tries every flight of the kit.
"""

import os

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.beliefs.flown import believed_flight
from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.moments import moment
from fuelkit.assess.papers.believing import with_beliefs
from fuelkit.assess.papers.from_flights import questions_from
from tests.small_sitting import OWN

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
    """Same states of pumps and valves; where an answer hangs on masses, those masses too.

    On a flight in which most beliefs would have led to another situation sooner or later.
    """
    aircraft, sector = "halbrook-180", "port-ellery-karn-ness"
    right, near = flight_of(aircraft, sector), {"when": 20.0, "state": 100.0, "order": 100.0}
    fields = {"aircraft": aircraft, "sector": sector, "draw": 0, "more": ""}
    made = [q for q in questions_from(right, fields) if q.kind in (*near, "figure")]
    beliefs = [belief_of(name) for name in ("high-lift-ignored", "wing-before-centre",
                                            "overflow-is-lost", "never-rests")]  # fmt: skip
    spoken = 0
    for question in with_beliefs(right, made, beliefs):
        time = moment(right, question.board.shown)
        for belief in question.believed:
            other = believed_flight(belief, aircraft, sector)
            assert moment(other, question.board.shown) == time
            for part in (*right.aircraft.pumps, *right.aircraft.valves):
                assert right.position(part.name, time) == other.position(part.name, time)
            for tank in right.aircraft.tanks:
                masses = [flight.quantity(tank.name, time) for flight in (right, other)]
                assert abs(masses[0] - masses[1]) <= near.get(question.kind, float("inf"))
            spoken += 1
    assert spoken >= 4
