"""The standard atmosphere against its published table and two independent libraries."""

import math

import ambiance
import fluids.atmosphere
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad

from fuelkit.physics.atmosphere import (
    GAS_CONSTANT,
    HIGHEST,
    LOWEST,
    air,
    geometric_height,
    geopotential_height,
    height_of_pressure,
    mach,
    speed_of_sound,
    total_air_temperature,
)


@pytest.mark.parametrize(
    ("height", "temperature", "pressure", "density"),
    [(0.0, 288.150, 101325.0, 1.22500), (11000.0, 216.650, 22632.0, 0.363918)],
)
def test_a_printed_row_by_geopotential_height(height, temperature, pressure, density):
    """ICAO Doc 7488/3 (1993), to the digits printed."""
    result = air(height)
    assert round(result.temperature, 3) == temperature
    assert result.pressure == pytest.approx(pressure, abs=0.05)
    assert result.density == pytest.approx(density, abs=5e-7 if height else 5e-6)


@pytest.mark.parametrize(
    ("geometric", "temperature", "pressure"),
    [(1000.0, 281.651, 89876.3), (2000.0, 275.154, 79501.4)],
)
def test_a_printed_row_by_geometric_height(geometric, temperature, pressure):
    """ICAO Doc 7488/3 (1993), to the digits printed."""
    result = air(geopotential_height(geometric))
    assert round(result.temperature, 3) == temperature
    assert result.pressure == pytest.approx(pressure, abs=0.05)


@pytest.mark.parametrize(
    ("height", "temperature", "pressure"),
    # Layer edges of the US Standard Atmosphere, 1976, from memory. The same model, with a gas
    # constant that differs in the 6th digit: hence 0.02 Pa.
    [(20000.0, 216.65, 5474.89), (32000.0, 228.65, 868.02), (47000.0, 270.65, 110.91)],
)
def test_the_layers_above_the_tropopause(height, temperature, pressure):
    """Foot of each layer, to the digits recalled."""
    result = air(height)
    assert result.temperature == pytest.approx(temperature, abs=1e-9)
    assert result.pressure == pytest.approx(pressure, abs=0.02)


def test_it_agrees_with_ambiance_at_every_height():
    """An independent library, from -4.9 to 80 km geometric.

    Its pressures start from table values of 6 digits at the foot of each layer: hence 3e-6.
    """
    geometric = np.linspace(-4900.0, 80000.0, 3001)
    theirs, ours = ambiance.Atmosphere(geometric), air(geopotential_height(geometric))
    np.testing.assert_allclose(ours.temperature, theirs.temperature, rtol=1e-13)
    np.testing.assert_allclose(ours.pressure, theirs.pressure, rtol=3e-6)
    np.testing.assert_allclose(ours.density, theirs.density, rtol=3e-6)
    np.testing.assert_allclose(ours.speed_of_sound, theirs.speed_of_sound, rtol=1e-13)


@pytest.mark.parametrize("deviation", [0.0, -20.0, 15.0])
def test_it_agrees_with_fluids_on_warm_and_cold_days(deviation):
    """Another independent library: temperature shifts, pressure stays (its gas constant and its
    radius of the earth have fewer digits: hence 2e-5).
    """
    for geometric in np.linspace(0.0, 79000.0, 80):
        theirs = fluids.atmosphere.ATMOSPHERE_1976(geometric, dT=deviation)
        ours = air(geopotential_height(geometric), deviation=deviation)
        assert ours.temperature == pytest.approx(theirs.T, rel=2e-5)
        assert ours.pressure == pytest.approx(theirs.P, rel=1e-4)
        assert ours.speed_of_sound == pytest.approx(theirs.v_sonic, rel=2e-5)


@pytest.mark.parametrize("height", [-4000.0, 5000.0, 15000.0, 25000.0, 40000.0, 60000.0])
def test_pressure_follows_from_weight(height):
    """Each layer's formula is the integral of g/(R T) over height, done numerically."""
    foot = 0.0
    breaks = [h for h in (11e3, 20e3, 32e3, 47e3, 51e3) if h < height]
    integral, _ = quad(lambda h: 1.0 / air(h).temperature, foot, height, points=breaks, limit=200)
    expected = 101325.0 * math.exp(-constants.g / GAS_CONSTANT * integral)
    assert air(height).pressure == pytest.approx(expected, rel=1e-9)


