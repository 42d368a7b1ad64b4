"""Sections of the tanks, heights to a stated larger scale: from behind, and one tank from the side.

Both are seen along the surface of the fuel (`section_shapes`): every level is a straight line, and
what stands under it is under it in the tank.
"""

from dataclasses import dataclass
from html import escape

from fuelkit.aircraft.reading import nearest
from fuelkit.physics.attitude import up_direction
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text
from fuelkit.show.page import Page
from fuelkit.show.palette import FLOW, FUEL, IDLE, INK, PAPER, SAFETY, SHADE
from fuelkit.show.room import Room, words_box
from fuelkit.show.section_key import key_drawn, legend_drawn, symbol
from fuelkit.show.section_shapes import (
    Sight,
    cut_at,
    line_within,
    middle_of,
    over,
    rows_of,
    seen_from_behind,
    span_of,
    under,
)
from fuelkit.show.section_table import (
    conditions_words,
    numbered,
    plain_text,
    spill_sentences,
    tables_html,
    wet_words,
)
from fuelkit.show.svg import drawing, element, plate, polygon, polyline, text, wrapped
from fuelkit.show.tank_shapes import hatching
from fuelkit.survey.tank_state import TankStateError, fuel_at_rest

_LEFT, _RIGHT = 54.0, 1226.0
_TOP, _ROWS_ROOM, _TITLES, _NUMBERS = 106.0, 166.0, 54.0, 40.0  # px
_SIDE_LEFT, _SIDE_RIGHT, _SIDE_ROOM = 54.0, 560.0, 150.0
_SMALL = 14
_RULES = (2.0, 1.0, 0.5, 0.2, 0.1)  # m


@dataclass(frozen=True)
class _Frame:
    """From metres to the drawing."""

    x0: float
    y0: float
    across: float
    upward: float

    def at(self, point):
        return self.x0 + self.across * point[0], self.y0 - self.upward * point[1]

    def all(self, points):
        return [self.at(point) for point in points]


def section_page(
    aircraft, masses, *, pitch=0.0, roll=0.0, temperature=ZERO_CELSIUS + 15.0, density_15=800.0,
    tank="", cut=None,
):  # fmt: skip
    """Return the sections of an aircraft's tanks with fuel at rest, and their tables, as a page.

    Parameters
    ----------
    aircraft : Aircraft
    masses : dict of str to float
        What is put into each tank; a tank that is not named is empty. [kg]
    pitch, roll : float
        Nose up and right wing down are positive. [rad]
    temperature : float
        Of all fuel. [K]
    density_15 : float
        [kg/m³]
    tank : str
        The tank that is shown from the side; the first that is loaded if not given.
    cut : float, optional
        How far right of the middle it is cut; where its lowest opening is if not given. [m]

    Raises
    ------
    TankStateError
        If a tank is not known, a mass is below 0, or attitude or temperature is out of range.
    ValueError
        If the cut misses the tank, or the density is outside the table.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> page = section_page(load_aircraft("halbrook-40"), {"left wing": 900.0}, roll=0.01)
    >>> "0.573° right wing down" in page.text, page.html.count("<svg")
    (True, 1)
    """
    rest = fuel_at_rest(
        aircraft, masses, pitch=pitch, roll=roll, temperature=temperature, density_15=density_15
    )
    names = [t.name for t in aircraft.tanks]
    picture = section_drawing(rest, tank=tank, cut=cut)
    table = tables_html(rest, names)
    details = f"<details><summary>The same as a table</summary>{table}</details>"
    style = "max-width:1280px;background:#fff;color:#111"
    return Page(f'<div style="{style}">{picture}{details}</div>', plain_text(rest, names))


def first_tank(aircraft):
    """Return the name of the tank that is loaded first."""
    return aircraft.loading_order[0][0]


def usual_cut(aircraft, name):
    """Return how far right of the middle a tank's lowest opening is, else its middle. [m]"""
    low, high = span_of(aircraft.tank(name))
    inlets = [at for _, at in aircraft.openings_of(name)]
    y = min(inlets, key=lambda at: at[2])[1] if inlets else 0.5 * (low + high)
    return min(max(y, low), high)


