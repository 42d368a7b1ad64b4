"""Questions from every situation that a paper may draw: each flies, and each answer has a reason.

Which situation a paper meets follows from its secret, so that a fault in one of them would strike
some instructors and no test. A large and a small aircraft are tried;
FUELKIT_PAPERS=all tries every flight of the kit.
"""

import os

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
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
