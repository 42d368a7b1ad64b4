"""Moments of a flight in words: "0:21:00", or "60 s after high-lift surfaces are in"."""

import re

from fuelkit.aircraft.conditions import StateFact, read_fact
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.writing import read_clock

_RELATIVE = re.compile(
    r"(?:(?P<wait>\d+) s (?P<side>after|before) )?(?P<fact>.+?)(?: \((?P<time>\d)\))?"
)


class MomentError(FuelkitError, ValueError):
    """A moment in words names nothing that happens in the flight."""


def occurrences(history, fact):
    """Return the times at which a component comes into the state that a fact names. [s]"""
    return tuple(
        change.time
        for change in history.changes
        if change.name == fact.name and (change.after == fact.state) != fact.negated
    )


def moment(history, words):
    """Return the time that words name in a flight. [s]

    Parameters
    ----------
    history : History
    words : str
        A time h:mm:ss, or "[N s after|before] NAME is STATE [(k)]": the k-th time that this
        comes about, the first one if no k is given.

    Returns
    -------
    float
        Inside the flight. [s]

    Raises
    ------
    MomentError
        If the words cannot be read, or it does not come about in this flight.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> moment(flight, "30 s after high-lift surfaces are out")
    1730.0
    """
    time = read_clock(words)
    if time is None:
        time = _relative(history, words)
    if not 0.0 <= time <= history.sector.end:
        raise MomentError(f"moment: '{words}' lies outside the flight. Choose another one.")
    return time


def _relative(history, words):
    found = _RELATIVE.fullmatch(words)
    fact = read_fact(found["fact"]) if found else None
    if not isinstance(fact, StateFact):
        raise MomentError(
            f"moment: '{words}' cannot be read; write h:mm:ss or 'N s after NAME is STATE'."
        )
    times, number = occurrences(history, fact), int(found["time"] or 1)
    if not 1 <= number <= len(times):
        raise MomentError(
            f"moment: '{fact}' comes about {len(times)} times in this flight; '{words}' asks for "
            f"number {number}."
        )
    wait = float(found["wait"] or 0)
    return times[number - 1] + (wait if found["side"] != "before" else -wait)
