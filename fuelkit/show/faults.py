"""What has failed and has no symbol of its own to stand beside: leaks and blocked vents."""

from fuelkit.aircraft.model import Consumer, Tank
from fuelkit.show import symbols
from fuelkit.show.mark_room import mark_spot
from fuelkit.show.palette import INK
from fuelkit.show.svg import element, plate
from fuelkit.show.words import flow_text, title_case

__all__ = ["failure_words", "faults_drawn"]

_VENT = "vent blocked"


def faults_drawn(plan, view, room):
    """Return a drop where fuel leaks out, and a word for a blocked vent.

    Failures are marked where the truth is told; the panel beside the drawing lists them all.
    """
    drawn = []
    for failure in view.failures:
        if failure.kind == "leaking":
            drawn.append(_leak(plan, view, failure))
        elif failure.kind == "blocked":
            drawn.append(_vent(plan, failure, room))
    return "".join(drawn)


def failure_words(view, failure):
    """Return what has failed and how much it does, for the panel and the table."""
    if failure.kind == "leaking":
        runs = view.leaks.get(failure.name, True)
        rest = f": {flow_text(failure.leak)}" if runs else ": nothing runs out now"
        return title_case(failure.name) + rest
    if failure.kind == "misreading" and failure.part in view.readings:
        return f"{title_case(failure.name)}: shows {view.readings[failure.part]}"
    if failure.kind == "stuck" and failure.state:
        return f"{title_case(failure.name)} {failure.state}"
    return title_case(failure.name)


def _vent(plan, failure, room):
    """Over the inner end of its tank, or where else at its edge there is room."""
    shape = plan.shapes[failure.part]
    (x, y), anchor, *_ = mark_spot(room, [[[_VENT]]], _by_the_edge(shape))
    return _tag(failure, x, y, _VENT, anchor)


def _by_the_edge(shape):
    inner = 0.13 if shape.middle > 660.0 else 0.87
    for share in (inner, 0.5, 1.0 - inner):
        x = shape.inside(shape.left + share * (shape.right - shape.left))
        aside = 20.0 * abs(share - inner)
        for up in (0.0, 19.0, 38.0):
            yield aside + up, x, shape.top(x) - 8.0 - up, "middle"
            yield aside + up + 8.0, x, shape.bottom(x) + 20.0 + up, "middle"


def _leak(plan, view, failure):
    part = plan.aircraft.by_name[failure.part]
    words = "leak" if view.leaks.get(failure.name, True) else "leak, dry"
    if isinstance(part, Tank):
        shape = plan.shapes[part.name]
        at = failure.hole[1] if failure.hole else _lowest(part)
        x = shape.inside(shape.x(at), 10.0)
        y = shape.y(failure.hole[2]) if failure.hole else shape.bottom(x)
        return symbols.drop(x, y + 12.0) + _tag(failure, x + 12.0, y + 18.0, words, "start")
    x, y = plan.places[part.name]
    if isinstance(part, Consumer):
        x, y = x + 32.0, y - symbols.BOX_HEIGHT / 2 - 18.0
    return symbols.drop(x, y + 13.0) + _tag(failure, x + 12.0, y + 16.0, words, "start")


def _lowest(tank):
    """Where a tank is lowest across its width [m]."""
    return min((z, y) for rib in tank.ribs for _, y, z in rib.corners)[1]


def _tag(failure, x, y, words, anchor):
    drawn = plate(x, y, words, size=14, bold=True, anchor=anchor, edge=INK)
    return element("g", drawn, data_failure=failure.name)
