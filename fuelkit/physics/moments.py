"""Exact centroid of the fuel below a level. Knows a solid and an up direction, no aircraft."""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.physics.solid import LevelTable, level_table


@dataclass(frozen=True)
class MomentTable:
    """First moments of a solid below each level, exact. Frozen.

    levels : LevelTable
        Volume over level for the same solid and the same up.
    origin : ndarray, shape (3,)
        Least x, y and z of the solid: moments are taken about it, so that none is negative. [m]
    ordinates : ndarray, shape (n - 1, 5, 4)
        Between two heights of `levels`, the Bernstein coefficients of degree 4 of the moment in
        x, y, z [m⁴] and of the volume [m³] below the level.
    """

    levels: LevelTable
    origin: np.ndarray
    ordinates: np.ndarray

    def centroid_below(self, level):
        """Return the centroid (x, y, z) [m] of what lies below a level [m] along up.

        At and below the lowest point it is the limit of a vanishing trace of fuel: the lowest
        corner, or the middle of a lowest edge or a flat floor. Above the highest point it is
        that of the whole solid.
        """
        heights, origin, rows, empty = self._rows
        if level <= heights[0]:
            return empty
        piece = min(bisect_right(heights, level), len(heights) - 1) - 1
        low, high = heights[piece], heights[piece + 1]
        s = min((level - low) / (high - low), 1.0)
        r = 1.0 - s
        b0, b1, b2, b3, b4 = r**4, 4.0 * r**3 * s, 6.0 * (r * s) ** 2, 4.0 * r * s**3, s**4
        x, y, z, held = (
            b0 * c0 + b1 * c1 + b2 * c2 + b3 * c3 + b4 * c4 for c0, c1, c2, c3, c4 in rows[piece]
        )
        if not held > 0.0:
            return empty
        return origin[0] + x / held, origin[1] + y / held, origin[2] + z / held

    def centroid_of(self, volume):
        """Return the centroid (x, y, z) [m] of a volume [m³] of fuel; it is clipped to the solid.

        Examples
        --------
        See `moment_table`.
        """
        return self.centroid_below(self.levels.level_of(volume))

    @cached_property
    def _rows(self):
        """The table as plain numbers, and the centroid of a vanishing trace of fuel."""
        first = self.ordinates[0]
        lowest = first[np.argmax(first[:, 3] > 0.0)]
        empty = tuple((self.origin + lowest[:3] / lowest[3]).tolist())
        rows = self.ordinates.transpose(0, 2, 1).tolist()
        return self.levels.heights.tolist(), self.origin.tolist(), rows, empty


def moment_table(tetrahedra, up=(0.0, 0.0, 1.0)):
    """Return the exact table of first moments over level for a solid and an up direction.

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The solid. [m]
    up : array_like, shape (3,)
        Direction of up in the solid's axes. Normalised here. [-]

    Returns
    -------
    MomentTable
        It holds the table of volumes as well, as `levels`.

    Raises
    ------
    ValueError
        If the solid has no volume, or up has no direction.

    Notes
    -----
    The amount of one corner's barycentric share in the cut of a tetrahedron is a quarter of the
    tetrahedron times the cubic B-spline whose knots are the four corner heights, that corner's
    twice. So the moment of the cut is a piecewise cubic of the level and the moment below it a
    piecewise quartic. Both are kept as Bernstein coefficients, which are sums of positive terms:
    the centroid of a trace of fuel is as exact as that of a full tank.

    References
    ----------
    B. C. Carlson, "B-splines, hypergeometric functions, and Dirichlet averages", Journal of
    Approximation Theory 67, 1991; C. de Boor's recurrence for B-splines (both from memory; held
    against convex hulls and against scipy's B-splines in the tests).

    Examples
    --------
    Half of a box, level and nose up:

    >>> from fuelkit.physics.solid import bay
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> tank = bay(rib, [[x, 2, z] for x, _, z in rib])
    >>> [round(part, 9) for part in moment_table(tank).centroid_of(1.0)]
    [0.5, 1.0, 0.25]
    >>> [round(part, 9) for part in moment_table(tank, up=(-1.0, 0.0, 1.0)).centroid_of(1.0)]
    [0.666666667, 1.0, 0.333333333]
    """
    tetrahedra = np.asarray(tetrahedra, float)
    levels = level_table(tetrahedra, up)
    knots = levels.heights
    origin = tetrahedra.min(axis=(0, 1))
    corner_heights = tetrahedra @ np.array(levels.up)
    order = np.argsort(corner_heights, axis=1, kind="stable")[..., None]
    corners = np.take_along_axis(tetrahedra, order, axis=1) - origin
    heights = np.take_along_axis(corner_heights, order[..., 0], axis=1)
    # Half a picometre more, because the table takes corners closer than one for the same.
    ranks = np.searchsorted(knots, heights + 5e-13, side="right") - 1
    cuts = _cut_moments(corners, ranks, knots)
    gains = cuts * (0.25 * np.diff(knots))[:, None, None]
    ordinates = np.cumsum(gains.reshape(-1, 4), axis=0).reshape(gains.shape)
    first = np.concatenate([np.zeros((1, 1, 4)), ordinates[:-1, -1:]])
    return MomentTable(levels, origin, np.concatenate([first, ordinates], axis=1))


