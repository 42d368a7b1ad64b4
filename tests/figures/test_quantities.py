"""Figures read as people write them, written as a person would, and back again, in every unit."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.figures.quantities import (
    UNITS,
    FigureError,
    Unit,
    expected_words,
    read_figure,
    unit_of,
    written,
)

# Factors from NIST SP 811, appendix B, and NIST Handbook 44, appendix C: exact.
EXACT = {
    "lb": 0.45359237, "US gal": 3.785411784e-3, "imp gal": 4.54609e-3, "ft": 0.3048, "NM": 1852.0,
}  # fmt: skip
EVERY = pytest.mark.parametrize("symbol", UNITS)
SPACES = ("", " ", "\u00a0", "\u202f", "\u2009")


@pytest.mark.parametrize(
    ("text", "symbol", "value"),
    [
        ("12 500", "kg", 12500.0), ("12,500", "kg", 12500.0), ("12500", "kg", 12500.0),
        ("12'500", "kg", 12500.0), ("12.5 t", "kg", 12500.0), ("12,5 t", "kg", 12500.0),
        ("12\u202f500\u00a0kg", "kg", 12500.0), ("1,234,567", "kg", 1234567.0),
        ("12 500,5", "kg", 12500.5), ("+3 kg", "kg", 3.0), (" 7 ", "kg", 7.0),
        ("-42", "°C", 231.15), ("−42 °C", "°C", 231.15), ("-42.0°c", "°C", 231.15),
        ("3h25", "h:mm", 12300.0), ("3:25", "h:mm", 12300.0), ("3 h 25 min", "h:mm", 12300.0),
        ("205 min", "h:mm", 12300.0), ("3h", "h:mm", 10800.0), ("3H05", "h:mm", 11100.0),
        ("0:45", "h:mm", 2700.0), ("3:25:30", "h:mm", 12330.0), ("-0:10", "h:mm", -600.0),
        ("205", "min", 12300.0), ("3:25", "min", 12300.0), ("12,5", "min", 750.0),
        ("0,801", "kg/l", 801.0), ("0.801 kg/l", "kg/m³", 801.0), ("801 kg/m3", "kg/l", 801.0),
        ("5 %", "%", 0.05), ("5", "%", 0.05), (".5 t", "t", 500.0), ("0,650", "kg", 0.65),
        ("12,500", "t", 12500.0), ("2 400 kg/h", "kg/h", 2400.0 / 3600.0),
    ],
)  # fmt: skip
def test_people_write_a_figure_in_many_ways(text, symbol, value):
    """Thousands, decimals, signs, spaces, times and units: common practice, no source."""
    assert read_figure(text, symbol) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("", "kg"), ("about 3", "kg"), ("1e9", "kg"), ("nan", "kg"), ("inf", "kg"), ("5 NM", "kg"),
        ("12.500", "kg"), ("12 50", "kg"), ("1 2 3", "kg"), ("12 5000", "kg"), ("1,2,3", "kg"),
        ("12,50,5", "kg"), ("--5", "kg"), ("5-", "kg"), ("1_000", "kg"), ("0x10", "kg"),
        ("5 kg kg", "kg"), ("1" * 25, "kg"), ("3:60", "h:mm"), ("3:", "h:mm"), ("325", "h:mm"),
        ("3.25", "h:mm"), ("3 25", "h:mm"), ("3:25:61", "h:mm"), ("0:05", "kg"), ("5 t", "l"),
        ("1,234'567", "kg"), (None, "kg"), (12500, "kg"),
    ],
)  # fmt: skip
def test_what_could_mean_two_things_or_nothing_is_asked_again(text, symbol):
    """No guess is made; what was expected names the unit."""
    assert read_figure(text, symbol) is None
    assert symbol in expected_words(symbol) or "hours and minutes" in expected_words(symbol)


@EVERY
def test_what_was_expected_is_itself_readable(symbol):
    """The example in the sentence can be typed as it stands."""
    example = expected_words(symbol).rpartition("such as ")[2]
    assert read_figure(example, symbol) is not None


@EVERY
@settings(max_examples=40)
@given(st.floats(-1e6, 1e6))
def test_what_is_written_is_read_again(symbol, number):
    """In every unit, to the last decimal that is written."""
    unit = unit_of(symbol)
    value = unit.value(number)
    near = unit.span(0.5 * 10.0**-unit.places) * (1.0 + 1e-6) + 1e-9
    if symbol == "h:mm" and abs(number) >= 999 * 60:
        return  # no more than three digits of hours are read
    assert abs(read_figure(written(value, symbol), symbol) - value) <= near


@EVERY
@settings(max_examples=40)
@given(st.floats(-1e9, 1e9))
def test_a_unit_leads_there_and_back(symbol, number):
    """Number to SI value to number."""
    unit = unit_of(symbol)
    assert unit.number(unit.value(number)) == pytest.approx(number, rel=1e-12, abs=1e-6)
    assert unit.span(number) == pytest.approx(
        unit.value(number) - unit.value(0.0), rel=1e-9, abs=1e-6
    )


@pytest.mark.parametrize(("symbol", "factor"), EXACT.items())
def test_factors_are_exact(symbol, factor):
    """NIST SP 811, appendix B; NIST Handbook 44, appendix C."""
    assert unit_of(symbol).factor == pytest.approx(factor, rel=1e-15)


@given(st.integers(0, 10**9), st.sampled_from(SPACES), st.sampled_from(SPACES))
def test_thousands_may_be_set_apart_by_any_space(number, apart, before):
    """Common, narrow or none, and another before the unit."""
    text = f"{number:,}".replace(",", apart) + before + "kg"
    assert read_figure(text, "kg") == float(number)


@given(st.integers(0, 99999), st.integers(0, 9), st.sampled_from(".,"))
def test_one_decimal_is_read_with_point_or_comma(whole, tenth, mark):
    """12.5 and 12,5 are the same."""
    assert read_figure(f"{whole}{mark}{tenth}", "kg") == pytest.approx(whole + tenth / 10.0)


@given(st.integers(0, 998), st.integers(0, 59))
def test_times_are_read_in_every_form(hours, minutes):
    """With h, with a colon, and in minutes."""
    seconds = 3600.0 * hours + 60.0 * minutes
    for text in (f"{hours}:{minutes:02d}", f"{hours}h{minutes:02d}", f"{hours} h {minutes} min"):
        assert read_figure(text, "h:mm") == seconds
    assert read_figure(f"{60 * hours + minutes} min", "h:mm") == seconds


@given(st.text(max_size=30), st.sampled_from(sorted(UNITS)))
def test_no_text_breaks_the_reading(text, symbol):
    """It is a finite number or nothing."""
    found = read_figure(text, symbol)
    assert found is None or math.isfinite(found)


def test_units_that_are_not_known_are_refused_with_those_that_are():
    """An error names the unit and the choice."""
    with pytest.raises(FigureError, match="it is 'stone'; it must be one of kg, t, lb"):
        unit_of("stone")


def test_units_of_one_quantity_convert():
    """27 558 lb are 12 500 kg to the kilogram: 27 558 × 0.45359237 = 12 500.1 (by hand)."""
    assert read_figure("27 558 lb", "kg") == pytest.approx(12500.1, abs=0.05)
    assert isinstance(unit_of("kg"), Unit)


def test_what_is_not_finite_is_not_written_as_a_number():
    """It says so in a word."""
    assert written(float("nan"), "kg") == written(float("inf"), "h:mm") == "none"
