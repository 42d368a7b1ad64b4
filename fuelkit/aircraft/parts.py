"""Make the parts of an aircraft from the tables of its file. Checks each field, not the whole."""

import math

from fuelkit.aircraft import model
from fuelkit.aircraft.characteristics import celsius
from fuelkit.aircraft.conditions import Condition, read_fact
from fuelkit.aircraft.reading import is_number
from fuelkit.physics.units import HOUR, KILOPASCAL

# Laminar loss of a part as a share of its turbulent one at 1 kg/s; see physics.network.Link. Where
# two tanks have come level, fuel creeps through the opening between them: 0.05 kg/s through a bore
# of 40 mm is a Reynolds number of about 1,000 (4 m / (pi D mu), mu 1.5 mPa s), where losses turn
# from laminar to turbulent.
_FRICTION_SHARE, _CREEP_SHARE = 0.002, 0.05


def tanks(section):
    """Return the tanks; a tank may be the mirror image of another one."""
    found = []
    for table in section.tables("tanks", required=True):
        name = table.text("name")
        if "mirror_of" in table:
            tank = _mirrored(table, name, {t.name: t for t in found})
        else:
            tank = _tank(table, name)
        table.finish()
        found += [tank] if tank is not None else []
    return tuple(found)


def _tank(table, name):
    ribs = [_rib(rib) for rib in table.tables("ribs", required=True)]
    if len(ribs) < 2:
        table.fault("ribs", len(ribs), "a tank needs at least two ribs")
        ribs = None
    tank = model.Tank(
        name=name,
        title=table.text("title"),
        ribs=tuple(ribs or ()),
        holds_fuel=table.flag("holds_fuel", True),
        expansion_space=table.number("expansion_space_percent", low=0, high=50) / 100.0,
        refuel_limit=table.number("refuel_limit_percent", low=0, high=100) / 100.0,
        probes=table.points("probes", 2, ()),
    )
    _check_expansion(table, tank)
    if tank.refuel_limit > 1.0 - tank.expansion_space:
        table.fault(
            "refuel_limit_percent",
            tank.refuel_limit * 100.0,
            f"it must leave the expansion space free: at most {100 * (1 - tank.expansion_space):g}",
        )
    return tank if ribs and _has_volume(table, tank) else None


def _check_expansion(table, tank):
    if tank.holds_fuel and tank.expansion_space < 0.02:
        table.fault(
            "expansion_space_percent",
            tank.expansion_space * 100.0,
            "a fuel tank keeps at least 2 % free for expansion (14 CFR 25.969)",
        )


def _has_volume(table, tank):
    try:
        return tank.levels.capacity > 0.0
    except ValueError as problem:
        table.fault("ribs", "a shape", f"it encloses no sound solid ({problem})")
        return False


def _rib(table):
    front, rear = table.numbers("front", 3), table.numbers("rear", 3)
    rib = model.Rib(y=table.number("y"), front=front, rear=rear)
    for spar, (_, bottom, top) in (("front", front), ("rear", rear)):
        if "front" in table and "rear" in table and not bottom < top:
            table.fault(spar, [bottom, top], "its bottom z must be lower than its top z")
    if "front" in table and "rear" in table and not front[0] < rear[0]:
        table.fault("rear", rear[0], "the rear spar must be aft of the front spar (greater x)")
    table.finish()
    return rib


def _mirrored(table, name, found):
    other = table.text("mirror_of")
    title, holds_fuel = table.text("title"), table.flag("holds_fuel", True)
    tank = found.get(other)
    if tank is None:
        table.fault("mirror_of", other, "it must name a sound tank that stands higher in the file")
        return None
    ribs = tuple(model.Rib(-rib.y, rib.front, rib.rear) for rib in tank.ribs)
    image = model.Tank(
        name, title, ribs, holds_fuel, tank.expansion_space, tank.refuel_limit,
        tuple((x, -y) for x, y in tank.probes),
    )  # fmt: skip
    _check_expansion(table, image)
    return image


def junctions(section):
    """Return the junctions of the network."""
    return _each(
        section,
        "junctions",
        lambda t: model.Junction(t.text("name"), t.numbers("position", 3), t.numbers("at", 2)),
    )


