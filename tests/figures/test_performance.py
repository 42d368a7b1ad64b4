"""Figures of the performance tables: at their entries, in between, and refused outside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.performance import Line, at_level, ceiling, holding
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.atmosphere import air

TABLES = load_aircraft("halbrook-180").performance
FOOT = 0.3048


def test_entries_of_the_table_come_back():
    """At each mass, level and deviation of the file stands the file's own figure."""
    for d, deviation in enumerate(TABLES.deviations):
        for z, level in enumerate(TABLES.levels):
            at = at_level(TABLES, level, deviation)
            found = [at.cruise.at(mass) for mass in TABLES.masses]
            assert found == pytest.approx(TABLES.cruise[d][z], rel=1e-12)


@given(
    st.floats(40_000.0, 80_000.0),
    st.floats(10_000.0 * FOOT, 39_000.0 * FOOT),
    st.floats(-20.0, 20.0),
)
def test_cruise_flow_agrees_with_an_independent_interpolation(mass, level, deviation):
    """Scipy's RegularGridInterpolator, straight between entries on all three axes."""
    axes = (TABLES.deviations, TABLES.levels, TABLES.masses)
    reference = RegularGridInterpolator(axes, np.array(TABLES.cruise))
    level = min(max(level, TABLES.levels[0]), TABLES.levels[-1])
    found = at_level(TABLES, level, deviation).cruise.at(mass)
    assert found == pytest.approx(float(reference((deviation, level, mass))), rel=1e-9)


def test_true_airspeed_follows_mach_and_temperature():
    """Mach times the speed of sound: faster on a warm day (definition of Mach number)."""
    level = 37_000.0 * FOOT
    standard, warm = at_level(TABLES, level), at_level(TABLES, level, 15.0)
    assert standard.speed == pytest.approx(0.78 * air(level).speed_of_sound)
    assert warm.speed / standard.speed == pytest.approx((231.65 / 216.65) ** 0.5)


def test_a_warm_day_makes_the_climb_longer_and_a_cold_one_does_not_shorten_it():
    """By the share of the file for each kelvin above standard."""
    level = 33_000.0 * FOOT
    standard, warm, cold = (at_level(TABLES, level, d) for d in (0.0, 10.0, -10.0))
    factor = 1.0 + 10.0 * TABLES.climb_warm
    assert factor > 1.0
    assert warm.climb_fuel.at(6e4) == pytest.approx(factor * standard.climb_fuel.at(6e4))
    assert cold.climb_time.at(6e4) == standard.climb_time.at(6e4)


@pytest.mark.parametrize("mass", [39_999.0, 80_001.0, float("nan")])
def test_a_mass_outside_is_refused(mass):
    """Nothing is continued in silence."""
    with pytest.raises(FigureError, match="mass: .* from 40 000 kg to 80 000 kg"):
        holding(TABLES).at(mass)


@pytest.mark.parametrize("level", [9_000.0, 39_100.0, 350.0])
def test_a_level_outside_is_refused(level):
    """A flight level taken for a height in feet, too."""
    with pytest.raises(FigureError, match="level: .* from 10 000 ft to 39 000 ft"):
        at_level(TABLES, level * FOOT)


def test_a_temperature_instead_of_a_deviation_is_refused():
    """288 K is no difference from the standard atmosphere."""
    with pytest.raises(FigureError, match=r"deviation: it is 288.0 K; .* from -20.0 K to 20.0 K"):
        at_level(TABLES, 10_000.0, 288.0)


def test_the_line_goes_on_only_when_a_search_asks_for_it():
    """`beyond` continues the last piece; `at` does not."""
    line = Line("mass", "kg", (0.0, 1.0, 2.0), (0.0, 1.0, 3.0))
    assert line.beyond(3.0) == 5.0 and line.beyond(-1.0) == -1.0
    with pytest.raises(FigureError):
        line.at(3.0)


@given(st.floats(40_000.0, 79_999.0), st.floats(0.1, 1_000.0))
def test_a_heavier_aircraft_burns_more_and_climbs_less_high(mass, more):
    """For every figure by mass."""
    heavier = min(mass + more, 80_000.0)
    at = at_level(TABLES, 33_000.0 * FOOT)
    for line in (at.cruise, at.climb_fuel, at.climb_time, holding(TABLES)):
        assert line.at(heavier) >= line.at(mass)
    assert ceiling(TABLES).at(heavier) <= ceiling(TABLES).at(mass)
