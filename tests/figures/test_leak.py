"""Leak, faulty gauge or neither, by three checks; held against flights that have one or other."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.assess.course import load_unit
from fuelkit.assess.flights import flight_for
from fuelkit.figures.leak import GAUGE, LEAK, NEITHER, Reading, leak_sheet, points_to
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.units import HOUR, MINUTE

TIMES = (0.0, 30.0 * MINUTE, 60.0 * MINUTE)
BURN = 2400.0 / HOUR


def checks(lost=(0.0, 0.0, 0.0), times=TIMES, on_board=9000.0):
    """Three checks of a flight that burns 2 400 kg/h and loses (or misreads) so much."""
    return [
        Reading(t, on_board - BURN * t - off, BURN * t) for t, off in zip(times, lost, strict=True)
    ]


def verdict(readings, tolerance=80.0):
    """What three checks point to."""
    return leak_sheet(readings, tolerance=tolerance).worked()["verdict"]


def test_a_leak_by_hand():
    """300 kg and 300 kg lost in half an hour each: 600 kg/h, steadily."""
    values = leak_sheet(checks((0.0, 300.0, 600.0)), tolerance=80.0).worked()
    assert values["sum 1"] == 9000.0 and values["sum 3"] == pytest.approx(8400.0)
    assert values["change 1"] == pytest.approx(-300.0)
    assert values["rate 2"] * HOUR == pytest.approx(-600.0)
    assert values["verdict"] == LEAK


@pytest.mark.parametrize(
    "lost, told",
    [
        ((0.0, 0.0, 0.0), NEITHER),
        ((0.0, 79.0, 0.0), NEITHER),  # goes up and down within what means nothing
        ((0.0, 300.0, 600.0), LEAK),
        ((0.0, 300.0, 300.0), GAUGE),  # a step down that does not go on
        ((0.0, 0.0, 300.0), GAUGE),  # may be a leak that has just begun: hence the caution
        ((0.0, -300.0, -300.0), GAUGE),  # fuel does not come from nowhere
        ((0.0, -300.0, -600.0), GAUGE),
        ((0.0, 100.0, 1000.0), GAUGE),  # nine times as fast in the second half
    ],
)
def test_what_three_checks_point_to(lost, told):
    """Common practice, no source; conservation of mass."""
    assert verdict(checks(lost)) == told


@pytest.mark.parametrize("lost, told", [(80.0, NEITHER), (80.1, GAUGE)])
def test_a_change_counts_when_it_is_more_than_what_means_nothing(lost, told):
    """Both sides of 80 kg."""
    assert points_to(-lost, 0.0, -lost / HOUR, 0.0, 80.0) == told


@given(st.floats(200.0, 4000.0), st.floats(25.0, 60.0), st.floats(25.0, 60.0))
def test_a_steady_loss_is_a_leak_whenever_one_looks(rate, first, second):
    """Two losses at one rate, after any times, once each is more than what means nothing."""
    times = (0.0, first * MINUTE, (first + second) * MINUTE)
    readings = checks(tuple(rate / HOUR * t for t in times), times, on_board=50_000.0)
    assert verdict(readings, tolerance=0.9 * rate * min(first, second) / 60.0) == LEAK


@given(st.floats(-5000.0, 5000.0), st.sampled_from([(0.0, 300.0, 600.0), (0.0, 300.0, 300.0)]))
def test_a_gauge_that_is_always_wrong_by_the_same_changes_nothing(off, lost):
    """Only changes count."""
    shifted = [Reading(r.time, r.gauges + off + 5000.0, r.used) for r in checks(lost)]
    assert verdict(shifted) == verdict(checks(lost))


@pytest.mark.parametrize(
    "board, times, told",
    [
        ("leak", ("1:20", "1:45", "2:05"), LEAK),
        ("gauge", ("2:55", "3:20", "3:45"), GAUGE),
        ("gauge", ("3:15", "3:30", "3:45"), NEITHER),  # since it jumped it counts as before
    ],
)
def test_flights_with_a_leak_and_with_a_wrong_gauge_are_told_apart(board, times, told):
    """Computed flights of the lesson on abnormal cases: what their gauges and counters show."""
    unit = load_unit("lesson-abnormal")
    flight = flight_for(unit, unit.board(board))
    tanks = [tank.name for tank in flight.aircraft.tanks if tank.holds_fuel]
    readings = []
    for text in times:
        hours, minutes = map(int, text.split(":"))
        time = hours * HOUR + minutes * MINUTE
        used = sum(flight.fuel_used(engine, time) for engine in ("engine 1", "engine 2"))
        readings.append(Reading(time, sum(flight.shown_mass(t, time) for t in tanks), used))
    assert verdict(readings) == told


@pytest.mark.parametrize(
    "readings, told",
    [
        (checks()[:2], "there are 2; give three checks"),
        ([*checks()[:2], Reading(1800.0, 6000.0, 2400.0)], "time 3: it is 0:30; it must be at"),
        ([*checks()[:2], Reading(3600.0, 6000.0, 100.0)], "used 3: .* a counter does not run back"),
        ([*checks()[:2], Reading(3600.0, -1.0, 2400.0)], "gauges 3: it is -1 kg"),
        ([*checks()[:2], Reading(3600.0, math.nan, 2400.0)], "gauges 3: it is nan"),
        ([*checks()[:2], Reading(math.inf, 6000.0, 2400.0)], "time 3: it is inf"),
        ([*checks()[:2], Reading(3600.0, "6 t", 2400.0)], "gauges 3: it is '6 t'"),
    ],
)
def test_what_cannot_be_is_told(readings, told):
    """Too few, no time between, a counter that runs back, negative, no number, text."""
    with pytest.raises(FigureError, match=told):
        leak_sheet(readings, tolerance=80.0)


def test_a_tolerance_of_nothing_is_refused():
    """Gauges and counters never agree to the kilogram."""
    with pytest.raises(FigureError, match="tolerance: it is 0 kg; it must be more than 0 kg"):
        leak_sheet(checks(), tolerance=0.0)


def test_crossfeed_waits_until_a_leak_is_ruled_out():
    """It stands among the cautions."""
    cautions = " ".join(leak_sheet(checks(), tolerance=80.0).cautions)
    assert "treated as a leak" in cautions and "Crossfeed stays shut" in cautions
