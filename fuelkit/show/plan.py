"""An aircraft's tanks from above, to one scale: outlines by their ribs, and what opens into them.

The nose is up, the right wing to the right. Parts are numbered; the key below and the table of
the same name them. A stretch of fuselage without tanks is left out and its length written there.
"""

from dataclasses import dataclass
from html import escape
from math import cos, hypot, pi, sin

from fuelkit.show.palette import FLOW, FUEL, IDLE, INK, PAPER, SAFETY
from fuelkit.show.plan_marks import PLAN_COLUMNS, plan_marks, plan_table, plan_table_html
from fuelkit.show.svg import element, plate, plate_box, polygon, polyline, text, text_width, wrapped
from fuelkit.show.words import title_case

__all__ = ["PLAN_COLUMNS", "outline", "plan_marks", "plan_table", "plan_table_html", "plan_view"]

_LEFT, _RIGHT, _TOP, _TALLEST = 70.0, 1210.0, 112.0, 620.0
_GAP, _BREAK = 3.0, 64.0  # m of bare fuselage that is left out, and px that it takes
_BAR_LENGTHS = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2)  # m
_KEY_STEP, _SMALL, _TITLE, _RING = 23.0, 17, 17, 12.0  # read on a projector 1280 wide too
_KEY_LEFT, _KEY_WIDTH, _KEY_COLUMNS = 40.0, 1224.0, 4  # px, px, and how many at most


@dataclass(frozen=True)
class _Frame:
    """From metres to the drawing: one scale, with stretches along the aircraft left out."""

    scale: float
    middle: float
    pieces: tuple  # (first x, last x, where the first x is drawn)

    def at(self, x, y):
        start, _, top = min(self.pieces, key=lambda p: max(p[0] - x, x - p[1], 0.0))
        return self.middle + self.scale * y, top + self.scale * (x - start)

    @property
    def foot(self):
        first, last, top = self.pieces[-1]
        return top + self.scale * (last - first)


def plan_view(aircraft, *, title=""):
    """Return the plan of an aircraft's tanks from above, to scale, as an SVG.

    Parameters
    ----------
    aircraft : Aircraft
    title : str
        The aircraft's name if not given.

    Returns
    -------
    str
        An SVG 1280 wide with a title and a description for those who do not see it.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> drawing = plan_view(load_aircraft("halbrook-180"))
    >>> drawing.startswith("<svg"), "<desc>" in drawing, "Centre tank" in drawing
    (True, True, True)
    """
    title = title or f"{aircraft.name}: tanks from above, to scale"
    frame, marks = _frame(aircraft), plan_marks(aircraft)
    titles = list(_titles(frame, aircraft.tanks))
    foot = frame.foot + 40.0
    key, key_foot = _key(marks, foot + 44.0)
    content = (
        element("desc", escape(_description(aircraft, marks)))
        + text(24, 33, title, size=20, bold=True)
        + text(24, 54, f"{aircraft.summary}", size=15, fill=IDLE)
        + _middle_line(frame)
        + "".join(_tank(frame, tank) for tank in aircraft.tanks)
        + "".join(_left_out(frame))
        + "".join(plate(*title, size=_TITLE, bold=True) for title in titles)
        + _marks_drawn(frame, marks, [plate_box(*t, size=_TITLE, bold=True) for t in titles])
        + _scale_bar(frame, foot)
        + key
        + text(24, key_foot + 30, SAFETY, size=14, fill=IDLE)
    )
    return _drawing(content, int(key_foot + 44), title)


def _drawing(content, height, title):
    body = (
        element("title", escape(title))
        + element("rect", width=1280, height=height, fill=PAPER)
        + content
    )
    return element(
        "svg", body, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 1280 {height}",
        width="100%", role="img", aria_label=title,
        font_family="Arial, 'Liberation Sans', Helvetica, sans-serif",
        style=f"max-width:1920px;height:auto;display:block;background:{PAPER}",
    )  # fmt: skip


def _description(aircraft, marks):
    tanks = ", ".join(tank.title for tank in aircraft.tanks)
    return (
        f"From above, nose up: {tanks}. {len(marks)} numbered marks show where pumps and lines "
        "open, and where sensors, sticks and gauge probes stand; the table below names them."
    )


# --------------------------------------------------------------------------------------- frame
def _frame(aircraft):
    outlines = {tank.name: outline(tank) for tank in aircraft.tanks}
    points = [p for corners in outlines.values() for p in corners]
    reach = max(abs(y) for _, y in points)
    stretches = _stretches([[x for x, _ in corners] for corners in outlines.values()])
    length = sum(last - first for first, last in stretches)
    room = _TALLEST - _BREAK * (len(stretches) - 1)
    scale = min((_RIGHT - _LEFT) / (2.0 * reach), room / length)
    pieces, top = [], _TOP
    for first, last in stretches:
        pieces.append((first, last, top))
        top += scale * (last - first) + _BREAK
    return _Frame(scale, 0.5 * (_LEFT + _RIGHT), tuple(pieces))


