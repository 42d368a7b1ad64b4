"""The lower layers of the schematic: tanks with their fuel, lines with their flow."""

from functools import lru_cache
from itertools import product

from fuelkit.physics.writing import mass_text
from fuelkit.show.palette import FLOW, FUEL, HATCH, IDLE, INK, PAPER
from fuelkit.show.places import symbols_taken
from fuelkit.show.room import Room
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
from fuelkit.show.symbols import HALO, joint
from fuelkit.show.tank_shapes import hatching
from fuelkit.show.variants import asked
from fuelkit.show.words import flow_text

_STROKES = {FLOWING: (FLOW, 4.0), PRESSED: (IDLE, 5.0), EMPTY: (IDLE, 1.2), UNKNOWN: (IDLE, 1.6)}
_ORDER = (EMPTY, UNKNOWN, PRESSED, FLOWING)
_FLAT = 30.0  # px; a tank less high has no room for a sensor over its mass
_TITLE, _TITLE_STEP = 15, 17.0  # height of a title's letters and of its lines [px]
_ASIDE = (0.0, *(side * shift for shift in (8.0, 16.0, 24.0, 32.0, 48.0, 64.0) for side in (1, -1)))


def tanks_drawn(plan, picture, hidden):
    """Return every tank: outline, fuel to its level, unusable band, title, mass."""
    titles = title_places(plan)
    return "".join(
        element("g", _tank(plan, name, picture, name in hidden) + _title(place), data_part=name)
        for name, place in titles.items()
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
    return drawn + _mass(plan, shape, picture, is_hidden)


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


def _title(place):
    lines, foot, middle = place
    return text(middle, foot, lines, size=_TITLE, bold=True, anchor="middle", **HALO)


@lru_cache(maxsize=8)
def title_places(plan):
    """Return for each tank the lines of its title, the foot of the first and their middle. [px]

    A title stands over its tank, that of a tank without fuel under it, where there is room; as
    much aside or further off as it takes to stand clear of its neighbours' and of what leads into
    its tank from above.
    """
    room, found = Room(_leads_from_above(plan)), {}
    for name, shape in plan.shapes.items():
        lines, foot = _title_place(shape)
        found[name] = lines, *room.best(_title_spots(shape, lines, foot))
    return found


def _title_spots(shape, lines, foot):
    """Places for a title with what each costs: over its tank, a little aside, further off."""
    step = -_TITLE_STEP if shape.tank.holds_fuel else _TITLE_STEP
    for i, aside in product(range(4), _ASIDE):
        at = foot + step * i, shape.middle + aside
        yield 20.0 * i + 0.4 * abs(aside), _title_box(lines, *at), at


def _leads_from_above(plan):
    """Yield what refuelling lines cover over their tanks, and fillers with their words. [px]"""
    for line in plan.lines:
        if line.group == "refuelling" and plan.is_tank(line.end):
            shape = plan.shapes[line.end]
            x = plan.turn_at(line, shape)
            yield x - 6.0, plan.places[line.name][1], x + 6.0, shape.top(x)
    for filler in plan.aircraft.fillers:
        x, y = plan.places[filler.name]
        words = max(text_width("filler"), text_width(flow_text(filler.flow)))
        yield x - 12.0, y - 24.0, x + 20.0 + words, y + 28.0


def title_boxes(plan):
    """Return what the titles of the tanks cover, as rectangles. [px]"""
    places = title_places(plan)
    return [_title_box(*place) for place in places.values()]


def _title_box(lines, foot, middle):
    half = 0.5 * max(text_width(line, size=_TITLE, bold=True) for line in lines) + 2.0
    top, low = foot - _TITLE + 2.0, foot + _TITLE_STEP * (len(lines) - 1) + 4.0
    return middle - half, top, middle + half, low


def _title_place(shape):
    width = shape.right - shape.left
    lines = wrapped(shape.tank.title, max(width, 84.0), size=_TITLE, bold=True)
    if shape.tank.holds_fuel:
        half = 0.5 * min(width, 150.0)
        top = shape.highest(shape.middle - half, shape.middle + half)
        return lines, top - 8.0 - _TITLE_STEP * (len(lines) - 1)
    return lines, max(y for _, y in shape.outline) + 20.0


def _mass(plan, shape, picture, is_hidden):
    name, small = shape.tank.name, is_small(shape)
    x, y, size = *mass_place(plan, shape), 13 if small else 18

    def written(words):
        if small:
            return text(x, y, words, size=size, bold=True, anchor="middle")
        return plate(x, y, words, size=size, bold=True)

    if is_hidden:
        return asked(name, (x - 56.0, y - 23.0, 112.0, 34.0), {}, written)
    drawn = written(mass_text(picture.masses[name]))
    if name in picture.readings:
        drawn += plate(x, y + 19.0, f"gauge shows {picture.readings[name]}", size=14, edge=INK)
    return drawn


def is_small(shape):
    """Return whether a tank has room for small letters only."""
    return shape.right - shape.left < 100.0


def mass_place(plan, shape):
    """Return where the foot of a tank's mass stands: in the middle. [px]

    In a flat tank, aside of sensors and symbols that stand there.
    """
    x = shape.middle
    if shape.bottom(x) - shape.top(x) < _FLAT:
        room = Room(symbols_taken(plan))
        for sensor in plan.aircraft.sensors:
            if sensor.tank == shape.tank.name:
                at, y = shape.x(sensor.position[1]), shape.y(sensor.position[2])
                room.take((at - 7.0, y - 7.0, at + 7.0, y + 7.0))
        x = room.best(_aside(shape))
    return x, 0.5 * (shape.top(x) + shape.bottom(x)) + (5.0 if is_small(shape) else 6.0)


def _aside(shape):
    for share in (0.5, 0.36, 0.64, 0.24, 0.76):
        x = shape.left + share * (shape.right - shape.left)
        y = 0.5 * (shape.top(x) + shape.bottom(x))
        yield 40.0 * abs(share - 0.5), (x - 38.0, y - 8.0, x + 38.0, y + 8.0), x


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
