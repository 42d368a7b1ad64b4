"""The time ribbon: a whole flight on one page. Phases, quantities and a band for each part."""

from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise

import numpy as np

from fuelkit.aircraft.model import Consumer
from fuelkit.physics.writing import clock
from fuelkit.show.bands import (
    Piece,
    alert_marks,
    band_pieces,
    shown_pieces,
    stretch,
    tank_groups,
)
from fuelkit.show.palette import CAUTION, FAINT, FLOW, FUEL, IDLE, INK, PAPER, SAFETY, SHADE
from fuelkit.show.phases import phases_drawn
from fuelkit.show.svg import drawing, element, polyline, text, text_width
from fuelkit.show.tables import table_html
from fuelkit.show.words import title_case

_LEFT, _RIGHT = 210.0, 1222.0
_PLOT_TOP, _PLOT_HEIGHT, _PLOT_HIGHEST = 146.0, 126.0, 280.0
_BANDS_BELOW, _BAND_STEP, _BAND_HEIGHT = 18.0, 20.0, 16.0
_KEY_BELOW, _KEY_STEP, _LAST_LINE = 46.0, 19.0, 24.0
_SCREEN = 720.0  # a projector's, at 1280 wide: quantities get what bands and words leave of it
_DASHES = ((INK, "10 5"), (INK, "2 4"), (FLOW, None), (FLOW, "10 5"), (INK, "14 4 2 4"))
_SMALL = 14
_TIME_STEPS = (5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 7200.0)  # s
_STEPS = (100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5)  # kg between lines of the scale
_NOT_WORKING = ("FAIL", "STARVED", "DEAD", "STOPPED", "BETWEEN", "HALF OPEN")
CHANGE_COLUMNS = ("Part", "Time", "From", "To", "Because")


@dataclass(frozen=True)
class _Axis:
    """The one time axis, over a stretch of the flight [s], and how high quantities are [px]."""

    start: float
    end: float
    high: float = _PLOT_HEIGHT

    @property
    def foot(self):
        """Where the scale of quantities has its zero. [px]"""
        return _PLOT_TOP + self.high

    @property
    def bands(self):
        """Top of the first band. [px]"""
        return self.foot + _BANDS_BELOW

    def x(self, time):
        """Place of a time; one outside the stretch counts as its nearer end. [px]"""
        inside = min(max(time, self.start), self.end)
        return _LEFT + (_RIGHT - _LEFT) * (inside - self.start) / (self.end - self.start)


def ribbon(history, *, title=None, start=None, end=None, only=None, truth=True):
    """Return the time ribbon of a flight, or of a stretch of it.

    Parameters
    ----------
    history : History
    title : str, optional
        What the ribbon shows, as a finding.
    start, end : float, optional
        The stretch; without them the whole flight. [s]
    only : sequence of str, optional
        Components that get a band; without it every pump, every valve of the feed and transfer
        lines, every engine and the APU, and every electrical bus that fails.
    truth : bool
        False to draw what the crew is shown, where something fails.

    Returns
    -------
    str
        An SVG 1280 wide with a label for those who do not see it.

    Raises
    ------
    AskedError
        If a name is none of the flight's components, or the stretch does not lie in the flight.
    """
    names = names_of(history) if only is None else tuple(only)
    start, end = stretch(history, start, end)
    marks = alert_marks(history, start=start, end=end)
    below = _BANDS_BELOW + _BAND_STEP * len(names) + _KEY_BELOW + _KEY_STEP * max(len(marks), 1)
    room = _SCREEN - _PLOT_TOP - below - _LAST_LINE
    axis = _Axis(start, end, min(max(room, _PLOT_HEIGHT), _PLOT_HIGHEST))
    foot, height = axis.bands + _BAND_STEP * len(names), axis.foot + below + _LAST_LINE
    title = title or _usual_title(history, axis)
    subtitle = f"{history.aircraft.name}, {history.sector.name}{_part(history, axis)}"
    content = (
        text(24, 33, title, size=20, bold=True)
        + text(24, 54, subtitle, fill=IDLE)
        + phases_drawn(_within(history, axis), axis.x, foot, (24.0, 1262.0))
        + _quantities(history, axis, truth)
        + _mark_lines(axis, marks, foot)
        + "".join(_band(history, axis, i, name, truth) for i, name in enumerate(names))
        + _hours(axis, foot)
        + _numerals(axis, marks)
        + _key(marks, foot + _KEY_BELOW)
        + _feed_key(history.aircraft, foot + _KEY_BELOW)
    )
    content += text(24, height - 12, SAFETY, size=_SMALL, fill=IDLE)
    label = f"Time ribbon. {title}. {subtitle}"
    return drawing(content, height=int(height), label=label)


