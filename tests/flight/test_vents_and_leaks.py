"""Leaks of a given size in tank, line and engine, and vents that are blocked.

Leaks are held against sums by hand; trapped air against Boyle's law and the standard atmosphere
(US Standard Atmosphere 1976; from memory: 101 325 Pa at 0 ft, 84 307 Pa at 5000 ft, 69 682 Pa at
10 000 ft, 23 842 Pa at 35 000 ft); what it does to flows against scipy's root finder.
"""

import math

import pytest
from scipy.optimize import brentq

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import why
from fuelkit.flight.sector import Action
from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.solid import level_table
from fuelkit.physics.units import HOUR, STANDARD_GRAVITY
from tests.flight.situations import (
    INBOARD,
    LEFT,
    RIGHT,
    changed,
    loaded_first,
    phase,
    sector_of,
    started,
    switched,
    unaccounted,
)

GRAM = 1e-3
WEIGHT = 800.0 * STANDARD_GRAVITY  # of a cubic metre of the fuel at 15 °C
LEAK = 360.0 / HOUR


def leaking(part, *, at=600.0, hole=None, flow=LEAK):
    """Return a leak, of 360 kg/h if not told else."""
    return Failure(at, part, "leaking", leak=flow, hole=hole)


def burned(flight, time):
    """Return what the engines and the APU have burned by a time [kg]."""
    return sum(flight.quantity(f"burned by {c.name}", time) for c in flight.aircraft.consumers)


# --------------------------------------------------------------------------------------- leaks
def test_a_tank_loses_its_leak_and_no_counter_sees_it(halbrook):
    """Loaded = on board + burned + overboard; the counters show what the engines burn."""
    flight = fly(
        halbrook,
        sector_of(halbrook, 7000.0, started(*INBOARD), (leaking("left inboard"),), end=3600.0),
    )
    lit, span = 22.0, 3000.0
    assert flight.quantity("overboard", 3600.0) == pytest.approx(LEAK * span, abs=GRAM)
    lost = flight.quantity("left inboard", 600.0) - flight.quantity("left inboard", 3600.0)
    assert lost == pytest.approx((1500.0 + 480.0 + 360.0) * span / HOUR, abs=GRAM)
    counted = sum(flight.fuel_used(f"engine {n}", 3600.0) for n in (1, 2))
    assert counted == pytest.approx(2 * 1500.0 * (3600.0 - lit) / HOUR, abs=GRAM)
    assert flight.total(3600.0) == pytest.approx(7000.0 - counted - LEAK * span, abs=GRAM)
    assert abs(unaccounted(flight, 3600.0)) < GRAM


@pytest.mark.parametrize(("pitch", "roll"), [(0.0, 0.0), (6.0, 0.0), (-3.0, 2.0)])
def test_a_tank_leaks_down_to_its_hole_at_the_attitude_it_has(content, pitch, roll):
    """It ends when the volume below the hole's plane is left, after (mass above)/(leak)."""
    aircraft = aircraft_from(loaded_first(content, "centre"))
    hole = (15.2, 0.6, -1.0)
    tilted = phase(pitch=pitch, roll=roll)
    leak = leaking("centre", at=10.0, hole=hole, flow=2.0)
    flight = fly(aircraft, sector_of(aircraft, 4000.0, (), (leak,), end=3600.0, phases=(tilted,)))
    up = up_direction(math.radians(pitch), math.radians(roll))
    table = level_table(aircraft.tank("centre").solid, up)
    kept = 800.0 * table.volume_below(height(hole, up))
    assert 200.0 < kept < 3000.0
    density = flight.hydraulics.fuel.density(flight.temperature("centre", 3600.0))
    assert density == pytest.approx(800.0, abs=0.01)
    assert flight.quantity("centre", 3600.0) == pytest.approx(kept, abs=0.05)
    dry = changed(flight, "centre hole", "DRY")
    assert dry.time == pytest.approx(10.0 + (4000.0 - kept) / 2.0, abs=0.05)
    assert dry.reason.startswith("the fuel in centre has fallen to the hole, at ")