def outlets(section):
    """Return the openings overboard."""
    return _each(
        section,
        "outlets",
        lambda t: model.Outlet(t.text("name"), t.numbers("position", 3), t.numbers("at", 2)),
    )


def buses(section):
    """Return the electrical buses."""
    return _each(section, "buses", lambda t: model.Bus(t.text("name")))


def pumps(section):
    """Return the pumps with their head curves."""
    return _each(section, "pumps", _pump, required=True)


def _pump(table):
    rise, resistance, exponent = _head_curve(table)
    return model.Pump(
        name=table.text("name"),
        kind=table.choice("kind", ("boost", "override")),
        start=table.text("from"),
        end=table.text("to"),
        inlet=table.numbers("inlet", 3),
        rise=rise,
        resistance=resistance,
        exponent=exponent,
        at=table.numbers("at", 2),
        bus=table.text("bus", None),
    )


def _head_curve(table):
    """Rise, loss coefficient and exponent through three points of a pump's head curve."""
    rule = (
        "it must be three points [kg/h, kPa], the first at no flow, with the flow rising and the "
        "pressure falling"
    )
    points = table.raw("curve", list, rule)
    sound = len(points) == 3 and all(
        isinstance(point, list) and len(point) == 2 and all(map(is_number, point))
        for point in points
    )
    if sound:
        (q0, p0), (q1, p1), (q2, p2) = points
        sound = q0 == 0.0 < q1 < q2 and p0 > p1 > p2 >= 0.0
    if not sound:
        if "curve" in table:
            table.fault("curve", points, rule)
        return 1.0, 1.0, 2.0
    exponent = math.log((p0 - p2) / (p0 - p1)) / math.log(q2 / q1)
    if not 1.0 <= exponent <= 4.0:
        table.fault("curve", points, "it must bend down like a pump curve, not up or like a step")
        return 1.0, 1.0, 2.0
    return p0 * KILOPASCAL, (p0 - p1) * KILOPASCAL / (q1 / HOUR) ** exponent, exponent


def lines(section):
    """Return pipes, check valves, relief valves, motor valves and jet pumps, in this order."""
    kinds = ("pipe", "check valve", "relief valve", "valve", "jet pump")
    return tuple(
        line
        for kind in kinds
        for line in _each(section, f"{kind.replace(' ', '_')}s", lambda t, k=kind: _line(t, k))
    )


def _line(table, kind):
    loss = table.number("loss_kpa", above=0) * KILOPASCAL
    flow = table.number("loss_at_kg_h", above=0) / HOUR
    always_one_way = kind in ("check valve", "relief valve", "jet pump")
    return model.Line(
        name=table.text("name"),
        kind=kind,
        start=table.text("from"),
        end=table.text("to"),
        inlet=table.numbers("inlet", 3, None),
        outlet=table.numbers("outlet", 3, None),
        resistance=loss / flow**2,
        opening=table.number("opening_kpa", above=0) * KILOPASCAL
        if kind == "relief valve"
        else 0.0,
        one_way=always_one_way or table.flag("one_way", False),
        travel=table.number("travel_s", low=0, high=600) if kind == "valve" else 0.0,
        group=table.choice("group", ("feed", "refuelling"), "feed"),
        at=table.numbers("at", 2, None),
        bus=table.text("bus", None) if kind == "valve" else None,
        suction=table.text("suction") if kind == "jet pump" else "",
        flow_ratio=table.number("flow_ratio", above=0, high=20) if kind == "jet pump" else 0.0,
    )


def friction(line_or_pump):
    """Return the laminar loss of a part, a small share of its turbulent one [Pa/(kg/s)]."""
    share = _CREEP_SHARE if joins_tanks(line_or_pump) else _FRICTION_SHARE
    return max(1.0, share * line_or_pump.resistance)


def joins_tanks(part):
    """Return whether a part is an opening between two tanks: a valve in the wall, or a flap."""
    is_opening = part.kind in ("valve", "check valve") and part.inlet is not None
    return is_opening and part.outlet is not None


def consumers(section):
    """Return engines and APU."""
    return _each(section, "consumers", _consumer, required=True)


