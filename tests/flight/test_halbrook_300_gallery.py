"""What comes in and goes out of the Halbrook 300: jettison, refuelling, defuelling.

14 CFR 25.1001(a) and (b) were read in a public copy, (e) is from memory.
"""

from dataclasses import replace
from functools import lru_cache

import pytest

from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, load_sector
from fuelkit.physics.units import MINUTE
from tests.flight.halbrook_300 import (
    AIRCRAFT,
    FUEL_TANKS,
    LONG,
    RETURN,
    SIDES,
    flight,
    flown,
    gauge,
    held,
    is_scripted,
    overboard,
    times,
    total,
)

by_side = pytest.mark.parametrize("side", SIDES)


# ------------------------------------------------------------------------------------ jettison
def test_jettison_is_quick_enough():
    """14 CFR 25.1001(a), (b): within 15 minutes down to a mass at which it can still climb.

    Our own figures: largest take-off mass 245 t; a take-off, go-around and landing take 3 t, so
    the quarter of an hour starts at 242 t; the climb requirements are met at 230 t. So 12 t in
    15 min are needed (engines' burn not counted); it jettisons more.
    """
    history = flight(RETURN)
    start = times(history, "left jettison valve", "OPEN")[0]
    gone = overboard(history, start + 15.0 * MINUTE) - overboard(history, start)
    assert gone > 12_000.0
    assert gone < 25_000.0  # plausible: 1 to 1.5 t a minute


def test_jettison_stops_at_the_landing_mass():
    """All on board is 42 t; what still comes out while two valves shut (6 s) is little."""
    history = flight(RETURN)
    (stop, _) = (
        times(history, "jettison down to the landing mass", s)[0] for s in ("ACTIVE", "AT REST")
    )
    assert not is_scripted(history, stop)
    assert total(history, stop) == pytest.approx(42_000.0, abs=1e-3)
    shut = times(history, "left jettison valve", "SHUT")[0]
    assert shut == pytest.approx(stop + 6.0)
    assert overboard(history, shut) == pytest.approx(overboard(history, shut + 600.0), abs=1e-6)
    assert overboard(history, shut) - overboard(history, stop) < 150.0


@by_side
def test_jettison_stops_at_the_protected_mass_by_its_rule(side):
    """The upper pump stops at 9 t in its tank; then only the engine takes fuel there."""
    history = flight(RETURN)
    stop = times(history, f"{side} inner keeps its protected mass", "ACTIVE")[0]
    assert history.position("jettison target", stop) == "least mass"
    assert held(history, f"{side} inner", stop) == pytest.approx(9_000.0, abs=10.0)
    assert history.position(f"{side} upper pump", stop) == "OFF"
    over = times(history, "jettison is over", "ACTIVE")[0]
    burned = sum(
        history.state_at(over).quantities[history.quantities.index[f"burned by engine {n}"]]
        - history.state_at(stop).quantities[history.quantities.index[f"burned by engine {n}"]]
        for n in "12"
    )
    lost = held(history, f"{side} inner", stop) - held(history, f"{side} inner", over)
    assert lost == pytest.approx(0.5 * burned, rel=0.01)


def standpipe(side, pitch):
    """Return the volume below the mouth of an upper pump's standpipe at a pitch [m³]."""
    history = flight(RETURN)
    name = f"{side} upper pump inlet"
    return history.hydraulics.stance(pitch, 0.0).thresholds[name][0]


@by_side
def test_jettison_stops_at_the_standpipe_when_the_gauge_fails(side):
    """A gauge that shows twice the mass: the rule is blind, the pipe's mouth is not."""
    history = flown(RETURN, gauge(side))
    assert not times(history, f"{side} inner keeps its protected mass", "ACTIVE")
    bare = times(history, f"{side} upper pump", "LOW PRESS")[0]
    phase = history.sector.phase_at(bare)
    density = history.hydraulics.fuel.density(history.temperature(f"{side} inner", bare))
    expected = standpipe(side, phase.pitch) * density
    assert held(history, f"{side} inner", bare) == pytest.approx(expected, abs=0.01)
    assert expected > 5_000.0