# The corner heights 0 to 3 as knots, each in turn counted twice.
_TWICE = np.array([(0, 0, 1, 2, 3), (0, 1, 1, 2, 3), (0, 1, 2, 2, 3), (0, 1, 2, 3, 3)])


def _cut_moments(corners, ranks, knots):
    """Bernstein coefficients over each piece of the moment (x, y, z) and area of the cut.

    `corners` of each tetrahedron are sorted by height and `ranks` are the places of their
    heights in `knots`. Shape (n - 1, 4, 4).
    """
    pieces = np.arange(len(knots) - 1)[:, None]
    piece, part = np.nonzero((ranks[:, 0] <= pieces) & (pieces < ranks[:, 3]))
    splines = _splines(knots[ranks[part][:, _TWICE]], knots[piece], knots[piece + 1])
    sizes = np.abs(np.linalg.det(corners[:, 1:] - corners[:, :1])) / 24.0
    weighted = np.concatenate([corners, np.ones((len(corners), 4, 1))], axis=2)
    weighted *= sizes[:, None, None]
    cuts = np.zeros((len(pieces), 4, 4))
    np.add.at(cuts, piece, np.matmul(splines.transpose(0, 2, 1), weighted[part]))
    return cuts


def _splines(knots, low, high):
    """Bernstein coefficients over [low, high] of the cubic B-splines of integral 1.

    `knots` has shape (m, 4, 5) and the result (m, 4, 4): four splines, four coefficients. De
    Boor's recurrence gives them when its rounds are given the ends of the piece instead of a
    level, the upper end in as many of them as the coefficient's number (the blossom of the cubic).
    """
    knots, low, high = np.moveaxis(knots, 2, 0), low[:, None], high[:, None]
    values = []
    for left, right in zip(knots[:-1], knots[1:], strict=True):
        holds = (left <= low) & (high <= right)
        values.append([np.where(holds, _reciprocal(right - left), 0.0)])
    for degree in (1, 2, 3):
        values = [
            _raised(values[j], values[j + 1], knots[j], knots[j + degree + 1], low, high, degree)
            for j in range(4 - degree)
        ]
    return np.stack(values[0], axis=-1)


def _raised(before, after, first, last, low, high, degree):
    """One round of the recurrence: coefficients of a spline out of those of its two neighbours."""
    scale = (degree + 1.0) / degree * _reciprocal(last - first)
    at_low = (low - first) * scale, (last - low) * scale
    at_high = (high - first) * scale, (last - high) * scale
    raised = [at_low[0] * before[0] + at_low[1] * after[0]]
    return raised + [at_high[0] * b + at_high[1] * a for b, a in zip(before, after, strict=True)]


def _reciprocal(widths):
    """1 / width, and 0 for knots that coincide: they carry no spline."""
    return np.divide(1.0, widths, out=np.zeros(widths.shape), where=widths > 0.0)
