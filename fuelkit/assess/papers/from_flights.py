"""Questions made from one computed flight: what changes, when, in which order, how much, and why.

Each stage of the flight gives boards (`assess.composing`); each board is taken apart into
questions of one kind. Answers are computed from the flight when they are needed.
"""

from dataclasses import replace

from fuelkit.assess.composing import composed_boards, lead_words
from fuelkit.assess.course import Ask
from fuelkit.assess.moments import moment
from fuelkit.assess.occasions import Occasion, is_dated, occasions
from fuelkit.assess.papers.objectives_met import objectives_of_changes
from fuelkit.assess.papers.question import Question
from fuelkit.assess.stages import stages
from fuelkit.flight.reasons import chain
from fuelkit.physics.writing import clock

_MOST_BOARDS = 6
_EVENTS, _APART = 4, 20.0  # events to put in order, and how far apart they are at least [s]
_DATED = 2  # of them that soon follow a switch whose time is told; more where there are no others
_PLACES = ("First", "Then", "After that", "Last")
_MARKS = {"when": 2.0, "figure": 2.0, "order": 3.0, "reason": 3.0}


def questions_from(history, source):
    """Return the questions that a flight gives.

    Parameters
    ----------
    history : History
    source : dict
        Aircraft, sector, draw and failures of the flight, as fields of a board.

    Returns
    -------
    list of Question
        Without what beliefs say; see `assess.papers.pool`.
    """
    found, boards = [], []
    for stage, span in stages(history).items():
        known = occasions(history, *span)
        for board in composed_boards(history, stage, most=_MOST_BOARDS):
            placed = replace(board, **source)
            occasion = _occasion_of(history, placed, known)
            makers = (_state, _when, _figure, _order, _reason)
            made = [make(history, placed, stage, occasion) for make in makers]
            found += [question for question in made if question is not None]
            boards.append((placed, stage))
    if not any(question.kind == "order" for question in found):  # as of a system with few parts
        made = [_order(history, board, stage, None, _EVENTS) for board, stage in boards]
        found += [question for question in made if question is not None]
    return found


def _occasion_of(history, board, known):
    """The changes that a board is about; nothing for a quiet stretch."""
    shown, asked = moment(history, board.shown), moment(history, board.asked)
    inside = [o for o in known if o.names and shown < o.begin and o.end <= asked]
    return inside[0] if inside else None


def _state(history, board, stage, occasion):
    asks = tuple(ask for ask in board.asks if ask.kind in ("state", "feeding"))
    if occasion is None or not asks:
        return None
    fed = any(ask.kind == "feeding" for ask in asks)
    objectives = objectives_of_changes(history, occasion.changes, stage)
    more = ("feed-sequence",) if fed else ()
    return _question(
        history, replace(board, asks=asks, state_marks=4.0), "state", stage,
        tuple(dict.fromkeys((*objectives, *more))), changes=len(set(occasion.names)),
    )  # fmt: skip


def _when(history, board, stage, occasion):
    asks = tuple(replace(a, marks=_MARKS["when"]) for a in board.asks if a.kind == "when")
    if occasion is None or not asks:
        return None
    asked_as = "what comes next" if board.asked_as else ""
    return _question(
        history, replace(board, asks=asks, asked_as=asked_as, state_marks=0.0), "when", stage,
        objectives_of_changes(history, occasion.changes[:1], stage), changes=1, steps=2,
    )  # fmt: skip


def _figure(history, board, stage, occasion):
    asks = tuple(
        replace(a, marks=_MARKS["figure"], moment=a.moment or board.asked)
        for a in board.asks if a.kind == "figure"
    )  # fmt: skip
    if not asks:
        return None
    changes = occasion.changes[:1] if occasion else ()
    return _question(
        history, replace(board, asks=asks, asked_as="at the times named", state_marks=0.0),
        "figure", stage, objectives_of_changes(history, changes, stage),
        changes=len(changes), steps=2 * len(asks),
    )  # fmt: skip


def _order(history, board, stage, occasion, dated=_DATED):
    """Events to put in the order in which they happen, each told without its time."""
    events = _events(history, board, dated)
    if len(events) < _EVENTS:
        return None
    last = min(events[-1].time + _APART, history.sector.end)
    told = tuple(event_words(change) for change in events)
    asks = tuple(Ask("", "order", f"{i}", words, options=told) for i, words in enumerate(_PLACES))
    lead = lead_words(history, moment(history, board.shown), last)
    return _question(
        history, replace(board, lead=lead, asks=asks, asked=clock(last), asked_as="by its order",
                         state_marks=_MARKS["order"]),
        "order", stage, objectives_of_changes(history, events, stage), changes=len(events),
    )  # fmt: skip


def _events(history, board, most_dated):
    """The next changes after the moment shown, of different parts, apart in time.

    Each is the first of its part: "it comes to RUNNING" must mean one moment and no other. When the
    crew sets a switch is told, so that few of them may be what soon follows from that.
    """
    shown, found, seen = moment(history, board.shown), [], set()
    dated = 0
    told = {ask.about for ask in board.asks}
    parts = [*told, *(n for o in occasions(history, shown, history.sector.end) for n in o.names)]
    wanted = set(parts)
    for change in history.changes:
        if change.time <= shown or change.after == "MOVING" or change.name in seen:
            continue
        seen.add(change.name)
        if change.name not in wanted or change.time <= (
            found[-1].time + _APART if found else shown
        ):
            continue
        follows = is_dated(history, change, shown)
        if not follows or dated < most_dated:
            found.append(change)
            dated += follows
        if len(found) == _EVENTS:
            break
    return found


def event_words(change):
    """Return a change in words, without its time.

    The words name what an `Answer` can be read back from.
    """
    return f"{change.name[:1].upper()}{change.name[1:]} comes to {change.after}"


def _reason(history, board, stage, occasion: Occasion | None):
    """Why something changes by itself: written by the learner, marked by the instructor."""
    if occasion is None or not occasion.is_automatic or occasion.by_crew:
        return None
    change = occasion.changes[0]
    if any(f.part == change.name and f.time == change.time for f in history.sector.failures):
        return None  # "because it has failed" is no reason that could be thought of
    ask = Ask(
        f"{board.name}-reason", "reason", change.name,
        f"At {clock(change.time)} {change.name} comes to {change.after}. Why?",
        moment=clock(change.time), marks=_MARKS["reason"],
    )  # fmt: skip
    return _question(
        history, replace(board, asks=(ask,), asked_as="in one or two sentences", state_marks=0.0),
        "reason", stage, objectives_of_changes(history, [change], stage),
        changes=1 + min(3, len(chain(history, change)) // 2),
    )  # fmt: skip


def _question(history, board, kind, stage, objectives, *, changes, steps=0):
    place = f"{board.sector}-{board.draw}" if board.draw else board.sector
    name = f"{kind}-{place}-{board.name}"
    asks = tuple(
        replace(ask, identifier=f"{name}-{number}") for number, ask in enumerate(board.asks, 1)
    )
    return Question(
        name, kind, replace(board, name=name, asks=asks), tuple(objectives), stage, changes, steps,
        parts=frozenset(ask.about for ask in asks if ask.kind in ("state", "feeding")),
    )  # fmt: skip
