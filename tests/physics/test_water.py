"""Water below fuel and water out of solution: its balance, its order of size, bad input."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from fuelkit.physics.fuel import ZERO_CELSIUS, density
from fuelkit.physics.water import WATER_DENSITY, dissolved_water, settled_water


def test_water_sinks_below_every_jet_fuel():
    """The heaviest fuel allowed, at its coldest, is lighter than water."""
    assert density(840.0, 213.15) < WATER_DENSITY


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_no_water_is_lost_between_sump_and_inlet(volume, capacity):
    """What is not in the sump is above it, and nothing is above until the sump is full."""
    mass, above = settled_water(volume, capacity)
    assert mass / WATER_DENSITY + above == pytest.approx(volume, abs=1e-12)
    assert mass <= WATER_DENSITY * capacity
    assert (above == 0.0) == (volume <= capacity)


@pytest.mark.parametrize("fahrenheit", [80.0, 32.0, 60.0])
def test_solubility_is_about_one_part_per_million_a_degree(fahrenheit):
    """The rule of the trade, no source: ppm by volume is about the temperature in °F."""
    kelvin = constants.convert_temperature(fahrenheit, "F", "K")
    volume = dissolved_water(1.0, kelvin) / WATER_DENSITY
    assert volume == pytest.approx(fahrenheit * 1e-6, rel=1e-12)


def test_cold_fuel_holds_less_water_and_never_less_than_none():
    """From hot to the bottom of the rule."""
    held = [dissolved_water(10.0, ZERO_CELSIUS + t) for t in (40.0, 15.0, 0.0, -17.0, -30.0, -50.0)]
    assert held == sorted(held, reverse=True)
    assert held[-2:] == [0.0, 0.0] and held[-3] > 0.0


@pytest.mark.parametrize("wrong", [-0.001, math.nan])
def test_a_volume_that_cannot_be_is_refused(wrong):
    """Water or sump."""
    with pytest.raises(ValueError, match=f"volume of water is {wrong} m³; it must be 0 or more"):
        settled_water(wrong, 0.1)
    with pytest.raises(ValueError, match=f"capacity of the sump is {wrong} m³"):
        settled_water(0.1, wrong)
