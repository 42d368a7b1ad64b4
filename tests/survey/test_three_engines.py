"""The aircraft that was described from the guide alone: it does what its author meant."""

import tomllib
from pathlib import Path

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import sector_from
from fuelkit.survey.standard_sector import standard_sector
from fuelkit.survey.survey import survey

_FILE = Path(__file__).resolve().parents[1] / "aircraft" / "data" / "three-engine-example.toml"
_GUIDE = Path(__file__).resolve().parents[2] / "fuelkit/aircraft/own/describe_your_aircraft.md"


@pytest.fixture(scope="module")
def aircraft():
    """The three-engine example."""
    return load_aircraft(_FILE)


@pytest.fixture(scope="module")
def flown(aircraft):
    """Its standard sector."""
    return fly(aircraft, standard_sector(aircraft))


def test_the_tail_fuel_goes_to_the_centre_once_there_is_room(flown):
    """From 7 000 kg in the centre until the tail is dry; not before, and never again in flight."""
    pump = [c for c in flown.changes_of("tail transfer pump") if c.time > 60.0]
    began, ended = pump[0].time, pump[-1].time

    assert pump[0].after == "RUN" and pump[-1].after == "OFF"
    assert flown.quantity("centre tank", began) == pytest.approx(7000.0, abs=0.1)
    assert flown.quantity("tail tank", began) > 1000.0
    assert flown.position("tail low sensor", ended) == "DRY"
    assert flown.quantity("tail tank", ended) < 0.05 * flown.quantity("tail tank", began)
    assert flown.quantity("centre tank", ended) > 7000.0


def test_every_engine_draws_from_its_own_tank_and_then_from_what_is_left(flown):
    """Wing, centre, wing; with the crossfeed open all from the tank that has fuel."""
    time = 7200.0
    assert flown.feeding("engine 1", time) == {"left tank": 1.0}
    assert flown.feeding("engine 2", time) == {"centre tank": 1.0}
    assert flown.feeding("engine 3", time) == {"right tank": 1.0}

    opened = next(c for c in flown.changes_of("left crossfeed valve") if c.after == "OPEN")
    assert "low" in opened.reason
    assert not any(c.after == "STARVED" for c in flown.changes)


def test_nothing_about_it_needs_a_look(aircraft):
    """All of its rules take hold; no tank is out of reach; no engine has one source only."""
    found = survey(aircraft)

    assert found.never_seen == found.impossible == found.unreachable == found.one_source == ()
    assert found.undrained == ()


def test_the_sector_in_the_guide_flies_the_starter():
    """The guide's own sector: the pump fails at one hour, and gravity feeds the engine."""
    text = _GUIDE.read_text(encoding="utf-8").split("## 10.")[1]
    content = tomllib.loads(text.split("```toml\n")[1].split("```")[0])
    starter = load_aircraft(_GUIDE.parent / "starter.toml")

    flight = fly(starter, sector_from(content, starter))

    assert flight.position("left pump", 5400.0) == "FAIL"
    assert flight.feeding("engine 1", 5400.0) == {"left tank": 1.0}
    assert flight.flows(5400.0)[0].flows["left gravity feed valve"] > 0.0
