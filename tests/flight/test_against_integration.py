"""The flight against an independent integration of the same equations with scipy.

Source of the comparison: scipy.integrate.solve_ivp (DOP853, rtol 1e-10, atol 1e-9, terminal
events), and a network solved by SLSQP and MINPACK; see reference.py. Tolerances are those that
the project promises: 10 ms for every event, 0.1 kg for every tank.
"""

import random
from copy import deepcopy
from dataclasses import replace

import numpy as np
import pytest

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, Phase
from fuelkit.physics.units import HOUR
from tests.flight.reference import Reference

EVENT_TIME = 0.010  # s
TANK_MASS = 0.1  # kg

PUMPS = ("forward", "aft")


def switches(position, *names):
    """Return a `set` of several switches put to one position."""
    return tuple((f"{name} switch", position) for name in names)


def awkward(sector):
    """A short flight with what the course's sector has not.

    Both engines on one tank through the crossfeed, two tanks that share by their levels, gravity
    feed of both engines from both tanks, valves that turn round on their way, a centre tank that
    is empty when its pumps are selected, a refuelling that is broken off.
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
        Phase("cruise", 600.0, 1500.0 / HOUR),
        Phase("descent", 3300.0, 500.0 / HOUR),
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


@pytest.fixture(scope="module", params=["the course's", "awkward", "brimming"])
def pair(request, halbrook, sector, halbrook_content):
    """A flight by the kit and by the reference."""
    aircraft, flown = halbrook, sector
    if request.param == "awkward":
        flown = awkward(sector)
    elif request.param == "brimming":
        aircraft, flown = brimming(deepcopy(halbrook_content), sector)
    return fly(aircraft, flown), Reference(aircraft, flown)


def by_name(events):
    """Sort (time, name, state) by name."""
    found = {}
    for time, name, state in events:
        found.setdefault(name, []).append((time, state))
    return found


def test_every_component_changes_to_the_same_states_in_the_same_order(pair):
    """Pumps, valves, sensors, openings, overflows, consumers, rules, alerts, counters."""
    flight, reference = pair
    ours = by_name((c.time, c.name, c.after) for c in flight.changes)
    theirs = by_name(reference.events)
    states = {name: [state for _, state in events] for name, events in ours.items()}
    assert states == {name: [s for _, s in events] for name, events in theirs.items()}
    assert len(flight.changes) > 60


def test_every_event_is_at_the_same_time(pair):
    """Within 10 ms; the largest difference is printed."""
    flight, reference = pair
    ours = by_name((c.time, c.name, c.after) for c in flight.changes)
    theirs = by_name(reference.events)
    differences = {
        name: max(abs(a - b) for (a, _), (b, _) in zip(events, theirs[name], strict=True))
        for name, events in ours.items()
    }
    worst = max(differences, key=differences.get)
    print(f"largest difference: {differences[worst] * 1e3:.6f} ms, {worst}")
    assert differences[worst] < EVENT_TIME, worst


def test_every_tank_holds_the_same_at_any_time(pair):
    """Within 0.1 kg at 200 random times; the largest difference is printed."""
    flight, reference = pair
    chance = random.Random(180)
    times = [chance.uniform(0.0, flight.sector.end) for _ in range(200)]
    theirs = np.array([reference.masses(time) for time in times])
    difference = np.abs(flight.samples(times) - theirs).max()
    print(f"largest difference: {difference:.9f} kg")
    assert difference < TANK_MASS
