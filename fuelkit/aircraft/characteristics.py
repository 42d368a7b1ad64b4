"""What an aircraft as a whole is like: attitudes, warming of its fuel, vents, masses."""

import math
from dataclasses import dataclass

from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.units import HOUR, KILOPASCAL


@dataclass(frozen=True)
class Attitudes:
    """What the aircraft may be tilted to, and the play of its floats. Frozen.

    rewet_height : float
        How far above a sensor that fell dry the surface stands when it is wet again. [m]
    pitch, roll : tuple of float
        Lowest and highest in normal flight: nose up and right wing down are positive. [rad]
    """

    rewet_height: float
    pitch: tuple
    roll: tuple


@dataclass(frozen=True)
class Warming:
    """How fast fuel takes the temperature around it. Frozen.

    empty, full : float
        Time constant of an almost empty and of a full tank. [s]
    structure : float
        Mass of fuel that a tank's structure is worth, in heat. [kg]
    """

    empty: float
    full: float
    structure: float


@dataclass(frozen=True)
class Venting:
    """What a tank whose vent is blocked stands before something opens, against outside. [Pa]

    highest, lowest : float
        Where its burst disc opens outward, and where air is let in (negative).
    """

    highest: float
    lowest: float


@dataclass(frozen=True)
class Masses:
    """The aircraft without its fuel, and where masses are measured from. Frozen.

    zero_fuel : float
        Usual zero-fuel mass. [kg]
    zero_fuel_x : float
        Where its centre of gravity lies. [m]
    chord_start, chord : float
        Leading edge and length of the mean aerodynamic chord. [m]
    """

    zero_fuel: float
    zero_fuel_x: float
    chord_start: float
    chord: float

    def percent(self, x):
        """Return a position along the aircraft [m] in percent of the mean aerodynamic chord."""
        return 100.0 * (x - self.chord_start) / self.chord


def attitudes(section):
    """Return the attitudes of normal flight; level flight and a little around it by default."""
    table = section.table("attitude")
    found = Attitudes(
        rewet_height=table.number("rewet_height_m", 0.010, above=0, high=0.2),
        pitch=_range(table, "pitch_deg", (-4.0, 8.0)),
        roll=_range(table, "roll_deg", (-3.0, 3.0)),
    )
    table.finish()
    return found


def _range(table, field, default):
    low, high = table.numbers(field, 2, default)
    if not -30.0 <= low <= 0.0 <= high <= 30.0:
        table.fault(
            field, [low, high], "it must reach from a negative to a positive angle, 30 at most"
        )
        low, high = default
    return math.radians(low), math.radians(high)


def warming(section):
    """Return how fast fuel takes the temperature around it; usual values where none are given."""
    table = section.table("warming", {})
    found = Warming(
        empty=table.number("empty_h", 0.6, low=0.05, high=100) * HOUR,
        full=table.number("full_h", 3.5, low=0.05, high=100) * HOUR,
        structure=table.number("structure_kg", 20.0, low=1, high=1e5),
    )
    if found.full < found.empty:
        table.fault("full_h", found.full / HOUR, "a full tank takes longer than an empty one")
    table.finish()
    return found


def venting(section):
    """Return what a tank with a blocked vent stands; usual values where none are given."""
    table = section.table("venting", {})
    found = Venting(
        highest=table.number("burst_disc_kpa", 25.0, above=0, high=200) * KILOPASCAL,
        lowest=-table.number("air_inlet_kpa", 10.0, above=0, high=100) * KILOPASCAL,
    )
    table.finish()
    return found


def masses(section):
    """Return the aircraft without its fuel, or None where the file does not say."""
    if "masses" not in section:
        return None
    table = section.table("masses")
    found = Masses(
        zero_fuel=table.number("zero_fuel_kg", above=0),
        zero_fuel_x=table.number("zero_fuel_x_m"),
        chord_start=table.number("chord_start_x_m"),
        chord=table.number("chord_m", above=0),
    )
    table.finish()
    return found


def celsius(table, field, default, *, low=-60.0, high=150.0):
    """Return a temperature [K] that a file gives in degrees Celsius."""
    return table.number(field, default, low=low, high=high) + ZERO_CELSIUS