def section_drawing(rest, *, tank="", cut=None, pitches=None, rolls=None, title=""):
    """Return the sections as an SVG.

    Parameters
    ----------
    rest : FuelAtRest
    tank, cut
        As in `section_page`.
    pitches, rolls : tuple of two floats, optional
        Attitudes for which the scales leave room, so that they stay as they are while it is
        tilted; those of normal flight if not given. [rad]
    title : str
        The aircraft's name if not given.
    """
    aircraft = rest.aircraft
    name = tank or first_tank(aircraft)
    if name not in rest.states:
        raise TankStateError(
            f"section: tank is '{name}'; {aircraft.name} has no such tank."
            f"{nearest(name, rest.states)}"
        )
    cut = usual_cut(aircraft, name) if cut is None else cut
    limits = aircraft.attitudes
    pitches = (*(pitches or limits.pitch), rest.pitch, 0.0)
    rolls = (*(rolls or limits.roll), rest.roll, 0.0)
    behind, foot = _behind(rest, name, pitches)
    side, side_foot = _side(rest, name, cut, rolls, foot + 34.0)
    key, key_foot = key_drawn(
        numbered(rest, [name]), x=620.0, top=foot + 34.0, width=620.0,
        title=f"{rest.states[name].tank.title}: what is wet, what sticks read",
    )  # fmt: skip
    said, low = _said(rest, max(side_foot, key_foot) + 18.0)
    title = title or f"{aircraft.name}: the tanks in section"
    content = (
        element("desc", escape(_description(rest, name)))
        + text(24, 33, title, size=20, bold=True)
        + text(24, 54, conditions_words(rest), size=15, fill=IDLE)
        + legend_drawn(24.0, 80.0)
        + behind
        + side
        + key
        + said
        + text(24, low + 24, SAFETY, size=_SMALL, fill=IDLE)
    )
    return drawing(content, height=int(low + 38), label=title)


def _description(rest, name):
    held = [f"{s.tank.title} {mass_text(s.mass)}" for s in rest.states.values()]
    return f"{conditions_words(rest)}. {'; '.join(held)}. " + " ".join(
        [*wet_words(rest, [name]), *spill_sentences(rest)]
    )


# --------------------------------------------------------------------------------- from behind
def _behind(rest, chosen, pitches):
    rows = rows_of(rest.aircraft.tanks)
    reach = max(abs(y) for tank in rest.aircraft.tanks for y in span_of(tank))
    spans = [_heights(row, pitches) for row in rows]
    room = _ROWS_ROOM * (1.0 if len(rows) == 1 else 1.25)
    upward = room / sum(high - low for low, high in spans)
    across = min((_RIGHT - _LEFT) / (2.0 * reach), upward)
    top, drawn = _TOP, []
    for row, (low, high) in zip(rows, spans, strict=True):
        sight = Sight(rest.up, 1, middle_of(row))
        base = top + _TITLES + upward * high
        frame = _Frame(0.5 * (_LEFT + _RIGHT), base, across, upward)
        foot = base - upward * low
        drawn += [_tank_behind(rest.states[t.name], sight, frame, t.name == chosen) for t in row]
        drawn += [_words_behind(rest.states[t.name], frame, top, foot) for t in row]
        top = foot + _NUMBERS
    words = (
        f"Seen from behind, along the surface of the fuel. Heights are drawn "
        f"{upward / across:.1f} times as large as widths."
    )
    drawn += [text(24, top + 12, words, size=_SMALL, fill=IDLE), _rules(across, upward, top + 12)]
    group = element(
        "g", "".join(drawn), data_view="behind", data_across=f"{across!r}",
        data_upward=f"{upward!r}",
    )  # fmt: skip
    return group, top + 12


def _heights(row, pitches):
    """Lowest and highest that tanks of a row stand on the picture at any of some pitches. [m]"""
    sights = [Sight(up_direction(p, 0.0), 1, middle_of(row)) for p in pitches]
    seen = [s.see(c)[1] for s in sights for t in row for rib in t.ribs for c in rib.corners]
    return min(seen), max(seen)