def _usual_title(history, axis):
    what = "what ran, what was open, where the fuel was"
    return what.capitalize() if _part(history, axis) else f"The whole flight: {what}"


def _part(history, axis):
    """Which stretch is shown, in words, if it is not the whole flight."""
    if (axis.start, axis.end) == (0.0, history.sector.end):
        return ""
    return f", {clock(axis.start)} to {clock(axis.end)}"


def _within(history, axis):
    """The flight with those phases alone that the stretch touches."""
    phases, ends = history.sector.phases, [p.start for p in history.sector.phases[1:]]
    touched = tuple(
        phase
        for phase, end in zip(phases, [*ends, history.sector.end], strict=True)
        if phase.start < axis.end and end > axis.start
    )
    return replace(history, sector=replace(history.sector, phases=touched, end=axis.end))


def ribbon_names(aircraft):
    """Return the components that the ribbon shows unless told otherwise."""
    valves = [valve.name for valve in aircraft.valves if valve.group == "feed"]
    return (
        *(pump.name for pump in aircraft.pumps),
        *valves,
        *(consumer.name for consumer in aircraft.consumers),
    )


def names_of(history):
    """Return what the ribbon of a flight shows: also the electrical buses that fail in it."""
    dead = [bus.name for bus in history.aircraft.buses if history.changes_of(bus.name)]
    return (*ribbon_names(history.aircraft), *dead)


def ribbon_table(history, only=None, *, start=None, end=None, truth=True):
    """Return every change that the ribbon shows, as rows in order of time.

    Parameters are those of `ribbon`.

    Without `truth` and with something failed, no reasons, since they would tell it.

    Returns
    -------
    list of (str, str, str, str, str)
        Part, time, state before, state after, and why.
    """
    names = set(names_of(history) if only is None else only)
    start, end = stretch(history, start, end)
    names |= {alert.name for alert in history.aircraft.alerts}
    if history.sector.failures and not truth:
        changes = shown_changes(history, names)
        return [
            (title_case(name), clock(time), *rest)
            for time, name, *rest in changes
            if start <= time <= end
        ]
    return [
        (title_case(c.name), clock(c.time), c.before, c.after, c.reason)
        for c in history.changes
        if c.name in names and c.before != c.after and start <= c.time <= end
    ]


def shown_changes(history, names):
    """Return the changes that lights and gauges show, in order of time, without reasons.

    Each is (time [s], part, state before, state after, "").
    """
    return sorted(
        (after.start, name, before.state, after.state, "")
        for name in names
        for before, after in pairwise(shown_pieces(history, name))
    )


def ribbon_table_html(history, only=None, *, start=None, end=None, truth=True):
    """Return the changes of a flight, or of a stretch of it, as a table for a page."""
    axis = _Axis(*stretch(history, start, end))
    part = _part(history, axis)
    caption = f"Every change on {history.sector.name}, {history.aircraft.name}{part}"
    rows = ribbon_table(history, only, start=start, end=end, truth=truth)
    return table_html(rows, caption=caption, columns=CHANGE_COLUMNS)


# --------------------------------------------------------------------------------- quantities
def _quantities(history, axis, truth):
    groups = tank_groups(history.aircraft)
    events = [c.time for c in history.changes if axis.start <= c.time <= axis.end]
    times = np.unique([*np.linspace(axis.start, axis.end, 241), *events])
    masses = history.samples(times) if truth else _shown_masses(history, times)
    order = [tank.name for tank in history.aircraft.tanks]
    sums = [masses[:, [order.index(n) for n in members]].sum(axis=1) for _, members in groups]
    step, top = _round_up(max(s.max() for s in sums))
    drawn, labels = [_scale(axis, step, top)], []
    for i, ((label, _), values) in enumerate(zip(groups, sums, strict=True)):
        colour, dashes = _DASHES[i % len(_DASHES)]
        points = [(axis.x(t), _height(axis, v, top)) for t, v in zip(times, values, strict=True)]
        drawn.append(
            polyline(_thinned(points), stroke=colour, width=2.6, stroke_dasharray=dashes,
                     data_group=label)
        )  # fmt: skip
        labels.append((points[0][1], label, colour, dashes))
    return "".join(drawn) + _direct_labels(labels, axis.foot)


