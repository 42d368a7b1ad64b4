"""What the crew is shown, and where it differs from the truth.

Gauges are held against the geometry of a box by hand, and for the aircraft's own tanks against
the volume below the probes' level; sticks against depths by hand.
"""

import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.history import AskedError
from fuelkit.flight.indications import gauge_reading, indications, usable_mass
from fuelkit.flight.sector import Action
from fuelkit.flight.truth import differences
from tests.flight.situations import (
    INBOARD,
    LEFT,
    loaded_first,
    phase,
    sector_of,
    started,
    switched,
)


# -------------------------------------------------------------------------------------- gauges
def boxed(content, probe):
    """Return the aircraft with a centre tank 2.8 m by 3.9 m by 0.9 m and one probe (x, y)."""
    tank = next(t for t in content["tanks"] if t["name"] == "centre")
    tank["ribs"] = [
        {"y": y, "front": [13.70, -1.29, -0.39], "rear": [16.50, -1.29, -0.39]}
        for y in (-1.95, 1.95)
    ]
    tank["probes"] = [list(probe)]
    for pump in content["pumps"]:
        if pump["from"] == "centre":
            pump["inlet"][2] = -1.27
    for place in (*content["valves"], *content["check_valves"]):
        if place["to"] == "centre":
            place["outlet"][2] = -0.42
    for sensor in (*content["sensors"], *content.get("vents", ())):
        if sensor["name"] in ("centre high-level sensor", "centre vent"):
            sensor["at"][2] = -0.45
    return aircraft_from(loaded_first(content, "centre"))


@pytest.mark.parametrize("pitch", [-3.0, 0.0, 2.5, 5.0])
@pytest.mark.parametrize("probe", [(14.4, 0.0), (16.0, 0.5)])
def test_one_probe_errs_by_its_distance_from_the_middle_times_the_tilt(content, pitch, probe):
    """A box half full: the surface turns about its middle, so by hand area · (x - 15.1) · tan."""
    aircraft = boxed(content, probe)
    flight = fly(aircraft, sector_of(aircraft, 3600.0, end=10.0, phases=(phase(pitch=pitch),)))
    area, unusable = 2.8 * 3.9, 2.8 * 3.9 * 0.02
    right = 3600.0 - 800.0 * unusable
    error = 800.0 * area * (probe[0] - 15.1) * math.tan(math.radians(pitch))
    assert gauge_reading(flight, "centre", 5.0) == pytest.approx(right + error, abs=0.05)
    assert usable_mass(flight, "centre", 5.0) == pytest.approx(right, abs=0.05)
    assert abs(error) > 50.0 or not pitch


@pytest.mark.parametrize("tank", ["left outboard", "left inboard", "centre", "right inboard"])
def test_a_gauge_reads_zero_at_unusable_fuel_in_level_flight(content, tank):
    """14 CFR 25.1337(b): what lies below the lowest opening is shown as nothing."""
    twin = tank.replace("right", "left")
    aircraft = aircraft_from(loaded_first(content, twin))
    openings = [p.inlet[2] for p in aircraft.pumps if p.start == tank]
    openings += [x.inlet[2] for x in aircraft.lines if x.start == tank and x.inlet]
    unusable = 800.0 * aircraft.tank(tank).levels.volume_below(min(openings))
    both = 1 if tank == "centre" else 2
    for more, shown in ((0.0, 0.0), (-0.5 * unusable, 0.0), (300.0, 300.0)):
        flight = fly(aircraft, sector_of(aircraft, both * (unusable + more), end=10.0))
        assert flight.quantity(tank, 0.0) == pytest.approx(unusable + more, abs=1e-6)
        assert gauge_reading(flight, tank, 0.0) == pytest.approx(shown, abs=1e-6)


def test_in_level_flight_the_gauges_show_all_usable_fuel(halbrook):
    """Wherever the probes see the surface: every tank to a kilogram at a middling load."""
    flight = fly(halbrook, sector_of(halbrook, 12_000.0, end=10.0))
    shown = indications(flight, 5.0)
    for tank in ("left inboard", "centre", "right inboard"):
        assert shown.masses[tank] == pytest.approx(usable_mass(flight, tank, 5.0), abs=1.0)
    assert shown.total == pytest.approx(sum(shown.masses.values()))
    assert not differences(flight, 5.0)


