"""The bars of the planning page: block fuel by every rule set, and masses against their limits."""

from math import floor, log10

from fuelkit.figures.limits import tank_capacity
from fuelkit.physics.writing import grouped, mass_text
from fuelkit.show.palette import (
    EDGE,
    FAINT,
    FLOW,
    FUEL,
    HATCH,
    IDLE,
    INK,
    PAPER,
    SHADE,
    WARNING,
)
from fuelkit.show.planner_words import PARTS, floor_words, margin_words
from fuelkit.show.svg import drawing, element, path_of, plate, polyline, text, text_width, wrapped

WIDTH = 960
"""px; narrow, so that letters are large enough beside the panels of a notebook."""

_LEFT, _RIGHT = 232.0, WIDTH - 14.0  # where bars begin, and where full tanks end
_TALL, _LOW, _ROW = 34.0, 14.0, 44.0  # height of the chosen bar, of another, of its row at least
_SMALL, _STEP = 13, 15  # letters and lines of them
_MASSES = ("zero-fuel mass", "take-off mass", "landing mass", "tank capacity")
# Ground of each part, and how it is hatched: told apart without colour.
_LOOKS = {
    "taxi": (SHADE, "dots"), "trip": (FUEL, ""), "contingency": (PAPER, "rising"),
    "alternate": (SHADE, "upright"), "final_reserve": (HATCH, ""),
    "additional": (PAPER, "falling"), "extra": (PAPER, "level"),
    "discretionary": (PAPER, "crossed"), "made_up": (FAINT, "dots"),
}  # fmt: skip


def planner_drawing(aircraft, found, *, density, label):
    """Return the drawing of what every rule set makes of a flight.

    Parameters
    ----------
    aircraft : Aircraft
    found : tuple of Outcome
        The chosen rule set first.
    density : float
        Of the fuel; full tanks are the full width of the bars. [kg/m³]
    label : str
        What the drawing shows, for those who do not see it.
    """
    full = tank_capacity(aircraft, density)
    scale = (_RIGHT - _LEFT) / full
    pieces, y = [_chosen(found[0], scale)], 128.0
    for other in found[1:]:
        pieces.append(_other(other, found[0], y, scale))
        y += max(_ROW, _STEP * (len(_title(other)) + 1) + 6.0)
    axis = _axis(full, scale, 52.0, y)
    pieces.append(_masses(found[0], y + 44.0))
    return drawing(axis + "".join(pieces), height=int(y + 152.0), label=label, width=WIDTH)


# ---------------------------------------------------------------------------------- the bars
def _chosen(outcome, scale):
    """The bar of the chosen rule set, with its words above and its floors below."""
    y, plan = 62.0, outcome.plan
    words = _aside(outcome, y - 34.0, "", chosen=True)
    if plan is None:
        return _group(outcome, words + _no_plan(outcome, y, _TALL))
    bar = _stack(plan, y, _TALL, scale)
    return _group(
        outcome, words + bar + _names(plan, y, scale) + _floors(outcome, y + _TALL, scale)
    )


def _other(outcome, chosen, y, scale):
    difference = ""
    if outcome.plan and chosen.plan:
        difference = _difference(outcome.plan.block - chosen.plan.block)
    words = _aside(outcome, y + 12.0, difference)
    if outcome.plan is None:
        return _group(outcome, words + _no_plan(outcome, y, _LOW))
    bar = _stack(outcome.plan, y, _LOW, scale)
    return _group(outcome, words + bar + _floors(outcome, y + _LOW, scale))


def _group(outcome, content):
    return element("g", content, data_rule=outcome.policy.name)


def _difference(more):
    if abs(more) < 0.5:
        return ", the same"
    return f", {mass_text(abs(more))} {'more' if more > 0 else 'less'}"


def _aside(outcome, y, difference, *, chosen=False):
    """What stands left of a bar: the rule set and its block fuel."""
    block = f"block {mass_text(outcome.plan.block)}{difference}" if outcome.plan else "no plan"
    lines = _title(outcome)
    title = text(0.0, y, lines, size=_SMALL, bold=True, step=_STEP)
    size = 15 if chosen else _SMALL
    foot = y + _STEP * len(lines) + (4.0 if chosen else 0.0)
    return title + text(0.0, foot, block, size=size, bold=chosen)


def _title(outcome):
    return wrapped(outcome.policy.title, _LEFT - 12.0, size=_SMALL, bold=True)