def test_a_leak_without_a_place_is_at_the_lowest_point_and_empties_the_tank(content):
    """Next to nothing is left."""
    aircraft = aircraft_from(loaded_first(content, "centre"))
    flight = fly(
        aircraft,
        sector_of(aircraft, 1000.0, (), (leaking("centre", at=0.0, flow=1.0),), end=1200.0),
    )
    assert 0.0 <= flight.quantity("centre", 1200.0) < 10.0
    assert flight.quantity("overboard", 1200.0) > 990.0


def test_a_line_leaks_beside_what_its_engine_draws(halbrook):
    """The manifold is fed from the left inboard tank, so that is where the fuel is missing."""
    flight = fly(
        halbrook,
        sector_of(halbrook, 6000.0, started(*INBOARD), (leaking("left manifold"),), end=3600.0),
    )
    assert flight.quantity("overboard", 3600.0) == pytest.approx(LEAK * 3000.0, abs=GRAM)
    more = flight.quantity("right inboard", 3600.0) - flight.quantity("left inboard", 3600.0)
    assert more == pytest.approx(LEAK * 3000.0, abs=0.01)
    assert flight.fuel_used("engine 1", 3600.0) == flight.fuel_used("engine 2", 3600.0)


def test_a_line_leaks_by_gravity_too_as_long_as_fuel_reaches_it(halbrook):
    """With every pump off the manifold is still open to its tank."""
    flight = fly(halbrook, sector_of(halbrook, 6000.0, (), (leaking("left manifold"),), end=3600.0))
    assert flight.quantity("overboard", 3600.0) == pytest.approx(LEAK * 3000.0, abs=GRAM)
    assert burned(flight, 3600.0) == 0.0


def test_an_engine_leak_stops_when_its_shut_off_valve_is_shut(halbrook):
    """The lever is cut off at 1800 s and the valve takes 2 s: so long it leaks."""
    cut = Action(1800.0, (("engine 1 fuel lever", "cut-off"),))
    flight = fly(
        halbrook,
        sector_of(halbrook, 6000.0, (*started(*INBOARD), cut), (leaking("engine 1"),), end=3600.0),
    )
    assert flight.quantity("overboard", 3600.0) == pytest.approx(LEAK * 1202.0, abs=GRAM)
    assert flight.quantity("overboard", 1802.0) == flight.quantity("overboard", 3600.0)
    assert flight.position("engine 2", 3600.0) == "RUN"
    used = flight.fuel_used("engine 1", 3600.0)
    assert used == pytest.approx(1500.0 * (1800.0 - 22.0) / HOUR, abs=GRAM)
    assert abs(unaccounted(flight, 3600.0)) < GRAM


def test_an_engine_leak_goes_on_past_a_shut_off_valve_that_is_stuck_open(halbrook):
    """The engine stands and its fuel still runs overboard."""
    failures = (
        leaking("engine 1"),
        Failure(700.0, "engine 1 shut-off valve", "stuck", state="OPEN"),
    )
    cut = Action(1800.0, (("engine 1 fuel lever", "cut-off"),))
    flight = fly(
        halbrook, sector_of(halbrook, 6000.0, (*started(*INBOARD), cut), failures, end=3600.0)
    )
    assert flight.position("engine 1", 3600.0) == "OFF"
    assert flight.quantity("overboard", 3600.0) == pytest.approx(LEAK * 3000.0, abs=GRAM)


def test_a_refuelling_gallery_leaks_only_while_fuel_is_taken_on(halbrook):
    """In flight no hose hangs at the coupling: nothing is delivered and nothing leaks."""
    actions = (
        Action(1800.0, (("refuel panel", "open"),), 9000.0),
        Action(2400.0, (("refuel panel", "closed"),)),
    )
    flight = fly(
        halbrook, sector_of(halbrook, 6000.0, actions, (leaking("refuel gallery"),), end=3600.0)
    )
    assert flight.quantity("overboard", 1800.0) == flight.quantity("delivered", 1800.0) == 0.0
    assert 100.0 < flight.quantity("overboard", 3600.0) / LEAK < 604.0
    assert flight.quantity("overboard", 2403.0) == flight.quantity("overboard", 3600.0)
    assert abs(unaccounted(flight, 3600.0)) < GRAM


