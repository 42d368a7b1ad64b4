"""Where parts stand on the drawing, and which of them are drawn at all.

An aircraft file gives `at` on a board of 1280 × 720. A part without it is put between its ends.
"""

from dataclasses import dataclass
from functools import lru_cache

from fuelkit.aircraft.model import Consumer, Pump
from fuelkit.show.tank_shapes import tank_shapes

_RIGHT_EDGE = 1140.0  # px; beyond it there is no room for words
_HEADROOM = 134.0  # px; over the tanks, for refuelling lines


@dataclass(frozen=True, eq=False)
class Plan:
    """What one drawing shows and where. Frozen.

    shapes : dict of str to TankShape
    places : dict of str to (float, float)
        Pumps, lines, consumers, returns, junctions and the coupling. [px]
    lines : tuple of Line
        The lines that are drawn.
    """

    aircraft: object
    shapes: dict
    places: dict
    lines: tuple

    def is_tank(self, node):
        """Whether a node is a tank."""
        return node in self.shapes

    @property
    def parts(self):
        """Pumps and lines that are drawn."""
        return self.aircraft.pumps + self.lines

    @property
    def jet_pumps(self):
        """The jet pumps that are drawn."""
        return tuple(line for line in self.lines if line.kind == "jet pump")

    @property
    def outlets(self):
        """The openings overboard at the end of a line that is drawn."""
        ends = {line.end for line in self.lines}
        return tuple(outlet for outlet in self.aircraft.outlets if outlet.name in ends)

    def consumer_at(self, junction):
        """Return the consumer that draws from a junction, or None."""
        return next((c for c in self.aircraft.consumers if c.start == junction), None)

    def turn_at(self, part, shape):
        """Return the x at which the line between a part and a tank goes up or down. [px]"""
        x = self.places[part.name][0]
        return x if shape.left <= x <= shape.right else shape.inside(x)


def plan(aircraft, picture):
    """Return the plan of a drawing of one moment.

    Refuelling lines are left out unless fuel runs there or a refuelling valve is not SHUT.
    """
    shows = line_shows(aircraft, picture)
    return _plan_of(aircraft, tuple(line for line in aircraft.lines if shows(line)))


@lru_cache(maxsize=16)
def _plan_of(aircraft, lines):
    shapes = tank_shapes(aircraft, top=_HEADROOM if _needs_headroom(aircraft, lines) else 104.0)
    places = {part.name: _pair(part.at) for part in _placed(aircraft)}
    if aircraft.coupling:
        places[aircraft.coupling] = _pair(aircraft.coupling_at)
    for line in lines:
        places[line.name] = _pair(line.at) if line.at else _between(line, places, shapes)
    return Plan(aircraft, shapes, places, lines)


def _needs_headroom(aircraft, lines):
    """Whether refuelling lines that are drawn run over the tanks."""
    refuels = any(aircraft.coupling in (line.start, line.end) for line in lines)
    return refuels and aircraft.coupling_at[1] < _HEADROOM


def _placed(aircraft):
    groups = (
        aircraft.junctions, aircraft.outlets, aircraft.pumps, aircraft.consumers,
        aircraft.returns, aircraft.fillers,
    )  # fmt: skip
    return (part for group in groups for part in group)


def line_shows(aircraft, picture):
    """Return a test of lines: whether a line is drawn at this moment."""
    group = refuelling_lines(aircraft)
    awake = any(
        picture.flows.get(name, 0.0) != 0.0 or picture.positions.get(name, "SHUT") != "SHUT"
        for name in group
    )
    return lambda line: awake or line.name not in group


def refuelling_lines(aircraft):
    """Return the names of the lines of the refuelling system, those at the coupling included."""
    gallery = {line.start for line in aircraft.lines if line.group == "refuelling"}
    return {
        line.name
        for line in aircraft.lines
        if line.group == "refuelling" or aircraft.coupling in (line.start, line.end)
        or {line.start, line.end} <= gallery
    }  # fmt: skip


def parts_of_network(aircraft, names):
    """Return the names of all pumps, lines and consumers that hang together with some of them.

    Parts hang together where they share a junction; a tank does not connect them.
    """
    junctions = {j.name for j in aircraft.junctions} | {aircraft.coupling}
    parts = (*aircraft.pumps, *aircraft.lines, *aircraft.consumers)
    found, reached = set(names), set()
    while True:
        touched = {n for p in parts if p.name in found for n in nodes_of(p)} & junctions
        if touched == reached:
            return {p.name for p in parts if p.name in found}
        reached = touched
        found |= {p.name for p in parts if reached & set(nodes_of(p))}


def nodes_of(part):
    """Return the nodes at which a part begins and ends."""
    return (part.start,) if isinstance(part, Consumer) else (part.start, part.end)


def is_upright(part, drawing_plan):
    """Return whether a part's line runs up and down through its symbol."""
    if isinstance(part, Pump):
        return True
    x, y = drawing_plan.places[part.name]
    ends = []
    for node in nodes_of(part):
        if drawing_plan.is_tank(node):
            shape = drawing_plan.shapes[node]
            ends.append(shape.left <= x <= shape.right)
        else:
            ends.append(abs(drawing_plan.places[node][1] - y) > 1.0)
    return any(ends)


def is_mirrored(part, drawing_plan):
    """Return whether a part's words stand left of it: refuelling valves over the right wing."""
    x, y = drawing_plan.places[part.name]
    refuels = getattr(part, "group", "feed") == "refuelling"
    return refuels and x > 900.0 and y < _HEADROOM


def is_at_the_edge(x):
    """Return whether an x is so near the right edge that words do not fit beside it. [px]"""
    return x > _RIGHT_EDGE


def symbols_taken(drawing_plan):
    """Yield what the symbols among or near the tanks take, with their words. [px]"""
    for part in drawing_plan.parts:
        x, y = drawing_plan.places[part.name]
        if part.kind == "pipe" or y > 340.0:
            continue
        if is_upright(part, drawing_plan) and is_mirrored(part, drawing_plan):
            yield x - 66.0, y - 24.0, x + 20.0, y + 24.0
        elif is_upright(part, drawing_plan):
            yield x - 20.0, y - 24.0, x + 66.0, y + 24.0
        else:
            yield x - 44.0, y - 16.0, x + 44.0, y + 54.0


def _between(line, places, shapes):
    ends = [_node_place(node, places, shapes) for node in (line.start, line.end)]
    (x0, y0), (x1, y1) = ends
    if abs(y0 - y1) < 1.0:
        return 0.5 * (x0 + x1), y0
    lead = ends[1] if line.start in shapes else ends[0]
    return lead[0], 0.5 * (y0 + y1)


def _node_place(node, places, shapes):
    if node in shapes:
        shape = shapes[node]
        return shape.middle, shape.bottom(shape.middle)
    return places[node]


def _pair(at):
    return float(at[0]), float(at[1])
