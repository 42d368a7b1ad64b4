"""Thresholds inside one smooth step: met, missed, touched and left again."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.flight.crossings import Gaps
from fuelkit.flight.stance import Fuel
from fuelkit.flight.watches import Watch
from fuelkit.physics.steps import Step, straight_step


def watch(mass, *, rising, index=0):
    """Return a watch of one tank."""

    def gap(quantities):
        return (mass - quantities[index]) * (1.0 if rising else -1.0)

    return Watch(gap, f"at {mass}", "MET", "of this test", index)


def first_met(watches, step):
    """Return when the first gaps of a step close, and whose they are."""
    return Gaps(watches, Fuel(800.0), 1).first_closed(step)


# In 10 s from 100 s on a tank falls from 50 kg to 40 kg and rises again to 50 kg: a parabola.
DIP = Step(100.0, 10.0, np.array([50.0]), np.array([[-40.0, 40.0]]), 0.0)


def test_a_threshold_that_is_crossed_and_left_again_is_met():
    """The tank falls from 50 to 40 kg and is back at 50: 45 kg is met on the way down."""
    time, met = first_met([watch(45.0, rising=False)], DIP)
    assert time == pytest.approx(100.0 + 5.0 * (1.0 - 0.5**0.5), abs=1e-6)
    assert len(met) == 1


def test_a_threshold_under_the_lowest_point_is_not_met():
    """39.99 kg is never reached, 40.01 kg is."""
    assert first_met([watch(39.99, rising=False)], DIP) == (None, [])
    assert first_met([watch(40.01, rising=False)], DIP)[0] == pytest.approx(105.0, abs=0.2)


def test_a_threshold_in_the_other_direction_is_not_met():
    """A tank that falls and rises back to where it was meets nothing from below."""
    assert first_met([watch(50.001, rising=True)], DIP) == (None, [])


def test_the_first_of_several_wins_and_those_of_one_time_come_together():
    """Two watches of one mass are met at once, a later one not yet."""
    step = straight_step(0.0, 100.0, np.array([0.0, 10.0]), np.array([1.0, -0.05]))
    watches = [watch(70.0, rising=True), watch(30.0, rising=True), watch(30.0, rising=True)]
    watches.append(watch(6.0, rising=False, index=1))
    time, met = first_met(watches, step)
    assert time == pytest.approx(30.0, abs=1e-6) and met == watches[1:3]


def test_a_threshold_on_which_the_step_begins_is_met_only_by_moving_on():
    """At its mass exactly: moving on meets it at once, moving away does not."""
    step = straight_step(5.0, 10.0, np.array([20.0]), np.array([-1.0]))
    assert first_met([watch(20.0, rising=False)], step)[0] == 5.0
    assert first_met([watch(20.0, rising=True)], step) == (None, [])
    still = straight_step(5.0, 10.0, np.array([20.0]), np.array([0.0]))
    assert first_met([watch(20.0, rising=False)], still) == (None, [])


@given(st.floats(0.001, 0.999), st.booleans())
def test_a_crossing_is_timed_to_a_tenth_of_a_microsecond(share, rising):
    """On a straight line, where it is known."""
    rate = 2.0 if rising else -2.0
    step = straight_step(0.0, 50.0, np.array([500.0]), np.array([rate]))
    time, _ = first_met([watch(500.0 + rate * 50.0 * share, rising=rising)], step)
    assert time == pytest.approx(50.0 * share, abs=2e-7)
