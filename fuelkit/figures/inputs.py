"""Inputs of a figure sheet, looked at before anything is worked: numbers, choices, cautions."""

import math

from fuelkit.aircraft.reading import nearest
from fuelkit.figures.quantities import FigureError, unit_of, written

TRAINING_AID = (
    "A training aid, not for operational use: the approved manuals and the operator's procedures "
    "prevail."
)
"""Stands on every sheet."""

COMMON_PRACTICE = "common practice, no source"
"""What stands as the source of a fact of the trade."""


def number(field, value, symbol, *, low=None, above=None, high=None, hint=""):
    """Return an input as a float, or raise FigureError with what would be right.

    Parameters
    ----------
    field : str
        What the input is called.
    value : float
        SI.
    symbol : str
        Unit that the message is written in.
    low, above, high : float, optional
        Bounds: at least, more than, at most. SI.
    hint : str
        A further sentence, such as which unit was probably meant.

    Examples
    --------
    >>> number("uplift", 4200.0, "kg", above=0.0)
    4200.0
    """
    tail = f" {hint}" if hint else ""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise FigureError(
            f"{field}: it is {value!r}; it must be a number, in SI units ({_si(symbol)}).{tail}"
        )
    rules = (
        (low is not None and value < low, "at least", low),
        (above is not None and value <= above, "more than", above),
        (high is not None and value > high, "at most", high),
    )
    for broken, rule, bound in rules:
        if broken:
            right = f"{rule} {written(bound, symbol)}"
            raise FigureError(f"{field}: it is {written(value, symbol)}; it must be {right}.{tail}")
    return float(value)


def fuel_density(field, value):
    """Return a density of jet fuel at any temperature, or raise FigureError. [kg/m³]

    Examples
    --------
    >>> fuel_density("density", 812.5)
    812.5
    """
    hint = "Give it in kg/m³: 0.8 kg/l is 800 kg/m³."
    return number(field, value, "kg/m³", low=650.0, high=1000.0, hint=hint)


def fuel_temperature(field, value):
    """Return a temperature of fuel, or raise FigureError. [K]

    Examples
    --------
    >>> fuel_temperature("fuel temperature", 288.15)
    288.15
    """
    hint = "Give it in kelvin: 15 °C is 288.15 K."
    return number(field, value, "°C", low=213.15, high=423.15, hint=hint)


def choice(field, value, options):
    """Return one of several words, or raise FigureError with all of them.

    Examples
    --------
    >>> choice("unit", "kg", ("kg", "lb"))
    'kg'
    """
    if value not in options:
        known = ", ".join(f"'{option}'" for option in options)
        raise FigureError(
            f"{field}: it is {value!r}; it must be one of {known}.{nearest(value, options)}"
        )
    return value


def _si(symbol):
    names = {
        "mass": "kg", "volume": "m³", "density": "kg/m³", "flow": "kg/s", "time": "s",
        "distance": "m", "speed": "m/s", "height": "m", "depth": "m", "temperature": "K",
        "difference": "K", "angle": "rad", "share": "a share, 0.05 for 5 %", "moment": "N·m",
    }  # fmt: skip
    return names.get(unit_of(symbol).quantity, "SI")
