"""A computed flight answers the same, whoever asks what, when and how often."""

import hashlib
import os
import random
import subprocess
import sys
from dataclasses import FrozenInstanceError
from pathlib import Path

import numpy as np
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.history import AskedError
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector

ROOT = Path(__file__).resolve().parents[2]


def questions(flight, time):
    """Return what a learner's board asks of a flight at a time."""
    now = picture(flight, time)
    used = {c.consumer: flight.fuel_used(c.consumer, time) for c in flight.aircraft.counters}
    return repr((now, used, flight.total(time)))


def digest(flight):
    """Return a digest of every change and every quantity of a flight, to the last bit."""
    whole = hashlib.sha256()
    for change in flight.changes:
        whole.update(repr(change).encode())
    for segment in flight.segments:
        whole.update(np.float64(segment.state.time).tobytes())
        whole.update(segment.state.quantities.tobytes())
    whole.update(flight.final.quantities.tobytes())
    return whole.hexdigest()


def test_the_same_question_gets_the_same_answer_in_any_order(halbrook, sector, flight):
    """Asked forwards, backwards, at random, and of a flight that nobody has asked before."""
    chance = random.Random(2)
    times = [chance.uniform(0.0, sector.end) for _ in range(25)]
    times += [change.time for change in flight.changes[::20]]
    forwards = {time: questions(flight, time) for time in sorted(times)}
    fresh = fly(halbrook, sector)
    backwards = {time: questions(fresh, time) for time in sorted(times, reverse=True)}
    assert backwards == forwards
    chance.shuffle(times)
    assert {time: questions(flight, time) for time in times} == forwards


def test_asking_changes_nothing(flight):
    """The flight is the same, to the last bit, after all kinds of questions."""
    before = digest(flight)
    for time in np.linspace(0.0, flight.sector.end, 60):
        questions(flight, float(time))
    flight.samples(np.linspace(0.0, flight.sector.end, 100))
    assert digest(flight) == before


def test_nobody_can_change_a_flight_by_mistake(flight):
    """Neither its fields nor the quantities that it hands out."""
    with pytest.raises(FrozenInstanceError):
        flight.changes = ()
    for time in (0.0, 1000.0, flight.sector.end):
        with pytest.raises(ValueError, match="read-only"):
            flight.state_at(time).quantities[0] = 0.0


def test_two_flights_are_equal_bit_for_bit(halbrook, sector, flight):
    """Computed again, from records loaded again."""
    again = load_aircraft("halbrook-180")
    assert digest(fly(halbrook, sector)) == digest(flight)
    other = fly(again, load_sector("eastmere-port-ellery", again))
    assert digest(other) == digest(flight)


@pytest.mark.parametrize("seed", ["0", "4242"])
def test_another_process_computes_the_same_flight(flight, seed):
    """Whatever the order of its sets: PYTHONHASHSEED differs."""
    program = (
        "from fuelkit.aircraft.load import load_aircraft\n"
        "from fuelkit.flight.fly import fly\n"
        "from fuelkit.flight.sector import load_sector\n"
        "from tests.flight.test_history import digest\n"
        "halbrook = load_aircraft('halbrook-180')\n"
        "print(digest(fly(halbrook, load_sector('eastmere-port-ellery', halbrook))))\n"
    )
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
    found = subprocess.run(
        [sys.executable, "-c", program], env=environment, cwd=ROOT, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    assert found.stdout.strip() == digest(flight)


def test_the_state_at_an_event_is_the_state_after_it(flight):
    """And just before, it is still the one before."""
    last = {}
    for change in flight.changes:
        last[change.name, change.time] = change
    checked = 0
    for (name, time), change in last.items():
        if name in flight.final.positions and change.after not in ("MET", "ZERO"):
            assert flight.position(name, time) == change.after, name
            first = next(c for c in flight.changes_of(name) if c.time == time)
            assert time == 0.0 or flight.position(name, time - 1e-6) == first.before, name
            checked += 1
    assert checked > 150


def test_changes_are_numbered_in_order_and_their_causes_come_before(flight):
    """So every chain of reasons ends."""
    times = [change.time for change in flight.changes]
    assert times == sorted(times)
    for place, change in enumerate(flight.changes):
        assert change.number == place
        assert all(cause < place for cause in change.causes)
        assert change.reason and change.before != change.after


def test_tanks_move_without_a_jump(flight):
    """What a tank holds at the end of each stretch is what it holds at the start of the next."""
    for one, after in zip(flight.segments, flight.segments[1:], strict=False):
        assert one.end == after.state.time
        end = one.step.at(one.end) if one.step.length else one.state.quantities
        assert end == pytest.approx(after.state.quantities, abs=1e-9)


def test_a_name_that_the_flight_has_not_gets_the_nearest(flight):
    """For components, tanks, consumers and counters."""
    asked = {
        "Did you mean 'crossfeed valve'": lambda: flight.position("crosfeed valve", 0.0),
        "Did you mean 'left inboard'": lambda: flight.quantity("left inbord", 0.0),
        "Did you mean 'engine 1'": lambda: flight.feeding("engin 1", 0.0),
        "Did you mean 'engine 2'": lambda: flight.fuel_used("engine2", 0.0),
    }
    for message, ask in asked.items():
        with pytest.raises(AskedError, match=message):
            ask()
    with pytest.raises(AskedError, match="no fuel-used counter of 'APU'"):
        flight.fuel_used("APU", 0.0)


@pytest.mark.parametrize("time", [-0.001, 21000.001, float("nan"), float("inf")])
def test_a_time_outside_the_flight_is_refused(flight, time):
    """With how long the flight lasts."""
    with pytest.raises(AskedError, match="lasts from 0 to 21000 s"):
        flight.state_at(time)
    with pytest.raises(AskedError):
        flight.samples([0.0, time])


def test_samples_have_a_row_for_each_time_and_a_column_for_each_tank(flight):
    """Shape (n_times, n_tanks), also for no times."""
    tanks = len(flight.aircraft.tanks)
    times = [0.0, 5000.0, 21000.0]
    found = flight.samples(times)
    assert found.shape == (3, tanks)
    assert flight.samples([]).shape == (0, tanks)
    for row, time in zip(found, times, strict=True):
        assert row.sum() == pytest.approx(flight.total(time))
        assert row[1] == flight.quantity("left inboard", time)


def test_the_picture_s_pressures_follow_the_levels(flight):
    """While a tank empties and nothing else changes, the pressures fall by what its level does."""
    early, late = picture(flight, 11_000.0), picture(flight, 13_400.0)
    switches = {s.name for s in flight.aircraft.switches} | {p.name for p in flight.aircraft.pumps}
    assert all(early.positions[name] == late.positions[name] for name in switches)
    tank = [t.name for t in flight.aircraft.tanks].index("left inboard")
    levels = [flight.levels(time)[tank] for time in (early.time, late.time)]
    for node in ("left aft outlet", "left manifold", "engine 1 inlet"):
        fall = levels[0] - levels[1]
        assert early.pressures[node] - late.pressures[node] == pytest.approx(
            flight.sector.density * 9.80665 * fall, rel=1e-6
        )
        assert fall > 0.1
