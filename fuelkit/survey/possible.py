"""What an aircraft's rules can ever bring about, found from their conditions without flying.

States that parts can come to are gathered until no rule adds another one (a least fixed point).
A rule whose condition no such state meets can never take hold, whatever the crew does.
"""

from dataclasses import dataclass
from itertools import combinations

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import ALL_TANKS, MeasureFact, StateFact

_HEAVIEST, _LIGHTEST = 880.0, 720.0  # kg/m³; wider than jet fuel of any kind and temperature


@dataclass(frozen=True)
class Impossible:
    """A rule that can never matter, and why. Frozen.

    kind : str
        "cannot": its condition can never be met. "failure only": only a failure can meet it.
        "outranked": it can take hold, but other rules always have the last word.
    """

    rule: str
    kind: str
    reason: str


def impossible_rules(aircraft):
    """Return every rule that its conditions, or the rules above it, keep from ever mattering.

    Parameters
    ----------
    aircraft : Aircraft

    Returns
    -------
    tuple of Impossible

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> impossible_rules(load_aircraft("halbrook-180"))
    ()
    """
    usual, failed = (attainable(aircraft, failures=f) for f in (False, True))
    found = []
    for rule in aircraft.rules:
        if reason := _obstacle(aircraft, rule, failed):
            found.append(Impossible(rule.name, "cannot", reason))
        elif reason := _obstacle(aircraft, rule, usual):
            found.append(Impossible(rule.name, "failure only", reason))
        elif reason := _outranked(aircraft, rule):
            found.append(Impossible(rule.name, "outranked", reason))
    return tuple(found)


def attainable(aircraft, *, failures):
    """Return for each part that has states those that it can come to, by rules and by hand.

    Parameters
    ----------
    aircraft : Aircraft
    failures : bool
        Whether parts may also fail.

    Returns
    -------
    dict of str to set of str
    """
    states = {n: _at_first(aircraft, p, failures) for n, p in aircraft.by_name.items()}
    while True:
        before = sum(map(len, states.values()))
        for rule in aircraft.rules:
            if _obstacle(aircraft, rule, states) is None:
                states[rule.name].add("ACTIVE")
                for name, state in rule.sets:
                    states[name] |= _reached(aircraft.by_name[name], state)
        for alert in aircraft.alerts:
            if _unmet(aircraft, alert.condition, states) is None:
                states[alert.name].add("SHOWN")
        if sum(map(len, states.values())) == before:
            return states


def _at_first(aircraft, part, failures):
    states = model.states_of(part)
    if isinstance(part, model.Switch | model.Overflow):
        return set(states)
    if isinstance(part, model.Sensor):
        return set(states) if failures else _sensor_states(aircraft, part)
    if failures and not isinstance(part, model.Rule | model.Alert | model.Return | model.Filler):
        if isinstance(part, model.Pump | model.Consumer):
            return {states[0], "FAIL"}
        return set(states)
    return set(states[:1])


def _sensor_states(aircraft, sensor):
    """WET only if the tank can be filled so far; looked at in level flight."""
    tank = aircraft.tank(sensor.tank)
    below = tank.levels.volume_below(sensor.position[2])
    return {"DRY", "WET"} if below <= tank.highest_volume else {"DRY"}


def _reached(part, state):
    """States that a part passes through when a rule puts it in one."""
    found = {state}
    if state == "RUN":
        found.add("LOW PRESS" if isinstance(part, model.Pump) else "STARVED")
    if isinstance(part, model.Line) and state == "OPEN" and part.travel > 0.0:
        found.add("MOVING")
    return found


# ------------------------------------------------------------------------- what stands in the way
def _obstacle(aircraft, rule, states):
    """Why a rule cannot take hold with parts in these states only, or None if it can."""
    if reason := _unmet(aircraft, rule.condition, states):
        return reason
    if rule.until and _implies(rule.condition, rule.until):
        return f"what ends it ({rule.until}) is true whenever it could begin"
    return None


def _unmet(aircraft, condition, states):
    for fact in condition.all:
        if reason := _cannot_be(aircraft, fact, states):
            return reason
    if reason := _contradiction(aircraft, condition.all):
        return reason
    if not condition.any:
        return None
    reasons = [
        _cannot_be(aircraft, fact, states) or _contradiction(aircraft, (*condition.all, fact))
        for fact in condition.any
    ]
    return "; ".join(dict.fromkeys(reasons)) if all(reasons) else None


def _cannot_be(aircraft, fact, states):
    if isinstance(fact, StateFact):
        known = states[fact.name]
        if (known - {fact.state}) if fact.negated else (fact.state in known):
            return None
        return f"“{fact}” can never be: {_why_never(aircraft, fact)}"
    if isinstance(fact, MeasureFact) and fact.measure == "mass":
        tanks = aircraft.tanks if fact.name == ALL_TANKS else (aircraft.tank(fact.name),)
        most = sum(tank.levels.capacity for tank in tanks) * _HEAVIEST
        if fact.above and fact.value >= most:
            return f"“{fact}” can never be: at most {most:.0f} kg go in"
        if not fact.above and fact.value <= 0.0:
            return f"“{fact}” can never be: no tank holds less than nothing"
    return None


def _why_never(aircraft, fact):
    part = aircraft.by_name[fact.name]
    if isinstance(part, model.Sensor):
        return "the sensor stands higher than the tank is ever filled"
    if isinstance(part, model.Rule | model.Alert):
        return f"nothing ever meets the condition of “{fact.name}”"
    if fact.negated:
        return f"it stays {fact.state} for ever"
    return f"no rule that can take hold puts it to {fact.state}"


def _contradiction(aircraft, facts):
    """Return which two facts exclude each other, or None."""
    for first, second in combinations(facts, 2):
        if _exclude(aircraft, first, second):
            return f"“{first}” and “{second}” exclude each other"
    return None


def _exclude(aircraft, first, second):
    if first.name != second.name or type(first) is not type(second):
        return False
    if isinstance(first, StateFact):
        if first.negated != second.negated:
            return first.state == second.state
        if first.negated:
            return set(model.states_of(aircraft.by_name[first.name])) <= {first.state, second.state}
        return first.state != second.state
    if isinstance(first, MeasureFact) and first.above != second.above:
        low, high = (first, second) if first.above else (second, first)
        return low.measure == high.measure and low.value >= high.value
    return False


# ----------------------------------------------------------------------------------- outranked
def _outranked(aircraft, rule):
    """Why a rule never has a say: for each part that it sets, a higher rule holds whenever it does.

    Returns None if it has a say for some part.
    """
    above = aircraft.rules[: aircraft.rules.index(rule)]
    lords = [_lord(rule, name, above) for name, _ in rule.sets]
    if not lords or not all(lords):
        return None
    names = " and ".join(f"“{name}”" for name in dict.fromkeys(lord.name for lord in lords))
    return f"whenever it takes hold, {names} does too, stands higher and sets the same parts"


def _lord(rule, name, above):
    for other in above:
        sets_it = any(part == name for part, _ in other.sets)
        lasts = other.until == rule.until if rule.until else other.until is None
        prompt = other.delay <= rule.delay
        if sets_it and lasts and prompt and _implies(rule.condition, other.condition):
            return other
    return None


def _implies(condition, other):
    """Whether the second condition is met whenever the first one is; read from their facts."""
    given = set(condition.all)
    if len(condition.any) == 1:
        given |= set(condition.any)
    if not set(other.all) <= given:
        return False
    among = bool(condition.any) and set(condition.any) <= set(other.any)
    return not other.any or bool(set(other.any) & given) or among