def _no_plan(outcome, y, height):
    lines = wrapped(f"No plan: {outcome.first_sentence}", _RIGHT - _LEFT - 16.0, size=_SMALL)
    frame = element(
        "rect", x=_LEFT, y=y - 2.0, width=_RIGHT - _LEFT,
        height=max(height, float(_STEP * len(lines))) + 5.0, fill=PAPER, stroke=EDGE,
        stroke_dasharray="4 3",
    )  # fmt: skip
    return frame + text(_LEFT + 8.0, y + 11.0, lines, size=_SMALL)


def _spans(plan, scale):
    """Name, where it begins and how wide it is, of every part that there is."""
    at = _LEFT
    for name in PARTS:
        width = getattr(plan, name) * scale
        if width > 0.0:
            yield name, at, width
        at += width


def _stack(plan, y, height, scale):
    return "".join(
        element("g", _segment(name, x, y, width, height), data_part=name)
        for name, x, width in _spans(plan, scale)
    )


def _segment(name, x, y, width, height):
    ground, hatch = _LOOKS[name]
    box = {"x": x, "y": y, "width": width, "height": height}
    lines = _hatch(hatch, x, y, width, height)
    drawn = element("path", d=lines, fill="none", stroke=IDLE, stroke_width=1.2) if lines else ""
    return (
        element("rect", fill=ground, **box)
        + drawn
        + element("rect", fill="none", stroke=INK, stroke_width=1, **box)
    )


def _hatch(kind, x, y, width, height):
    """The path of a hatching within a box."""
    if kind == "upright":
        steps = range(1, int(width / 5.0) + 1)
        return " ".join(path_of([(x + 5.0 * i, y), (x + 5.0 * i, y + height)]) for i in steps)
    if kind == "level":
        steps = range(1, int(height / 4.0) + 1)
        return " ".join(path_of([(x, y + 4.0 * i), (x + width, y + 4.0 * i)]) for i in steps)
    if kind == "dots":
        across, down = range(int(width / 5.0)), range(int(height / 5.0))
        dots = [(x + 5.0 * i + 2.5, y + 5.0 * j + 2.5) for i in across for j in down]
        return " ".join(path_of([(a, b), (a + 1.2, b)]) for a, b in dots)
    slants = {"rising": (1,), "falling": (-1,), "crossed": (1, -1)}.get(kind, ())
    return " ".join(_slanted(slant, x, y, width, height) for slant in slants)


def _slanted(slant, x, y, width, height):
    """Lines at 45°, cut off at the box: each from foot to head, `slant` tells which way."""
    found, start = [], -height + 3.0
    while start < width:
        low, high = max(0.0, start), min(width, start + height)
        if high > low:
            ends = [(low, low - start), (high, high - start)]  # across, and up from the foot
            foot, way = (y + height, -1.0) if slant > 0 else (y, 1.0)
            found.append(path_of([(x + a, foot + way * b) for a, b in ends]))
        start += 6.0
    return " ".join(found)


# ------------------------------------------------------------------------- words of the bars
def spread(centres, widths, low, high, gap=10.0):
    """Return places near the centres at which labels of these widths do not touch. [px]

    Examples
    --------
    >>> spread([50.0, 52.0], [20.0, 20.0], 0.0, 100.0)
    [50.0, 80.0]
    """
    places, least = [], low
    for centre, width in zip(centres, widths, strict=True):
        places.append(max(centre, least + width / 2))
        least = places[-1] + width / 2 + gap
    most = high
    for i in reversed(range(len(places))):
        places[i] = min(places[i], most - widths[i] / 2)
        most = places[i] - widths[i] / 2 - gap
    return places


def _names(plan, y, scale):
    """Word and kg of every part, in a row above the bar, each led to its part."""
    spans = list(_spans(plan, scale))
    words = [(PARTS[name], mass_text(getattr(plan, name))) for name, _, _ in spans]
    widths = [max(text_width(w, size=_SMALL, bold=True) for w in pair) for pair in words]
    centres = [x + width / 2 for _, x, width in spans]
    drawn = []
    for pair, centre, place in zip(
        words, centres, spread(centres, widths, _LEFT, WIDTH - 2.0, 8.0), strict=True
    ):
        lead = [(place, y - 16.0), (centre, y - 2.0), (centre, y + 3.0)]
        drawn.append(polyline(lead, stroke=IDLE, width=1))
        drawn.append(text(place, y - 34.0, pair[0], size=_SMALL, bold=True, anchor="middle"))
        drawn.append(text(place, y - 20.0, pair[1], size=_SMALL, anchor="middle"))
    return "".join(drawn)


