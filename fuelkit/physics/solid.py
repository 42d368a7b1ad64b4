"""Exact volume of a tank below a plane, and its inverse. A tank here is a solid, nothing more.

A solid is a list of tetrahedra. The volume below a moving level is then a sum of cubic
polynomials, so it is known exactly, and so is the level that belongs to a volume.
"""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.physics.units import US_GALLON

# The six tetrahedra around the long diagonal 0-6 of a hexahedron whose corners are numbered
# 0-3 around one end and 4-7 around the other (Kuhn's division).
_KUHN = ((0, 1, 2, 6), (0, 2, 3, 6), (0, 3, 7, 6), (0, 7, 4, 6), (0, 4, 5, 6), (0, 5, 1, 6))


def bay(inner, outer):
    """Return the tetrahedra of a bay between two ribs.

    A skin whose four corners do not lie in one plane is creased along one diagonal, always the
    same one, so that bays that share a rib fit together and a mirrored bay is the same solid.

    Parameters
    ----------
    inner, outer : array_like, shape (4, 3)
        Corners of each rib in the same order around it: front bottom, rear bottom, rear top,
        front top. [m]

    Returns
    -------
    ndarray, shape (6, 4, 3)
        Corners of six tetrahedra that fill the bay. [m]

    Raises
    ------
    ValueError
        If a rib is not four points, or a tetrahedron is turned inside out: the ribs cross or
        their corners are out of order.

    References
    ----------
    H. W. Kuhn's division of a cube into six simplices (from memory).

    Examples
    --------
    A box of one cubic metre:

    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> far = [[x, 1, z] for x, _, z in rib]
    >>> round(volume(bay(rib, far)), 12)
    1.0
    """
    ribs = {"inner": np.asarray(inner, float), "outer": np.asarray(outer, float)}
    for name, rib in ribs.items():
        if rib.shape != (4, 3) or not np.isfinite(rib).all():
            raise ValueError(
                f"bay: {name} rib is {rib.tolist()}; a rib is four points of three numbers each. "
                "Correct it."
            )
    tetrahedra = np.concatenate(list(ribs.values()))[np.array(_KUHN)]
    signed = _signed_volumes(tetrahedra)
    if signed.sum() < 0.0:
        signed = -signed
    if (signed < -1e-12 * max(1.0, signed.sum())).any():
        raise ValueError(
            "bay: the two ribs cross or list their corners in another order; give both as front "
            "bottom, rear bottom, rear top, front top."
        )
    return tetrahedra


def volume(tetrahedra):
    """Return the total volume [m³] of tetrahedra, shape (n, 4, 3) [m].

    Examples
    --------
    >>> volume([[[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 6]]])
    1.0
    """
    return float(np.abs(_signed_volumes(np.asarray(tetrahedra, float))).sum())


def _signed_volumes(tetrahedra):
    edges = tetrahedra[:, 1:] - tetrahedra[:, :1]
    return np.linalg.det(edges) / 6.0


def lowest_point(tetrahedra, up=(0.0, 0.0, 1.0)):
    """Return the lowest corner [m] of a solid, shape (n, 4, 3) [m], along an up direction [-].

    Of several equally low corners, the one that is listed first.

    Examples
    --------
    >>> lowest_point([[[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 6]]], up=(-0.1, 0, 1)).tolist()
    [1.0, 0.0, 0.0]
    """
    corners = np.asarray(tetrahedra, float).reshape(-1, 3)
    return corners[np.argmin(corners @ np.asarray(up, float))]


def unusable_volume(tetrahedra, opening, ups):
    """Return the volume that cannot be drawn through an opening in the most adverse attitude.

    Fuel below the plane through the opening stays behind. Fuel above it that a hump between two
    pockets of the tank holds back is not counted: give each pocket as a solid of its own.

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The solid. [m]
    opening : array_like, shape (3,)
        Lowest point of the inlet's mouth. [m]
    ups : array_like, shape (m, 3)
        Up directions of every attitude in which the tank must feed. [-]

    Returns
    -------
    float
        The largest of the volumes. [m³]

    Raises
    ------
    ValueError
        If there is no attitude.

    References
    ----------
    14 CFR 25.959: unusable fuel is set at the most adverse feed condition of all intended
    operations.

    Examples
    --------
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> tank = bay(rib, [[x, 2, z] for x, _, z in rib])
    >>> round(unusable_volume(tank, (0.5, 1, 0.1), [(0, 0, 1), (0.1, 0, 1)]), 12)
    0.2
    """
    ups = np.asarray(ups, float).reshape(-1, 3)
    if not len(ups):
        raise ValueError(
            "solid: the list of attitudes is empty; unusable fuel belongs to the most adverse "
            "of some attitudes. Give at least one up direction."
        )
    tables = [level_table(tetrahedra, up) for up in ups]
    return max(table.volume_below(float(np.dot(table.up, opening))) for table in tables)


