"""What stands in the tanks, seen from above: inlets, openings, sensors, sticks, gauge probes."""

from dataclasses import dataclass

from fuelkit.show.tables import table_html
from fuelkit.show.words import title_case

PLAN_COLUMNS = ("Part", "Number", "Kind", "Tank", "Aft of nose", "From middle", "Height")


@dataclass(frozen=True)
class Mark:
    """A numbered thing in a tank. Frozen. Kinds: "pump inlet", "opening", "sensor", ..."""

    number: int
    name: str
    kind: str
    tank: str
    x: float
    y: float
    z: float | None


def plan_marks(aircraft):
    """Return what the plan marks in the tanks, numbered: inlets, openings, sensors, sticks, probes.

    Returns
    -------
    tuple of Mark
    """
    tanks = {tank.name for tank in aircraft.tanks}
    found = [(p.name, "pump inlet", p.start, p.inlet) for p in aircraft.pumps]
    found += [o for line in aircraft.lines for o in _openings(line, tanks)]
    sensors = sorted(aircraft.sensors, key=lambda s: s.kind)  # one kind after the other
    found += [(s.name, f"{s.kind} sensor", s.tank, s.position) for s in sensors]
    found += [(s.name, f"{s.kind} stick", s.tank, s.foot) for s in aircraft.sticks]
    found += [
        (f"{tank.name} probe {i}", "gauge probe", tank.name, (x, y, None))
        for tank in aircraft.tanks
        for i, (x, y) in enumerate(tank.probes, start=1)
    ]
    return tuple(Mark(i, n, k, t, *at) for i, (n, k, t, at) in enumerate(found, start=1))


def _openings(line, tanks):
    """Where a line opens in tanks; an opening in a wall between two tanks is one."""
    ends = []
    if line.inlet:
        ends.append(("start", line.suction or line.start, line.inlet))
    if line.outlet and line.outlet != line.inlet and line.end in tanks:
        ends.append(("end", line.end, line.outlet))
    words = {"start": "suction", "end": "discharge"} if line.kind == "jet pump" else {}
    for end, tank, at in ends:
        name = f"{line.name}, {words.get(end, end)}" if len(ends) > 1 else line.name
        yield name, "opening", tank, at


def plan_table(aircraft):
    """Return what the plan shows, as rows: the tanks with their extents, then the marks.

    Returns
    -------
    list of tuple of str
        In metres, as `PLAN_COLUMNS` says.
    """
    rows = [
        (
            tank.title, "", "tank" if tank.holds_fuel else "vent surge tank", "",
            _range([x for r in tank.ribs for x in (r.front[0], r.rear[0])]),
            _range([r.y for r in tank.ribs]),
            _range([z for r in tank.ribs for z in (*r.front[1:], *r.rear[1:])]),
        )
        for tank in aircraft.tanks
    ]  # fmt: skip
    titles = {tank.name: tank.title for tank in aircraft.tanks}
    return rows + [
        (
            title_case(m.name), str(m.number), m.kind, titles[m.tank], f"{m.x:.2f} m", _side(m.y),
            "" if m.z is None else f"{m.z:.3f} m",
        )
        for m in plan_marks(aircraft)
    ]  # fmt: skip


def plan_table_html(aircraft):
    """Return the table of the plan for a page."""
    caption = f"{aircraft.name}: tanks, openings, sensors and sticks"
    return table_html(plan_table(aircraft), caption=caption, columns=PLAN_COLUMNS)


def _range(values):
    return f"{min(values):.2f} to {max(values):.2f} m"


def _side(y):
    return "on it" if y == 0.0 else f"{abs(y):.2f} m {'right' if y > 0 else 'left'}"
