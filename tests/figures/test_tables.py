"""Excerpts of tables on a sheet: their rows are the table's, and the line between them is close."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.quantities import FigureError
from fuelkit.figures.tables import between_rows, density_15_step, volume_correction_step
from fuelkit.physics.fuel import volume_correction_factor
from fuelkit.physics.hydrometer import density_15_from_reading

CELSIUS = st.floats(-20.0, 35.0).map(lambda value: 273.15 + round(value))


@given(st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 1))
def test_between_two_rows_lies_what_lies_between(first, second, share):
    """The rows themselves, and never beyond them."""
    rows = ((1.0, first), (3.0, second))
    assert between_rows(rows, 1.0) == pytest.approx(first, abs=1e-9)
    assert between_rows(rows, 3.0) == pytest.approx(second, abs=1e-9)
    low, high = sorted((first, second))
    assert low - 1e-9 <= between_rows(rows, 1.0 + 2.0 * share) <= high + 1e-9


@given(st.floats(770.0, 835.0), CELSIUS)
def test_a_reading_between_rows_is_the_tables_within_its_tolerance(reading, temperature):
    """ASTM D1250-80, Table 53B, at the reading itself."""
    found = density_15_step("reading", reading, temperature)
    exact = density_15_from_reading(reading, temperature)
    assert found.step.agrees(found.step.work(reading, ""), exact)


@given(st.floats(775.0, 840.0), CELSIUS)
def test_a_factor_between_rows_is_the_tables_within_its_tolerance(density_15, temperature):
    """ASTM D1250-80, Table 54B, at the density itself."""
    found = volume_correction_step(density_15, temperature)
    exact = volume_correction_factor(density_15, temperature)
    assert found.step.agrees(found.step.work(density_15, ""), exact)


def test_at_15_degrees_nothing_is_corrected():
    """The factor is 1, and no slip is made of that."""
    assert volume_correction_step(800.0, 288.15).value == 1.0
    assert density_15_step("reading", 800.0, 288.15).step.slips == ()


def test_what_no_table_has_is_told():
    """A density or a temperature beyond the table, as the physics room says it."""
    with pytest.raises(FigureError, match="density at 15 °C is 5"):
        volume_correction_step(500.0, 288.15)
    with pytest.raises(FigureError, match="temperature"):
        density_15_step("reading", 800.0, 15.0)