def least_expansion_space(capacity):
    """Return the least expansion space [m³] above a tank of a capacity [m³]: 2 %.

    References
    ----------
    14 CFR 25.969.

    Examples
    --------
    >>> least_expansion_space(5.0)
    0.1
    """
    return 0.02 * capacity


def least_sump(capacity):
    """Return the least capacity [m³] of the sump of a tank of a capacity [m³].

    It is the greater of 0.10 % of the tank and 1/16 US gal; the limits cross at 62.5 US gal.

    References
    ----------
    14 CFR 25.971.

    Examples
    --------
    >>> least_sump(5.0)
    0.005
    """
    return max(0.001 * capacity, US_GALLON / 16.0)


@dataclass(frozen=True)
class LevelTable:
    """Volume of a solid below each level, exact. Frozen.

    heights : ndarray, shape (n,)
        Levels at which the cubic changes: the heights of the solid's corners, ascending. [m]
    volumes : ndarray, shape (n,)
        Volume below each of them. [m³]
    cubics : ndarray, shape (n - 1, 4)
        Between two of them, volume in powers 0 to 3 of (level - lower height).
    up : tuple of three floats
        The direction along which levels are measured, in the solid's axes, of length 1. [-]
    """

    heights: np.ndarray
    volumes: np.ndarray
    cubics: np.ndarray
    up: tuple = (0.0, 0.0, 1.0)

    @property
    def capacity(self):
        """Volume of the whole solid [m³]."""
        return float(self.volumes[-1])

    def volume_below(self, level):
        """Return the volume [m³] below a level [m] along the up direction of the table."""
        heights, volumes, cubics = self._rows
        if level <= heights[0]:
            return 0.0
        if level >= heights[-1]:
            return volumes[-1]
        piece = bisect_right(heights, level) - 1
        volume_below = float(_cubic(cubics[piece], level - heights[piece]))
        return min(max(0.0, volume_below), volumes[-1])

    def area_at(self, level):
        """Return the free surface [m²] at a level [m]: the slope of volume over level.

        At the height of a flat face it is the surface just above; outside the solid it is 0.
        """
        heights, _, cubics = self._rows
        if not heights[0] <= level < heights[-1]:
            return 0.0
        piece = bisect_right(heights, level) - 1
        c, x = cubics[piece], level - heights[piece]
        return max(0.0, float(c[1] + x * (2.0 * c[2] + x * 3.0 * c[3])))

    def level_of(self, volume_below):
        """Return the level [m] below which a volume [m³] lies.

        An empty solid has the level of its lowest point, a full one that of its highest. A
        volume outside these is clipped to them: the caller guards quantities, not this table.
        """
        heights, volumes, cubics = self._rows
        if volume_below <= 0.0:
            return heights[0]
        if volume_below >= volumes[-1]:
            return heights[-1]
        piece = bisect_right(volumes, volume_below) - 1
        low, width = heights[piece], heights[piece + 1] - heights[piece]
        share = (volume_below - volumes[piece]) / (volumes[piece + 1] - volumes[piece])
        return low + _cubic_root(cubics[piece], float(volume_below), width, share * width)

    @cached_property
    def _rows(self):
        """The table as plain numbers, which are quicker than arrays for one level at a time."""
        return self.heights.tolist(), self.volumes.tolist(), self.cubics.tolist()


