"""The same flight computed a second time, plainly and slowly, to hold the kit's against.

Written apart from fuelkit.flight and fuelkit.physics.network: it takes from the kit only the
aircraft record, the sector record, the tanks' level and moment tables and the smooth density.
Fuel and heat are integrated with scipy's LSODA at tight tolerance, every threshold is a
terminal event of it, the network is solved afresh at every level (reference_network.py), and
the rules are read anew (reference_rules.py).
"""

import numpy as np
from scipy.integrate import solve_ivp

from tests.flight.reference_fuel import ReferenceFuel
from tests.flight.reference_rules import PLAY, Memory
from tests.flight.reference_state import kind_of, loaded

LONGEST_STEP = 150.0  # s, so that no threshold is stepped over
SAME_MASS = 1e-8  # kg
SAME_FLOW = 1e-7  # kg/s; an overflow that ends because nothing more comes does not begin again
NEAR_STARVING = 5e4  # Pa; no level makes as much of a difference
MOST_AT_ONCE = 100  # events one after the other at the same time
BRIM = 2e-6  # kg; nearer to its brim than this a tank is full


class Reference:
    """A flight by the reference method: `events`, `masses(time)`, `temperatures(time)`."""

    def __init__(self, aircraft, sector):
        self.aircraft, self.sector = aircraft, sector
        self.fuel = ReferenceFuel(aircraft, sector)
        y = np.zeros(self.fuel.size)
        y[: self.fuel.n] = list(loaded(aircraft, sector.total, self.fuel.loaded).values())
        y[self.fuel.warm :] = sector.temperature
        self.m = Memory(self.fuel, y)
        self.pieces = []
        self._run()

    @property
    def events(self):
        """(time, name, state after) of everything that changed."""
        return self.m.events

    def _run(self):
        time, met, standing = 0.0, [], 0
        self.m.begin()
        while True:
            self.m.time = time
            self.m.happen(met)
            if time >= self.sector.end:
                return
            before, (time, met) = time, self._integrate(time, self._next_clock(time))
            standing = standing + 1 if time == before else 0
            assert standing < MOST_AT_ONCE, f"the reference stands still at {time} s: {met}"

    def _next_clock(self, time):
        times = [self.sector.end, *(p.start for p in self.sector.phases)]
        times += [x.time for x in (*self.sector.actions, *self.sector.failures)]
        times += [arrival for arrival, _, _ in self.m.moving.values()]
        for rule in self.aircraft.rules:
            if rule.name in self.m.since and self.m.position[rule.name] != "ACTIVE":
                times.append(self.m.since[rule.name] + rule.delay)
        return min(t for t in times if t > time)

    # ------------------------------------------------------------------------------ thresholds
    def _thresholds(self, moment):
        """Every (function of time and y, direction, what it means) armed in this state."""
        found, m = [], self.m
        for name, (tank, dry, wet) in m.levels.items():
            if m.true_state(name) == "WET":
                found.append((self._over(tank, dry), -1.0, ("level", name, "DRY")))
            else:
                found.append((self._over(tank, wet), 1.0, ("level", name, "WET")))
        for o in self.aircraft.overflows:
            if m.position[o.name] == "STILL":
                found.append(self._brim(o))
            else:
                found.append((self._passed(moment, o), -1.0, ("overflow", o.name, "STILL")))
        found += self._losses()
        for fact in m.orders if m.order is not None else ():
            if fact not in m.reached:
                found.append((self._ordered(fact), 1.0, ("fact", str(fact), (True, fact))))
        for fact in m.measures:
            held = fact in m.reached
            meaning = ("fact", str(fact), (not held, fact))
            found.append((self._measured(fact, held), -1.0 if held else 1.0, meaning))
        return found + self._suctions(moment)

    def _suctions(self, moment):
        """Inlets at which the pressure may fall too low while the levels move."""
        m, found = self.m, []
        for consumer in self.aircraft.consumers:
            runs = m.position[consumer.name] == "RUN"
            if runs and m.spare(consumer, moment, m.y) < NEAR_STARVING:
                gap = lambda _, y, c=consumer: m.spare(c, moment, y)  # noqa: E731
                found.append((gap, -1.0, ("suction", consumer.name, "STARVED")))
        return found

    def _over(self, tank, volume):
        i, w, density = self.fuel.index[tank], self.fuel.warm, self.fuel.density
        return lambda _, y: y[i] - volume * density(y[w + i])

    def _brim(self, overflow):
        """A tank at its brim runs over at once if more comes in, or is watched from where it is."""
        i, m = self.fuel.index[overflow.start], self.m
        full = self._over(overflow.start, self.fuel.brim[i])
        meaning = ("overflow", overflow.name, "RUNNING")
        gap = full(0.0, m.y)
        if gap < -BRIM:
            return full, 1.0, meaning
        m.position[overflow.name] = "RUNNING"
        more = self.fuel.look(m, m.phase).both(m.y)[1][overflow.name]
        m.position[overflow.name] = "STILL"
        if more > SAME_FLOW:
            return (lambda _, y: 1.0), 1.0, meaning
        return (lambda t, y: full(t, y) - gap - SAME_MASS), 1.0, meaning

    def _passed(self, moment, overflow):
        return lambda _, y: moment.both(y)[1][overflow.name]

    def _losses(self):
        m = self.m
        for rule in self.aircraft.rules:
            if m.position[rule.name] == "ACTIVE" and rule.until is not None:
                for fact in rule.until.facts:
                    if kind_of(fact) == "loss" and (rule.name, fact) not in m.reached:
                        i = self.fuel.index[fact.name]
                        mass = m.held[rule.name, fact.name] - fact.mass
                        meaning = ("fact", str(fact), (True, (rule.name, fact)))
                        yield (lambda _, y, i=i, mass=mass: y[i] - mass), -1.0, meaning

    def _ordered(self, fact):
        m = self.m
        return lambda _, y: m.shown(fact.name, y) - m.order[fact.name]

    def _measured(self, fact, held):
        m, play = self.m, PLAY[fact.measure]

        if fact.measure == "imbalance" and fact.above == held:  # it falls: no kink at 0
            side = 1.0 if self.fuel.tilt(m.y) > 0.0 else -1.0
            way, value = (1.0, play - fact.value) if held else (-1.0, fact.value)
            return lambda _, y: way * side * self.fuel.tilt(y) + value

        def gap(_, y):
            beyond = m.beyond(fact, y)
            if beyond is None:
                return 1.0 if held else -1.0
            return beyond + play if held else beyond

        return gap

    # ------------------------------------------------------------------------------- integration
    def _integrate(self, start, limit):
        m = self.m
        moment = self.fuel.look(m, m.phase)
        thresholds = self._thresholds(moment)
        past = [what for f, way, what in thresholds if way * f(start, m.y) > 0.0]
        if past:
            return start, past
        functions = []
        for function, direction, _ in thresholds:
            event = lambda t, y, f=function: f(t, y)  # noqa: E731 (takes attributes)
            event.terminal, event.direction = True, direction
            functions.append(event)
        # Stiff where air is trapped, and where fuel creeps between tanks that are nearly level:
        # LSODA turns to an implicit method by itself.
        found = solve_ivp(
            moment.rates, (start, limit), m.y, method="LSODA", rtol=1e-10, atol=1e-9,
            events=functions, max_step=LONGEST_STEP, dense_output=True,
            first_step=min(LONGEST_STEP, limit - start),
        )  # fmt: skip
        assert found.success, found.message
        end = limit if found.status == 0 else float(found.t[-1])
        self.pieces.append((start, end, found.sol))
        m.y = found.y[:, -1].copy()
        earlier = m.y - moment.rates(end, m.y) * 1e-3
        met = []
        for (function, way, meaning), times in zip(thresholds, found.t_events, strict=True):
            close = abs(function(end, m.y)) < SAME_MASS and meaning[2] != "STILL"
            if len(times) or (close and way * function(end, earlier) < 0.0):
                met.append(meaning)
        return end, met

    # ------------------------------------------------------------------------------- questions
    def quantities(self, time):
        """Return all masses [kg] and temperatures [K] at a time."""
        for start, end, solution in self.pieces:
            if start <= time <= end:
                return solution(time)
        raise AssertionError(f"the reference has nothing at {time}")

    def masses(self, time):
        """Return the mass in every tank at a time [kg]."""
        return self.quantities(time)[: self.fuel.n]

    def temperatures(self, time):
        """Return the temperature in every tank at a time [K]."""
        return self.quantities(time)[self.fuel.warm :]
