"""Charts of a flight: fuel in each tank, temperatures, balance. Each with its table of numbers.

Drawn with matplotlib, which is imported only when a chart is asked for, and never through pyplot.
"""

import re
from io import StringIO
from itertools import cycle

import numpy as np

from fuelkit.physics.writing import clock
from fuelkit.show.chart_numbers import chart_numbers, rows_of
from fuelkit.show.page import Page
from fuelkit.show.palette import FAINT, FLOW, FUEL, IDLE, INK, SAFETY, SHADE
from fuelkit.show.phases import spread
from fuelkit.show.svg import drawing, text_width, wrapped
from fuelkit.show.tables import table_html
from fuelkit.show.words import title_case

_WIDTH, _LEFT, _RIGHT = 1280.0, 92.0, 1030.0
_NAMES_AT, _LOWER_NAMES_AT, _STRIP_AT, _TOP = 84.0, 106.0, 130.0, 174.0
_HEIGHT, _LEAST_PANELS, _BETWEEN = 720.0, 280.0, 36.0
_UNDER, _ROW, _FOOT = 54.0, 19.0, 38.0  # times, a row of words, the last line
_COLUMNS = ((24.0, 440.0, 856.0), (24.0, 652.0))
_SIZE = 14
_PER_INCH = 72.0  # matplotlib's SVG counts in points
_TIME_STEPS = (10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0)
_SHARES = {"quantities": (0.36, 0.64), "temperatures": (1.0,), "balance": (0.5, 0.5)}
# Colour, width and dashes. A left tank's line is broad, so that the right one's shows upon it.
_LEFT_PENS = ((FLOW, 3.6, None), (FLOW, 3.6, (16.0, 5.0)), (IDLE, 3.6, (10.0, 3.0, 3.0, 3.0)))
_RIGHT_PENS = ((INK, 1.7, (9.0, 5.0)), (INK, 1.7, (2.0, 4.0)), (INK, 1.7, (9.0, 3.0, 2.0, 3.0)))
_MIDDLE_PENS = ((INK, 2.4, None), (IDLE, 2.6, (5.0, 3.0)), (FLOW, 2.4, (12.0, 3.0, 2.0, 3.0)))
_LIMIT_DASHES = (3.0, 3.0)


def quantities_page(history, start=None, end=None, *, truth=False):
    """Return the fuel in each tank and altogether over a flight, as a chart with its table.

    Parameters
    ----------
    history : History
    start, end : float, optional
        A stretch of the flight; without them all of it. [s]
    truth : bool
        False for what the gauges show, where something fails.

    Returns
    -------
    Page

    Raises
    ------
    AskedError
        If the stretch does not lie in the flight.
    """
    return _page(history, "quantities", start, end, truth=truth)


def temperatures_page(history, start=None, end=None, *, truth=False, grade="Jet A-1"):
    """Return the temperature of the fuel in each tank and of the air, as a chart with its table.

    A tank's line has a gap while its temperature is not shown, since no fuel covers its sensor.

    Parameters
    ----------
    history : History
    start, end : float, optional
        A stretch of the flight; without them all of it. [s]
    truth : bool
        True for the true temperatures, without gaps.
    grade : str or None
        Grade of fuel whose freezing point is drawn; None for no such line.

    Raises
    ------
    AskedError
        If the stretch does not lie in the flight.
    ValueError
        If the kit does not know the grade; names those it knows.
    """
    return _page(history, "temperatures", start, end, truth=truth, grade=grade)


def balance_page(history, start=None, end=None, *, truth=False):
    """Return one wing against the other and the centre of gravity, as a chart with its table.

    The centre of gravity needs the aircraft's masses; it is left out where something fails and
    only what the crew is shown may be told. Parameters and errors as for `quantities_page`.
    """
    return _page(history, "balance", start, end, truth=truth)


