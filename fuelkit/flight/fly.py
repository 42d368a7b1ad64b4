"""Compute a flight from event to event. Between events flows are steady, or followed smoothly.

While flows are steady every tank is a straight line in time, so the next threshold is one
division away. Only where a flow follows the fuel levels does an adaptive step take over.
"""

from dataclasses import replace

import numpy as np

from fuelkit.aircraft.loading import distribution
from fuelkit.flight.automatics import Instant
from fuelkit.flight.crossings import first_met
from fuelkit.flight.history import History, Segment
from fuelkit.flight.hydraulics import Hydraulics
from fuelkit.flight.state import PHASE, Change, FlightError, RuleMemory, State
from fuelkit.flight.watches import Watchman
from fuelkit.physics.errors import NetworkError
from fuelkit.physics.steps import crossing, following_length, smooth_step, straight_step
from fuelkit.physics.writing import clock

_TOLERANCE = 1e-6  # kg in one smooth step; 10 ms of the smallest flow is a thousand times more
_LONGEST_STEP = 120.0  # s
_SHORTEST_STEP = 1e-3  # s
_SAME_INSTANT = 1e-9  # s; what happens this near to each other happens at once
_MOST_EVENTS = 20_000


def fly(aircraft, sector):
    """Return the computed flight of an aircraft over a sector.

    Parameters
    ----------
    aircraft : Aircraft
    sector : Sector

    Returns
    -------
    History
        Can be asked for any component at any time; two calls give the same, bit for bit.

    Raises
    ------
    LoadError
        If the sector's fuel does not fit the aircraft.
    FlightError
        If an engine cannot be fed, or rules undo each other without end.

    Notes
    -----
    A hybrid system: tank masses are continuous; switches, pumps, valves, sensors, timers and
    latches are discrete. Flows come from the solved network (physics.network), smooth parts from
    Dormand-Prince steps (physics.steps). Assumes the aircraft level, fuel of one temperature,
    and engine burn as the sector gives it.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> flight.position("left centre pump", 0.0)
    'OFF'
    """
    return _Run(aircraft, sector).history()


