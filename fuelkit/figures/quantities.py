"""Quantities of a figure sheet: which units they are written in, and how people write them.

Values are SI inside; a unit is known by its symbol. A number is read as people write it, and what
cannot be read is asked again with the unit that was expected.
"""

import math
import re
from dataclasses import dataclass

from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.units import (
    FOOT,
    HOUR,
    IMPERIAL_GALLON,
    LITRE,
    MINUTE,
    NAUTICAL_MILE,
    POUND,
    TONNE,
    US_GALLON,
)
from fuelkit.physics.writing import grouped

_SPACES = re.compile("[\u00a0\u2009\u202f\\s]+")
_NUMBER = re.compile(r"[+\-−]?(?:\d{1,3}(?:[,']\d{3})+|\d+)(?:[.,]\d+)?|[+\-−]?[.,]\d+")
_APART = re.compile("(?<=\\d)[\u00a0\u2009\u202f\\s]+(?=\\d)(?!\\d{3}(?!\\d))")
_HOURS = re.compile(
    r"(?P<sign>[+\-−]?)(?P<hours>\d{1,3})(?:h(?P<minutes>\d{1,2})?|:(?P<past>\d{1,2}))"
    r"(?:(?::|m|min)(?P<seconds>\d{1,2})?s?)?",
    re.IGNORECASE,
)


class FigureError(FuelkitError, ValueError):
    """A figure, a unit or an input is not what a sheet needs; the message says what would be."""


@dataclass(frozen=True)
class Unit:
    """A unit of a quantity. Frozen.

    symbol : str
    quantity : str
        "mass", "volume", "density", "time", "distance", "speed", "share", ...
    factor, offset : float
        SI value = factor · number + offset.
    places : int
        Decimals that a person would write.
    """

    symbol: str
    quantity: str
    factor: float
    offset: float = 0.0
    places: int = 0

    def number(self, value):
        """Return the number that stands for an SI value in this unit."""
        return (value - self.offset) / self.factor

    def value(self, number):
        """Return the SI value of a number in this unit."""
        return self.factor * number + self.offset

    def span(self, number):
        """Return a difference of so many units in SI."""
        return self.factor * number


UNITS = {
    unit.symbol: unit
    for unit in (
        Unit("kg", "mass", 1.0),
        Unit("t", "mass", TONNE, places=2),
        Unit("lb", "mass", POUND),
        Unit("l", "volume", LITRE),
        Unit("m³", "volume", 1.0, places=3),
        Unit("US gal", "volume", US_GALLON),
        Unit("imp gal", "volume", IMPERIAL_GALLON),
        Unit("kg/m³", "density", 1.0, places=1),
        Unit("kg/l", "density", 1.0 / LITRE, places=4),
        Unit("kg/h", "flow", 1.0 / HOUR),
        Unit("kg/min", "flow", 1.0 / MINUTE, places=1),
        Unit("lb/h", "flow", POUND / HOUR),
        Unit("min", "time", MINUTE, places=1),
        Unit("h:mm", "time", MINUTE),
        Unit("NM", "distance", NAUTICAL_MILE),
        Unit("km", "distance", 1000.0),
        Unit("kt", "speed", NAUTICAL_MILE / HOUR),
        Unit("ft", "height", FOOT),
        Unit("m", "height", 1.0, places=2),
        Unit("cm", "depth", 0.01, places=1),
        Unit("°C", "temperature", 1.0, 273.15, places=1),
        Unit("K", "difference", 1.0, places=1),
        Unit("°", "angle", math.pi / 180.0, places=2),
        Unit("%", "share", 0.01, places=1),
        Unit("kN·m", "moment", 1000.0, places=1),
        Unit("kPa", "pressure", 1000.0, places=1),
        Unit("lb/US gal", "density", POUND / US_GALLON, places=3),
    )
}
"""Every unit of a sheet by its symbol; the factors are exact (NIST SP 811, appendix B)."""

_WHOLE = 1e-6  # min; times that are given are whole ones, those that are worked seldom are

# How people write units; what is not here is not a unit.
_WRITTEN = {
    "kg": "kg", "kgs": "kg", "t": "t", "to": "t", "lb": "lb", "lbs": "lb", "l": "l", "lt": "l",
    "ltr": "l", "litre": "l", "litres": "l", "liters": "l", "m3": "m³", "m³": "m³",
    "usg": "US gal", "usgal": "US gal", "gal": "US gal", "usgallons": "US gal", "impgal": "imp gal",
    "kg/m3": "kg/m³", "kg/m³": "kg/m³", "kg/l": "kg/l", "kg/h": "kg/h", "kg/hr": "kg/h",
    "kg/min": "kg/min", "lb/h": "lb/h", "lb/hr": "lb/h", "min": "min", "minutes": "min",
    "nm": "NM", "km": "km", "kt": "kt", "kts": "kt", "ft": "ft", "m": "m", "cm": "cm", "°c": "°C",
    "c": "°C", "k": "K", "°": "°", "deg": "°", "%": "%", "knm": "kN·m", "kn·m": "kN·m",
    "kpa": "kPa", "lb/usgal": "lb/US gal", "lb/gal": "lb/US gal",
}  # fmt: skip


