"""The flight against an independent integration of the same equations with scipy.

Source of the comparison: scipy.integrate.solve_ivp (LSODA, rtol 1e-10, atol 1e-9, terminal
events), and a network solved on its co-content; see reference.py. Tolerances are those that the
project promises: 10 ms for every event, 0.1 kg for every tank; 0.01 K is our own.
"""

import math
import random
from copy import deepcopy
from dataclasses import replace

import pytest

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, Phase
from fuelkit.physics.units import HOUR
from tests.flight.reference import Reference
from tests.flight.reference_comparison import EVENT_TIME, TANK_MASS, TEMPERATURE, Comparison

PUMPS = ("forward", "aft")


def switches(position, *names):
    """Return a `set` of several switches put to one position."""
    return tuple((f"{name} switch", position) for name in names)


def awkward(sector):
    """A short flight with what the course's sector has not.

    Both engines on one tank through the crossfeed, two tanks that share by their levels, gravity
    feed of both engines from both tanks, valves that turn round on their way, a centre tank that
    is empty when its pumps are selected, a refuelling that is broken off; pitched and rolled, high
    up in the cold.
    """
    left = [f"left inboard {which} pump" for which in PUMPS]
    right = [f"right inboard {which} pump" for which in PUMPS]
    centre = ["left centre pump", "right centre pump"]
    actions = (
        Action(60.0, switches("on", *left, *right, *centre)),
        Action(120.0, (("engine 1 fuel lever", "run"), ("engine 2 fuel lever", "run"))),
        Action(900.0, switches("on", "crossfeed")),
        Action(1200.0, switches("off", *left)),
        Action(2000.0, switches("on", *left)),
        Action(2600.0, switches("off", "crossfeed")),
        Action(2602.0, switches("on", "crossfeed")),
        Action(2603.0, switches("off", "crossfeed")),
        Action(2604.5, switches("on", "crossfeed")),
        Action(3000.0, switches("off", *left, *right, *centre)),
        Action(3600.0, switches("on", "APU")),
        Action(4500.0, (("engine 1 fuel lever", "cut-off"), ("engine 2 fuel lever", "cut-off"))),
        Action(4800.0, (("refuel panel", "open"),), 9000.0),
        Action(4950.0, (("refuel panel", "closed"),)),
        Action(4951.0, (("refuel panel", "open"),), 7000.0),
    )
    phases = (
        Phase("stand", 0.0, 360.0 / HOUR),
        Phase("climb", 600.0, 1700.0 / HOUR, 5000.0, 0.5, math.radians(6.0)),
        Phase("cruise", 900.0, 1500.0 / HOUR, 11_500.0, 0.78, math.radians(2.5)),
        Phase("slip", 1900.0, 1500.0 / HOUR, 11_500.0, 0.78, math.radians(2.5), math.radians(-2)),
        Phase("descent", 3300.0, 500.0 / HOUR, 6000.0, 0.6, math.radians(-2.0)),
        Phase("stand, after flight", 4200.0, 360.0 / HOUR),
    )
    return replace(
        sector, total=3900.0, phases=phases, actions=actions, end=5400.0,
        burn_factor={"engine 1": 1.3},
    )  # fmt: skip


def brimming(content, sector):
    """An aircraft whose transfers can be opened by hand, and a flight in which tanks run over.

    Fuel runs from full cells into full inboard tanks, which run over into the surge tanks and
    overboard until less comes in than the engines take; then an APU draws by gravity from the
    fuller of two tanks, through the crossfeed, until they are level and it draws from both.
    """
    inboard = [f"{side} inboard {which} pump" for side in ("left", "right") for which in PUMPS]
    rule = next(r for r in content["rules"] if r["name"] == "outboard transfer")
    rule["any"] = ["crossfeed switch is on"]
    rule["until"] = ["crossfeed switch is off"]
    rule["set"]["crossfeed valve"] = "SHUT"
    content["rules"].insert(0, content["rules"].pop(content["rules"].index(rule)))
    gravity = {
        "name": "crossfeed for the APU", "all": ["APU switch is on"],
        "set": {"crossfeed valve": "OPEN"}, "because": "of this test",
    }  # fmt: skip
    content["rules"].insert(0, gravity)
    actions = (
        Action(10.0, switches("on", *inboard)),
        Action(60.0, (("engine 1 fuel lever", "run"), ("engine 2 fuel lever", "run"))),
        Action(70.0, switches("on", "crossfeed")),
        Action(1800.0, (("engine 2 fuel lever", "cut-off"),)),
        Action(1830.0, switches("off", "crossfeed")),
        Action(1950.0, (("engine 1 fuel lever", "cut-off"),)),
        Action(1960.0, switches("off", *inboard)),
        Action(2000.0, switches("on", "APU")),
    )
    flown = replace(
        sector, total=12_000.0, actions=actions, end=3200.0, burn_factor={"engine 1": 1.3},
        phases=(Phase("stand", 0.0, 300.0 / HOUR),),
    )  # fmt: skip
    return aircraft_from(content), flown