def _floors(outcome, y, scale):
    """Below a bar: what contingency and final reserve may not be less than, each with a word."""
    at = {name: (x, x + width) for name, x, width in _spans(outcome.plan, scale)}
    least, reserve = floor_words(outcome)
    marks = []
    if least and "contingency" in at:
        start = at["contingency"][0]
        marks.append((start, start + outcome.floor * scale, least))
    marks.append((*at["final_reserve"], reserve))
    widths = [text_width(words, size=_SMALL) for *_, words in marks]
    centres = [0.5 * (start + end) for start, end, _ in marks]
    places = spread(centres, widths, _LEFT, WIDTH - 2.0, 14.0)
    return "".join(_floor(*mark, place, y) for mark, place in zip(marks, places, strict=True))


def _floor(start, end, words, place, y):
    """A bracket as long as the least amount, its end ticked, with its words below."""
    bracket = [(start, y + 5.0), (end, y + 5.0)]
    tick = polyline([(end, y - 3.0), (end, y + 8.0)], stroke=INK, width=3)
    lead = polyline([(0.5 * (start + end), y + 5.0), (place, y + 10.0)], stroke=IDLE, width=1)
    return (
        lead
        + polyline(bracket, stroke=INK, width=2)
        + tick
        + plate(place, y + 21.0, words, size=_SMALL)
    )


def _axis(full, scale, top, bottom):
    """A scale in kg behind the bars, up to full tanks."""
    step = 10.0 ** floor(log10(full / 2.0))
    step = next(s * step for s in (1.0, 2.0, 5.0) if full / (s * step) <= 8.0)
    drawn = []
    for i in range(int(full / step - 0.35) + 1):
        x = _LEFT + i * step * scale
        drawn.append(polyline([(x, top), (x, bottom)], stroke=FAINT, width=1))
        words = grouped(i * step) if i else "0 kg"
        drawn.append(text(x, bottom + 14.0, words, size=_SMALL, fill=IDLE, anchor="middle"))
    drawn.append(polyline([(_RIGHT, top), (_RIGHT, bottom + 16.0)], stroke=EDGE, width=2))
    words = f"full tanks {mass_text(full)}"
    drawn.append(text(WIDTH - 2.0, bottom + 30.0, words, size=_SMALL, anchor="end"))
    return "".join(drawn)


# -------------------------------------------------------------------------------- the masses
def _masses(outcome, y):
    """Bars of masses and block fuel, each as a share of its limit; limits stand in one line."""
    title = text(0.0, y, "Against the limits", size=15, bold=True)
    limits = {x.name: x for x in outcome.limits}
    if not limits:
        return title + text(
            _LEFT, y + 24.0, "No masses are found for this flight: see above.", size=_SMALL
        )
    shown = [limits[name] for name in _MASSES]
    most = max(1.0, *(x.value / x.allowed for x in shown))
    long = 330.0 / most
    rows = "".join(_mass(x, y + 12.0 + 24.0 * i, long) for i, x in enumerate(shown))
    foot = y + 12.0 + 24.0 * len(shown)
    line = polyline([(_LEFT + long, y + 6.0), (_LEFT + long, foot)], stroke=INK, width=3)
    return (
        title + text(_LEFT + long + 6.0, y + 2.0, "limit", size=_SMALL, anchor="end") + rows + line
    )


def _mass(limit, y, long):
    share = limit.value / limit.allowed
    within = element(
        "rect", x=_LEFT, y=y, width=long * min(share, 1.0), height=16.0, fill=FUEL, stroke=FLOW
    )
    over = ""
    if share > 1.0:
        box = (_LEFT + long, y, long * (share - 1.0), 16.0)
        names = dict(zip(("x", "y", "width", "height"), box, strict=True))
        over = element("rect", fill=PAPER, stroke=WARNING, stroke_width=2, **names)
        over += element("path", d=_hatch("crossed", *box), stroke=WARNING, fill="none")
    words = f"{mass_text(limit.value)} of {mass_text(limit.allowed)}: {margin_words(limit)}"
    name = "block fuel in the tanks" if limit.name == "tank capacity" else limit.name
    return element(
        "g",
        text(0.0, y + 13.0, name, size=_SMALL)
        + within
        + over
        + text(_LEFT + 346.0, y + 13.0, words, size=_SMALL, bold=limit.margin < -1e-6),
        data_limit=limit.name,
    )
