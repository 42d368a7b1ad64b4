"""Density of fuel against the printed Table 54B of ASTM D1250, its band edges, and bad input."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.physics.fuel import (
    BASE_TEMPERATURE,
    ZERO_CELSIUS,
    density,
    density_15_from,
    smooth_density,
    smooth_expansion,
    smooth_volume_correction,
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
# 0.5 kg/m³: each band has a last printed density, and the next a first one half a step on.
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


# Where the formulas of two bands agree, from the constants above; the edges of the 2004 edition,
# which are densities at 60 °F, lie within 0.05 kg/m³ (770.3520, 787.5195, 838.3127; seen in
# public code).
CROSSINGS = {770.3609: (gasoline, transition), 787.5224: (transition, jet_fuel)}


@pytest.mark.parametrize("edge", CROSSINGS)
def test_a_band_ends_where_its_formula_meets_the_next(edge):
    """Below the edge one formula holds, above it the other, and there is no jump between."""
    below, above = CROSSINGS[edge]
    assert below(edge) == pytest.approx(above(edge), abs=1e-9)
    assert thermal_expansion(edge - 0.1) == round(below(edge - 0.1), 7)
    assert thermal_expansion(edge + 0.1) == round(above(edge + 0.1), 7)


def test_the_heaviest_printed_jet_fuel_meets_the_fuel_oils_within_a_digit():
    """838.5 is printed as a jet fuel, a little past the crossing: a jump of 3 in the 7th digit."""
    below, above = thermal_expansion(838.75 - 1e-6), thermal_expansion(838.75 + 1e-6)
    assert abs(below - above) <= 4e-7


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
    for function in (thermal_expansion, smooth_expansion, lambda d: density(d, 288.15)):
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


# ---- the smooth form


@given(densities, temperatures)
def test_the_smooth_factor_lies_within_half_a_digit_of_the_printed_one(density_15, temperature):
    """Half a digit of the table and 0.005 %, over all densities and temperatures."""
    printed = volume_correction_factor(density_15, temperature)
    smooth = smooth_volume_correction(density_15, temperature)
    assert abs(smooth - printed) <= 0.5e-4 + 0.5e-4 * printed


def test_the_smooth_factor_lies_within_half_a_digit_of_every_printed_value():
    """Printed values seen (ASTM D1250-80, Table 54B): half a digit and the standard's rounding."""
    for celsius, printed in PRINTED.items():
        smooth = smooth_volume_correction(800.0, ZERO_CELSIUS + celsius)
        assert abs(smooth - printed) <= 0.5e-4 + 0.1e-4


@given(densities)
def test_the_smooth_expansion_is_the_slope_at_15(density_15):
    """Minus d(ln density)/dT at 15 °C, by a central difference; near the printed table's."""
    warm, cold = (smooth_density(density_15, BASE_TEMPERATURE + d) for d in (0.01, -0.01))
    slope = (warm - cold) / (0.02 * density_15)
    assert smooth_expansion(density_15) == pytest.approx(-slope, rel=1e-6)
    assert smooth_expansion(density_15) == pytest.approx(thermal_expansion(density_15), abs=4e-7)


@pytest.mark.parametrize("density_15", [653.0, 720.0, 770.36, 780.0, 787.6, 800.0, 838.5, 1075.0])
def test_the_smooth_density_has_no_steps(density_15):
    """It falls at every thousandth of a kelvin, and its slope changes by no more than curvature."""
    fine = smooth_density(density_15, 250.0 + 1e-3 * np.arange(200))
    assert np.all(np.diff(fine) < 0.0)
    coarse = smooth_density(density_15, np.linspace(213.15, 423.15, 2101))
    slopes = np.diff(coarse) / 0.1
    assert np.all(slopes < 0.0)
    assert np.max(np.abs(np.diff(slopes))) < 1e-3 * np.max(np.abs(slopes))


@pytest.mark.parametrize("edge", [770.36, 787.52, 838.28])
@pytest.mark.parametrize("temperature", [213.15, 250.0, 330.0, 423.15])
def test_the_smooth_density_does_not_jump_between_bands(edge, temperature):
    """A gram a cubic metre more at 15 °C gives 0 to 2.5 g more at any temperature, at edges too."""
    steps = np.diff([smooth_density(edge + 1e-3 * k, temperature) for k in range(-2000, 2001)])
    assert np.all((steps > 0.0) & (steps < 2.5e-3))


def test_an_array_of_temperatures_gives_what_each_gives_alone():
    """The shape is kept; a single temperature gives a plain float."""
    many = np.array([[230.0, 250.0], [288.15, 330.0]])
    result = smooth_density(805.0, many)
    assert result.shape == many.shape
    assert result.tolist() == [[smooth_density(805.0, t) for t in row] for row in many]
    assert type(smooth_density(805.0, 250.0)) is float


@given(densities, temperatures)
def test_the_density_at_15_is_found_again(density_15, temperature):
    """The inverse leads back, in every band and at every temperature."""
    found = density_15_from(smooth_density(density_15, temperature), temperature)
    assert found == pytest.approx(density_15, rel=1e-12)


def test_the_density_at_15_agrees_with_repeated_substitution():
    """The printed procedure (Table 53B), where it settles: jet fuel, cold and warm."""
    for observed, temperature in ((830.0, 253.15), (820.0, 263.15), (795.0, 303.15)):
        guess = observed
        for _ in range(100):
            swelling = jet_fuel(guess) * (temperature - BASE_TEMPERATURE)
            guess = observed / math.exp(-swelling * (1.0 + 0.8 * swelling))
        assert density_15_from(observed, temperature) == pytest.approx(guess, rel=1e-12)


@pytest.mark.parametrize("observed", [500.0, 1200.0, 0.8, math.nan, math.inf, -800.0])
def test_an_observed_density_outside_the_table_is_refused(observed):
    """The message gives the range at that temperature."""
    message = rf"density is {observed} kg/m³; at 253.15 K the table covers 68\d.\d to 109\d"
    with pytest.raises(ValueError, match=message):
        density_15_from(observed, 253.15)


def test_a_wrong_temperature_is_refused_by_the_smooth_form_too():
    """One wrong value in an array is enough, and NaN is wrong."""
    for wrong in ([288.15, 15.0], math.nan, 423.3):
        with pytest.raises(ValueError, match="in kelvin"):
            smooth_density(800.0, wrong)
    with pytest.raises(ValueError, match="in kelvin"):
        density_15_from(800.0, -40.0)
