"""What stands around the schematic: what the crew is told, what is set by hand, the legend."""

from fuelkit.show import symbols
from fuelkit.show.faults import failure_words
from fuelkit.show.palette import CAUTION, FLOW, IDLE, INK, PAPER, SAFETY, SHADE, WARNING
from fuelkit.show.routes import EMPTY, FLOWING, PRESSED, UNKNOWN
from fuelkit.show.svg import arrowheads, element, plate, polyline, text, text_width, wrapped
from fuelkit.show.words import alarm_of, free_switches, told

_WIDTH, _TOP = 156.0, 408.0
_HIGHEST, _FOOT, _PANEL_GAP = 362.0, 672.0, 8.0  # between what panels stand, and apart [px]
_LEVELS = {"warning": (WARNING, PAPER), "caution": (CAUTION, INK), "advisory": (PAPER, INK)}


def notes_drawn(plan, picture, hidden, runs, *, blank=False):
    """Return the two panels, the legend and the line about safety; or all of it to be filled in."""
    if blank:
        panels = _column(14.0, [("Told to the crew", [([""], None)] * 4)])
        panels += _column(1110.0, _to_set(plan))
        return panels + _legend(plan, (), lines=_TO_DRAW) + _footer(plan)
    told = [("Told to the crew", _told_lines(plan.aircraft, picture, hidden))]
    if picture.failures:
        told.append(("Failed, in truth", _failure_lines(picture)))
    by_hand = [("Set by hand", _switch_lines(plan, picture))]
    if plan.aircraft.buses:
        by_hand.append(("Electrical", _bus_lines(plan.aircraft, picture)))
    return _column(14.0, told) + _column(1110.0, by_hand) + _legend(plan, runs) + _footer(plan)


def _to_set(plan):
    """The panels of what is set and what has power, each name with room for its state."""
    names = [switch.name for switch in _free(plan)]
    panels = [("Set by hand", _to_fill(names))] if names else []
    buses = [bus.name for bus in plan.aircraft.buses]
    return [*panels, ("Electrical", _to_fill(buses))] if buses else panels


def _to_fill(names):
    return [(wrapped(f"{name}:", _WIDTH - 20, size=14), None) for name in names]


def _column(x, panels):
    """Panels under each other; they start higher up if they are long, and end over the legend."""
    panels = _fitting(panels, _FOOT - _HIGHEST)
    heights = [_height(blocks) for _, blocks in panels]
    top = min(_TOP, _FOOT - sum(heights) - _PANEL_GAP * (len(panels) - 1))
    drawn = []
    for (heading, blocks), height in zip(panels, heights, strict=True):
        drawn.append(_panel(x, heading, blocks, top))
        top += height + _PANEL_GAP
    return "".join(drawn)


def _fitting(panels, height):
    """Panels that fit: of the last one, then of those before, what does not stands in the table."""
    panels = [(heading, list(blocks)) for heading, blocks in panels]
    left_out = [0] * len(panels)
    while sum(_height(b) for _, b in panels) + _PANEL_GAP * (len(panels) - 1) > height:
        long = [i for i, (_, b) in enumerate(panels) if len(b) > bool(left_out[i])]
        if not long:
            break
        last = long[-1]
        del panels[last][1][-2 if left_out[last] else -1 :]
        left_out[last] += 1
        panels[last][1].append(([f"{left_out[last]} more: see table"], None))
    return panels


def _height(blocks):
    return 32.0 + sum(16 * len(lines) + 9 + (4 if ground else 0) for lines, ground in blocks)


def _panel(x, heading, blocks, top):
    drawn, y = [text(x + 10, top + 22, heading, bold=True)], top + 46
    for lines, ground in blocks:
        if ground:
            colour, ink = ground
            tag = {"fill": ink, "ground": colour, "edge": INK}
            drawn.append(plate(x + 14, y, lines[0], size=14, bold=True, anchor="start", **tag))
            lines, y = lines[1:], y + 20
        drawn.append(text(x + 10, y, lines, size=14))
        y += 16 * len(lines) + 9
    frame = element("rect", x=x, y=top, width=_WIDTH, height=y - 14 - top, rx=6, fill=SHADE)
    return frame + "".join(drawn)


def _failure_lines(view):
    return [
        (wrapped(failure_words(view, failure), _WIDTH - 20, size=14), None)
        for failure in view.failures
    ]


def _told_lines(aircraft, picture, hidden):
    shown, held = told(aircraft, picture, hidden)
    blocks = [
        ([alert.level.upper(), *wrapped(alert.name, _WIDTH - 20, size=14)], _LEVELS[alert.level])
        for alert in shown
    ]
    if held:
        blocks.append(
            (wrapped("The rest is not shown while you predict.", _WIDTH - 20, size=14), None)
        )
    return blocks or [(["Nothing."], None)]


def _switch_lines(plan, picture):
    lines = [
        (wrapped(_position(s.name, picture), _WIDTH - 20, size=14), None) for s in _free(plan)
    ] or [(wrapped("Each switch is shown beside its part.", _WIDTH - 20, size=14), None)]
    return lines


