"""Many flights at once: a list of variants flown over the cores of the machine.

The processes hand each other frozen records of the kit; nothing of this comes from a file.
"""

import multiprocessing
import os
import signal
import sys
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial

from fuelkit.flight.fly import fly
from fuelkit.physics.errors import FuelkitError

_WORTH_A_WORKER = 8  # flights; a new process takes about as long to get ready
_CHUNKS_EACH, _LONGEST_CHUNK = 4, 16  # pieces for each worker; flights in one
_MOST_WORKERS = 61  # what Windows can wait for


def fly_many(aircraft, sectors, *, keep=None, cores=None, progress=None):
    """Return what is kept of many flights, in the order in which they were asked for.

    Parameters
    ----------
    aircraft : Aircraft or None
        Flown over every sector that does not bring its own.
    sectors : iterable of Sector or of (Aircraft, Sector)
    keep : callable, optional
        Makes of each History what is needed of it, in the process that flew it; without it the
        whole History is returned. Give one wherever you can: a whole flight is some hundred
        kilobytes, and to hand them over can take as long as to compute them. It must be a
        function at the top of a module (or a `functools.partial` of one), because another
        process finds it by its name; with any other function, all is flown in this process.
    cores : int, optional
        The most processes to use; without it, as many as the machine has cores.
    progress : callable, optional
        Called in this process as ``progress(done, total)``, first with none done, last with all.

    Returns
    -------
    list
        For each flight what `keep` returned, or in its place the error of the kit (a
        `FuelkitError`) that says why it could not be flown. The same bits for any number of
        cores.

    Raises
    ------
    ValueError
        If `cores` is less than 1.
    TypeError
        If a sector stands without an aircraft.

    Notes
    -----
    Workers are started afresh ("spawn"), alike on every system and safe from a notebook. Each is
    given the aircraft once. Few flights, or flights where no worker can be started, are flown in
    this process; so is what a worker leaves behind that is killed. A script that calls this
    needs the usual ``if __name__ == "__main__":`` around what it does. An interruption from the
    keyboard stops every worker after the flight that it is computing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> sector = load_sector("eastmere-port-ellery", halbrook)
    >>> [flight.sector.name for flight in fly_many(halbrook, [sector])] == [sector.name]
    True
    """
    if cores is not None and cores < 1:
        raise ValueError(f"flights: cores is {cores}; at least one process must fly. Give 1.")
    work = _Work.of(aircraft, sectors, keep)
    report = progress or _silent
    report(0, len(work.flights))
    workers = min(cores or _cores(), len(work.flights) // _WORTH_A_WORKER, _MOST_WORKERS)
    if workers > 1 and _can_travel(keep) and not multiprocessing.current_process().daemon:
        _fly_with(workers, work, report)
    work.fly_the_rest(report)
    return work.results


def _silent(done, total):
    """Tell nobody."""


class _Work:
    """What is to be flown, and the results as they come in."""

    def __init__(self, aircraft, flights, keep):
        self.aircraft, self.flights, self.keep = aircraft, flights, keep
        self.results = [None] * len(flights)
        self.left = dict.fromkeys(range(len(flights)))  # places still to be flown, in order

    @classmethod
    def of(cls, aircraft, sectors, keep):
        """List every aircraft once, and each flight by the place of its aircraft."""
        places, all_aircraft, flights = {}, [], []
        for asked in sectors:
            flown, sector = asked if isinstance(asked, tuple) else (aircraft, asked)
            if flown is None:
                raise TypeError(
                    f"flights: sector '{sector.name}' has no aircraft. Give one for all sectors, "
                    "or a pair (aircraft, sector)."
                )
            if id(flown) not in places:
                places[id(flown)] = len(all_aircraft)
                all_aircraft.append(flown)
            flights.append((places[id(flown)], sector))
        return cls(tuple(all_aircraft), flights, keep)

    def chunks(self, workers):
        """Return the flights in pieces: lists of (place, place of the aircraft, sector)."""
        size = max(1, min(_LONGEST_CHUNK, len(self.flights) // (workers * _CHUNKS_EACH)))
        numbered = [(i, *flight) for i, flight in enumerate(self.flights)]
        return [numbered[i : i + size] for i in range(0, len(numbered), size)]

    def take(self, place, result, report):
        """Put a result in its place."""
        self.results[place] = result
        del self.left[place]
        report(len(self.flights) - len(self.left), len(self.flights))

    def fly_the_rest(self, report):
        """Fly in this process whatever has no result yet."""
        for place in list(self.left):
            number, sector = self.flights[place]
            self.take(place, _flown(self.aircraft[number], sector, self.keep), report)


def _flown(aircraft, sector, keep):
    """What is kept of a flight, or the error that says why there is none."""
    try:
        flight = fly(aircraft, sector)
        return flight if keep is None else keep(flight)
    except FuelkitError as refusal:
        refusal.__cause__ = refusal.__context__ = None  # it is kept; what led to it need not be
        return refusal.with_traceback(None)


# ------------------------------------------------------------------------------ this process
def _fly_with(workers, work, report):
    """Fly with workers as far as they get; what they do not get done is left in the work."""
    context = multiprocessing.get_context("spawn")
    try:
        stop = context.Event()
        pool = ProcessPoolExecutor(workers, context, _begin, (work.aircraft, work.keep, stop))
    except (OSError, ImportError, NotImplementedError):  # no semaphores, no processes here
        return
    try:
        for future in as_completed(_handed_out(pool, work.chunks(workers))):
            if future.exception() is None:  # or else this process meets the same, or does better
                for place, result in future.result():
                    work.take(place, _unpacked(result), report)
    finally:
        stop.set()
        pool.shutdown(wait=True, cancel_futures=True)


def _handed_out(pool, chunks):
    """The futures of all chunks that a pool accepts."""
    futures = []
    try:
        for chunk in chunks:
            futures.append(pool.submit(_fly_chunk, chunk))
    except (OSError, BrokenProcessPool):  # a worker cannot be started, or one was killed
        pass
    return futures


def _cores():
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _can_travel(keep):
    """Whether another process can find a function by the name of its module and its own."""
    if keep is None:
        return True
    function = keep.func if isinstance(keep, partial) else keep
    module = sys.modules.get(getattr(function, "__module__", None))
    if module is None or (module.__name__ == "__main__" and not hasattr(module, "__file__")):
        return False  # the functions of a notebook are in this process only
    return getattr(module, getattr(function, "__qualname__", ""), None) is function


# ----------------------------------------------------------------------------------- a worker
@dataclass(frozen=True)
class _Refusal:
    """An error of the kit on its way between processes, whatever its class is made with."""

    kind: type
    arguments: tuple
    details: dict


class _Here:
    """What a worker was given when it began."""

    aircraft, keep, stop = (), None, None


def _begin(aircraft, keep, stop):
    """Make a worker ready. An interruption is the business of the process that started it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _Here.aircraft, _Here.keep, _Here.stop = aircraft, keep, stop


def _fly_chunk(chunk):
    """Return the places and results of a piece of the work, unless it is to stop."""
    found = []
    for place, number, sector in chunk:
        if _Here.stop.is_set():
            break
        result = _flown(_Here.aircraft[number], sector, _Here.keep)
        found.append((place, _packed(result)))
    return found


def _packed(result):
    if isinstance(result, FuelkitError):
        return _Refusal(type(result), result.args, vars(result))
    return result


def _unpacked(result):
    if not isinstance(result, _Refusal):
        return result
    error = result.kind.__new__(result.kind, *result.arguments)
    error.args = result.arguments
    vars(error).update(result.details)
    return error
