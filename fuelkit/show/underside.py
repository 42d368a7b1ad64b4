"""An aircraft from below with the way walked around it: stations, items, and what is seen there.

Every mark is drawn alike, whatever is found at it: only what is seen tells. The left wing is on
the right-hand side, as for somebody who stands below and looks up with the nose ahead.
"""

from html import escape
from itertools import pairwise, product

import numpy as np

from fuelkit.aircraft.walk_around import KINDS, item_places, wing_ribs
from fuelkit.assess.walk_around import DECISIONS, stations
from fuelkit.show.palette import EDGE, FUEL, IDLE, INK, PAPER, SAFETY, SHADE
from fuelkit.show.plan import outline
from fuelkit.show.svg import (
    arrowheads,
    drawing,
    element,
    polygon,
    polyline,
    text,
    text_width,
    wrapped,
)
from fuelkit.show.tables import table_html
from fuelkit.show.underside_frame import (
    edges,
    engines,
    frame_for,
    fuselage_path,
    tail_outline,
    wing_outline,
)
from fuelkit.show.underside_marks import mark_symbol
from fuelkit.show.underside_way import WayCost, away, box, free_spot
from fuelkit.show.words import title_case

UNDERSIDE_COLUMNS = ("Item", "Number", "Station", "As it should be", "Where")

_TOP, _HEIGHT, _SIZE, _SMALL = 84.0, 720.0, 16, 15  # read on a projector 1280 wide too
_PLAIN, _WIDE = 796.0, 640.0  # px: where the key begins, without and with what is seen
_DISC, _OFF = 12.5, 26.0  # px: radius of a station's disc, and how far from the wing it stands
_DECIDED, _STEP = 141.0, 18  # px: column of the decisions, and from line to line
_WALKED = "way walked"
_MOST_CHOICES = 10  # stations of which both sides of the wing are tried


def underside(aircraft, sights=(), *, title="", decided=None):
    """Return an aircraft from below with its walk-around, as an SVG 1280 wide.

    Parameters
    ----------
    aircraft : Aircraft
    sights : tuple of Sight
        What is seen at each item, written in the key; without them the key has the items alone.
    title : str
    decided : dict of str to str, optional
        A learner's decisions by label ("3b"), written beside the items.

    Returns
    -------
    str
        At least 720 high; higher if the key needs it.

    Raises
    ------
    ValueError
        If a decision is none of the three, or is for an item that is not there.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> svg = underside(load_aircraft("halbrook-180"))
    >>> svg.startswith("<svg"), "seen from below" in svg, "left wing" in svg
    (True, True, True)
    """
    title = title or f"{aircraft.name}: the walk-around"
    left = _WIDE if sights else _PLAIN
    _check(aircraft, decided or {})
    key, foot = _key(aircraft, {s.label: s for s in sights}, decided or {}, left)
    height = max(_HEIGHT, foot + (92.0 if foot > _HEIGHT - 40.0 else 40.0))
    frame = frame_for(aircraft, middle=0.5 * left, half_width=0.5 * left - 58.0, top=_TOP + 14.0,
                      tallest=_HEIGHT - _TOP - 128.0)  # fmt: skip
    content = (
        element("desc", escape(_description(aircraft)))
        + text(24, 33, title, size=20, bold=True)
        + text(24, 55, "The aircraft seen from below, nose up: its left wing is on the right of "
               "the picture.", size=15, fill=IDLE)
        + _shape(aircraft, frame)
        + _Marks(aircraft, frame).drawn()
        + key
        + _legend(aircraft, left, height - 40.0)
        + text(24, height - 16, SAFETY, size=_SMALL, fill=IDLE)
    )  # fmt: skip
    return drawing(content, height=int(height), label=title)


def _check(aircraft, decided):
    labels = [label for label, _, _ in _items(aircraft)]
    for label, decision in decided.items():
        if label not in labels:
            raise ValueError(
                f"underside: '{label}' is decided; the items are {', '.join(labels)}. Correct it."
            )
        if decision not in DECISIONS:
            raise ValueError(
                f"underside: '{label}' is decided as {decision!r}; it must be "
                f"{' or '.join(DECISIONS)}. Correct it."
            )


