"""Symbols of what stands in a tank, wet or dry, and the key of a section."""

from fuelkit.show.palette import FLOW, FUEL, IDLE, INK, PAPER, SHADE
from fuelkit.show.section_table import spot_words
from fuelkit.show.svg import element, polygon, polyline, text, text_width, wrapped
from fuelkit.show.words import title_case

_SMALL, _STEP = 14, 19.0

SYMBOLS = {
    "pump inlet": "circle", "opening": "square", "level sensor": "diamond",
    "temperature sensor": "flat diamond", "vent opening": "triangle",
    "magnetic stick": "foot", "drip stick": "foot",
}  # fmt: skip
"""Shape of each kind of thing in a tank. Filled is WET, hollow is DRY."""


def symbol(kind, x, y, is_wet):
    """Return the symbol of a kind of thing at a place of the drawing [px]: filled when it is wet.

    Examples
    --------
    >>> symbol("pump inlet", 10.0, 20.0, True)
    '<circle cx="10" cy="20" r="5" fill="#111111" stroke="#111111" stroke-width="1.8"/>'
    """
    look = {"fill": INK if is_wet else PAPER, "stroke": INK, "stroke_width": 1.8}
    shape = SYMBOLS[kind]
    if shape == "circle":
        return element("circle", cx=x, cy=y, r=5, **look)
    return polygon([(x + dx, y + dy) for dx, dy in _CORNERS[shape]], **look)


_CORNERS = {
    "square": ((-4.6, -4.6), (4.6, -4.6), (4.6, 4.6), (-4.6, 4.6)),
    "diamond": ((0, -6.5), (6.5, 0), (0, 6.5), (-6.5, 0)),
    "flat diamond": ((0, -4.2), (8.5, 0), (0, 4.2), (-8.5, 0)),
    "triangle": ((0, -6.5), (6.2, 4.6), (-6.2, 4.6)),
    "foot": ((-7.5, -2.4), (7.5, -2.4), (7.5, 2.4), (-7.5, 2.4)),
}


def key_drawn(spots, *, x, top, width, title):
    """Return the key of numbered spots in two columns, and where it ends. [px]

    Parameters
    ----------
    spots : sequence of (int, Spot)
    x, top, width : float
        Where it stands. [px]
    title : str
    """
    drawn = [text(x, top, title, size=15, bold=True)]
    if not spots:
        drawn.append(text(x, top + 24, "Nothing in it can be wet or dry.", size=_SMALL))
        return "".join(drawn), top + 24
    rows = [_lines(number, spot, 0.5 * width - 42.0) for number, spot in spots]
    total, used, column = sum(len(lines) for _, _, lines in rows), 0, 0
    y = first = top + 26.0
    lowest = y
    for number, spot, lines in rows:
        if column == 0 and used >= 0.5 * total:
            column, y = 1, first
        left = x + 0.5 * width * column
        drawn.append(text(left + 14, y, str(number), size=_SMALL, bold=True, anchor="end"))
        drawn.append(symbol(spot.kind, left + 27, y - 5.0, spot.is_wet))
        drawn.append(text(left + 40, y, lines, size=_SMALL, step=16))
        used += len(lines)
        y += _STEP + 16.0 * (len(lines) - 1)
        lowest = max(lowest, y)
    return "".join(drawn), lowest


def _lines(number, spot, width):
    words = f"{title_case(spot.name)}: {spot_words(spot)}"
    return number, spot, wrapped(words, width, size=_SMALL)


def legend_drawn(kinds, left, top, right):
    """Return what areas, lines and symbols of some kinds mean, and where the last line is. [px]"""
    signs = [(words, _sign(kind, wet)) for words, of, kind, wet in _SIGNS if kinds & of]
    drawn, x, y = [], left, top
    for number, (words, sample) in enumerate((*_AREAS, *signs)):
        width = 28.0 + text_width(words, size=_SMALL) + 16.0
        if x + width - 16.0 > right or number == len(_AREAS):
            x, y = left, y + 21.0
        drawn += [sample(x, y), text(x + 28, y, words, size=_SMALL)]
        x += width
    return "".join(drawn), y


def _area(fill, lines=()):
    def sample(x, y):
        box = element("rect", x=x, y=y - 11, width=22, height=13, fill=fill, stroke=IDLE)
        strokes = [
            polyline([(x + a, y + 2), (x + b, y - 11)], stroke=IDLE, width=1.2) for a, b in lines
        ]
        return box + "".join(strokes)

    return sample


def _line(stroke, dashes, width):
    return lambda x, y: polyline(
        [(x, y - 5), (x + 22, y - 5)], stroke=stroke, width=width, stroke_dasharray=dashes
    )


def _sign(kind, wet):
    return lambda x, y: symbol(kind, x + 13, y - 5, wet)


_AREAS = (
    ("fuel", _area(FUEL)), ("unusable at this attitude", _area(FUEL, ((0, 11), (11, 22)))),
    ("room up to the highest fill", _area(PAPER)), ("expansion space", _area(SHADE)),
    ("surface", _line(FLOW, None, 2.6)), ("highest fill", _line(INK, "8 4", 1.5)),
)  # fmt: skip
_PUMP = {"pump inlet"}
_SIGNS = tuple(
    (words, of, next(iter(sorted(of))), wet)
    for words, of, wet in (
        ("pump inlet, WET", _PUMP, True), ("pump inlet, DRY", _PUMP, False),
        ("line opens", {"opening"}, False), ("level sensor", {"level sensor"}, False),
        ("temperature sensor", {"temperature sensor"}, False), ("vent", {"vent opening"}, False),
        ("foot of a stick", {"magnetic stick", "drip stick"}, False),
    )
)  # fmt: skip