@by_side
def test_a_jettison_valve_stuck_open_cannot_empty_the_inner_tanks(side):
    """The engines keep what lies below the standpipes, though the valve never shuts."""
    valve = f"{side} jettison valve"
    history = flown(RETURN, Failure(5_400.0, valve, "stuck", "OPEN"))
    assert not [t for t in times(history, valve, "SHUT") if t > 5_400.0]
    off = times(history, "jettison switch", "off")[-1]
    landed = times(history, "high-lift surfaces", "in")[-1]
    for tank in SIDES:
        assert held(history, f"{tank} inner", off) > 8_000.0
    burned = sum(
        history.state_at(landed).quantities[history.quantities.index[f"burned by engine {n}"]]
        - history.state_at(off).quantities[history.quantities.index[f"burned by engine {n}"]]
        for n in "12"
    )
    lost = total(history, off) - total(history, landed)
    assert lost == pytest.approx(burned, abs=1.0)  # nothing more goes overboard
    assert abs(history.conservation_error()) < 1e-3


def test_a_valve_stuck_open_and_pumps_left_running_stop_at_the_standpipes():
    """The worst: nobody switches off, gauges show twice the mass; engines still have hours."""
    history = flown(
        RETURN,
        Failure(5_400.0, "left jettison valve", "stuck", "OPEN"),
        gauge("left"),
        gauge("right"),
        end=9_300.0,
    )
    for side in SIDES:
        bare = times(history, f"{side} upper pump", "LOW PRESS")[0]
        pitch = history.sector.phase_at(bare).pitch
        density = history.hydraulics.fuel.density(history.temperature(f"{side} inner", bare))
        least = standpipe(side, pitch) * density
        burn = sum(history.burns(bare).values()) * (9_300.0 - bare)
        assert held(history, f"{side} inner", 9_299.0) > least - burn


def test_what_the_standpipes_protect_is_enough():
    """14 CFR 25.1001(e), from memory: a climb to 10 000 ft, then 45 min of cruise.

    Our own burns: a climb from sea level to 10 000 ft takes 6 min at 6 600 kg/h an engine, and
    cruise at the speed of longest range 2 680 kg/h an engine (the last cruise of the long sector).
    """
    burns = {p.name: p.burn for p in load_sector(LONG, AIRCRAFT).phases}
    needed = 2.0 * (burns["climb"] * 6.0 * MINUTE + burns["cruise, last"] * 45.0 * MINUTE)
    protected = sum(standpipe(side, 0.0) for side in SIDES) * 800.0
    assert protected > needed
    assert protected < 2.5 * needed  # and not a needless burden on the landing


def test_no_fuel_is_jettisoned_unless_it_is_selected():
    """The long sector loses nothing overboard."""
    assert overboard(flight(LONG), flight(LONG).sector.end) == 0.0


# --------------------------------------------------------------------- refuelling, defuelling
ORDERS = [a for a in load_sector(LONG, AIRCRAFT).actions if a.order is not None]
INLETS = {
    "left inner": "left inlet valve",
    "right inner": "right inlet valve",
    "left reserve": "left reserve refuel valve",
    "right reserve": "right reserve refuel valve",
    "centre": "centre refuel valve",
    "trim": "trim inlet valve",
}


def test_a_part_order_stops_each_tank_at_its_share():
    """46 t, all in the wings; what comes in while the valves travel is little."""
    history, (first, second) = flight(LONG), ORDERS
    for tank in ("left inner", "right inner", "left reserve", "right reserve"):
        met = [t for t in times(history, f"{tank} has its order", "ACTIVE") if t > first.time]
        assert first.time < met[0] < second.time and not is_scripted(history, met[0])
        assert not [t for t in times(history, f"{tank} is full", "ACTIVE") if t < second.time]
    before = held(history, "centre", first.time), held(history, "trim", first.time)
    wanted = first.order + sum(before)  # what was there and is not ordered stays
    assert total(history, second.time - 1.0) == pytest.approx(wanted, abs=150.0)


