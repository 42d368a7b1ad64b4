"""Changes to the rules of any aircraft: which rules, by what they set and ask, and what is done.

Each operator takes an aircraft, its roles and the rules that were selected, and returns a changed
aircraft. A rule is never looked for by its name.
"""

from dataclasses import dataclass, replace

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import Condition, LossFact, MeasureFact, OrderFact, StateFact

_TRACE = 0.01  # of what a tank holds: to a learner, a tank that is empty
_DENSITY = 800.0  # kg/m³; round figure for that trace

KINDS = (
    "high lift", "switch", "auto", "dry", "wet", "pump", "consumer", "valve", "crossfeed", "rule",
    "bus", "order", "loss", "mass", "temperature", "balance", "imbalance",
)  # fmt: skip
"""Kinds of facts by which rules are selected."""


@dataclass(frozen=True)
class Which:
    """Which rules are meant; what is empty does not matter. Frozen.

    sets, to : str
        A role of the parts that a rule sets, and the state it puts them in.
    asks, ends : str
        A kind of fact among its condition, among what ends it; "anything" for any end.
    without : str
        A kind of fact that it must not ask.
    delayed : bool
        Whether it must wait before it takes hold.
    """

    sets: str = ""
    to: str = ""
    asks: str = ""
    ends: str = ""
    without: str = ""
    delayed: bool = False

    def parts_of(self, rule, roles):
        """Return the names of the parts by which a rule is meant."""
        names = roles.names(self.sets) if self.sets else {name for name, _ in rule.sets}
        return tuple(n for n, state in rule.sets if n in names and self.to in ("", state))

    def means(self, rule, roles):
        """Return whether a rule is meant."""
        asked = _kinds(rule.condition.facts, roles)
        if self.asks and self.asks not in asked or self.without and self.without in asked:
            return False
        if self.ends and (rule.until is None or not self._ends(rule, roles)):
            return False
        return bool(self.parts_of(rule, roles)) and (not self.delayed or rule.delay > 0.0)

    def _ends(self, rule, roles):
        return self.ends == "anything" or self.ends in _kinds(rule.until.facts, roles)


def _kinds(facts, roles):
    return {kind for fact in facts for kind in kinds_of(fact, roles)}


def kinds_of(fact, roles):
    """Return the kinds that a fact belongs to, as a set of names of `KINDS`."""
    if isinstance(fact, OrderFact):
        return {"order"}
    if isinstance(fact, LossFact):
        return {"loss"}
    if isinstance(fact, MeasureFact):
        return {fact.measure}
    return _kinds_of_state(fact, roles)


def _kinds_of_state(fact, roles):
    part = roles.aircraft.by_name.get(fact.name)
    if isinstance(part, model.Switch):
        if fact.name in roles.high_lift:
            return {"high lift"}
        return {"switch", "auto"} if fact.state == "auto" else {"switch"}
    if isinstance(part, model.Sensor):
        return {"dry" if (fact.state == "DRY") != fact.negated else "wet"}
    if part in roles.crossfeeds:
        return {"valve", "crossfeed"}
    kinds = {
        model.Pump: "pump", model.Consumer: "consumer", model.Line: "valve",
        model.Rule: "rule", model.Bus: "bus",
    }  # fmt: skip
    return {kinds[type(part)]} if type(part) in kinds else set()


# ------------------------------------------------------------------------------- taking rules out
def drop(aircraft, roles, which):
    """Take the selected rules out, or of a rule that sets more, only what is meant."""
    kept, gone = [], set()
    for rule in aircraft.rules:
        if not which.means(rule, roles):
            kept.append(rule)
            continue
        meant = set(which.parts_of(rule, roles))
        left = tuple(pair for pair in rule.sets if pair[0] not in meant)
        if left:
            kept.append(replace(rule, sets=left))
        else:
            gone.add(rule.name)
    return without(replace(aircraft, rules=tuple(kept)), gone)


