"""Failures drawn for questions, on flights that have failures of their own already."""

import pytest

from fuelkit.assess.abnormal import abnormal_boards, suspects
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.papers.pool import Source, questions_of

AIRCRAFT = "halbrook-180"
FAILING = [
    (aircraft, sector)
    for aircraft in (AIRCRAFT, "halbrook-300")
    for sector in sectors_for(aircraft_of(aircraft))
    if flight_of(aircraft, sector).sector.failures
]


@pytest.mark.parametrize(("aircraft", "sector"), FAILING)
def test_nothing_that_fails_in_a_flight_fails_in_it_once_more(aircraft, sector):
    """All that could be drawn can be flown beside the flight's own failures."""
    flight = flight_of(aircraft, sector)
    own = {failure.name for failure in flight.sector.failures}
    drawn = suspects(flight, 60.0)
    assert drawn and not own & {suspect.failure.name for suspect in drawn}
    texts = [s.more for s in (*drawn, *situations(aircraft, sector)) if s.more]
    for more in texts:
        names = [f.name for f in flight_of(aircraft, sector, 0, more, 120.0).sector.failures]
        assert len(names) == len(set(names))


@pytest.mark.parametrize("draw", (100_000, 100_003))
def test_a_flight_whose_gauges_misread_gives_boards_on_other_failures(draw):
    """The question is filed under what has failed besides, also where gauges fail later on."""
    sector = FAILING[0][1]
    own = {failure.name for failure in flight_of(AIRCRAFT, sector, draw).sector.failures}
    boards = abnormal_boards(AIRCRAFT, sector, draw, most=2)
    questions = questions_of(Source("faults", AIRCRAFT, sector, draw))
    assert len(boards) == len(questions) == 2 and own
    known = {objective.name for objective in load_objectives()}
    for question in questions:
        right = question.board.asks[0].options[0]
        assert question.objectives[0] in known
        is_supply = right.endswith("has failed")
        assert is_supply == (question.objectives[0] == "pump-failures"), right