@given(st.floats(LOWEST, HIGHEST))
def test_a_height_is_found_again_from_its_pressure(height):
    """There and back."""
    assert height_of_pressure(air(height).pressure) == pytest.approx(height, abs=1e-7)


@given(st.floats(-5000.0, 80000.0))
def test_geometric_and_geopotential_heights_lead_back(height):
    """There and back; geopotential height is never the larger above the sea."""
    assert geopotential_height(geometric_height(height)) == pytest.approx(height, abs=1e-8)
    if height > 1.0:
        assert geometric_height(height) > height


@given(st.floats(LOWEST, 47000.0), st.floats(-40.0, 40.0))
def test_a_deviation_moves_the_temperature_and_not_the_pressure(height, deviation):
    """At a pressure altitude; the density follows from the law of gases."""
    standard, other = air(height), air(height, deviation=deviation)
    assert other.pressure == standard.pressure
    assert other.temperature == pytest.approx(standard.temperature + deviation, abs=1e-9)
    gas = other.pressure / (GAS_CONSTANT * other.temperature)
    assert other.density == pytest.approx(gas, rel=1e-12)


def test_an_array_gives_what_each_height_gives_alone():
    """The shape is kept, and a single height gives plain floats."""
    heights = np.array([[-5000.0, 0.0, 11000.0], [20000.0, 32000.0, 80000.0]])
    many = air(heights)
    for row in np.ndindex(heights.shape):
        assert [field[row] for field in many] == list(air(heights[row]))
    assert height_of_pressure(many.pressure).shape == heights.shape
    assert all(type(value) is float for value in air(1000.0))


def test_total_temperature_of_a_known_flight():
    """216.65 K (ICAO Doc 7488/3) × (1 + 0.2 k M²), worked by hand; the knot is SciPy's."""
    assert total_air_temperature(216.65, 0.8) == pytest.approx(216.65 * 1.128, rel=1e-15)
    assert total_air_temperature(216.65, 0.8, recovery=0.9) == pytest.approx(216.65 * 1.1152)
    knots = 458.8 * constants.knot
    assert mach(knots, 216.65) == pytest.approx(0.8, abs=1e-4)


def test_total_temperature_is_that_of_an_energy_balance():
    """Kinetic energy over heat capacity (7/2 R): T + V²/(2 c_p)."""
    for number, temperature in ((0.3, 280.0), (0.8, 220.0), (0.9, 216.65)):
        speed = number * speed_of_sound(temperature)
        expected = temperature + speed**2 / (7.0 * GAS_CONSTANT)
        assert total_air_temperature(temperature, number) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("height", [-5000.1, 80000.1, math.nan, math.inf, 390e3])
def test_a_height_outside_the_standard_is_refused(height):
    """The message gives the range and the unit."""
    with pytest.raises(ValueError, match=r"height is .* m; the standard covers -5000 to 80000 m"):
        air(height)


@pytest.mark.parametrize("pressure", [0.0, -1.0, 2e5, math.nan])
def test_a_pressure_outside_the_standard_is_refused(pressure):
    """The message gives the range and the unit."""
    with pytest.raises(ValueError, match=rf"pressure is {pressure} Pa; the standard covers"):
        height_of_pressure(pressure)


@pytest.mark.parametrize("deviation", [-300.0, math.nan, math.inf])
def test_a_deviation_that_no_air_can_have_is_refused(deviation):
    """Absolute zero, and no number."""
    with pytest.raises(ValueError, match=rf"deviation is {deviation} K; .*absolute zero"):
        air(0.0, deviation=deviation)


@pytest.mark.parametrize("recovery", [-0.1, 1.1, math.nan])
def test_a_recovery_factor_outside_0_to_1_is_refused(recovery):
    """A probe cannot recover more than all."""
    with pytest.raises(ValueError, match=f"recovery factor is {recovery}"):
        total_air_temperature(216.65, 0.8, recovery=recovery)
