"""Failures in any combination at any time: the flight stays solvable, and fuel is kept.

Drawn by lot over the course's whole sectors, one to eight failures each, a third of them at the
very moment of a phase or an action. A part is flown each time; with FUELKIT_RANDOM_FAILURES=200
in the environment, all.
"""

import math
import os
import random
from dataclasses import replace

import numpy as np
import pytest

from fuelkit.flight.failures import KINDS, PRESENT, Failure, failure_faults, stuck_states
from fuelkit.flight.fly import fly
from fuelkit.flight.indications import indications
from fuelkit.flight.reasons import why
from fuelkit.flight.sector import load_sector
from fuelkit.flight.truth import differences
from fuelkit.physics.units import HOUR
from tests.flight.test_conservation import assert_fuel_is_kept

FLIGHTS = int(os.environ.get("FUELKIT_RANDOM_FAILURES", "3"))
SECTORS = ("eastmere-port-ellery", "port-ellery-eastmere")


def drawn(aircraft, sector, seed):
    """Return a sector with failures drawn by lot: each seed its own, the same every time."""
    chance, found = random.Random(seed), []
    moments = [p.start for p in sector.phases] + [a.time for a in sector.actions]
    for _ in range(chance.randint(1, 8)):
        exact = chance.random() < 0.33
        time = chance.choice(moments) if exact else chance.uniform(0.0, sector.end)
        failure = DRAW[chance.choice(KINDS)](chance, aircraft, time)
        if failure.name not in {other.name for other in found}:
            found.append(failure)
    assert not list(failure_faults(found, aircraft))
    return replace(sector, failures=tuple(sorted(found, key=lambda f: f.time)))


def _failed(chance, aircraft, time):
    part = chance.choice((*aircraft.pumps, *aircraft.consumers, *aircraft.buses))
    return Failure(time, part.name, "failed")


def _stuck(chance, aircraft, time):
    part = chance.choice([p for p in aircraft.by_name.values() if stuck_states(p)])
    needs = getattr(part, "kind", "") in ("check valve", "relief valve")
    states = [*stuck_states(part), *(() if needs else (None,))]
    return Failure(time, part.name, "stuck", state=chance.choice(states))


def _leaking(chance, aircraft, time):
    part = chance.choice((*aircraft.tanks, *aircraft.junctions, *aircraft.consumers))
    leak = math.exp(chance.uniform(math.log(10.0), math.log(8000.0))) / HOUR
    return Failure(time, part.name, "leaking", leak=leak)


def _misreading(chance, aircraft, time):
    tank = chance.choice([t for t in aircraft.tanks if t.holds_fuel])
    return Failure(
        time, tank.name, "misreading",
        factor=chance.uniform(0.3, 2.0), offset=chance.uniform(-800.0, 800.0),
    )  # fmt: skip


def _blocked(chance, aircraft, time):
    return Failure(time, chance.choice(aircraft.tanks).name, "blocked")


DRAW = {
    "failed": _failed, "stuck": _stuck, "leaking": _leaking, "misreading": _misreading,
    "blocked": _blocked,
}  # fmt: skip


@pytest.mark.parametrize("seed", range(FLIGHTS))
def test_a_flight_with_failures_drawn_by_lot_is_computed_to_its_end(halbrook, seed):
    """No error of any kind; a gram; never below nothing, never above full; some flown twice."""
    sector = drawn(halbrook, load_sector(SECTORS[seed % 2], halbrook), seed)
    flight = fly(halbrook, sector)
    assert flight.final.time == sector.end
    assert_fuel_is_kept(flight)
    assert abs(flight.conservation_error()) < 1e-3
    if seed % 4 == 0:
        again = fly(halbrook, sector)
        assert again.changes == flight.changes
        assert np.array_equal(again.final.quantities, flight.final.quantities)
    chance = random.Random(seed)
    for time in (0.0, sector.end, *(chance.uniform(0.0, sector.end) for _ in range(3))):
        assert_it_can_be_told(flight, time)


def assert_it_can_be_told(flight, time):
    """Every state has its sentence; every failure is shown, or told among the differences."""
    shown, now = indications(flight, time), flight.state_at(time).positions
    assert min(shown.masses.values()) >= 0.0
    for name in flight.aircraft.by_name:
        if name in now:
            text = why(flight, name, time)
            assert text[0].isupper() and text.endswith(".") and str(now[name]) in text
    told = {d.name for d in differences(flight, time)}
    for failure in flight.sector.failures:
        if now[failure.name] == PRESENT and failure.kind in ("stuck", "leaking", "blocked"):
            assert failure.part in told, failure


@pytest.mark.parametrize("seed", range(max(4, FLIGHTS // 10)))
def test_a_component_that_failed_leads_back_to_its_failure(halbrook, seed):
    """From the moment that something fails, why names the failure and its time."""
    sector = drawn(halbrook, load_sector(SECTORS[seed % 2], halbrook), 10_000 + seed)
    flight = fly(halbrook, sector)
    for failure in sector.failures:
        if failure.kind == "failed" and failure.time < sector.end:
            told = why(flight, failure.part, sector.end)
            assert f"{failure.name} at " in told, told
        if failure.kind == "stuck" and failure.part in flight.final.positions:
            told = why(flight, failure.part, sector.end)
            assert "stuck" in told, told


def test_an_overflow_that_stops_and_starts_again_takes_time_to_do_so(halbrook):
    """Drawn by lot: a full surge tank that cools as fast as it is filled switched without end."""
    sector = drawn(halbrook, load_sector(SECTORS[1], halbrook), 23)
    flight = fly(halbrook, replace(sector, end=13_000.0, actions=tuple(
        a for a in sector.actions if a.time < 13_000.0
    ), phases=tuple(p for p in sector.phases if p.start < 13_000.0)))  # fmt: skip
    changes = flight.changes_of("left surge overflow")
    assert 2 <= len(changes) < 20
    assert all(b.time > a.time for a, b in zip(changes, changes[1:], strict=False))


def test_every_kind_of_failure_is_drawn(halbrook):
    """All kinds, and every state in which something can stick, occur in two hundred flights."""
    base = load_sector(SECTORS[0], halbrook)
    failures = [f for seed in range(200) for f in drawn(halbrook, base, seed).failures]
    assert {f.kind for f in failures} == set(KINDS)
    states = {f.state for f in failures if f.kind == "stuck"}
    assert states >= {"SHUT", "HALF OPEN", "OPEN", "WET", "DRY", None}
    assert len({f.part for f in failures}) > 60