def _height(axis, mass, top):
    return axis.foot - axis.high * mass / top


def _shown_masses(history, times):
    """What the gauges of all tanks show, shape (n_times, n_tanks) [kg]."""
    names = [tank.name for tank in history.aircraft.tanks]
    return np.array([[history.shown_mass(name, float(t)) for name in names] for t in times])


def _round_up(mass):
    """A step of the scale that makes at most six, and the next full step [kg]."""
    step = next((s for s in _STEPS if mass <= 6.0 * s), _STEPS[-1])
    return step, max(step, step * np.ceil(mass / step))


def _scale(axis, step, top):
    drawn = []
    for mass in np.arange(0.0, top + 1.0, step):
        y = _height(axis, mass, top)
        drawn.append(polyline([(_LEFT, y), (_RIGHT, y)], stroke=FAINT, width=1))
        drawn.append(text(_RIGHT + 6, y + 5, f"{mass / 1000:g} t", size=_SMALL, fill=IDLE))
    return "".join(drawn)


def _thinned(points):
    """Leave out points on a straight stretch between their neighbours."""
    kept = [points[0]]
    for before, point, after in zip(points, points[1:], points[2:], strict=False):
        share = (point[0] - before[0]) / (after[0] - before[0])
        if abs(before[1] + share * (after[1] - before[1]) - point[1]) > 0.01:
            kept.append(point)
    return [*kept, points[-1]]


def _direct_labels(labels, lowest):
    """Each line's name where it starts, moved apart if need be, with a sample of its dashes.

    None stands lower than `lowest`, over the names of the bands. [px]
    """
    drawn, last = [], _PLOT_TOP - 30.0
    for i, (y, label, colour, dashes) in enumerate(sorted(labels)):
        below = len(labels) - 1 - i
        y = last = max(min(y, lowest - 17.0 * below), last + 17.0)
        drawn.append(text(_LEFT - 42, y + 5, label, size=_SMALL, bold=True, anchor="end"))
        drawn.append(
            polyline([(_LEFT - 36, y), (_LEFT - 6, y)], stroke=colour, width=2.6,
                     stroke_dasharray=dashes)
        )  # fmt: skip
    return "".join(drawn)


# -------------------------------------------------------------------------------------- bands
def _band(history, axis, number, name, truth):
    top = axis.bands + _BAND_STEP * number
    middle = top + _BAND_HEIGHT / 2
    is_consumer = isinstance(history.aircraft.by_name.get(name), Consumer)
    label = f"{name} fed from" if is_consumer else name
    drawn = [
        text(_LEFT - 6, middle + 5, label, size=_SMALL, anchor="end"),
        polyline([(_LEFT, middle), (_RIGHT, middle)], stroke=IDLE, width=1),
    ]
    pieces = _clipped(band_pieces(history, name, truth=truth), axis)
    for piece, after in zip(pieces, (*pieces, None)[1:], strict=True):
        limit = axis.x(after.start) if after else _RIGHT + 50.0
        drawn.append(_bar(history, axis, name, piece, top, limit))
    return element("g", "".join(drawn), data_band=name)


def _clipped(pieces, axis):
    """What of some pieces lies in the stretch."""
    cut = [Piece(max(p.start, axis.start), min(p.end, axis.end), p.state) for p in pieces]
    return tuple(piece for piece in cut if piece.end > piece.start)


