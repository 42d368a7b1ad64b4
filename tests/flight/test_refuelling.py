"""Refuelling and defuelling: flows, pressures and times against the orifice sums of the gallery.

By hand: the coupling's pressure is used up by the coupling valve (which carries all) and, for
each tank, by its valve and the rise to its opening. scipy finds the one unknown, the pressure in
the gallery. In still air as warm as the fuel, so that no temperature changes.
"""

import math
import tomllib
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import why
from fuelkit.flight.sector import Action, load_sector, sector_library
from fuelkit.flight.stance import tilted_levels
from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.units import HOUR, KILOPASCAL, STANDARD_GRAVITY
from tests.flight.situations import (
    LEFT,
    changed,
    loaded_first,
    sector_of,
    switched,
    unaccounted,
)

WEIGHT = 800.0 * STANDARD_GRAVITY
TRAVEL = 2.0  # s, of every refuelling valve
SECTORS = {}
for path in sector_library():
    flown_by = tomllib.loads(path.read_text(encoding="utf-8"))["aircraft"]
    SECTORS.setdefault(flown_by, []).append(path.stem)
REFUELLED = ("left outboard", "left inboard", "centre", "right inboard", "right outboard")


def opened(order, *, time=20.0, pressure=None):
    """Return the action that opens the refuel panel with an order [kg]."""
    return Action(time, (("refuel panel", "open"),), order, pressure)


def refuelled(aircraft, loaded, order, failures=(), *, end=3600.0, actions=()):
    """Return a flight on the ground in which an order is taken on from 20 s."""
    return fly(aircraft, sector_of(aircraft, loaded, (opened(order), *actions), failures, end=end))


def through(part, drive):
    """Return the flow that a loss f·q + R·q² lets through at a drive [Pa], [kg/s]."""
    friction = max(1.0, 0.002 * part.resistance)
    root = math.sqrt(friction**2 + 4.0 * part.resistance * abs(drive))
    return math.copysign((root - friction) / (2.0 * part.resistance), drive)


def by_hand(aircraft, tanks, coupling=300_000.0):
    """Return the flow into each of the tanks whose valve is open [kg/s], and the gallery [Pa]."""
    line = aircraft.by_name["coupling valve"]
    valves = {name: aircraft.by_name[f"{name} refuel valve"] for name in tanks}

    def into(gallery):
        return {
            name: through(valve, gallery - WEIGHT * valve.outlet[2])
            for name, valve in valves.items()
        }

    gallery = brentq(
        lambda p: through(line, coupling - p) - sum(into(p).values()), 0.0, coupling, xtol=1e-9
    )
    return into(gallery), gallery


@pytest.mark.parametrize("count", [5, 3, 1])
def test_every_tank_takes_its_flow_by_the_sum_of_the_orifices(halbrook, count):
    """With all five valves open, with three and with one: the fewer the quicker for each."""
    tanks = REFUELLED[:count]
    shut = [Failure(0.0, f"{n} refuel valve", "stuck", state="SHUT") for n in REFUELLED[count:]]
    flight = refuelled(halbrook, 0.0, 9000.0, shut, end=60.0)
    expected, gallery = by_hand(halbrook, tanks)
    for name in REFUELLED:
        taken = flight.quantity(name, 50.0) - flight.quantity(name, 30.0)
        assert taken / 20.0 == pytest.approx(expected.get(name, 0.0), rel=1e-6)
    shown = next(f.pressures for f in flight.flows(40.0) if "refuel gallery" in f.pressures)
    assert shown["refuel gallery"] == pytest.approx(gallery, rel=1e-9)
    assert 0.0 < gallery < 300_000.0


