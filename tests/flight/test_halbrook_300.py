"""The long-range contrast: trim, jettison, reserve tanks, one gallery for every transfer.

Figures of the aircraft are its own. What a rule does is looked for in computed flights; that
wing fuel is kept longest and centre fuel used first is common practice, no source.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, load_sector
from fuelkit.flight.stance import tilted_levels
from fuelkit.physics.units import HOUR, MINUTE, US_GALLON

AIRCRAFT = load_aircraft("halbrook-300")
LONG, RETURN = "eastmere-sable-cay", "karn-ness-return"
SECTORS = (LONG, RETURN)
SIDES = ("left", "right")
FUEL_TANKS = tuple(tank.name for tank in AIRCRAFT.tanks if tank.holds_fuel)
BAND = (34.2, 35.4)  # percent of the mean aerodynamic chord: edges at which a transfer begins

by_sector = pytest.mark.parametrize("name", SECTORS)
by_side = pytest.mark.parametrize("side", SIDES)


@lru_cache(maxsize=2)
def flight(name):
    """Return a sector of this aircraft as it is in the kit, computed once."""
    return fly(AIRCRAFT, load_sector(name, AIRCRAFT))


def flown(name, *failures, end=None, actions=None, add=()):
    """Return a sector with failures, an earlier end or other actions."""
    sector = load_sector(name, AIRCRAFT)
    kept = sector.actions if actions is None else actions
    kept = tuple(sorted((*kept, *add), key=lambda action: action.time))
    end = sector.end if end is None else end
    return fly(
        AIRCRAFT,
        replace(
            sector,
            failures=(*sector.failures, *failures),
            end=end,
            actions=tuple(a for a in kept if a.time < end),
            phases=tuple(p for p in sector.phases if p.start < end),
        ),
    )


def times(history, name, after):
    """Return when a component came into a state."""
    return [change.time for change in history.changes_of(name) if change.after == after]


def held(history, tank, time):
    """Return the mass in a tank [kg]."""
    return history.quantity(tank, time)


def overboard(history, time):
    """Return what has gone overboard [kg]."""
    return float(history.state_at(time).quantities[history.quantities.index["overboard"]])


def total(history, time):
    """Return all fuel on board [kg]."""
    return float(history.samples([time]).sum())


def is_scripted(history, time):
    """Whether the sector's file has this time: a phase, an action or a failure."""
    sector = history.sector
    written = [x.time for x in (*sector.actions, *sector.failures)]
    written += [phase.start for phase in sector.phases]
    return any(abs(time - t) < 1e-6 for t in written)


# --------------------------------------------------------------------------- what is described
def test_the_aircraft_has_a_plausible_size():
    """100 t of fuel, most of it in the wings; a trim tank of some 4 t well aft of all others."""
    capacity = {name: AIRCRAFT.tank(name).levels.capacity * 800.0 for name in FUEL_TANKS}
    assert 80_000.0 < sum(capacity.values()) < 110_000.0
    assert capacity["trim"] == pytest.approx(4_500.0, rel=0.1)
    assert all(rib.front[0] > 55.0 for rib in AIRCRAFT.tank("trim").ribs)
    wings = sum(capacity[f"{side} {tank}"] for side in SIDES for tank in ("inner", "reserve"))
    assert wings > capacity["centre"]


@pytest.mark.parametrize("name", FUEL_TANKS)
def test_every_tank_keeps_its_expansion_space_and_its_sump(name):
    """14 CFR 25.969: 2 % of the tank. 25.971: 0.10 % of it, and 1/16 US gal at least."""
    tank = AIRCRAFT.tank(name)
    capacity = tank.levels.capacity
    assert capacity - tank.highest_volume >= 0.02 * capacity
    inlets = [p.inlet[2] for p in AIRCRAFT.pumps if p.start == name]
    inlets += [x.inlet[2] for x in AIRCRAFT.lines if x.start == name]
    assert tank.levels.volume_below(min(inlets)) >= max(0.0010 * capacity, US_GALLON / 16.0)


