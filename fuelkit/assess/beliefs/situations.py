"""Situations that bring beliefs out, for any aircraft: what crews set and what fails in the cruise.

A sector as it is flown says nothing of a crossfeed that nobody opens. Each situation is a text of
failures and actions, as `flight.amend` takes it.
"""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.assess.beliefs.roles import roles_of
from fuelkit.assess.flights import flight_of
from fuelkit.assess.stages import stages
from fuelkit.flight.amend import canonical
from fuelkit.physics.units import MINUTE
from fuelkit.physics.writing import clock
from fuelkit.survey.crew_switches import switches_for

_INTO_CRUISE, _SHARE = 900.0, 0.2  # s after its beginning, or a share of it if that is less
_EVEN = 0.01  # sides that differ by less hold the same
_FOR, _OF_REST = 1800.0, 0.5  # s for which something stays set, or a share of what is left


@dataclass(frozen=True)
class Situation:
    """Something more in a flight. Frozen.

    words : str
        What it is, short: "crossfeed open".
    more : str
        For `flight_of` and `believed_flight`; empty for the flight as it is.
    begin, end : float
        When it begins, and until when it is worth asking about. [s]
    """

    words: str
    more: str
    begin: float
    end: float


def situations(aircraft_name, sector_name, draw=0):
    """Return the situations of a flight, the flight as it is first.

    Parameters
    ----------
    aircraft_name, sector_name, draw
        As `assess.flights.flight_of` takes them.

    Returns
    -------
    tuple of Situation
        Without a cruise, the flight as it is alone.
    """
    flight = flight_of(aircraft_name, sector_name, draw)
    whole = Situation("as it is", "", 0.0, flight.sector.end)
    span = stages(flight).get("cruise")
    if span is None:
        return (whole,)
    begin = span[0] + min(_INTO_CRUISE, _SHARE * (span[1] - span[0]))
    begin = float(int(begin / MINUTE) * MINUTE)
    end = begin + min(_FOR, _OF_REST * (span[1] - begin))
    end = float(int(end / MINUTE) * MINUTE)
    return (whole, *_set(flight, begin, end), *_failed(flight, begin, end))


# ---------------------------------------------------------------------------------- set by the crew
def _set(flight, begin, end):
    aircraft, roles = flight.aircraft, roles_of(flight.aircraft)
    crossfeed = {}
    for valve in roles.crossfeeds[:1]:
        crossfeed = switches_for(aircraft, valve.name, "OPEN")
    cases = [("crossfeed open", crossfeed)]
    for side, word in ((-1.0, "left"), (1.0, "right")):
        off = _off(roles, side, flight, begin)
        cases += [(f"{word} pumps off", off)]
        if off and crossfeed and not _is_fuller(side, roles, flight, begin):
            cases += [(f"crossfeed open, {word} pumps off", crossfeed | off)]
    apu = {}
    for consumer in (c for c in aircraft.consumers if c.kind == "APU"):
        apu = switches_for(aircraft, consumer.name, "RUN")
    cases += [("APU on", apu)]
    if apu and crossfeed:
        side, word = (1.0, "right") if _is_fuller(-1.0, roles, flight, begin) else (-1.0, "left")
        off = _off(roles, side, flight, begin)
        cases += [(f"APU on, crossfeed open, {word} pumps off", apu | crossfeed | off)]
    for words, positions in cases:
        moved = {n: p for n, p in positions.items() if flight.position(n, begin) != p}
        if moved:
            back = {n: flight.position(n, begin) for n in moved}
            actions = [{"at": clock(begin), "set": moved}, {"at": clock(end), "set": back}]
            yield Situation(words, canonical((), actions), begin, end)


def _is_fuller(side, roles, flight, time):
    """Whether a side holds more than the other, so that a crew would not let the other feed both.

    Common practice, no source: crossfeed is fed from the side that holds more.
    """
    own, other = (
        sum(flight.quantity(t.name, time) for t in flight.aircraft.tanks
            if t.holds_fuel and roles.side(t) == s)
        for s in (side, -side)
    )  # fmt: skip
    return own > (1.0 + _EVEN) * other


def _off(roles, side, flight, time):
    """The switches of the feeding boost pumps of a side, at rest."""
    feeding, found = roles.feeding_pumps(), {}
    for pump in roles.groups["boost pump"]:
        if pump.name in feeding and roles.side(pump) == side:
            found |= roles.resting_switches(pump.name)
    return {n: p for n, p in found.items() if flight.position(n, time) != p}


# ------------------------------------------------------------------------------------------ failed
def _failed(flight, begin, end):
    """What may fail, of parts that do not fail in the flight as it is: a failure stays."""
    aircraft, roles = flight.aircraft, roles_of(flight.aircraft)
    own = {failure.part for failure in flight.sector.failures}
    feeding = [name for name in roles.feeding_pumps() if name not in own]
    for part in (*aircraft.pumps, *aircraft.buses):
        if part.name in feeding or (isinstance(part, model.Bus) and part.name not in own):
            yield _failure(f"{part.name} failed", [part.name], begin, end)
    for side, word in ((-1.0, "left"), (1.0, "right")):
        pumps = [p for p in roles.groups["boost pump"] if roles.side(p) == side]
        names = [p.name for p in pumps if p.name in feeding]
        if len(names) > 1:
            yield _failure(f"all {word} pumps failed", names, begin, end)


def _failure(words, names, begin, end):
    failures = [{"at": clock(begin), "part": name, "kind": "failed"} for name in names]
    return Situation(words, canonical(failures), begin, end)