def test_the_time_of_a_refuelling_is_what_the_flows_say(halbrook):
    """One tank after the other reaches its order; each time the others get more. By hand."""
    flight = refuelled(halbrook, 3000.0, 15_000.0)
    held = {name: flight.quantity(name, 0.0) for name in REFUELLED}
    order = {
        name: limit.refuelled_volume * 800.0 for name, limit in
        ((n, halbrook.tank(n)) for n in REFUELLED)
    }  # fmt: skip
    order["centre"] = 15_000.0 - sum(m for n, m in order.items() if n != "centre")
    time, open_tanks, closing = 20.0 + TRAVEL, set(REFUELLED), {}
    while open_tanks:
        flows, _ = by_hand(halbrook, [n for n in REFUELLED if n in open_tanks])
        due = {n: time + (order[n] - held[n]) / flows[n] for n in open_tanks - closing.keys()}
        due |= {n: t for n, t in closing.items()}
        first = min(due.values())
        held = {n: m + flows.get(n, 0.0) * (first - time) for n, m in held.items()}
        time = first
        for name in [n for n, t in due.items() if t <= first + 1e-9]:
            if name in closing:
                open_tanks.discard(name)
                del closing[name]
            else:
                closing[name] = time + TRAVEL  # it passes all until it has arrived
                sent = changed(flight, f"{name} has its order", "ACTIVE")
                assert sent.time == pytest.approx(time, abs=0.01)
    assert time < 3000.0
    for name in REFUELLED:
        assert flight.quantity(name, 3600.0) == pytest.approx(held[name], abs=0.1)
    assert 15_000.0 < flight.total(3600.0) < 15_060.0
    assert abs(unaccounted(flight, 3600.0)) < 1e-3


@pytest.mark.parametrize("pressure", [100.0, 200.0, 350.0])
def test_another_pressure_at_the_coupling_makes_another_flow(halbrook, pressure):
    """From the moment that the action names it."""
    weaker = Action(40.0, (), None, pressure * KILOPASCAL)
    flight = refuelled(halbrook, 0.0, 12_000.0, end=80.0, actions=(weaker,))
    for span, coupling in (((30.0, 39.0), 300_000.0), ((41.0, 79.0), pressure * KILOPASCAL)):
        flows, _ = by_hand(halbrook, REFUELLED, coupling)
        taken = flight.quantity("delivered", span[1]) - flight.quantity("delivered", span[0])
        assert taken / (span[1] - span[0]) == pytest.approx(sum(flows.values()), rel=1e-6)


# ------------------------------------------------------------------------- automatic shut-off
def test_the_high_level_sensor_ends_what_a_misreading_gauge_would_overfill(halbrook):
    """The gauge shows half: fuel rises to the sensor, and 2 s later the valve is shut."""
    half = Failure(1.0, "left inboard", "misreading", factor=0.5)
    flight = refuelled(halbrook, 2000.0, 8000.0, (half,))
    tank, sensor = halbrook.tank("left inboard"), halbrook.by_name["left inboard high-level sensor"]
    rule = changed(flight, "left inboard is at its high level", "ACTIVE")
    assert flight.quantity(tank.name, rule.time) == pytest.approx(
        800.0 * tank.levels.volume_below(sensor.position[2] + 0.010), abs=0.01
    )  # it was DRY: the level stands 10 mm above it when it is WET
    shut = changed(flight, "left inboard refuel valve", "SHUT")
    assert shut.time == pytest.approx(rule.time + TRAVEL, abs=1e-6)
    assert "fuel has reached the high-level sensor" in why(
        flight, "left inboard refuel valve", 3000.0
    )
    assert flight.position("left inboard overflow", 3600.0) == "STILL"
    assert flight.quantity("overboard", 3600.0) == 0.0
    assert flight.shown_mass(tank.name, 3600.0) < 2000.0 < flight.quantity(tank.name, 3600.0) - 1000


