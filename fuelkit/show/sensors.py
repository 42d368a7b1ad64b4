"""The sensors in the tanks, at their true places, with what they say beside them."""

from fuelkit.show.layers import is_small, mass_place, title_places
from fuelkit.show.palette import IDLE
from fuelkit.show.places import symbols_taken
from fuelkit.show.room import Room, words_box
from fuelkit.show.svg import element, plate, polyline
from fuelkit.show.symbols import sensor
from fuelkit.show.views import sensor_words
from fuelkit.show.words import short_name

_SIZE = 15
_SHIFTS = (0.0, 19.0, -19.0, 38.0, -38.0, 57.0, -57.0)  # px up or down from a sensor
_ASIDE = (11.0, 40.0, 80.0)  # px from a sensor to its words


def tank_room(plan, picture):
    """Return the room that titles, masses and symbols leave among the tanks."""
    return Room([*_words_taken(plan, picture), *symbols_taken(plan)])


def sensors_drawn(plan, picture, hidden, room):
    """Return the sensors: WET, DRY, or the temperature that a covered one shows.

    What they take of the room is taken.
    """
    dots = {part.name: _dot(plan, part) for part in plan.aircraft.sensors}
    for x, y in dots.values():
        room.take((x - 7.0, y - 7.0, x + 7.0, y + 7.0))
    return "".join(
        _sensor(plan, picture, part, dots[part.name], hidden, room)
        for part in plan.aircraft.sensors
    )


def _dot(plan, part):
    """Where a sensor is drawn: at its place, and within the outline."""
    shape = plan.shapes[part.tank]
    x, y = shape.x(part.position[1]), shape.y(part.position[2])
    return x, min(y, shape.bottom(shape.inside(x, 1.0)) - 3.0)


def _sensor(plan, picture, part, dot, hidden, room):
    covered = part.name in hidden or part.tank in hidden
    state = "?" if covered else picture.positions[part.name]
    words = f"{_name(plan, part)} {'?' if covered else sensor_words(part, picture)}"
    if part.name in picture.readings:
        words += f" (shows {picture.readings[part.name]})"
    shape = plan.shapes[part.tank]
    at, foot, anchor, leader = room.best(_places(dot, words), lambda box: _beyond(shape, box))
    line = polyline(leader, stroke=IDLE, width=1) if leader else ""
    label = plate(at, foot, words, size=_SIZE, anchor=anchor)
    content = line + label + sensor(*dot, state, kind=part.kind)
    return element("g", content, data_part=part.name, data_state=state)


def _name(plan, part):
    """Short name of a sensor; one for temperature says so by its sign and its unit."""
    name = short_name(plan.aircraft, part)
    rest = [word for word in name.split() if word != "temperature"]
    return " ".join(rest or ["fuel"]) if part.kind == "temperature" else name


def _places(dot, words):
    """Places for the words of a sensor: what each costs, what it takes, how it is written."""
    x, y = dot
    for aside in _ASIDE:
        for shift in _SHIFTS:
            for at, anchor in ((x + aside, "start"), (x - aside, "end")):
                foot = y + 5.0 + shift
                box = words_box(at, foot, words, size=_SIZE, anchor=anchor)
                far = abs(shift) > 1.0 or aside > 11.0
                leader = [(x, y), (at, foot - 5.0)] if far else None
                edge = max(0.0, 16.0 - box[0], box[2] - 1264.0)
                cost = 1.5 * abs(shift) + 1.2 * (aside - 11.0) + 100.0 * edge
                yield cost, box, (at, foot, anchor, leader)


def _beyond(shape, box):
    """What it costs to leave the tank to a side, or to cross its top or bottom."""
    aside = max(0.0, shape.left - box[0], box[2] - shape.right)
    ends = [shape.inside(x, 1.0) for x in (box[0], box[2])]
    crossed = 0.0
    for wall in (shape.top, shape.bottom):
        at = [wall(x) for x in ends]
        if min(at) < box[3] - 2.0 and max(at) > box[1] + 2.0:
            crossed += 30.0
    if box[3] < min(map(shape.top, ends)) + 4.0 or box[1] > max(map(shape.bottom, ends)) - 4.0:
        crossed += 25.0
    return min(2.0 * aside, 60.0) + crossed


def _words_taken(plan, picture):
    for lines, foot, middle in title_places(plan).values():
        for i, line in enumerate(lines):
            at = middle, foot + 17.0 * i
            yield words_box(*at, line, size=15, anchor="middle", bold=True)
    for name, shape in plan.shapes.items():
        x, foot = mass_place(plan, shape)
        size = 13 if is_small(shape) else 18
        yield words_box(x, foot, "00 000 kg", size=size, anchor="middle", bold=True)
        if name in picture.readings:
            words = f"gauge shows {picture.readings[name]}"
            yield words_box(x, foot + 19.0, words, size=14, anchor="middle")