def without(aircraft, gone):
    """Return an aircraft without some rules, and without what could only follow from them."""
    gone = set(gone)
    while True:
        more = {
            rule.name for rule in aircraft.rules
            if rule.name not in gone and _pruned(rule.condition, gone) is None
        }  # fmt: skip
        if not more:
            break
        gone |= more
    rules = tuple(
        replace(rule, condition=_pruned(rule.condition, gone), until=_end(rule.until, gone))
        for rule in aircraft.rules
        if rule.name not in gone
    )
    alerts = tuple(a for a in aircraft.alerts if _pruned(a.condition, gone) == a.condition)
    counters = tuple(c for c in aircraft.counters if _pruned(c.zero_when, gone) == c.zero_when)
    return replace(aircraft, rules=rules, alerts=alerts, counters=counters)


def _end(until, gone):
    return None if until is None else _pruned(until, gone)


def _pruned(condition, gone):
    """A condition without facts on rules that are gone; None if it can no longer be met."""
    if not any(f.name in gone for f in condition.facts):
        return condition
    every = []
    for fact in condition.all:
        if fact.name not in gone:
            every.append(fact)
        elif (fact.state == "ACTIVE") != fact.negated:
            return None
    some = tuple(f for f in condition.any if f.name not in gone)
    return None if condition.any and not some else Condition(tuple(every), some)


# ------------------------------------------------------------------------------- rewriting rules
def _rewritten(aircraft, roles, which, work):
    rules = tuple(
        work(rule) if which.means(rule, roles) and rule.sets else rule for rule in aircraft.rules
    )
    return replace(aircraft, rules=rules)


def at_once(aircraft, roles, which):
    """The selected rules wait for nothing."""
    return _rewritten(aircraft, roles, which, lambda r: replace(r, delay=0.0))


def end_with_condition(aircraft, roles, which):
    """The selected rules end as soon as their condition does."""
    return _rewritten(aircraft, roles, which, lambda r: replace(r, until=None))


def end_by_hand(aircraft, roles, which):
    """The selected rules, once they have taken hold, end only when a switch is set to rest."""

    def work(rule):
        switches = {}
        for name in which.parts_of(rule, roles):
            switches |= roles.resting_switches(name)
        facts = tuple(StateFact(n, p) for n, p in switches.items() if n not in roles.high_lift)
        return replace(rule, until=Condition(any=facts)) if facts else rule

    return _rewritten(aircraft, roles, which, work)


def need_all(aircraft, roles, which):
    """Where one of several facts is enough, the selected rules need all of them."""

    def work(rule):
        facts = rule.condition.any
        if len(facts) < 2:
            return rule
        return replace(rule, condition=Condition((*rule.condition.all, *facts)))

    return _rewritten(aircraft, roles, which, work)


def need_any(aircraft, roles, which):
    """Rules that set like parts of both sides take hold for both when either's facts hold.

    Each such rule is met also by what meets its counterpart on the other side.
    """
    found = [r for r in aircraft.rules if which.means(r, roles) and len(r.condition.facts) == 1]
    facts = tuple(dict.fromkeys(f for r in found for f in r.condition.facts))
    if len(facts) < 2:
        return aircraft
    names = {rule.name for rule in found}
    ends = tuple(dict.fromkeys(f for r in found if r.until for f in r.until.facts))

    def work(rule):
        until = Condition(all=ends) if rule.until else None
        new = replace(rule, condition=Condition(any=facts), until=until)
        return new if rule.name in names else rule

    return _rewritten(aircraft, roles, which, work)


def by_side(aircraft, roles, which):
    """Rules that open both sides when either asks, open only the side that asks."""
    rules = []
    for rule in aircraft.rules:
        rules += _split(rule, roles) if which.means(rule, roles) else [rule]
    return replace(aircraft, rules=tuple(rules))


def _split(rule, roles):
    parts = roles.aircraft.by_name
    fact_sides = {f: _side_of_fact(f, roles) for f in rule.condition.any}
    set_sides = {n: roles.side(parts[n]) for n, _ in rule.sets}
    both = {-1.0, 1.0}
    if not both <= set(fact_sides.values()) or not both <= set(set_sides.values()):
        return [rule]
    found = []
    for side in (-1.0, 1.0):
        facts = tuple(f for f, s in fact_sides.items() if s in (side, 0.0))
        sets = tuple(pair for pair in rule.sets if set_sides[pair[0]] in (side, 0.0))
        name = rule.name if side < 0.0 else f"{rule.name}, other side"
        ends = rule.until and _end_of_side(rule.until, side, roles)
        found.append(
            replace(rule, name=name, condition=Condition(rule.condition.all, facts), sets=sets,
                    until=ends)
        )  # fmt: skip
    return found


