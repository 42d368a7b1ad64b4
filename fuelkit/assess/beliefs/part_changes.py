"""Changes to the parts of any aircraft: lines, pumps, returns, overflows, and rules that are added.

A believed flight need only be what a learner would draw up: these parts are no real ones.
"""

from dataclasses import replace

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import Condition, MeasureFact, StateFact

_WEAK = 0.5  # of what the weakest boost pump brings behind its sequence valve
_LEVELLING = 200.0  # Pa/(kg/s)²; 3 t/h at a difference of some 2 cm
_NOTICED = 0.02  # of all that the tanks hold: an imbalance that asks for something
_TRACE = 0.01  # of what a tank holds
_DENSITY = 800.0  # kg/m³; round figure for both


def _rule(name, condition, sets, until=None):
    return model.Rule(f"believed: {name}", condition, until, 0.0, tuple(sets), "so it is believed")


def _with_rules(aircraft, rules):
    """The rules stand first, so that they win."""
    return replace(aircraft, rules=(*rules, *aircraft.rules)) if rules else aircraft


def _with_lines(aircraft, work):
    """Lines changed one by one; None takes a line out."""
    lines = tuple(x for x in map(work, aircraft.lines) if x is not None)
    return replace(aircraft, lines=lines)


# -------------------------------------------------------------------------------------- crossfeed
def crossfeed_levels(aircraft, roles):
    """Open crossfeed joins the largest tanks of both sides, so that they level by themselves."""
    left, right = (roles.main_tank(side) for side in (-1.0, 1.0))
    if not roles.crossfeeds or left is None or right is None:
        return aircraft
    valve, name = roles.crossfeeds[0], "believed levelling"
    inlet, outlet = (_opening(aircraft, tank.name) for tank in (left, right))
    if inlet is None or outlet is None:
        return aircraft
    line = model.Line(
        name, "valve", left.name, right.name, inlet, outlet, _LEVELLING, 0.0, False, 0.0, "feed",
        valve.at,
    )  # fmt: skip
    rule = _rule(name, Condition((StateFact(valve.name, "OPEN"),)), [(name, "OPEN")])
    return _with_rules(replace(aircraft, lines=(*aircraft.lines, line)), [rule])


def _opening(aircraft, tank):
    return next((place for _, place in aircraft.openings_of(tank)), None)


def crossfeed_passes_nothing(aircraft, roles):
    """Each engine is fed from its own side, whatever the crossfeed shows: it leads nowhere."""
    if not roles.crossfeeds:
        return aircraft
    names = {valve.name: f"believed end of {valve.name}" for valve in roles.crossfeeds}
    places = {j.name: j for j in aircraft.junctions}
    ends = tuple(replace(places[v.end], name=names[v.name]) for v in roles.crossfeeds)
    dead = _with_lines(aircraft, lambda x: replace(x, end=names[x.name]) if x.name in names else x)
    return replace(dead, junctions=(*aircraft.junctions, *ends))


def crossfeed_opens_for_balance(aircraft, roles):
    """Crossfeed opens by itself while the wings are out of balance."""
    held = sum(tank.levels.capacity for tank in aircraft.tanks if tank.holds_fuel) * _DENSITY
    fact = MeasureFact("imbalance", "lateral imbalance", True, float(round(_NOTICED * held)))
    rules = [
        _rule(f"{v.name} levels", Condition((fact,)), [(v.name, "OPEN")]) for v in roles.crossfeeds
    ]
    return _with_rules(aircraft, rules)


def crossfeed_opens_for_pumps(aircraft, roles):
    """Crossfeed opens by itself when no boost pump of a side runs and an engine does."""
    feeding, rules = roles.feeding_pumps(), []
    engines = tuple(StateFact(c.name, "RUN") for c in roles.groups["engine"])
    for valve in roles.crossfeeds:
        for side in (-1.0, 1.0):
            pumps = [p for p in roles.groups["boost pump"] if roles.side(p) == side]
            facts = tuple(StateFact(p.name, "RUN", True) for p in pumps if p.name in feeding)
            if facts:
                condition = Condition(facts, engines)
                rules.append(_rule(f"{valve.name} {side:+.0f}", condition, [(valve.name, "OPEN")]))
    return _with_rules(aircraft, rules)


# ------------------------------------------------------------------------------ pumps and feeding
def override_loses(aircraft, roles):
    """Where override and boost pumps reach the same engine, the boost pumps win."""
    feeding = roles.feeding_pumps()
    over = [p for p in roles.groups["override pump"] if p.name in feeding]
    boost = [p for p in roles.groups["boost pump"] if p.name in feeding]
    if not over or not boost:
        return aircraft
    held = max((x.opening for x in aircraft.lines), default=0.0)
    weakest = _WEAK * max(min(p.rise for p in boost) - held, 0.2 * min(p.rise for p in boost))

    def weak(pump):
        by = weakest / pump.rise
        return replace(pump, rise=weakest, resistance=pump.resistance * by)

    pumps = tuple(weak(p) if p in over else p for p in aircraft.pumps)
    return replace(aircraft, pumps=pumps)


