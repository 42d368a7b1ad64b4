"""How the tanks breathe, where they run over, and what stands between a blocked vent and harm."""

from html import escape

from fuelkit.aircraft import model
from fuelkit.physics.atmosphere import air, height_of_pressure
from fuelkit.physics.units import FOOT, KILOPASCAL, STANDARD_GRAVITY
from fuelkit.show.page import Page
from fuelkit.show.palette import FLOW, FUEL, IDLE, INK, PAPER, SAFETY
from fuelkit.show.svg import arrowheads, drawing, element, polyline, text, wrapped
from fuelkit.show.tables import table_html

VENT_COLUMNS = ("Tank", "Highest fill", "Vent opening", "Breathes and runs over through", "In turn")
_BOX, _TALL, _STEP, _TOP = 220.0, 62.0, 92.0, 92.0
_DENSITY = 800.0  # kg/m³, for the head of fuel that a pressure is worth


def vent_page(aircraft):
    """Return how an aircraft's tanks breathe and run over, and its pressure limits, as a page.

    Parameters
    ----------
    aircraft : Aircraft

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> page = vent_page(load_aircraft("halbrook-180"))
    >>> "Left outboard cell | 97.5 %" in page.text, "burst disc" in page.text
    (True, True)
    """
    title = f"{aircraft.name}: how the tanks breathe"
    columns, rows = _without_empty(VENT_COLUMNS, vent_rows(aircraft))
    said = pressure_sentences(aircraft)
    picture = _drawn(aircraft, title, said)
    table = table_html(rows, caption=title, columns=columns)
    details = f"<details><summary>The same as a table</summary>{table}</details>"
    style = "max-width:1280px;background:#fff;color:#111"
    plain = [title, *(" | ".join(row) for row in (columns, *rows)), *said, SAFETY]
    return Page(f'<div style="{style}">{picture}{details}</div>', "\n".join(plain))


def way_out(aircraft, name):
    """Return the tanks, and perhaps "overboard", that fuel runs into out of a tank, in order.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> way_out(load_aircraft("halbrook-180"), "left outboard")
    ('left inboard', 'left surge', 'overboard')
    """
    following = {o.start: o.end for o in aircraft.overflows}
    found = []
    while name in following:
        name = following[name]
        found.append(name)
    return tuple(found)


def vent_rows(aircraft):
    """Return each tank, its highest fill, its vent opening and where it breathes, as rows."""
    through = {o.start: o for o in aircraft.overflows}
    rows = []
    for tank in aircraft.tanks:
        way = [_title(aircraft, name) for name in way_out(aircraft, tank.name)]
        rows.append((
            tank.title, _highest(tank), "; ".join(_openings(aircraft, tank)),
            f"{through[tank.name].name}, to: {way[0]}" if way else "no overflow",
            ", then ".join(way[1:]) or "–",
        ))  # fmt: skip
    return rows


def _without_empty(columns, rows):
    """Columns in which no row says anything are left out: what the aircraft lacks."""
    kept = [i for i in range(len(columns)) if any(row[i] for row in rows)]
    return tuple(columns[i] for i in kept), [tuple(row[i] or "–" for i in kept) for row in rows]


def _highest(tank):
    if not tank.holds_fuel:
        return "takes what runs over"
    share = 100.0 * tank.highest_volume / tank.levels.capacity
    return f"{share:.1f} % of {1000.0 * tank.levels.capacity:,.0f} L".replace(",", " ")


def _openings(aircraft, tank):
    """Where a tank's vent openings stand, under the highest point of the tank."""
    top = max(corner[2] for rib in tank.ribs for corner in rib.corners)
    for vent in aircraft.vents:
        if vent.tank == tank.name:
            _, y, z = vent.position
            side = "on the middle line" if y == 0.0 else (
                f"{abs(y):.2f} m {'right' if y > 0 else 'left'} of the middle"
            )  # fmt: skip
            yield f"{side}, {1000.0 * (top - z):.0f} mm under the tank's highest point"


def _title(aircraft, name):
    return "overboard" if name == model.OVERBOARD else aircraft.tank(name).title


def pressure_sentences(aircraft):
    """Return what a tank with a blocked vent stands, in sentences; computed from the aircraft.

    References
    ----------
    ICAO Doc 7488/3, 1993, for the heights.
    """
    venting, ground = aircraft.venting, air(0.0).pressure
    burst = height_of_pressure(ground - venting.highest) / FOOT
    sunk = height_of_pressure(ground + venting.lowest) / FOOT
    return (
        f"If a vent is blocked: the burst disc opens outward at {_kpa(venting.highest)} above "
        f"the air outside (the weight of {_head(venting.highest):.1f} m of fuel of "
        f"{_DENSITY:.0f} kg/m³). Air shut in on the ground and neither warmed nor cooled gets "
        f"there at {_feet(burst)} in the standard atmosphere, if no fuel is used.",
        f"The air inlet opens at {_kpa(-venting.lowest)} below the air outside "
        f"({_head(-venting.lowest):.1f} m of fuel). Air shut in at {_feet(sunk)} gets there when "
        "the aircraft is down at sea level; a tank that is emptied gets there sooner.",
        "Blocked vents are a danger to the structure: check vent inlets on the walk-around, and "
        "act by the approved manual.",
    )