def outline(tank):
    """Return a tank's outline from above: its front spar outward, its rear spar back. [m]

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> outline(load_aircraft("halbrook-180").tank("left surge"))[0]
    (19.3, -12.1)
    """
    ribs = sorted(tank.ribs, key=lambda rib: rib.y)
    return tuple(
        [(rib.front[0], rib.y) for rib in ribs] + [(rib.rear[0], rib.y) for rib in ribs[::-1]]
    )


def _stretches(extents):
    """Stretches along the aircraft with tanks, those that are near each other as one. [m]"""
    found = []
    for first, last in sorted((min(xs), max(xs)) for xs in extents):
        if found and first - found[-1][1] <= _GAP:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return found


# --------------------------------------------------------------------------------------- layers
def _middle_line(frame):
    x, top, foot = frame.middle, frame.pieces[0][2] - 36.0, frame.foot + 14.0
    line = polyline([(x, top), (x, foot)], stroke=IDLE, width=1, stroke_dasharray="12 4 2 4")
    head = polygon([(x, top - 14), (x - 6, top), (x + 6, top)], fill=IDLE)
    return line + head + text(x + 12, top - 2, "nose", size=_SMALL, fill=IDLE)


def _tank(frame, tank):
    corners = [frame.at(x, y) for x, y in outline(tank)]
    fill = FUEL if tank.holds_fuel else PAPER
    ribs = "".join(
        polyline(
            [frame.at(rib.front[0], rib.y), frame.at(rib.rear[0], rib.y)], stroke=IDLE, width=1,
            stroke_dasharray="5 4",
        )
        for rib in tank.ribs
    )  # fmt: skip
    edge = polygon(corners, fill=fill, stroke=INK, stroke_width=2, stroke_linejoin="round")
    return element("g", edge + ribs, data_tank=tank.name)


def _left_out(frame):
    for before, after in zip(frame.pieces, frame.pieces[1:], strict=False):
        y = after[2] - 0.62 * _BREAK
        x = frame.middle
        wave = [(x - 60 + 15 * i, y + (4 if i % 2 else -4)) for i in range(9)]
        yield polyline(wave, stroke=IDLE, width=1.6)
        words = f"{after[0] - before[1]:.1f} m without tanks left out"
        yield plate(x + 74, y + 5, words, size=_SMALL, anchor="start", fill=IDLE)


def _titles(frame, tanks):
    """Middle, foot and lines of each title: over its tank's front edge, or beside the sheet's."""
    placed = []
    for tank in sorted(tanks, key=lambda t: -len(t.ribs)):
        corners = [frame.at(x, y) for x, y in outline(tank)]
        left, right = min(x for x, _ in corners), max(x for x, _ in corners)
        lines = wrapped(tank.title, max(right - left, 116.0), size=_TITLE, bold=True)
        width = max(text_width(line, size=_TITLE, bold=True) for line in lines)
        middle = min(max(0.5 * (left + right), 8 + width / 2), 1272 - width / 2)
        if abs(middle - frame.middle) < width / 2 + 2 and right - left < 3 * width:
            middle = frame.middle + (right - left) * 0.25 if right > frame.middle else middle
        foot = _clear_of(frame, tanks, tank, middle - width / 2, middle + width / 2) - 8.0
        step = _TITLE + 2
        foot -= step * (len(lines) - 1)
        while any(
            abs(middle - x) < 0.5 * (width + w) + 6 and abs(foot - y) < step * len(lines) + 2
            for x, y, w in placed
        ):
            foot -= 20.0
        placed.append((middle, foot, width))
        yield middle, foot, lines


def _clear_of(frame, tanks, tank, left, right):
    """The highest front edge between two x: the tank's own, or a near neighbour's. [px]"""
    own = _above(frame, tank, left, right)
    if own is None:  # the title was moved away from the edge of the sheet
        own = min(y for _, y in (frame.at(*corner) for corner in outline(tank)))
    heights = [_above(frame, other, left, right) for other in tanks]
    return min([own, *(y for y in heights if y is not None and own - 40.0 < y)])


def _above(frame, tank, left, right):
    """The highest point of a tank's front edge between two x of the drawing. [px]"""
    edge = [frame.at(x, y) for x, y in outline(tank)[: len(tank.ribs)]]
    found = []
    for (x0, y0), (x1, y1) in zip(edge, edge[1:], strict=False):
        low, high = max(x0, left), min(x1, right)
        if low <= high and x1 > x0:
            found += [y0 + (y1 - y0) * (x - x0) / (x1 - x0) for x in (low, high)]
    if left >= edge[-1][0] or right <= edge[0][0]:
        return None
    return min(found, default=min(y for _, y in edge))