def test_a_leak_that_drains_the_only_tank_of_an_engine_starves_it(content):
    """The tank ends, the engine with it, and why names the leak's tank."""
    content["rules"] = [r for r in content["rules"] if r["name"] != "outboard transfer"]
    content["alerts"] = [a for a in content["alerts"] if a["name"] != "Outboard cells are open"]
    aircraft = aircraft_from(content)
    flight = fly(
        aircraft,
        sector_of(aircraft, 3000.0, started(*INBOARD), (leaking("left inboard", flow=2.0),),
                  end=3600.0),
    )  # fmt: skip
    starved = changed(flight, "engine 1", "STARVED")
    # its openings lie a little above the bottom: what is left then is not in the sum by hand
    rest = flight.quantity("left inboard", starved.time)
    rate = 2.0 + (1500.0 + 480.0) / HOUR
    before = 1980.0 * (600.0 - 22.0) / HOUR
    assert starved.time == pytest.approx(600.0 + (1500.0 - before - rest) / rate, abs=0.01)
    assert rest < 60.0
    assert "left inboard has fallen to the opening" in why(flight, "engine 1", starved.time)


# --------------------------------------------------------------------------------------- vents
def pressures(flight, tank, times):
    """Return the pressure of trapped air against outside at some times [Pa]."""
    found = []
    for time in times:
        movement = flight.movement(time)
        found.append(movement.heads(movement.state.quantities).air[tank])
    return found


def air_in(flight, tank, time):
    """Return the volume of the air in a tank [m³]."""
    density = flight.hydraulics.fuel.density(flight.temperature(tank, time))
    return flight.aircraft.tank(tank).levels.capacity - flight.quantity(tank, time) / density


BLOCKED = Failure(600.0, "left inboard", "blocked")


def test_air_behind_a_blocked_vent_expands_as_its_tank_is_drawn_down(halbrook):
    """Pressure times volume stays: by hand from the volume at the failure, at sea level."""
    flight = fly(halbrook, sector_of(halbrook, 6800.0, started(*INBOARD), (BLOCKED,), end=3000.0))
    before, times = air_in(flight, "left inboard", 600.0), (600.0, 610.0, 630.0, 650.0)
    expected = [101_325.0 * (before / air_in(flight, "left inboard", t) - 1.0) for t in times]
    assert expected[0] == 0.0 and -9000.0 < expected[-1] < -3000.0
    assert pressures(flight, "left inboard", times) == pytest.approx(expected, abs=1.0)
    assert pressures(flight, "left inboard", [3000.0]) == [-9000.0]  # air is let in there


@pytest.mark.parametrize(
    ("feet", "outside"), [(5000.0, 84_307.0), (10_000.0, 69_682.0), (35_000.0, 23_842.0)]
)
def test_a_climb_leaves_trapped_air_at_the_pressure_of_the_ground(halbrook, feet, outside):
    """No fuel is moved: up to where the burst disc opens, at 28 kPa, it is all held."""
    phases = (phase(), phase(700.0, feet=feet))
    flight = fly(halbrook, sector_of(halbrook, 6000.0, (), (BLOCKED,), end=710.0, phases=phases))
    expected = min(101_325.0 - outside, 28_000.0)
    # the fuel cools by a little in 10 s, and shrinks
    assert pressures(flight, "left inboard", [700.0]) == pytest.approx([expected], abs=30.0)
    assert pressures(flight, "left inboard", [699.0])[0] == pytest.approx(0.0, abs=1e-6)


def test_a_descent_makes_a_blocked_vent_worse(halbrook):
    """Blocked in cruise the air is thin; lower down it is sucked in until air is let in."""
    at_height = phase(feet=35_000.0, mach=0.7, burn=1200.0)
    phases = (at_height, phase(1200.0, feet=33_000.0), phase(1300.0, feet=10_000.0))
    flight = fly(
        halbrook,
        sector_of(halbrook, 6000.0, started(*INBOARD), (BLOCKED,), end=1500.0, phases=phases),
    )
    cruise, lower, low = pressures(flight, "left inboard", [1199.0, 1200.0, 1300.0])
    assert 0.0 > cruise > lower > low == -9000.0
    before, now = (air_in(flight, "left inboard", t) for t in (600.0, 1199.0))
    assert cruise == pytest.approx(23_842.0 * (before / now - 1.0), abs=2.0)


