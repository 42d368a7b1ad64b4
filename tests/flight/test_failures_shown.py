"""Sensors, gauges, engines and switches that fail: what is shown, what is true, and why.

Also failures read from a sector's file, and those that an aircraft cannot have. Masses are held
against sums by hand.
"""

import math
import tomllib
from dataclasses import replace
from importlib import resources

import pytest

from fuelkit.flight.failures import Failure, FailureError
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import why
from fuelkit.flight.sector import Action, sector_from
from fuelkit.physics.units import HOUR
from tests.flight.situations import CENTRE, INBOARD, changed, flown, sector_of


@pytest.fixture
def sector_content():
    """The content of the first sector's file, to be changed by a test."""
    path = resources.files("fuelkit.flight") / "data" / "eastmere-port-ellery.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


# ------------------------------------------------------------------------------------- sensors
def test_a_low_sensor_stuck_wet_hides_the_low_level_and_the_truth_can_be_told(halbrook):
    """The rules follow what it shows: no transfer, no alert; the tank runs low in truth."""
    more = {"total": 4000.0, "end": 5400.0, "burn": 2200.0}
    sound = flown(halbrook, **more)
    both = [
        Failure(60.0, f"{side} inboard low sensor", "stuck", state="WET")
        for side in ("left", "right")
    ]
    flight = flown(halbrook, *both, **more)
    fell = changed(sound, "left inboard low sensor", "DRY").time
    time = fell + 100.0
    assert sound.position("left transfer valve", time) == "OPEN"
    assert flight.position("left transfer valve", time) == "SHUT"
    assert flight.position("Left inboard fuel is low", time) == "OUT"
    assert flight.position("left inboard low sensor", time) == "WET"
    assert flight.true_position("left inboard low sensor", time) == "DRY"
    assert flight.true_position("left inboard low sensor", fell - 1.0) == "WET"


def test_a_low_sensor_stuck_dry_opens_the_transfer_too_early(halbrook):
    """At the moment of the failure both cells are opened, and the reason is the failure."""
    flight = flown(halbrook, Failure(900.0, "right inboard low sensor", "stuck", state="DRY"))
    assert changed(flight, "left transfer valve", "MOVING").time == 900.0
    assert flight.position("Right inboard fuel is low", 901.0) == "SHOWN"
    assert flight.true_position("right inboard low sensor", 901.0) == "WET"
    text = why(flight, "left transfer valve", 1000.0)
    assert text.endswith("Behind it: right inboard low sensor stuck at 0:15:00.")


def test_a_sensor_that_sticks_where_it_is_goes_on_showing_it(halbrook):
    """Without a state it keeps that of the moment, and why says that it is stuck."""
    flight = flown(
        halbrook, Failure(60.0, "left inboard low sensor", "stuck"),
        total=4000.0, end=5400.0, burn=2200.0,
    )  # fmt: skip
    assert flight.position("left inboard low sensor", 5400.0) == "WET"
    assert flight.true_position("left inboard low sensor", 5400.0) == "DRY"
    assert why(flight, "left inboard low sensor", 5400.0).endswith(
        "It is stuck there since 0:01:00."
    )


# -------------------------------------------------------------------------------------- gauges
@pytest.mark.parametrize(("factor", "offset"), [(0.9, 0.0), (1.1, 0.0), (1.0, -200.0)])
def test_a_misreading_gauge_fills_its_tank_to_its_own_figure(halbrook, factor, offset):
    """The valve is sent shut when factor · mass + offset is what was ordered; 2 s later it is."""
    failure = Failure(5.0, "left inboard", "misreading", factor=factor, offset=offset)
    opened = (Action(20.0, (("refuel panel", "open"),), 5000.0),)
    flight = fly(halbrook, sector_of(halbrook, 2000.0, opened, (failure,), end=1800.0))
    shut = changed(flight, "left inboard has its order", "ACTIVE").time
    assert flight.shown_mass("left inboard", shut) == pytest.approx(2500.0, abs=0.01)
    assert factor * flight.quantity("left inboard", shut) + offset == pytest.approx(
        2500.0, abs=0.01
    )
    assert flight.shown_mass("right inboard", 1800.0) == flight.quantity("right inboard", 1800.0)
    wrong = flight.quantity("left inboard", 1800.0) - flight.quantity("right inboard", 1800.0)
    assert wrong == pytest.approx((2500.0 - offset) / factor - 2500.0, abs=15.0)  # 2 s of flow


def test_a_gauge_never_shows_less_than_nothing(halbrook):
    """An offset of -5000 kg empties the gauge, not the tank."""
    flight = flown(halbrook, Failure(5.0, "left inboard", "misreading", offset=-5000.0))
    assert flight.shown_mass("left inboard", 10.0) == 0.0
    assert flight.quantity("left inboard", 10.0) > 1000.0


