"""What both sections of a tank draw: its outline, what is in it, and what stands in it."""

from dataclasses import dataclass

from fuelkit.show.palette import FLOW, FUEL, IDLE, INK, PAPER, SHADE
from fuelkit.show.section_key import symbol
from fuelkit.show.section_shapes import line_within, over, under
from fuelkit.show.svg import element, polygon, polyline
from fuelkit.show.tank_shapes import hatching

SMALL = 14  # px


@dataclass(frozen=True)
class Frame:
    """From metres to the drawing."""

    x0: float
    y0: float
    across: float
    upward: float

    def at(self, point):
        """Return where a point of the picture [m] is drawn. [px]"""
        return self.x0 + self.across * point[0], self.y0 - self.upward * point[1]

    def all(self, points):
        """Return where points of the picture [m] are drawn. [px]"""
        return [self.at(point) for point in points]


def tank_drawn(state, outline, sight, frame, width):
    """Return the outline with what is in it: expansion space, fuel, unusable fuel, levels."""
    parts = [polygon(frame.all(outline), fill=PAPER)]
    surface = sight.surface(state.level)
    if state.tank.holds_fuel:
        above = over(outline, sight.surface(state.highest_level))
        parts.append(_filled(above, frame, SHADE, "expansion space"))
    fuel = under(outline, surface) if state.mass > 0.0 else []
    parts.append(_filled(fuel, frame, FUEL, "fuel"))
    if state.unusable_level is not None:
        low = under(fuel, sight.surface(state.unusable_level)) if fuel else []
        lines = hatching(frame.all(low))
        parts += [polyline(line, stroke=IDLE, width=1.2) for line in lines]
        parts.append(_level(outline, sight.surface(state.unusable_level), frame, IDLE, "2 3"))
    if state.tank.holds_fuel:
        parts.append(_level(outline, sight.surface(state.highest_level), frame, INK, "8 4"))
    if fuel:
        parts.append(_level(outline, surface, frame, FLOW, None, "surface"))
    edge = polygon(frame.all(outline), fill="none", stroke=INK, stroke_width=width,
                   stroke_linejoin="round", data_part="outline")  # fmt: skip
    return "".join(parts) + edge


def _filled(points, frame, fill, part):
    return polygon(frame.all(points), fill=fill, data_part=part) if points else ""


def _level(outline, line, frame, stroke, dashes, part=None):
    ends = line_within(outline, line)
    if not ends:
        return ""
    width = 1.5 if dashes else 2.6
    return polyline(
        frame.all(ends), stroke=stroke, width=width, stroke_dasharray=dashes, data_part=part
    )


def mark_drawn(spot, sight, frame):
    """Return the symbol of a spot at its place, a stick with the length that it reads."""
    x, y = frame.at(sight.see(spot.position))
    rod = spot.length and polyline(
        [(x, y), (x, y - frame.upward * spot.length)], stroke=INK, width=1.4
    )
    drawn = symbol(spot.kind, x, y, spot.is_wet)
    return element("g", (rod or "") + drawn, data_spot=spot.name, data_state=spot.state)