def test_a_gauge_at_an_attitude_is_off_by_what_its_probes_see(halbrook):
    """Three probes in a swept tank: their mean wetted length, by hand at 8° nose up."""
    flight = fly(halbrook, sector_of(halbrook, 5000.0, end=10.0, phases=(phase(pitch=8.0),)))
    tank = halbrook.tank("left inboard")
    level = flight.levels(5.0)[flight.quantities.tanks.index("left inboard")]
    up = flight.stance(5.0).up
    ends = [column_by_hand(tank, x, y) for x, y in tank.probes]

    def mean(surfaces):
        wetted = [
            min(max(z - low, 0.0), high - low)
            for z, (low, high) in zip(surfaces, ends, strict=True)
        ]
        return sum(wetted) / len(wetted)

    seen = mean([(level - up[0] * x - up[1] * y) / up[2] for x, y in tank.probes])
    flat = brentq(lambda z: mean([z] * 3) - seen, -1.2, -0.3)
    unusable = tank.levels.volume_below(-1.13)
    expected = 800.0 * (tank.levels.volume_below(flat) - unusable)
    assert gauge_reading(flight, "left inboard", 5.0) == pytest.approx(expected, abs=0.5)
    (found,) = [d for d in differences(flight, 5.0) if d.name == "left inboard"]
    assert found.reason == "its probes do not see all of it, 8.0° nose up"
    assert found.shown - found.true == pytest.approx(expected - 2500.0 + 800.0 * unusable, abs=0.5)


def column_by_hand(tank, x, y):
    """Return floor and roof of a tank at (x, y): bilinear between its ribs and spars [m]."""
    ribs = sorted(tank.ribs, key=lambda rib: rib.y)
    for a, b in zip(ribs, ribs[1:], strict=False):
        if a.y <= y <= b.y:
            share = (y - a.y) / (b.y - a.y)
            front, rear = (
                [p + share * (q - p) for p, q in zip(pa, pb, strict=True)]
                for pa, pb in ((a.front, b.front), (a.rear, b.rear))
            )
            along = (x - front[0]) / (rear[0] - front[0])
            return tuple(front[i] + along * (rear[i] - front[i]) for i in (1, 2))
    raise AssertionError("the probe stands outside its tank")


def test_a_misreading_gauge_misreads_what_its_probes_tell(halbrook):
    """Factor and offset after the probes; the difference names the failure, not the attitude."""
    wrong = Failure(1.0, "centre", "misreading", factor=0.8, offset=50.0)
    sound = fly(halbrook, sector_of(halbrook, 12_000.0, end=10.0))
    flight = fly(halbrook, sector_of(halbrook, 12_000.0, (), (wrong,), end=10.0))
    right = gauge_reading(sound, "centre", 5.0)
    assert gauge_reading(flight, "centre", 5.0) == pytest.approx(0.8 * right + 50.0)
    assert gauge_reading(flight, "centre", 0.5) == pytest.approx(right)
    (found,) = differences(flight, 5.0)
    assert (found.name, found.reason) == ("centre", "centre gauge misreading")
    assert found.true == pytest.approx(usable_mass(flight, "centre", 5.0))


def test_a_tank_without_probes_shows_its_mass(content):
    """An aircraft's file may leave the probes out; a surge tank has no gauge at all."""
    for tank in content["tanks"]:
        tank.pop("probes", None)
    aircraft = aircraft_from(content)
    flight = fly(aircraft, sector_of(aircraft, 9000.0, end=10.0, phases=(phase(pitch=8.0),)))
    for tank, mass in indications(flight, 5.0).masses.items():
        assert mass == flight.quantity(tank, 5.0)
    assert "left surge" not in indications(flight, 5.0).masses
    with pytest.raises(AskedError, match="tank is 'left surge'; it must name a tank with a gauge"):
        gauge_reading(flight, "left surge", 5.0)


# -------------------------------------------------------------------------------------- sticks
def test_sticks_tell_the_depth_over_their_foot_on_the_ground(halbrook):
    """Level: the surface's height less the foot's; off their scale they are DRY or COVERED."""
    for total in (1500.0, 4000.0, 8600.0):
        flight = fly(halbrook, sector_of(halbrook, total, end=10.0))
        levels = dict(zip(flight.quantities.tanks, flight.levels(5.0), strict=True))
        for stick in halbrook.sticks:
            depth = levels[stick.tank] - stick.foot[2]
            found = indications(flight, 5.0).sticks[stick.name]
            if 0.0 < depth < stick.length:
                assert found.state == "READS"
                assert found.reading == pytest.approx(depth, abs=1e-9)
            else:
                state = "DRY" if depth <= 0.0 else "COVERED"
                assert (found.reading, found.state) == (None, state)


def test_a_drip_stick_is_read_from_its_top(content):
    """It is pulled until fuel drips: scale length less depth."""
    for stick in content["sticks"]:
        stick["kind"] = "drip"
    aircraft = aircraft_from(content)
    flight = fly(aircraft, sector_of(aircraft, 4000.0, end=10.0))
    stick = aircraft.by_name["left inner indicator"]
    level = flight.levels(5.0)[flight.quantities.tanks.index("left inboard")]
    found = indications(flight, 5.0).sticks[stick.name]
    assert found.reading == pytest.approx(stick.length - (level - stick.foot[2]), abs=1e-9)


