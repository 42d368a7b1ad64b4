"""The adaptive step and its dense output, held against scipy's RK45 (the same published method).

Source: scipy.integrate.RK45, which implements Dormand and Prince (1980) with Shampine's dense
output (1986).
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import RK45

from fuelkit.physics.steps import crossing, following_length, smooth_step, straight_step


def drain(quantities):
    """Two tanks that run into each other and out, as the square root of what they hold."""
    first, second = np.sqrt(np.maximum(quantities, 0.0))
    return np.array([0.3 * second - first, 0.5 * first - 0.7 * second])


def swing(quantities):
    """A pendulum that swings far."""
    return np.array([quantities[1], -math.sin(quantities[0])])


BEFORE = np.array([4.0, 2.5])


@pytest.mark.parametrize("rates", [drain, swing])
@pytest.mark.parametrize("length", [0.01, 0.1, 0.5])
def test_one_step_is_that_of_scipy(rates, length):
    """Its end and its dense output agree to rounding."""
    reference = RK45(
        lambda _, y: rates(y), 10.0, BEFORE, 100.0, first_step=length, rtol=0.1, atol=10.0
    )
    reference.step()
    assert reference.t == pytest.approx(10.0 + length)
    step = smooth_step(rates, 10.0, length, BEFORE, tolerance=1.0)
    assert step.at(10.0 + length) == pytest.approx(reference.y, rel=1e-14)
    dense = reference.dense_output()
    for share in np.linspace(0.0, 1.0, 21):
        time = 10.0 + share * length
        assert step.at(time) == pytest.approx(dense(time), rel=1e-13)


def test_the_error_of_a_step_is_that_of_scipy():
    """The estimate before scaling by tolerances."""
    reference = RK45(lambda _, y: drain(y), 0.0, BEFORE, 9.0, first_step=0.5, rtol=0.1, atol=10.0)
    reference.step()
    estimate = np.abs(reference.K.T @ reference.E * 0.5).max()
    assert smooth_step(drain, 0.0, 0.5, BEFORE, tolerance=1.0).error == pytest.approx(estimate)
    assert smooth_step(drain, 0.0, 0.5, BEFORE, tolerance=1e-6).error == pytest.approx(
        estimate * 1e6
    )


def end_of_decay(steps):
    """The error at time 2 of dy/dt = -y in equal steps."""
    y = np.array([1.0])
    for number in range(steps):
        step = smooth_step(lambda q: -q, number * 2.0 / steps, 2.0 / steps, y, tolerance=1.0)
        y = step.at(step.start + step.length)
    return abs(float(y[0]) - math.exp(-2.0))


def test_halving_the_steps_divides_the_error_by_two_to_the_fifth():
    """The method is of fifth order: exact solution of dy/dt = -y."""
    orders = [math.log2(end_of_decay(n) / end_of_decay(2 * n)) for n in (8, 16, 32)]
    assert orders == sorted(orders, reverse=True)
    assert orders[-1] == pytest.approx(5.0, abs=0.1)


def test_the_dense_output_is_of_fourth_order():
    """In the middle of one step the error falls with the fifth power of its length."""
    errors = []
    for length in (0.4, 0.2, 0.1):
        step = smooth_step(lambda q: -q, 0.0, length, np.array([1.0]), tolerance=1.0)
        errors.append(abs(float(step.at(0.3 * length)[0]) - math.exp(-0.3 * length)))
    assert math.log2(errors[0] / errors[1]) > 4.5 and math.log2(errors[1] / errors[2]) > 4.5


def test_constant_rates_are_followed_exactly_for_any_length():
    """A straight step has no error, and a smooth step over constant rates neither."""
    rates = np.array([0.25, -0.5])
    straight = straight_step(5.0, 1e4, BEFORE, rates)
    smooth = smooth_step(lambda _: rates, 5.0, 1e4, BEFORE, tolerance=1e-6)
    for time in (5.0, 1234.5, 10_005.0):
        expected = BEFORE + (time - 5.0) * rates
        assert straight.at(time) == pytest.approx(expected, rel=1e-15)
        assert smooth.at(time) == pytest.approx(expected, rel=1e-12)
    assert straight.error == 0.0 and smooth.error < 1e-3


def test_what_is_conserved_stays_so_inside_a_step():
    """Rates that sum to nothing leave the sum alone, to rounding, at every time."""

    def around(q):
        flow = math.sqrt(max(0.0, q[0] - q[1]))
        return np.array([-flow, flow])

    step = smooth_step(around, 0.0, 0.7, BEFORE, tolerance=1e-6)
    for time in np.linspace(0.0, 0.7, 15):
        assert step.at(time).sum() == pytest.approx(BEFORE.sum(), abs=1e-14)


def test_the_next_length_follows_the_error():
    """Longer after a good step, shorter after a bad one, never by more than five."""
    for rates, length in ((drain, 1e-4), (drain, 0.1), (swing, 3.0)):
        step = smooth_step(rates, 0.0, length, BEFORE, tolerance=1e-6)
        following = following_length(step)
        assert 0.2 * length <= following <= 5.0 * length
        assert (following > length) == (step.error < 0.9**5)
    assert following_length(straight_step(0.0, 2.0, BEFORE, BEFORE)) == 10.0


@given(st.floats(0.0, 99.0), st.booleans())
def test_a_crossing_is_found_to_a_tenth_of_a_microsecond(place, rising):
    """From below or above; what is returned is just after it."""
    sign = 1.0 if rising else -1.0
    found = crossing(lambda time: sign * (time - place), -1.0, 100.0)
    assert 0.0 <= found - place <= 1e-7
