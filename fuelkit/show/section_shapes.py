"""Tanks as an eye sees them that looks along the surface of the fuel, from behind or the side.

The surface, and every plane parallel to it, is then a straight line, and what lies below it on
the picture lies below it in the tank: a mark under the line is wet. All shapes are in metres.
"""

from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Sight:
    """A view along the fuel's surface. Frozen.

    up : tuple of three floats
        Direction of up in the aircraft's axes, of length 1. [-]
    axis : int
        What runs across the picture: 1 for y, seen from behind; 0 for x, seen from the side.
    depth : float
        x (from behind) or y (from the side) at which heights are the aircraft's own z. [m]
    """

    up: tuple
    axis: int
    depth: float

    def see(self, point):
        """Return where a point (x, y, z) is seen: across and above. [m]"""
        other = 1 - self.axis
        lean = self.up[other] / self.up[2]
        return point[self.axis], point[2] + lean * (point[other] - self.depth)

    def surface(self, level):
        """Return (height at 0 across, slope) of the line in which a level along up is seen."""
        up = self.up
        at_zero = (level - up[1 - self.axis] * self.depth) / up[2]
        return at_zero, -up[self.axis] / up[2]


def seen_from_behind(tank, sight):
    """Return the outline of a tank as seen from behind along the surface: corners. [m]

    Parameters
    ----------
    tank : Tank
    sight : Sight
        With axis 1.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> surge = load_aircraft("halbrook-180").tank("right surge")
    >>> [round(y, 1) for y, _ in seen_from_behind(surge, Sight((0.0, 0.0, 1.0), 1, 0.0))]
    [10.9, 12.1, 12.1, 10.9]
    """
    lower, upper = [], []
    for inner, outer in pairwise(tank.ribs):
        a, b = ([sight.see(corner) for corner in rib.corners] for rib in (inner, outer))
        # Each skin is creased from the first rib's front to the second one's rear.
        lower += _extreme([(a[0], b[0]), (a[1], b[1]), (a[0], b[1])], min)
        upper += _extreme([(a[3], b[3]), (a[2], b[2]), (a[3], b[2])], max)
    return tuple(_tidy(lower) + _tidy(upper)[::-1])


def _extreme(lines, extreme):
    """The lowest or highest of some lines between the same two places, with its corners."""
    (start, _), (end, _) = lines[0][0], lines[0][1]
    shares = {0.0, 1.0}
    for i, (a, b) in enumerate(lines):
        for c, d in lines[:i]:
            first, last = a[1] - c[1], b[1] - d[1]
            if first * last < 0.0:
                shares.add(first / (first - last))
    return [
        (start + s * (end - start), extreme(a[1] + s * (b[1] - a[1]) for a, b in lines))
        for s in shares
    ]


def _tidy(points):
    """Points in order from left to right, each once."""
    found = []
    for point in sorted(points):
        if not found or max(abs(p - q) for p, q in zip(point, found[-1], strict=True)) > 1e-9:
            found.append(point)
    return found


def cut_at(tank, y, sight):
    """Return the corners of a fore-and-aft cut through a tank at a distance from the middle. [m]

    Parameters
    ----------
    tank : Tank
    y : float
        Positive to the right; between the tank's outermost ribs. [m]
    sight : Sight
        With axis 0 and its depth at `y`.

    Raises
    ------
    ValueError
        If y lies outside the tank.
    """
    for inner, outer in pairwise(tank.ribs):
        share = (y - inner.y) / (outer.y - inner.y)
        if -1e-9 <= share <= 1.0 + 1e-9:
            break
    else:
        low, high = span_of(tank)
        raise ValueError(
            f"section: cut is at {y:.2f} m in '{tank.name}'; it must lie between {low:.2f} and "
            f"{high:.2f} m from the middle. Move it."
        )
    a, b = inner.corners, outer.corners
    # Around the cut: front bottom, crease of the floor, rear bottom, rear top, crease, front top.
    ends = ((a[0], b[0]), (a[0], b[1]), (a[1], b[1]), (a[2], b[2]), (a[3], b[2]), (a[3], b[3]))
    return tuple(sight.see(_between(p, q, share)) for p, q in ends)


def _between(p, q, share):
    return tuple(s + share * (t - s) for s, t in zip(p, q, strict=True))


def span_of(tank):
    """Return between which distances from the middle a tank lies, low and high. [m]"""
    spans = [rib.y for rib in tank.ribs]
    return min(spans), max(spans)


def under(outline, line):
    """Return the part of a shape that lies under a line (height at 0 across, slope).

    Cut by one line as in Sutherland and Hodgman's clipping (from memory).

    Examples
    --------
    >>> under([(0, 0), (2, 0), (2, 2), (0, 2)], (1.0, 0.0))
    [(0, 0), (2, 0), (2.0, 1.0), (0.0, 1.0)]
    """
    at_zero, slope = line
    found, gaps = [], [z - at_zero - slope * x for x, z in outline]
    for i, point in enumerate(outline):
        after = (i + 1) % len(outline)
        if gaps[i] <= 0.0:
            found.append(point)
        if gaps[i] * gaps[after] < 0.0:
            share = gaps[i] / (gaps[i] - gaps[after])
            found.append(_between(point, outline[after], share))
    return found if len(found) > 2 else []


def over(outline, line):
    """Return the part of a shape that lies over a line."""
    flipped = [(x, -z) for x, z in outline]
    return [(x, -z) for x, z in under(flipped, (-line[0], -line[1]))]


def line_within(outline, line):
    """Return the two ends of a line where it crosses a shape, or None. [m]"""
    at_zero, slope = line
    found = []
    for (x0, z0), (x1, z1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        first, last = (z - at_zero - slope * x for x, z in ((x0, z0), (x1, z1)))
        if (first <= 0.0) != (last <= 0.0):
            found.append(_between((x0, z0), (x1, z1), first / (first - last)))
    return (min(found), max(found)) if len(found) > 1 else None


def rows_of(tanks):
    """Return tanks in rows, none in front of another as seen from behind; the widest row first."""
    rows = []
    for tank in sorted(tanks, key=lambda t: span_of(t)[0]):
        row = next((r for r in rows if span_of(r[-1])[1] <= span_of(tank)[0] + 1e-6), None)
        if row is None:
            rows.append([tank])
        else:
            row.append(tank)
    return sorted(rows, key=lambda row: -max(abs(y) for tank in row for y in span_of(tank)))


def middle_of(tanks):
    """Return how far aft of the nose the middle of some tanks lies. [m]"""
    along = [x for tank in tanks for rib in tank.ribs for x in (rib.front[0], rib.rear[0])]
    return 0.5 * (min(along) + max(along))
