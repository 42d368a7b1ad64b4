"""Faults that only the whole aircraft shows: names, nodes, facts, reach. Each is a sentence."""

from fuelkit.aircraft import model, walk_around
from fuelkit.aircraft.conditions import ALL_TANKS, LossFact, MeasureFact, OrderFact, StateFact
from fuelkit.aircraft.reading import nearest
from fuelkit.physics.gauge import column


def faults(aircraft, names):
    """Yield every fault of an aircraft whose fields are sound one by one.

    Parameters
    ----------
    aircraft : Aircraft
    names : list of str
        Every name in the file, doubles included.
    """
    yield from _names(aircraft, names)
    yield from _references(aircraft)
    yield from _openings(aircraft)
    yield from _facts(aircraft)
    yield from _settings(aircraft)
    yield from _reach(aircraft)
    yield from _shut_offs(aircraft)
    yield from walk_around.faults(aircraft)


def _names(aircraft, names):
    for name in sorted({n for n in names if names.count(n) > 1}):
        yield f"'{name}' is the name of {names.count(name)} parts; give each a name of its own."
    for name in sorted(_kept_names(aircraft).intersection(names)):
        yield f"'{name}' is a name that the kit uses itself; give the part another name."


def _kept_names(aircraft):
    """Names that a computed flight gives to other things than parts."""
    opened = (*aircraft.pumps, *aircraft.lines)
    return {
        aircraft.coupling, model.OVERBOARD, ALL_TANKS, "phase", "delivered",
        *(f"burned by {c.name}" for c in aircraft.consumers),
        *(f"{part.name} {end}" for part in opened for end in ("inlet", "outlet")),
    }  # fmt: skip


def _unknown(where, field, value, known, what):
    hint = nearest(value, known)
    return f"{where}: {field} is '{value}'; it must name {what}.{hint}"


def _references(aircraft):
    tanks = [t.name for t in aircraft.tanks]
    nodes = tanks + [n.name for n in (*aircraft.junctions, *aircraft.outlets)]
    nodes += [aircraft.coupling] if aircraft.coupling else []
    buses = [bus.name for bus in aircraft.buses]
    junctions = [j.name for j in aircraft.junctions]
    wanted = [
        *((p, "from", p.start, tanks, "a tank") for p in aircraft.pumps),
        *((p, "to", p.end, junctions, "a junction") for p in aircraft.pumps),
        *((x, "from", x.start, nodes, "a tank or junction") for x in aircraft.lines),
        *((x, "to", x.end, nodes, "a tank or junction") for x in aircraft.lines),
        *((c, "from", c.start, junctions, "a junction") for c in aircraft.consumers),
        *((r, "from", r.start, junctions, "a junction") for r in aircraft.returns),
        *((r, "to", r.end, tanks, "a tank") for r in aircraft.returns),
        *((f, "to", f.end, tanks, "a tank") for f in aircraft.fillers),
        *((o, "from", o.start, tanks, "a tank") for o in aircraft.overflows),
        *((o, "to", o.end, [*tanks, model.OVERBOARD], "a tank") for o in aircraft.overflows),
        *(
            (s, "tank", s.tank, tanks, "a tank")
            for s in (*aircraft.sensors, *aircraft.vents, *aircraft.sticks)
        ),
        *(
            (x, "bus", x.bus, buses, "an electrical bus")
            for x in (*aircraft.pumps, *aircraft.lines)
            if x.bus is not None
        ),
        *(
            (x, "suction", x.suction, tanks, "a tank")
            for x in aircraft.lines
            if x.kind == "jet pump"
        ),
        *(
            (c, "consumer", c.consumer, [x.name for x in aircraft.consumers], "a consumer")
            for c in aircraft.counters
        ),
    ]
    for part, field, value, known, what in wanted:
        if value not in known:
            yield _unknown(f"{part.name!r}", field, value, known, what)
    for line in aircraft.lines:
        yield from _jet_pump(line, tanks)
    for part in (*aircraft.lines, *aircraft.overflows):
        if part.start == part.end:
            yield f"'{part.name}': to is '{part.end}', where it comes from; let it lead elsewhere."
    yield from _loading(aircraft)
    yield from _overflows(aircraft)


