"""Believed flights: a sector, or a drawn one, as someone expects it who holds a belief."""

from functools import lru_cache

from fuelkit.assess.beliefs.models import belief_of, believed, load_beliefs
from fuelkit.assess.flights import aircraft_of, flight_of
from fuelkit.flight.amend import cut_short
from fuelkit.flight.failures import FailureError
from fuelkit.flight.fly import fly
from fuelkit.flight.state import FlightError

_EXACTNESS = 1e4  # times the error of an exact flight's step: 10 g, far within any tolerance


@lru_cache(maxsize=512)
def believed_aircraft(belief_name, aircraft_name):
    """Return an aircraft as a belief has it, or None where the belief says nothing about it."""
    return believed(belief_of(belief_name), aircraft_of(aircraft_name))


@lru_cache(maxsize=16)
def beliefs_about(aircraft_name):
    """Return the beliefs that say something about an aircraft, in the order of their file."""
    return tuple(b for b in load_beliefs() if believed_aircraft(b.name, aircraft_name) is not None)


@lru_cache(maxsize=256)
def believed_flight(belief_name, aircraft_name, sector_name, draw=0, more="", until=None):
    """Return a flight as a belief has it, computed once and remembered, or None.

    Parameters
    ----------
    belief_name : str
    aircraft_name, sector_name, draw, more, until
        As `assess.flights.flight_of` takes them.

    Returns
    -------
    History or None
        None where the belief says nothing about the aircraft, or leads to no flight that could be
        flown: rules without end, or a failure of a part that is not there. Nothing is then asked
        of it.
    """
    aircraft = believed_aircraft(belief_name, aircraft_name)
    if aircraft is None:
        return None
    sector = flight_of(aircraft_name, sector_name, draw, more).sector
    if until is not None:
        sector = cut_short(sector, until)
    try:
        return fly(aircraft, sector, _EXACTNESS)
    except (FlightError, FailureError):
        return None


def answers_by_belief(beliefs, ask, aircraft_name, sector_name, draw=0, more=""):
    """Return what `ask` finds in the right flight and in that of each belief, in this order.

    Parameters
    ----------
    beliefs : sequence of Belief
    ask : callable
        Given a History, returns an answer.

    Returns
    -------
    list
        The right answer first; None for a belief that has no flight here.
    """
    flights = (believed_flight(b.name, aircraft_name, sector_name, draw, more) for b in beliefs)
    right = ask(flight_of(aircraft_name, sector_name, draw, more))
    return [right, *(None if flight is None else ask(flight) for flight in flights)]
