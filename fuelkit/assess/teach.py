"""A lesson or exercise for the aircraft that is taught: as written, or made from its own flight."""

from dataclasses import replace

from fuelkit.assess.abnormal import abnormal_boards
from fuelkit.assess.answers import answers
from fuelkit.assess.composing import composed_boards, half_given, with_form
from fuelkit.assess.course import LESSONS, Board, load_unit
from fuelkit.assess.flights import aircraft_of, flight_for, flight_of, sectors_for
from fuelkit.assess.moments import MomentError, moment
from fuelkit.assess.stages import stages
from fuelkit.assess.stand import stand_asks

_STARTERS = 4
_APART = 20_000  # draws between the situations like one board and like the next
_FAILURES = 4  # each takes several flights until its wrong options are known to be wrong
_EXERCISE_DRAW = 7  # the exercise of an aircraft that has a single sector is on a drawn flight


def unit_for(identifier, aircraft_name=""):
    """Return a lesson or exercise for an aircraft.

    Parameters
    ----------
    identifier : str
        Of a unit of the kit, such as "lesson-cruise".
    aircraft_name : str
        In the kit, or the path of a file; empty for the one that the unit is written for.

    Returns
    -------
    Unit
        As it is written if it is written for this aircraft; else with boards made from a computed
        flight of this aircraft, and without the stages that it lacks.

    Raises
    ------
    DataFileError
        If there is no such unit or aircraft, or a file has faults.
    """
    unit = load_unit(identifier)
    if aircraft_name and aircraft_of(aircraft_name).identifier != unit.aircraft:
        unit = _made(unit, aircraft_name)
    return replace(unit, boards=tuple(filter(None, (_asked(unit, b) for b in unit.boards))))


def _asked(unit, board):
    """A board with its asks, which the kit makes for one on the stand; None without any."""
    if board.scene == "flight" or board.asks:
        return board
    asks = stand_asks(aircraft_of(board.aircraft or unit.aircraft), board)
    given = board.form == "half"
    return replace(board, asks=half_given(asks) if given else asks) if asks else None


def _made(unit, aircraft_name):
    aircraft = aircraft_of(aircraft_name)
    sectors = sectors_for(aircraft)
    exercise = unit.kind == "exercise"
    sector = sectors[1] if exercise and len(sectors) > 2 else sectors[0]
    draw = _EXERCISE_DRAW if exercise and len(sectors) <= 2 else 0
    made = replace(unit, aircraft=aircraft_name, sector=sector, summary=())
    boards = tuple(replace(b, draw=b.draw or draw) for b in _boards(made, draw))
    kept = tuple(b for b in unit.boards if _fits(b))
    return replace(made, boards=(*boards, *kept))


def _fits(board):
    """Whether a board holds for any aircraft: on the stand the kit makes its asks."""
    return board.scene != "flight" and not board.asks and not board.aircraft


def _boards(unit, draw):
    history = flight_of(unit.aircraft, unit.sector, draw)
    if unit.stage in ("tanks", "walk-around"):
        return ()
    exercise = unit.kind == "exercise"
    if unit.stage == "abnormal":
        boards = abnormal_boards(unit.aircraft, unit.sector, draw, most=_FAILURES, last=exercise)
    else:
        boards = composed_boards(history, unit.stage, most=5 if exercise else 7)
    if exercise or not boards:
        return boards
    forms = ("worked", "half") if len(boards) >= 3 else ("worked",) if len(boards) == 2 else ()
    starters = _starters(unit, history)
    return (*starters, *with_form(boards, forms))


