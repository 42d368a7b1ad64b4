"""Density of fuel against the printed Table 54B of ASTM D1250, its band edges, and bad input."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.physics.fuel import (
    BASE_TEMPERATURE,
    ZERO_CELSIUS,
    density,
    thermal_expansion,
    volume_correction_factor,
)

# ASTM D1250-80 (API MPMS 11.1, IP 200), Table 54B, jet fuel of 800 kg/m³ at 15 °C: printed values
# seen in a public copy. By temperature in °C.
PRINTED = {
    -40.0: 1.0502,
    -39.0: 1.0493,
    -35.0: 1.0457,
    -30.0: 1.0412,
    -28.8: 1.0402,
    -25.0: 1.0367,
    -22.0: 1.0340,
}


@pytest.mark.parametrize("celsius", PRINTED)
def test_a_printed_factor_is_reproduced(celsius):
    """Every printed value seen, to its last digit (ASTM D1250-80, Table 54B)."""
    assert volume_correction_factor(800.0, ZERO_CELSIUS + celsius) == PRINTED[celsius]


def test_the_rounding_of_the_standard_decides_a_printed_digit():
    """At -28.8 °C the formula without its step-by-step rounding gives another last digit."""
    expansion, difference = 594.5418 / 800.0**2, -28.8 - 15.0
    plain = math.exp(-expansion * difference * (1.0 + 0.8 * expansion * difference))
    assert round(plain, 4) == 1.0401 != PRINTED[-28.8]
    assert volume_correction_factor(800.0, ZERO_CELSIUS - 28.8) == PRINTED[-28.8]


def test_nothing_is_corrected_at_the_base_temperature():
    """At 15 °C the factor is 1 and the density is the one quoted, for every product."""
    for density_15 in (653.0, 720.0, 780.0, 800.0, 900.0, 1075.0):
        assert volume_correction_factor(density_15, BASE_TEMPERATURE) == 1.0
        assert density(density_15, BASE_TEMPERATURE) == density_15


# Constants of the bands: ASTM D1250-80, Table 54B (seen in public code). The tables go in steps of
# 0.5 kg/m³, so each band ends at its last printed density and the next begins half a step on.
def gasoline(rho):
    """Expansion in the band 653 to 770 kg/m³."""
    return 346.4228 / rho**2 + 0.4388 / rho


def transition(rho):
    """Expansion in the band 770.5 to 787.5 kg/m³."""
    return -0.00336312 + 2680.3206 / rho**2


def jet_fuel(rho):
    """Expansion in the band 788 to 838.5 kg/m³."""
    return 594.5418 / rho**2


def fuel_oil(rho):
    """Expansion in the band 839 to 1075 kg/m³."""
    return 186.9696 / rho**2 + 0.4862 / rho


@pytest.mark.parametrize(
    ("density_15", "band"),
    [
        (653.0, gasoline),
        (770.0, gasoline),
        (770.5, transition),
        (775.0, transition),
        (787.5, transition),
        (788.0, jet_fuel),
        (838.5, jet_fuel),
        (839.0, fuel_oil),
        (840.0, fuel_oil),
        (1075.0, fuel_oil),
    ],
)
def test_the_band_is_chosen_by_density_on_both_sides_of_each_edge(density_15, band):
    """Light Jet A-1 (775 to 787.5) is in the transition band, the heaviest (840) a fuel oil."""
    assert thermal_expansion(density_15) == round(band(density_15), 7)
    others = {gasoline, transition, jet_fuel, fuel_oil} - {band}
    assert all(round(other(density_15), 7) != round(band(density_15), 7) for other in others)


@pytest.mark.parametrize("edge", [770.25, 787.75, 838.75])
def test_bands_meet_without_a_jump(edge):
    """Expansion differs by less than half a per cent between the two sides of an edge."""
    below, above = thermal_expansion(edge - 1e-6), thermal_expansion(edge + 1e-6)
    assert below == pytest.approx(above, rel=5e-3)


temperatures = st.floats(213.15, 423.15)
densities = st.floats(653.0, 1075.0)


@given(densities, temperatures, temperatures)
def test_density_never_rises_with_temperature(density_15, one, other):
    """Warmer fuel is never denser; a kelvin apart it is lighter (a step of the table is 0.01 %)."""
    cold, warm = sorted((one, other))
    assert density(density_15, cold) >= density(density_15, warm)
    if warm - cold >= 1.0:
        assert density(density_15, cold) > density(density_15, warm)


@given(densities, temperatures)
def test_density_is_the_quoted_one_times_the_factor(density_15, temperature):
    """Mass is kept: a cubic metre at 15 °C weighs the same at any temperature."""
    factor = volume_correction_factor(density_15, temperature)
    assert density(density_15, temperature) == pytest.approx(density_15 * factor, rel=1e-15)
    assert factor == round(factor, 4)


@given(st.integers(-600, 1500))
def test_celsius_to_kelvin_and_back_costs_no_digit(tenths):
    """A temperature in tenths of a degree gives what exact decimal arithmetic gives."""
    difference = tenths / 10.0 - 15.0
    swelling = round(0.000929 * round(difference, 1), 8)
    exponent = round(-swelling * (1.0 + 0.8 * swelling), 8)
    expected = round(round(math.exp(exponent), 6), 4)
    assert volume_correction_factor(800.0, ZERO_CELSIUS + tenths / 10.0) == expected


@pytest.mark.parametrize("density_15", [652.9, 1075.1, 0.8, -800.0, math.nan, math.inf])
def test_a_density_outside_the_table_is_refused(density_15):
    """The message gives the value, the range, and what jet fuel is."""
    message = rf"density at 15 °C is {density_15} kg/m³; Table 54B covers 653.0 to 1075.0.*775 to"
    for function in (thermal_expansion, lambda d: density(d, 288.15)):
        with pytest.raises(ValueError, match=message):
            function(density_15)


@pytest.mark.parametrize("temperature", [15.0, 213.0, 423.3, -40.0, math.nan, math.inf])
def test_a_temperature_that_is_not_in_kelvin_is_refused(temperature):
    """Celsius given for kelvin is caught: the message says which unit is meant."""
    with pytest.raises(ValueError, match=rf"temperature is {temperature} K; .*in kelvin"):
        density(800.0, temperature)


def test_the_ends_of_the_temperature_range_are_inside_it():
    """-60 °C and 150 °C, as computed from degrees Celsius, are accepted."""
    assert density(800.0, ZERO_CELSIUS - 60.0) > density(800.0, ZERO_CELSIUS + 150.0)
