"""The lower layers of the schematic: tanks with their fuel, lines with their flow, sensors."""

from fuelkit.physics.writing import mass_text
from fuelkit.show.palette import FLOW, FUEL, HATCH, IDLE, INK, PAPER
from fuelkit.show.routes import EMPTY, FLOWING, PRESSED, UNKNOWN
from fuelkit.show.svg import (
    arrowheads,
    element,
    plate,
    polygon,
    polyline,
    text,
    text_width,
    wrapped,
)
from fuelkit.show.symbols import joint, sensor
from fuelkit.show.tank_shapes import hatching
from fuelkit.show.variants import asked
from fuelkit.show.words import short_name

_STROKES = {FLOWING: (FLOW, 4.0), PRESSED: (IDLE, 5.0), EMPTY: (IDLE, 1.2), UNKNOWN: (IDLE, 1.6)}
_ORDER = (EMPTY, UNKNOWN, PRESSED, FLOWING)
_UNUSABLE_STEP = 5.0


def tanks_drawn(plan, picture, hidden):
    """Return every tank: outline, fuel to its level, unusable band, title, mass."""
    return "".join(
        element("g", _tank(plan, name, picture, name in hidden), data_part=name)
        for name in plan.shapes
    )


def _tank(plan, name, picture, is_hidden):
    shape = plan.shapes[name]
    drawn = polygon(shape.outline, fill=PAPER)
    if not is_hidden and picture.masses[name] > 0.0:
        drawn += _fuel(shape, picture.levels[name], picture.slope)
    drawn += _unusable(plan, shape)
    drawn += polygon(
        shape.outline, fill="none", stroke=INK, stroke_width=2, stroke_linejoin="round"
    )
    return drawn + _title(shape) + _mass(shape, name, picture, is_hidden)


def _fuel(shape, level, slope):
    fuel = shape.filled(level, slope)
    if not fuel:
        return ""
    lines = "".join(f"M{a[0]:.1f},{a[1]:.1f} L{b[0]:.1f},{b[1]:.1f} " for a, b in hatching(fuel))
    top = min(y for _, y in fuel)
    return (
        polygon(fuel, fill=FUEL, data_level=float(top))
        + element("path", d=lines.strip() or None, stroke=HATCH, stroke_width=1, fill="none")
        + polyline(shape.surface(level, slope), stroke=FLOW, width=2.4)
    )


def unusable_height(aircraft, tank):
    """Return the height [m] below which no pump or feed line of a tank reaches, or None."""
    parts = [*aircraft.pumps, *(line for line in aircraft.lines if line.inlet)]
    return min((part.inlet[2] for part in parts if part.start == tank.name), default=None)


def _unusable(plan, shape):
    height = unusable_height(plan.aircraft, shape.tank)
    band = shape.filled(height) if height is not None else []
    if not band:
        return ""
    rising = hatching(band)
    mirrored = hatching([(-x, y) for x, y in band])
    falling = [((-a[0], a[1]), (-b[0], b[1])) for a, b in mirrored]
    lines = "".join(
        f"M{a[0]:.1f},{a[1]:.1f} L{b[0]:.1f},{b[1]:.1f} " for a, b in (*rising, *falling)
    )
    return element("path", d=lines.strip(), stroke=INK, stroke_width=1, fill="none") + polyline(
        [p for p in band if p[1] <= min(y for _, y in band) + 1e-6], stroke=INK, width=1
    )


def _title(shape):
    """A tank's title stands over it; that of a tank without fuel under it, where there is room."""
    width = shape.right - shape.left
    lines = wrapped(shape.tank.title, max(width, 84.0), size=15, bold=True)
    if shape.tank.holds_fuel:
        half = 0.5 * min(width, 150.0)
        top = shape.highest(shape.middle - half, shape.middle + half)
        foot = top - 8.0 - 17.0 * (len(lines) - 1)
    else:
        foot = max(y for _, y in shape.outline) + 20.0
    return text(shape.middle, foot, lines, size=15, bold=True, anchor="middle")


def _mass(shape, name, picture, is_hidden):
    small = shape.right - shape.left < 100.0
    y = 0.5 * (shape.top(shape.middle) + shape.bottom(shape.middle)) + (5.0 if small else 6.0)
    size = 13 if small else 18

    def written(words):
        if small:
            return text(shape.middle, y, words, size=size, bold=True, anchor="middle")
        return plate(shape.middle, y, words, size=size, bold=True)

    if is_hidden:
        return asked(name, (shape.middle - 56.0, y - 23.0, 112.0, 34.0), {}, written)
    return written(mass_text(picture.masses[name]))


def lines_drawn(runs, joints):
    """Return all lines, those that carry fuel on top, with arrowheads and joints."""
    drawn = []
    for state in _ORDER:
        drawn += [_run(run) for run in runs if run.state == state]
        if state == PRESSED:
            drawn += [polyline(r.points, stroke=PAPER, width=1.8) for r in runs if r.state == state]
        drawn += [joint(*j.at, *_STROKES[state]) for j in joints if j.state == state]
    return "".join(drawn)


def _run(run):
    colour, width = _STROKES[run.state]
    dashes = {UNKNOWN: "3 5"}.get(run.state) or ("12 4" if run.hot else None)
    casing = polyline(run.points, stroke=PAPER, width=width + 4.0)
    line = polyline(
        run.points, stroke=colour, width=width, stroke_dasharray=dashes, data_line=run.state
    )
    heads = arrowheads(run.points, fill=colour) if run.state == FLOWING else ""
    return (casing if run.hot else "") + line + heads


def sensors_drawn(plan, picture, hidden):
    """Return the level sensors at their true places, WET or DRY."""
    drawn = []
    for part in plan.aircraft.sensors:
        shape = plan.shapes[part.tank]
        x, y = shape.x(part.position[1]), shape.y(part.position[2])
        y = min(y, shape.bottom(shape.inside(x, 1.0)) - 3.0)
        covered = part.name in hidden or part.tank in hidden
        state = "?" if covered else picture.positions[part.name]
        words = f"{short_name(plan.aircraft, part)} {state}"
        left, foot, anchor = _beside(shape, x, y, text_width(words, size=15))
        label = plate(left, foot, words, size=15, anchor=anchor)
        content = sensor(x, y, state) + label
        drawn.append(element("g", content, data_part=part.name, data_state=state))
    return "".join(drawn)


def _beside(shape, x, y, width):
    """Place, foot and anchor of a label beside a point, inside the tank and near the point."""
    found = []
    for start, anchor in ((x + 11.0, "start"), (x - 11.0 - width, "end")):
        ends = [shape.inside(at, 1.0) for at in (start, start + width)]
        lowest, highest = min(map(shape.bottom, ends)) - 7.0, max(map(shape.top, ends)) + 16.0
        foot = min(max(y + 5.0, highest), lowest)
        outside = max(0.0, shape.left - start, start + width - shape.right)
        found.append((abs(foot - y - 5.0) + 10.0 * outside, start, foot, anchor))
    _, start, foot, anchor = min(found)
    return (start if anchor == "start" else start + width), foot, anchor
