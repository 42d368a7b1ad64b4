"""The symbols of our drawings: each returns SVG, drawn around its own middle.

Shapes follow ISO 14617 and ISO 10628-2 in the main: pump a circle with a triangle towards the
outlet, valve two triangles tip to tip, check valve a triangle against a bar. Shapes from memory.
Those of jet pump, outlet, filler, leak and of what has failed are our own.
"""

from fuelkit.show.palette import CAUTION, FLOW, IDLE, INK, PAPER, WARNING
from fuelkit.show.svg import SIZE, element, plate, polygon, polyline, text

PUMP_RADIUS = 17.0
BOX_WIDTH, BOX_HEIGHT = 160.0, 70.0
QUESTION = "?"
_PUMP_STATES = ("RUN", "OFF", "LOW PRESS", "FAIL")
_VALVE_STATES = ("OPEN", "SHUT", "MOVING", "BETWEEN", "HALF OPEN")
HALO = {"paint_order": "stroke", "stroke": PAPER, "stroke_width": 3, "stroke_linejoin": "round"}
_ALARM = {"caution": (CAUTION, INK), "warning": (WARNING, PAPER)}


def pump(x, y, state, *, delivers=False):
    """Return a pump: RUN solid, OFF hollow, LOW PRESS half; its triangle points to the outlet.

    FAIL is hollow with a dashed rim and one diagonal.
    """
    colour = FLOW if delivers else (IDLE if state == "OFF" else INK)
    circle = element(
        "circle", cx=x, cy=y, r=PUMP_RADIUS, fill=PAPER, stroke=colour, stroke_width=2.5,
        stroke_dasharray="6 4" if state == "FAIL" else None,
    )  # fmt: skip
    if state not in _PUMP_STATES:
        return circle + _question(x, y)
    corners = [(x - 12.0, y - 9.5), (x + 12.0, y - 9.5), (x, y + 14.5)]
    fill = PAPER if state in ("OFF", "FAIL") else colour
    shape = polygon(corners, fill=fill, stroke=colour, stroke_width=2, stroke_linejoin="round")
    if state == "LOW PRESS":
        shape += element("rect", x=x - 7.0, y=y - 7.5, width=14.0, height=7.0, fill=PAPER)
    if state == "FAIL":
        shape += _stroke([(x - 17.0, y + 17.0), (x + 17.0, y - 17.0)], 3.5)
    return circle + shape


def valve(x, y, state, *, upright=True, flows=False, stuck=False):
    """Return a motor valve: OPEN unbroken, SHUT with a bar and gaps, MOVING half hatched.

    HALF OPEN has half a bar, BETWEEN (as the crew is shown it) is drawn like MOVING; one that is
    stuck has a cross over it.
    """
    colour = FLOW if flows else INK
    known = state in _VALVE_STATES
    turned = f"translate({x:g},{y:g})" + (" rotate(90)" if upright else "")
    body = element("g", _valve_body(state, colour), transform=turned)
    if stuck:
        body += cross(x, y)
    return body if known else body + _question(x, y)


def _valve_body(state, colour):
    left, right = [(-14, -11), (0, 0), (-14, 11)], [(14, -11), (0, 0), (14, 11)]
    outline = {"fill": "none", "stroke": colour, "stroke_width": 2.4, "stroke_linejoin": "round"}
    if state == "OPEN":
        return polygon(left, **outline) + polygon(right, **outline)
    ground = element("rect", x=-21, y=-13, width=42, height=26, fill=PAPER)
    if state not in _VALVE_STATES:
        return (
            ground
            + polygon(left, **outline)
            + polygon(right, **outline)
            + element("circle", r=11, fill=PAPER)
        )
    body = ground + polygon(left, **outline) + polygon(right, **outline)
    if state == "HALF OPEN":
        return body + polyline([(0, -15), (0, 0)], stroke=colour, width=5)
    if state in ("MOVING", "BETWEEN"):
        lines = [[(-11, -8), (-11, 8)], [(-7, -5), (-7, 5)], [(-3, -2), (-3, 2)]]
        return body + "".join(polyline(p, stroke=colour, width=2) for p in lines)
    return body + polyline([(0, -15), (0, 15)], stroke=colour, width=5)


