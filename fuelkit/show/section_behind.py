"""All tanks from behind, seen along the surface of the fuel, to scale."""

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.writing import mass_text
from fuelkit.show.palette import IDLE, INK
from fuelkit.show.section_parts import SMALL, Frame, mark_drawn, tank_drawn
from fuelkit.show.section_shapes import Sight, middle_of, rows_of, seen_from_behind, span_of
from fuelkit.show.svg import element, plate, polyline, text, text_width, wrapped

_EDGE, _ROOM = 54.0, 166.0  # px
_RULES = (2.0, 1.0, 0.5, 0.2, 0.1)  # m


def behind_drawn(rest, chosen, width, top):
    """Return the tanks as seen from behind, and where that ends. [px]

    Parameters
    ----------
    rest : FuelAtRest
    chosen : str
        The tank that stands out.
    width, top : float
        [px]
    """
    pitches = (*rest.aircraft.attitudes.pitch, rest.pitch, 0.0)
    rows = rows_of(rest.aircraft.tanks)
    reach = max(abs(y) for tank in rest.aircraft.tanks for y in span_of(tank))
    spans = [_heights(row, pitches) for row in rows]
    room = _ROOM * (1.0 if len(rows) == 1 else 1.25)
    upward = room / sum(high - low for low, high in spans)
    across = min((0.5 * width - _EDGE) / reach, upward)
    drawn = []
    for row, (low, high) in zip(rows, spans, strict=True):
        sight = Sight(rest.up, 1, middle_of(row))
        titles, tall = _titles(row, 0.5 * width, across, top)
        base = top + tall + 6.0 + upward * high
        frame = Frame(0.5 * width, base, across, upward)
        foot = base - upward * low
        states = [rest.states[tank.name] for tank in row]
        drawn += [_tank_behind(s, sight, frame, s.tank.name == chosen) for s in states]
        held, top = _held(states, frame, foot)
        drawn += [titles, held]
    words = (
        f"Seen from behind, along the surface of the fuel. Heights are drawn "
        f"{upward / across:.1f} times as large as widths."
    )
    drawn += [
        text(24, top + 12, words, size=SMALL, fill=IDLE),
        _rules(across, upward, width - 84.0, top + 12),
    ]
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
    marks = "".join(mark_drawn(spot, sight, frame) for spot in state.spots)
    shape = tank_drawn(state, outline, sight, frame, 3.6 if chosen else 1.8)
    return element("g", shape + ribs + marks, data_tank=state.tank.name)


def _rib_line(rib, sight, frame):
    heights = [sight.see(corner)[1] for corner in rib.corners]
    return [frame.at((rib.y, z)) for z in (min(heights), max(heights))]


def _titles(row, middle, across, top):
    """Titles of a row of tanks side by side, or above each other; and how much they take. [px]"""
    blocks = {}
    for tank in row:
        left, right = (middle + across * y for y in span_of(tank))
        lines = wrapped(tank.title, max(right - left - 6.0, 76.0), size=SMALL, bold=True)
        half = 0.5 * max(text_width(line, size=SMALL, bold=True) for line in lines) + 4.0
        blocks[tank.name] = (right - left, 0.5 * (left + right), half, 16.0 * len(lines), lines)
    ups = _stacked(blocks)
    tall = max(ups[name] + block[3] for name, block in blocks.items())
    drawn = [
        text(at, top + tall - ups[name] - deep + 12.0, lines, size=SMALL, bold=True,
             anchor="middle")
        for name, (_, at, _, deep, lines) in blocks.items()
    ]  # fmt: skip
    return "".join(drawn), tall


def _stacked(blocks):
    """How far each block stands off the row so that none covers another, wide tanks first. [px]

    A block begins with the width of its tank, its middle, half its width, and how deep it is.
    """
    placed, found = [], {}
    for name, (_, at, half, deep, *_) in sorted(blocks.items(), key=lambda b: -b[1][0]):
        off = 0.0
        while any(abs(at - x) < half + w and off < h and u < off + deep for x, w, u, h in placed):
            off += 8.0
        placed.append((at, half, off, off + deep))
        found[name] = off
    return found


def _held(states, frame, foot):
    """What each tank of a row holds, below it; and where that ends. [px]"""
    blocks = {}
    for state in states:
        low, high = span_of(state.tank)
        width, middle = frame.across * (high - low), frame.at((0.5 * (low + high), 0.0))[0]
        mass, over = mass_text(state.mass), state.ran_over > 0.0
        second = "RUNS OVER" if over else f"{100.0 * state.volume / state.capacity:.0f} % full"
        second = second if over or width >= 70.0 else ""
        half = 0.5 * max(
            text_width(mass, size=15, bold=True), text_width(second, size=SMALL, bold=over)
        )
        deep = 38.0 if second else 20.0
        blocks[state.tank.name] = (width, middle, half + 6.0, deep, mass, second, over)
    downs = _stacked(blocks)
    drawn = []
    for name, (_, at, _, _, mass, second, over) in blocks.items():
        y = foot + downs[name] + 17.0
        drawn.append(text(at, y, mass, size=15, bold=True, anchor="middle"))
        if over:
            drawn.append(plate(at, y + 17, second, size=SMALL, bold=True, edge=INK))
        elif second:
            drawn.append(text(at, y + 17, second, size=SMALL, anchor="middle"))
    return "".join(drawn), foot + max(downs[n] + block[3] for n, block in blocks.items()) + 4.0


def _rules(across, upward, x, y):
    """A rule for widths and one for heights, at the right."""
    long = next((m for m in _RULES if m * across <= 120.0), _RULES[-1])
    tall = next((m for m in _RULES if m * upward <= 40.0), _RULES[-1])
    flat = polyline([(x - long * across, y), (x, y)], stroke=INK, width=2)
    upright = polyline([(x + 14, y), (x + 14, y - tall * upward)], stroke=INK, width=2)
    words = text(x - long * across - 8, y + 5, f"{long:g} m", size=SMALL, bold=True, anchor="end")
    return flat + upright + words + text(
        x + 22, y + 5 - 0.5 * tall * upward, f"{tall:g} m", size=SMALL, bold=True
    )  # fmt: skip
