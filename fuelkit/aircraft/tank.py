"""A tank between ribs and spars: its exact solid, and how much it takes. Frozen records."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.physics.solid import bay, level_table


@dataclass(frozen=True)
class Rib:
    """Cross-section of a tank at one span position: each spar as (x, bottom z, top z) [m]."""

    y: float
    front: tuple
    rear: tuple

    @property
    def corners(self):
        """Front bottom, rear bottom, rear top, front top, each (x, y, z) [m]."""
        (fx, fb, ft), (rx, rb, rt) = self.front, self.rear
        return ((fx, self.y, fb), (rx, self.y, rb), (rx, self.y, rt), (fx, self.y, ft))


@dataclass(frozen=True)
class Tank:
    """A tank between ribs and spars. Frozen.

    name, title : str
        Name in rules and questions, and on drawings.
    ribs : tuple of Rib
    holds_fuel : bool
        False for a vent surge tank, which is empty unless something ran over.
    expansion_space, refuel_limit : float
        Share of the volume kept free for expansion, and share up to which it is refuelled. [-]
    probes : tuple of (float, float)
        Where the probes of its gauge stand, (x, y); none for a tank without a gauge. [m]
    """

    name: str
    title: str
    ribs: tuple
    holds_fuel: bool
    expansion_space: float
    refuel_limit: float
    probes: tuple = ()

    @cached_property
    def solid(self):
        """Tetrahedra that fill the tank, shape (n, 4, 3) [m]."""
        pairs = zip(self.ribs, self.ribs[1:], strict=False)
        return np.concatenate([bay(a.corners, b.corners) for a, b in pairs])

    @cached_property
    def levels(self):
        """Exact table of volume over level, the aircraft level."""
        return level_table(self.solid)

    @property
    def highest_volume(self):
        """Volume at which the tank runs over: all but its expansion space [m³]."""
        return self.levels.capacity * (1.0 - self.expansion_space)

    @property
    def refuelled_volume(self):
        """Volume up to which it is refuelled [m³]."""
        return self.levels.capacity * self.refuel_limit