def cross(x, y):
    """Return the cross over what is stuck."""
    return _stroke([(x - 15, y - 15), (x + 15, y + 15)], 3.5) + _stroke(
        [(x - 15, y + 15), (x + 15, y - 15)], 3.5
    )


def _stroke(points, width):
    """A line that stands out from whatever it crosses."""
    return polyline(points, stroke=PAPER, width=width + 3.5) + polyline(
        points, stroke=INK, width=width
    )


def jet_pump(x, y, *, flows, turn=0):
    """Return a jet pump: a nozzle blowing into a throat that widens; to the right, or turned."""
    colour = FLOW if flows else IDLE
    look = {"stroke": colour, "stroke_width": 2, "stroke_linejoin": "round"}
    ground = element("rect", x=-15.0, y=-13.0, width=32.0, height=26.0, fill=PAPER)
    nozzle = [(-13, -7), (-1, -2), (-1, 2), (-13, 7)]
    throat = [(-5, -11), (5, -4), (15, -11), (15, 11), (5, 4), (-5, 11)]
    body = (
        ground
        + polygon(throat, fill=PAPER, **look)
        + polygon(nozzle, fill=colour if flows else PAPER, **look)
    )
    return element("g", body, transform=f"translate({x:g},{y:g}) rotate({turn:g})")


def outlet(x, y, *, flows):
    """Return an opening overboard: a mouth that widens downwards, with drops while it runs."""
    colour = FLOW if flows else INK
    body = polyline(
        [(x - 5, y - 10), (x - 11, y + 6), (x + 11, y + 6), (x + 5, y - 10)],
        stroke=colour, width=2.4, stroke_linejoin="round",
    )  # fmt: skip
    return body + "".join(drop(x + dx, y + 15.0, size=5.0) for dx in (-8, 0, 8)) * flows


def filler(x, y, state, *, flows=False):
    """Return a filler opening: a short neck under its cap; OPEN, the cap is off."""
    colour = FLOW if flows else INK
    neck = element(
        "rect", x=x - 7.0, y=y - 4.0, width=14.0, height=12.0, fill=PAPER, stroke=colour,
        stroke_width=2,
    )  # fmt: skip
    if state not in ("SHUT", "OPEN"):
        return neck + _question(x, y)
    tilt = f"rotate(-50 {x + 11:g} {y - 7:g})" if state == "OPEN" else None
    cap = element(
        "rect", x=x - 11.0, y=y - 9.0, width=22.0, height=5.0, fill=colour, transform=tilt
    )
    return neck + cap


def drop(x, y, *, size=9.0):
    """Return a drop of fuel: a leak, or what runs overboard."""
    width = 0.62 * size
    path = (
        f"M{x:g},{y - size:g} C{x + 0.3 * width:g},{y - 0.4 * size:g} {x + width:g},{y:g} "
        f"{x + width:g},{y + 0.35 * size:g} A{width:g},{width:g} 0 1 1 {x - width:g},"
        f"{y + 0.35 * size:g} C{x - width:g},{y:g} {x - 0.3 * width:g},{y - 0.4 * size:g} "
        f"{x:g},{y - size:g} Z"
    )
    return element("path", d=path, fill=FLOW, stroke=PAPER, stroke_width=1.5)


def check_valve(x, y, *, sprung, flows, downward=True):
    """Return a check valve: a triangle against a bar; with a spring, one that opens late."""
    colour, sign = FLOW if flows else IDLE, 1 if downward else -1
    body = element("rect", x=x - 12.0, y=y - 12.0, width=24.0, height=24.0, fill=PAPER)
    corners = [(x - 10, y - 9 * sign), (x + 10, y - 9 * sign), (x, y + 8 * sign)]
    body += polygon(corners, fill=colour if flows else PAPER, stroke=colour, stroke_width=2)
    body += polyline([(x - 11, y + 9 * sign), (x + 11, y + 9 * sign)], stroke=colour, width=3)
    if sprung:
        zigzag = [(x - 9 - 2.5 * i, y - 5 + 10 * (i % 2)) for i in range(5)]
        body += polyline(zigzag, stroke=colour, width=1.8)
    return body


