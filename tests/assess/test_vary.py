"""Drawn flights: the same number gives the same flight, every flight is a whole one."""

import pytest

from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.stages import stages
from fuelkit.assess.vary import left_off, varied
from fuelkit.flight.sector import load_sector

AIRCRAFT = ("halbrook-180", "halbrook-40", "halbrook-300")


def base(name):
    """An aircraft and its first sector."""
    aircraft = aircraft_of(name)
    return aircraft, load_sector(sectors_for(aircraft)[0], aircraft)


@pytest.mark.parametrize("name", AIRCRAFT)
def test_a_draw_is_always_the_same_and_others_differ(name):
    """The number alone decides."""
    aircraft, sector = base(name)
    drawn = [varied(sector, aircraft, n) for n in range(1, 9)]
    assert drawn == [varied(sector, aircraft, n) for n in range(1, 9)]
    assert len({s.total for s in drawn}) >= 6


@pytest.mark.parametrize("name", AIRCRAFT)
def test_a_drawn_sector_keeps_the_order_of_phases_and_actions(name):
    """What follows on what stays so, and all of it lies inside the flight."""
    aircraft, sector = base(name)
    for draw in range(1, 40):
        new = varied(sector, aircraft, draw)
        starts = [phase.start for phase in new.phases]
        assert [p.name for p in new.phases] == [p.name for p in sector.phases]
        assert starts == sorted(set(starts)) and starts[0] == 0.0
        times = [action.time for action in new.actions]
        assert times == sorted(times) and max(times) < new.end
        late = left_off(sector, aircraft, draw)
        sets = [pair for a in sector.actions for pair in a.sets]
        assert sorted(pair for a in new.actions for pair in a.sets) == sorted(sets)
        kept = [pair for pair in sets if pair[0] != late]
        assert [p for a in new.actions for p in a.sets if p[0] != late] == kept


@pytest.mark.parametrize("name", AIRCRAFT)
def test_a_drawn_flight_can_be_flown_with_no_engine_starved(name):
    """Fuel for the whole flight, no more than the tanks take, all stages there."""
    aircraft, sector = base(name)
    whole = stages(flight_of(name, sectors_for(aircraft)[0])).keys()
    for draw in (1, 2, 8):
        flight = flight_of(name, sectors_for(aircraft)[0], draw)
        assert stages(flight).keys() == whole
        assert not [c for c in flight.changes if c.after == "STARVED"]
        assert abs(flight.conservation_error()) < 1e-3


def test_a_pump_is_forgotten_in_some_draws_and_never_the_last_one():
    """An override pump, so that each engine keeps its own."""
    aircraft, sector = base("halbrook-180")
    left = [left_off(sector, aircraft, draw) for draw in range(200)]
    assert left[0] == "" and 30 <= sum(map(bool, left)) <= 110
    assert {name for name in left if name} == {
        "left centre pump switch",
        "right centre pump switch",
    }