def test_a_cell_with_a_blocked_vent_drains_only_until_its_air_holds_the_fuel_back(content):
    """By gravity through the transfer valve: in the end thin air and fuel column balance."""
    aircraft = aircraft_from(loaded_first(content, "left outboard"))
    failures = (
        Failure(1.0, "left outboard", "blocked"),
        Failure(2.0, "left transfer valve", "stuck", state="OPEN"),
    )
    flight = fly(aircraft, sector_of(aircraft, 2600.0, (), failures, end=4 * HOUR))
    cell, valve = aircraft.tank("left outboard"), aircraft.by_name["left transfer valve"]
    loaded = flight.quantity("left outboard", 1.0) / 800.0
    air = cell.levels.capacity - loaded
    inner = flight.quantity("left inboard", 4 * HOUR) / 800.0
    below = max(aircraft.tank("left inboard").levels.level_of(inner), valve.outlet[2])

    def excess(volume):
        thin = 101_325.0 * (air / (cell.levels.capacity - volume) - 1.0)
        return WEIGHT * (cell.levels.level_of(volume) - below) + thin

    held = brentq(excess, 0.01, loaded)
    assert 1e-3 < loaded - held < 0.1  # m³: the little air there is holds nearly all of it
    assert flight.quantity("left outboard", 4 * HOUR) == pytest.approx(800.0 * held, abs=0.01)
    free = flight.quantity("right outboard", 4 * HOUR)
    assert free < flight.quantity("left outboard", 4 * HOUR) - 100.0


def side(flight, tank, time, air):
    """Return a function: manifold pressure of one side over the flow of each of its pumps [Pa]."""
    aircraft = flight.aircraft
    pump = aircraft.by_name[f"{tank} forward pump"]
    valve = aircraft.by_name[f"{tank.split()[0]} forward sequence valve"]
    table = aircraft.tank(tank).levels
    level = table.level_of(flight.quantity(tank, time) / 800.0)

    def pressure(flow):
        friction = [max(1.0, 0.002 * part.resistance) for part in (pump, valve)]
        lift = pump.rise - pump.resistance * flow**pump.exponent - friction[0] * flow
        loss = valve.opening + valve.resistance * flow**2 + friction[1] * flow
        return WEIGHT * level + air + lift - loss

    return pressure


def test_with_the_crossfeed_open_the_feed_shifts_to_the_tank_that_breathes(halbrook):
    """Left and right pumps are alike: the trapped air alone decides; shares by root finding."""
    actions = (*started(*INBOARD), Action(100.0, switched("on", "crossfeed")))
    flight = fly(halbrook, sector_of(halbrook, 6800.0, actions, (BLOCKED,), end=900.0))
    time, drawn = 800.0, (1500.0 + 480.0) / HOUR
    air = pressures(flight, "left inboard", [time])[0]
    assert air < -4000.0
    left = side(flight, "left inboard", time, air)
    right = side(flight, "right inboard", time, 0.0)
    crossfeed = halbrook.by_name["crossfeed valve"]
    friction = max(1.0, 0.002 * crossfeed.resistance)

    def unbalanced(across):  # from right to left
        loss = crossfeed.resistance * across * abs(across) + friction * across
        return right((drawn + across) / 2.0) - left((drawn - across) / 2.0) - loss

    across = brentq(unbalanced, -drawn, drawn)
    flows = {name: q for flow in flight.flows(time) for name, q in flow.flows.items()}
    assert flows["crossfeed valve"] == pytest.approx(-across, abs=1e-4)
    shares = flight.feeding("engine 1", time)
    assert shares["right inboard"] == pytest.approx(across / drawn, abs=1e-4)
    assert flight.feeding("engine 1", 590.0).get("right inboard", 0.0) < 0.2 < across / drawn
    assert {flight.position(p, time) for p in LEFT + RIGHT} == {"RUN"}