@pytest.mark.parametrize("through_failure", ["valve", "sensor"])
def test_a_failed_shut_off_runs_over_into_the_surge_tank_and_overboard(halbrook, through_failure):
    """Sums by hand: what comes in fills the tank, then the surge tank, then goes overboard."""
    failures = [Failure(30.0, "left inboard refuel valve", "stuck", state="OPEN")]
    if through_failure == "sensor":
        failures = [
            Failure(1.0, "left inboard high-level sensor", "stuck", state="DRY"),
            Failure(1.0, "left inboard", "misreading", factor=0.01),
        ]
    flight = refuelled(halbrook, 6000.0, 7000.0, failures, end=2400.0)
    tank, surge = halbrook.tank("left inboard"), halbrook.tank("left surge")
    full = 800.0 * tank.levels.capacity * (1.0 - 0.025)
    over, beyond = (
        changed(flight, name, "RUNNING")
        for name in ("left inboard overflow", "left surge overflow")
    )
    assert flight.quantity(tank.name, 2400.0) == pytest.approx(full, abs=1e-3)
    assert flight.quantity(surge.name, 2400.0) == pytest.approx(
        800.0 * surge.levels.capacity, abs=1e-3
    )
    assert 30.0 < over.time < beyond.time
    alone, _ = by_hand(halbrook, ["left inboard"])
    rate = alone["left inboard"]
    assert beyond.time == pytest.approx(over.time + 800.0 * surge.levels.capacity / rate, abs=0.05)
    assert flight.quantity("overboard", 2400.0) == pytest.approx(
        rate * (2400.0 - beyond.time), rel=1e-6
    )
    assert over.reason == "left inboard is full to its overflow"
    assert abs(unaccounted(flight, 2400.0)) < 1e-3


def test_closing_the_panel_ends_what_a_failed_sensor_would_not(halbrook):
    """The crew sees fuel at the vent and closes the panel: 2 s later nothing more comes."""
    failures = (
        Failure(1.0, "left inboard high-level sensor", "stuck", state="DRY"),
        Failure(1.0, "left inboard", "misreading", factor=0.01),
    )
    closed = Action(1500.0, (("refuel panel", "closed"),))
    flight = refuelled(halbrook, 6000.0, 8000.0, failures, end=2400.0, actions=(closed,))
    assert flight.quantity("overboard", 1500.0) > 0.0
    assert flight.quantity("delivered", 1502.0) == flight.quantity("delivered", 2400.0)
    assert flight.position("left surge overflow", 2400.0) == "STILL"


def test_a_dead_bus_does_not_hold_a_valve_without_one(halbrook):
    """The refuelling valves name no bus: they are driven from the panel."""
    dead = Failure(1.0, "left bus", "failed")
    flight = refuelled(halbrook, 3000.0, 8000.0, (dead,))
    assert 8000.0 <= flight.total(3600.0) < 8100.0


# ---------------------------------------------------------------------------------- defuelling
@pytest.fixture
def defuelled(content):
    """The aircraft with a valve from its left manifold to the refuelling gallery."""
    content["switches"].append({"name": "defuel panel", "positions": ["closed", "open"]})
    content["valves"].append({
        "name": "defuel valve", "from": "left manifold", "to": "refuel gallery",
        "loss_kpa": 100, "loss_at_kg_h": 8000, "travel_s": 2, "at": [500, 200],
    })  # fmt: skip
    content["rules"].append({
        "name": "defuelling", "all": ["defuel panel is open"],
        "set": {"defuel valve": "OPEN", "coupling valve": "OPEN"},
        "because": "the defuel panel is open",
    })  # fmt: skip
    return aircraft_from(loaded_first(content, "left inboard"))


def manifold(aircraft, level, flow):
    """Return the pressure at the left manifold when its two pumps give a flow each [Pa]."""
    pump, valve = (
        aircraft.by_name[n] for n in (LEFT[0], "left forward sequence valve")
    )  # fmt: skip
    frictions = [max(1.0, 0.002 * part.resistance) for part in (pump, valve)]
    lift = pump.rise - pump.resistance * flow**pump.exponent - frictions[0] * flow
    return WEIGHT * level + lift - valve.opening - valve.resistance * flow**2 - frictions[1] * flow


