"""Guards of a figure sheet's inputs: field, value and what would be right, in a sentence."""

import math

import pytest

from fuelkit.figures.inputs import choice, fuel_density, fuel_temperature, number
from fuelkit.figures.quantities import FigureError


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, "12 t", None, True, [5.0]])
def test_what_is_no_number_is_refused(value):
    """NaN, infinity, a text with its unit, a truth value: none is a figure."""
    with pytest.raises(FigureError, match=r"^uplift: it is .*; it must be a number.*\(kg\)"):
        number("uplift", value, "kg")


@pytest.mark.parametrize(
    "bounds, told",
    [({"low": 10.0}, "at least 10 kg"), ({"above": 5.0}, "more than 5 kg"),
     ({"high": 4.0}, "at most 4 kg")],
)  # fmt: skip
def test_a_bound_is_told_in_the_unit_of_the_sheet(bounds, told):
    """The value and the bound, both with their unit."""
    with pytest.raises(FigureError, match=f"uplift: it is 5 kg; it must be {told}."):
        number("uplift", 5.0, "kg", **bounds)


def test_bounds_themselves_are_allowed_but_for_above():
    """At least and at most include the bound."""
    assert number("x", 5, "kg", low=5, high=5) == 5.0


@pytest.mark.parametrize("value", [0.8, 6.7, 8.0, 649.9, 1000.1])
def test_a_density_in_another_unit_is_recognised(value):
    """0.8 kg/l and 6.7 lb/US gal are no kg/m³; the message says how to give it."""
    with pytest.raises(FigureError, match="0.8 kg/l is 800 kg/m³"):
        fuel_density("density", value)


@pytest.mark.parametrize("value", [15.0, -47.0, 500.0])
def test_a_temperature_in_celsius_is_recognised(value):
    """15 is no temperature of fuel in kelvin."""
    with pytest.raises(FigureError, match="15 °C is 288.15 K"):
        fuel_temperature("fuel", value)


def test_a_wrong_word_gets_the_nearest_right_one():
    """All that would be right, and a guess."""
    with pytest.raises(FigureError, match="'kg', 'lb'.* Did you mean 'kg'"):
        choice("unit", "kgs", ("kg", "lb"))
