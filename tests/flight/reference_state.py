"""What the reference keeps of everything discrete in a flight, and what can be asked of it.

What happens at an instant is in reference_rules.py.
"""

from tests.flight.reference_fuel import ReferenceFuel


def kind_of(fact):
    """Return "measure", "loss", "state" or "order"."""
    if hasattr(fact, "measure"):
        return "measure"
    if hasattr(fact, "mass"):
        return "loss"
    return "state" if hasattr(fact, "state") else "order"


class Kept:
    """Everything discrete in a flight, and the events so far; changed in place."""

    def __init__(self, fuel: ReferenceFuel, y):
        self.fuel, self.aircraft, self.sector = fuel, fuel.aircraft, fuel.sector
        self.time, self.y, self.events = 0.0, y, []
        self.begins = False
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
        groups = ("tanks", "sensors", "switches", "buses", "valves", "consumers")
        self.names = names = {g: {part.name for part in getattr(a, g)} for g in groups}
        self.holes = [
            (f"{f.part} hole", f.part, f.hole)
            for f in self.sector.failures
            if f.kind == "leaking" and f.part in names["tanks"]
        ]
        self.points = self.fuel.points(self.holes)
        self.truth = {
            f.part: f"{f.part}, in truth"
            for f in self.sector.failures
            if f.part in names["sensors"]
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
        if not self.hose_hangs(how):
            ends.add(self.aircraft.coupling)
        found, before = set(), -1
        while len(found) > before:
            before = len(found)
            for start, end, _ in ways:
                if start in found or (start not in junctions and start not in ends):
                    found |= {end} & set(junctions)
        return found

    def hose_hangs(self, how):
        """Return whether a motor valve is open in the part of the network with the coupling."""
        junctions, part, more = set(self.fuel.network.junctions), {self.aircraft.coupling}, True
        while more:
            met = [b for b in self.fuel.network.branches if part & {b.start, b.end}]
            more = {n for b in met for n in (b.start, b.end) if n in junctions} - part
            part |= more
        return any(b.name in how and b.name in self.names["valves"] for b in met)

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

    # ---------------------------------------------------------------------------------- changes
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
