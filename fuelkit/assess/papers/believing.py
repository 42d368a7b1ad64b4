"""What a learner with each belief would answer to a question."""

from dataclasses import replace

import numpy as np

from fuelkit.assess.answers import answers, event_in, values
from fuelkit.assess.beliefs.flown import beliefs_about, believed_flight
from fuelkit.assess.beliefs.models import load_beliefs, slipped
from fuelkit.assess.figure_marks import asked_steps
from fuelkit.assess.moments import MomentError, moment
from fuelkit.assess.stand import sheet_of
from fuelkit.flight.history import AskedError

_SAME_TIME, _SAME = 1e-3, 1e-3  # s, kg and K: nearer than this is the same flight
_NEAR = {"when": 20.0, "state": 100.0, "order": 100.0}  # kg: masses that count as those shown
_MARGIN = 1800.0  # s after the last moment: a belief may have things happen later
_NOT_MODELLED = ("reason", "choice")  # a choice names its beliefs when it is made


def with_beliefs(history, questions, beliefs=None):
    """Return questions with what each belief answers otherwise, from its own flight.

    Parameters
    ----------
    history : History
        The right flight of all of them.
    questions : sequence of Question
    beliefs : sequence of Belief, optional
        All that say something about the aircraft if not given.

    Notes
    -----
    A belief speaks only where its flight shows the learner the situation that is shown: the same
    states of all pumps and valves, and the same masses (see `_is_seen`). One that would have led
    to another situation says nothing about this question. A mass is taken by how much it changes
    from there.
    """
    if not questions:
        return []
    board = questions[0].board
    last = max(latest_moment(history, question.board) for question in questions) + _MARGIN
    last = min(last, history.sector.end)
    right = [
        () if q.kind in _NOT_MODELLED else answers(history, q.board) for q in questions
    ]  # fmt: skip
    found = [dict(question.believed) for question in questions]
    for belief in beliefs_about(board.aircraft) if beliefs is None else beliefs:
        other = believed_flight(
            belief.name, board.aircraft, board.sector, board.draw, board.more,
            last if last < history.sector.end else None,
        )  # fmt: skip
        if other is None or _alike(history, other, last):
            continue
        for question, answered, told in zip(questions, right, found, strict=True):
            if not answered or not _is_seen(history, other, question):
                continue
            said = believed_answers(answered, other, question.board)
            if said is not None:
                told[belief.name] = said
    return [replace(q, believed=told) for q, told in zip(questions, found, strict=True)]


def _is_seen(history, other, question):
    """Whether another flight shows what a question shows, as far as its answer depends on it.

    A time depends on the masses themselves; what changes, and in which order, on which of them are
    near a level; by how much a mass changes, on neither.
    """
    try:
        times = [moment(flight, question.board.shown) for flight in (history, other)]
    except (MomentError, AskedError):
        return False
    for part in (*history.aircraft.pumps, *history.aircraft.valves):
        if history.position(part.name, times[0]) != other.position(part.name, times[1]):
            return False
    near = _NEAR.get(question.kind, np.inf)
    return all(
        abs(history.quantity(tank.name, times[0]) - other.quantity(tank.name, times[1])) <= near
        for tank in history.aircraft.tanks if tank.holds_fuel
    )  # fmt: skip


def _alike(one, other, end):
    """Whether two flights are one up to a time, so that nobody answers differently."""
    first, second = ([c for c in f.changes if c.time <= end] for f in (one, other))
    if [(c.name, c.after) for c in first] != [(c.name, c.after) for c in second]:
        return False
    if any(abs(a.time - b.time) > _SAME_TIME for a, b in zip(first, second, strict=True)):
        return False
    ends = [flight.state_at(end).quantities for flight in (one, other)]
    return bool(np.allclose(*ends, rtol=0.0, atol=_SAME))


def latest_moment(history, board):
    """Return the last moment that a board speaks of. [s]"""
    words = [board.shown, board.asked, *(ask.moment for ask in board.asks if ask.moment)]
    return max(moment(history, w) for w in words)


def believed_answers(right, other, board):
    """Return the answers to a board in another flight, as written, or None.

    Parameters
    ----------
    right : sequence of Answer
        The right answers.
    other : History
        As a belief has it.
    board : Board

    Returns
    -------
    tuple of str or None
        None if they are the right ones, or the flight does not show what the board shows.
    """
    if not right:
        return None
    said = _order(other, board) if right[0].ask.kind == "order" else _values(right, other, board)
    if said is None or said == tuple(answer.written() for answer in right):
        return None
    return said


def _values(right, other, board):
    try:
        found = values(other, board)
    except (MomentError, AskedError):
        return None
    said = []
    for answer, (value, shown) in zip(right, found, strict=True):
        if answer.ask.kind in ("state", "feeding") and answer.shown_value != shown:
            return None
        said.append(_written(answer, value, shown))
    return tuple(said)


def _written(answer, value, shown):
    """The believed answer as written; a near one counts as the right one."""
    if answer.unit == "kg":
        value = answer.shown_value + (value - shown)
    if answer.ask.tolerance and abs(value - answer.value) <= answer.ask.tolerance:
        value = answer.value
    return answer.written(value)


def _order(other, board):
    """The events of a board in the order in which another flight has them."""
    shown, times = moment(other, board.shown), {}
    for event in board.asks[0].options:
        change = event_in(other, event, shown)
        if change is None:
            return None
        times[event] = change.time
    return tuple(sorted(times, key=times.get))


def sheet_beliefs(aircraft, board):
    """Return what each belief about figures makes of a sheet: answers ask by ask, as written."""
    sheet, found = sheet_of(aircraft, board), {}
    right = sheet.worked()
    for belief in load_beliefs():
        values = slipped(belief, board.sheet, sheet)
        if values is not None:
            steps = asked_steps(sheet)
            if any(not step.agrees(values[step.name], right[step.name]) for step in steps):
                found[belief.name] = tuple(step.written(values[step.name]) for step in steps)
    return found
