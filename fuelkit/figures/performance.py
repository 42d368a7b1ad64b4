"""Look up what an aircraft burns and how fast it flies: interpolated, and refused outside.

Time, distance and fuel of a table are straight lines between its entries. Nothing is continued
beyond a table in silence: what is asked outside raises an error that says how far it reaches.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass

from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.atmosphere import air
from fuelkit.physics.units import FOOT
from fuelkit.physics.writing import grouped


def without_performance(aircraft):
    """Return a sentence if no fuel can be planned for an aircraft, or nothing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> without_performance(load_aircraft("halbrook-180"))
    ''
    """
    if aircraft.performance is not None and aircraft.mass_limits is not None:
        return ""
    return (
        f"{aircraft.name}: it has no performance tables, so no fuel can be planned. Add the "
        "sections [mass_limits] and [performance] to the aircraft's file."
    )


def performance_of(aircraft):
    """Return the performance tables of an aircraft, or raise a sentence if it has none."""
    lacks = without_performance(aircraft)
    if lacks:
        raise FigureError(lacks)
    return aircraft.performance


@dataclass(frozen=True)
class Line:
    """A figure over one axis, straight between its points. Frozen.

    name : str
        What is looked up along the axis, for errors, such as "mass".
    """

    name: str
    unit: str
    axis: tuple
    values: tuple

    def at(self, x):
        """Return the figure at a place inside the table, or raise FigureError."""
        inside(self.name, x, self.axis, self.unit)
        return self.beyond(x)

    def beyond(self, x):
        """Return the figure anywhere, the first and last piece going on: for a search only."""
        axis, values = self.axis, self.values
        i = min(max(bisect_right(axis, x), 1), len(axis) - 1)
        share = (x - axis[i - 1]) / (axis[i] - axis[i - 1])
        return values[i - 1] + share * (values[i] - values[i - 1])


def inside(name, x, axis, unit):
    """Raise FigureError unless a number lies on an axis, its ends included."""
    if not axis[0] <= x <= axis[-1]:  # also true for nan
        raise FigureError(
            f"{name}: it is {_words(x, unit)}; the performance tables reach from "
            f"{_words(axis[0], unit)} to {_words(axis[-1], unit)}."
        )


def _words(x, unit):
    if unit == "ft" and math.isfinite(x):
        return f"{grouped(x / FOOT)} ft"
    return written(x, unit)


def _between(axis, x):
    """The piece of an axis that x lies in, and how far along it."""
    i = min(max(bisect_right(axis, x), 1), len(axis) - 1)
    return i, (x - axis[i - 1]) / (axis[i] - axis[i - 1])


def _blend(one, other, share):
    """Two figures, or two rows of figures, mixed."""
    if isinstance(one, tuple):
        return tuple(a + share * (b - a) for a, b in zip(one, other, strict=True))
    return one + share * (other - one)


def _by_level(tables, rows, level):
    i, share = _between(tables.levels, level)
    return _blend(rows[i - 1], rows[i], share)


@dataclass(frozen=True)
class AtLevel:
    """Everything about one level on one day, by mass where mass counts. Frozen.

    level, deviation : float
        Pressure altitude [m]; air warmer than standard [K].
    speed, mach : float
        True airspeed in cruise. [m/s], [-]
    cruise, climb_time, climb_distance, climb_fuel : Line
        By mass: fuel flow [kg/s]; from the start of take-off [s], [m in the air], [kg].
    descent_time, descent_distance, descent_fuel : float
        From the level to the approach. [s], [m in the air], [kg]
    """

    level: float
    deviation: float
    speed: float
    mach: float
    cruise: Line
    climb_time: Line
    climb_distance: Line
    climb_fuel: Line
    descent_time: float
    descent_distance: float
    descent_fuel: float


def at_level(tables, level, deviation=0.0):
    """Return the figures of a level on a day.

    Parameters
    ----------
    tables : Performance
    level : float
        Pressure altitude of cruise. [m]
    deviation : float
        How much warmer the air is than standard. [K]

    Raises
    ------
    FigureError
        If level or deviation lies outside the tables.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> tables = load_aircraft("halbrook-180").performance
    >>> round(at_level(tables, 37000 * 0.3048).cruise.at(64000.0) * 3600)
    2670
    """
    inside("level", level, tables.levels, "ft")
    inside("deviation", deviation, tables.deviations, "K")
    i, share = _between(tables.deviations, deviation)
    cold = _by_level(tables, tables.cruise[i - 1], level)
    warm = _by_level(tables, tables.cruise[i], level)
    longer = 1.0 + tables.climb_warm * max(0.0, deviation)
    mach = _by_level(tables, tables.mach, level)

    def climb(rows):
        row = _by_level(tables, rows, level)
        return Line("mass", "kg", tables.masses, tuple(longer * v for v in row))

    return AtLevel(
        level=level,
        deviation=deviation,
        speed=mach * air(level, deviation=deviation).speed_of_sound,
        mach=mach,
        cruise=Line("mass", "kg", tables.masses, _blend(cold, warm, share)),
        climb_time=climb(tables.climb_time),
        climb_distance=climb(tables.climb_distance),
        climb_fuel=climb(tables.climb_fuel),
        descent_time=_by_level(tables, tables.descent_time, level),
        descent_distance=_by_level(tables, tables.descent_distance, level),
        descent_fuel=_by_level(tables, tables.descent_fuel, level),
    )


def holding(tables):
    """Return the fuel flow at holding speed at 1 500 ft in standard air, by mass [kg/s]."""
    return Line("mass", "kg", tables.masses, tables.holding)


def ceiling(tables):
    """Return the highest level of cruise, by mass [m]."""
    return Line("mass", "kg", tables.masses, tables.ceilings)
