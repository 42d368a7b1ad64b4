"""Many flights over the cores: what comes back is what one flight after another would give."""

import multiprocessing
import os
import signal
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure, FailureError
from fuelkit.flight.fly import fly
from fuelkit.flight.history import History
from fuelkit.flight.many import fly_many
from fuelkit.flight.sector import load_sector
from fuelkit.flight.state import EndlessSwitchingError
from fuelkit.physics.errors import FuelkitError

FLIGHTS = 20  # enough for two workers
PROJECT = Path(__file__).resolve().parents[2]


# ----------------------------------------------------- what is kept: other processes import these
def bits_of(flight):
    """Every quantity at the end of every stretch, bit for bit, and every change."""
    changes = [(c.name, c.time.hex(), c.after, c.reason, c.causes) for c in flight.changes]
    stretches = [s.state.quantities.tobytes() for s in flight.segments]
    return changes, stretches, flight.final.quantities.tobytes()


def load_of(flight):
    """The fuel on board at the start, and the process that says so."""
    return round(flight.total(0.0)), os.getpid()


def doubled(flight, factor):
    """The load, made larger."""
    return factor * round(flight.total(0.0))


def switching_without_end(flight):
    """An error whose class is not made with its message."""
    raise EndlessSwitchingError("0:01:00", [flight.aircraft.name, "pump"])


def killed_in_a_worker(flight):
    """A worker that gets to the ninth flight is killed, as by the system."""
    if round(flight.total(0.0)) == 8800 and multiprocessing.parent_process() is not None:
        os.kill(os.getpid(), getattr(signal, "SIGKILL", signal.SIGTERM))
    return round(flight.total(0.0))


def not_portable(flight):
    """Something that cannot be handed from one process to another."""
    return lambda: round(flight.total(0.0))


@pytest.fixture(scope="module")
def sectors(short):
    """The first minutes with a load of 8,000, 8,100, 8,200 ... kg."""
    return [replace(short, total=8000.0 + 100.0 * i) for i in range(FLIGHTS)]


@pytest.fixture(scope="module")
def short(sector):
    """The first minutes of the course's first sector: pumps and APU are started."""
    end = 900.0
    return replace(
        sector, end=end, phases=tuple(p for p in sector.phases if p.start < end),
        actions=tuple(a for a in sector.actions if a.time < end),
    )  # fmt: skip


def loads(sectors):
    """The loads of sectors, rounded."""
    return [round(sector.total) for sector in sectors]


# ------------------------------------------------------------------------------- what comes back
def test_many_flights_are_those_flown_one_by_one_bit_for_bit(halbrook, sectors):
    """With one process and with two: every change, time and quantity."""
    alone = [bits_of(fly(halbrook, sector)) for sector in sectors]
    assert fly_many(halbrook, sectors, keep=bits_of, cores=1) == alone
    assert fly_many(halbrook, sectors, keep=bits_of, cores=2) == alone
    assert len({repr(one) for one in alone}) == FLIGHTS


def test_the_work_is_done_by_other_processes(halbrook, sectors):
    """Two of them, in the order asked for; with one core, by this one."""
    there = fly_many(halbrook, sectors, keep=load_of, cores=2)
    assert [load for load, _ in there] == loads(sectors)
    assert os.getpid() not in {process for _, process in there}
    here = fly_many(halbrook, sectors, keep=load_of, cores=1)
    assert here == [(load, os.getpid()) for load in loads(sectors)]


def test_without_a_function_whole_flights_come_back(halbrook, sectors):
    """From another process too, and they can be asked as if flown here."""
    found = fly_many(halbrook, sectors[:16], cores=2)
    assert all(isinstance(flight, History) for flight in found)
    alone = fly(halbrook, sectors[3])
    assert found[3].changes == alone.changes
    assert found[3].samples([0.0, 500.0]).tolist() == alone.samples([0.0, 500.0]).tolist()
    assert found[3].feeding("APU", 880.0) == alone.feeding("APU", 880.0)


def test_pairs_bring_their_own_aircraft(halbrook, sectors):
    """Each is flown by the aircraft beside it; a whole flight has the same bits everywhere."""
    small = load_aircraft("halbrook-40")
    other = load_sector("eastmere-tarn-hollow", small)
    pairs = [(small, other), *sectors[1:], (small, other)]
    here, there = (fly_many(halbrook, pairs, keep=bits_of, cores=cores) for cores in (1, 2))
    assert here == there
    assert here[0] == here[-1] == bits_of(fly(small, other))


def test_no_flights_give_an_empty_list(halbrook):
    """And nothing is started."""
    assert fly_many(halbrook, []) == []
    assert fly_many(None, iter(())) == []


