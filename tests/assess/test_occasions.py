"""Stages and occasions of a flight, found from the flight itself."""

import pytest

from fuelkit.assess.composing import composed_boards
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.moments import moment
from fuelkit.assess.occasions import occasions
from fuelkit.assess.stages import stages, told_parts

AIRCRAFT = ("halbrook-180", "halbrook-40", "halbrook-300")


@pytest.fixture(params=AIRCRAFT)
def flight(request):
    """The first flight of each aircraft."""
    return flight_of(request.param, sectors_for(aircraft_of(request.param))[0])


def test_stages_follow_each_other_and_cover_the_flight(flight):
    """From the stand to the stand without a gap."""
    spans = list(stages(flight).values())
    assert spans[0][0] == 0.0 and spans[-1][1] == flight.sector.end
    assert all(a[1] == b[0] for a, b in zip(spans, spans[1:], strict=False))
    assert list(stages(flight)) == [
        "cockpit-preparation", "engine-start", "climb", "cruise", "descent", "after-landing",
    ]  # fmt: skip


def test_occasions_hold_every_change_that_a_learner_foresees_once(flight):
    """None is lost and none stands twice."""
    told = set(told_parts(flight.aircraft))
    wanted = [
        c for c in flight.changes
        if c.name in told and c.after != "MOVING" and 0.0 < c.time <= flight.sector.end
    ]  # fmt: skip
    found = [c for o in occasions(flight, 0.0, flight.sector.end) for c in o.changes]
    assert found == wanted


def test_a_composed_board_asks_before_it_happens_and_is_about_what_happens(flight):
    """Shown before the first change, asked after it, and something in it does change."""
    for stage, (start, end) in stages(flight).items():
        for board in composed_boards(flight, stage):
            shown, asked = moment(flight, board.shown), moment(flight, board.asked)
            assert max(0.0, start - 60.0) <= shown < asked <= flight.sector.end
            assert shown <= end
            states = [a.about for a in board.asks if a.kind == "state"]
            moved = [n for n in states if flight.position(n, shown) != flight.position(n, asked)]
            assert moved or "quiet" in board.name


def test_a_composed_board_tells_every_crew_action_until_the_moment_asked_for(flight):
    """What the crew does is no riddle: up to four settings are told, more are named as more."""
    for stage in stages(flight):
        for board in composed_boards(flight, stage):
            shown, asked = moment(flight, board.shown), moment(flight, board.asked)
            done = [a for a in flight.sector.actions if shown < a.time <= asked]
            assert bool(done) == ("Until then: at " in board.lead)
            assert ("and so on" in board.lead) == (len(done) > 4)