# --------------------------------------------------------------------------------------- marks
def _marks_drawn(frame, marks, titles):
    """Symbols at their true places, each with its number on a free spot nearby."""
    points = [frame.at(m.x, m.y) for m in marks]
    placed, symbols, numbers = [], [], []
    for mark, (x, y) in zip(marks, points, strict=True):
        spot = _free_spot((x, y), points, placed, titles)
        placed.append(spot)
        symbols.append(_symbol(mark.kind, x, y))
        numbers.append(
            polyline([(x, y), spot], stroke=INK, width=0.8)
            + element("circle", cx=spot[0], cy=spot[1], r=_RING, fill=PAPER, stroke=INK,
                      stroke_width=1)
            + text(spot[0], spot[1] + 5.4, str(mark.number), size=15, anchor="middle",
                   data_mark=mark.name)
        )  # fmt: skip
    return "".join(numbers) + "".join(symbols)


def _free_spot(at, points, placed, titles):
    """The nearest spot around a point that is clear of symbols, of other numbers and of titles."""
    for radius in (22.0, 29.0, 38.0, 48.0, 60.0, 74.0, 92.0):
        for step in range(16):
            angle = 2.0 * pi * step / 16 - pi / 4
            spot = (at[0] + radius * cos(angle), at[1] + radius * sin(angle))
            near_number = any(hypot(spot[0] - a, spot[1] - b) < 2 * _RING + 2 for a, b in placed)
            near_point = any(hypot(spot[0] - a, spot[1] - b) < _RING + 7 for a, b in points)
            if near_number or near_point or any(_touches(spot, title) for title in titles):
                continue
            if 12 < spot[0] < 1268:
                return spot
    return (at[0], at[1] - 20.0)


def _touches(spot, box):
    """Whether the ring of a number would lie on a rectangle."""
    left, top, right, foot = box
    near = min(max(spot[0], left), right), min(max(spot[1], top), foot)
    return hypot(spot[0] - near[0], spot[1] - near[1]) < _RING + 1.0


def _symbol(kind, x, y):
    if kind == "pump inlet":
        triangle = polygon([(x, y - 4.2), (x - 3.8, y + 2.6), (x + 3.8, y + 2.6)], fill=PAPER)
        return element("circle", cx=x, cy=y, r=6.5, fill=FLOW, stroke=INK) + triangle
    if kind == "opening":
        return element("rect", x=x - 5, y=y - 5, width=10, height=10, fill=PAPER, stroke=FLOW,
                       stroke_width=2.4)  # fmt: skip
    if kind.endswith("sensor"):
        corners = [(x, y - 7), (x + 7, y), (x, y + 7), (x - 7, y)]
        fill = PAPER if kind.startswith("level") else IDLE
        return polygon(corners, fill=fill, stroke=INK, stroke_width=1.6)
    if kind.endswith("stick"):
        cross = polyline([(x - 6, y), (x + 6, y)], stroke=INK, width=2.4)
        return cross + polyline([(x, y - 6), (x, y + 6)], stroke=INK, width=2.4)
    return element("circle", cx=x, cy=y, r=4, fill=INK, stroke=PAPER)


def _scale_bar(frame, y):
    length = next((m for m in _BAR_LENGTHS if m * frame.scale <= 260.0), _BAR_LENGTHS[-1])
    x0, x1 = 40.0, 40.0 + length * frame.scale
    ends = "".join(polyline([(x, y - 6), (x, y + 6)], stroke=INK, width=2) for x in (x0, x1))
    bar = polyline([(x0, y), (x1, y)], stroke=INK, width=2)
    return bar + ends + text(x1 + 10, y + 5, f"{length:g} m", size=15, bold=True)


def _key(marks, top):
    """The key: kinds in order, each with its symbol, names in three columns; and its foot."""
    kinds = list(dict.fromkeys(m.kind for m in marks))
    widest = 34.0 + max(
        (text_width(words, size=_SMALL, bold=True) for words in (*kinds, *(m.name for m in marks))),
        default=0.0,
    )
    columns = min(_KEY_COLUMNS, max(1, int(_KEY_WIDTH / widest)))
    count = -(-(len(marks) + len(kinds) + columns - 1) // columns)
    rows, drawn = [], []
    for kind in kinds:
        if len(rows) % count == count - 1:
            rows.append(("", None))  # no heading at the foot of a column
        rows.append((kind, None))
        rows += [(m.name, m) for m in marks if m.kind == kind]
    for i, (words, mark) in enumerate(rows):
        x = _KEY_LEFT + _KEY_WIDTH / columns * (i // count)
        y = top + _KEY_STEP * (i % count)
        if not words:
            continue
        if mark is None:
            drawn.append(_symbol(words, x + 2, y - 5))
            drawn.append(text(x + 18, y, title_case(words), size=_SMALL, bold=True))
        else:
            drawn.append(text(x + 12, y, str(mark.number), size=_SMALL, anchor="end"))
            drawn.append(text(x + 18, y, words, size=_SMALL))
    return "".join(drawn), top + _KEY_STEP * count