def _consumer(table):
    kind = table.choice("kind", ("engine", "APU"))
    burn = table.number("burn_kg_h", above=0) / HOUR if kind == "APU" else None
    return model.Consumer(
        table.text("name"),
        kind,
        table.text("from"),
        burn,
        table.numbers("at", 2),
        table.number("least_inlet_kpa", 0.0, low=0, high=100) * KILOPASCAL,
    )


def returns(section):
    """Return the hot returns."""
    return _each(
        section,
        "returns",
        lambda t: model.Return(
            t.text("name"),
            t.text("from"),
            t.text("to"),
            t.number("flow_kg_h", above=0) / HOUR,
            celsius(t, "temperature_c", 60.0),
            t.numbers("at", 2),
        ),
    )


def fillers(section):
    """Return the openings through which tanks are filled by hand."""
    return _each(
        section,
        "fillers",
        lambda t: model.Filler(
            t.text("name"), t.text("to"), t.number("flow_kg_h", above=0) / HOUR, t.numbers("at", 2)
        ),
    )


def overflows(section):
    """Return where tanks run over."""
    return _each(
        section,
        "overflows",
        lambda t: model.Overflow(t.text("name"), t.text("from"), t.text("to")),
    )


def sensors(section):
    """Return the level and temperature sensors."""
    kinds = ("level", "temperature")
    return _each(
        section,
        "sensors",
        lambda t: model.Sensor(
            t.text("name"), t.text("tank"), t.numbers("at", 3), t.choice("kind", kinds, "level")
        ),
    )


def vents(section):
    """Return the openings through which tanks breathe."""
    return _each(
        section,
        "vents",
        lambda t: model.Vent(t.text("name"), t.text("tank"), t.numbers("at", 3)),
    )


def sticks(section):
    """Return the magnetic level indicators and drip sticks."""
    return _each(
        section,
        "sticks",
        lambda t: model.Stick(
            t.text("name"),
            t.text("tank"),
            t.choice("kind", ("magnetic", "drip")),
            t.numbers("foot", 3),
            t.number("length_m", above=0, high=10),
        ),
    )


def switches(section):
    """Return the controls."""
    return _each(section, "switches", lambda t: model.Switch(t.text("name"), t.texts("positions")))


def rules(section):
    """Return the automatic functions in the order of the file, which is their priority."""
    return _each(section, "rules", _rule, required=True)


def _rule(table):
    sets = table.raw("set", dict, "it must list components and their states")
    wrong = {k: v for k, v in sets.items() if not isinstance(v, str)}
    if wrong or ("set" in table and not sets):
        table.fault("set", sets, 'it must read { "component" = "STATE" }, at least one')
    return model.Rule(
        name=table.text("name"),
        condition=_condition(table),
        until=Condition(all=_facts(table, "until")) if "until" in table else None,
        delay=table.number("after_s", 0.0, low=0, high=86400),
        sets=tuple((k, v) for k, v in sets.items() if k not in wrong),
        because=table.text("because"),
    )


def counters(section):
    """Return the fuel-used counters."""
    return _each(
        section,
        "counters",
        lambda t: model.Counter(
            t.text("name"),
            t.text("consumer"),
            Condition(all=_facts(t, "zero_when")),
            t.text("because"),
        ),
    )


def alerts(section):
    """Return what the crew is told."""
    levels = ("advisory", "caution", "warning")
    return _each(
        section,
        "alerts",
        lambda t: model.Alert(t.text("name"), t.choice("level", levels), _condition(t)),
    )


def _condition(table):
    if "all" not in table and "any" not in table:
        table.fault_here("has no condition; add all = [...] or any = [...]")
    facts = {field: _facts(table, field) if field in table else () for field in ("all", "any")}
    return Condition(**facts)


def _facts(table, field):
    found = []
    for sentence in table.texts(field):
        fact = read_fact(sentence)
        if fact is None:
            table.fault(field, sentence, 'a fact reads "NAME is STATE"')
        else:
            found.append(fact)
    return tuple(found)


def _each(section, field, make, *, required=False):
    found = []
    for table in section.tables(field, required=required):
        found.append(make(table))
        table.finish()
    return tuple(found)
