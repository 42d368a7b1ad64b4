"""The computed answer to each ask of a board, with its options, its reason and its units."""

from dataclasses import replace

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import StateFact, is_or_are, read_fact
from fuelkit.assess.answer import Answer
from fuelkit.assess.faults import failure_sentence
from fuelkit.assess.moments import MomentError, moment, occurrences
from fuelkit.assess.stand import SCENES_ON_THE_STAND, stand_answer
from fuelkit.assess.written import WORDS
from fuelkit.flight.amend import cut_short
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import latest_change, why, why_fed
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import HOUR
from fuelkit.physics.writing import clock, mass_text

NO_TANK = "no tank"
SEVERAL = "more than one tank"
_ROUNDED = 0.5
"""Moments are written to the second: how far a change may lie from what is written. [s]"""


def answers(history, board):
    """Return the computed answers to every ask of a board, in its order.

    Parameters
    ----------
    history : History
    board : Board

    Returns
    -------
    tuple of Answer

    Raises
    ------
    MomentError
        If a moment of the board does not come about in this flight.
    AskedError
        If the board asks about a name that the aircraft does not have.
    """
    if board.scene in SCENES_ON_THE_STAND:
        return tuple(stand_answer(history.aircraft, board, ask) for ask in board.asks)
    shown = moment(history, board.shown)
    return tuple(
        _MAKERS[ask.kind](history, ask, shown, moment(history, ask.moment or board.asked))
        for ask in board.asks
    )


def values(history, board):
    """Return the right values of a board in a flight, and those that it shows, without reasons.

    Parameters
    ----------
    history : History
    board : Board
        That asks for states, feeding, figures and times only.

    Returns
    -------
    tuple of (value, shown value)
        As `Answer` has them.

    Raises
    ------
    MomentError
        If a moment of the board does not come about in this flight.
    """
    shown = moment(history, board.shown)
    return tuple(
        _VALUES[ask.kind](history, ask, shown, moment(history, ask.moment or board.asked))
        for ask in board.asks
    )


def _state(history, ask, shown, asked):
    value, before = _state_value(history, ask, shown, asked)
    options = tuple(s for s in history.aircraft.states_of(ask.about) if s != "MOVING")
    text = ask.text or _named(history.aircraft, ask.about)
    return Answer(ask, text, options, value, before, "", why(history, ask.about, asked))


def _state_value(history, ask, shown, asked):
    return _settled(history, ask.about, asked), _settled(history, ask.about, shown)


def _named(aircraft, name):
    """A part as a question names it; an alert's sentence stands in quotation marks."""
    is_alert = isinstance(aircraft.by_name.get(name), model.Alert)
    return f"The alert “{name}”" if is_alert else _subject(name)


def _settled(history, name, time):
    """State of a component; a moving valve counts as where it is going."""
    travel = history.state_at(time).travels.get(name)
    return travel.target if travel else history.position(name, time)


def _feeding(history, ask, shown, asked):
    tanks = [tank.name for tank in history.aircraft.tanks if _can_feed(history.aircraft, tank)]
    text = ask.text or f"{_subject(ask.about)} {is_or_are(ask.about)} fed from"
    return Answer(
        ask,
        text,
        (*tanks, SEVERAL, NO_TANK),
        *_feeding_value(history, ask, shown, asked),
        "",
        why_fed(history, ask.about, asked),
    )


def _feeding_value(history, ask, shown, asked):
    return _fed_from(history, ask.about, asked), _fed_from(history, ask.about, shown)


def _fed_from(history, consumer, time):
    tanks = [name for name, share in history.feeding(consumer, time).items() if share > 0.01]
    return NO_TANK if not tanks else tanks[0] if len(tanks) == 1 else SEVERAL


def _can_feed(aircraft, tank):
    """Whether a line or pump leads from a tank to a junction: the options a learner weighs."""
    junctions = {junction.name for junction in aircraft.junctions}
    return any(
        p.start == tank.name and p.end in junctions for p in (*aircraft.pumps, *aircraft.lines)
    )


def _figure(history, ask, shown, asked):
    about = ask.about
    value, before = _figure_value(history, ask, shown, asked)
    name = "all tanks together" if about == "total" else about
    text = ask.text or f"Fuel in {name}" + (f" at {clock(asked)}" if ask.moment else "")
    return Answer(ask, text, (), value, before, "kg", _balance(history, about, shown, asked))


def _figure_value(history, ask, shown, asked):
    return _mass(history, ask.about, asked), _mass(history, ask.about, shown)