def underside_table(aircraft, sights=(), decided=None):
    """Return what the drawing shows, as rows; with what is seen and decided, if that is given."""
    seen, decided = {s.label: s for s in sights}, decided or {}
    rows = []
    for label, entry, places in _items(aircraft):
        row = [title_case(entry.item), label, entry.station, entry.look_for, _where(places)]
        row += [seen[label].sees if label in seen else ""] if sights else []
        row += [decided.get(label, "not decided")] if decided else []
        rows.append(tuple(row))
    return rows


def underside_table_html(aircraft, sights=(), *, decided=None):
    """Return the table of the drawing for a page."""
    columns = UNDERSIDE_COLUMNS + (("What is seen",) if sights else ())
    columns += ("Decided",) if decided else ()
    caption = f"{aircraft.name}: the walk-around, in walking order"
    return table_html(underside_table(aircraft, sights, decided), caption=caption, columns=columns)


def _items(aircraft):
    """(label, item, places) in walking order."""
    labels = [label for _, labels in stations(aircraft) for label in labels]
    return list(zip(labels, aircraft.walk_around, item_places(aircraft), strict=True))


def _where(places):
    x, y = (sum(p[i] for p in places) / len(places) for i in (0, 1))
    side = "in the middle" if abs(y) < 0.05 else f"{abs(y):.1f} m {'right' if y > 0 else 'left'}"
    each = f", {len(places)} places" if len(places) > 1 else ""
    return f"{x:.1f} m aft of the nose, {side}{each}"


def _description(aircraft):
    names = "; ".join(
        f"{number}, {name}" for number, (name, _) in enumerate(stations(aircraft), start=1)
    )
    return (
        f"The underside, nose up, the left wing on the right. Stations in walking order: {names}. "
        "The table below names every item."
    )


# --------------------------------------------------------------------------------------- shape
def _shape(aircraft, frame):
    def closed(points, **more):
        return polygon([frame.at(x, y) for x, y in points], stroke_linejoin="round", **more)

    thin = {"stroke": EDGE, "stroke_width": 1.2}
    tanks = [
        closed(
            outline(tank), data_tank=tank.name, fill=FUEL if tank.holds_fuel else PAPER,
            stroke=IDLE, stroke_width=1, stroke_dasharray=None if tank.holds_fuel else "3 3",
        )
        for tank in aircraft.tanks
    ]  # fmt: skip
    nose = text(frame.middle, frame.top - 8, "nose", size=_SMALL, fill=IDLE, anchor="middle")
    return (
        closed(tail_outline(aircraft, frame), fill=PAPER, **thin)
        + closed(wing_outline(wing_ribs(aircraft)), fill=SHADE, **thin)
        + "".join(_engine(aircraft, frame, x, y, thin) for x, y in engines(aircraft))
        + element("path", d=fuselage_path(frame), fill=PAPER, fill_opacity=0.55, **thin)
        + "".join(tanks)
        + "".join(_cut(frame, y) for y in frame.cuts)
        + nose
    )


def _engine(aircraft, frame, x, y, thin):
    """A pod about an engine's inlet, as far back as the leading edge if that is near."""
    cx, cy = frame.at(x, y)
    half = max(11.0, 0.42 * frame.scale * frame.body)
    ribs = edges(wing_ribs(aircraft))
    edge = frame.at(np.interp(abs(y), [r[0] for r in ribs], [r[1] for r in ribs]), 0.0)[1]
    foot = max(cy + 1.3 * half, edge + 4.0 if abs(y) > frame.body and edge < cy + 90.0 else 0.0)
    return element("rect", x=cx - half, y=cy - 1.3 * half, width=2 * half,
                   height=foot - cy + 1.3 * half, rx=0.8 * half, fill=PAPER, **thin)  # fmt: skip


def _cut(frame, y):
    """A stretch of fuselage that is shortened: a gap between two waves."""
    half = frame.scale * frame.body + 9.0
    waves = [
        [(frame.middle - half + half * i / 4, y + d + (4 if i % 2 else -4)) for i in range(9)]
        for d in (-5.0, 5.0)
    ]
    gap = polygon([*waves[0], *waves[1][::-1]], fill=PAPER)
    return gap + "".join(polyline(wave, stroke=IDLE, width=1.2) for wave in waves)