# ---------------------------------------------------------------------------------------- errors
@pytest.mark.parametrize("cores", [1, 2])
def test_a_flight_that_fails_gives_its_error_in_its_place(halbrook, sectors, cores):
    """The others are flown."""
    wrong = replace(sectors[5], failures=(Failure(60.0, "no such pump", "failed"),))
    asked = [*sectors[:5], wrong, *sectors[6:]]
    found = fly_many(halbrook, asked, keep=load_of, cores=cores)
    assert type(found[5]) is FailureError and "no such pump" in str(found[5])
    others = found[:5] + found[6:]
    assert [load for load, _ in others] == loads(sectors[:5] + sectors[6:])


def test_an_error_keeps_its_class_words_and_details_on_its_way(halbrook, sectors):
    """Also one whose class is not made with its message."""
    for cores in (1, 2):
        found = fly_many(halbrook, sectors, keep=switching_without_end, cores=cores)
        assert {type(error) for error in found} == {EndlessSwitchingError}
        assert found[7].names == ("Halbrook 180", "pump")
        assert str(found[7]).startswith("flight at 0:01:00: Halbrook 180, pump change back")
        assert isinstance(found[7], FuelkitError) and found[7].__cause__ is None


def test_a_killed_worker_costs_no_flight(halbrook, sectors):
    """What it leaves is flown here."""
    found = fly_many(halbrook, sectors, keep=killed_in_a_worker, cores=2)
    assert found == loads(sectors)


def test_what_cannot_be_handed_over_is_made_here(halbrook, sectors):
    """The result is the same, only later."""
    found = fly_many(halbrook, sectors, keep=not_portable, cores=2)
    assert [made() for made in found] == loads(sectors)


def test_a_function_that_no_other_process_can_find_is_used_here(halbrook, sectors):
    """One made on the spot."""
    found = fly_many(halbrook, sectors, keep=lambda f: (round(f.total(0.0)), os.getpid()), cores=2)
    assert found == [(load, os.getpid()) for load in loads(sectors)]


def test_a_function_may_have_some_of_its_arguments_set(halbrook, sectors):
    """It is still found by its name."""
    found = fly_many(halbrook, sectors, keep=partial(doubled, factor=2), cores=2)
    assert found == [2 * load for load in loads(sectors)]


def test_a_mistake_in_the_function_comes_through(halbrook, sectors):
    """It is no error of a flight."""
    for cores in (1, 2):
        with pytest.raises(TypeError, match="factor"):
            fly_many(halbrook, sectors, keep=doubled, cores=cores)


def test_what_is_asked_wrongly_is_refused(halbrook, sectors):
    """No process at all; a sector that nobody flies."""
    with pytest.raises(ValueError, match="cores is 0; at least one process must fly"):
        fly_many(halbrook, sectors, cores=0)
    with pytest.raises(TypeError, match="has no aircraft. Give one for all sectors, or a pair"):
        fly_many(None, sectors)


# --------------------------------------------------------------------------- progress and stopping
@pytest.mark.parametrize("cores", [1, 2])
def test_progress_counts_every_flight_up_to_all(halbrook, sectors, cores):
    """From none to all by one."""
    told = []
    fly_many(halbrook, sectors, keep=load_of, cores=cores, progress=lambda *at: told.append(at))
    assert told == [(done, FLIGHTS) for done in range(FLIGHTS + 1)]


def test_an_interruption_stops_all_workers(halbrook, sectors):
    """It comes through, and no process is left."""

    def interrupted(done, total):
        if done == 3:
            raise KeyboardInterrupt

    for cores in (1, 2):
        with pytest.raises(KeyboardInterrupt):
            fly_many(halbrook, sectors, keep=load_of, cores=cores, progress=interrupted)
        assert not multiprocessing.active_children()


SCRIPT = """
from dataclasses import replace
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.many import fly_many
from fuelkit.flight.sector import load_sector

def own(flight):
    return round(flight.total(0.0))

def main():
    halbrook = load_aircraft("halbrook-180")
    sector = load_sector("eastmere-port-ellery", halbrook)
    first = replace(sector, end=300.0, phases=sector.phases[:1],
                    actions=tuple(a for a in sector.actions if a.time < 300.0))
    sectors = [replace(first, total=8000.0 + i) for i in range(16)]
    print(fly_many(halbrook, sectors, keep=own, cores=2) == list(range(8000, 8016)))
"""


@pytest.mark.parametrize(
    "way",
    ["a guarded script", "a script without the guard", "typed in, as in a notebook"],
)
def test_it_works_from_a_script_and_from_what_is_typed_in(tmp_path, way):
    """Where no other process can find the function, or each runs the script again: flown here."""
    script, guard = tmp_path / "script.py", "if __name__ == '__main__':\n    main()\n"
    program, typed = [sys.executable, str(script)], None
    script.write_text(SCRIPT + (guard if way == "a guarded script" else "main()\n"))
    if way.startswith("typed"):
        program, typed = [sys.executable, "-"], SCRIPT + "main()\n"
    done = subprocess.run(
        program, input=typed, capture_output=True, text=True, timeout=120, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(PROJECT)},
    )  # fmt: skip
    assert done.stdout.split() == ["True"], done.stderr
