"""A threshold on which a step begins, left for a while and met again: the roots are known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.physics.steps import Step
from tests.flight.test_crossings import first_met, watch


def bent(start, first, second):
    """Return a step of 10 s from 100 s on: start + first·s + second·s² kg, s from 0 to 1."""
    return Step(100.0, 10.0, np.array([start]), np.array([[first, second]]), 0.0)


@given(st.floats(-12.0, 3.0), st.floats(0.01, 0.95), st.sampled_from([0.0, 1e-13, -1e-13]))
def test_a_level_that_sinks_from_a_threshold_meets_it_where_it_comes_back(power, share, rounding):
    """-a·s + (a/r)·s² is back at nothing at s = r; at the start it is not met, but for rounding."""
    sink = 10.0**power
    if sink * share * share < 1e-6:  # within rounding all the way: half the step is as good
        return
    step = bent(50.0 + rounding, -sink, sink / share)
    time, met = first_met([watch(50.0, rising=True)], step)
    assert time == pytest.approx(100.0 + 10.0 * share, abs=1e-6 + 1e-7 / sink)
    assert len(met) == 1 and time > 100.0


def test_a_level_that_goes_on_over_a_threshold_meets_it_at_once():
    """Beginning on it, by rounding a little beyond, or well beyond."""
    for beyond in (0.0, 1e-13, 1e-3):
        assert first_met([watch(50.0, rising=True)], bent(50.0 + beyond, 2.0, 1.0))[0] == 100.0


def test_a_level_that_does_not_move_within_rounding_never_stops_the_clock():
    """Not met again at the same moment: half the step passes, so that a flight goes on."""
    time, _ = first_met([watch(50.0, rising=True)], bent(50.0 + 1e-13, 0.0, 1e-13))
    assert time is None or time > 100.0


def test_a_level_that_only_sinks_from_a_threshold_does_not_meet_it():
    """However slowly."""
    for sink in (1e-6, 1.0, 1000.0):
        assert first_met([watch(50.0, rising=True)], bent(50.0, -sink, 0.1 * sink)) == (None, [])