# --------------------------------------------------------------------------------------- marks
class _Marks:
    """Places every mark, number and word so that none lies on another."""

    def __init__(self, aircraft, frame):
        self.aircraft, self.frame = aircraft, frame
        self.items = _items(aircraft)
        self.points = [(label, entry.kind, frame.at(*place))
                       for label, entry, places in self.items for place in places]  # fmt: skip
        self.taken = [box(x, y, 20, 20) for _, _, (x, y) in self.points]
        self.ribs = edges(wing_ribs(aircraft))

    def drawn(self):
        """Return the way, the stations, the items and the words at the wings."""
        discs = self._discs()
        self.taken += [box(x, y, 2 * _DISC + 4, 2 * _DISC + 4) for x, y in discs]
        symbols = "".join(mark_symbol(kind, x, y) for _, kind, (x, y) in self.points)
        labels = "".join(self._label(label, at) for label, _, at in self.points)
        for start, end in pairwise(discs):
            self.taken += [box(*p, 8, 8) for p in np.linspace(start, end, 30)]
        numbers = "".join(_disc(x, y, n) for n, (x, y) in enumerate(discs, start=1))
        return _way(discs) + labels + symbols + numbers + self._wing_words()

    def _discs(self):
        """Where the stations' discs stand: a short way round that does not cross the wing."""
        choices = [self._spots(labels) for _, labels in stations(self.aircraft)]
        several = [i for i, spots in enumerate(choices) if len(spots) > 1][_MOST_CHOICES:]
        choices = [spots[:1] if i in several else spots for i, spots in enumerate(choices)]
        return self._apart(min(product(*choices), key=WayCost(self._wing())))

    def _wing(self):
        """Middle, and both edges at places along the span: what a way should not cross. [px]"""
        span = np.array([r[0] for r in self.ribs])
        front, rear = ([self.frame.at(r[i], 0.0)[1] for r in self.ribs] for i in (1, 2))
        return self.frame.middle, self.frame.scale * span, front, rear

    def _spots(self, labels):
        """Places where the disc of a station may stand. [px]"""
        marks = [at for label, _, at in self.points if label in labels]
        x, y = (sum(m[i] for m in marks) / len(marks) for i in (0, 1))
        middle, span, front, rear = self._wing()
        out = abs(x - middle)
        side = 1 if x > middle else -1
        if y > max(rear) + 2 * _OFF:  # by the tail
            edge = max(abs(self.frame.at(*p)[0] - middle) for p in tail_outline(
                self.aircraft, self.frame)) + 24.0  # fmt: skip
            return [(middle + edge, y), (middle - edge, y)]
        if out > 0.86 * span[-1]:
            edge = middle + side * (span[-1] + 24.0)
            return [(edge, y), (edge, rear[-1] + 14.0)]
        ahead = min(np.interp(out, span, front), *(m[1] for m in marks)) - _OFF
        behind = max(np.interp(out, span, rear), *(m[1] for m in marks)) + _OFF
        if y < np.interp(out, span, front):  # an engine before the wing
            return [(x, float(ahead))]
        return [(x, float(ahead)), (x, float(behind))]

    def _apart(self, spots):
        """Move discs that would touch a mark or another disc."""
        found = []
        for spot in spots:
            boxes = [*self.taken, *(box(*f, 2 * _DISC + 20, 2 * _DISC + 20) for f in found)]
            found.append(free_spot(spot, 2 * _DISC + 4, 2 * _DISC + 4, boxes, first=0.0, step=5.0))
        return found

    def _label(self, label, at):
        width = text_width(label, size=_SMALL, bold=True) + 3
        x, y = free_spot(at, width, _SMALL, self.taken, first=18.0, step=3.0)
        self.taken.append(box(x, y, width, _SMALL + 1))
        far = away((x, y), at) > 24.0
        line = polyline([at, (x, y)], stroke=INK, width=0.8) if far else ""
        ground = element("rect", x=x - width / 2, y=y - 8.0, width=width, height=16, rx=2,
                         fill=PAPER, fill_opacity=0.85)  # fmt: skip
        return line + ground + text(x, y + 5.7, label, size=_SMALL, bold=True, anchor="middle",
                                    data_item=label)  # fmt: skip

    def _wing_words(self):
        words = ""
        for name, side in (("right wing", -1), ("left wing", 1)):
            width = text_width(name, size=17, bold=True)
            y = self.frame.at(np.interp(0.7, (0, 1), (self.ribs[0][1], self.ribs[-1][1])), 0)[1]
            spot = (self.frame.middle + side * 0.68 * self.frame.scale * self.ribs[-1][0], y - 64)
            x, y = free_spot(spot, width + 10, 22, self.taken, first=0.0, step=8.0)
            self.taken.append(box(x, y, width, 20))
            words += text(x, y + 6, name, size=17, bold=True, anchor="middle", fill=IDLE)
        return words