def consumer(x, y, title, lines, *, running, stopped=False, alarm=""):
    """Return an engine or the APU: a box with its name and what feeds it.

    stopped : bool
        Whether it stopped by itself, STARVED or FAIL: its rim is dashed.
    alarm : str
        "caution" or "warning" if the crew is told of it; its state then stands on amber or red.
    """
    colour = FLOW if running else IDLE
    box = element(
        "rect", x=x - BOX_WIDTH / 2, y=y - BOX_HEIGHT / 2, width=BOX_WIDTH, height=BOX_HEIGHT,
        rx=6, fill=PAPER, stroke=INK if stopped else colour,
        stroke_width=3 if running or stopped else 1.5,
        stroke_dasharray="9 5" if stopped else None,
    )  # fmt: skip
    size, step = (15, 18) if len(lines) < 3 else (13, 15)
    top = y + 5.0 - 0.5 * step * len(lines)
    heading = text(x, top, title, size=size + 1, bold=True, anchor="middle")
    if alarm:
        ground, ink = _ALARM[alarm]
        tag = {"fill": ink, "ground": ground, "edge": INK}
        return box + heading + plate(x, top + step + 3, lines, size=size, bold=True, **tag)
    return (
        box + heading + text(x, top + step, lines, size=size, bold=True, anchor="middle", step=step)
    )


def sensor(x, y, state, *, kind="level"):
    """Return a sensor: a dot, for temperature a diamond; full when WET and hollow when DRY."""
    fill = INK if state == "WET" else PAPER
    if kind == "temperature":
        corners = [(x, y - 6.5), (x + 6.5, y), (x, y + 6.5), (x - 6.5, y)]
        return polygon(corners, fill=fill, stroke=INK, stroke_width=1.8)
    return element("circle", cx=x, cy=y, r=4.5, fill=fill, stroke=INK, stroke_width=1.8)


def coupling(x, y):
    """Return the refuelling coupling: a ring around the end of the line."""
    ring = {"fill": PAPER, "stroke": INK}
    return element("circle", cx=x, cy=y, r=9.0, stroke_width=2.4, **ring) + element(
        "circle", cx=x, cy=y, r=3.5, stroke_width=1.8, **ring
    )


def joint(x, y, colour, width):
    """Return the dot that marks lines of a width which join."""
    return element("circle", cx=x, cy=y, r=2.0 + 0.75 * width, fill=colour)


def state_label(x, y, name_lines, state, below=(), *, alarm="", anchor="start", size=SIZE):
    """Return the words beside a symbol: its name, its state in bold, what else there is to say.

    alarm : str
        "caution" or "warning" if the crew is told of this state; it then stands on amber or red.
    """
    step = 18
    style = {"anchor": anchor, "step": step, "size": size} | HALO
    parts = [text(x, y, list(name_lines), **style)] if name_lines else []
    y += step * len(name_lines)
    split = state.startswith(("LOW", "STUCK", "NO "))
    state_lines = state.split(" ", 1) if split else [state]
    if alarm:
        ground, ink = _ALARM[alarm]
        left = x + (4 if anchor == "start" else 0)
        tag = {"fill": ink, "ground": ground, "edge": INK}
        parts.append(plate(left, y, state_lines, bold=True, anchor=anchor, **tag))
    else:
        parts.append(text(x, y, state_lines, bold=True, **style))
    y += step * len(state_lines) + (3 if alarm else 0)
    if below:
        parts.append(text(x, y, list(below), fill=IDLE, **style))
    return "".join(parts)


def _question(x, y):
    return text(x, y + 7, QUESTION, size=20, bold=True, anchor="middle")
