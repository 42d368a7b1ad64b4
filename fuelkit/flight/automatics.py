"""The aircraft's automatic functions at one instant: rules applied until nothing changes.

A rule that is active asks for states. For each component the active rule that stands first in
the aircraft's file wins; with none, the component rests. Nothing here knows an aircraft.
"""

from dataclasses import replace

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import LossFact, StateFact, is_or_are
from fuelkit.flight.failures import PRESENT
from fuelkit.flight.state import (
    ACTIVE,
    INACTIVE,
    Change,
    EndlessSwitchingError,
    RuleMemory,
    Travel,
)
from fuelkit.physics.writing import clock

_LARGEST_PASSES = 60
_INSTANT = 1e-6  # s; a delay that ends within it has ended


class Instant:
    """The work on one state at one time: a private draft, from which the next state is made.

    Collects the changes; the state it began from stays as it was. Where a flight `begins`, all
    has stood like this for long: no delay has time to run and no valve is on its way.
    """

    def __init__(self, aircraft, state, number, quantity_names, failures=(), *, begins=False):
        self.begins = begins
        self.aircraft = aircraft
        self.stuck = {f.part: f for f in failures if f.kind == "stuck"}
        self.starved = set(state.starved)
        self.trapped = state.trapped
        self.coupling = state.coupling
        self.recheck = None  # looks again at measured quantities, if the flight asks for it
        self.time = state.time
        self.quantities = state.quantities
        self.index = {name: i for i, name in enumerate(quantity_names)}
        self.positions = dict(state.positions)
        self.memory = dict(state.memory)
        self.travels = dict(state.travels)
        self.met = set(state.met)
        self.order = state.order
        self.zeros = dict(state.zeros)
        self.latest = dict(state.latest)
        self.changes = []
        self._zeroed = set()
        self._now = {}  # what has changed at this time, and its place among the changes
        self._number = number
        self._state = self.before = state

    def state(self):
        """Return the state that the draft has become."""
        return replace(
            self._state,
            positions=self.positions,
            memory=self.memory,
            travels=self.travels,
            met=frozenset(self.met),
            order=self.order,
            zeros=self.zeros,
            latest=self.latest,
            starved=frozenset(self.starved),
            trapped=self.trapped,
            coupling=self.coupling,
        )

    def change(self, name, after, reason, causes=(), rule=""):
        """Put a component in a state and record why."""
        before = self.positions[name]
        if before == after:
            return
        number = self._number + len(self.changes)
        causes = tuple(sorted(set(causes)))
        self._now[name] = len(self.changes)
        self.changes.append(Change(number, self.time, name, before, after, reason, causes, rule))
        self.positions[name] = after
        self.latest[name] = number

    def note_fact(self, name, after, reason):
        """Record that a fact about a quantity holds now, or no longer."""
        number = self._number + len(self.changes)
        self.changes.append(Change(number, self.time, name, "", after, reason))
        self.latest[name] = number

    # ------------------------------------------------------------------------------- failures
    def is_stuck(self, name):
        """Return whether a part is stuck by a failure that is present."""
        return name in self.stuck and self.positions[self.stuck[name].name] == PRESENT

    def stick(self, valve, state, causes):
        """Leave a motor valve where it is, or put it where it sticks."""
        moving = self.travels.pop(valve.name, None) is not None
        after = state or ("HALF OPEN" if moving else self.positions[valve.name])
        self.change(valve.name, after, "it is stuck there", causes)

    def starve(self, drawer, reason, causes):
        """Stop a consumer or return that finds no fuel, until it is no longer asked to run."""
        self.starved.add(drawer.name)
        after = "STARVED" if isinstance(drawer, model.Consumer) else "SHUT"
        self.change(drawer.name, after, reason, causes)

    def _dead_bus(self, part):
        bus = getattr(part, "bus", None)
        return bus if bus is not None and self.positions[bus] == "DEAD" else None

    # ------------------------------------------------------------------------------- settling
    def settle(self):
        """Apply rules, travels, alerts and counters until nothing changes any more."""
        self._arrive()
        for _ in range(_LARGEST_PASSES):
            before = len(self.changes)
            if self.recheck is not None:
                self.recheck()
            moved = self._rules() | self._components()
            self._alerts()
            self._counters()
            if not moved and len(self.changes) == before:
                return
        names = {c.name for c in self.changes[-12:]}
        raise EndlessSwitchingError(clock(self.time), sorted(names))

    def is_true(self, fact, rule=None):
        """Return whether a fact holds now; `rule` is the one that asks about a loss."""
        if type(fact) is StateFact:  # as nearly all
            return (self.positions[fact.name] == fact.state) != fact.negated
        if isinstance(fact, LossFact):
            return (rule, fact) in self.met
        return (None, fact) in self.met  # of a measured or ordered quantity

    def _rules(self):
        moved = False
        for rule in self.aircraft.rules:
            active = self.positions[rule.name] == ACTIVE
            holds = rule.condition.holds(self.is_true)
            ended = rule.until is not None and rule.until.holds(
                lambda f, r=rule: self.is_true(f, r.name)
            )
            if active:
                if ended or (rule.until is None and not holds):
                    moved |= self._end(rule, ended)
            elif holds and not ended:
                moved |= self._wait(rule)
            elif rule.name in self.memory:
                del self.memory[rule.name]
        return moved

    def _wait(self, rule):
        """Start or go on with the delay of a rule whose condition holds; take hold at its end."""
        since = self.memory.get(rule.name, RuleMemory(self.time)).since
        if not self.begins and self.time < since + rule.delay - _INSTANT:
            self.memory[rule.name] = RuleMemory(since)
            return False
        tanks = {t.name: float(self.quantities[self.index[t.name]]) for t in self.aircraft.tanks}
        self.memory[rule.name] = RuleMemory(since, tanks)
        self.change(
            rule.name, ACTIVE, self._facts_text(rule), self._causes(rule.condition, true=True)
        )
        return True

    def _end(self, rule, ended):
        condition = rule.until if ended else rule.condition
        reason = str(condition) if ended else self._broken_text(rule.condition)
        self.change(rule.name, INACTIVE, reason, self._causes(condition, rule))
        self.memory.pop(rule.name, None)
        self.met = {(owner, fact) for owner, fact in self.met if owner != rule.name}
        return True

    def _facts_text(self, rule):
        true = [str(f) for f in rule.condition.facts if self.is_true(f)]
        text = " and ".join(true)
        return f"{text} for {rule.delay:.0f} s" if rule.delay else text

    def _broken_text(self, condition):
        broken = [f for f in condition.all if not self.is_true(f)]
        if condition.any and not any(map(self.is_true, condition.any)):
            broken += condition.any
        words = (
            f"{f.name} {is_or_are(f.name)} {self.positions[f.name]}"
            if f.name in self.positions
            else f"not {f}"
            for f in broken
        )
        return " and ".join(dict.fromkeys(words))

    def _causes(self, condition, rule=None, *, true=False):
        """Numbers of the changes behind a condition; `true`: only behind what holds of it."""
        causes = []
        for fact in condition.facts:
            if true and not self.is_true(fact):
                continue
            if isinstance(fact, LossFact) and rule is not None:
                causes.append(self.latest.get(rule.name))
            causes.append(self.latest.get(fact.name if fact.name in self.positions else str(fact)))
        return [c for c in causes if c is not None]

    # ----------------------------------------------------------------------------- components
    def _components(self):
        wanted = self._wanted()
        moved = False
        for name, (state, rule) in wanted.items():
            part = self.aircraft.by_name[name]
            if isinstance(part, model.Line):
                moved |= self._steer(part, state, rule)
            else:
                moved |= self._put(part, state, rule)
        return moved

    def _wanted(self):
        """The state that the winning rule asks of every component, with that rule."""
        wanted, resting, positions = {}, self.aircraft.resting_states, self.positions
        for name, rules in self.aircraft.rules_for.items():
            wanted[name] = resting[name], None
            for rule in rules:
                if positions[rule.name] == ACTIVE:
                    wanted[name] = next(s for n, s in rule.sets if n == name), rule
                    break
        return wanted

    def _put(self, part, state, rule):
        now = self.positions[part.name]
        if now == "FAIL":
            return False
        if part.name in self.starved:
            if state != self.aircraft.states_of(part.name)[0]:
                return False
            self.starved.discard(part.name)
        bus = self._dead_bus(part)
        if bus is not None:
            return self._note(part.name, "OFF", f"the {bus} is dead", [self.latest[bus]], None)
        dry = isinstance(part, model.Pump) and self.positions[f"{part.name} inlet"] == "DRY"
        if state == "RUN" and dry:
            causes = [self.latest.get(f"{part.name} inlet"), self.latest[rule.name]]
            reason = "it runs but its inlet is not covered by fuel"
            return self._note(part.name, "LOW PRESS", reason, causes, rule)
        if self.positions[part.name] == state:
            return False  # as nearly always
        return self._note(part.name, state, *self._reason(part.name, rule), rule)

    def _steer(self, valve, state, rule):
        """Send a motor valve to a position; a valve already on its way turns round."""
        travel = self.travels.get(valve.name)
        if self.is_stuck(valve.name):
            return False
        bus = self._dead_bus(valve)
        if bus is not None:
            if travel is not None:
                del self.travels[valve.name]
                causes = [self.latest[bus]]
                return self._note(valve.name, "HALF OPEN", f"the {bus} is dead", causes, None)
            return False
        if (travel.target if travel else self.positions[valve.name]) == state:
            return False
        reason, causes = self._reason(valve.name, rule)
        gone = valve.travel - (travel.arrival - self.time if travel else 0.0)
        if self.begins or gone <= 0.0:  # at once
            self.travels.pop(valve.name, None)
            return self._note(valve.name, state, reason, causes, rule)
        before = travel.before if travel else self.positions[valve.name]
        if before == "HALF OPEN":
            gone *= 0.5
        self.travels[valve.name] = Travel(self.time, self.time + gone, before, state, reason)
        if travel is None:
            self._note(valve.name, "MOVING", reason, causes, rule)
        return True

    def _arrive(self):
        for name, travel in list(self.travels.items()):
            if self.time >= travel.arrival - _INSTANT:
                del self.travels[name]
                self.change(name, travel.target, travel.reason, [self.latest[name]])

    def _note(self, name, state, reason, causes, rule):
        if self.positions[name] == state:
            return False
        causes = [c for c in causes if c is not None]
        self.change(name, state, reason, causes, rule.name if rule else "")
        return True

    def _reason(self, name, rule):
        """Why a component is asked for a new state now, and the changes that led to it."""
        ended = [
            self.changes[self._now[r.name]]
            for r in self.aircraft.rules_for[name]
            if self.positions[r.name] == INACTIVE and r.name in self._now
        ]
        because = " and ".join(dict.fromkeys(change.reason for change in ended))
        causes = [change.number for change in ended]
        if rule is None:
            return because or "nothing asks for anything else", causes
        causes.append(self.latest[rule.name])
        if rule.name in self._now or not ended:
            return _rule_text(rule), [self.latest[rule.name]]
        return f"{_rule_text(rule)}, now that {because}", causes

    # ------------------------------------------------------------------- alerts and counters
    def _alerts(self):
        for alert in self.aircraft.alerts:
            shown = alert.condition.holds(self.is_true)
            state = "SHOWN" if shown else "OUT"
            if self.positions[alert.name] != state:
                reason = self._alert_text(alert.condition, shown)
                causes = self._causes(alert.condition, true=shown)
                self.change(alert.name, state, reason, causes)

    def _alert_text(self, condition, shown):
        if shown:
            return " and ".join(str(f) for f in condition.facts if self.is_true(f))
        return self._broken_text(condition)

    def _counters(self):
        """Zero a counter at the moment its condition becomes true."""
        for counter in self.aircraft.counters:
            holds = counter.zero_when.holds(self.is_true)
            changed = any(f.name in self._now for f in counter.zero_when.facts)
            burned = float(self.quantities[self.index[f"burned by {counter.consumer}"]])
            if holds and changed and counter.name not in self._zeroed:
                self.zeros[counter.name] = burned
                self._zeroed.add(counter.name)
                self._zero_change(counter)

    def _zero_change(self, counter):
        number = self._number + len(self.changes)
        causes = tuple(self._causes(counter.zero_when))
        self.changes.append(
            Change(number, self.time, counter.name, "COUNTING", "ZERO", counter.because, causes)
        )
        self.latest[counter.name] = number


def _rule_text(rule):
    """A rule's reason with its own delay and end, so that the sentence follows the numbers."""
    text = rule.because
    if rule.delay:
        text += f" ({rule.condition} for {rule.delay:.0f} s)"
    return f"{text}, until {rule.until}" if rule.until else text