def test_nobody_reads_a_stick_in_flight(halbrook, flight):
    """On the stand there are six readings, in cruise none."""
    assert len(indications(flight, 100.0).sticks) == len(halbrook.sticks)
    assert indications(flight, 9000.0).sticks == {}


# ---------------------------------------------------------------- pumps, valves, engines, rest
def test_a_pump_that_failed_looks_like_one_that_runs_dry(content):
    """Both have no pressure with their switch on; only the truth tells them apart."""
    content["rules"] = [r for r in content["rules"] if "run-on ended" not in r["name"]]
    aircraft = aircraft_from(content)
    failed = Failure(60.0, LEFT[0], "failed")
    actions = (*started(*INBOARD), Action(5.0, switched("on", "left centre pump")))
    flight = fly(aircraft, sector_of(aircraft, 5000.0, actions, (failed,), end=100.0))
    shown = indications(flight, 80.0)
    for name in (LEFT[0], "left centre pump"):
        assert shown.pumps[name] == "NO PRESSURE" and shown.switches[f"{name} switch"] == "on"
    assert shown.pumps[LEFT[1]] == "PRESSURE"
    true = {d.name: (d.shown, d.true) for d in differences(flight, 80.0)}
    assert true == {
        LEFT[0]: ("NO PRESSURE", "FAIL"), "left centre pump": ("NO PRESSURE", "LOW PRESS"),
    }  # fmt: skip


def test_a_valve_that_moves_and_one_that_stuck_on_its_way_look_alike(halbrook):
    """Neither end switch is made: BETWEEN; the truth is HALF OPEN once it is stuck."""
    action = (Action(100.0, switched("on", "crossfeed")),)
    stuck = Failure(103.0, "crossfeed valve", "stuck")
    flight = fly(halbrook, sector_of(halbrook, 5000.0, action, (stuck,), end=200.0))
    shown = [indications(flight, t).valves["crossfeed valve"] for t in (99.0, 102.0, 150.0)]
    assert shown == ["SHUT", "BETWEEN", "BETWEEN"]
    assert not differences(flight, 102.0)
    (found,) = differences(flight, 150.0)
    assert (found.name, found.shown, found.true) == ("crossfeed valve", "BETWEEN", "HALF OPEN")


def test_an_engine_that_failed_or_starved_is_shown_stopped(halbrook):
    """With the alert for both, and no word of which it was."""
    failed = Failure(100.0, "engine 2", "failed")
    flight = fly(halbrook, sector_of(halbrook, 5000.0, started(*INBOARD), (failed,), end=200.0))
    shown = indications(flight, 150.0)
    assert shown.consumers == {"engine 1": "RUNNING", "engine 2": "STOPPED", "APU": "STOPPED"}
    assert shown.alerts == ("Engine 2 is out",)
    assert shown.fuel_used["engine 1"] > shown.fuel_used["engine 2"] > 0.0
    (found,) = [d for d in differences(flight, 150.0) if d.name == "engine 2"]
    assert found.true == "FAIL"


@pytest.mark.parametrize(
    ("failure", "true"),
    [
        (Failure(10.0, "left manifold", "leaking", leak=0.1), "leaking"),
        (Failure(10.0, "left inboard", "blocked"), "blocked"),
        (Failure(10.0, "left gravity feed valve", "stuck", state="OPEN"), "stuck OPEN"),
        (Failure(10.0, "crossfeed valve", "stuck"), "stuck"),
        (Failure(10.0, "high-lift surfaces", "stuck"), "stuck"),
    ],
)
def test_what_nothing_shows_by_itself_is_still_told_among_the_differences(halbrook, failure, true):
    """Shown: nothing. Before the failure there is no difference."""
    flight = fly(halbrook, sector_of(halbrook, 5000.0, (), (failure,), end=100.0))
    (found,) = differences(flight, 50.0)
    assert (found.name, found.shown, found.true) == (failure.part, None, true)
    assert differences(flight, 9.0) == ()


def test_a_stuck_sensor_is_shown_wrong_and_the_difference_says_what_is_true(halbrook):
    """WET is shown over fuel that is below it."""
    stuck = Failure(10.0, "centre low sensor", "stuck", state="WET")
    flight = fly(halbrook, sector_of(halbrook, 5000.0, (), (stuck,), end=100.0))
    assert indications(flight, 50.0).sensors["centre low sensor"] == "WET"
    (found,) = differences(flight, 50.0)
    assert (found.shown, found.true) == ("WET", "DRY")
    assert found.reason == "centre low sensor stuck"


def test_asking_changes_nothing(flight):
    """The same twice, and the record cannot be written on."""
    first, second = indications(flight, 9000.0), indications(flight, 9000.0)
    assert first == second
    with pytest.raises(AttributeError):
        first.masses = {}
    with pytest.raises(AskedError, match="this flight lasts from 0"):
        indications(flight, -1.0)
    assert replace(first, time=1.0) != first