def _mass(history, about, time):
    if about == "total":
        return history.total(time)
    part = history.aircraft.by_name.get(about)
    if isinstance(part, model.Counter):
        return history.fuel_used(part.consumer, time)
    return history.quantity(about, time)


def _balance(history, about, shown, asked):
    """How a mass came from what it was to what it is, stretch by stretch of steady flow."""
    before, after = _mass(history, about, shown), _mass(history, about, asked)
    start = f"It was {mass_text(before)} at {clock(shown)}"
    if asked <= shown:
        return f"{mass_text(after)} at {clock(asked)}, as it is shown."
    part = history.aircraft.by_name.get(about)
    if isinstance(part, model.Counter):
        return _counted(history, part, start, shown, asked)
    if about == "total":
        word = "less" if after < before else "more"
        return f"{start}; on balance {mass_text(abs(after - before))} {word} until {clock(asked)}."
    stretches = []
    for segment in history.segments:
        begin, end = max(segment.state.time, shown), min(segment.end, asked)
        if end > begin + 0.5:
            rate = (history.quantity(about, end) - history.quantity(about, begin)) / (end - begin)
            stretches.append([begin, end, rate])
    told = "".join(_stretch_text(*s) for s in _joined(stretches))
    if not told and stretches:
        word = "gained" if after > before else "lost"
        told = f"; on balance it {word} {mass_text(abs(after - before))} until {clock(asked)}"
    return f"{start}{told}."


def _counted(history, counter, start, shown, asked):
    """What a counter has counted; it may have begun again in between."""
    zeroed = [
        c.time
        for c in history.changes
        if c.name == counter.consumer and c.after == "RUN" and shown < c.time <= asked
    ]
    counted = mass_text(history.fuel_used(counter.consumer, asked))
    if zeroed and history.fuel_used(counter.consumer, zeroed[-1] + 1.0) < 1.0:
        return f"{start}; it began again at {clock(zeroed[-1])}: {counter.because}."
    if abs(history.fuel_used(counter.consumer, asked) - _mass(history, counter.name, shown)) < 1.0:
        return (
            f"{start}; {counter.consumer} burned nothing until {clock(asked)}, so it still shows."
        )
    return f"{start}; {counter.consumer} burned on, so that it shows {counted} at {clock(asked)}."


def _joined(stretches):
    """Join neighbouring stretches whose rates agree, so that the sentence stays short."""
    joined = []
    for begin, end, rate in stretches:
        if joined and abs(joined[-1][2] - rate) < 0.002:
            joined[-1][1] = end
        else:
            joined.append([begin, end, rate])
    return joined if len(joined) <= 6 else []


def _stretch_text(begin, end, rate):
    if abs(rate) * HOUR < 0.5:
        return f"; steady until {clock(end)}"
    word = "gains" if rate > 0 else "loses"
    change = mass_text(abs(rate) * (end - begin))
    return f"; {word} {mass_text(abs(rate) * 3600)}/h until {clock(end)}, which is {change}"


def _when(history, ask, shown, asked):
    fact, (time, _) = read_fact(ask.about), _when_value(history, ask, shown, asked)
    text = ask.text or f"When {is_or_are(fact.name)} {fact.name} next {fact.state}?"
    change = latest_change(history, fact.name, time)
    reason = f"{_subject(fact.name)}: {change.before} to {change.after} at {clock(change.time)}"
    return Answer(ask, text, (), time, None, "h:mm:ss", f"{reason}, because {change.reason}.")


def _when_value(history, ask, shown, asked):
    fact = read_fact(ask.about)
    if not isinstance(fact, StateFact):
        raise MomentError(f"ask '{ask.identifier}': about is '{ask.about}'; write NAME is STATE.")
    following = [t for t in occurrences(history, fact) if t > shown]
    if not following:
        raise MomentError(f"ask '{ask.identifier}': '{fact}' does not come about any more.")
    return following[0], None


def _bands(history, ask, shown, asked):
    """When a part is in a state, from the moment shown to the moment asked for."""
    fact = read_fact(ask.about)
    if not isinstance(fact, StateFact) or asked <= shown:
        raise MomentError(
            f"ask '{ask.identifier}': about is '{ask.about}'; write NAME is STATE, and ask for a "
            "stretch that begins when the situation is shown."
        )
    found, begin = [], shown if history.position(fact.name, shown) == fact.state else None
    changes = [c for c in history.changes_of(fact.name) if shown < c.time < asked]
    for change in changes:
        if change.after == fact.state and begin is None:
            begin = change.time
        elif change.after != fact.state and begin is not None:
            found.append((begin, change.time))
            begin = None
    if begin is not None:
        found.append((begin, asked))
    text = (
        ask.text
        or f"From {clock(shown)} to {clock(asked)}, {fact.name} {is_or_are(fact.name)} {fact.state}"
    )
    told = [f"{c.after} at {clock(c.time)}, because {c.reason}" for c in changes]
    reason = f"{_subject(fact.name)}: " + ("; ".join(told) or "nothing changes") + "."
    return Answer(ask, text, (), tuple(found), None, "periods", reason)


