"""Where stations stand on the drawing of the underside, and where a word finds room. In pixels."""

from itertools import combinations, pairwise
from math import cos, hypot, pi, sin

import numpy as np

_TOUCH, _TURN, _BEHIND = 120.0, 400.0, 90.0  # px by which a way is worse; see WayCost
_OVER = 4.0  # times by which a way over the wing is worse
_NEAR = 40.0  # px from disc to disc, at least
_SHARES = tuple((i + 0.5) / 16 for i in range(16))


class WayCost:
    """How little one likes a way: long, over the wing, turning back on itself, behind the wing."""

    def __init__(self, wing):
        self.middle, self.span, self.front, self.rear = wing
        self._known = {}

    def __call__(self, spots):
        """Return the cost of a way from spot to spot. [px]"""
        legs = sum(self._leg(a, b) for a, b in pairwise(spots))
        near = sum(_TOUCH for a, b in combinations(spots, 2) if away(a, b) < _NEAR)
        triples = zip(spots, spots[1:], spots[2:], strict=False)
        turns = sum(_TURN for a, b, c in triples if _turns_back(a, b, c))
        return legs + near + turns + sum(_BEHIND for x, y in spots if self._depth(x, y) > 0.5)

    def _leg(self, a, b):
        if (a, b) not in self._known:
            points = [(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])) for t in _SHARES]
            over = sum(0.0 < self._depth(x, y) < 1.0 for x, y in points) / len(_SHARES)
            self._known[a, b] = away(a, b) * (1.0 + _OVER * over)
        return self._known[a, b]

    def _depth(self, x, y):
        """How far behind the leading edge, in chords; -1 beyond the tip. [-]"""
        out = abs(x - self.middle)
        if out > self.span[-1]:
            return -1.0
        front, rear = (np.interp(out, self.span, edge) for edge in (self.front, self.rear))
        return float((y - front) / (rear - front))


def _turns_back(a, b, c):
    """Whether the way from b to c runs back along that from a to b."""
    dot = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return dot < -0.92 * away(a, b) * away(b, c)


def box(x, y, width, height):
    """Return the box about a middle: left, top, right, foot. [px]"""
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def away(a, b):
    """Return how far two places are from each other. [px]"""
    return hypot(a[0] - b[0], a[1] - b[1])


def free_spot(at, width, height, taken, *, first, step):
    """The nearest spot around a place where a box of that size lies on nothing. [px]"""
    for ring in range(60):
        radius = first + step * ring
        for turn in range(24 if radius else 1):
            angle = 2.0 * pi * turn / 24 - pi / 2
            spot = (at[0] + radius * cos(angle), at[1] + radius * sin(angle))
            x0, y0, x1, y1 = box(*spot, width, height)
            if x0 > 6.0 and y0 > 62.0 and all(
                x1 <= a or c <= x0 or y1 <= b or d <= y0 for a, b, c, d in taken
            ):  # fmt: skip
                return spot
    return at