def chart_svg(history, kind, start=None, end=None, *, truth=False, grade="Jet A-1"):
    """Return a chart alone, 1280 wide: "quantities", "temperatures" or "balance"."""
    numbers = chart_numbers(history, kind, start, end, truth=truth, grade=grade)
    return _drawn(history, numbers, _SHARES[kind])


def _page(history, kind, start, end, **more):
    numbers = chart_numbers(history, kind, start, end, **more)
    head, rows = rows_of(numbers, history)
    title = f"{numbers.title}: {history.aircraft.name}, {history.sector.name}{numbers.whose}"
    table = table_html(rows, caption=title, columns=tuple(map(title_case, head)))
    style = "max-width:1280px;background:#fff;color:#111"
    html = (
        f'<div style="{style}">{_drawn(history, numbers, _SHARES[kind])}'
        f"<details><summary>The same as a table</summary>{table}</details></div>"
    )
    events = [f"{i}. {clock(e.time)} {e.words}" for i, e in enumerate(numbers.events, 1)]
    lines = [" | ".join(row) for row in (head, *rows)]
    return Page(html, "\n".join([title, *lines, *events, *numbers.notes, SAFETY]))


# ---------------------------------------------------------------------------------- the drawing
def _drawn(history, numbers, shares):
    """The chart as an SVG of the kit's own kind: an image with a name, colours as attributes.

    As high as a projector's screen is, if its words let the panels have enough of it.
    """
    notes = [line for note in numbers.notes for line in wrapped(note, 1220.0, size=_SIZE)]
    columns = _columns(numbers.events)
    rows = -(-len(numbers.events) // len(columns)) + len(notes)
    panels = max(_LEAST_PANELS, _HEIGHT - _TOP - _UNDER - _ROW * rows - _FOOT)
    places = _places(shares[: len(numbers.panels)], panels)
    with _usual_settings():
        sheet = _Sheet(numbers, _TOP + panels + _UNDER + _ROW * rows + _FOOT, _TOP + panels)
        sheet.all_of_it(history, places, columns, notes)
        content = sheet.content()
    what = f"{history.aircraft.name}, {history.sector.name}{numbers.whose}"
    label = f"Chart. {numbers.title}. {what}."
    return drawing(content, height=int(sheet.height), label=" ".join([label, *numbers.notes]))


def _usual_settings():
    """Matplotlib's own settings, whatever the user's are, with text as text and fixed names."""
    import matplotlib

    usual = {k: v for k, v in matplotlib.rcParamsDefault.items() if "backend" not in k}
    ours = {"svg.fonttype": "none", "svg.hashsalt": "fuelkit", "path.simplify": False}
    return matplotlib.rc_context(usual | ours)


def _columns(events):
    """Where the columns of the key begin: three if all words fit, else two. [px]"""
    three, two = _COLUMNS
    return three if all(text_width(_event(e), size=_SIZE) <= 376.0 for e in events) else two


def _event(event):
    return f"{clock(event.time)}  {event.words}"


def _places(shares, panels):
    """Top and foot of each panel on the drawing [px]; one that is alone takes all the height."""
    room = panels - _BETWEEN * (len(shares) - 1)
    found, top = [], _TOP
    for share in shares:
        foot = top + room * share / sum(shares)
        found.append((top, foot))
        top = foot + _BETWEEN
    return found


class _Sheet:
    """A matplotlib figure, counted in pixels from the top left, as all drawings of the kit."""

    def __init__(self, numbers, height, foot):
        from matplotlib.figure import Figure

        self.numbers, self.height, self.foot = numbers, height, foot
        self.figure = Figure(figsize=(_WIDTH / _PER_INCH, height / _PER_INCH), dpi=_PER_INCH)
        self.axes = self._axes((0.0, _WIDTH), (height, 0.0), (0.0, 0.0, 1.0, 1.0))

    def _axes(self, across, down, place):
        axes = self.figure.add_axes(place, xlim=across, ylim=down)
        axes.set_axis_off()
        return axes

    # ------------------------------------------------------------------------- what it draws with
    def words(self, x, y, words, *, size=_SIZE, bold=False, fill=INK, anchor="left"):
        self.axes.text(x, y, words.replace("$", r"\$"), fontsize=size, color=fill, ha=anchor,
                       va="baseline", fontweight="bold" if bold else "normal")  # fmt: skip

    def line(self, xs, ys, *, colour=INK, width=1.0, dashes=None, axes=None):
        style = "-" if dashes is None else (0.0, tuple(d / width for d in dashes))
        (axes or self.axes).plot(xs, ys, color=colour, linewidth=width, linestyle=style,
                                 clip_on=False, dash_capstyle="butt")  # fmt: skip

    def box(self, left, top, right, foot, fill):
        self.axes.fill((left, right, right, left), (top, top, foot, foot), facecolor=fill,
                       edgecolor="none", clip_on=False)  # fmt: skip

    def x(self, time):
        share = (time - self.numbers.start) / (self.numbers.end - self.numbers.start)
        return _LEFT + (_RIGHT - _LEFT) * share

    # --------------------------------------------------------------------------------- its parts
    def all_of_it(self, history, places, columns, notes):
        self.header(history)
        self.phases(history)
        for panel, (top, foot) in zip(self.numbers.panels, places, strict=True):
            self.panel(panel, top, foot)
        self.time_axis()
        self.numerals()
        self.key(columns)
        for i, line in enumerate(reversed(notes)):
            self.words(24.0, self.height - _FOOT - _ROW * i, line, fill=IDLE)
        self.words(24.0, self.height - 12.0, SAFETY, fill=IDLE)

    def header(self, history):
        numbers, sector = self.numbers, history.sector
        part = (numbers.start, numbers.end) != (0.0, sector.end)
        when = f", {clock(numbers.start)} to {clock(numbers.end)}" if part else ""
        self.words(24.0, 33.0, f"{numbers.title}{when}", size=20, bold=True)
        what = f"{history.aircraft.name}, {sector.name}{numbers.whose}"
        self.words(24.0, 54.0, what, fill=IDLE)

    def phases(self, history):
        """Stripes with their names above, the narrow ones' in a lower row with a leader."""
        phases, numbers = history.sector.phases, self.numbers
        ends = [*(p.start for p in phases[1:]), history.sector.end]
        spans = [
            (p.name, self.x(max(p.start, numbers.start)), self.x(min(e, numbers.end)), i)
            for i, (p, e) in enumerate(zip(phases, ends, strict=True))
            if p.start < numbers.end and e > numbers.start
        ]
        for _, left, right, number in spans:
            if number % 2:
                self.box(left, _NAMES_AT - 17.0, right, self.foot, SHADE)
        wide = [s for s in spans if text_width(s[0], size=_SIZE) <= s[2] - s[1]]
        for name, left, right, _ in wide:
            self.words(0.5 * (left + right), _NAMES_AT, name, anchor="center")
        self._narrow([(s[0], 0.5 * (s[1] + s[2])) for s in spans if s not in wide])

    def _narrow(self, names):
        widths = [text_width(name, size=_SIZE) for name, _ in names]
        places = spread([x for _, x in names], widths, (24.0, _WIDTH - 24.0))
        for (name, x), place, width in zip(names, places, widths, strict=True):
            near = min(max(x, place - width / 2), place + width / 2)
            self.line((near, x), (_LOWER_NAMES_AT + 3.0, _LOWER_NAMES_AT + 11.0), colour=IDLE)
            self.words(place, _LOWER_NAMES_AT, name, anchor="center")

    def panel(self, panel, top, foot):
        """A scale with its lines, each with its name at its end."""
        steps, low, high = _scale(panel, foot - top)

        def height(value):
            return foot - (foot - top) * (value - low) / (high - low)

        place = (_LEFT / _WIDTH, 1.0 - foot / self.height,
                 (_RIGHT - _LEFT) / _WIDTH, (foot - top) / self.height)  # fmt: skip
        if panel.band:
            self.box(_LEFT, height(panel.band[1]), _RIGHT, height(panel.band[0]), FUEL)
        for value in steps:
            self.line((_LEFT, _RIGHT), (height(value),) * 2, colour=FAINT)
            self.words(_LEFT - 8.0, height(value) + 5.0, _number(value, steps), anchor="right")
        self.words(24.0, top - 15.0, f"{panel.title}, {panel.unit}", bold=True)
        for event in self.numbers.events:
            self.line((self.x(event.time),) * 2, (top, foot), colour=IDLE, dashes=(2.0, 5.0))
        for limit in panel.limits:
            if low <= limit.value <= high and limit in panel.near:
                self._limit(limit, height(limit.value))
        axes = self._axes((self.numbers.start, self.numbers.end), (low, high), place)
        axes.set_zorder(2)
        pens = _pens(panel.curves)
        for curve, (colour, width, dashes) in zip(panel.curves, pens, strict=True):
            for xs, ys in _runs(self.numbers.times, curve.values):
                self.line(xs, ys, colour=colour, width=width, dashes=dashes, axes=axes)
        self._labels(panel, pens, height, top, foot)

    def _limit(self, limit, y):
        self.line((_LEFT, _RIGHT), (y, y), colour=INK, width=1.4, dashes=_LIMIT_DASHES)
        foot = y + 16.0 if limit.below else y - 5.0
        self.words(self._free(), foot, limit.words, anchor="center")

    def _free(self):
        """Middle of the widest stretch without a change that has words [px]."""
        edges = np.array([_LEFT, *(self.x(e.time) for e in self.numbers.events), _RIGHT])
        widest = int(np.argmax(np.diff(edges)))
        return float(edges[widest : widest + 2].mean())

    def _labels(self, panel, pens, height, top, foot):
        """Names at the right, moved apart, each with a sample of its line and a leader to it."""
        ends = []
        for curve, pen in zip(panel.curves, pens, strict=True):
            known = np.flatnonzero(~np.isnan(curve.values))
            if known.size:
                time = self.numbers.times[known[-1]]
                ends.append((height(curve.values[known[-1]]), self.x(time), curve.label, pen))
        ends.sort(key=lambda end: round(end[0]))  # what ends alike keeps its order
        places = spread([end[0] for end in ends], [16.0] * len(ends),
                        (top - 8.0, foot + 10.0), gap=2.0)  # fmt: skip
        for (y, x, label, (colour, width, dashes)), place in zip(ends, places, strict=True):
            if x > _RIGHT - 2.0:
                self.line((x + 2.0, _RIGHT + 18.0), (y, place), colour=IDLE)
            self.line((_RIGHT + 20.0, _RIGHT + 56.0), (place, place),
                      colour=colour, width=width, dashes=dashes)  # fmt: skip
            self.words(_RIGHT + 62.0, place + 5.0, label)

    def time_axis(self):
        """Times as h:mm under the last panel; a long tick at each, a short one at each change."""
        numbers, y = self.numbers, self.foot
        self.line((_LEFT, _RIGHT), (y + 4.0, y + 4.0), width=1.2)
        length = numbers.end - numbers.start
        step = next((s for s in _TIME_STEPS if length <= 13.0 * s), _TIME_STEPS[-1])
        for time in np.arange(np.ceil(numbers.start / step) * step, numbers.end + 1.0, step):
            self.line((self.x(time),) * 2, (y + 4.0, y + 11.0), width=1.2)
            words = clock(time) if step < 60.0 else clock(time)[:-3]
            self.words(self.x(time), y + 26.0, words, anchor="center")
        self.words(_RIGHT + 36.0, y + 26.0, "time, h:mm" if step >= 60.0 else "time, h:mm:ss")

    def numerals(self):
        """A tick over the panels at each change, and a number where it has words."""
        events = self.numbers.events
        for time in self.numbers.ticks:
            self.line((self.x(time),) * 2, (_STRIP_AT + 3.0, _STRIP_AT + 9.0), width=1.2)
        places = spread([self.x(e.time) for e in events], [16.0] * len(events),
                        (_LEFT - 30.0, _RIGHT + 40.0), gap=3.0)  # fmt: skip
        for i, place in enumerate(places, start=1):
            self.words(place, _STRIP_AT, str(i), bold=True, anchor="center")

    def key(self, columns):
        """What the numbers stand for, column by column."""
        rows = -(-len(self.numbers.events) // len(columns))
        width = columns[1] - columns[0] - 38.0
        for i, event in enumerate(self.numbers.events):
            x, y = columns[i // rows], self.foot + _UNDER + _ROW * (i % rows)
            self.words(x + 18.0, y, str(i + 1), bold=True, anchor="right")
            first, *rest = wrapped(_event(event), width, size=_SIZE)
            self.words(x + 26.0, y, f"{first} …" if rest else first)

    def content(self):
        """What was drawn, as the inside of an SVG."""
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        target = StringIO()
        self.figure.savefig(target, format="svg", metadata=nothing, transparent=True)
        return _plain(target.getvalue())


# -------------------------------------------------------------------------------- small helpers
def _runs(times, values):
    """Stretches of a line without gaps, as times and values."""
    known = ~np.isnan(values)
    edges = np.flatnonzero(np.diff(known.astype(int))) + 1
    for xs, ys in zip(np.split(times, edges), np.split(values, edges), strict=True):
        if not np.isnan(ys[0]) and xs.size > 1:
            yield xs, ys


def _pens(curves):
    """Colour, width and dashes of each line, by the side on which it lies."""
    stores = {-1: cycle(_LEFT_PENS), 1: cycle(_RIGHT_PENS), 0: cycle(_MIDDLE_PENS)}
    return [next(stores[int(curve.side)]) for curve in curves]


def _scale(panel, height):
    """Round levels of a panel's scale for a height [px], and its ends."""
    from matplotlib.ticker import MaxNLocator

    low, high = panel.reach
    bins = int(min(6, max(2, height // 26)))
    steps = MaxNLocator(nbins=bins, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return steps, float(steps[0]), float(steps[-1])


def _number(value, steps):
    """A number at the scale, with as many places as its steps need."""
    step = float(steps[1] - steps[0])
    places = 0 if step >= 1.0 and step == int(step) else 1
    return f"{value:,.{places}f}".replace(",", " ").replace("-", "−")


_STYLED = re.compile(r' style="([^"]*)"')
_KEPT = {"fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin",
         "stroke-linecap", "text-anchor", "font-size", "font-weight"}  # fmt: skip


def _plain(svg):
    """The inside of matplotlib's SVG: styles as attributes, no names, no comments, no fonts."""
    inside = svg[svg.index("<svg") :]
    inside = inside[inside.index(">") + 1 : inside.rindex("</svg>")]
    inside = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>|<defs>.*?</defs>", "", inside,
                    flags=re.S)  # fmt: skip
    inside = re.sub(r' id="[^"]*"| transform="rotate\(-?0 [^"]*\)"', "", inside)
    return re.sub(r"\n\s*", " ", _STYLED.sub(_attributes, inside))


def _attributes(match):
    found = dict(part.strip().split(": ", 1) for part in match[1].split(";") if ": " in part)
    if "font" in found:  # "700 14px 'Name', sans-serif"
        weight, size = re.match(r"(?:(\d+|bold) )?([\d.]+)px", found["font"]).groups()
        found |= {"font-size": size, "font-weight": weight or "400"}
    written = {k: v.removesuffix("px") for k, v in found.items() if k in _KEPT}
    return "".join(f' {key}="{value}"' for key, value in written.items())