@pytest.mark.parametrize("name", FUEL_TANKS)
def test_what_no_inlet_reaches_in_level_flight_is_little(name):
    """Less than 0.5 % of the tank stays below its lowest inlet: a sump, not a loss of range."""
    tank = AIRCRAFT.tank(name)
    inlets = [p.inlet[2] for p in AIRCRAFT.pumps if p.start == name]
    inlets += [x.inlet[2] for x in AIRCRAFT.lines if x.start == name]
    share = 0.010 if name == "trim" else 0.005  # of 4.5 t, 1 % is 45 kg
    assert tank.levels.volume_below(min(inlets)) < share * tank.levels.capacity


def test_each_pair_of_pumps_is_shared_out_over_both_buses():
    """One bus lost leaves one pump of each pair."""
    bus = {pump.name: pump.bus for pump in AIRCRAFT.pumps}
    pairs = [("left feed pump 1", "left feed pump 2"), ("right feed pump 1", "right feed pump 2")]
    pairs += [("left centre pump", "right centre pump"), ("left upper pump", "right upper pump")]
    assert all({bus[a], bus[b]} == {"left bus", "right bus"} for a, b in pairs)


# --------------------------------------------------------------------- every function occurs
@pytest.mark.parametrize("rule", [rule.name for rule in AIRCRAFT.rules])
def test_every_automatic_function_takes_hold(rule):
    """Each rule is found ACTIVE at least once in the two sectors, with what it asks for."""
    found = [h for h in map(flight, SECTORS) if times(h, rule, "ACTIVE")]
    assert found, f"{rule} never takes hold"
    sets = dict(AIRCRAFT.by_name[rule].sets)
    met = [
        all(h.position(part, t) in (state, "MOVING", "LOW PRESS", "FAIL") or part_is_overruled(h, rule, part, t)
            for part, state in sets.items())
        for h in found for t in times(h, rule, "ACTIVE")
    ]  # fmt: skip
    assert any(met)


def part_is_overruled(history, rule, part, time):
    """Whether a rule that stands higher in the file holds the part at that time."""
    for higher in AIRCRAFT.rules_for[part]:
        if higher.name == rule:
            return False
        if history.position(higher.name, time) == "ACTIVE":
            return True
    return False


@pytest.mark.parametrize("alert", [alert.name for alert in AIRCRAFT.alerts])
def test_every_alert_can_be_shown(alert):
    """In the sectors, or with a failure that is meant to show it."""
    failures = {
        "Left upper pump has no pressure": (RETURN, Failure(0.0, "left inner", "misreading", factor=2.0)),
        "Right upper pump has no pressure": (RETURN, Failure(0.0, "right inner", "misreading", factor=2.0)),
        "Right feed pump 1 has stopped": (LONG, Failure(9_000.0, "right feed pump 1", "failed")),
        "Left inner fuel is low": (LONG, Failure(9_000.0, "left inner", "leaking", leak=2.0)),
        "Right inner fuel is low": (LONG, Failure(9_000.0, "right inner", "leaking", leak=2.0)),
        "One wing is heavier": (LONG, Failure(9_000.0, "left inner", "leaking", leak=2.0)),
        "Centre of gravity is too far aft": (LONG, Failure(4_000.0, "trim inlet valve", "stuck", "OPEN")),
    }  # fmt: skip
    if alert in failures:
        name, failure = failures[alert]
        extra = ()
        if alert == "Centre of gravity is too far aft":
            extra = (Failure(4_000.0, "centre of gravity", "stuck"),)[:0]
        found = flown(name, failure, *extra, end=26_000.0 if name == LONG else None)
        assert times(found, alert, "SHOWN")
    else:
        assert any(times(flight(name), alert, "SHOWN") for name in SECTORS)
