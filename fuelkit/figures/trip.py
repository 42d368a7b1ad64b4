"""Fuel by step-mass integration: the aircraft burns less as it gets lighter.

Everything is worked back from the end, where the mass is known: from landing up the descent, back
along the cruise, and to the take-off mass from which the climb ends there.
"""

from dataclasses import dataclass

from fuelkit.figures.performance import AtLevel, ceiling
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.units import FOOT
from fuelkit.physics.writing import grouped

STEPS = 20
"""Steps of an integration. A fixed count, so that no answer jumps where a step would be added. By
the midpoint rule it is right to 0.01 % of the burn for any flight of the kit, half a day included:
the tests hold it against closed forms and a fine integration."""

_CLOSE, _PASSES = 1e-9, 60  # kg; of the take-off mass


def euler(flow, mass, time):
    """Return the mass after a time, burning all the while as at its start."""
    return mass - time * flow(mass)


def midpoint(flow, mass, time):
    """Return the mass after a time, burning as at the mass half-way through."""
    return mass - time * flow(mass - 0.5 * time * flow(mass))


def mass_after(flow, mass, time, *, steps=STEPS, rule=midpoint):
    """Return the mass after burning for a time.

    Parameters
    ----------
    flow : callable
        Fuel flow at a mass. [kg/s]
    mass : float
        Mass at the start. [kg]
    time : float
        Negative: the mass so long before. [s]
    steps : int
    rule : callable
        `midpoint` (of order 2) or `euler` (of order 1).

    Examples
    --------
    >>> round(mass_after(lambda mass: 1e-5 * mass, 70000.0, 3600.0), 2)  # 70000 · exp(-0.036)
    67524.82
    """
    step = time / steps
    for _ in range(steps):
        mass = rule(flow, mass, step)
    return mass


@dataclass(frozen=True)
class Route:
    """A way to fly. Frozen.

    distance : float
        Over the ground, from take-off to landing. [m]
    level : float
        Pressure altitude of cruise. [m]
    headwind : float
        Along the whole route, climb and descent too; negative is a tailwind. [m/s]
    deviation : float
        How much warmer the air is than the standard atmosphere. [K]
    """

    distance: float
    level: float
    headwind: float = 0.0
    deviation: float = 0.0


@dataclass(frozen=True)
class Part:
    """A stretch of a trip: how long [s], how far over the ground [m], what it burns [kg]."""

    name: str
    time: float
    distance: float
    fuel: float


@dataclass(frozen=True)
class Trip:
    """A trip as it was worked out. Frozen.

    take_off, landing : float
        Masses. [kg]
    parts : tuple of Part
        Climb, cruise, descent, approach.
    cruise_end : float
        Mass at the end of the cruise. [kg]
    ceiling : float
        Highest level at the mass at the top of climb. [m]
    """

    take_off: float
    landing: float
    parts: tuple
    cruise_end: float
    ceiling: float

    @property
    def fuel(self):
        """All that is burned from the start of take-off to the end of the landing run [kg]."""
        return self.take_off - self.landing

    @property
    def time(self):
        """From the start of take-off to the end of the landing run [s]."""
        return sum(part.time for part in self.parts)

    def part(self, name):
        """Return the part of that name."""
        return next(part for part in self.parts if part.name == name)


@dataclass(frozen=True)
class Way:
    """A route with what the tables say of it, ready to be flown from any landing mass. Frozen."""

    name: str
    route: Route
    tables: object
    at: AtLevel

    @property
    def ground_speed(self):
        """In cruise [m/s]."""
        return self.at.speed - self.route.headwind

    def take_off_mass(self, landing, guess):
        """Return the take-off mass that leads to a landing mass [kg]. Beyond the tables too."""
        mass = guess
        for _ in range(_PASSES):
            again = self.once(landing, mass)
            if abs(again - mass) < _CLOSE * mass or again > 3.0 * self.tables.masses[-1]:
                return again
            mass = again
        return mass

    def once(self, landing, take_off):
        """Return a better take-off mass for a landing mass from a first one [kg]."""
        top = mass_after(
            self.at.cruise.beyond, self.cruise_end(landing), -self.cruise_time(take_off)
        )
        return top + self.at.climb_fuel.beyond(take_off)

    def cruise_end(self, landing):
        """Return the mass at the end of the cruise for a landing mass [kg]."""
        return landing + self.tables.approach_fuel + self.at.descent_fuel

    def cruise_time(self, take_off):
        """Return how long the cruise lasts [s]; negative if the route is too short for it."""
        return self.cruise_distance(take_off) / self.ground_speed

    def cruise_distance(self, take_off):
        """Return what climb, descent and approach leave of the route [m]."""
        return self.route.distance - sum(p[1] for p in self._other_parts(take_off))

    def _other_parts(self, take_off):
        wind, at = self.route.headwind, self.at
        climb_time = at.climb_time.beyond(take_off)
        return (
            (climb_time, at.climb_distance.beyond(take_off) - wind * climb_time),
            (at.descent_time, at.descent_distance - wind * at.descent_time),
            (self.tables.approach_time, self.tables.approach_distance),
        )

    def trip(self, landing, take_off):
        """Return the trip between two masses that belong together, or raise FigureError."""
        (climb, descent, approach), at = self._other_parts(take_off), self.at
        distance = self.cruise_distance(take_off)
        self._check_length(distance)
        climb_fuel, end = at.climb_fuel.beyond(take_off), self.cruise_end(landing)
        top = take_off - climb_fuel
        parts = (
            Part("climb", *climb, climb_fuel),
            Part("cruise", distance / self.ground_speed, distance, top - end),
            Part("descent", *descent, at.descent_fuel),
            Part("approach", *approach, self.tables.approach_fuel),
        )
        return Trip(take_off, landing, parts, end, ceiling(self.tables).beyond(top))

    def _check_length(self, cruise):
        if cruise < 0.0:
            raise FigureError(
                f"{self.name}: distance is {written(self.route.distance, 'NM')}; climb to "
                f"{grouped(self.route.level / FOOT)} ft, descent and approach alone take "
                f"{written(self.route.distance - cruise, 'NM')}. Give a lower level."
            )

    def check_ceiling(self, trip):
        """Raise FigureError if the aircraft is too heavy for its level at the top of climb."""
        if trip.ceiling < self.route.level:
            raise FigureError(
                f"{self.name}: level is {grouped(self.route.level / FOOT)} ft; at "
                f"{written(trip.take_off - trip.part('climb').fuel, 'kg')} the aircraft reaches "
                f"{grouped(trip.ceiling / FOOT - 50.0, 0)} ft at most. Give a lower level."
            )
