"""Boards asked of real flights, answered by every belief: states, feeding tanks, figures, times."""

from fuelkit.assess.beliefs.flown import believed_flight
from fuelkit.assess.beliefs.table import Part, table_of
from fuelkit.assess.flights import flight_of
from fuelkit.assess.stages import told_parts

MOST_PARTS = 8
AFTER, EVEN = 8, 6
_LIKE, _SOON = 60.0, 60.0  # kg, s


def flights_of(beliefs, aircraft, sector, draw=0, more=""):
    """The right flight, then that of each belief; None where it says nothing."""
    believed = [believed_flight(b.name, aircraft, sector, draw, more) for b in beliefs]
    return [flight_of(aircraft, sector, draw, more), *believed]


def boards(flights, times):
    """Of each moment: one board of states and feeding, one of each disputed tank's quantity."""
    found = []
    for time in times:
        found.append(_states(flights, time))
        found += [[part] for part in _figures(flights, time)]
    found += [[part] for part in _times(flights)]
    return [board for board in found if any(len(set(p.answers) - {None}) > 1 for p in board)]


def _asked(flights, ask):
    return tuple(None if flight is None else ask(flight) for flight in flights)


def _states(flights, time):
    aircraft = flights[0].aircraft
    parts = []
    for name in told_parts(aircraft):
        answers = _asked(flights, lambda f, n=name: f.position(n, time))
        parts.append(Part(answers, len(aircraft.states_of(name))))
    tanks = sum(tank.holds_fuel for tank in aircraft.tanks)
    for consumer in aircraft.consumers:
        answers = _asked(flights, lambda f, n=consumer.name: _fed_from(f, n, time))
        parts.append(Part(answers, 1 + tanks))
    disputed = sorted(parts, key=lambda p: -sum(a not in (None, p.answers[0]) for a in p.answers))
    return disputed[:MOST_PARTS]


def _fed_from(flight, consumer, time):
    shares = flight.feeding(consumer, time)
    return max(shares, key=shares.get) if shares else "nothing"


def _figures(flights, time):
    for tank in flights[0].aircraft.tanks:
        if tank.holds_fuel:
            answers = _asked(flights, lambda f, n=tank.name: f.quantity(n, time))
            yield Part(answers, agree=lambda a, b: abs(a - b) <= _LIKE)


def _times(flights):
    """When each part that changes by itself first leaves the state it has after the start."""
    for name in told_parts(flights[0].aircraft):
        right = flights[0].changes_of(name)
        if len(right) > 1:
            yield Part(
                _asked(flights, lambda f, n=name: _last(f, n)),
                agree=lambda a, b: abs(a - b) <= _SOON,
            )


def _last(flight, name):
    changes = flight.changes_of(name)
    return changes[-1].time if changes else 0.0


def moments(flights, most):
    """Moments soon after something changes in one of the flights, spread over the whole of it."""
    end, told = flights[0].sector.end, set(told_parts(flights[0].aircraft))
    changes = (c for f in flights if f is not None for c in f.changes if c.name in told)
    times = sorted({round(c.time) + AFTER for c in changes if c.time + AFTER < end})
    step = max(1, -(-len(times) // most))
    return [*times[::step], *(round(end * (k + 0.5) / EVEN) for k in range(EVEN))]


def table(beliefs, cases, count):
    """The table of all boards of some cases (aircraft, sector, draw, more)."""
    found = []
    for case in cases:
        flights = flights_of(beliefs, *case)
        found += boards(flights, moments(flights, count))
    return table_of([b.name for b in beliefs], found)
