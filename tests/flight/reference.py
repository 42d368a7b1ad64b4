"""The same flight computed a second time, plainly and slowly, to hold the kit's against.

Written apart from fuelkit.flight and fuelkit.physics.network: it takes from the kit only the
aircraft record, the sector record and the tanks' level tables. Fuel is integrated with scipy's
DOP853 at tight tolerance, every threshold is a terminal event of it, the network is a convex
minimum found by SLSQP and polished by MINPACK's hybrid method, and the rules are read anew.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp

from tests.flight.reference_network import ReferenceNetwork

LONGEST_STEP = 60.0  # s, so that no threshold is stepped over
SAME_MASS = 1e-8  # kg
SAME_TIME = 1e-6  # s
BRIM = 1e-7  # kg


@dataclass
class Memory:
    """Everything discrete in the flight, changed in place as it goes on."""

    position: dict
    active: dict
    since: dict = field(default_factory=dict)
    held: dict = field(default_factory=dict)  # (rule, tank): mass when the rule took hold
    reached: set = field(default_factory=set)  # facts about masses
    moving: dict = field(default_factory=dict)  # valve: (arrival, target, passes)
    order: dict | None = None


class Reference:
    """A flight by the reference method: `events` and `masses(time)`."""

    def __init__(self, aircraft, sector):
        self.aircraft, self.sector = aircraft, sector
        self.rho = sector.density
        self.tanks = [tank.name for tank in aircraft.tanks]
        self.network = ReferenceNetwork(aircraft, self.rho)
        self.events, self.pieces = [], []
        self._name_parts()
        self._run()

    # ----------------------------------------------------------------------------- preparation
    def _name_parts(self):
        a = self.aircraft
        self.consumers = [c.name for c in a.consumers]
        self.size = len(self.tanks) + len(self.consumers) + 2  # and delivered, overboard
        self.levels = {}  # sensor or opening: tank, mass when it falls dry, mass when wet again
        openings = [(s.name, s.tank, s.position[2]) for s in a.sensors]
        openings += [(f"{p.name} inlet", p.start, p.inlet[2]) for p in a.pumps]
        for line in a.lines:
            if line.start in self.tanks and line.end not in self.tanks:
                openings.append((f"{line.name} inlet", line.start, line.inlet[2]))
            if line.end in self.tanks and line.start not in self.tanks:
                openings.append((f"{line.name} outlet", line.end, line.outlet[2]))
        for name, tank, z in openings:
            table = a.tank(tank).levels
            dry, wet = (table.volume_below(h) * self.rho for h in (z, z + a.rewet_height))
            self.levels[name] = (tank, dry, wet)
        self.capacity = {
            o.name: a.tank(o.start).levels.capacity
            * (1.0 - a.tank(o.start).expansion_space)
            * self.rho
            for o in a.overflows
        }

    def _loaded(self, total):
        """Fill the tanks in the aircraft's order, those of one step level with each other."""
        masses = dict.fromkeys(self.tanks, 0.0)
        for step in self.aircraft.loading_order:
            room = {n: self.aircraft.tank(n).levels.capacity * self.rho for n in step}
            room = {n: m * self.aircraft.tank(n).refuel_limit for n, m in room.items()}
            poured = min(total, sum(room.values()))
            for name in step:
                masses[name] = room[name] * poured / sum(room.values())
            total -= poured
        return masses

    def _start(self):
        a = self.aircraft
        masses = self._loaded(self.sector.total)
        y = np.zeros(self.size)
        y[: len(self.tanks)] = [masses[name] for name in self.tanks]
        position = {s.name: s.positions[0] for s in a.switches}
        position.update({p.name: "OFF" for p in (*a.pumps, *a.consumers)})
        position.update({p.name: "SHUT" for p in (*a.returns, *a.valves)})
        position.update({o.name: "STILL" for o in a.overflows})
        position.update({x.name: "OUT" for x in a.alerts})
        position["phase"] = self.sector.phases[0].name
        for name, (tank, dry, _) in self.levels.items():
            position[name] = "WET" if masses[tank] > dry else "DRY"
        return y, Memory(position, {rule.name: False for rule in a.rules})

    # -------------------------------------------------------------------------------- the loop
    def _run(self):
        self.y, self.m = self._start()
        time, met = 0.0, []
        while True:
            self.time = time
            self._at_once(met)
            if time >= self.sector.end:
                return
            time, met = self._integrate(time, self._next_clock(time))

    def _next_clock(self, time):
        times = [self.sector.end, *(p.start for p in self.sector.phases)]
        times += [action.time for action in self.sector.actions]
        times += [arrival for arrival, _, _ in self.m.moving.values()]
        for rule in self.aircraft.rules:
            if rule.name in self.m.since and not self.m.active[rule.name]:
                times.append(self.m.since[rule.name] + rule.delay)
        return min(t for t in times if t > time)

    def _record(self, name, after):
        if self.m.position.get(name) != after:
            self.m.position[name] = after
            self.events.append((self.time, name, after))

    # ------------------------------------------------------------------------- at one instant
    def _at_once(self, met):
        for phase in self.sector.phases:
            if phase.start == self.time:
                self._record("phase", phase.name)
        for action in self.sector.actions:
            if action.time == self.time:
                for switch, position in action.sets:
                    self._record(switch, position)
                if action.order is not None:
                    self._take_order(action.order)
        for kind, name, extra in met:
            if kind == "fact":
                self.m.reached.add(extra)
                self.events.append((self.time, name, "MET"))
            elif kind == "state":
                self._record(name, extra)
        for valve, (arrival, target, _) in list(self.m.moving.items()):
            if self.time >= arrival - SAME_TIME:
                del self.m.moving[valve]
                self._record(valve, target)
        self._settle()
        while self._overflow_ends():
            self._settle()

    def _take_order(self, total):
        self.m.order = self._loaded(total)
        self.m.reached = {key for key in self.m.reached if key[0] != "order"}
        for name, mass in self.m.order.items():
            if self._mass(name) >= mass:
                self.m.reached.add(("order", name))

    def _mass(self, tank):
        return self.y[self.tanks.index(tank)]

    def _settle(self):
        for _ in range(100):
            if not (self._decide() | self._obey()):
                break
        else:
            raise AssertionError(f"the reference does not settle at {self.time}")
        for alert in self.aircraft.alerts:
            self._record(alert.name, "SHOWN" if self._holds(alert.condition) else "OUT")

    def _fact(self, fact, rule=None):
        if hasattr(fact, "mass"):
            return ("loss", rule, fact.name, fact.mass) in self.m.reached
        if not hasattr(fact, "state"):
            return ("order", fact.name) in self.m.reached
        return (self.m.position[fact.name] == fact.state) is not fact.negated

    def _holds(self, condition, rule=None):
        every = [self._fact(f, rule) for f in condition.all]
        some = [self._fact(f, rule) for f in condition.any]
        return all(every) and (any(some) or not some)

    def _decide(self):
        """Which rules are active; returns whether one has changed."""
        changed = False
        for rule in self.aircraft.rules:
            name, was = rule.name, self.m.active[rule.name]
            holds = self._holds(rule.condition)
            over = rule.until is not None and self._holds(rule.until, name)
            if was:
                now = not over if rule.until is not None else holds
            elif holds and not over:
                since = self.m.since.setdefault(name, self.time)
                now = self.time >= since + rule.delay - SAME_TIME
            else:
                self.m.since.pop(name, None)
                now = False
            if now == was:
                continue
            changed = True
            self.m.active[name] = now
            self.events.append((self.time, name, "ACTIVE" if now else "AT REST"))
            self.m.since.pop(name, None)
            self.m.reached = {k for k in self.m.reached if k[:2] != ("loss", name)}
            for tank in self.tanks:
                self.m.held[name, tank] = self._mass(tank)
        return changed

    def _obey(self):
        """Put every component where the first active rule in the file wants it."""
        before, a = len(self.events), self.aircraft
        for part in (*a.pumps, *a.consumers, *a.returns, *a.valves):
            wishes = [
                dict(rule.sets)[part.name]
                for rule in a.rules
                if self.m.active[rule.name] and part.name in dict(rule.sets)
            ]
            rest = "SHUT" if part in a.returns or part in a.valves else "OFF"
            wish = wishes[0] if wishes else rest
            if part in a.valves:
                self._drive(part, wish)
            elif part in a.pumps and wish == "RUN":
                wet = self.m.position[f"{part.name} inlet"] == "WET"
                self._record(part.name, "RUN" if wet else "LOW PRESS")
            else:
                if part in a.consumers and wish == "RUN" != self.m.position[part.name]:
                    self._zero_counters(part.name)
                self._record(part.name, wish)
        return len(self.events) > before

    def _zero_counters(self, consumer):
        """Counters start again with their own engine; this reference knows no others."""
        for counter in self.aircraft.counters:
            if counter.consumer == consumer:
                self.events.append((self.time, counter.name, "ZERO"))

    def _drive(self, valve, wish):
        if valve.name in self.m.moving:
            arrival, target, passes = self.m.moving[valve.name]
            if target == wish:
                return
            back = valve.travel - (arrival - self.time)  # as far as it has come
            self.m.moving[valve.name] = (self.time + back, wish, passes)
        elif self.m.position[valve.name] != wish and valve.travel > 0.0:
            passes = self.m.position[valve.name] == "OPEN"
            self.m.moving[valve.name] = (self.time + valve.travel, wish, passes)
            self._record(valve.name, "MOVING")
        else:
            self._record(valve.name, wish)

    def _overflow_ends(self):
        for overflow in self.aircraft.overflows:
            running = self.m.position[overflow.name] == "RUNNING"
            if running and self._inflow(overflow)(0.0, self.y) <= 1e-15:
                self._record(overflow.name, "STILL")
                return True
        return False

    # ---------------------------------------------------------------------------- continuously
    def _burn(self, consumer):
        if self.m.position[consumer.name] != "RUN":
            return 0.0
        phase = max((p for p in self.sector.phases if p.start <= self.time), key=lambda p: p.start)
        engine = phase.burn * self.sector.burn_factor.get(consumer.name, 1.0)
        return engine if consumer.burn is None else consumer.burn

    def _passing(self):
        """Names of lines and pumps that let fuel through, apart from their check valves."""
        open_ones = set()
        for pump in self.aircraft.pumps:
            if self.m.position[pump.name] == "RUN":
                open_ones.add(pump.name)
        for line in self.aircraft.lines:
            passes = True
            if line.kind == "valve":
                passes = self.m.position[line.name] == "OPEN"
                if line.name in self.m.moving:
                    passes = self.m.moving[line.name][2]
            if passes and self.m.position.get(f"{line.name} inlet") != "DRY":
                open_ones.add(line.name)
        return frozenset(open_ones)

    def _rates(self, *, without=()):
        """Right-hand side of the fuel's equations in the present discrete state."""
        a, n = self.aircraft, len(self.tanks)
        index = {name: i for i, name in enumerate(self.tanks)}
        fixed, drawn = np.zeros(self.size), {}
        for i, consumer in enumerate(a.consumers):
            fixed[n + i] = self._burn(consumer)
            drawn[consumer.start] = drawn.get(consumer.start, 0.0) + fixed[n + i]
        for back in a.returns:
            if self.m.position[back.name] == "OPEN":
                fixed[index[back.end]] += back.flow
                drawn[back.start] = drawn.get(back.start, 0.0) + back.flow
        passing = self._passing()
        running = [
            o for o in a.overflows if self.m.position[o.name] == "RUNNING" and o.name not in without
        ]

        def rates(_, y):
            found = fixed.copy()
            heights = {
                t.name: t.levels.level_of(float(y[i]) / self.rho) for i, t in enumerate(a.tanks)
            }
            for start, end, flow in self.network.flows(passing, drawn, heights):
                for node, amount in ((start, -flow), (end, flow)):
                    if node in index:
                        found[index[node]] += amount
                    elif node == a.coupling:
                        found[-2] -= amount
            left = list(running)
            while left:  # the highest ones first
                first = next(o for o in left if all(o.start != other.end for other in left))
                left.remove(first)
                target = -1 if first.end == "overboard" else index[first.end]
                found[target] += found[index[first.start]]
                found[index[first.start]] = 0.0
            return found

        return rates

    def _inflow(self, overflow):
        rates, i = self._rates(without=(overflow.name,)), self.tanks.index(overflow.start)
        return lambda time, y: rates(time, y)[i]

    def _thresholds(self):
        """Every (function of time and y, direction, what it means) armed in this state."""
        found = []

        def arm(tank, mass, direction, meaning):
            i = self.tanks.index(tank)
            found.append((lambda _, y: y[i] - mass, direction, meaning))

        for name, (tank, dry, wet) in self.levels.items():
            if self.m.position[name] == "WET":
                arm(tank, dry, -1.0, ("state", name, "DRY"))
            else:
                arm(tank, wet, 1.0, ("state", name, "WET"))
        for o in self.aircraft.overflows:
            if self.m.position[o.name] == "STILL":
                # A little higher than now, or it would start again where it has just stopped.
                mass = max(self.capacity[o.name], self._mass(o.start)) + BRIM
                arm(o.start, mass, 1.0, ("state", o.name, "RUNNING"))
            else:
                found.append((self._inflow(o), -1.0, ("state", o.name, "STILL")))
        for rule in self.aircraft.rules:
            if self.m.active[rule.name] and rule.until is not None:
                for fact in (*rule.until.all, *rule.until.any):
                    key = ("loss", rule.name, fact.name, getattr(fact, "mass", None))
                    if hasattr(fact, "mass") and key not in self.m.reached:
                        mass = self.m.held[rule.name, fact.name] - fact.mass
                        arm(fact.name, mass, -1.0, ("fact", str(fact), key))
        if self.m.order is not None:
            wanted = {
                str(f): f.name
                for rule in self.aircraft.rules
                for f in rule.condition.facts
                if not hasattr(f, "mass") and not hasattr(f, "state")
            }
            for text, tank in wanted.items():
                if ("order", tank) not in self.m.reached:
                    arm(tank, self.m.order[tank], 1.0, ("fact", text, ("order", tank)))
        return found

    def _integrate(self, start, limit):
        rates, thresholds = self._rates(), self._thresholds()
        functions = []
        for function, direction, _ in thresholds:
            event = lambda t, y, f=function: f(t, y)  # noqa: E731 (takes attributes)
            event.terminal, event.direction = True, direction
            functions.append(event)
        found = solve_ivp(
            rates, (start, limit), self.y, method="DOP853", rtol=1e-10, atol=1e-9,
            events=functions, max_step=LONGEST_STEP, dense_output=True,
        )  # fmt: skip
        assert found.success, found.message
        end = limit if found.status == 0 else float(found.t[-1])
        self.pieces.append((start, end, found.sol))
        self.y = found.y[:, -1].copy()
        speed = rates(end, self.y)
        met = []
        for (function, direction, meaning), times in zip(thresholds, found.t_events, strict=True):
            close = abs(function(end, self.y)) < SAME_MASS and meaning[2] != "STILL"
            before = function(end, self.y - speed * 1e-3) * direction < 0.0
            if len(times) or (close and before):
                met.append(meaning)
        return end, met

    # ------------------------------------------------------------------------------- questions
    def masses(self, time):
        """Return the mass in every tank at a time [kg]."""
        for start, end, solution in self.pieces:
            if start <= time <= end:
                return solution(time)[: len(self.tanks)]
        raise AssertionError(f"the reference has nothing at {time}")
