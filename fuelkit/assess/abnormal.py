"""Boards on a failure, for any aircraft: what is shown, what has failed, and what happens next."""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.assess.course import Ask, Board
from fuelkit.assess.faults import failure_sentence
from fuelkit.assess.flights import flight_of
from fuelkit.assess.stages import stages
from fuelkit.flight.amend import canonical
from fuelkit.flight.failures import Failure
from fuelkit.flight.indications import indications
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import HOUR, MINUTE
from fuelkit.physics.writing import clock

_INTO_CRUISE = 900.0  # s after its beginning at which something fails
_LEAK_HOURS = 2.0  # in which the leak would empty the tank it is in
_SHOWN_AFTER = {"leaking": 1200.0, "misreading": 300.0}
_NEXT = 600.0  # s after the situation shown for which the states are asked
_LIKE = 40.0  # kg: quantities that differ by less are not told apart


@dataclass(frozen=True)
class Suspect:
    """A failure as a table of a data file, and as a record. Frozen."""

    table: tuple
    failure: Failure

    @property
    def more(self):
        """The text that adds it to a sector."""
        return canonical([dict(self.table)])


def suspects(flight, time):
    """Return the failures that are worth recognising in a flight, at a time [s].

    A part that fails in the flight as it is cannot fail in the same way once more.
    """
    own = {failure.name for failure in flight.sector.failures}
    known = (_suspect(time, **fields) for fields in _fields(flight.aircraft))
    return tuple(suspect for suspect in known if suspect.failure.name not in own)


def _suspect(time, **fields):
    failure = Failure(
        time, fields["part"], fields["kind"], state=fields.get("state"),
        leak=fields.get("leak_kg_h", 0.0) / HOUR, offset=fields.get("offset_kg", 0.0),
        factor=fields.get("factor", 1.0),
    )  # fmt: skip
    return Suspect((("at", clock(time)), *fields.items()), failure)


def _fields(aircraft):
    for pump in aircraft.pumps:
        yield {"part": pump.name, "kind": "failed"}
    for bus in aircraft.buses:
        yield {"part": bus.name, "kind": "failed"}
    for tank in aircraft.tanks:
        if tank.holds_fuel:
            size = round(tank.refuelled_volume * 800.0 / _LEAK_HOURS, -1)
            yield {"part": tank.name, "kind": "leaking", "leak_kg_h": max(size, 20.0)}
            yield {"part": tank.name, "kind": "misreading", "factor": 0.8}
    for valve in aircraft.valves:
        if valve.group == "feed":
            for state in ("OPEN", "SHUT"):
                yield {"part": valve.name, "kind": "stuck", "state": state}


def abnormal_boards(aircraft_name, sector_name, draw=0, *, most=6, last=False):
    """Return boards on failures in the cruise, each told apart from its wrong options by flight.

    Parameters
    ----------
    aircraft_name, sector_name : str
    draw : int
        Variation of the sector; it also draws which failures are asked.
    most : int
    last : bool
        Take the failures from the end of the drawn order, so that an exercise asks others.

    Returns
    -------
    tuple of Board
    """
    history = flight_of(aircraft_name, sector_name, draw)
    span = stages(history).get("cruise")
    if span is None:
        return ()
    time = float(int((span[0] + min(_INTO_CRUISE, 0.2 * (span[1] - span[0]))) / MINUTE) * MINUTE)
    lot = Lot(history.aircraft.identifier, sector_name, draw, "failures")
    known = suspects(history, time)
    order = _spread(known, lot)
    found = []
    for suspect in reversed(order) if last else order:
        if len(found) == most:
            break
        board = _board(aircraft_name, sector_name, draw, suspect, known, lot, len(found) + 1)
        if board is not None:
            found.append(board)
    return tuple(found)


def _spread(known, lot):
    """In drawn order, one of each kind before a second of any."""
    groups = {}
    for suspect in lot.some_of(known, len(known), "order"):
        groups.setdefault((suspect.failure.kind, suspect.failure.state), []).append(suspect)
    rounds = max((len(group) for group in groups.values()), default=0)
    return [g[i] for i in range(rounds) for g in groups.values() if i < len(g)]


def _board(aircraft_name, sector_name, draw, suspect, known, lot, number):
    failure = suspect.failure
    shown = failure.time + _SHOWN_AFTER.get(failure.kind, 60.0)
    asked = shown + _NEXT
    plain = flight_of(aircraft_name, sector_name, draw)
    if asked >= plain.sector.end:
        return None
    flight = flight_of(aircraft_name, sector_name, draw, suspect.more, asked + 1.0)
    if not told_apart(flight, plain, shown):
        return None
    wrong = []
    for other in lot.some_of(known, len(known), f"options {number}"):
        if len(wrong) == 2:
            break
        if other is not suspect and _is_alike(other.failure, failure, flight.aircraft):
            their = flight_of(aircraft_name, sector_name, draw, other.more, shown + 1.0)
            if told_apart(flight, their, shown):
                wrong.append(failure_sentence(other.failure))
    if len(wrong) < 2:
        return None
    return _made(flight, suspect, (failure_sentence(failure), *wrong), shown, asked, number)


def _is_alike(other, failure, aircraft):
    """Whether a failure is one that a crew could take for the other."""
    groups = ({"failed"}, {"leaking", "misreading"}, {"stuck", "leaking", "misreading"})
    same = any({other.kind, failure.kind} <= group for group in groups)
    return same and other.name != failure.name


def told_apart(first, second, time):
    """Return whether two flights show the crew something different by a time [s]."""
    a, b = indications(first, time), indications(second, time)
    if set(a.alerts) != set(b.alerts):
        return True
    for tank in first.aircraft.tanks:
        if tank.holds_fuel:
            shown = (flight.shown_mass(tank.name, time) for flight in (first, second))
            if abs(next(shown) - next(shown)) > _LIKE:
                return True
    return any(first.position(n, time) != second.position(n, time) for n in _seen(first.aircraft))


def _seen(aircraft):
    return [p.name for p in (*aircraft.pumps, *aircraft.valves)]


def _made(flight, suspect, options, shown, asked, number):
    name = f"abnormal-{number}"
    asks = [
        Ask(f"{name}-1", "fault", text="What has failed?", options=options, marks=2.0),
        *(
            Ask(f"{name}-{i}", "feeding", consumer.name)
            for i, consumer in enumerate(_engines(flight.aircraft), start=2)
        ),
    ]
    tank = _tank_of(flight.aircraft, suspect.failure)
    if tank:
        moved = abs(flight.quantity(tank, asked) - flight.quantity(tank, shown))
        asks.append(
            Ask(f"{name}-9", "figure", tank, text=f"True quantity in {tank}",
                tolerance=max(20.0, round(0.15 * moved, -1)), marks=2.0)
        )  # fmt: skip
    phase = flight.phase(shown)
    return Board(
        name=name,
        title=f"{phase[:1].upper()}{phase[1:]}: something is not as it should be",
        lead="The drawing shows what the crew is shown. Nobody has touched a switch.",
        shown=clock(shown),
        asked=clock(asked),
        state_marks=2.0,
        asks=tuple(asks),
        more=suspect.more,
    )


def _engines(aircraft):
    return [c for c in aircraft.consumers if c.kind == "engine"][:2]


def _tank_of(aircraft, failure):
    part = aircraft.by_name[failure.part]
    if isinstance(part, model.Tank):
        return part.name
    return part.start if isinstance(part, model.Pump) else ""
