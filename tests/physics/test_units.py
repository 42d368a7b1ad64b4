"""Conversion factors against the published ones and against scipy's table of constants."""

from fractions import Fraction

import pytest
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
    assert {name for name in dir(units) if name.isupper()} == set(PUBLISHED) == set(IN_SCIPY)


def test_gallons_and_pounds_per_square_inch_follow_from_the_inch():
    """231 cubic inches to the US gallon; a pound's weight on a square inch (exact rationals)."""
    inch = Fraction("0.3048") / 12
    assert float(231 * inch**3) == pytest.approx(units.US_GALLON, rel=1e-15)
    psi = Fraction("0.45359237") * Fraction("9.80665") / inch**2
    assert float(psi) == pytest.approx(units.PSI, rel=1e-13)