def boost_rests(aircraft, roles):
    """The boost pumps that feed an engine stand still while an override pump feeds it."""
    feeding = roles.feeding_pumps()
    over = tuple(p.name for p in roles.groups["override pump"] if p.name in feeding)
    boost = [(p.name, "OFF") for p in roles.groups["boost pump"] if p.name in feeding]
    if not over or not boost:
        return aircraft
    condition = Condition(any=tuple(StateFact(name, "RUN") for name in over))
    return _with_rules(aircraft, [_rule("boost pumps rest", condition, boost)])


def no_gravity_feed(aircraft, roles):
    """Without a pump no engine gets anything: the lines for it are not there."""
    lines = roles.gravity_feeds()
    return _with_lines(aircraft, lambda x: None if x.name in lines else x)


def low_pressure_stops(aircraft, roles):
    """A pump without pressure has failed: it stops, until it is switched off and on again."""
    rules = []
    for pump in aircraft.pumps:
        resting = tuple(StateFact(n, p) for n, p in roles.resting_switches(pump.name).items())
        if resting:
            low = Condition((StateFact(pump.name, "LOW PRESS"),))
            until = Condition(any=resting)
            rules.append(_rule(f"{pump.name} stops", low, [(pump.name, "OFF")], until))
    return _with_rules(aircraft, rules)


def apu_from_other_side(aircraft, roles):
    """The APU draws from the other end of the crossfeed."""
    other = {}
    for valve in roles.crossfeeds:
        other |= {valve.start: valve.end, valve.end: valve.start}
    inlets = {c.start for c in aircraft.consumers if c.kind == "APU"}

    def work(line):
        moved = line.end in inlets and line.start in other
        return replace(line, start=other[line.start]) if moved else line

    return _with_lines(aircraft, work)


def no_jet_pumps(aircraft, roles):
    """There are no jet pumps."""
    return _with_lines(aircraft, lambda x: None if x.kind == "jet pump" else x)


def flaps_both_ways(aircraft, roles):
    """What lets fuel from tank to tank one way only lets it back as well."""

    def work(line):
        both = line.start in roles.tanks and line.end in roles.tanks
        free = both and line.kind == "check valve"
        return replace(line, kind="pipe", one_way=False) if free else line

    return _with_lines(aircraft, work)


# ------------------------------------------------------------------------------- where fuel goes
def return_to_feed_tank(aircraft, roles):
    """Fuel that comes back goes to the tank that feeds the engine of that side."""

    def work(one):
        tank = roles.feed_tank(roles.side(one))
        return one if tank is None else replace(one, end=tank.name)

    return replace(aircraft, returns=tuple(map(work, aircraft.returns)))


def overflow_overboard(aircraft, roles):
    """A tank that runs over loses its fuel."""
    overflows = tuple(
        replace(o, end=model.OVERBOARD)
        if o.end in roles.tanks and roles.tanks[o.end].holds_fuel
        else o
        for o in aircraft.overflows
    )
    return replace(aircraft, overflows=overflows)


def empty_tank_shuts_valve(aircraft, roles):
    """A valve that lets fuel run from tank to tank shuts by itself when its tank is empty."""
    has = {pair for rule in aircraft.rules for pair in rule.sets}
    rules = []
    for valve in roles.groups["gravity transfer valve"]:
        if (valve.name, "SHUT") not in has:
            held = roles.tanks[valve.start].levels.capacity * _DENSITY
            fact = MeasureFact("mass", valve.start, False, float(round(_TRACE * held)))
            rules.append(_rule(f"{valve.name} shuts", Condition((fact,)), [(valve.name, "SHUT")]))
    return _with_rules(aircraft, rules)


# -------------------------------------------------------------------------------- electrical buses
def dead_bus_shuts_valves(aircraft, roles):
    """A motor valve without power springs shut."""
    rules = [
        _rule(f"{bus.name} dead", Condition((StateFact(bus.name, "DEAD"),)), sets)
        for bus in aircraft.buses
        if (sets := [(v.name, "SHUT") for v in aircraft.valves if v.bus == bus.name])
    ]
    loose = _with_lines(
        aircraft, lambda x: replace(x, bus=None) if x.kind == "valve" and x.bus else x
    )
    return _with_rules(loose, rules)


def pumps_on_own_bus(aircraft, roles):
    """All pumps of a side hang on the bus that most parts of that side hang on."""
    counts = {}
    for part in (*aircraft.pumps, *aircraft.valves):
        if part.bus:
            key = roles.side(part), part.bus
            counts[key] = counts.get(key, 0) + 1
    own = {}
    for (side, bus), count in counts.items():
        if side and count > counts.get((side, own.get(side)), 0):
            own[side] = bus

    def work(pump):
        return replace(pump, bus=own.get(roles.side(pump), pump.bus)) if pump.bus else pump

    return replace(aircraft, pumps=tuple(map(work, aircraft.pumps)))