def _jet_pump(line, tanks):
    if line.kind != "jet pump":
        return
    if line.start in tanks:
        yield (
            f"'{line.name}': from is '{line.start}'; a jet pump is driven from a junction. "
            "Name the line that gives it motive fuel."
        )
    if line.end not in tanks:
        yield f"'{line.name}': to is '{line.end}'; a jet pump discharges into a tank. Name one."
    if line.suction == line.end:
        yield f"'{line.name}': suction is '{line.suction}', where it discharges; name another tank."


def _loading(aircraft):
    filled = {t.name: t for t in aircraft.tanks if t.holds_fuel and t.refuel_limit > 0.0}
    names = [n for step in aircraft.loading_order for n in step]
    for name in dict.fromkeys(names):
        if name not in filled:
            yield _unknown("[loading]", "order", name, filled, "a tank that is refuelled")
        elif names.count(name) > 1:
            yield f"[loading]: order has '{name}' {names.count(name)} times; name it once."


def _overflows(aircraft):
    starts = [o.start for o in aircraft.overflows]
    for tank in aircraft.tanks:
        if starts.count(tank.name) != 1:
            yield (
                f"overflows: {starts.count(tank.name)} of them are from '{tank.name}'; a full tank "
                "runs over into one place. Give it exactly one."
            )
    yield from _overflow_circles(aircraft)


def _overflow_circles(aircraft):
    following = {o.start: o.end for o in aircraft.overflows}
    told = set()
    for start in following:
        seen, place = [start], following[start]
        while place in following and place not in seen:
            seen.append(place)
            place = following[place]
        if place == start and start not in told:
            told.update(seen)
            names = ", ".join(f"'{name}'" for name in seen)
            yield f"overflows: {names} run over in a circle; the last one must end overboard."


def _openings(aircraft):
    """Inlets, outlets and sensors lie inside the heights of their tank."""
    tanks = {t.name: t for t in aircraft.tanks}
    points = [(p.name, "inlet", p.start, p.inlet) for p in aircraft.pumps]
    points += [(s.name, "at", s.tank, s.position) for s in (*aircraft.sensors, *aircraft.vents)]
    points += [(s.name, "foot", s.tank, s.foot) for s in aircraft.sticks]
    for line in aircraft.lines:
        for field, node, point in (
            ("inlet", line.suction or line.start, line.inlet),
            ("outlet", line.end, line.outlet),
        ):
            if node in tanks and point is None:
                yield (
                    f"'{line.name}': {field} is missing; say where it opens in '{node}' [x, y, z]."
                )
            elif node not in tanks and point is not None:
                yield f"'{line.name}': {field} is given but '{node}' is not a tank; take it out."
            elif point is not None:
                points.append((line.name, field, node, point))
    for name, field, tank, point in points:
        if tank in tanks:
            yield from _outside(tanks[tank], f"'{name}': {field}", point)
    for tank in aircraft.tanks:
        for place in tank.probes:
            yield from _outside(tank, f"tanks '{tank.name}': probes", place)


def _outside(tank, where, point):
    """A sentence if a point (x, y, z), or the upright at (x, y), is not in a tank."""
    shown = "[" + ", ".join(f"{value:g}" for value in point) + "]"
    try:
        low, high = column(tank.solid, *point[:2])
    except ValueError:
        yield (
            f"{where} is {shown}; seen from above this is not in '{tank.name}'. Put it between "
            "its ribs and its spars."
        )
        return
    if len(point) > 2 and not low < point[2] < high:
        yield (
            f"{where} is {shown}; at this place '{tank.name}' reaches from z = {low:.3f} to "
            f"{high:.3f} m. Put it inside."
        )