def _kpa(pressure):
    return f"{pressure / KILOPASCAL:.1f} kPa"


def _head(pressure):
    return pressure / (_DENSITY * STANDARD_GRAVITY)


def _feet(height):
    return f"{round(height, -2):,.0f} ft".replace(",", " ")


# ------------------------------------------------------------------------------------- drawing
def _drawn(aircraft, title, said):
    places = _places(aircraft)
    foot = max(y for _, y in places.values()) + _TALL
    lines = [line for sentence in said for line in wrapped(sentence, 1230.0, size=15)]
    content = (
        element("desc", escape(_description(aircraft)))
        + text(24, 33, title, size=20, bold=True)
        + text(24, 56, _LEAD, size=15, fill=IDLE)
        + "".join(_arrow(places, o) for o in aircraft.overflows)
        + "".join(_box(aircraft, name, at) for name, at in places.items())
        + text(24, foot + 36, lines, size=15, step=20)
        + text(24, foot + 44 + 20 * len(lines), SAFETY, size=14, fill=IDLE)
    )
    return drawing(content, height=int(foot + 58 + 20 * len(lines)), label=title)


_LEAD = "Arrows: where each tank runs over above its highest fill, and the way to the air outside."


def _description(aircraft):
    found = []
    for tank in aircraft.tanks:
        way = ", then ".join(_title(aircraft, n) for n in way_out(aircraft, tank.name))
        found.append(f"{tank.title}: {way or 'no overflow'}.")
    return " ".join(found)


def _places(aircraft):
    """Upper left corner of each box: a column for each step from overboard, outside at the right.

    In a column tanks stand in the order of the aircraft; a box that only one other leads to
    stands where that one does. [px]
    """
    names = [tank.name for tank in aircraft.tanks]
    depth = {name: len(way_out(aircraft, name)) for name in names}
    deepest = max(depth.values())
    width = (1280.0 - 48.0 - _BOX) / max(1, deepest)
    rows, count = {}, max(sum(depth[n] == d for n in names) for d in range(deepest + 1))
    for d in range(deepest + 1):
        column = [name for name in names if depth[name] == d]
        for i, name in enumerate(sorted(column, key=lambda n: _across(aircraft, n))):
            rows[name] = (i + 0.5) * count / len(column) - 0.5
    if any(o.end == model.OVERBOARD for o in aircraft.overflows):
        rows[model.OVERBOARD] = 0.5 * (count - 1)
    step = min(width, 340.0)
    return {
        name: (24.0 + step * (deepest - depth.get(name, 0)), _TOP + _STEP * row)
        for name, row in rows.items()
    }


def _across(aircraft, name):
    spans = [rib.y for rib in aircraft.tank(name).ribs]
    return 0.5 * (min(spans) + max(spans))


def _box(aircraft, name, at):
    x, y = at
    if name == model.OVERBOARD:
        rim = element("rect", x=x, y=y, width=_BOX, height=_TALL, rx=6, fill=PAPER, stroke=INK,
                      stroke_width=2, stroke_dasharray="7 5")  # fmt: skip
        said = text(x + 0.5 * _BOX, y + 26, "Overboard", size=16, bold=True, anchor="middle")
        return (
            rim + said + text(x + 0.5 * _BOX, y + 46, "the air outside", size=14, anchor="middle")
        )
    tank = aircraft.tank(name)
    rim = element("rect", x=x, y=y, width=_BOX, height=_TALL, rx=6,
                  fill=FUEL if tank.holds_fuel else PAPER, stroke=INK, stroke_width=2)  # fmt: skip
    said = text(x + 0.5 * _BOX, y + 26, tank.title, size=16, bold=True, anchor="middle")
    under = _highest(tank) if tank.holds_fuel else "takes what runs over"
    return rim + said + text(x + 0.5 * _BOX, y + 46, under, size=14, anchor="middle")


def _arrow(places, overflow):
    (x0, y0), (x1, y1) = places[overflow.start], places[overflow.end]
    start, end = (x0 + _BOX, y0 + 0.5 * _TALL), (x1, y1 + 0.5 * _TALL)
    near = (end[0] - 26.0, end[1])
    turn = (end[0] - 26.0, start[1]) if abs(start[1] - end[1]) < 1.0 else None
    points = [start, turn, end] if turn else [start, (start[0] + 24.0, start[1]), near, end]
    head = arrowheads([near, end], fill=FLOW, every=1000.0, size=6.0)
    return polyline([p for p in points if p], stroke=FLOW, width=3) + head
