"""Vapour pressure against published values, and the ceiling of gravity feed that follows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.physics.atmosphere import air
from fuelkit.physics.units import PSI
from fuelkit.physics.volatility import gravity_ceiling, vapour_pressure


def kelvin(fahrenheit):
    """Return a temperature in kelvin."""
    return (fahrenheit + 459.67) / 1.8


@pytest.mark.parametrize(
    ("fahrenheit", "wide_cut", "psi", "half_a_digit"),
    [
        # US EPA, AP-42, table 7.1-2: true vapour pressure at 60 °F, seen in public code.
        (60.0, False, 0.008, 0.0005),
        (60.0, True, 1.3, 0.05),
        # The same table's values at other temperatures, from memory.
        (40.0, False, 0.0041, 0.00005),
        (70.0, False, 0.011, 0.0005),
        (100.0, False, 0.029, 0.001),
        (40.0, True, 0.8, 0.05),
        (70.0, True, 1.6, 0.05),
        (100.0, True, 2.7, 0.15),
    ],
)
def test_a_published_vapour_pressure_is_met(fahrenheit, wide_cut, psi, half_a_digit):
    """To the digits printed (at 100 °F the table and its own equation differ by one digit more)."""
    result = vapour_pressure(kelvin(fahrenheit), wide_cut=wide_cut) / PSI
    assert abs(result - psi) <= half_a_digit


def test_wide_cut_fuel_lies_in_its_specified_range():
    """Vapour pressure of jet naphtha at 37.8 °C: 13.7 to 20.6 kPa (customs definition, seen)."""
    assert 13.7e3 <= vapour_pressure(kelvin(100.0), wide_cut=True) <= 20.6e3


@given(st.floats(213.15, 420.0), st.booleans())
def test_warmer_fuel_has_more_vapour_pressure(temperature, wide_cut):
    """Always, and wide-cut more than kerosene in the range of use."""
    cold, warm = (vapour_pressure(t, wide_cut=wide_cut) for t in (temperature, temperature + 1.0))
    assert 0.0 < cold < warm
    if temperature < 330.0:
        assert vapour_pressure(temperature, wide_cut=True) > vapour_pressure(temperature)


def test_the_ceiling_where_only_ambient_pressure_pushes():
    """Inlet at ambient: the ceiling is the height at which the air's pressure is that of vapour.

    11 000 m, 22 632 Pa (ICAO Doc 7488/3): with suction and margin chosen to need just that.
    """
    vapour = vapour_pressure(288.15, wide_cut=True)
    needed = 22632.04 - vapour
    assert gravity_ceiling(-needed, 288.15, wide_cut=True) == pytest.approx(11000.0, abs=0.01)
    assert gravity_ceiling(0.0, 288.15, margin=needed, wide_cut=True) == pytest.approx(
        11000.0, abs=0.01
    )


@given(st.floats(-80e3, 5e3), st.floats(240.0, 330.0), st.floats(0.0, 20e3), st.booleans())
def test_at_the_ceiling_the_inlet_has_just_what_it_needs(gauge, temperature, margin, wide_cut):
    """Ambient and gauge pressure together are vapour pressure and margin, where there is one."""
    ceiling = gravity_ceiling(gauge, temperature, margin=margin, wide_cut=wide_cut)
    need = vapour_pressure(temperature, wide_cut=wide_cut) + margin
    if math.isfinite(ceiling):
        assert air(ceiling).pressure + gauge == pytest.approx(need, abs=1e-6)
    elif ceiling > 0.0:
        assert gauge + air(80000.0).pressure >= need
    else:
        assert gauge + air(-5000.0).pressure < need


@given(st.floats(-60e3, 0.0), st.floats(240.0, 320.0), st.floats(0.0, 10e3))
def test_warm_fuel_suction_and_margin_lower_the_ceiling(gauge, temperature, margin):
    """Each by itself; and a wide-cut's is below a kerosene's."""
    ceiling = gravity_ceiling(gauge, temperature, margin=margin)
    assert gravity_ceiling(gauge, temperature + 5.0, margin=margin) <= ceiling
    assert gravity_ceiling(gauge - 1000.0, temperature, margin=margin) <= ceiling
    assert gravity_ceiling(gauge, temperature, margin=margin + 1000.0) <= ceiling
    assert gravity_ceiling(gauge, temperature, margin=margin, wide_cut=True) <= ceiling


def test_there_is_no_ceiling_where_head_alone_suffices():
    """Head above vapour pressure holds even where there is no air."""
    assert gravity_ceiling(100.0, 293.15) == math.inf
    assert gravity_ceiling(70.0, 293.15) < math.inf  # 73.7 Pa of vapour, more than the head


def test_a_line_that_needs_more_than_all_the_air_never_flows():
    """Suction above what the air gives 5 km below sea level."""
    assert gravity_ceiling(-180e3, 293.15) == -math.inf
    assert -5000.0 <= gravity_ceiling(-110e3, 293.15) < 0.0


@pytest.mark.parametrize("temperature", [15.0, 213.0, 424.0, math.nan, math.inf])
def test_a_temperature_not_in_kelvin_is_refused(temperature):
    """By both functions, with the value."""
    for function in (vapour_pressure, lambda t: gravity_ceiling(0.0, t)):
        with pytest.raises(ValueError, match=rf"temperature is {temperature} K; .*in kelvin"):
            function(temperature)


@pytest.mark.parametrize(
    ("gauge", "margin", "message"),
    [
        (math.nan, 0.0, "gauge pressure is nan Pa"),
        (math.inf, 0.0, "gauge pressure is inf Pa"),
        (0.0, -1.0, "margin is -1.0 Pa"),
        (0.0, math.nan, "margin is nan Pa"),
    ],
)
def test_a_wrong_pressure_is_refused(gauge, margin, message):
    """It is named with its value."""
    with pytest.raises(ValueError, match=message):
        gravity_ceiling(gauge, 288.15, margin=margin)