def _tank_behind(state, sight, frame, chosen):
    outline = seen_from_behind(state.tank, sight)
    ribs = "".join(
        polyline(_rib_line(rib, sight, frame), stroke=IDLE, width=1, stroke_dasharray="3 4")
        for rib in state.tank.ribs
    )
    marks = "".join(_mark(spot, sight, frame) for spot in state.spots)
    shape = _tank(state, outline, sight, frame, 3.6 if chosen else 1.8)
    return element("g", shape + ribs + marks, data_tank=state.tank.name)


def _rib_line(rib, sight, frame):
    heights = [sight.see(corner)[1] for corner in rib.corners]
    return [frame.at((rib.y, z)) for z in (min(heights), max(heights))]


def _words_behind(state, frame, top, foot):
    """The tank's title above, what it holds below."""
    left, right = (frame.at((y, 0.0))[0] for y in span_of(state.tank))
    middle = 0.5 * (left + right)
    lines = wrapped(state.tank.title, max(right - left - 6.0, 76.0), size=_SMALL, bold=True)
    first = top + _TITLES - 10.0 - 16.0 * (len(lines) - 1)
    said = text(middle, first, lines, size=_SMALL, bold=True, anchor="middle")
    said += text(middle, foot + 17, mass_text(state.mass), size=15, bold=True, anchor="middle")
    if state.ran_over > 0.0:
        return said + plate(middle, foot + 34, "RUNS OVER", size=_SMALL, bold=True, edge=INK)
    if right - left < 70.0:
        return said
    share = f"{100.0 * state.volume / state.capacity:.0f} % full"
    return said + text(middle, foot + 34, share, size=_SMALL, anchor="middle")


# ------------------------------------------------------------------------------- from the side
def _side(rest, name, cut, rolls, top):
    state = rest.states[name]
    tank, sight = state.tank, Sight(rest.up, 0, cut)
    outline = cut_at(tank, cut, sight)
    corners = [corner for rib in tank.ribs for corner in rib.corners]
    across_span = [corner[0] for corner in corners]
    seen = [Sight(up_direction(0.0, r), 0, cut).see(c)[1] for r in rolls for c in corners]
    seen += [z for _, z in outline] + [sight.see(c)[1] for c in corners]
    width, height = max(across_span) - min(across_span), max(seen) - min(seen)
    upward = _SIDE_ROOM / height
    across = min((_SIDE_RIGHT - _SIDE_LEFT) / width, upward)
    x0 = 0.5 * (_SIDE_LEFT + _SIDE_RIGHT) - across * 0.5 * (max(across_span) + min(across_span))
    frame = _Frame(x0, top + 14.0 + upward * max(seen), across, upward)
    foot = top + 14.0 + _SIDE_ROOM
    over_words = _overflow_words(rest, name)
    content = (
        text(24, top, _side_title(tank, cut), size=15, bold=True)
        + _ribs_aside(tank, sight, frame)
        + _tank(state, outline, sight, frame, 3.0)
        + _line_names(state, outline, sight, frame)
        + _marks_aside(rest, name, sight, frame)
        + text(24, foot + 22, _side_words(upward / across), size=_SMALL, fill=IDLE)
        + text(24, foot + 39, over_words, size=_SMALL, fill=IDLE, step=17)
    )
    group = element(
        "g", content, data_view="side", data_across=f"{across!r}", data_upward=f"{upward!r}"
    )
    return group, foot + 39.0 + 17.0 * (len(over_words) - 1)


def _side_title(tank, cut):
    where = "on the middle line" if abs(cut) < 0.005 else (
        f"{abs(cut):.2f} m {'right' if cut > 0 else 'left'} of the middle"
    )  # fmt: skip
    return f"{tank.title}, cut {where}, nose to the left"