def bared(content, sector):
    """Fuel is drawn through openings until they are bare: none comes after that.

    A line between two tanks whose one end lies lower than the other, a suction at the coupling
    that reaches nothing, a tank in whose bottom there is a hole.
    """
    for line in content["valves"]:
        if line["name"] == "left transfer valve":
            line["inlet"][2] = -0.5
    content["loading"]["order"].insert(0, content["loading"]["order"].pop(1))  # the cells first
    rule = next(r for r in content["rules"] if r["name"] == "outboard transfer")
    rule["any"], rule["until"] = ["crossfeed switch is on"], ["crossfeed switch is off"]
    actions = (
        Action(60.0, switches("on", "crossfeed")),
        Action(400.0, (("refuel panel", "open"),), 9000.0, -60e3),
        Action(1500.0, (), 12_000.0, 250e3),
        Action(1600.0, (), None, -20e3),
    )
    failures = (Failure(600.0, "right outboard", "leaking", leak=900.0 / HOUR),)
    phases = (Phase("stand", 0.0, 0.0), Phase("stand, tilted", 5400.0, 0.0, roll=math.radians(2.0)))
    flown = replace(
        sector, total=2500.0, actions=actions, end=6000.0, phases=phases, failures=failures,
        burn_factor={},
    )  # fmt: skip
    return aircraft_from(content), flown


def evened(content, sector):
    """One wing gets heavier than the other by far, and then the other than the one.

    Steadily, so that an alert that is shown only while they are about level is easily missed.
    """
    level = {"name": "Wings are level", "level": "advisory"}
    level["all"] = ["lateral imbalance is below 15 kg"]
    content["alerts"].append(level)
    left = [f"left inboard {which} pump" for which in PUMPS]
    right = [f"right inboard {which} pump" for which in PUMPS]
    actions = (
        Action(10.0, switches("on", *left, "crossfeed")),
        Action(60.0, (("engine 1 fuel lever", "run"), ("engine 2 fuel lever", "run"))),
        Action(800.0, switches("on", *right)),
        Action(801.0, switches("off", *left)),
    )
    flown = replace(
        sector, total=3900.0, actions=actions, end=3000.0, burn_factor={},
        phases=(Phase("cruise", 0.0, 1500.0 / HOUR, 3000.0, 0.5),),
    )  # fmt: skip
    return aircraft_from(content), flown


MADE = {"brimming": brimming, "bared": bared, "evened": evened}


@pytest.fixture(scope="module", params=["the course's", "awkward", *MADE])
def pair(request, halbrook, sector, halbrook_content):
    """A flight by the kit and by the reference."""
    aircraft, flown = halbrook, sector
    if request.param == "awkward":
        flown = awkward(sector)
    elif request.param in MADE:
        aircraft, flown = MADE[request.param](deepcopy(halbrook_content), sector)
    return Comparison(fly(aircraft, flown), Reference(aircraft, flown))


def test_every_component_changes_to_the_same_states_in_the_same_order(pair):
    """Pumps, valves, sensors, openings, overflows, consumers, rules, alerts, counters."""
    assert pair.different_states() == []
    assert len(pair.flight.changes) > 20


def test_every_event_is_at_the_same_time(pair):
    """Within 10 ms; the largest difference is printed."""
    latest, name = pair.latest_event()
    print(f"largest difference: {latest * 1e3:.6f} ms, {name}")
    assert latest < EVENT_TIME, name


def test_every_tank_holds_the_same_at_any_time(pair):
    """Within 0.1 kg and 0.01 K at 200 random times; the largest difference is printed."""
    chance = random.Random(180)
    times = [chance.uniform(0.0, pair.flight.sector.end) for _ in range(200)]
    mass, temperature = pair.largest_differences(times)
    print(f"largest difference: {mass:.9f} kg, {temperature:.9f} K")
    assert mass < TANK_MASS
    assert temperature < TEMPERATURE
    tanks = len(pair.flight.aircraft.tanks)
    least = min(segment.state.quantities[:tanks].min() for segment in pair.flight.segments)
    assert least >= 0.0


def test_wings_that_pass_through_level_are_seen_to_be_level(halbrook_content, sector):
    """At the start, and once more on the way from one heavy wing to the other."""
    flight = fly(*evened(deepcopy(halbrook_content), sector))
    shown = [c.after for c in flight.changes_of("Wings are level")]
    assert shown == ["SHOWN", "OUT", "SHOWN", "OUT"]


def test_a_line_draws_from_a_tank_down_to_its_opening_and_no_further(halbrook_content, sector):
    """Its other end lies lower; through the refuelling valves high above nothing is drawn."""
    aircraft, flown = bared(deepcopy(halbrook_content), sector)
    flight = fly(aircraft, flown)
    tank = aircraft.tank("left outboard")
    volume = flight.quantity(tank.name, 5399.0) / flight.hydraulics.fuel.density(
        flight.temperature(tank.name, 5399.0)
    )
    assert volume == pytest.approx(tank.levels.volume_below(-0.5), rel=0.01)
    assert flight.quantity("delivered", 1499.0) == 0.0