def _bar(history, axis, name, piece, top, limit):
    """One bar with its word: inside where it fits, else beside it, else only in its title."""
    left, right = axis.x(piece.start), axis.x(piece.end)
    fill, ink, edge = _style(history.aircraft, piece.state)
    title = f"{name}: {piece.state}, {clock(piece.start)} to {clock(piece.end)}"
    bar = element(
        "rect", element("title", escape(title)), x=left, y=top, width=max(right - left, 1.5),
        height=_BAND_HEIGHT, fill=fill, stroke=edge, stroke_width=1.2, data_state=piece.state,
        data_start=f"{piece.start:.3f}", data_end=f"{piece.end:.3f}",
    )  # fmt: skip
    word = piece.state.upper()
    width = text_width(word, size=12, bold=True)
    if width + 10.0 <= right - left:
        return bar + text(left + 5, top + 12.5, word, size=12, bold=True, fill=ink)
    if right + 4.0 + width + 4.0 <= limit:
        ground = element(
            "rect", x=right + 2, y=top, width=width + 5, height=_BAND_HEIGHT, fill=PAPER
        )
        return bar + ground + text(right + 4, top + 12.5, word, size=12, bold=True)
    return bar


def _style(aircraft, state):
    """Fill, letters and edge: solid for a working state; a feeding tank by its place in filling."""
    for number, step in enumerate(aircraft.loading_order):
        if state in step:
            fills = ((FUEL, INK), (SHADE, INK), (FLOW, PAPER))
            return *fills[number % 3], FLOW
    if state in _NOT_WORKING:
        return PAPER, INK, INK
    return (CAUTION, INK, INK) if state == "LOW PRESS" else (FLOW, PAPER, FLOW)


# ------------------------------------------------------------------------------ axis and marks
def _hours(axis, foot):
    """The time axis: at most thirteen times in words, and a shorter tick half-way."""
    y, length = foot + 2.0, axis.end - axis.start
    drawn = [polyline([(_LEFT, y), (_RIGHT, y)], stroke=INK, width=1.2)]
    step = next((s for s in _TIME_STEPS if length <= 13.0 * s), _TIME_STEPS[-1])
    halves = np.arange(np.ceil(2.0 * axis.start / step), 2.0 * axis.end / step + 1e-9)
    for half in halves:
        x, whole = axis.x(0.5 * half * step), half % 2 == 0
        drawn.append(polyline([(x, y), (x, y + (7 if whole else 4))], stroke=INK, width=1.2))
        if whole:
            words = _time_words(0.5 * half * step, step)
            drawn.append(text(x, y + 22, words, size=_SMALL, anchor="middle"))
    return "".join(drawn)


def _time_words(time, step):
    """Hours where they do, else h:mm, or h:mm:ss."""
    if step % 3600.0 == 0.0:
        return f"{time / 3600:g} h"
    return clock(time) if step % 60.0 else clock(time)[:-3]


def _mark_lines(axis, marks, foot):
    """A dashed line through all bands at each mark, under their words."""
    return "".join(
        polyline([(axis.x(mark.time), _PLOT_TOP - 4), (axis.x(mark.time), foot + 2)], stroke=INK,
                 width=1.2, stroke_dasharray="4 3")
        for mark in marks
    )  # fmt: skip


def _numerals(axis, marks):
    drawn, last = [], -100.0
    for number, mark in enumerate(marks, start=1):
        last = max(axis.x(mark.time), last + 20.0)
        drawn.append(_numeral(last, _PLOT_TOP - 10, number))
    return "".join(drawn)


def _numeral(x, y, number):
    ring = element("circle", cx=x, cy=y, r=9.0, fill=PAPER, stroke=INK, stroke_width=1.2)
    return ring + text(x, y + 4.5, str(number), size=13, bold=True, anchor="middle")


def _key(marks, top):
    return "".join(
        _numeral(33.0, top + _KEY_STEP * i - 5, i + 1)
        + text(50, top + _KEY_STEP * i, f"{clock(mark.time)}  {mark.words}", size=_SMALL)
        for i, mark in enumerate(marks)
    )


def _feed_key(aircraft, y):
    """What the shades of the bands that tell who is fed from where stand for."""
    drawn, x = [text(700, y, "Fed from:", size=_SMALL)], 770.0
    for label, members in tank_groups(aircraft):
        fill, _, edge = _style(aircraft, members[0])
        box = {"width": 26, "height": 14, "fill": fill, "stroke": edge, "stroke_width": 1.2}
        words = label.removeprefix("both ")
        drawn.append(element("rect", x=x, y=y - 12, **box) + text(x + 32, y, words, size=_SMALL))
        x += 50.0 + text_width(words, size=_SMALL)
    return "".join(drawn)
