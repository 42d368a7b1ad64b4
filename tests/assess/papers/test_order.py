"""Questions of order: each event means one moment, and the key is the order of those moments."""

import pytest

from fuelkit.assess.answers import answers, event_in
from fuelkit.assess.flights import flight_of
from fuelkit.assess.moments import moment
from fuelkit.assess.occasions import is_dated
from fuelkit.assess.papers.from_flights import questions_from
from fuelkit.physics.writing import clock


@pytest.mark.parametrize(
    ("aircraft", "sector"), [("halbrook-40", "standard"), ("halbrook-180", "eastmere-port-ellery")]
)
@pytest.mark.parametrize("draw", [0, 11111, 44444])
def test_the_key_is_the_order_in_which_the_flight_has_the_events(aircraft, sector, draw):
    """First times after the moment shown, from the list of changes alone; 20 s apart or more."""
    history = flight_of(aircraft, sector, draw)
    fields = {"aircraft": aircraft, "sector": sector, "draw": draw, "more": ""}
    orders = [q.board for q in questions_from(history, fields) if q.kind == "order"]
    assert orders
    for board in orders:
        shown, times = moment(history, board.shown), {}
        for change in history.changes:
            if change.time > shown:
                name = change.name[:1].upper() + change.name[1:]
                times.setdefault(f"{name} comes to {change.after}", change.time)
        right = [answer.value for answer in answers(history, board)]
        told = [times[event] for event in right]
        assert sorted(board.asks[0].options) == sorted(right)
        assert all(later - earlier >= 20.0 for earlier, later in zip(told, told[1:], strict=False))
        assert all(event_in(history, e, shown).time == times[e] for e in right)
        assert all(a.reason.count(" since ") for a in answers(history, board))


def test_what_is_told_of_the_crew_lasts_until_the_last_event():
    """Each action until then is told, or that there is none; few events only follow from one."""
    history = flight_of("halbrook-180", "eastmere-port-ellery", 11111)
    fields = {"aircraft": "halbrook-180", "sector": "eastmere-port-ellery", "draw": 11111}
    orders = [q.board for q in questions_from(history, fields) if q.kind == "order"]
    touched = 0
    for board in orders:
        shown = moment(history, board.shown)
        events = [event_in(history, answer.value, shown) for answer in answers(history, board)]
        done = [a for a in history.sector.actions if shown < a.time <= events[-1].time]
        assert ("touches nothing" in board.lead) is (not done)
        assert all(clock(action.time) in board.lead for action in done[:4])
        assert sum(is_dated(history, event, shown) for event in events) <= 2
        touched += bool(done)
    assert touched and {is_dated(history, c, 0.0) for c in history.changes} == {True, False}


def test_nobody_is_asked_why_what_has_failed_has_failed():
    """There would be nothing to think of."""
    more = '{"failures": [{"at": "1:00:00", "part": "left centre pump", "kind": "failed"}]}'
    history = flight_of("halbrook-180", "eastmere-port-ellery", 11111, more)
    fields = {"aircraft": "halbrook-180", "sector": "eastmere-port-ellery", "draw": 11111,
              "more": more}  # fmt: skip
    asked = [q.board.asks[0] for q in questions_from(history, fields) if q.kind == "reason"]
    assert asked and not [a for a in asked if a.about == "left centre pump" and "FAIL" in a.text]