def _way(discs):
    line = polyline(discs, stroke=INK, width=1.6, stroke_dasharray="7 5") if discs[1:] else ""
    heads = "".join(arrowheads([a, b], fill=INK, size=5.5, every=1e9) for a, b in pairwise(discs))
    return line + heads


def _disc(x, y, number):
    disc = element("circle", cx=x, cy=y, r=_DISC, fill=INK)
    return disc + text(x, y + 5.2, str(number), size=15, bold=True, anchor="middle", fill=PAPER,
                       data_station=number)  # fmt: skip


# ----------------------------------------------------------------------------------------- key
def _key(aircraft, seen, decided, left):
    """The key in walking order, and where it ends. [px]"""
    if not aircraft.walk_around:
        words = "The aircraft's file has no walk-around."
        return text(left + 10, _TOP + 20, words, size=_SIZE), _TOP + 20
    drawn, y, station = [], _TOP + 8.0, None
    for label, entry, _ in _items(aircraft):
        number = label.rstrip("abcdefghijklmnopqrstuvwxyz")
        if number != station:
            y += 6.0 if station else 0.0
            station = number
            drawn.append(_disc(left + 12, y - 5, number))
            drawn.append(text(left + 34, y, title_case(entry.station), size=17, bold=True))
            y += 22.0
        decision = decided.get(label, "") if decided else None
        lines, y = _row(label, entry, seen.get(label), decision, left + 34, y)
        drawn += lines
    return "".join(drawn), y


def _row(label, entry, sight, decision, left, y):
    """One item: its label and mark, what was decided, its name, what is seen; and its foot."""
    drawn = [
        text(left + 30, y, label, size=_SIZE, bold=True, anchor="end"),
        mark_symbol(entry.kind, left + 45, y - 6),
    ]
    start = left + 63
    if decision is not None:  # "" for one that is not decided yet: its column stays free
        words = text(start, y, decision, size=_SIZE, bold=True, data_decided=label)
        drawn.append(words if decision else "")
        start += _DECIDED
    name, sees = title_case(entry.item), f": {sight.sees}" if sight else ""
    lines = wrapped(name + sees, 1262 - start, size=_SIZE)
    drawn.append(text(start, y, lines, size=_SIZE, step=_STEP))
    return drawn, y + _STEP * (len(lines) - 1) + 21.0


def _legend(aircraft, left, foot):
    """Each kind's mark with its word, the way, and what is to scale; its last line at `foot`."""
    kinds = [kind for kind in KINDS if any(e.kind == kind for e in aircraft.walk_around)]
    drawn, x, y = [], 34.0, foot - 26.0
    entries = [(kind, text_width(kind, size=_SIZE) + 42) for kind in kinds]
    entries += [(_WALKED, 136.0)] if kinds else []
    if sum(width for _, width in entries) > left - x:
        y -= 22.0
    for words, width in entries:
        if x + width > left:
            x, y = 34.0, y + 22.0
        if words == _WALKED:
            drawn.append(_way([(x - 8, y - 5), (x + 34, y - 5)]))
            drawn.append(text(x + 42, y, words, size=_SIZE))
        else:
            drawn.append(mark_symbol(words, x, y - 5) + text(x + 15, y, words, size=_SIZE))
        x += width
    words = (
        "Wing and tanks are to scale; fuselage, tail and engines are a scheme, shortened at the "
        "double wave."
    )
    return "".join(drawn) + text(24, foot, words, size=_SMALL, fill=IDLE)
