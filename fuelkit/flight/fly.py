"""Compute a flight from event to event. Between events every quantity is followed smoothly.

While flows are steady every tank's mass is a straight line in time and only temperatures bend;
an adaptive step follows both exactly enough, and is cut at the first thing that happens.
"""

from dataclasses import replace

import numpy as np

from fuelkit.aircraft.loading import distribution
from fuelkit.flight.crossings import Gaps
from fuelkit.flight.failures import check_failures, truth_of
from fuelkit.flight.happenings import Happenings
from fuelkit.flight.history import History, Segment
from fuelkit.flight.hydraulics import Hydraulics
from fuelkit.flight.movement import Air, Draws, Movement, Quantities, burns_of
from fuelkit.flight.state import PHASE, FlightError, State
from fuelkit.flight.watches import Watchman
from fuelkit.physics.errors import NetworkError
from fuelkit.physics.steps import crossing, following_length, smooth_step
from fuelkit.physics.writing import clock

_MASS_TOLERANCE = 1e-6  # kg in one step; 10 ms of the smallest flow is a thousand times more
_TEMPERATURE_TOLERANCE = 3e-6  # K in one step: 0.02 g of fuel at a threshold of 10 m³
_LONGEST_STEADY, _LONGEST_MOVING, _FIRST_MOVING = 900.0, 120.0, 5.0  # s
_SHORTEST_STEP = 1e-3  # s
_MISSED = 1000.0  # times the tolerance: what rates inside a step may be off, times its length
_SAME_INSTANT = 1e-9  # s; what happens this near to each other happens at once
_MOST_EVENTS = 20_000


def fly(aircraft, sector, exactness=1.0):
    """Return the computed flight of an aircraft over a sector.

    Parameters
    ----------
    aircraft : Aircraft
    sector : Sector
        Its failures included.
    exactness : float
        How many times the error of a step may be what a flight otherwise keeps to. [-]

    Returns
    -------
    History
        Can be asked for any component at any time; two calls give the same, bit for bit.

    Raises
    ------
    LoadError
        If the sector's fuel does not fit the aircraft.
    FailureError
        If a failure does not fit the aircraft.
    FlightError
        If rules undo each other without end, or a network has no solution.

    Notes
    -----
    A hybrid system: masses and temperatures are continuous; switches, pumps, valves, sensors,
    timers and latches are discrete. Flows come from the solved network (physics.network), what
    is between events from Dormand-Prince steps (physics.steps). Altitude, speed, pitch, roll and
    burn are steady within a phase. An engine that no fuel reaches, or at whose inlet the pressure
    falls below what it needs, is starved.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> flight.position("left centre pump", 0.0)
    'OFF'
    """
    return _Run(aircraft, sector, exactness).history()