def _overflow_words(rest, name):
    """Where a tank runs over, in two lines at most."""
    end = next((o.end for o in rest.aircraft.overflows if o.start == name), None)
    if end is None:
        said = "It has no overflow."
    else:
        to = f"into: {rest.states[end].tank.title}" if end in rest.states else "overboard"
        brim = "highest fill" if rest.states[name].tank.holds_fuel else "brim"
        said = f"Above its {brim} it runs over {to}."
    return wrapped(f"{said} Broken outlines: its ribs.", 560.0, size=_SMALL)


def _side_words(factor):
    scale = f"Heights are {factor:.1f} times as large" if factor > 1.05 else "One scale"
    return f"Seen along the surface of the fuel. {scale}."


def _ribs_aside(tank, sight, frame):
    return "".join(
        polygon(frame.all(sight.see(c) for c in rib.corners), fill="none", stroke=IDLE,
                stroke_width=1, stroke_dasharray="4 4")
        for rib in tank.ribs
    )  # fmt: skip


def _marks_aside(rest, name, sight, frame):
    """Symbols, each with its number on a free spot nearby."""
    spots = numbered(rest, [name])
    points = [frame.at(sight.see(spot.position)) for _, spot in spots]
    room = Room([(x - 6.0, y - 6.0, x + 6.0, y + 6.0) for x, y in points])
    found = [_mark(spot, sight, frame) for _, spot in spots]
    for (number, _), (x, y) in zip(spots, points, strict=True):
        at, foot = room.best(_near(x, y, str(number)))
        found.append(plate(at, foot, str(number), size=13, bold=True))
    return "".join(found)


def _near(x, y, words):
    for reach in (16.0, 26.0, 38.0):
        for dx, dy in ((0, -1), (1, 0), (-1, 0), (0, 1), (0.8, -0.8), (-0.8, -0.8), (0.8, 0.8)):
            at, foot = x + reach * dx, y + reach * dy + 5.0
            yield 3.0 * reach, words_box(at, foot, words, size=13, anchor="middle"), (at, foot)


def _line_names(state, outline, sight, frame):
    """Names of the lines right of the cut, one under the other, each led to its line."""
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
    found, last = [], -99.0
    for (x, y), words in sorted(ends, key=lambda end: end[0][1]):
        last = max(y + 5.0, last + 17.0)
        found.append(polyline([(x, y), (edge, last - 5.0)], stroke=IDLE, width=0.8))
        found.append(plate(edge + 4.0, last, words, size=13, anchor="start"))
    return "".join(found)


# ---------------------------------------------------------------------------------- both views
def _tank(state, outline, sight, frame, width):
    """The outline with what is in it: expansion space, fuel, unusable fuel, and their levels."""
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


def _mark(spot, sight, frame):
    x, y = frame.at(sight.see(spot.position))
    rod = spot.length and polyline(
        [(x, y), (x, y - frame.upward * spot.length)], stroke=INK, width=1.4
    )
    drawn = symbol(spot.kind, x, y, spot.is_wet)
    return element("g", (rod or "") + drawn, data_spot=spot.name, data_state=spot.state)


def _rules(across, upward, y):
    """A rule for widths and one for heights, at the right."""
    long = next((m for m in _RULES if m * across <= 120.0), _RULES[-1])
    tall = next((m for m in _RULES if m * upward <= 40.0), _RULES[-1])
    x = _RIGHT - 30.0
    flat = polyline([(x - long * across, y), (x, y)], stroke=INK, width=2)
    upright = polyline([(x + 14, y), (x + 14, y - tall * upward)], stroke=INK, width=2)
    words = text(x - long * across - 8, y + 5, f"{long:g} m", size=_SMALL, bold=True, anchor="end")
    return flat + upright + words + text(
        x + 22, y + 5 - 0.5 * tall * upward, f"{tall:g} m", size=_SMALL, bold=True
    )  # fmt: skip


def _said(rest, y):
    """What runs over, in sentences."""
    found = []
    for sentence in spill_sentences(rest):
        lines = wrapped(sentence, 1220.0, size=15, bold=bool(rest.spills))
        found.append(text(24, y + 8, lines, size=15, bold=bool(rest.spills), step=18))
        y += 18.0 * len(lines) + 3.0
    return "".join(found), y