def unit_of(symbol):
    """Return the unit of a symbol, or raise FigureError with those that are known."""
    if symbol not in UNITS:
        raise FigureError(f"unit: it is '{symbol}'; it must be one of {', '.join(UNITS)}.")
    return UNITS[symbol]


def read_figure(text, symbol):
    """Return a figure as it was written, in SI, or None if it cannot be read as this quantity.

    Parameters
    ----------
    text : str
        "12 500", "12,500 kg", "12.5 t", "12,5 t", "3h25", "3:25", "205 min", "-42 °C".
    symbol : str
        The unit that is meant if none is written; another unit of the same quantity is converted.

    Notes
    -----
    A space sets thousands apart, and stands nowhere else between two digits; a comma before three
    digits sets thousands apart too, unless the unit is written with decimals. A point before three
    digits could mean either in a unit without decimals: that is asked again. So is a time of
    bare digits where hours and minutes are meant: 325 may be 3:25 or so many minutes.

    Examples
    --------
    >>> [read_figure(t, "kg") for t in ("12 500", "12,500", "12.5 t", "12,5 t", "27 558 lb")][:4]
    [12500.0, 12500.0, 12500.0, 12500.0]
    >>> [read_figure(t, "h:mm") for t in ("3h25", "3:25", "205 min", "3 h 25 min")]
    [12300.0, 12300.0, 12300.0, 12300.0]
    >>> [read_figure(t, "kg") for t in ("", "about 3", "1e9", "5 NM", "nan")]
    [None, None, None, None, None]
    """
    unit = unit_of(symbol)
    bare = _SPACES.sub("", text) if isinstance(text, str) else ""
    if not 0 < len(bare) <= 24 or _APART.search(text):
        return None
    if unit.quantity == "time" and (found := _HOURS.fullmatch(bare)):
        return _seconds(found)
    digits, written = _split(bare)
    if digits is None:
        return None
    if symbol == "h:mm" and not written:
        return None
    meant = unit if not written else UNITS.get(_WRITTEN.get(written.lower(), ""))
    if meant is None or meant.quantity != unit.quantity:
        return None
    number = _number(digits, decimals=meant.places > 0)
    return None if number is None else meant.value(number)


def _seconds(found):
    """A time of its hours, minutes and seconds; None if there are 60 or more of one."""
    minutes, seconds = int(found["minutes"] or found["past"] or 0), int(found["seconds"] or 0)
    if minutes >= 60 or seconds >= 60:
        return None
    total = 3600.0 * int(found["hours"]) + 60.0 * minutes + seconds
    return -total if found["sign"] in ("-", "−") else total


def _split(bare):
    found = _NUMBER.match(bare)
    return (None, None) if found is None else (found[0], bare[found.end() :])


def _number(digits, *, decimals):
    """A number of its digits: which commas and points set thousands apart, and which decimals."""
    digits = digits.replace("−", "-")
    if "'" in digits and not re.fullmatch(r"[+-]?\d{1,3}('\d{3})+([.,]\d+)?", digits):
        return None
    digits = digits.replace("'", "")
    if not decimals and re.fullmatch(r"[+-]?[1-9]\d{0,2}\.\d{3}", digits):
        return None
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?", digits) and not (
        decimals and digits.count(",") == 1 and "." not in digits
    ):
        digits = digits.replace(",", "")
    elif digits.count(",") == 1 and "." not in digits:
        digits = digits.replace(",", ".")
    elif "," in digits:
        return None
    return float(digits)


def written(value, symbol):
    """Return an SI value as a person would write it, with its unit.

    Examples
    --------
    >>> written(12500.0, "kg"), written(12300.0, "h:mm"), written(231.15, "°C")
    ('12 500 kg', '3:25', '-42.0 °C')
    >>> written(1800.0, "min"), written(578.4, "min")
    ('30 min', '9.6 min')
    """
    unit = unit_of(symbol)
    if not math.isfinite(value):
        return "none"
    number = unit.number(value)
    if symbol == "h:mm":
        minutes = round(number)
        sign = "-" if minutes < 0 else ""
        return f"{sign}{abs(minutes) // 60}:{abs(minutes) % 60:02d}"
    whole = symbol == "min" and abs(number - round(number)) < _WHOLE
    return f"{grouped(number, 0 if whole else unit.places)} {symbol}"


def expected_words(symbol):
    """Return what would have been readable, for whoever wrote something that was not.

    Examples
    --------
    >>> expected_words("kg")
    'a figure in kg, such as 12 500 kg'
    """
    examples = {
        "mass": 12500.0, "volume": 3.25, "density": 800.0, "flow": 0.65, "time": 12300.0,
        "distance": 926000.0, "speed": 231.5, "height": 10668.0, "depth": 0.235,
        "temperature": 231.15, "difference": 4.0, "angle": 0.0131, "share": 0.05,
        "moment": 69700.0, "pressure": 23500.0,
    }  # fmt: skip
    value = examples[unit_of(symbol).quantity]
    if symbol == "h:mm":
        return "a time in hours and minutes, such as 3:25"
    return f"a figure in {symbol}, such as {written(value, symbol)}"