@pytest.mark.parametrize("coupling", [0.0, -30.0])
def test_defuelling_takes_out_what_pumps_and_suction_together_drive(defuelled, coupling):
    """Two inboard pumps push, the bowser sucks: one unknown flow, by root finding."""
    aircraft = defuelled
    drawn = coupling * KILOPASCAL
    actions = (Action(10.0, (*switched("on", *LEFT), ("defuel panel", "open")), None, drawn),)
    flight = fly(aircraft, sector_of(aircraft, 6000.0, actions, end=400.0))
    time = 100.0
    tank = aircraft.tank("left inboard")
    level = tank.levels.level_of(flight.quantity(tank.name, time) / 800.0)
    lines = [aircraft.by_name[n] for n in ("defuel valve", "coupling valve")]

    def short(flow):
        lost = sum(x.resistance * flow**2 + max(1.0, 0.002 * x.resistance) * flow for x in lines)
        return manifold(aircraft, level, flow / 2.0) - lost - drawn

    expected = brentq(short, 1e-6, 20.0)
    flows = {name: q for flow in flight.flows(time) for name, q in flow.flows.items()}
    assert flows["coupling valve"] == pytest.approx(-expected, rel=1e-6)
    taken = flight.quantity("delivered", 99.0) - flight.quantity("delivered", 101.0)
    assert taken == pytest.approx(2.0 * expected, rel=1e-4)
    assert expected * HOUR > 5000.0
    assert abs(unaccounted(flight, 400.0)) < 1e-3


def test_defuelling_ends_at_the_last_opening_and_never_below_nothing(defuelled):
    """Until the left tank's openings are dry; the right one keeps what it has."""
    actions = (
        Action(10.0, (*switched("on", *LEFT), ("defuel panel", "open")), None, -20_000.0),
    )  # fmt: skip
    flight = fly(defuelled, sector_of(defuelled, 3000.0, actions, end=2400.0))
    lowest = min(
        defuelled.by_name[n].inlet[2] for n in (*LEFT, "left gravity feed valve")
    )  # fmt: skip
    left = 800.0 * defuelled.tank("left inboard").levels.volume_below(lowest)
    assert flight.quantity("left inboard", 2400.0) == pytest.approx(left, abs=0.5)
    assert flight.quantity("right inboard", 2400.0) == flight.quantity("right inboard", 0.0)
    assert flight.quantity("delivered", 2400.0) == pytest.approx(left - 1500.0, abs=0.5)
    assert {flight.position(name, 2400.0) for name in LEFT} == {"LOW PRESS"}


@pytest.mark.parametrize("pitch", [-1.0, -0.5, 0.0, 0.5])
def test_a_high_level_sensor_ends_refuelling_before_its_tank_runs_over(halbrook, pitch):
    """With gauges that show half the order never comes: the sensor alone ends it, in time.

    A valve passes all until it has arrived, 2 s later; there must be room for that too.
    """
    halves = tuple(Failure(10.0, name, "misreading", factor=0.5) for name in REFUELLED)
    sector = sector_of(halbrook, 0.0, (opened(16_500.0),), halves, end=2400.0)
    phase = replace(sector.phases[0], pitch=math.radians(pitch))
    flight = fly(halbrook, replace(sector, phases=(phase,)))
    assert [c.name for c in flight.changes if c.after == "RUNNING"] == []
    for name in REFUELLED:
        assert flight.position(f"{name} high-level sensor", 2400.0) == "WET"
        assert flight.position(f"{name} refuel valve", 2400.0) == "SHUT"


@pytest.mark.parametrize("name", ["halbrook-40", "halbrook-180", "halbrook-300"])
def test_every_high_level_sensor_is_wet_below_the_highest_fill_on_the_stand(name):
    """Of every aircraft of the kit, at the attitude of every phase without speed of its sectors."""
    aircraft = load_aircraft(name)
    sectors = [load_sector(other, aircraft) for other in SECTORS[name]]
    pitches = {p.pitch for s in sectors for p in s.phases if p.mach == 0.0}
    sensors = [s for s in aircraft.sensors if "high" in s.name]
    assert pitches and (sensors or not aircraft.coupling)
    for sensor in sensors:
        tank = aircraft.tank(sensor.tank)
        for pitch in pitches:
            wet_at = height(sensor.position, up_direction(pitch, 0.0))
            wet_at += aircraft.attitudes.rewet_height
            wet = tilted_levels(tank, pitch, 0.0).volume_below(wet_at)
            assert wet < tank.highest_volume