def level_table(tetrahedra, up=(0.0, 0.0, 1.0)):
    """Return the exact table of volume over level for a solid and an up direction.

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The solid. [m]
    up : array_like, shape (3,)
        Direction of up in the solid's axes; tilted by pitch and roll. Normalised here. [-]

    Returns
    -------
    LevelTable

    Raises
    ------
    ValueError
        If the solid has no volume, or up has no direction.

    Notes
    -----
    The free surface inside one tetrahedron is a quadratic of the level between two corners (a
    quadratic B-spline with the corner heights as knots), so the whole surface is a piecewise
    quadratic and the volume its integral. The quadratics are fixed by three points inside each
    piece, which is exact.

    Examples
    --------
    Half of a box lies below half its height:

    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> round(table.volume_below(0.5), 12), round(table.level_of(1.0), 12)
    (1.0, 0.5)
    """
    tetrahedra, direction = np.asarray(tetrahedra, float), np.asarray(up, float)
    length = np.linalg.norm(direction)
    if direction.shape != (3,) or not 0.0 < length < np.inf:
        raise ValueError(
            f"solid: up is {direction.tolist()}; it must be three numbers that point somewhere. "
            "Correct it."
        )
    sizes = np.abs(_signed_volumes(tetrahedra))
    if not sizes.sum() > 0.0:
        raise ValueError(
            f"solid: volume is {sizes.sum()}; a tank needs ribs that are apart and not flat. "
            "Correct the ribs."
        )
    corner_heights = np.sort(tetrahedra @ (direction / length), axis=1)
    knots = _distinct(np.sort(corner_heights, axis=None))
    widths = np.diff(knots)
    samples = knots[:-1, None] + widths[:, None] * np.array([0.25, 0.5, 0.75])
    areas = _surface_areas(corner_heights, sizes, samples)
    quadratics = _quadratics_through(areas, widths)
    cubics = np.column_stack([np.zeros(len(widths)), quadratics / np.array([1.0, 2.0, 3.0])])
    gains = ((cubics[:, 3] * widths + cubics[:, 2]) * widths + cubics[:, 1]) * widths
    volumes = np.concatenate([[0.0], np.cumsum(gains)])
    cubics[:, 0] = volumes[:-1]
    return LevelTable(knots, volumes, cubics, tuple((direction / length).tolist()))


def _distinct(heights):
    """Heights that lie at least a picometre apart; closer ones are one corner, but for rounding."""
    keep = np.concatenate([[True], np.diff(heights) > 1e-12])
    return heights[keep]


def _surface_areas(corner_heights, sizes, levels):
    """Total area of the cut at each level (any shape), for tetrahedra with sorted heights."""
    a, b, c, d = (corner_heights[:, i] for i in range(4))
    z = levels[..., None]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        bottom = 3.0 * (z - a) ** 2 / ((b - a) * (c - a) * (d - a))
        top = 3.0 * (d - z) ** 2 / ((d - a) * (d - b) * (d - c))
        rising = (z - a) * (c - z) / ((c - a) * (d - a) * (c - b))
        falling = (z - b) * (d - z) / ((d - a) * (d - b) * (c - b))
        middle = 3.0 * (rising + falling)
    area = np.where(z < b, bottom, np.where(z < c, middle, top))
    inside = (z > a) & (z < d)
    return (np.where(inside, area, 0.0) * sizes).sum(axis=-1)


def _quadratics_through(areas, widths):
    """Coefficients in powers of (level - lower knot) through values at 1/4, 1/2 and 3/4."""
    first, second, third = areas.T
    bend = 8.0 * (first - 2.0 * second + third)
    slope = 2.0 * (third - first) - bend
    start = second - 0.5 * slope - 0.25 * bend
    return np.column_stack([start, slope / widths, bend / widths**2])


def _cubic(c, x):
    return c[0] + x * (c[1] + x * (c[2] + x * c[3]))


def _cubic_root(coefficients, value, width, x):
    """Root of an increasing cubic on [0, width]: Newton's method from `x`, kept in a bracket."""
    c0, c1, c2, c3 = coefficients
    low, high = 0.0, width
    for _ in range(100):
        error = c0 - value + x * (c1 + x * (c2 + x * c3))
        if error == 0.0:
            break
        if error > 0.0:
            high = x
        else:
            low = x
        slope = c1 + x * (2.0 * c2 + x * 3.0 * c3)
        step = error / slope if slope > 0.0 else width
        if not low < x - step < high:
            step = x - 0.5 * (low + high)
        x -= step
        if abs(step) <= 1e-15 * max(1.0, width):
            break
    return x
