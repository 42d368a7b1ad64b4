"""One tank from the side, cut fore and aft and seen along the surface of the fuel, to scale."""

from fuelkit.physics.attitude import up_direction
from fuelkit.show.palette import IDLE
from fuelkit.show.room import Room, words_box
from fuelkit.show.section_parts import SMALL, Frame, mark_drawn, tank_drawn
from fuelkit.show.section_shapes import Sight, cut_at, line_within
from fuelkit.show.section_table import numbered
from fuelkit.show.svg import element, plate, polygon, polyline, text, wrapped

_EDGE, _SIDE_ROOM = 54.0, 150.0  # px


def side_drawn(rest, name, cut, wide, top):
    """Return one tank from the side, and where that ends. [px]

    Parameters
    ----------
    rest : FuelAtRest
    name : str
    cut : float
        How far right of the middle it is cut. [m]
    wide, top : float
        Width of the whole drawing, and where this begins. [px]
    """
    rolls = (*rest.aircraft.attitudes.roll, rest.roll, 0.0)
    state = rest.states[name]
    tank, sight = state.tank, Sight(rest.up, 0, cut)
    outline = cut_at(tank, cut, sight)
    corners = [corner for rib in tank.ribs for corner in rib.corners]
    across_span = [corner[0] for corner in corners]
    seen = [Sight(up_direction(0.0, r), 0, cut).see(c)[1] for r in rolls for c in corners]
    seen += [z for _, z in outline] + [sight.see(c)[1] for c in corners]
    width, height = max(across_span) - min(across_span), max(seen) - min(seen)
    upward = _SIDE_ROOM / height
    left, right = _EDGE, 0.4375 * wide
    across = min((right - left) / width, upward)
    x0 = 0.5 * (left + right) - across * 0.5 * (max(across_span) + min(across_span))
    frame = Frame(x0, top + 14.0 + upward * max(seen), across, upward)
    foot = top + 14.0 + _SIDE_ROOM
    said = f"{_scale_words(upward / across)} {_overflow_words(rest, name)}"
    words = wrapped(said, 0.45 * wide, size=SMALL)
    spots = numbered(rest, [name])
    points = [frame.at(sight.see(spot.position)) for _, spot in spots]
    room = Room([(x - 6.0, y - 6.0, x + 6.0, y + 6.0) for x, y in points])
    content = (
        text(24, top, _side_title(tank, cut), size=15, bold=True)
        + _ribs_aside(tank, sight, frame)
        + tank_drawn(state, outline, sight, frame, 3.0)
        + _line_names(state, outline, room, sight, frame)
        + _marks_aside(spots, room, sight, frame)
        + text(24, foot + 22, words, size=SMALL, fill=IDLE, step=17)
    )
    group = element(
        "g", content, data_view="side", data_across=f"{across!r}", data_upward=f"{upward!r}"
    )
    return group, foot + 22.0 + 17.0 * (len(words) - 1)


def _side_title(tank, cut):
    where = "on the middle line" if abs(cut) < 0.005 else (
        f"{abs(cut):.2f} m {'right' if cut > 0 else 'left'} of the middle"
    )  # fmt: skip
    return f"{tank.title}, cut {where}"


def _overflow_words(rest, name):
    """Where a tank runs over."""
    end = next((o.end for o in rest.aircraft.overflows if o.start == name), None)
    if end is None:
        said = "It has no overflow."
    else:
        to = f"over into: {rest.states[end].tank.title}" if end in rest.states else "overboard"
        brim = "highest fill" if rest.states[name].tank.holds_fuel else "brim"
        said = f"Above its {brim} it runs {to}."
    return f"{said} Broken outlines: its ribs."


def _scale_words(factor):
    scale = f"Heights {factor:.1f} times as large" if factor > 1.05 else "One scale"
    return f"Nose to the left, seen along the surface of the fuel. {scale}."


def _ribs_aside(tank, sight, frame):
    return "".join(
        polygon(frame.all(sight.see(c) for c in rib.corners), fill="none", stroke=IDLE,
                stroke_width=1, stroke_dasharray="4 4")
        for rib in tank.ribs
    )  # fmt: skip


def _marks_aside(spots, room, sight, frame):
    """Symbols, each with its number on a free spot nearby."""
    found = [mark_drawn(spot, sight, frame) for _, spot in spots]
    for number, spot in spots:
        at, foot = room.best(_near(*frame.at(sight.see(spot.position)), str(number)))
        found.append(plate(at, foot, str(number), size=13, bold=True))
    return "".join(found)


def _near(x, y, words):
    for reach in (16.0, 26.0, 38.0):
        for dx, dy in ((0, -1), (1, 0), (-1, 0), (0, 1), (0.8, -0.8), (-0.8, -0.8), (0.8, 0.8)):
            at, foot = x + reach * dx, y + reach * dy + 5.0
            yield 3.0 * reach, words_box(at, foot, words, size=13, anchor="middle"), (at, foot)


def _line_names(state, outline, room, sight, frame):
    """Names of the lines right of the cut, each led to its line."""
    lines = [("surface", state.level if state.mass > 0.0 else None)]
    if state.tank.holds_fuel:
        lines.append(("highest fill", state.highest_level))
        lines.append(("lowest opening", state.unusable_level))
    ends = []
    for words, level in lines:
        cut = None if level is None else line_within(outline, sight.surface(level))
        if cut:
            ends.append((frame.at(cut[1]), words))
    edge = max(x for x, _ in frame.all(outline)) + 14.0
    found = []
    for (x, y), words in sorted(ends, key=lambda end: end[0][1]):
        foot = room.best(_beside(edge + 4.0, y + 5.0, words))
        found.append(polyline([(x, y), (edge, foot - 5.0)], stroke=IDLE, width=0.8))
        found.append(plate(edge + 4.0, foot, words, size=13, anchor="start"))
    return "".join(found)


def _beside(x, foot, words):
    for shift in (0.0, 9.0, -9.0, 18.0, -18.0, 27.0, -27.0, 36.0, -36.0):
        box = words_box(x, foot + shift, words, size=13, anchor="start")
        yield 2.0 * abs(shift), box, foot + shift
