"""A computed flight that can be asked: any component, any tank, any time, in any order."""

from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from fuelkit.aircraft.reading import nearest
from fuelkit.flight.balance import balance_of
from fuelkit.flight.failures import shown_mass, truth_of
from fuelkit.flight.movement import Air, Draws, Movement, Quantities, burns_of
from fuelkit.flight.state import PHASE, State
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.steps import Step
from fuelkit.physics.writing import clock


class AskedError(FuelkitError, LookupError):
    """A flight was asked for a name or a time that it does not have."""


@dataclass(frozen=True)
class Segment:
    """A stretch between two events: the state at its start and how the fuel moves. Frozen.

    moving : bool
        Whether flows followed the levels here.
    """

    state: State
    step: Step
    end: float
    moving: bool


@dataclass(frozen=True)
class History:
    """A whole flight, computed. Frozen: asking changes nothing.

    changes : tuple of Change
        Every change of every component, in order of time.
    segments : tuple of Segment
    final : State
    """

    aircraft: object
    sector: object
    hydraulics: object
    changes: tuple
    segments: tuple
    final: State

    @cached_property
    def _starts(self):
        return [segment.state.time for segment in self.segments]

    @cached_property
    def quantities(self):
        """Names and places of the quantities of a state."""
        return Quantities(self.aircraft)

    @cached_property
    def _index(self):
        return self.quantities.index

    @cached_property
    def _shares(self):
        """What feeds every consumer at the times that were asked for: each takes a solution."""
        return {}

    def state_at(self, time):
        """Return the whole state at a time [s]; at an event, the state after it.

        Raises
        ------
        AskedError
            If the time lies outside the flight.
        """
        if not 0.0 <= time <= self.sector.end:
            raise AskedError(
                f"flight: time is {time} s; this flight lasts from 0 to {self.sector.end:.0f} s."
            )
        if time >= self.final.time:
            return self.final
        segment = self.segments[bisect_right(self._starts, time) - 1]
        if time == segment.state.time:
            return segment.state
        return replace(segment.state, time=time, quantities=segment.step.at(time))

    def position(self, name, time):
        """Return the state of a component, switch, sensor or alert at a time [s]."""
        positions = self.state_at(time).positions
        if name not in positions:
            raise AskedError(f"flight: there is no component '{name}'.{nearest(name, positions)}")
        return positions[name]

    def quantity(self, name, time):
        """Return the fuel in a tank, or another account such as "delivered", at a time [kg]."""
        if name not in self._index:
            raise AskedError(f"flight: there is no tank '{name}'.{nearest(name, self._index)}")
        return float(self.state_at(time).quantities[self._index[name]])

    def total(self, time):
        """Return all fuel on board at a time [kg]."""
        return float(self.state_at(time).quantities[: len(self.aircraft.tanks)].sum())

    def fuel_used(self, consumer, time):
        """Return what the fuel-used counter of an engine shows at a time [kg]."""
        state = self.state_at(time)
        counters = {c.consumer: c for c in self.aircraft.counters}
        if consumer not in counters:
            hint = nearest(consumer, counters)
            raise AskedError(f"flight: there is no fuel-used counter of '{consumer}'.{hint}")
        counter = counters[consumer]
        return (
            float(state.quantities[self._index[f"burned by {consumer}"]])
            - state.zeros[counter.name]
        )

    def stance(self, time):
        """Return the aircraft at its attitude at a time."""
        phase = self.sector.phase_at(time)
        return self.hydraulics.stance(phase.pitch, phase.roll)

    def movement(self, time):
        """Return how every quantity moves at a time."""
        state, phase = self.state_at(time), self.sector.phase_at(time)
        burns = self.burns(time)
        return Movement(
            self.hydraulics, self.quantities, state, Draws(self.hydraulics, state, burns), burns,
            self.stance(time), Air(self.sector, phase, self.aircraft),
            loaded=self.sector.temperature,
        )  # fmt: skip

    def levels(self, time):
        """Return the height of the surface in each tank at a time, along up [m]."""
        return self.movement(time).heads(self.state_at(time).quantities).levels

    def flows(self, time):
        """Return the flow of each part of the network at a time, solved at the levels then."""
        return self._flows(self.movement(time))

    def _flows(self, movement):
        heads = movement.heads(movement.state.quantities)
        return [self.hydraulics.flow_afresh(s, heads) for s in movement.settings]

    def temperature(self, tank, time):
        """Return the temperature of the fuel in a tank at a time [K]."""
        if tank not in self.quantities.tanks:
            raise AskedError(f"flight: there is no tank '{tank}'.{nearest(tank, self._index)}")
        return float(self.state_at(time).quantities[self._index[f"temperature of {tank}"]])

    def shown_temperature(self, sensor, time):
        """Return what a temperature sensor shows [K], or None while no fuel covers it."""
        part = self.aircraft.by_name.get(sensor)
        if part not in self.aircraft.sensors or part.kind != "temperature":
            known = [s.name for s in self.aircraft.sensors if s.kind == "temperature"]
            raise AskedError(
                f"flight: '{sensor}' is no temperature sensor.{nearest(sensor, known)}"
            )
        covered = self.position(sensor, time) == "WET"
        return self.temperature(part.tank, time) if covered else None

    def true_position(self, name, time):
        """Return the true state of a component, also of a sensor that shows another one."""
        positions = self.state_at(time).positions
        return positions.get(truth_of(name)) or self.position(name, time)

    def shown_mass(self, tank, time):
        """Return what the gauge of a tank shows at a time, level [kg], by the mass alone."""
        positions = self.state_at(time).positions
        return shown_mass(self.quantity(tank, time), tank, self.sector.failures, positions)

    def balance(self, time):
        """Return mass and balance at a time.

        Raises
        ------
        BalanceError
            If the aircraft's file has no section [masses].
        """
        masses = self.aircraft.masses
        zero_fuel = self.sector.zero_fuel or (masses.zero_fuel if masses else 0.0)
        quantities = self.state_at(time).quantities
        return balance_of(
            self.aircraft, self.hydraulics.fuel, self.stance(time), quantities, zero_fuel
        )

    def burns(self, time):
        """Return what each consumer that runs burns at a time [kg/s]."""
        return burns_of(self.aircraft, self.sector, self.state_at(time))

    def feeding(self, consumer, time):
        """Return the tanks that feed an engine or the APU at a time, with their shares [-].

        Empty when it does not run. Found from the pressures of the network, not declared.
        """
        part = self.aircraft.by_name.get(consumer)
        if part not in self.aircraft.consumers:
            hint = nearest(consumer, [c.name for c in self.aircraft.consumers])
            raise AskedError(f"flight: '{consumer}' is no engine or APU.{hint}")
        if self.position(consumer, time) != "RUN":
            return {}
        if time not in self._shares:
            movement = self.movement(time)
            self._shares[time] = self.hydraulics.shares(movement.settings, self._flows(movement))
        return dict(self._shares[time][part.start])

    def changes_of(self, name):
        """Return every change of one component, in order of time."""
        return tuple(change for change in self.changes if change.name == name)

    def samples(self, times):
        """Return the fuel in every tank at given times, shape (n_times, n_tanks) [kg]."""
        tanks = len(self.aircraft.tanks)
        rows = [self.state_at(float(t)).quantities[:tanks] for t in times]
        return np.array(rows).reshape(len(rows), tanks)

    def conservation_error(self):
        """Return loaded + delivered - remaining - burned - overboard over the flight [kg]."""
        first, last = self.segments[0].state.quantities, self.final.quantities
        tanks, index = len(self.aircraft.tanks), self._index
        burned = sum(last[index[f"burned by {c.name}"]] for c in self.aircraft.consumers)
        gone = burned + last[index["overboard"]] + last[:tanks].sum()
        return float(first[:tanks].sum() + last[index["delivered"]] - gone)

    def phase(self, time):
        """Return the name of the phase of flight at a time."""
        return self.position(PHASE, time)

    def __str__(self):
        return (
            f"{self.aircraft.name}, {self.sector.name}: {len(self.changes)} changes in "
            f"{clock(self.sector.end)}"
        )
