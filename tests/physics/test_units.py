"""Conversion factors against the published ones and against scipy's table of constants."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from fuelkit.physics import units

# NIST Special Publication 811, appendix B, and NIST Handbook 44, appendix C.
PUBLISHED = {
    "US_GALLON": 3.785411784e-3,
    "IMPERIAL_GALLON": 4.54609e-3,
    "POUND": 0.45359237,
    "FOOT": 0.3048,
    "NAUTICAL_MILE": 1852.0,
    "PSI": 6894.757293168,
    "STANDARD_GRAVITY": 9.80665,
    "LITRE": 1e-3,
    "TONNE": 1000.0,
    "MINUTE": 60.0,
    "HOUR": 3600.0,
    "KILOPASCAL": 1000.0,
}
IN_SCIPY = {
    "US_GALLON": constants.gallon_US,
    "IMPERIAL_GALLON": constants.gallon_imp,
    "POUND": constants.pound,
    "FOOT": constants.foot,
    "NAUTICAL_MILE": constants.nautical_mile,
    "PSI": constants.psi,
    "STANDARD_GRAVITY": constants.g,
    "LITRE": constants.liter,
    "TONNE": constants.metric_ton,
    "MINUTE": constants.minute,
    "HOUR": constants.hour,
    "KILOPASCAL": constants.kilo,
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_factor_is_the_published_one(name):
    """Digit for digit (NIST SP 811, Handbook 44)."""
    assert getattr(units, name) == PUBLISHED[name]


@pytest.mark.parametrize("name", IN_SCIPY)
def test_a_factor_agrees_with_an_independent_table(name):
    """scipy.constants, which derives most of its factors, agrees to rounding."""
    assert getattr(units, name) == pytest.approx(IN_SCIPY[name], rel=1e-12)


def test_every_factor_is_checked():
    """No factor is added without a published value beside it."""
    public = {name for name in dir(units) if name.isupper() and not name.startswith("_")}
    assert public == set(PUBLISHED) == set(IN_SCIPY)


def test_gallons_and_pounds_per_square_inch_follow_from_the_inch():
    """231 cubic inches to the US gallon; a pound's weight on a square inch (exact rationals)."""
    inch = Fraction("0.3048") / 12
    assert float(231 * inch**3) == pytest.approx(units.US_GALLON, rel=1e-15)
    psi = Fraction("0.45359237") * Fraction("9.80665") / inch**2
    assert float(psi) == pytest.approx(units.PSI, rel=1e-13)


UNITS = ("kg", "lb", "t", "m³", "L", "US gal", "imp gal")


@pytest.mark.parametrize(
    ("value", "unit", "to", "density", "expected"),
    [
        # NIST SP 811, appendix B, and Handbook 44, appendix C: exact by definition.
        (1.0, "lb", "kg", None, 0.45359237),
        (1.0, "US gal", "L", None, 3.785411784),
        (1.0, "imp gal", "L", None, 4.54609),
        (1.0, "t", "kg", None, 1000.0),
        (1.0, "m³", "L", None, 1000.0),
        # 6.7 lb/US gal (FAA AMT Handbook - General) is 6.7 × 0.45359237 kg in
        # 3.785411784 L: 802.84 kg/m³, rounded.
        (1.0, "US gal", "lb", 802.84, 6.7),
    ],
)
def test_a_conversion_is_the_published_one(value, unit, to, density, expected):
    """Definitions of NIST SP 811; the FAA's mass of a gallon of jet fuel to its last digit."""
    digits = 1e-15 if density is None else 1e-5
    assert units.convert(value, unit, to, density=density) == pytest.approx(expected, rel=digits)


@given(
    st.floats(1e-3, 1e6),
    st.sampled_from(UNITS),
    st.sampled_from(UNITS),
    st.sampled_from(UNITS),
    st.floats(650.0, 1075.0),
)
def test_conversions_lead_back_and_by_any_way(value, unit, other, third, density):
    """There and back is where one was; a detour by a third unit changes nothing."""
    there = units.convert(value, unit, other, density=density)
    assert units.convert(there, other, unit, density=density) == pytest.approx(value, rel=1e-14)
    detour = units.convert(value, unit, third, density=density)
    assert units.convert(detour, third, other, density=density) == pytest.approx(there, rel=1e-14)


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [("gal", "gal"), ("lbs", "lb"), ("KG", "kg"), ("us gallon", "US gal"), ("m3", "m³")],
)
def test_an_unknown_unit_is_named_with_the_nearest(wrong, meant):
    """Units are spelled one way; the message lists them and guesses."""
    with pytest.raises(ValueError, match=f"unit is '{wrong}'; known are kg, lb.*mean '.*{meant}"):
        units.convert(1.0, wrong, "kg")
    with pytest.raises(ValueError, match=f"unit is '{wrong}'"):
        units.convert(1.0, "kg", wrong)


def test_a_unit_like_no_other_gets_no_guess():
    """A wild guess would mislead."""
    with pytest.raises(ValueError, match=r"imp gal\.$"):
        units.convert(1.0, "furlong-squared", "kg")


@pytest.mark.parametrize("density", [None, 0.0, -800.0, float("nan"), float("inf")])
def test_mass_and_volume_need_a_density(density):
    """Both ways, and the message says which density is meant."""
    for unit, to in (("kg", "L"), ("US gal", "lb")):
        with pytest.raises(ValueError, match=f"density is {density} kg/m³ from '{unit}' to '{to}'"):
            units.convert(1.0, unit, to, density=density)