def _end_of_side(until, side, roles):
    def own(facts):
        return tuple(f for f in facts if _side_of_fact(f, roles) in (side, 0.0))

    return Condition(own(until.all), own(until.any))


def _side_of_fact(fact, roles):
    part = roles.aircraft.by_name.get(fact.name)
    return 0.0 if part is None else roles.side(part)


def only_switches(aircraft, roles, which):
    """The selected rules ask for positions of switches alone, high-lift surfaces aside."""

    def keep(fact):
        return "switch" in kinds_of(fact, roles)

    return _rewritten(aircraft, roles, which, lambda r: _keeping(r, keep))


def forget(aircraft, roles, which, *, fact):
    """The selected rules no longer ask for facts of a kind."""

    def keep(one):
        return fact not in kinds_of(one, roles)

    return _rewritten(aircraft, roles, which, lambda r: _keeping(r, keep))


def ask_only_pumps_of_any(aircraft, roles, which):
    """Where one of several facts is enough, only those about pumps count."""

    def keep(one):
        return "pump" in kinds_of(one, roles)

    def work(rule):
        some = tuple(filter(keep, rule.condition.any))
        return replace(rule, condition=Condition(rule.condition.all, some)) if some else rule

    return _rewritten(aircraft, roles, which, work)


def _keeping(rule, keep):
    """A rule without the facts that are not kept; as it was if nothing would be left."""
    every, some = (tuple(filter(keep, facts)) for facts in (rule.condition.all, rule.condition.any))
    return replace(rule, condition=Condition(every, some)) if every or some else rule


def turn_round(aircraft, roles, which, *, fact):
    """Facts of a kind count when they do not hold."""

    def turned(one):
        return replace(one, negated=not one.negated) if fact in kinds_of(one, roles) else one

    return _rewritten(aircraft, roles, which, lambda r: _mapped(r, turned))


def _mapped(rule, work):
    condition = rule.condition
    return replace(
        rule, condition=Condition(tuple(map(work, condition.all)), tuple(map(work, condition.any)))
    )


def when_empty(aircraft, roles, which):
    """What should happen at a low level or mass happens when the tank is empty."""
    tanks = {tank.name: tank for tank in aircraft.tanks}

    def work(fact):
        kinds = kinds_of(fact, roles)
        tank = roles.aircraft.by_name[fact.name].tank if "dry" in kinds else fact.name
        below = "dry" in kinds or ("mass" in kinds and not fact.above)
        if not below or tank not in tanks:
            return fact
        trace = round(_TRACE * tanks[tank].levels.capacity * _DENSITY)
        return MeasureFact("mass", tank, False, float(trace))

    return _rewritten(aircraft, roles, which, lambda r: _mapped(r, work))


def at_share_of_mass(aircraft, roles, which, *, share):
    """What should happen below a mass happens below a share of it."""

    def work(fact):
        if not isinstance(fact, MeasureFact) or fact.measure != "mass" or fact.above:
            return fact
        return replace(fact, value=float(round(fact.value * share)))

    return _rewritten(aircraft, roles, which, lambda r: _mapped(r, work))


def all_orders(aircraft, roles, which):
    """What ends for a tank when it has its order ends for all when all have theirs."""
    tanks = [x for step in aircraft.loading_order for x in step]
    named = {
        f.name for r in aircraft.rules for f in r.condition.facts if isinstance(f, OrderFact)
    }  # fmt: skip
    orders = tuple(OrderFact(t) for t in tanks if t in named)

    def work(rule):
        others = tuple(f for f in rule.condition.all if not isinstance(f, OrderFact))
        return replace(rule, condition=Condition((*others, *orders)))

    return _rewritten(aircraft, roles, which, work) if len(orders) > 1 else aircraft
