"""Reasons hold at the moment that they are asked for: pressures, conditions, roots."""

import re
from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.reasons import why, why_fed
from fuelkit.flight.sector import Action, load_sector
from fuelkit.physics.writing import clock

IN_USE = "Centre tank in use"
FAILED, OPENED, LATER = 3900.0, 4000.0, 4200.0  # s: climb and cruise, both centre pumps run


@pytest.fixture(scope="module")
def crossfed(halbrook, sector):
    """The left centre pump has failed and the crossfeed is open."""
    failed = Failure(FAILED, "left centre pump", "failed")
    opened = Action(OPENED, (("crossfeed switch", "on"),))
    actions = tuple(sorted((*sector.actions, opened), key=lambda a: a.time))
    return fly(halbrook, replace(sector, actions=actions, failures=(failed,), end=7000.0))


@pytest.mark.parametrize("time", [4300.0, 6200.0])
def test_each_pump_stands_with_the_pressure_of_its_own_manifold(crossfed, time):
    """Nothing is held back by less than it could give, and no pump is given the other side."""
    now = picture(crossfed, time)
    text = why_fed(crossfed, "engine 1", time)
    for sentence in text.split(": ", 1)[1].rstrip(".").split("; "):
        sides = {side for side in ("left", "right") if re.search(rf"\b{side} ", sentence)}
        assert len(sides) == 1, sentence
        (side,) = sides
        stands = now.pressures[f"{side} manifold"] / 1000.0
        for figure in re.findall(r"only ([0-9]+) kPa", sentence):
            assert int(figure) < stands
        for figure in re.findall(r"(?:gives?|where) ([0-9]+) kPa", sentence):
            assert int(figure) == round(stands)
    assert "right manifold" in text and "left manifold" in text


def test_an_alert_is_shown_for_what_is_so_at_the_time_asked_for(crossfed):
    """Of several conditions that lit it, those that have ended since are not named."""
    both = "left centre pump is RUN and right centre pump is RUN"
    assert f"because {both}." in why(crossfed, IN_USE, FAILED - 1.0)
    after = why(crossfed, IN_USE, LATER)
    assert "now because right centre pump is RUN. Behind it" in after
    assert "left centre pump" not in after


def test_what_was_undone_before_is_not_behind_a_change(halbrook, flight):
    """An engine stops by its lever at cut-off; that it was at run before is no reason."""
    last = max(c.time for c in flight.changes_of("engine 1 hot return"))
    text = why(flight, "engine 1 hot return", last + 1.0)
    assert "engine 1 fuel lever cut-off, set by hand" in text
    assert "lever run" not in text


def test_a_tank_refilled_since_is_not_behind_an_alert(halbrook):
    """The centre tank fell to its sensor on the way here; it was filled again at the turnround."""
    long = fly(halbrook, load_sector("tarn-hollow-eastmere", halbrook))
    text = why(long, IN_USE, long.sector.end - 60.0)
    assert "has fallen to the sensor" not in text and "switch on, set by hand at 2:20:" in text


def test_an_alert_has_behind_it_only_the_side_that_lit_it(halbrook, flight):
    """A condition of an any-list that does not hold has caused nothing."""
    for change in flight.changes_of(IN_USE):
        if change.after == "SHOWN":
            behind = {flight.changes[number].name for number in change.causes}
            true = {n for n in behind if flight.position(n, change.time) == "RUN"}
            assert behind == true


def test_what_brought_a_state_about_and_is_over_is_told_as_over(flight):
    """The pumps stopped for an empty tank; refuelled since, that is no more so, from then on."""
    name, over = "left centre pump", "that is so no more, but nothing has called for another state."
    last = flight.changes_of(name)[-1]
    (rule,) = (r for r in flight.aircraft.rules_for[name] if r.because in last.reason)
    (ended,) = (c for c in flight.changes_of(rule.name) if c.time > last.time)
    assert last.after == "OFF" and ended.after != "ACTIVE"
    assert over not in why(flight, name, ended.time - 1.0)
    assert f"From {clock(ended.time)} {over}" in why(flight, name, ended.time + 1.0)


def test_a_pump_that_transfers_into_a_tank_does_not_feed_what_draws_on_it():
    """With both pumps of a side failed, others fill its tank, and its engine draws by gravity."""
    aircraft = load_aircraft("halbrook-300")
    sector = load_sector("karn-ness-return", aircraft)  # the left feed pump 1 fails on the way
    other = Failure(4020.0, "left feed pump 2", "failed")
    flight = fly(aircraft, replace(sector, failures=(*sector.failures, other), end=5100.0))
    now = picture(flight, 4920.0)
    assert now.flows["left upper pump"] > 0.0 and now.flows["tail pump"] > 0.0
    assert not now.flows["left feed pump 1"] and not now.flows["left feed pump 2"]
    assert why_fed(flight, "engine 1", 4920.0) == (
        "Engine 1 is fed from left inner: no pump delivers, so it draws by gravity through the "
        "gravity feed valve."
    )
    assert "right feed pump 1 gives" in why_fed(flight, "engine 2", 4920.0)
