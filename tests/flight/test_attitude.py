"""Fuel at an attitude: what it covers, what cannot be drawn, who starves.

Volumes below a tilted plane come from clipped tetrahedra and scipy's convex hull, not from the
kit's level tables; the ceiling of gravity feed from the loss of its lines by hand.
"""

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import why
from fuelkit.physics.atmosphere import air
from fuelkit.physics.units import FOOT, HOUR, STANDARD_GRAVITY
from fuelkit.physics.volatility import gravity_ceiling, vapour_pressure
from tests.flight.situations import (
    INBOARD,
    LEFT,
    changed,
    loaded_first,
    phase,
    sector_of,
    started,
    without_returns,
)

WEIGHT = 800.0 * STANDARD_GRAVITY


def up_of(pitch, roll):
    """Return up in axes x aft, y right, z up, by scipy: body axes are x ahead, y right, z down."""
    turned = Rotation.from_euler("ZYX", [0.0, pitch, roll], degrees=True)
    ahead, right, down = turned.inv().apply([0.0, 0.0, -1.0])
    return np.array([-ahead, right, -down])


def clipped_volume(tetrahedra, up, level):
    """Return the volume of a solid below a plane: each tetrahedron cut, its hull by Qhull [m³]."""
    total = 0.0
    for corners in tetrahedra:
        heights = corners @ up - level
        points = [c for c, h in zip(corners, heights, strict=True) if h <= 0.0]
        for i in range(4):
            for j in range(i):
                if heights[i] * heights[j] < 0.0:
                    share = heights[i] / (heights[i] - heights[j])
                    points.append(corners[i] + share * (corners[j] - corners[i]))
        if len(points) >= 4:
            total += ConvexHull(np.array(points), qhull_options="QJ").volume
    return total


@pytest.mark.parametrize("seed", range(6))
def test_sensors_and_openings_are_wet_where_the_tilted_plane_covers_them(halbrook, seed):
    """Any attitude, any load: the volume below the point against the volume in the tank."""
    chance = random.Random(seed)
    pitch, roll = chance.uniform(-6.0, 9.0), chance.uniform(-5.0, 5.0)
    total = chance.choice([600.0, 2000.0, 5000.0, 8000.0, 12_000.0])
    flight = fly(
        halbrook, sector_of(halbrook, total, end=10.0, phases=(phase(pitch=pitch, roll=roll),))
    )
    up, seen = up_of(pitch, roll), set()
    for point in flight.hydraulics.points:
        below = clipped_volume(
            halbrook.tank(point.tank).solid, up, float(np.dot(point.position, up))
        )
        held = flight.quantity(point.tank, 0.0) / 800.0
        if abs(held - below) > 1e-4:
            state = flight.position(point.name, 0.0)
            assert state == ("WET" if held > below else "DRY"), point
            seen.add(state)
    assert seen == {"WET", "DRY"}


def test_a_sensor_flips_when_the_aircraft_tilts_and_says_so(halbrook):
    """No fuel moves: nose up the swept wing's fuel runs outboard off the sensor at its root."""
    sensor, tank = halbrook.by_name["left inboard low sensor"], halbrook.tank("left inboard")
    level, tilted = (
        clipped_volume(tank.solid, up, float(np.dot(sensor.position, up)))
        for up in (up_of(0.0, 0.0), up_of(8.0, 0.0))
    )
    assert tilted > level + 0.1
    total = 2.0 * 800.0 * (tilted - 0.01)
    phases = (phase(), phase(100.0, pitch=8.0), phase(200.0, name="level again"))
    flight = fly(halbrook, sector_of(halbrook, total, end=300.0, phases=phases))
    assert [(c.time, c.after) for c in flight.changes_of(sensor.name)] == [
        (100.0, "DRY"), (200.0, "WET"),
    ]  # fmt: skip
    first, second = flight.changes_of(sensor.name)
    assert first.reason == (
        "the aircraft is now 8.0° nose up and the fuel in left inboard has left the sensor"
    )
    assert (
        second.reason == "the aircraft is now level and the fuel in left inboard covers the sensor"
    )
    assert "the flight has come to the phase 'level again'" in why(flight, sensor.name, 250.0)
    assert flight.samples([50.0]) == pytest.approx(flight.samples([250.0]), abs=0.0)