@pytest.mark.parametrize("tank", FUEL_TANKS)
def test_full_tanks_are_shut_off_by_their_high_level_sensors(tank):
    """Ordered is a little more than they take: the sensor shuts each valve, none runs over."""
    history, (_, second) = flight(LONG), ORDERS
    (wet,) = [t for t in times(history, f"{tank} high sensor", "WET") if t > second.time - 3_000.0]
    rule = "trim tank is full" if tank == "trim" else f"{tank} is full"
    if tank != "centre":
        assert wet in times(history, rule, "ACTIVE")
    shut = [t for t in times(history, INLETS[tank], "SHUT") if t > wet - 10.0]
    assert shut and shut[0] < wet + 10.0
    full = AIRCRAFT.tank(tank)
    density = history.hydraulics.fuel.density(history.temperature(tank, shut[0]))
    assert held(history, tank, shut[0]) / density < full.highest_volume


@lru_cache(maxsize=3)
def turnround(*failures):
    """Return two hours on the ground: 15 t on board, then the two orders of the long sector."""
    sector = load_sector(LONG, AIRCRAFT)
    actions = (
        Action(60.0, (("refuel panel", "open"),), order=ORDERS[0].order),
        Action(3_000.0, (), order=ORDERS[1].order),
    )
    return fly(
        AIRCRAFT,
        replace(
            sector, total=15_000.0, phases=sector.phases[:1], actions=actions, end=8_400.0,
            failures=failures,
        ),
    )  # fmt: skip


def test_a_failed_order_is_stopped_by_the_high_level():
    """A gauge that shows half the mass: the order is never seen to be met, the sensor is wet."""
    history = turnround(Failure(0.0, "left inner", "misreading", factor=0.5))
    assert not times(history, "left inner has its order", "ACTIVE")
    full = times(history, "left inner is full", "ACTIVE")
    assert full and full[0] < 3_000.0
    assert not times(history, "left inner overflow", "RUNNING")
    sound = held(turnround(), "left inner", 2_999.0)
    assert held(history, "left inner", 2_999.0) > sound + 4_000.0


def test_a_refuel_valve_stuck_open_runs_over_into_the_surge_tank_and_overboard():
    """Neither order nor sensor moves it: fuel comes out at the wing tip, and all is counted."""
    history = turnround(Failure(120.0, "left inlet valve", "stuck", "OPEN"))
    wet = times(history, "left inner high sensor", "WET")[0]
    over = times(history, "left inner overflow", "RUNNING")[0]
    spilled = times(history, "left surge overflow", "RUNNING")[0]
    assert 120.0 < wet < over < spilled
    assert held(history, "left surge", spilled) > 500.0
    assert overboard(history, history.sector.end) > 100.0
    assert not times(history, "right inner overflow", "RUNNING")
    assert abs(history.conservation_error()) < 1e-3


def test_defuelling_takes_fuel_out_down_to_what_is_to_stay():
    """Out at the coupling, against a pressure below that of the air, and it stops at 15 t."""
    history = flight(RETURN)
    start = times(history, "defuel panel", "open")[0]
    stop = times(history, "defuelling is over", "ACTIVE")[0]
    delivered = history.quantities.index["delivered"]
    taken = (
        history.state_at(start).quantities[delivered] - history.state_at(stop).quantities[delivered]
    )
    assert taken > 3_000.0 and not is_scripted(history, stop)
    assert total(history, stop) == pytest.approx(15_000.0, abs=1e-3)
    assert history.position("defuel valve", stop + 10.0) == "SHUT"
    assert history.position("APU", stop) == "RUN"  # the pumps need its electricity
