"""An aircraft at one attitude: how high its openings lie, and how much fuel reaches them.

Also the law by which the fuel of one flight changes its density with temperature.
"""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.fuel import BASE_TEMPERATURE, smooth_expansion
from fuelkit.physics.moments import moment_table
from fuelkit.physics.solid import level_table

_CLEARANCE = 1e-3  # m; no opening lies nearer than this to the lowest point of its tank
_TRACE = 1e-6  # of a tank's volume; with less it is dry wherever its openings are


class Fuel:
    """The fuel of one flight: its density at any temperature, by the smooth law of Table 54B."""

    def __init__(self, density_15):
        self.density_15 = density_15
        self._expansion = smooth_expansion(density_15)

    def density(self, temperature):
        """Return the density [kg/m³] at a temperature [K]; arrays give arrays."""
        swelling = self._expansion * (temperature - BASE_TEMPERATURE)
        exp = np.exp if isinstance(swelling, np.ndarray) else math.exp
        return self.density_15 * exp(-swelling * (1.0 + 0.8 * swelling))

    def density_slope(self, temperature):
        """Return by how much the density changes with the temperature [kg/m³/K]."""
        swelling = self._expansion * (temperature - BASE_TEMPERATURE)
        return -self.density(temperature) * self._expansion * (1.0 + 1.6 * swelling)


@lru_cache(maxsize=512)
def tilted_levels(tank, pitch, roll):
    """Return the table of volume over level of a tank at an attitude [rad]."""
    if pitch == roll == 0.0:
        return tank.levels
    return level_table(tank.solid, up_direction(pitch, roll))


@lru_cache(maxsize=512)
def tilted_moments(tank, pitch, roll):
    """Return the table of centroids of a tank at an attitude [rad]."""
    return moment_table(tank.solid, up_direction(pitch, roll))


@dataclass(frozen=True)
class Point:
    """A sensor or opening in a tank: it is WET or DRY. Frozen.

    what : str
        How a reason speaks of it.
    """

    name: str
    tank: str
    position: tuple
    what: str


@dataclass(frozen=True)
class Stance:
    """An aircraft at one attitude. Frozen.

    pitch, roll : float
        [rad]
    points : tuple of Point
        What is watched for being wet or dry.
    """

    aircraft: object
    points: tuple
    pitch: float
    roll: float

    @property
    def key(self):
        """What tells this attitude from others."""
        return self.pitch, self.roll

    @cached_property
    def up(self):
        """Direction of up in the aircraft's axes."""
        return up_direction(self.pitch, self.roll)

    @cached_property
    def tables(self):
        """Level table of each tank, in the order of the tanks."""
        return tuple(tilted_levels(tank, self.pitch, self.roll) for tank in self.aircraft.tanks)

    @cached_property
    def moments(self):
        """Moment table of each tank, in the order of the tanks."""
        return tuple(tilted_moments(tank, self.pitch, self.roll) for tank in self.aircraft.tanks)

    @cached_property
    def _table(self):
        return {t.name: table for t, table in zip(self.aircraft.tanks, self.tables, strict=True)}

    def opening_height(self, tank, position):
        """Return how high an opening of a tank lies, above the last trace of its fuel [m]."""
        key = tank, position
        if key not in self._openings:
            lowest = float(self._table[tank].heights[0]) + _CLEARANCE
            self._openings[key] = max(height(position, self.up), lowest)
        return self._openings[key]

    @cached_property
    def _openings(self):
        return {}  # heights asked for before

    def height(self, position):
        """Return how high a point lies [m]."""
        return height(position, self.up)

    @cached_property
    def thresholds(self):
        """For each point, the volumes [m³] at which it falls dry and is wet again."""
        rewet = self.aircraft.attitudes.rewet_height
        found = {}
        for point in self.points:
            table, at = self._table[point.tank], self.height(point.position)
            trace = _TRACE * table.capacity
            dry = max(table.volume_below(at), trace)
            wet = max(table.volume_below(at + rewet), dry + trace)
            found[point.name] = (dry, wet)
        return found

    def in_words(self):
        """Return the attitude as it is said: "2.5° nose up"."""
        pitch, roll = math.degrees(self.pitch), math.degrees(self.roll)
        words = []
        if round(pitch, 1):
            words.append(f"{abs(pitch):.1f}° nose {'up' if pitch > 0 else 'down'}")
        if round(roll, 1):
            words.append(f"{abs(roll):.1f}° {'right' if roll > 0 else 'left'} wing down")
        return " and ".join(words) or "level"