def _free(plan):
    parts = (
        *plan.aircraft.pumps,
        *(p for p in plan.lines if p.kind == "valve" and p.group == "feed"),
    )
    return free_switches(plan.aircraft, parts)


def _position(name, picture):
    stuck = ", stuck" if picture.failure_of(name, "stuck") else ""
    return f"{name}: {picture.positions[name]}{stuck}"


def _bus_lines(aircraft, picture):
    """The electrical buses; one that is DEAD stands on amber or red if the crew is told of it."""
    blocks = []
    for bus in sorted(aircraft.buses, key=lambda bus: picture.positions[bus.name]):  # DEAD first
        state = picture.positions[bus.name]
        if state == "DEAD":
            level = alarm_of(aircraft, picture, bus.name) or "advisory"
            words = [state, *wrapped(bus.name, _WIDTH - 20, size=14)]
            blocks.append((words, _LEVELS[level]))
        else:
            blocks.append((wrapped(f"{bus.name}: {state}", _WIDTH - 20, size=14), None))
    return blocks


def _legend(plan, runs, lines=None):
    """One sample of each kind of line on the drawing, and of the symbols, in one row."""
    samples = [*(lines or _line_samples(runs)), *_symbol_samples(plan)]
    widths = [text_width(words, size=14) for words, _ in samples]
    step, size = 58.0, 14
    if sum(widths) + step * len(samples) > 1248.0:
        step, size = 52.0, 12
    drawn, x, y = [], 24.0, 685.0
    for words, sample in samples:
        drawn.append(sample(x, y) + text(x + 42, y + 5, words, size=size))
        x += step + text_width(words, size=size)
    return "".join(drawn)


def _line_samples(runs):
    cold = {run.state for run in runs if not run.hot}
    if FLOWING in cold:
        yield "fuel flows", _line(FLOW, 4, arrow=True)
    if PRESSED in cold:
        yield "pressure, no flow", _hollow_line
    if EMPTY in cold:
        yield "no pressure", _line(IDLE, 1.2)
    if any(run.hot for run in runs):
        yield "hot return", _line(FLOW, 4, dashes="12 4", arrow=True)
    if UNKNOWN in {run.state for run in runs}:
        yield "flow not shown yet", _line(IDLE, 1.6, dashes="3 5")


def _line(colour, width, *, dashes=None, arrow=False):
    def sample(x, y):
        points = [(x, y), (x + 36, y)]
        head = arrowheads(points, fill=colour) if arrow else ""
        return polyline(points, stroke=colour, width=width, stroke_dasharray=dashes) + head

    return sample


def _hollow_line(x, y):
    return _line(IDLE, 5)(x, y) + _line(PAPER, 1.8)(x, y)


def _symbol_samples(plan):
    kinds = {line.kind for line in plan.lines}
    left_out = {"check valve": "check valve", "sequence valve": "relief valve",
                "jet pump": "jet pump"}  # fmt: skip
    for words, sample in _SYMBOL_SAMPLES:
        if words == "overboard" and not plan.outlets:
            continue
        if words not in left_out or left_out[words] in kinds:
            yield words, sample


def _symbol(drawn):
    return lambda x, y: element("g", drawn, transform=f"translate({x + 18:g},{y:g}) scale(0.7)")


def _cross_hatch(x, y):
    lines = " ".join(
        f"M{x + i:g},{y - 5:g} l10,10 M{x + i + 10:g},{y - 5:g} l-10,10" for i in range(0, 30, 6)
    )
    return element("path", d=lines, stroke=INK, stroke_width=1, fill="none")


_SYMBOL_SAMPLES = (
    ("pump", _symbol(symbols.pump(0, 0, "RUN"))),
    ("valve", _symbol(symbols.valve(0, 0, "OPEN", upright=False))),
    ("check valve", _symbol(symbols.check_valve(0, 0, sprung=False, flows=False))),
    ("sequence valve", _symbol(symbols.check_valve(0, 0, sprung=True, flows=False))),
    ("jet pump", _symbol(symbols.jet_pump(0, 0, flows=False))),
    ("overboard", _symbol(symbols.outlet(0, 0, flows=False))),
    ("below the lowest inlet", _cross_hatch),
)


def _footer(plan):
    shape = next(iter(plan.shapes.values()))
    ratio = shape.upward / shape.across
    heights = f"; heights {ratio:.1f} times larger" if ratio > 1.05 else ""
    view = f"Tanks seen from behind, to one scale{heights}."
    return text(24, 713, SAFETY, size=14, fill=IDLE) + text(
        1256, 713, view, size=14, fill=IDLE, anchor="end"
    )


_TO_DRAW = (
    ("fuel flows", _line(FLOW, 4, arrow=True)),
    ("pressure, no flow", _hollow_line),
    ("no pressure", _line(IDLE, 1.2)),
)
"""How lines are drawn by hand on a blank sheet."""