# -------------------------------------------------------------------------------------- starters
def _starters(unit, history):
    """A closed-book board on what changed in the stages before this one."""
    before = LESSONS[: LESSONS.index(unit.stage)]
    known = [stage for stage in before if stage in stages(history)]
    asks = []
    for stage in reversed(known):
        for board in composed_boards(history, stage, most=2, prefix="earlier-"):
            asks += _from_memory(board, history)
    asks = asks[:_STARTERS]
    if len(asks) < 2:
        return ()
    named = tuple(replace(ask, identifier=f"starters-{i}") for i, ask in enumerate(asks, start=1))
    return (
        Board(
            name="starters", title="Before you begin: from memory",
            lead="Closed book: no drawing. The questions come from earlier lessons.",
            asked_as="at the moments named", drawing=False, asks=named, form="starter",
        ),
    )  # fmt: skip


def _from_memory(board, history):
    """The first ask of a board that can be put without its drawing."""
    when = f"{board.lead.rstrip('.')}. At {board.asked}"
    for ask in [a for a in board.asks if a.kind in ("state", "feeding")][:1]:
        verb = "is fed from" if ask.kind == "feeding" else "is"
        text = f"{when}, {ask.about} {verb}"
        yield replace(ask, moment=board.asked, text=text)


# --------------------------------------------------------------------------------- another like it
def fresh_board(unit, board, draw):
    """Return a fresh situation like a board's: the same asks on a drawn flight, or made from it.

    Parameters
    ----------
    unit : Unit
    board : Board
        Of this unit.
    draw : int
        1 or more; the same number gives the same situation.

    Returns
    -------
    Board
        Named after the board and the number.
    """
    if board.scene != "flight":
        lead = f"Situation {draw}. Everything is drawn anew."
        found = replace(
            board, name=f"{board.name}~{draw}", draw=1000 + board.draw + draw, asks=(),
            form="blank", lead=lead, after="",
        )  # fmt: skip
        return replace(found, asks=stand_asks(aircraft_of(board.aircraft or unit.aircraft), found))
    for tried in range(8):
        number = draw + 1000 * tried
        found = _fresh(unit, board, number, written=(draw + tried) % 2 == 1)
        if found is not None:
            return _renamed(found, board, draw)
    return _renamed(board, board, draw)


def _fresh(unit, board, number, *, written):
    """One attempt; None if nothing is worth asking in that flight."""
    aircraft = board.aircraft or unit.aircraft
    sector = board.sector or unit.sector
    if written and board.drawing:
        found = replace(board, draw=number)
        return found if _is_sound(unit, found) else None
    if unit.stage == "abnormal":
        number += _APART * (1 + _place(unit, board))
        made = abnormal_boards(aircraft, sector, number, most=1)
    else:
        made = composed_boards(flight_of(aircraft, sector, number), unit.stage, most=6)
    if not made:
        return None
    asked = {ask.about for ask in board.asks}
    best = max(made, key=lambda b: len(asked & {ask.about for ask in b.asks}))
    return replace(best, aircraft=board.aircraft, sector=board.sector, draw=number)


def _place(unit, board):
    """Place of a board in its unit: those that are not there stand before all."""
    names = [other.name for other in unit.boards]
    return names.index(board.name) if board.name in names else -1


def _is_sound(unit, board):
    """Whether everything that a board speaks of comes about in its flight, in the right order."""
    history = flight_for(unit, board)
    try:
        shown, asked = moment(history, board.shown), moment(history, board.asked)
        computed = answers(history, board)
    except MomentError:
        return False
    moments = [moment(history, ask.moment) for ask in board.asks if ask.moment]
    starved = any(history.position(c.name, asked) == "STARVED" for c in history.aircraft.consumers)
    in_order = shown < asked and all(shown < time for time in moments)
    computed = [a for a in computed if a.ask.kind != "choice"]
    return in_order and not starved and any(a.changed for a in computed)


def _renamed(found, board, draw):
    asks = tuple(
        replace(ask, identifier=f"{board.name}~{draw}-{i}", given=False)
        for i, ask in enumerate(found.asks, start=1)
    )
    return replace(found, name=f"{board.name}~{draw}", asks=asks, form="blank", after="")