class _Run:
    """One computation of a flight: what is fixed for it, and the list that grows."""

    def __init__(self, aircraft, sector):
        self.aircraft, self.sector = aircraft, sector
        self.hydraulics = Hydraulics(aircraft, sector.density)
        self.watchman = Watchman(aircraft, self.hydraulics)
        self.changes, self.segments = [], []
        self.times = sorted(
            {p.start for p in sector.phases} | {a.time for a in sector.actions} | {sector.end}
        )

    def history(self):
        state, due = self._first_state(), []
        for _ in range(_MOST_EVENTS):
            state = self._happen(state, due)
            if state.time >= self.sector.end:
                return History(
                    self.aircraft, self.sector, self.hydraulics, tuple(self.changes),
                    tuple(self.segments), state,
                )  # fmt: skip
            state, due = self._advance(state)
        raise FlightError(
            f"flight at {clock(state.time)}: more than {_MOST_EVENTS} events; something switches "
            "too often. Look at the last changes."
        )

    def _first_state(self):
        aircraft = self.aircraft
        masses = distribution(aircraft, self.sector.total, self.sector.density)
        names = self.hydraulics.quantity_names
        quantities = np.array([masses.get(name, 0.0) for name in names])
        positions = dict(aircraft.resting_states)
        positions.update({c.name: "COUNTING" for c in aircraft.counters})
        positions.update(self.watchman.initial_level_states(quantities))
        positions[PHASE] = self.sector.phases[0].name
        zeros = {c.name: 0.0 for c in aircraft.counters}
        return State(0.0, quantities, positions, {}, {}, frozenset(), None, zeros, {})

    # ------------------------------------------------------------------- what happens at once
    def _happen(self, state, due):
        """Let everything that is due at this time happen, and settle the automatic functions."""
        draft = Instant(self.aircraft, state, len(self.changes), self.hydraulics.quantity_names)
        self._scheduled(draft)
        for watch in due:
            self._met(draft, watch)
        draft.settle()
        while self._overflow_stops(draft):
            draft.settle()
        self.changes += draft.changes
        return draft.state()

    def _scheduled(self, draft):
        phase = self.sector.phase_at(draft.time)
        draft.change(PHASE, phase.name, f"the flight has come to the phase '{phase.name}'")
        for action in self.sector.actions:
            if action.time == draft.time:
                for name, position in action.sets:
                    draft.change(name, position, "it was set by hand")
                if action.order is not None:
                    self._place_order(draft, action.order)

    def _place_order(self, draft, total):
        draft.order = distribution(self.aircraft, total, self.sector.density)
        draft.met = {(rule, fact) for rule, fact in draft.met if rule is not None}
        for fact in self.watchman.order_facts:
            if draft.quantities[draft.index[fact.name]] >= draft.order[fact.name]:
                draft.met.add((None, fact))

    def _met(self, draft, watch):
        if watch.fact is None:
            draft.change(watch.name, watch.after, watch.reason)
            return
        draft.met.add((watch.rule, watch.fact))
        number = len(self.changes) + len(draft.changes)
        draft.changes.append(Change(number, draft.time, watch.name, "", "MET", watch.reason))
        draft.latest[watch.name] = number

    def _overflow_stops(self, draft):
        """Stop the first overflow into whose tank no more fuel comes than leaves it."""
        running = [
            o for o in self.hydraulics.overflow_order if draft.positions[o.name] == "RUNNING"
        ]
        if not running:
            return False
        flows, burns = self._flows(draft.state())
        for overflow in running:
            still = {**draft.positions, overflow.name: "STILL"}
            inflow = self.hydraulics.rates(flows, still, burns)[draft.index[overflow.start]]
            if inflow <= 0.0:
                draft.change(overflow.name, "STILL", f"nothing more runs into {overflow.start}")
                return True
        return False

    # --------------------------------------------------------------------- what flows between
    def _burns(self, state):
        phase = self.sector.phase_at(state.time)
        burns = {}
        for consumer in self.aircraft.consumers:
            if state.positions[consumer.name] == "RUN":
                engine = phase.burn * self.sector.burn_factor.get(consumer.name, 1.0)
                burns[consumer.name] = engine if consumer.burn is None else consumer.burn
        return burns

    def _flows(self, state):
        """The flow of each part of the network, and what each consumer burns."""
        burns = self._burns(state)
        levels = self.hydraulics.levels(state.quantities)
        try:
            return self.hydraulics.solved(state.positions, state.travels, burns, levels), burns
        except NetworkError as problem:
            raise FlightError(self._unfed_text(state, problem)) from problem

    def _unfed_text(self, state, problem):
        unfed = [
            drawer.name
            for drawer in (*self.aircraft.consumers, *self.aircraft.returns)
            if drawer.start in problem.unfed and state.positions[drawer.name] in ("RUN", "OPEN")
        ]
        if not unfed:
            return f"flight at {clock(state.time)}: {problem}"
        return (
            f"flight at {clock(state.time)}: {' and '.join(unfed)} cannot be fed; no open path "
            "leads there from any tank with fuel. Load more fuel, open a valve, or stop it first."
        )

    def _inflows(self, state):
        """Return a function from quantities to rates before any tank runs over.

        Only what follows the levels is done anew at each call.
        """
        burns, hydraulics = self._burns(state), self.hydraulics
        start = hydraulics.levels(state.quantities)
        given = hydraulics.given_rates(state.positions, burns)
        moving = []
        for setting in hydraulics.settings(state.positions, state.travels, burns):
            flow = hydraulics.flow(setting, start)
            if flow.steady:
                hydraulics.add_flow(given, hydraulics.parts[setting.part], flow)
            else:
                moving.append(setting)
        tanks = frozenset().union(*(hydraulics.parts[s.part].tanks for s in moving))

        def inflows(quantities):
            found, levels = given.copy(), hydraulics.levels(quantities, only=tanks)
            for setting in moving:
                flow = hydraulics.flow(setting, levels)
                hydraulics.add_flow(found, hydraulics.parts[setting.part], flow)
            return found

        return inflows

    def _advance(self, state):
        """Follow the fuel to the next event; return the state there and the watches it meets."""
        flows, burns = self._flows(state)
        rates = self.hydraulics.rates(flows, state.positions, burns)
        watches = self.watchman.watches(state)
        limit = self._next_time(state)
        if all(flow.steady for flow in flows) or not self._levels_matter(rates):
            return self._straight(state, rates, watches, limit)
        return self._smooth(state, watches, limit)

    def _levels_matter(self, rates):
        return bool(np.abs(rates[: len(self.aircraft.tanks)]).max() > 0.0)

    def _next_time(self, state):
        """The next time at which something is due by the clock: actions, timers, travels."""
        times = [t for t in self.times if t > state.time]
        times += [t.arrival for t in state.travels.values()]
        for rule in self.aircraft.rules:
            memory = state.memory.get(rule.name, RuleMemory())
            if memory.since is not None and not memory.masses:
                times.append(memory.since + rule.delay)
        return min(times)

    def _straight(self, state, rates, watches, limit):
        """Steady flows: each threshold is one division away, and the earliest wins."""
        ahead = []
        for watch in watches:
            speed = float(rates[watch.index] if watch.rising else -rates[watch.index])
            if speed > 0.0:
                ahead.append((max(0.0, watch.distance(state.quantities)) / speed, watch))
        wait = min((w for w, _ in ahead), default=np.inf)
        time = limit if wait >= limit - state.time - _SAME_INSTANT else state.time + wait
        due = [watch for w, watch in ahead if w <= time - state.time + _SAME_INSTANT]
        step = straight_step(state.time, time - state.time, state.quantities, rates)
        return self._closed_segment(state, step, time), due

    def _smooth(self, state, watches, limit):
        """Flows that follow the levels: adaptive steps, cut at the first threshold.

        While a tank runs over, each step is followed by a look at whether it still does.
        """
        inflows, positions, run_over = (
            self._inflows(state), state.positions, self.hydraulics.run_over,
        )  # fmt: skip
        length, due = self._try_length(state), []
        while state.time < limit and not due:
            step = self._accepted_step(
                lambda q: run_over(inflows(q), positions), state, min(limit - state.time, length)
            )
            length = self._good_length = min(_LONGEST_STEP, following_length(step))
            first, due = first_met(watches, step)
            end = self._first_turn(inflows, positions, step, first)
            due = due if first == end else []
            state = self._closed_segment(
                state, step, limit if end >= limit - _SAME_INSTANT else end
            )
            if "RUNNING" in (positions[o.name] for o in self.aircraft.overflows):
                break
        return state, due

    def _accepted_step(self, rates, state, length):
        step = smooth_step(rates, state.time, length, state.quantities, tolerance=_TOLERANCE)
        while length > _SHORTEST_STEP and step.error > 1.0:
            length = max(_SHORTEST_STEP, min(0.9 * length, following_length(step)))
            step = smooth_step(rates, state.time, length, state.quantities, tolerance=_TOLERANCE)
        return step

    def _first_turn(self, inflows, positions, step, first):
        """When a tank that runs over first loses fuel, or else the end of what was followed."""
        end = step.start + step.length if first is None else first
        for overflow in self.aircraft.overflows:
            if positions[overflow.name] == "RUNNING":
                still = {**positions, overflow.name: "STILL"}
                index = self.hydraulics.quantity_names.index(overflow.start)

                def gain(time, still=still, index=index):
                    return self.hydraulics.run_over(inflows(step.at(time)), still)[index]

                if gain(end) < 0.0:
                    end = crossing(gain, step.start, end)
        return end

    def _try_length(self, state):
        last = self.segments[-1] if self.segments else None
        follows = last is not None and last.end == state.time and last.smooth
        return self._good_length if follows else 1.0

    def _closed_segment(self, state, step, time):
        """Write down the stretch up to `time` and return the state there."""
        quantities = step.at(time) if step.length > 0.0 else state.quantities.copy()
        if step.length > 0.0 and time >= step.start + step.length:
            quantities = step.before + step.powers.sum(axis=1)
        self.segments.append(Segment(state, step, time))
        return replace(state, time=time, quantities=quantities)