def _choice(history, ask, shown, asked):
    """Sentences; the right one stands first in the file and anywhere on the board."""
    options = Lot(ask.identifier).some_of(ask.options, len(ask.options), "options")
    return Answer(ask, ask.text, options, ask.options[0], None, "", ask.because)


def _fault(history, ask, shown, asked):
    """Which of several failures has happened by then: the flight knows."""
    present = [f for f in history.sector.failures if f.time <= asked]
    named = {failure_sentence(f): f for f in present}
    right = [option for option in ask.options if option in named]
    if len(right) != 1:
        raise MomentError(
            f"ask '{ask.identifier}': options are {', '.join(ask.options)}; exactly one must have "
            f"happened by then. What has: {', '.join(named) or 'nothing'}."
        )
    options = Lot(ask.identifier).some_of(ask.options, len(ask.options), "options")
    failure = named[right[0]]
    at = clock(failure.time)
    lit = _told_of(history, failure, max(shown, asked))
    told = f" The crew is told: {'; '.join(lit)}." if lit else " No alert tells of it."
    reason = f"It happened at {at}: {right[0]}.{told}"
    return Answer(ask, ask.text, options, right[0], None, "", reason)


def _told_of(history, failure, time):
    """Alerts that are shown at a time and would not be without the failure."""
    before = max(0.0, failure.time - 1.0)
    lit = [
        alert.name
        for alert in history.aircraft.alerts
        if history.position(alert.name, before) != "SHOWN"
        and history.position(alert.name, time) == "SHOWN"
    ]
    if not lit:
        return []
    others = tuple(f for f in history.sector.failures if f != failure)
    sound = fly(history.aircraft, cut_short(replace(history.sector, failures=others), time + 1.0))
    return [name for name in lit if sound.position(name, time) != "SHOWN"]


def _order(history, ask, shown, asked):
    """Which event takes a place, by the times at which the flight has them.

    Their own order on a paper is another; see `papers.placed`.
    """
    changes = {event: event_in(history, event, shown) for event in ask.options}
    if None in changes.values():
        missing = next(event for event, change in changes.items() if change is None)
        raise MomentError(f"order: '{missing}' does not come about after {clock(shown)}.")
    events = tuple(sorted(changes, key=lambda event: changes[event].time))
    right = events[int(ask.about)]
    change = changes[right]
    return Answer(ask, ask.text, events, right, None, "", why(history, change.name, change.time))


def event_in(history, words, shown):
    """Return the change that an event in words is, in a flight after a moment.

    Parameters
    ----------
    history : History
    words : str
        "PART comes to STATE".
    shown : float
        [s]

    Returns
    -------
    Change or None
        None where it does not come about.
    """
    part, _, state = words.rpartition(" comes to ")
    later = (c for c in history.changes if c.time > shown and c.after == state)
    return next((c for c in later if c.name.lower() == part.lower()), None)


def _label(history, ask, shown, asked):
    """Which part a letter on the drawing stands for."""
    reason = "As the drawing with names shows."
    return Answer(ask, ask.text, ask.options, ask.about, None, "", reason)


def _reason(history, ask, shown, asked):
    """Why a part is in its state; what the learner writes is marked by the instructor.

    The moment is written to the second, the change itself may come up to half a second later.
    """
    changes = [c.time for c in history.changes_of(ask.about) if abs(c.time - asked) <= _ROUNDED]
    told = why(history, ask.about, max([asked, *changes]))
    return Answer(ask, ask.text, (), told, None, WORDS, "")


def _subject(name):
    return name[:1].upper() + name[1:]


_MAKERS = {
    "state": _state,
    "feeding": _feeding,
    "figure": _figure,
    "when": _when,
    "bands": _bands,
    "choice": _choice,
    "fault": _fault,
    "order": _order,
    "label": _label,
    "reason": _reason,
}

_VALUES = {
    "state": _state_value,
    "feeding": _feeding_value,
    "figure": _figure_value,
    "when": _when_value,
}
