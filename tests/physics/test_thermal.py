"""Fuel temperatures against independent integration, closed forms and limits; bad input."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fuelkit.physics.thermal import mixed_temperature, temperature_rates, time_constant

EXACT = {"rtol": 1e-11, "atol": 1e-11, "method": "DOP853"}


def test_the_time_constant_is_linear_in_the_fill():
    """Its ends are those given; half full is half way; arrays keep their shape."""
    assert time_constant(0.0, empty=1000.0, full=5000.0) == 1000.0
    assert time_constant(1.0, empty=1000.0, full=5000.0) == 5000.0
    fills = np.array([0.25, 0.5])
    assert time_constant(fills, empty=1000.0, full=5000.0).tolist() == [2000.0, 3000.0]
    assert time_constant(fills, empty=[1e3, 2e3], full=[5e3, 4e3]).tolist() == [2000.0, 3000.0]


@pytest.mark.parametrize("outflow", [0.0, 1.0, 2.0, 2.5])
def test_one_tank_with_a_steady_inflow_follows_the_power_law(outflow):
    """SciPy integrates the rates; mass grows, stays or falls; the closed form is the same."""
    mass, structure, inflow, end = 800.0, 50.0, 2.0, 1200.0

    def rate(time, temperature):
        return temperature_rates(
            temperature,
            [mass + (inflow - outflow) * time],
            ambient=230.0,
            time_constants=[math.inf],
            structure=structure,
            given_inflow=[inflow],
            given_temperature=[330.0],
        )

    found = solve_ivp(rate, (0.0, end), [270.0], **EXACT)
    closed = mixed_temperature(270.0, mass + structure, 330.0, inflow, outflow, end)
    assert found.y[0, -1] == pytest.approx(closed, abs=1e-8)


def test_heat_loss_and_inflow_together_are_a_product():
    """With inflow at ambient temperature the two decays multiply (derived); SciPy agrees."""
    mass, inflow, end, constant, outside = 500.0, 1.5, 2000.0, 3000.0, 240.0

    def rate(time, temperature):
        return temperature_rates(
            temperature,
            [mass + inflow * time],
            ambient=outside,
            time_constants=[constant],
            structure=0.0,
            given_inflow=[inflow],
            given_temperature=[outside],
        )

    found = solve_ivp(rate, (0.0, end), [290.0], **EXACT).y[0, -1]
    mixed = mixed_temperature(290.0, mass, outside, inflow, 0.0, end)
    assert found == pytest.approx(outside + (mixed - outside) * math.exp(-end / constant), abs=1e-8)


def test_a_still_tank_cools_exponentially():
    """Newton's law of cooling: after one time constant 1/e of the difference is left."""

    def rate(_, temperature):
        return temperature_rates(
            temperature, [900.0], ambient=245.0, time_constants=[3600.0], structure=0.0
        )

    found = solve_ivp(rate, (0.0, 3600.0), [295.0], **EXACT).y[0, -1]
    assert found == pytest.approx(245.0 + 50.0 / math.e, abs=1e-8)


@given(
    st.lists(st.floats(220.0, 330.0), min_size=3, max_size=3),
    st.lists(st.floats(0.0, 2000.0), min_size=3, max_size=3),
    st.lists(st.floats(0.0, 5.0), min_size=9, max_size=9),
)
def test_exchange_between_tanks_keeps_the_heat(temperatures, masses, flows):
    """With no loss outside, the sum of heated mass × temperature changes only by moved mass.

    Row by row, d(m T)/dt = sum of flows × their temperatures, with outflow at the tank's own.
    """
    inflows = np.array(flows).reshape(3, 3)
    np.fill_diagonal(inflows, 0.0)
    t, structure = np.array(temperatures), 10.0
    rates = temperature_rates(
        t,
        masses,
        ambient=250.0,
        time_constants=[math.inf] * 3,
        structure=structure,
        inflows=inflows,
    )
    mass_rates = inflows.sum(axis=1) - inflows.sum(axis=0)
    heat_rate = ((np.array(masses) + structure) * rates + mass_rates * t).sum()
    assert heat_rate == pytest.approx(0.0, abs=1e-6)


