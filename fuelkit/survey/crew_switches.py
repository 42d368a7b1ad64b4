"""Which switches start what, found from an aircraft's rules: from a state back to the switches."""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import StateFact

_HIGH_LIFT = ("high-lift", "high lift", "flap", "slat")
_COMMON = {"switch", "lever", "selector", "panel", "pump", "valve", "left", "right"}


@dataclass(frozen=True)
class CrewSwitches:
    """Positions of switches, each switch in the first group that asks for it. Frozen.

    pumps, apu, high_lift : dict of str to str
        Switch and position.
    engines, refuelling : tuple of dict
        One for each engine in turn, and for each step of refuelling.
    """

    pumps: dict
    engines: tuple
    apu: dict
    high_lift: dict
    refuelling: tuple


def crew_switches(aircraft):
    """Return which positions of switches start pumps, engines, APU and refuelling.

    Parameters
    ----------
    aircraft : Aircraft

    Returns
    -------
    CrewSwitches
        A switch that has a position "auto" is among those of the pumps. High-lift surfaces are
        known by their name, since no rule need ever ask for them.
    """
    taken = set()

    def fresh(positions):
        found = {n: p for n, p in positions.items() if n not in taken}
        taken.update(found)
        return found

    high_lift = fresh({s.name: s.positions[1] for s in aircraft.switches if _is_high_lift(s)})
    names = {
        kind: [c.name for c in aircraft.consumers if c.kind == kind] for kind in ("engine", "APU")
    }
    engines = tuple(fresh(switches_for(aircraft, name, "RUN")) for name in names["engine"])
    apu = fresh(_merged(switches_for(aircraft, name, "RUN") for name in names["APU"]))
    refuelling = _refuelling(aircraft, taken)
    taken |= {name for step in refuelling for name in step}
    pumps = fresh(_merged(_selection(aircraft, p.name) for p in aircraft.pumps))
    pumps |= fresh({s.name: "auto" for s in aircraft.switches if "auto" in s.positions[1:]})
    return CrewSwitches(pumps, engines, apu, high_lift, refuelling)


def _selection(aircraft, pump):
    """How a pump is selected: its automatic position alone, if it has one."""
    positions = switches_for(aircraft, pump, "RUN")
    automatic = {name: p for name, p in positions.items() if p == "auto"}
    return automatic or positions


def _merged(many):
    found = {}
    for positions in many:
        for name, position in positions.items():
            found.setdefault(name, position)
    return found


def _is_high_lift(switch):
    return len(switch.positions) > 1 and any(word in switch.name.lower() for word in _HIGH_LIFT)


def _refuelling(aircraft, taken):
    """Steps that open everything that fills a tank, each the setting that opens the most of it."""
    settings = {name: _settings(aircraft, name, taken) for name in _filling(aircraft)}
    left, steps = {name for name, found in settings.items() if found}, []
    while left:
        offered = dict.fromkeys(s for name in settings if name in left for s in settings[name])
        best = max(offered, key=lambda s: sum(s in settings[name] for name in left))
        left = {name for name in left if best not in settings[name]}
        steps.append(dict(best))
    return tuple(steps)


def _filling(aircraft):
    """Names of the fillers, and of the valves through which the coupling fills a tank."""
    tanks = {tank.name for tank in aircraft.tanks}
    reached = {aircraft.coupling} if aircraft.coupling else set()
    for _ in aircraft.lines:
        reached |= {x.end for x in aircraft.lines if x.start in reached and x.end not in tanks}
    valves = [x.name for x in aircraft.valves if x.start in reached and x.end in tanks]
    return (*valves, *(filler.name for filler in aircraft.fillers))


def _settings(aircraft, name, taken):
    """Every setting of switches by which some rule opens a part, none of them taken."""
    found = []
    for rule in aircraft.rules_for.get(name, ()):
        if (name, "OPEN") in rule.sets:
            way = _by_rule(aircraft, rule, frozenset([(name, "OPEN")]))
            usable = way and way[1] and not taken & set(way[1]) and "auto" not in way[1].values()
            if usable:
                found.append(tuple(way[1].items()))
    return found


# ------------------------------------------------------------- from a state back to the switches
def switches_for(aircraft, name, state):
    """Return the positions of switches by which rules put a part in a state; empty if none do.

    Of several ways, one with a position "auto" is preferred, then one by a switch that is called
    after the part, then the one that asks for the fewest switches.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> switches_for(load_aircraft("halbrook-180"), "engine 1", "RUN")
    {'engine 1 fuel lever': 'run'}
    """
    found = _asked(aircraft, name, state, frozenset())
    return {} if found is None else found[1]


def switches_of_rule(aircraft, rule):
    """Return the positions of switches that a rule's condition comes down to; empty if to none."""
    found = _by_rule(aircraft, rule, frozenset())
    return {} if found is None else found[1]


def _asked(aircraft, name, state, seen):
    """(number of things besides switches, positions of switches), or None if no rule does it."""
    part = aircraft.by_name.get(name)
    if isinstance(part, model.Switch):
        return (0, {name: state})
    if (name, state) in seen:
        return (1, {})
    if isinstance(part, model.Rule | model.Alert):  # "the rule is ACTIVE": by what it asks itself
        return _by_rule(aircraft, part, seen | {(name, state)})
    if not model.settable_states(part):
        return (1, {})
    rules = [r for r in aircraft.rules_for.get(name, ()) if (name, state) in r.sets]
    ways = [_by_rule(aircraft, rule, seen | {(name, state)}) for rule in rules]
    ways = [way for way in ways if way is not None]
    return min(ways, key=lambda way: _liking(way, name)) if ways else None


def _liking(way, name):
    others, positions = way
    own = set(name.lower().split()) - _COMMON
    kin = max((len(own & set(n.lower().split())) for n in positions), default=0)
    named = max((len(set(name.split()) & set(n.split())) for n in positions), default=0)
    return ("auto" not in positions.values(), -kin, -named, len(positions), others)


def _by_rule(aircraft, rule, seen):
    others, positions = 0, {}
    wanted = [_by_fact(aircraft, fact, seen) for fact in rule.condition.all]
    if rule.condition.any:
        ways = [_by_fact(aircraft, fact, seen) for fact in rule.condition.any]
        ways = [way for way in ways if way is not None]
        wanted.append(min(ways, key=lambda way: _liking(way, "")) if ways else None)
    for way in wanted:
        if way is None:
            return None
        others += way[0]
        for name, position in way[1].items():
            if positions.setdefault(name, position) != position:
                return None
    return others, positions


def _by_fact(aircraft, fact, seen):
    if not isinstance(fact, StateFact):
        return (1, {})
    part = aircraft.by_name[fact.name]
    states = model.states_of(part)
    if fact.negated:
        if isinstance(part, model.Switch) and fact.state == states[0]:
            return (0, {fact.name: states[-1]}) if len(states) > 1 else None
        return (0, {})
    if isinstance(part, model.Switch) or fact.state != states[0]:
        return _asked(aircraft, fact.name, fact.state, seen)
    return (0, {})