def test_a_pump_loses_its_fuel_nose_up_and_the_other_one_goes_on(halbrook):
    """Low fuel runs aft: the forward pump has no pressure, the aft one feeds the engine."""
    phases = (phase(), phase(100.0, pitch=9.0))
    flight = fly(halbrook, sector_of(halbrook, 400.0, started(*INBOARD), end=200.0, phases=phases))
    assert flight.position(LEFT[0], 99.0) == "RUN"
    assert flight.position(LEFT[0], 100.0) == "LOW PRESS"
    assert flight.position(LEFT[1], 100.0) == "RUN"
    assert flight.position("engine 1", 150.0) == "RUN"
    assert changed(flight, f"{LEFT[0]} inlet", "DRY").reason == (
        "the aircraft is now 9.0° nose up and the fuel in left inboard has left the opening"
    )
    assert "the flight has come to the phase 'from 100 s'" in why(flight, LEFT[0], 150.0)


@pytest.mark.parametrize(("pitch", "roll"), [(0.0, 0.0), (6.0, 0.0), (-3.0, 0.0), (4.0, -2.0)])
def test_what_no_opening_reaches_at_an_attitude_is_left_in_the_tank(content, pitch, roll):
    """Flown until the engines stop: the volume below the last opening's plane, by Qhull."""
    content["rules"] = [r for r in content["rules"] if r["name"] != "outboard transfer"]
    content["alerts"] = [a for a in content["alerts"] if a["name"] != "Outboard cells are open"]
    aircraft = aircraft_from(without_returns(content))
    tilted = phase(1.0, pitch=pitch, roll=roll)
    sector = sector_of(
        aircraft, 1200.0, started(*INBOARD), end=3000.0, phases=(phase(), tilted)
    )  # fmt: skip
    flight = fly(aircraft, sector)
    up = up_of(pitch, roll)
    for side in ("left", "right"):
        tank = aircraft.tank(f"{side} inboard")
        openings = [p for p in flight.hydraulics.points if p.tank == tank.name]
        openings = [p for p in openings if p.name.endswith("inlet")]
        left = min(clipped_volume(tank.solid, up, float(np.dot(p.position, up))) for p in openings)
        density = flight.hydraulics.fuel.density(flight.temperature(tank.name, 3000.0))
        assert flight.quantity(tank.name, 3000.0) == pytest.approx(left * density, abs=0.2)
    assert {flight.position(f"engine {n}", 3000.0) for n in (1, 2)} == {"STARVED"}


def test_a_gentle_roll_leaves_more_in_the_lower_wing(content):
    """Right wing down, the right tank's fuel runs from its pumps at the root, the left one's to."""
    aircraft = aircraft_from(without_returns(content))
    flights = [
        fly(
            aircraft,
            sector_of(aircraft, 2000.0, started(*INBOARD), end=1.5 * HOUR,
                      phases=(phase(), phase(1.0, roll=roll))),
        )
        for roll in (0.0, 2.0)
    ]  # fmt: skip
    level, rolled = (changed(f, "engine 2", "STARVED") for f in flights)
    other = changed(flights[1], "engine 1", "STARVED")
    assert rolled.time < level.time - 1.0 and other.time > level.time + 0.1


# -------------------------------------------------------------------------------- gravity feed
def loss(part, flow):
    """Return what a line loses at a flow: quadratic and laminar part [Pa]."""
    return part.resistance * flow**2 + max(1.0, 0.002 * part.resistance) * flow


def suction(aircraft, flight, time, flow):
    """Return the gauge pressure at the inlet of engine 1 by gravity alone, by hand [Pa]."""
    tank = aircraft.tank("left inboard").levels
    density = flight.hydraulics.fuel.density(flight.temperature("left inboard", time))
    surface = tank.level_of(flight.quantity("left inboard", time) / density)
    inlet = aircraft.by_name["engine 1 inlet"].position[2]
    lines = ("left gravity feed valve", "engine 1 shut-off valve")
    return WEIGHT * (surface - inlet) - sum(loss(aircraft.by_name[n], flow) for n in lines)


def climb(feet, *, start=600.0, step=60.0, burn=1500.0):
    """Return phases that climb step by step through some heights [ft]."""
    return (
        phase(burn=burn),
        *(phase(start + i * step, burn, feet=f) for i, f in enumerate(feet)),
    )


