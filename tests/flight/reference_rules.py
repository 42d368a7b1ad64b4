"""What the reference holds of everything discrete: failures, rules, valves, facts, starvation.

One memory, changed in place as the flight goes on; it writes down every event.
"""

from tests.flight.reference_fuel import ReferenceFuel, vapour

SAME_TIME = 1e-6  # s
SAME_MASS = 1e-6  # kg; a tank filled to an order holds another order for as much
PLAY = {"mass": 10.0, "temperature": 0.5, "balance": 0.05, "imbalance": 10.0}


def kind_of(fact):
    """Return "measure", "loss", "state" or "order"."""
    if hasattr(fact, "measure"):
        return "measure"
    if hasattr(fact, "mass"):
        return "loss"
    return "state" if hasattr(fact, "state") else "order"


class Memory:
    """Everything discrete in a flight, and the events so far."""

    def __init__(self, fuel: ReferenceFuel, y):
        self.fuel, self.aircraft, self.sector = fuel, fuel.aircraft, fuel.sector
        self.time, self.y, self.events = 0.0, y, []
        self.since, self.held, self.moving = {}, {}, {}
        self.reached, self.starved = set(), set()
        self.order, self.trapped = None, {}
        self.coupling = self.aircraft.coupling_pressure
        self._list_failures()
        self._list_facts()
        self._rest()

    # ----------------------------------------------------------------------------- preparation
    def _list_failures(self):
        a, self.present = self.aircraft, set()
        names = {group: {x.name for x in getattr(a, group)} for group in (
            "tanks", "sensors", "switches", "buses", "valves", "junctions", "consumers")}  # fmt: skip
        self.names = names
        self.holes = [
            (f"{f.part} hole", f.part, f.hole)
            for f in self.sector.failures
            if f.kind == "leaking" and f.part in names["tanks"]
        ]
        self.points = self.fuel.points(self.holes)
        self.truth = {
            f.part: f"{f.part}, in truth" for f in self.sector.failures if f.part in names["sensors"]
        }

    def _list_facts(self):
        a = self.aircraft
        conditions = [r.condition for r in a.rules] + [r.until for r in a.rules if r.until]
        conditions += [x.condition for x in a.alerts] + [c.zero_when for c in a.counters]
        facts = [f for c in conditions for f in (*c.all, *c.any)]
        self.measures = [f for f in dict.fromkeys(facts) if kind_of(f) == "measure"]
        self.orders = [f for f in dict.fromkeys(facts) if kind_of(f) == "order"]

    def _rest(self):
        a = self.aircraft
        position = {s.name: s.positions[0] for s in a.switches}
        position.update({p.name: "OFF" for p in (*a.pumps, *a.consumers)})
        position.update({p.name: "SHUT" for p in (*a.returns, *a.valves, *a.fillers)})
        position.update({b.name: "LIVE" for b in a.buses})
        position.update({o.name: "STILL" for o in a.overflows})
        position.update({x.name: "OUT" for x in a.alerts})
        position.update({r.name: "AT REST" for r in a.rules})
        position["phase"] = self.sector.phases[0].name
        self.position = position
        self._tilt(first=True)

    def _tilt(self, *, first=False):
        """Find anew what is wet and dry, at the attitude of the phase."""
        self.levels = self.fuel.thresholds(self.points, self.phase.pitch, self.phase.roll)
        for name, (tank, dry, wet) in self.levels.items():
            volume = self.fuel.volume(self.fuel.index[tank], self.y)
            if first:
                state = "WET" if volume > dry else "DRY"
                self.position[name] = state
                if name in self.truth:
                    self.position[self.truth[name]] = state
            elif self.true_state(name) == "DRY":
                self.level_event(name, "WET" if volume >= wet else "DRY")
            else:
                self.level_event(name, "WET" if volume > dry else "DRY")

    # -------------------------------------------------------------------------------- questions
    @property
    def phase(self):
        """The phase of the present time."""
        return max((p for p in self.sector.phases if p.start <= self.time), key=lambda p: p.start)

    def mass(self, tank):
        """Return the mass in a tank [kg]."""
        return float(self.y[self.fuel.index[tank]])

    def true_state(self, point):
        """Return whether a point is truly WET or DRY."""
        return self.position[self.truth.get(point, point)]

    def has_failed(self, part, kind):
        """Return the failure of a part that is present, or None."""
        return next((f for f in self.present if f.part == part and f.kind == kind), None)

    def shown(self, tank, y):
        """Return what the gauge of a tank shows [kg]."""
        i, wrong = self.fuel.index[tank], self.has_failed(tank, "misreading")
        return float(y[i]) if wrong is None else max(0.0, wrong.factor * y[i] + wrong.offset)

    def beyond(self, fact, y):
        """Return by how much a measured quantity is beyond the value of a fact, or None."""
        if fact.measure == "mass":
            names = self.fuel.tanks if fact.name == "all tanks" else [fact.name]
            value = sum(self.shown(name, y) for name in names)
        elif fact.measure == "temperature":
            sensors = [
                s for s in self.aircraft.sensors
                if s.kind == "temperature" and s.tank == fact.name
            ]  # fmt: skip
            if sensors and self.position[sensors[-1].name] == "DRY":
                return None
            value = y[self.fuel.warm + self.fuel.index[fact.name]] - 273.15
        elif fact.measure == "imbalance":
            value = abs(self.fuel.tilt(y))
        else:
            value = self.fuel.centre_of_gravity(y, self.phase)
        return value - fact.value if fact.above else fact.value - value

    def passing(self):
        """Return {branch: how} of all lines and pumps that may pass fuel."""
        found = {}
        for b in self.fuel.network.branches:
            how = self._how(b)
            if self.position.get(f"{b.name} inlet") != "DRY" and how is not None:
                bare = self.position.get(f"{b.name} outlet") == "DRY"
                found[b.name] = f"{how} INTO THE TANK" if bare else how
        return found

    def _how(self, b):
        if b.kind == "pump":
            return "" if self.position[b.name] == "RUN" else None
        if b.kind == "valve":
            state = self.position[b.name]
            if state == "MOVING":
                state = self.moving[b.name][2]
            return {"OPEN": "", "HALF OPEN": "HALF OPEN"}.get(state)
        stuck = self.has_failed(b.name, "stuck")
        if stuck is None:
            return ""
        return None if stuck.state == "SHUT" else "BOTH WAYS" if b.one_way else ""

    def fed(self):
        """Return the junctions that fuel can get to from a tank or the coupling."""
        how, junctions = self.passing(), self.fuel.network.junctions
        ways = []
        for b in self.fuel.network.branches:
            if b.name in how:
                ways.append((b.start, b.end, b.start))
                back = not b.one_way or "BOTH WAYS" in how[b.name]
                if back and "INTO THE TANK" not in how[b.name]:
                    ways.append((b.end, b.start, b.end))
        ends = {o.name for o in self.aircraft.outlets}
        found, before = set(), -1
        while len(found) > before:
            before = len(found)
            for start, end, _ in ways:
                if start in found or (start not in junctions and start not in ends):
                    found |= {end} & set(junctions)
        return found

    def leaks(self):
        """Yield (flow, tank or None, junction or None) of every leak that runs."""
        fed = None
        for f in self.present:
            if f.kind != "leaking":
                continue
            if f.part in self.names["tanks"]:
                if self.position[f"{f.part} hole"] == "WET":
                    yield f.leak, f.part, None
                continue
            at = self.aircraft.by_name[f.part]
            junction = at.start if f.part in self.names["consumers"] else f.part
            fed = self.fed() if fed is None else fed
            if junction in fed:
                yield f.leak, None, junction

    # ----------------------------------------------------------------------- at one instant
    def record(self, name, after):
        """Put a component in a state, and write it down if it is a new one."""
        if self.position.get(name) != after:
            self.position[name] = after
            self.events.append((self.time, name, after))
            return True
        return False

    def level_event(self, name, after):
        """A point falls dry or is wet; a stuck sensor does not show it."""
        if name in self.truth:
            self.record(self.truth[name], after)
            if self.has_failed(name, "stuck"):
                return
        self.record(name, after)

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
            if failure.time == self.time:
                self._fail(failure)
        for action in self.sector.actions:
            if action.time == self.time:
                self._act(action)
        for what, name, extra in met:
            if what == "level":
                self.level_event(name, extra)
            elif what == "overflow":
                self.record(name, extra)
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
        elif f.kind == "stuck" and f.state and f.part in self.names["sensors"] | self.names["switches"]:
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
                now = self.time >= since + rule.delay - SAME_TIME
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
        elif self.position[name] != wish and valve.travel > 0.0:
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
        _, pressures = moment.solved(self.y)
        boils = vapour(max(self.y[self.fuel.warm :]))
        for consumer in running:
            place = self.aircraft.by_name[consumer.start].position
            static = self.fuel.network.weight * sum(
                p * u for p, u in zip(place, moment.up, strict=True)
            )
            pressure = pressures[consumer.start] - static + moment.air_pressure
            if pressure < max(consumer.least_pressure, boils):
                self._starve(consumer)
                return True
        return False

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


def loaded(aircraft, total, density):
    """Fill the tanks in the aircraft's order, those of one step level with each other."""
    masses = {tank.name: 0.0 for tank in aircraft.tanks}
    for step in aircraft.loading_order:
        room = {n: aircraft.tank(n) for n in step}
        room = {n: t.levels.capacity * t.refuel_limit * density for n, t in room.items()}
        poured = min(total, sum(room.values()))
        for name in step:
            masses[name] = room[name] * poured / sum(room.values())
        total -= poured
    return masses
