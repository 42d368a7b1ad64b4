"""Tanks as they look from behind, to one scale: outline, fill to the true level, hatch.

Heights are drawn larger than widths by one factor for all tanks. Neighbours are moved apart a
little; a tank that would stand in front of another (a tail tank) gets a row of its own.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

_GAP = 8.0  # px between neighbours
_ABREAST_GAP = 40.0  # px between tanks that are moved side by side
_ROW_GAP = 60.0  # px between rows, room for titles
_HATCH_STEP = 11.0  # px


@dataclass(frozen=True)
class TankShape:
    """One tank on the drawing. Frozen.

    outline : tuple of (float, float)
        Corners, on the drawing. [px]
    origin : (float, float)
        Place of y = 0, z = 0 of the aircraft. [px]
    across, upward : float
        Scales. [px/m]
    """

    tank: object
    outline: tuple
    origin: tuple
    across: float
    upward: float

    def x(self, y):
        """Return where a distance to the right of the middle [m] stands on the drawing. [px]"""
        return self.origin[0] + self.across * y

    def y(self, z):
        """Return where a height [m] stands on the drawing. [px]"""
        return self.origin[1] - self.upward * z

    @cached_property
    def left(self):
        """Left end. [px]"""
        return min(x for x, _ in self.outline)

    @cached_property
    def right(self):
        """Right end. [px]"""
        return max(x for x, _ in self.outline)

    @property
    def middle(self):
        """Middle of its width. [px]"""
        return 0.5 * (self.left + self.right)

    def inside(self, x, margin=14.0):
        """Return the x nearest to `x` that lies within the tank. [px]"""
        margin = min(margin, 0.3 * (self.right - self.left))
        return min(max(x, self.left + margin), self.right - margin)

    def top(self, x):
        """Return the height of its top at x. [px]"""
        return min(self._walls(x))

    def bottom(self, x):
        """Return the height of its bottom at x. [px]"""
        return max(self._walls(x))

    def highest(self, left, right):
        """Return the top of its highest point between two x. [px]"""
        corners = [y for x, y in self.outline if left <= x <= right]
        ends = [self.top(self.inside(x, 0.5)) for x in (left, right)]
        return min(corners + ends)

    def _walls(self, x):
        return _walls(self.outline, x)

    def filled(self, level, slope=0.0):
        """Return the corners of what lies below a surface; empty if nothing does. [px]

        `level` is its height in the middle [m], `slope` how much it rises to the right [-].
        """
        tilt = -slope * self.upward / self.across
        upright = [(x, y - tilt * (x - self.middle)) for x, y in self.outline]
        return [(x, y + tilt * (x - self.middle)) for x, y in below(upright, self.y(level))]

    def surface(self, level, slope=0.0):
        """Return the two ends of the surface of what `filled` returns, left and right. [px]"""
        tilt = -slope * self.upward / self.across
        fuel = self.filled(level, slope)
        heights = [y - tilt * (x - self.middle) for x, y in fuel]
        ends = sorted(p for p, h in zip(fuel, heights, strict=True) if h <= min(heights) + 1e-6)
        return ends[0], ends[-1]


def tank_shapes(aircraft, *, left=40.0, right=1240.0, top=134.0, bottom=300.0):
    """Return the shape of every tank of an aircraft, by name, within a frame. [px]

    Parameters
    ----------
    aircraft : Aircraft
    left, right, top, bottom : float
        Frame on the drawing that the tanks fill. [px]

    Returns
    -------
    dict of str to TankShape

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> shapes = tank_shapes(load_aircraft("halbrook-180"))
    >>> shapes["left surge"].left, shapes["right surge"].right
    (40.0, 1240.0)
    """
    outlines = {tank.name: silhouette(tank) for tank in aircraft.tanks}
    first, *behind = _rows(aircraft.tanks, outlines)
    rows = [first, *behind] if len(behind) < 2 else [first, _abreast(behind, outlines)]
    offsets = [_true_places] + [_true_places if len(behind) < 2 else _side_by_side]
    across = _scale_across(first, outlines, right - left)
    if len(behind) == 1:
        across = min(across, _scale_across(behind[0], outlines, right - left))
    elif behind:
        across = min(across, _scale_abreast(rows[1], outlines, right - left))
    spans = [_heights(row, outlines) for row in rows]
    upward = (bottom - top - _ROW_GAP * (len(rows) - 1)) / sum(high - low for low, high in spans)
    across = min(across, upward)  # heights are never drawn smaller than widths
    found, foot = {}, bottom
    for row, place, (low, high) in zip(rows, offsets, spans, strict=False):
        for tank, offset in zip(row, place(row, outlines, across), strict=True):
            origin = (0.5 * (left + right) + offset, foot + upward * low)
            found[tank.name] = _shape(tank, outlines[tank.name], origin, across, upward)
        foot -= upward * (high - low) + _ROW_GAP
    return {tank.name: found[tank.name] for tank in aircraft.tanks}


def _true_places(row, outlines, across):
    """Neighbours moved apart a little, each else where it truly is. [px]"""
    return [_GAP * (place - 0.5 * (len(row) - 1)) for place in range(len(row))]


def _side_by_side(row, outlines, across):
    """Set side by side around the middle, from left to right as in the row. [px]"""
    widths = [_width(outlines[tank.name]) * across for tank in row]
    start, found = -0.5 * (sum(widths) + _ABREAST_GAP * (len(row) - 1)), []
    for tank, width in zip(row, widths, strict=True):
        found.append(start - across * min(y for y, _ in outlines[tank.name]))
        start += width + _ABREAST_GAP
    return found


def _abreast(rows, outlines):
    """All tanks of some rows as one, in the order of where they begin aft of the nose."""
    tanks = [tank for row in rows for tank in row]
    return sorted(tanks, key=lambda t: min(rib.front[0] for rib in t.ribs))


def _scale_abreast(row, outlines, width):
    return (width - _ABREAST_GAP * (len(row) - 1)) / sum(_width(outlines[t.name]) for t in row)


def _width(outline):
    return max(y for y, _ in outline) - min(y for y, _ in outline)


def silhouette(tank):
    """Return the outline of a tank seen from behind: corners (y to the right, z up). [m]"""
    ribs = sorted(tank.ribs, key=lambda rib: rib.y)
    lower = _envelope([(r.y, r.front[1], r.rear[1]) for r in ribs], min)
    upper = _envelope([(r.y, r.front[2], r.rear[2]) for r in ribs], max)
    return tuple(lower + upper[::-1])


def _envelope(stations, extreme):
    """The lower or upper of two broken lines, with the points where they cross."""
    found = []
    for (y0, a0, b0), (y1, a1, b1) in pairwise(stations):
        found.append((y0, extreme(a0, b0)))
        if (a0 - b0) * (a1 - b1) < 0.0:
            share = (a0 - b0) / ((a0 - b0) - (a1 - b1))
            found.append((y0 + share * (y1 - y0), a0 + share * (a1 - a0)))
    last = stations[-1]
    return [*found, (last[0], extreme(last[1], last[2]))]


def _rows(tanks, outlines):
    """Put tanks into rows so that none stands in front of another; the widest row first."""
    rows = []
    for tank in sorted(tanks, key=lambda t: outlines[t.name][0][0]):
        row = next((r for r in rows if not _overlap(r[-1], tank, outlines)), None)
        if row is None:
            rows.append([tank])
        else:
            row.append(tank)
    return rows


def _overlap(before, tank, outlines):
    end = max(y for y, _ in outlines[before.name])
    return min(y for y, _ in outlines[tank.name]) < end - 1e-6


def _scale_across(row, outlines, width):
    reach = max(abs(y) for tank in row for y, _ in outlines[tank.name])
    return (width - _GAP * (len(row) - 1)) / (2.0 * reach)


def _heights(row, outlines):
    heights = [z for tank in row for _, z in outlines[tank.name]]
    return min(heights), max(heights)


def _shape(tank, outline, origin, across, upward):
    corners = tuple((origin[0] + across * y, origin[1] - upward * z) for y, z in outline)
    return TankShape(tank, corners, origin, across, upward)


def below(outline, height):
    """Return the part of a shape that lies below a height on the drawing. [px]

    Cut by one line as in Sutherland and Hodgman's clipping (from memory).
    """
    found = []
    for (x0, y0), (x1, y1) in _edges(outline):
        if y0 >= height:
            found.append((x0, y0))
        if (y0 - height) * (y1 - height) < 0.0:
            found.append((x0 + (x1 - x0) * (height - y0) / (y1 - y0), height))
    return found if len(found) > 2 else []


def crossings(outline, value, *, axis):
    """Return where a shape's edge crosses x = value (axis 0) or x + y = value (axis 1). [px]

    For axis 0 the y of each crossing, for axis 1 the x, in rising order.
    """
    found = []
    for a, b in _edges(outline):
        s, t = (a[0], b[0]) if axis == 0 else (a[0] + a[1], b[0] + b[1])
        if s != t and min(s, t) <= value < max(s, t):
            share = (value - s) / (t - s)
            found.append(a[1 - axis] + share * (b[1 - axis] - a[1 - axis]))
    return sorted(found)


@lru_cache(maxsize=16384)  # words are tried at the same places again and again
def _walls(outline, x):
    return crossings(outline, x, axis=0)


def hatching(outline):
    """Return slanted lines that fill a shape, each as two points. [px]

    Written out as lines: a pattern would need a name, and names clash on a page of drawings.
    """
    if not outline:
        return []
    sums = [x + y for x, y in outline]
    step, value, found = _HATCH_STEP, min(sums), []
    value = step * (int(value / step) + 1)
    while value < max(sums):
        xs = crossings(outline, value, axis=1)
        found += [((a, value - a), (b, value - b)) for a, b in zip(xs[::2], xs[1::2], strict=False)]
        value += step
    return found


def _edges(outline):
    return zip(outline, (*outline[1:], outline[0]), strict=True)
