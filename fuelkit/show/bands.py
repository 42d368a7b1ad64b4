"""The pieces of a ribbon: how long each state lasted, read from the changes of a flight."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import pairwise

from fuelkit.aircraft.model import Consumer
from fuelkit.flight.history import AskedError
from fuelkit.physics.writing import clock
from fuelkit.show.views import light

MOVING = "MOVING"


@dataclass(frozen=True)
class Piece:
    """A stretch of time in one state. Frozen. [s]"""

    start: float
    end: float
    state: str


def stretch(history, start=None, end=None):
    """Return a stretch of a flight; all of it unless told otherwise. [s]

    Raises
    ------
    AskedError
        If it does not lie in the flight, or ends before it begins.
    """
    last = history.sector.end
    start, end = 0.0 if start is None else start, last if end is None else end
    if not 0.0 <= start < end <= last:
        raise AskedError(
            f"flight: the stretch asked for is {start:g} to {end:g} s; it must begin at 0 or "
            f"later and end after that, by {last:g} s ({clock(last)})."
        )
    return float(start), float(end)


def state_pieces(history, name):
    """Return the stretches of a component's states over a flight, one after the other.

    A valve that is MOVING passes fuel as it did before, so that time counts to the state before.

    Parameters
    ----------
    history : History
    name : str
        A component, switch, sensor or alert.

    Returns
    -------
    tuple of Piece
        Without gaps from 0 to the end of the flight. [s]

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> [piece.state for piece in state_pieces(flight, "engine 1")]
    ['OFF', 'RUN', 'OFF']
    """
    changes, end = history.changes_of(name), history.sector.end
    state = changes[0].before if changes else history.position(name, 0.0)
    found, start = [], 0.0
    for change in changes:
        if change.after in (MOVING, state):
            continue
        found.append(Piece(start, change.time, state))
        start, state = change.time, change.after
    return tuple(p for p in (*found, Piece(start, end, state)) if p.end > p.start)


def feeding_pieces(history, consumer):
    """Return the stretches over which the same tanks feed an engine or the APU.

    The state of a piece names the tanks, joined by " + "; where it does not run there is none.
    """
    edges = sorted({s.state.time for s in history.segments} | {history.sector.end})
    found = []
    for piece in state_pieces(history, consumer):
        if piece.state != "RUN":
            continue
        inner = edges[bisect_right(edges, piece.start) : bisect_left(edges, piece.end)]
        for start, end in zip((piece.start, *inner), (*inner, piece.end), strict=True):
            tanks = " + ".join(history.feeding(consumer, 0.5 * (start + end)))
            if found and found[-1].state == tanks and found[-1].end == start:
                found[-1] = Piece(found[-1].start, end, tanks)
            else:
                found.append(Piece(start, end, tanks))
    return tuple(found)


def band_pieces(history, name, *, truth=True):
    """Return the pieces of a band of the ribbon: what is not the resting state of a component.

    Without `truth`, as lights and the gauges of an engine show it.
    """
    part = history.aircraft.by_name.get(name)
    resting = history.aircraft.resting_states.get(name)
    told = state_pieces if truth or not history.sector.failures else shown_pieces
    pieces = [piece for piece in told(history, name) if piece.state != resting]
    if isinstance(part, Consumer):
        stopped = [piece for piece in pieces if piece.state != "RUN"]
        pieces = sorted([*feeding_pieces(history, name), *stopped], key=lambda p: p.start)
    return tuple(pieces)


def shown_pieces(history, name):
    """Return the stretches of what lights, or the gauges of an engine, show of a component."""
    aircraft = history.aircraft
    watched = {rule.name for rule in aircraft.rules_for.get(name, ())}
    watched.add(getattr(aircraft.by_name.get(name), "bus", None))
    edges = sorted({change.time for change in history.changes if change.name in watched})
    found = []
    for piece in state_pieces(history, name):
        inner = [time for time in edges if piece.start < time < piece.end]
        for start, end in pairwise((piece.start, *inner, piece.end)):
            positions = history.state_at(0.5 * (start + end)).positions | {name: piece.state}
            found.append(Piece(start, end, light(aircraft, positions, name)))
    return _joined(found)


def _joined(pieces):
    """Pieces of one state that follow one another, as one."""
    found = []
    for piece in pieces:
        if found and (found[-1].state, found[-1].end) == (piece.state, piece.start):
            piece = Piece(found.pop().start, piece.end, piece.state)
        found.append(piece)
    return tuple(found)


def tank_groups(aircraft):
    """Return the groups of tanks that are filled together: a label and their names."""
    return tuple((_group_label(step), step) for step in aircraft.loading_order)


_COUNTED = ("tank", "wing", "cell", "collector")


def _group_label(names):
    if len(names) == 1:
        return names[0]
    common = [word for word in names[0].split() if all(word in n.split() for n in names)]
    if not common:
        return " and ".join(dict.fromkeys(name.split()[-1] for name in names))
    count = {2: "both"}.get(len(names), str(len(names)))
    words = " ".join(common)
    return f"{count} {words}{'s' if words in _COUNTED else ''}"


@dataclass(frozen=True)
class Mark:
    """A moment to point out on the ribbon: its time [s] and what the crew is told then."""

    time: float
    words: str


def alert_marks(history, *, together=60.0, start=None, end=None):
    """Return the first time that each alert comes on, those within a minute as one mark.

    Parameters
    ----------
    history : History
    together : float
        Alerts that follow one another within this time share a mark. [s]
    start, end : float, optional
        The stretch that is looked at; without them the whole flight. [s]
    """
    first, (start, end) = {}, stretch(history, start, end)
    for alert in history.aircraft.alerts:
        came = [c.time for c in history.changes_of(alert.name) if c.after == "SHOWN"]
        shown = [time for time in came if start <= time <= end]
        if shown:
            first[alert.name] = shown[0]
    marks = []
    for name, time in sorted(first.items(), key=lambda item: item[1]):
        if marks and time - marks[-1].time <= together:
            marks[-1] = Mark(marks[-1].time, f"{marks[-1].words}; {name}")
        else:
            marks.append(Mark(time, name))
    return tuple(marks)
