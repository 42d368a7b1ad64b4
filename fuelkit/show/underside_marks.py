"""The mark of each kind of walk-around item: a shape of its own, all of one size and one line."""

from math import cos, pi, sin

from fuelkit.show.palette import INK, PAPER
from fuelkit.show.svg import element, polygon, polyline

_LINE = {"fill": PAPER, "stroke": INK, "stroke_width": 1.7, "stroke_linejoin": "round"}


def mark_symbol(kind, x, y):
    """Return the mark of a kind of item around (x, y). [px]

    Examples
    --------
    >>> mark_symbol("vent", 0.0, 0.0) == mark_symbol("burst disc", 0.0, 0.0)
    False
    """
    return element("g", _SHAPES.get(kind, _other)(x, y), data_kind=kind)


def _indicator(x, y):
    """A rod with its foot."""
    rod = polygon([(x - 2.2, y - 8), (x + 2.2, y - 8), (x + 2.2, y + 4), (x - 2.2, y + 4)], **_LINE)
    return rod + polyline([(x - 7, y + 6.5), (x + 7, y + 6.5)], stroke=INK, width=2.6)


def _drain(x, y):
    """A funnel."""
    return polygon([(x - 7.5, y - 6), (x + 7.5, y - 6), (x, y + 8)], **_LINE)


def _mast(x, y):
    """A fin, raked back."""
    return polygon([(x - 3, y - 8), (x + 7, y - 8), (x + 3, y + 8), (x - 7, y + 8)], **_LINE)


def _vent(x, y):
    """A round opening with its bars."""
    bars = [[(x - w, y + d), (x + w, y + d)] for d, w in ((-2.6, 6.5), (2.6, 6.5))]
    ring = element("circle", cx=x, cy=y, r=7.5, **_LINE)
    return ring + "".join(polyline(bar, stroke=INK, width=1.7) for bar in bars)


def _disc(x, y):
    """A disc in its frame."""
    return element("circle", cx=x, cy=y, r=7.5, **_LINE) + element("circle", cx=x, cy=y, r=3,
                                                                   fill=INK)  # fmt: skip


def _door(x, y):
    """A door with its latch."""
    corners = [(x - 8, y - 6), (x + 8, y - 6), (x + 8, y + 6), (x - 8, y + 6)]
    return polygon(corners, **_LINE) + polyline([(x + 4, y - 3), (x + 4, y + 3)], stroke=INK,
                                                width=2)  # fmt: skip


def _cap(x, y):
    """A six-sided cap."""
    corners = [(x + 8 * cos(pi * i / 3), y + 8 * sin(pi * i / 3)) for i in range(6)]
    return polygon(corners, **_LINE)


def _nozzle(x, y):
    """A nozzle that widens aft."""
    return polygon([(x - 3, y - 8), (x + 3, y - 8), (x + 8, y + 7), (x - 8, y + 7)], **_LINE)


def _other(x, y):
    """A square on its corner."""
    return polygon([(x, y - 8), (x + 8, y), (x, y + 8), (x - 8, y)], **_LINE)


_SHAPES = {
    "level indicator": _indicator, "water drain": _drain, "drain mast": _mast, "vent": _vent,
    "burst disc": _disc, "door": _door, "cap": _cap, "nozzle": _nozzle,
}  # fmt: skip
