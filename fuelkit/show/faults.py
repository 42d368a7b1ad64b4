"""What has failed and has no symbol of its own to stand beside: leaks, blocked vents, gauges."""

from fuelkit.aircraft.model import Consumer, Tank
from fuelkit.show import symbols
from fuelkit.show.palette import INK
from fuelkit.show.svg import element, plate
from fuelkit.show.words import flow_text


def faults_drawn(plan, view, hidden):
    """Return a drop where fuel leaks out, and a word for a blocked vent.

    What hangs together with a part that a learner has yet to predict is told all the same:
    failures are marked only where the truth is told.
    """
    drawn = []
    for failure in view.failures:
        if failure.kind == "leaking":
            drawn.append(_leak(plan, view, failure))
        elif failure.kind == "blocked":
            shape = plan.shapes[failure.part]
            at = shape.inside(shape.left + 0.72 * (shape.right - shape.left))
            drawn.append(_tag(failure, at, shape.top(at) - 9.0, ["vent blocked"], "middle"))
    return "".join(drawn)


def leak_words(view, failure):
    """Return how much a leak loses, or that nothing runs out there now."""
    if not view.leaks.get(failure.name, True):
        return "leak, now dry"
    return f"leaks {flow_text(failure.leak)}"


def _leak(plan, view, failure):
    part = plan.aircraft.by_name[failure.part]
    words = leak_words(view, failure)
    if isinstance(part, Tank):
        shape = plan.shapes[part.name]
        at = failure.hole[1] if failure.hole else _lowest(part)
        x = shape.inside(shape.x(at), 10.0)
        y = shape.y(failure.hole[2]) if failure.hole else shape.bottom(x)
        to_left = x > 1000.0
        left = (x - 12.0, "end") if to_left else (x + 12.0, "start")
        return symbols.drop(x, y + 12.0) + _tag(failure, left[0], y + 19.0, [words], left[1])
    x, y = plan.places[part.name]
    if isinstance(part, Consumer):
        x, y = x + symbols.BOX_WIDTH / 2 - 2.0, y + symbols.BOX_HEIGHT / 2 - 6.0
    return symbols.drop(x, y + 13.0) + _tag(failure, x + 12.0, y + 20.0, [words], "start")


def _lowest(tank):
    """Where a tank is lowest across its width [m]."""
    return min((z, y) for rib in tank.ribs for _, y, z in rib.corners)[1]


def _tag(failure, x, y, lines, anchor):
    words = plate(x, y, lines, size=14, bold=True, anchor=anchor, edge=INK)
    return element("g", words, data_failure=failure.name)