class _Run:
    """One computation of a flight: what is fixed for it, and the list that grows."""

    def __init__(self, aircraft, sector, exactness):
        check_failures(sector.failures, aircraft)
        self.aircraft, self.sector = aircraft, sector
        self.quantities = Quantities(aircraft)
        self.hydraulics = Hydraulics(aircraft, sector.density_15, sector.density, sector.failures)
        self.watchman = Watchman(aircraft, self.hydraulics, self.quantities, sector)
        self.happenings = Happenings(self)
        self.changes, self.segments = [], []
        self.times = sorted(
            {p.start for p in sector.phases}
            | {a.time for a in sector.actions}
            | {f.time for f in sector.failures if f.time < sector.end}
            | {sector.end}
        )
        self._airs = {}
        self._good_length = {True: _FIRST_MOVING, False: _LONGEST_STEADY}
        tanks = self.quantities.count
        self._tolerance = np.full(len(self.quantities.names), _MASS_TOLERANCE)
        self._tolerance[-tanks:] = _TEMPERATURE_TOLERANCE
        self._tolerance *= exactness

    def history(self):
        state, due = self.happenings.begun(self._first_state()), []
        for _ in range(_MOST_EVENTS):
            state, movement = self.happenings.happen(state, due)
            if state.time >= self.sector.end:
                return History(
                    self.aircraft, self.sector, self.hydraulics, tuple(self.changes),
                    tuple(self.segments), state,
                )  # fmt: skip
            state, due = self._advance(state, movement)
        raise FlightError(
            f"flight at {clock(state.time)}: more than {_MOST_EVENTS} events; something switches "
            "too often. Look at the last changes."
        )

    def _first_state(self):
        aircraft, sector = self.aircraft, self.sector
        masses = distribution(aircraft, sector.total, sector.density)
        quantities = np.zeros(len(self.quantities.names))
        for name, mass in masses.items():
            quantities[self.quantities.index[name]] = mass
        quantities[-self.quantities.count :] = sector.temperature
        positions = dict(aircraft.resting_states)
        positions.update({c.name: "COUNTING" for c in aircraft.counters})
        positions.update({f.name: "ABSENT" for f in sector.failures})
        positions[PHASE] = sector.phases[0].name
        stance = self.stance_at(0.0)
        levels = self.watchman.level_states(stance, quantities)
        positions.update(levels)
        positions.update({truth_of(s): levels[s] for s in self.happenings.fallible_sensors})
        zeros = {c.name: 0.0 for c in aircraft.counters}
        return State(
            0.0, quantities, positions, {}, {}, frozenset(), None, zeros, {},
            coupling=aircraft.coupling_pressure,
        )  # fmt: skip

    # ----------------------------------------------------------------- what holds at a moment
    def stance_at(self, time):
        """Return the aircraft at the attitude of the phase at a time."""
        phase = self.sector.phase_at(time)
        return self.hydraulics.stance(phase.pitch, phase.roll)

    def air_at(self, time):
        """Return the air of the phase at a time."""
        phase = self.sector.phase_at(time)
        key = (phase.altitude, phase.mach)
        if key not in self._airs:
            self._airs[key] = Air(self.sector, phase, self.aircraft)
        return self._airs[key]

    def draws(self, state):
        """Return what is drawn at each junction in a state."""
        return Draws(self.hydraulics, state, burns_of(self.aircraft, self.sector, state))

    def movement(self, state, draws):
        """Return how every quantity moves in a state."""
        burns = burns_of(self.aircraft, self.sector, state)
        try:
            return Movement(
                self.hydraulics, self.quantities, state, draws, burns,
                self.stance_at(state.time), self.air_at(state.time),
                loaded=self.sector.temperature,
            )  # fmt: skip
        except NetworkError as problem:
            raise FlightError(f"flight at {clock(state.time)}: {problem}") from problem

    # --------------------------------------------------------------------------- between events
    def _next_time(self, state):
        """The next time at which something is due by the clock: actions, timers, travels."""
        times = [t for t in self.times if t > state.time]
        times += [t.arrival for t in state.travels.values()]
        for name, memory in state.memory.items():
            if memory.since is not None and not memory.masses:
                times.append(memory.since + self.aircraft.by_name[name].delay)
        return min(times)

    def _advance(self, state, movement):
        """Follow the fuel to the next event; return the state there and what happens.

        A tank that runs over and then has room again is an event without a watch.
        """
        stance = self.stance_at(state.time)
        watches = self.watchman.watches(state, stance)
        watches += self.happenings.suction.watches(state, movement)
        gaps = Gaps(watches, self.hydraulics.fuel, self.quantities.count)
        running = [o for o in self.aircraft.overflows if state.positions[o.name] == "RUNNING"]
        moving = bool(movement.moving)
        longest = _LONGEST_MOVING if moving else _LONGEST_STEADY
        limit, length, due = self._next_time(state), self._try_length(state, moving=moving), []
        first_rates = None
        while state.time < limit and not due:
            tried = min(limit - state.time, length)
            step = self._accepted_step(movement, state, tried, first_rates)
            grown = min(longest, following_length(step))
            # A step that only the clock cut short says nothing against the length it had before.
            length = max(grown, length) if step.length == tried < length else grown
            self._good_length[moving] = length
            first, due = gaps.first_closed(step)
            whole = step.start + step.length
            end = self._first_turn(movement, running, step, whole if first is None else first)
            due = due if first == end else []
            state = self._closed_segment(
                state, step, limit if end >= limit - _SAME_INSTANT else end, moving=moving
            )
            if end < whole:
                break
            first_rates = step.last
        return state, due

    def _accepted_step(self, rates, state, length, first):
        step = smooth_step(
            rates, state.time, length, state.quantities, tolerance=self._tolerance, first=first
        )
        while length > _SHORTEST_STEP and not self._is_followed(rates, step):
            shorter = 0.9 if step.error > 1.0 else 0.5
            length = max(_SHORTEST_STEP, min(shorter * length, following_length(step)))
            step = smooth_step(
                rates, state.time, length, state.quantities, tolerance=self._tolerance,
                first=step.first,
            )  # fmt: skip
        return step

    def _is_followed(self, movement, step):
        """Whether a step is exact enough, also where a flow begins or ends inside it.

        Across such a kink the estimated error changes its sign with the length of the step, and
        is small now and then by chance; the rates inside the step tell.
        """
        if step.error > 1.0 or not movement.moving:
            return step.error <= 1.0
        inside = step.start + 0.4 * step.length
        grown = 0.4 ** np.arange(step.powers.shape[1]) * (np.arange(step.powers.shape[1]) + 1.0)
        missed = np.abs(step.length * movement(step.at(inside)) - step.powers @ grown)
        return bool((missed <= _MISSED * self._tolerance).all())

    def _first_turn(self, movement, running, step, end):
        """When a tank that runs over first loses fuel, or else the end of what was followed."""
        for overflow in running:

            def gain(time, overflow=overflow):
                return movement.passed_on(overflow, step.at(time))

            if gain(end) < 0.0:
                end = float(crossing(gain, step.start, end))
        return end

    def _try_length(self, state, *, moving):
        """Length of a first step after an event [s]: as the last of its kind, if it goes on."""
        last = self.segments[-1] if self.segments else None
        goes_on = not moving or (last is not None and last.moving)
        return self._good_length[moving] if goes_on else _FIRST_MOVING

    def _closed_segment(self, state, step, time, *, moving):
        """Write down the stretch up to `time` and return the state there."""
        quantities = step.at(time) if step.length > 0.0 else state.quantities.copy()
        if step.length > 0.0 and time >= step.start + step.length:
            quantities = step.before + step.powers.sum(axis=1)
        self.segments.append(Segment(state, step, time, bool(moving)))
        return replace(state, time=time, quantities=quantities)