# ----------------------------------------------------------------------- engines and switches
def test_an_engine_that_fails_burns_no_more_and_the_wings_drift_apart(halbrook):
    """The left tanks keep what they have; the right ones lose 1500 kg/h: 700 kg after 28 min."""
    flight = flown(halbrook, Failure(600.0, "engine 1", "failed"))
    assert flight.position("engine 1", 600.0) == "FAIL"
    assert flight.position("engine 1 hot return", 600.0) == "SHUT"
    used = flight.fuel_used("engine 1", 600.0)
    assert used == pytest.approx(1500.0 * (600.0 - 22.0) / HOUR, abs=1e-6)  # RUN 2 + 2 + 18 s on
    assert flight.fuel_used("engine 1", 3600.0) == used
    alert = changed(flight, "Wing fuel is out of balance", "SHOWN")
    assert alert.time == pytest.approx(600.0 + 700.0 * HOUR / 1500.0, abs=1e-3)
    assert "engine 1 failed at 0:10:00" in why(flight, "Engine 1 is out", 700.0)


def test_a_high_lift_switch_stuck_out_keeps_the_centre_tank_from_use(halbrook, sector):
    """Set out before take-off it never comes in: the centre pumps stay off, the fuel stays."""
    stuck = Failure(0.5 * HOUR, "high-lift surfaces", "stuck", state="out")
    flight = fly(halbrook, replace(sector, failures=(stuck,), end=3.0 * HOUR))
    assert flight.position("high-lift surfaces", 2.0 * HOUR) == "out"
    assert flight.position("left centre pump", 2.0 * HOUR) == "OFF"
    centre = [flight.quantity("centre", t * HOUR) for t in (0.6, 3.0)]
    assert centre[0] == centre[1] > 5000.0
    assert "stuck" in why(flight, "high-lift surfaces", 2.0 * HOUR)


def test_a_high_lift_switch_stuck_in_lets_the_centre_pumps_run_on(halbrook):
    """The crew sets it out, it stays in, and the rule that would stop the pumps does not."""
    out = (Action(1800.0, (("high-lift surfaces", "out"),)),)
    stuck = Failure(1700.0, "high-lift surfaces", "stuck")
    flight, sound = (
        flown(halbrook, *failures, total=12_000.0, pumps=INBOARD + CENTRE, actions=out)
        for failures in ((stuck,), ())
    )
    assert sound.position("left centre pump", 1900.0) == "OFF"
    assert flight.position("left centre pump", 1900.0) == "RUN"
    assert why(flight, "high-lift surfaces", 1900.0) == (
        "High-lift surfaces are in since the start. It is stuck there since 0:28:20."
    )


# --------------------------------------------------------------------------------- from a file
def test_failures_are_read_from_a_sector_file(halbrook, sector_content):
    """kg/h and h:mm:ss in the file, kg/s and seconds in the record; in order of time."""
    sector_content["failures"] = [
        {"at": "1:00:00", "part": "centre", "kind": "leaking", "leak_kg_h": 720},
        {"at": "0:10:00", "part": "left centre pump", "kind": "failed"},
    ]
    sector = sector_from(sector_content, halbrook)
    assert [f.part for f in sector.failures] == ["left centre pump", "centre"]
    assert sector.failures[1].leak == pytest.approx(0.2) and sector.failures[1].time == 3600.0


@pytest.mark.parametrize(
    ("failure", "message"),
    [
        (Failure(0.0, "left bus", "stuck"), "it must name a valve, check valve, switch or sensor"),
        (Failure(0.0, "left centre pmp", "failed"), "pump"),
        (Failure(0.0, "crossfeed valve", "stuck", state="AJAR"), "SHUT or HALF OPEN or OPEN"),
        (Failure(0.0, "left gravity feed valve", "stuck"), "a check valve sticks OPEN or SHUT"),
        (Failure(0.0, "centre", "leaking"), "it must be above 0"),
        (Failure(0.0, "centre", "leaking", leak=1.0, hole=(15.0, 0.0, 9.0)), "the tank reaches"),
        (Failure(-1.0, "centre", "blocked"), "it must be 0 or more"),
        (Failure(math.nan, "centre", "blocked"), "it must be 0 or more"),
        (Failure(0.0, "centre", "misreading", factor=0.0), "factor is 0.0"),
        (Failure(0.0, "centre", "exploded"), "it must be one of failed, stuck"),
    ],
)  # fmt: skip
def test_a_failure_that_the_aircraft_cannot_have_is_refused(halbrook, failure, message):
    """Before anything is computed, with what would be right."""
    with pytest.raises(FailureError, match=message):
        fly(halbrook, sector_of(halbrook, 5000.0, (), (failure,), end=60.0))
