"""What the reference lets happen at one instant: failures, actions, rules, valves, starvation.

Works on one memory, changed in place as the flight goes on, which writes down every event.
"""

from tests.flight.reference_fuel import vapour
from tests.flight.reference_state import Kept, kind_of, loaded

SAME_TIME = 1e-6  # s
SAME_MASS = 1e-6  # kg; a tank filled to an order holds another order for as much
PLAY = {"mass": 10.0, "temperature": 0.5, "balance": 0.05, "imbalance": 10.0}


class Memory(Kept):
    """The memory of a flight, and all that happens to it."""

    def begin(self):
        """Settle as after a long time: no delay is left to run and every valve has arrived."""
        for failure in self.sector.failures:
            if failure.time == 0.0:
                self._fail(failure)
        self.begins = True
        self._settle()
        self.begins = False

    # ----------------------------------------------------------------------- at one instant
    def happen(self, met):
        """Let all that is due happen, and settle."""
        tilted = False
        for phase in self.sector.phases:
            if phase.start == self.time:
                earlier = [p for p in self.sector.phases if p.start < self.time]
                tilted = bool(earlier) and (earlier[-1].pitch, earlier[-1].roll) != (
                    phase.pitch, phase.roll,
                )  # fmt: skip
                self.record("phase", phase.name)
        for failure in self.sector.failures:
            if failure.time == self.time and failure not in self.present:
                self._fail(failure)
        for action in self.sector.actions:
            if action.time == self.time:
                self._act(action)
        for what, name, extra in met:
            if what == "level":
                self.level_event(name, extra)
            elif what == "overflow":
                self.record(name, extra)
            elif what == "suction":
                self._starve(self.aircraft.by_name[name])
            elif what == "fact":
                (self.reached.add if extra[0] else self.reached.discard)(extra[1])
                self.events.append((self.time, name, "MET" if extra[0] else "NOT MET"))
        if tilted:
            self._tilt()
        for valve, (arrival, target, _) in list(self.moving.items()):
            if self.time >= arrival - SAME_TIME:
                del self.moving[valve]
                self.record(valve, target)
        self._settle()
        while self._starves() or self._overflow_ends():
            self._settle()

    def _fail(self, f):
        self.present.add(f)
        subject = {"misreading": "gauge ", "blocked": "vent "}.get(f.kind, "")
        self.events.append((self.time, f"{f.part} {subject}{f.kind}", "PRESENT"))
        if f.kind == "blocked":
            i = self.fuel.index[f.part]
            space = self.fuel.air_space(i, self.fuel.volume(i, self.y))
            self.trapped[f.part] = self.fuel.air(self.phase)[1] * space
        elif f.kind == "failed":
            self.record(f.part, "DEAD" if f.part in self.names["buses"] else "FAIL")
        elif f.kind == "stuck" and f.part in self.names["valves"]:
            moving = self.moving.pop(f.part, None)
            self.record(f.part, f.state or ("HALF OPEN" if moving else self.position[f.part]))
        elif (
            f.kind == "stuck"
            and f.state
            and f.part in self.names["sensors"] | self.names["switches"]
        ):
            self.record(f.part, f.state)

    def _act(self, action):
        for switch, position in action.sets:
            if not self.has_failed(switch, "stuck"):
                self.record(switch, position)
        if action.pressure is not None:
            self.coupling = action.pressure
        if action.order is not None:
            self.order = loaded(self.aircraft, action.order, self.fuel.loaded)
            self.reached -= {f for f in self.reached if f in self.orders}

    def _settle(self):
        for _ in range(100):
            count = len(self.events)
            self._measure()
            self._decide()
            self._obey()
            for alert in self.aircraft.alerts:
                self.record(alert.name, "SHOWN" if self.holds(alert.condition) else "OUT")
            self._count(count)
            if len(self.events) == count:
                return
        raise AssertionError(f"the reference does not settle at {self.time}")

    def _measure(self):
        for fact in self.measures:
            beyond = self.beyond(fact, self.y)
            was = fact in self.reached
            now = beyond is not None and beyond > (-PLAY[fact.measure] if was else 0.0)
            if now != was:
                (self.reached.add if now else self.reached.discard)(fact)
                self.events.append((self.time, str(fact), "MET" if now else "NOT MET"))
        for fact in self.orders if self.order is not None else ():
            short = self.order[fact.name] - self.shown(fact.name, self.y)
            if fact not in self.reached and short <= SAME_MASS:
                self.reached.add(fact)
                self.events.append((self.time, str(fact), "MET"))

    def _fact(self, fact, rule):
        if kind_of(fact) == "loss":
            return (rule, fact) in self.reached
        if kind_of(fact) != "state":
            return fact in self.reached
        return (self.position[fact.name] == fact.state) is not fact.negated

    def holds(self, condition, rule=None):
        """Return whether a condition holds."""
        every = [self._fact(f, rule) for f in condition.all]
        some = [self._fact(f, rule) for f in condition.any]
        return all(every) and (any(some) or not some)

    def _decide(self):
        for rule in self.aircraft.rules:
            name, was = rule.name, self.position[rule.name] == "ACTIVE"
            holds = self.holds(rule.condition)
            over = rule.until is not None and self.holds(rule.until, name)
            if was:
                now = not over if rule.until is not None else holds
            elif holds and not over:
                since = self.since.setdefault(name, self.time)
                now = self.begins or self.time >= since + rule.delay - SAME_TIME
            else:
                self.since.pop(name, None)
                now = False
            if now == was:
                continue
            self.record(name, "ACTIVE" if now else "AT REST")
            self.since.pop(name, None)
            if not now:
                self.reached = {
                    k for k in self.reached if not (isinstance(k, tuple) and k[0] == name)
                }
            for tank in self.fuel.tanks:
                self.held[name, tank] = self.mass(tank)

    def _obey(self):
        """Put every component where the first active rule in the file wants it."""
        a = self.aircraft
        for part in (*a.pumps, *a.consumers, *a.returns, *a.fillers, *a.valves):
            wishes = [
                dict(rule.sets)[part.name]
                for rule in a.rules
                if self.position[rule.name] == "ACTIVE" and part.name in dict(rule.sets)
            ]
            if not any(part.name in dict(rule.sets) for rule in a.rules):
                continue
            rest = "OFF" if part in a.pumps or part in a.consumers else "SHUT"
            wish = wishes[0] if wishes else rest
            if part in a.valves:
                self._drive(part, wish)
            else:
                self._put(part, wish, rest)

    def _put(self, part, wish, rest):
        name = part.name
        if self.position[name] == "FAIL":
            return
        if name in self.starved:
            if wish != rest:
                return
            self.starved.discard(name)
        if part in self.aircraft.pumps:
            if part.bus is not None and self.position[part.bus] == "DEAD":
                wish = "OFF"
            elif wish == "RUN" and self.position[f"{name} inlet"] == "DRY":
                wish = "LOW PRESS"
        self.record(name, wish)

    def _count(self, first):
        """Counters start again when their condition comes to hold at this instant."""
        changed = {name for time, name, _ in self.events if time == self.time}
        for counter in self.aircraft.counters:
            facts = counter.zero_when.facts
            if self.holds(counter.zero_when) and any(f.name in changed for f in facts):
                event = (self.time, counter.name, "ZERO")
                if event not in self.events[-200:]:
                    self.events.append(event)

    def _drive(self, valve, wish):
        name = valve.name
        if self.has_failed(name, "stuck"):
            return
        if valve.bus is not None and self.position[valve.bus] == "DEAD":
            if self.moving.pop(name, None) is not None:
                self.record(name, "HALF OPEN")
            return
        if name in self.moving:
            arrival, target, passes = self.moving[name]
            if target == wish:
                return
            back = valve.travel - (arrival - self.time)  # as far as it has come
            self.moving[name] = (self.time + back, wish, passes)
            if back <= 0.0:
                del self.moving[name]
                self.record(name, wish)
        elif self.position[name] != wish and valve.travel > 0.0 and not self.begins:
            before = self.position[name]
            way = 0.5 if before == "HALF OPEN" else 1.0
            self.moving[name] = (self.time + way * valve.travel, wish, before)
            self.record(name, "MOVING")
        else:
            self.record(name, wish)

    # -------------------------------------------------------------------- fuel that is missing
    def _starves(self):
        a, fed, found = self.aircraft, self.fed(), False
        for drawer in (*a.consumers, *a.returns):
            if self.position[drawer.name] in ("RUN", "OPEN") and drawer.start not in fed:
                self._starve(drawer)
                found = True
        return found or self._sucks_vapour()

    def _starve(self, drawer):
        self.starved.add(drawer.name)
        self.record(drawer.name, "STARVED" if drawer in self.aircraft.consumers else "SHUT")

    def _sucks_vapour(self):
        running = [c for c in self.aircraft.consumers if self.position[c.name] == "RUN"]
        if not running:
            return False
        moment = self.fuel.look(self, self.phase)
        for consumer in running:
            if self.spare(consumer, moment, self.y) < 0.0:
                self._starve(consumer)
                return True
        return False

    def spare(self, consumer, moment, y):
        """Return the pressure at an inlet above what its consumer needs there [Pa]."""
        _, pressures = moment.solved(y)
        boils = vapour(max(y[self.fuel.warm :]))
        place = self.aircraft.by_name[consumer.start].position
        static = self.fuel.network.weight * sum(
            p * u for p, u in zip(place, moment.up, strict=True)
        )
        pressure = pressures[consumer.start] - static + moment.air_pressure
        return pressure - max(consumer.least_pressure, boils)

    def _overflow_ends(self):
        moment = self.fuel.look(self, self.phase)
        if not moment.over:
            return False
        passed = moment.both(self.y)[1]
        for name, over in passed.items():  # the highest ones first
            if over <= 0.0:
                self.record(name, "STILL")
                return True
        return False