def _facts(aircraft):
    parts = aircraft.by_name
    for owner, fact, is_end in _all_facts(aircraft):
        where = f"'{owner}'"
        if isinstance(fact, LossFact | OrderFact):
            if not isinstance(parts.get(fact.name), model.Tank):
                tanks = [t.name for t in aircraft.tanks]
                yield _unknown(where, "fact", fact.name, tanks, "a tank")
            elif isinstance(fact, LossFact) and not is_end:
                yield f"{where}: '{fact}' can only end a rule; write it in until = [...]."
            elif isinstance(fact, LossFact) and fact.mass == 0.0:
                yield f"{where}: '{fact}' can never be waited for; give a mass above 0 kg."
        elif isinstance(fact, MeasureFact):
            yield from _measure_faults(aircraft, where, fact)
        elif isinstance(fact, StateFact):
            states = model.states_of(parts[fact.name]) if fact.name in parts else ()
            if not states:
                known = [n for n, p in parts.items() if model.states_of(p)]
                yield _unknown(where, "fact", fact.name, known, "a part that has states")
            elif fact.state not in states:
                choice = " or ".join(states)
                yield f"{where}: '{fact}' can never be; '{fact.name}' is {choice}."


def _measure_faults(aircraft, where, fact):
    tanks = [t.name for t in aircraft.tanks]
    known = {"mass": [*tanks, ALL_TANKS], "temperature": tanks}.get(fact.measure)
    if known is not None and fact.name not in known:
        yield _unknown(where, "fact", fact.name, known, "a tank")
    if fact.measure == "balance" and aircraft.masses is None:
        yield f"{where}: '{fact}' needs the aircraft's masses; add a section [masses]."


def _all_facts(aircraft):
    for rule in aircraft.rules:
        yield from ((rule.name, fact, False) for fact in rule.condition.facts)
        yield from ((rule.name, fact, True) for fact in (rule.until.facts if rule.until else ()))
    for alert in aircraft.alerts:
        yield from ((alert.name, fact, False) for fact in alert.condition.facts)
    for counter in aircraft.counters:
        yield from ((counter.name, fact, False) for fact in counter.zero_when.facts)


def _settings(aircraft):
    for rule in aircraft.rules:
        for name, state in rule.sets:
            part = aircraft.by_name.get(name)
            states = model.settable_states(part)
            if not states:
                known = [n for n, p in aircraft.by_name.items() if model.settable_states(p)]
                yield _unknown(f"'{rule.name}'", "set", name, known, "a pump, valve or consumer")
            elif state not in states:
                yield (
                    f"'{rule.name}': sets '{name}' to {state}; it can be set to "
                    f"{' or '.join(states)}."
                )


def _reach(aircraft):
    """Every consumer can be reached from some tank with everything open and running."""
    reached = {t.name for t in aircraft.tanks if t.holds_fuel}
    links = [(p.start, p.end, True) for p in aircraft.pumps]
    links += [(x.start, x.end, x.one_way) for x in aircraft.lines]
    for _ in links:
        reached |= {end for start, end, _ in links if start in reached}
        reached |= {start for start, end, one_way in links if end in reached and not one_way}
    for drawer in (*aircraft.consumers, *aircraft.returns):
        if drawer.start not in reached:
            yield (
                f"'{drawer.name}': no line leads from any tank to '{drawer.start}'. "
                "Add a pump, check valve or valve on the way."
            )


def _shut_offs(aircraft):
    """A sensor that ends the filling of a tank gets wet before the tank runs over, when level."""
    for sensor in aircraft.sensors:
        if not any(_ends_filling(aircraft, rule, sensor) for rule in aircraft.rules):
            continue
        tank = next((t for t in aircraft.tanks if t.name == sensor.tank), None)
        if tank is None:
            continue  # told among the references
        wet_at = sensor.position[2] + aircraft.attitudes.rewet_height
        wet, most = tank.levels.volume_below(wet_at), tank.highest_volume
        if wet >= most:
            yield (
                f"'{sensor.name}': at is z = {sensor.position[2]:g} m, wet only from "
                f"{1000.0 * wet:.1f} l in '{tank.name}', which runs over at {1000.0 * most:.1f} l. "
                "Put it lower."
            )


def _ends_filling(aircraft, rule, sensor):
    """Whether a rule shuts a refuelling line into the sensor's tank because the sensor is wet."""
    wet = any(
        isinstance(f, StateFact) and f.name == sensor.name and f.state == "WET" and not f.negated
        for f in rule.condition.facts
    )
    lines = [aircraft.by_name.get(name) for name, state in rule.sets if state == "SHUT"]
    return wet and any(
        isinstance(line, model.Line) and line.group == "refuelling" and line.end == sensor.tank
        for line in lines
    )