def test_engines_by_gravity_stop_in_the_climb_at_the_ceiling_of_gravity_feed(content):
    """Both buses dead, a climb by 250 ft a step: between two steps lies the computed ceiling."""
    aircraft = aircraft_from(without_returns(content))
    feet = [20_000.0 + 250.0 * i for i in range(81)]
    dead = [Failure(300.0, f"{side} bus", "failed") for side in ("left", "right")]
    end = 600.0 + 60.0 * len(feet)
    sector = sector_of(
        aircraft, 6000.0, started(*INBOARD), dead, end=end, phases=climb(feet), celsius=15.0
    )
    flight = fly(aircraft, sector)
    starved = changed(flight, "engine 1", "STARVED")
    above = feet[round((starved.time - 600.0) / 60.0)]
    gauge = suction(aircraft, flight, starved.time, 1500.0 / HOUR)
    warmest = max(flight.temperature(t.name, starved.time) for t in aircraft.tanks)
    needed = aircraft.by_name["engine 1"].least_pressure
    ceiling = gravity_ceiling(gauge, warmest, margin=needed - vapour_pressure(warmest)) / FOOT
    assert 21_000.0 < ceiling < 40_000.0
    assert above - 250.0 <= ceiling <= above
    assert starved.reason.endswith("and it needs 25.0 kPa")
    shown = air(above * FOOT).pressure + gauge
    assert starved.reason.startswith(f"the pressure at its inlet is {shown / 1000:.1f} kPa")
    told = why(flight, "engine 1", starved.time)
    assert "bus failed at 0:05:00" in told and f"'from {starved.time:g} s'" in told


def test_with_pumps_the_same_climb_starves_nobody(halbrook):
    """A boost pump lifts the inlet far above what the engine needs."""
    feet = [20_000.0 + 5000.0 * i for i in range(5)]
    sector = sector_of(halbrook, 6000.0, started(*INBOARD), end=1000.0, phases=climb(feet))
    flight = fly(halbrook, sector)
    assert {flight.position(f"engine {n}", 1000.0) for n in (1, 2)} == {"RUN"}


def test_a_higher_burn_lowers_the_ceiling(content):
    """The loss of the lines grows with the square of the flow; both ceilings by root finding."""
    aircraft = aircraft_from(without_returns(content))
    feet = [10_000.0 + 500.0 * i for i in range(76)]
    dead = [Failure(300.0, f"{side} bus", "failed") for side in ("left", "right")]
    stopped = []
    for burn in (1500.0, 3000.0):
        phases = climb(feet, step=20.0, burn=burn)
        sector = sector_of(
            aircraft, 7000.0, started(*INBOARD), dead, end=600.0 + 20.0 * 76, phases=phases
        )
        flight = fly(aircraft, sector)
        starved = changed(flight, "engine 1", "STARVED")
        above = feet[int((starved.time - 600.0) / 20.0)]
        gauge = suction(aircraft, flight, starved.time, burn / HOUR)
        needed = aircraft.by_name["engine 1"].least_pressure
        by_hand = brentq(lambda h, g=gauge, p=needed: air(h * FOOT).pressure + g - p, 0.0, 60_000.0)
        assert above - 500.0 <= by_hand <= above
        stopped.append(above)
    assert stopped[1] < stopped[0] - 3000.0


def test_a_starved_engine_lights_again_lower_down_once_it_is_asked_anew(content):
    """It stays STARVED on the way down until its lever has been at cut-off."""
    aircraft = aircraft_from(without_returns(content))
    phases = (phase(), phase(600.0, feet=41_000.0), phase(900.0, feet=10_000.0))
    dead = [Failure(300.0, f"{side} bus", "failed") for side in ("left", "right")]
    sector = sector_of(aircraft, 6000.0, started(*INBOARD), dead, end=2000.0, phases=phases)
    flight = fly(aircraft, sector)
    assert flight.position("engine 1", 700.0) == flight.position("engine 1", 1900.0) == "STARVED"
    lever = "engine 1 fuel lever"
    again = [replace(sector.actions[0], time=t, sets=((lever, p),)) for t, p in
             ((1000.0, "cut-off"), (1010.0, "run"))]  # fmt: skip
    relit = fly(aircraft, replace(sector, actions=(*sector.actions, *again)))
    # its shut-off valve hangs on the dead left bus and has stayed open all the time
    assert relit.position("engine 1", 1000.0) == "OFF"
    assert changed(relit, "engine 1", "OFF").time == 1000.0
    assert relit.position("engine 1", 1027.9) == "OFF"
    assert relit.position("engine 1", 1028.1) == "RUN"


def test_the_fuel_that_no_rule_can_bring_is_told_as_unusable(content):
    """The cell's loading first: its tank of 400 kg is all above the transfer valve's opening."""
    aircraft = aircraft_from(loaded_first(content, "left outboard"))
    opened = Failure(0.0, "left transfer valve", "stuck", state="OPEN")
    flight = fly(aircraft, sector_of(aircraft, 800.0, (), (opened,), end=2 * HOUR))
    valve = aircraft.by_name["left transfer valve"]
    cell = aircraft.tank("left outboard")
    below = clipped_volume(cell.solid, up_of(0.0, 0.0), valve.inlet[2])
    assert flight.quantity("left outboard", 2 * HOUR) == pytest.approx(800.0 * below, abs=0.5)
    assert math.isclose(flight.total(2 * HOUR), 800.0, abs_tol=1e-3)
