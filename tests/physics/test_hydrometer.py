"""From a hydrometer's reading to the density at 15 °C and back, and bad input."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.physics.fuel import BASE_TEMPERATURE, ZERO_CELSIUS, density
from fuelkit.physics.hydrometer import density_15_from_reading, glass_correction, reading_of


def test_glass_needs_no_correction_where_it_was_calibrated():
    """At 15 °C a reading is the density."""
    assert glass_correction(BASE_TEMPERATURE) == 1.0
    assert density_15_from_reading(803.4, BASE_TEMPERATURE) == 803.4


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [(25.0, 0.999768), (5.0, 1.000228), (-20.0, 1.0007805), (40.0, 0.9994125)],
)
def test_glass_correction_is_that_of_the_standard(celsius, expected):
    """1 - 0.000023 d - 0.00000002 d², worked by hand (Table 53B procedure, ASTM D1250-80)."""
    assert glass_correction(ZERO_CELSIUS + celsius) == pytest.approx(expected, abs=1e-15)


@given(st.floats(653.0, 1075.0), st.floats(213.15, 423.15))
def test_a_reading_leads_back_to_its_density(density_15, temperature):
    """Exactly when nothing is rounded, and to the printed digit by default."""
    reading = reading_of(density_15, temperature)
    exact = density_15_from_reading(reading, temperature, decimals=None)
    assert exact == pytest.approx(density_15, rel=1e-12)
    rounded = density_15_from_reading(reading, temperature)
    assert abs(rounded - density_15) <= 0.05 + 1e-9 and rounded == round(rounded, 1)


@given(st.floats(775.0, 838.5), st.floats(243.15, 313.15))
def test_reading_and_printed_table_agree(density_15, temperature):
    """The table's own density, read through glass, gives the density at 15 °C to its digit.

    Half a digit of the table is 0.04 kg/m³, half a digit of the answer 0.05.
    """
    reading = density(density_15, temperature) / glass_correction(temperature)
    assert abs(density_15_from_reading(reading, temperature) - density_15) <= 0.04 + 0.05 + 0.06


def test_the_iteration_of_the_standard_gives_the_same():
    """Repeated substitution, worked here step by step for a jet fuel (Table 53B procedure)."""
    for reading, celsius in ((810.0, 25.0), (825.0, -5.0), (799.5, 31.5)):
        temperature = ZERO_CELSIUS + celsius
        observed = reading * (1 - 0.000023 * (celsius - 15) - 0.00000002 * (celsius - 15) ** 2)
        guess = observed
        for _ in range(50):
            swelling = 594.5418 / guess**2 * (celsius - 15.0)
            guess = observed / math.exp(-swelling * (1.0 + 0.8 * swelling))
        assert density_15_from_reading(reading, temperature) == round(guess, 1)


def test_hot_light_fuel_is_found_where_substitution_does_not_settle():
    """In the transition band at 120 °C repeated substitution circles; the answer is still found."""
    temperature, density_15 = ZERO_CELSIUS + 120.0, 779.0
    found = density_15_from_reading(reading_of(density_15, temperature), temperature)
    assert found == density_15
    swelling = (-0.00336312 + 2680.3206 / 780.0**2) * 105.0
    factor = math.exp(-swelling * (1.0 + 0.8 * swelling))
    true = reading_of(density_15, temperature) * glass_correction(temperature)
    assert abs(true / factor - density_15) > 1.0  # a step from 1 away leads further away


@given(st.floats(660.0, 1000.0), st.floats(213.15, 400.0), st.floats(0.5, 20.0))
def test_the_warmer_the_fuel_was_read_the_denser_it_is_at_15(reading, temperature, warmer):
    """The same reading in warmer fuel means a denser fuel."""
    try:
        cold = density_15_from_reading(reading, temperature, decimals=None)
        warm = density_15_from_reading(reading, temperature + warmer, decimals=None)
    except ValueError:
        return  # outside the table at one of the two temperatures
    assert warm > cold


@pytest.mark.parametrize("reading", [0.0, -800.0, math.nan])
def test_a_reading_that_is_no_density_is_refused(reading):
    """The message says what fuel reads."""
    with pytest.raises(ValueError, match=rf"reading is {reading} kg/m³; it must be above 0"):
        density_15_from_reading(reading, 288.15)


@pytest.mark.parametrize("reading", [0.8, 640.0, 1200.0, math.inf])
def test_a_reading_outside_the_table_is_refused(reading):
    """With the readings that the table covers at that temperature."""
    with pytest.raises(ValueError, match=rf"{reading} kg/m³; at 288.15 K .*653.0 to 1075.0"):
        density_15_from_reading(reading, 288.15)


@pytest.mark.parametrize("temperature", [15.0, math.nan, 500.0])
def test_a_temperature_not_in_kelvin_is_refused(temperature):
    """By the fuel's own message."""
    with pytest.raises(ValueError, match="Give the temperature in kelvin"):
        density_15_from_reading(800.0, temperature)
