"""Flights drawn by lot, each against an independent integration of the same equations.

Aircraft, sector, load, attitude, crew actions and failures in combination: random_flights.py.
Source of the comparison: scipy.integrate.solve_ivp (LSODA, rtol 1e-10, atol 1e-9, terminal
events), a network solved on its co-content, and rules read anew; see reference.py. Tolerances
are those that the project promises. A part is flown each time; with FUELKIT_RANDOM_FLIGHTS=200
in the environment, all.
"""

import os
import random

import numpy as np
import pytest

from fuelkit.flight.failures import KINDS
from fuelkit.flight.fly import fly
from tests.flight.random_flights import SECTORS, random_flight
from tests.flight.reference import Reference
from tests.flight.reference_comparison import EVENT_TIME, TANK_MASS, TEMPERATURE, Comparison

ALL = 200
FLIGHTS = int(os.environ.get("FUELKIT_RANDOM_FLIGHTS", "5"))
GRAM = 1e-3  # kg


@pytest.mark.parametrize("seed", range(FLIGHTS))
def test_a_random_flight_is_the_one_that_the_independent_integration_finds(seed):
    """Every event within 10 ms, every tank within 0.1 kg; kept to a gram; within each tank."""
    aircraft, sector = random_flight(seed)
    flight = fly(aircraft, sector)
    comparison = Comparison(flight, Reference(aircraft, sector))
    assert comparison.different_states() == []
    latest, name = comparison.latest_event()
    assert latest < EVENT_TIME, name
    chance = random.Random(seed)
    times = [chance.uniform(0.0, sector.end) for _ in range(100)]
    times += [segment.state.time for segment in flight.segments]
    mass, temperature = comparison.largest_differences(times)
    assert mass < TANK_MASS
    assert temperature < TEMPERATURE
    assert abs(flight.conservation_error()) < GRAM
    least, fullest = extremes(flight, times)
    assert least >= 0.0
    assert fullest <= 1.0 + 1e-8  # it runs over within a tenth of a microsecond of being full
    print(
        f"{seed}: {len(flight.changes)} events, {latest * 1e3:.3f} ms ({name}), {mass:.6f} kg, "
        f"{temperature:.6f} K, {len(sector.failures)} failures"
    )


def extremes(flight, times):
    """Return the least fuel in any tank [kg], and the greatest share of any tank that is full."""
    tanks = flight.aircraft.tanks
    quantities = np.array([flight.state_at(float(time)).quantities for time in times])
    masses, warm = quantities[:, : len(tanks)], quantities[:, -len(tanks) :]
    volumes = masses / flight.hydraulics.fuel.density(warm)
    capacities = np.array([tank.levels.capacity for tank in tanks])
    return float(masses.min()), float((volumes / capacities).max())


@pytest.mark.parametrize("seed", range(0, FLIGHTS, 5))
def test_a_random_flight_is_the_same_twice_bit_for_bit(seed):
    """Computed from records made anew, with nothing remembered from the first time."""
    first, second = (fly(*random_flight(seed)) for _ in range(2))
    assert first.changes == second.changes
    assert len(first.segments) == len(second.segments)
    for a, b in zip(first.segments, second.segments, strict=True):
        assert a.state.time == b.state.time
        assert a.state.quantities.tobytes() == b.state.quantities.tobytes()
    assert first.final.quantities.tobytes() == second.final.quantities.tobytes()


def test_the_flights_drawn_are_unlike():
    """All aircraft and sectors, every kind of failure, none to five at once, tilted and level."""
    drawn = [random_flight(seed) for seed in range(ALL)]
    assert {a.identifier for a, _ in drawn} == set(SECTORS)
    assert len({s.name for _, s in drawn}) == sum(map(len, SECTORS.values()))
    assert {f.kind for _, s in drawn for f in s.failures} == set(KINDS)
    assert {len(s.failures) for _, s in drawn} == set(range(6))
    attitudes = [(p.pitch, p.roll) for _, s in drawn for p in s.phases]
    assert len(set(attitudes)) > ALL
    assert len({s.total for _, s in drawn}) == ALL