@given(
    st.lists(st.floats(220.0, 330.0), min_size=4, max_size=4),
    st.lists(st.floats(0.0, 3.0), min_size=4, max_size=4),
)
def test_each_tank_is_what_a_loop_would_give(temperatures, given_flow):
    """The sum written out tank by tank in plain Python."""
    flows = [[0.0, 1.0, 0.0, 0.5], [0.0, 0.0, 2.0, 0.0], [0.3, 0.0, 0.0, 0.0], [0.0] * 4]
    masses, constants = [100.0, 400.0, 0.0, 2500.0], [1800.0, 3000.0, 900.0, 7000.0]
    structure, hot = [20.0, 30.0, 5.0, 100.0], [340.0, 350.0, 300.0, 320.0]
    rates = temperature_rates(
        temperatures,
        masses,
        ambient=248.0,
        time_constants=constants,
        structure=structure,
        inflows=flows,
        given_inflow=given_flow,
        given_temperature=hot,
    )
    for i, own in enumerate(temperatures):
        brought = sum(flows[i][j] * (temperatures[j] - own) for j in range(4))
        brought += given_flow[i] * (hot[i] - own)
        expected = (248.0 - own) / constants[i] + brought / (masses[i] + structure[i])
        assert rates[i] == pytest.approx(expected, rel=1e-11, abs=1e-13)


def test_fuel_at_the_temperature_outside_stays_there():
    """Nothing changes where nothing differs, whatever flows."""
    rates = temperature_rates(
        [260.0, 260.0],
        [100.0, 0.0],
        ambient=260.0,
        time_constants=[1000.0, 2000.0],
        structure=5.0,
        inflows=[[0.0, 1.0], [2.0, 0.0]],
        given_inflow=[1.0, 1.0],
        given_temperature=[260.0, 260.0],
    )
    assert rates.tolist() == [0.0, 0.0]


def test_each_tank_may_meet_its_own_temperature_outside():
    """A centre tank is warmed by the cabin, a wing tank by the air."""
    rates = temperature_rates(
        [280.0, 280.0], [1.0, 1.0], ambient=[290.0, 240.0], time_constants=[1e3, 1e3], structure=0.0
    )
    assert rates == pytest.approx([0.01, -0.04], rel=1e-12)


def test_hot_return_raises_the_tank_it_enters_and_no_other():
    """The more, the less fuel there is to warm."""
    rates = temperature_rates(
        [270.0, 270.0, 270.0],
        [1000.0, 1000.0, 200.0],
        ambient=270.0,
        time_constants=[3600.0] * 3,
        structure=0.0,
        given_inflow=[0.0, 0.2, 0.2],
        given_temperature=[350.0, 350.0, 350.0],
    )
    assert rates[0] == 0.0 < rates[1] < rates[2]
    assert rates[2] == pytest.approx(5.0 * rates[1])


@given(st.floats(220.0, 330.0), st.floats(220.0, 330.0), st.floats(0.0, 1e4))
def test_mixing_stays_between_the_two_temperatures(own, other, time):
    """And a very slow change of mass gives what a steady mass gives."""
    result = mixed_temperature(own, 500.0, other, 1.0, 0.5, time)
    assert min(own, other) - 1e-9 <= result <= max(own, other) + 1e-9
    steady = mixed_temperature(own, 500.0, other, 1.0, 1.0, time)
    nearly = mixed_temperature(own, 500.0, other, 1.0, 1.0 - 1e-12, time)
    assert nearly == pytest.approx(steady, abs=1e-6)


ONE_TANK = {"ambient": 250.0, "time_constants": [1000.0], "structure": 0.0}


@pytest.mark.parametrize(
    ("masses", "change", "message"),
    [
        ([0.0], {}, "mass with its structure is .* kg; it must be above 0"),
        ([math.nan], {}, "mass with its structure is .* kg"),
        ([1.0], {"time_constants": [0.0]}, r"time constant is \[0.\] s; it must be above 0"),
        ([1.0], {"inflows": [[-1.0]]}, "inflow is .* kg/s; it must be 0 or more"),
        ([1.0], {"given_inflow": [math.nan], "given_temperature": [300.0]}, "inflow is .*nan"),
        ([1.0], {"given_inflow": [1.0]}, "given temperature is missing"),
    ],
)
def test_what_cannot_be_is_refused(masses, change, message):
    """Each is named with its value and its rule."""
    with pytest.raises(ValueError, match=message):
        temperature_rates([280.0], masses, **(ONE_TANK | change))


def test_an_impossible_fill_or_time_constant_is_refused():
    """Above full, below empty, no number, and a constant of nothing."""
    for fill in (-0.01, 1.01, math.nan):
        with pytest.raises(ValueError, match=f"fill is {fill}; it lies between 0 and 1"):
            time_constant(fill, empty=1.0, full=2.0)
    for value in (0.0, -5.0, math.inf):
        with pytest.raises(ValueError, match=f"time constant empty is {value} s"):
            time_constant(0.5, empty=value, full=2.0)


def test_a_tank_that_runs_empty_is_refused():
    """Its temperature would mean nothing."""
    with pytest.raises(ValueError, match="mass is .* kg; it must be above 0"):
        mixed_temperature(280.0, 100.0, 300.0, 1.0, 2.0, 100.0)
    with pytest.raises(ValueError, match="inflow is"):
        mixed_temperature(280.0, 100.0, 300.0, -1.0, 2.0, 10.0)
