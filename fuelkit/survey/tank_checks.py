"""Each tank held against what airworthiness rules ask: unusable fuel, expansion space, sump.

Unusable fuel is taken as what lies below the lowest opening of the tank in the most adverse
attitude of normal flight; the sump as what lies below it with the aircraft level on the ground.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.solid import least_expansion_space, least_sump, unusable_volume
from fuelkit.survey.supply import openings_of


@dataclass(frozen=True)
class TankCheck:
    """Computed volumes of one tank, and the least that the rules ask. Frozen. [m³]

    expansion, least_expansion : float
        Space above the highest fill; 14 CFR 25.969.
    opening : str
        What draws lowest in level flight; "" if nothing draws from the tank.
    unusable_level, unusable : float
        What cannot be drawn in level flight, and in the most adverse attitude; 14 CFR 25.959.
    attitude : tuple of float
        That attitude: pitch and roll. [rad]
    sump, least_sump : float
        What lies below the lowest opening on the ground; 14 CFR 25.971.
    """

    tank: object
    capacity: float
    expansion: float
    least_expansion: float
    opening: str
    unusable_level: float
    unusable: float
    attitude: tuple
    sump: float
    least_sump: float

    @property
    def expansion_is_met(self):
        """Whether the expansion space is large enough."""
        return self.expansion >= self.least_expansion * (1.0 - 1e-9)

    @property
    def sump_is_met(self):
        """Whether the sump is large enough."""
        return self.sump >= self.least_sump * (1.0 - 1e-9)


@lru_cache(maxsize=16)
def tank_checks(aircraft):
    """Return the check of every tank that holds fuel.

    Parameters
    ----------
    aircraft : Aircraft

    Returns
    -------
    tuple of TankCheck

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> centre = tank_checks(load_aircraft("halbrook-180"))[2]
    >>> centre.tank.name, centre.expansion_is_met, 0.0 < centre.unusable_level < centre.unusable
    ('centre', True, True)
    """
    return tuple(_check(aircraft, tank) for tank in aircraft.tanks if tank.holds_fuel)


def _check(aircraft, tank):
    capacity = tank.levels.capacity
    openings = dict(openings_of(aircraft, tank.name))
    left = {a: _left_behind(tank, openings, a) for a in _attitudes(aircraft)}
    worst = max(left, key=left.get)
    level = left[(0.0, 0.0)]
    lowest = min(openings, key=lambda name: openings[name][2], default="")
    return TankCheck(
        tank=tank,
        capacity=capacity,
        expansion=capacity - tank.highest_volume,
        least_expansion=least_expansion_space(capacity),
        opening=lowest,
        unusable_level=level,
        unusable=left[worst],
        attitude=worst,
        sump=level if openings else 0.0,
        least_sump=least_sump(capacity),
    )


def _attitudes(aircraft):
    """Level flight and the corners of normal flight, (pitch, roll). [rad]"""
    limits = aircraft.attitudes
    return tuple(dict.fromkeys(product((0.0, *limits.pitch), (0.0, *limits.roll))))


def _left_behind(tank, openings, attitude):
    """What no opening reaches at an attitude [m³]: all of it where there is no opening."""
    up = up_direction(*attitude)
    return min(
        (unusable_volume(tank.solid, at, [up]) for at in openings.values()),
        default=tank.levels.capacity,
    )


def attitude_words(attitude):
    """Return an attitude (pitch, roll) [rad] in words.

    Examples
    --------
    >>> attitude_words((0.0, 0.0)), attitude_words((math.radians(8), math.radians(-3)))
    ('level', '8° nose up, 3° left wing down')
    """
    pitch, roll = (math.degrees(angle) for angle in attitude)
    words = []
    if pitch:
        words.append(f"{abs(pitch):.3g}° nose {'up' if pitch > 0 else 'down'}")
    if roll:
        words.append(f"{abs(roll):.3g}° {'right' if roll > 0 else 'left'} wing down")
    return ", ".join(words) or "level"
