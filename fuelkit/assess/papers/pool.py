"""The pool that papers are drawn from: flights drawn by number, and the questions each one gives.

Every source stands by itself, so that they may be worked out on as many cores as there are.
"""

from dataclasses import dataclass, replace

from fuelkit.assess.abnormal import abnormal_boards
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.course import Ask, Board
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.marking import mark_board
from fuelkit.assess.moments import moment
from fuelkit.assess.papers.apart import conflicts
from fuelkit.assess.papers.believing import sheet_beliefs, with_beliefs
from fuelkit.assess.papers.choices import choice_from
from fuelkit.assess.papers.from_flights import questions_from
from fuelkit.assess.papers.objectives_met import objective_of_failure, objectives_on_the_stand
from fuelkit.assess.papers.placed import computed
from fuelkit.assess.papers.question import Question
from fuelkit.assess.stages import stages
from fuelkit.assess.stand import stand_asks
from fuelkit.figures.catalogue import SHEETS, sheets_for
from fuelkit.physics.lots import Lot
from fuelkit.physics.writing import clock

_ON_THE_STAND = {"walk-around": ("spot", "walk-around"), "sticks": ("figure", "walk-around"),
                 "tanks": ("figure", "tanks"), "water": ("choice", "walk-around")}  # fmt: skip
_STAGE_OF_SHEET = {"stand": "walk-around", "in-flight": "cruise", "leak": "abnormal",
                   "gravity-feed": "abnormal", "jettison": "abnormal", "freezing": "cruise",
                   "equal-time": "cruise", "safe-return": "cruise",
                   "after-flight": "after-landing"}  # fmt: skip
FLIGHT = "flight"
"""Kind of a source: a drawn flight."""

FROM_FLIGHTS = {"state", "order", "when", "figure", "choice", "reason"}
"""Kinds of question that flights give."""

_FAULTS, _LETTERS = 2, 5


@dataclass(frozen=True)
class Source:
    """Where questions come from: a drawn flight, drawn failures, or a draw on the stand. Frozen."""

    kind: str
    aircraft: str
    sector: str = ""
    draw: int = 0
    what: str = ""


def sources(aircraft_name, flights, kinds, secret_number):
    """Return the sources of a pool.

    Parameters
    ----------
    aircraft_name : str
    flights : int
        How many flights are drawn; half of them with something set or failed in the cruise.
    kinds : set of str
        Kinds of question that are wanted.
    secret_number : int
        From the sitting's secret: which flights are drawn follows from it alone.
    """
    # By its identifier: an aircraft's file may lie in another folder on another machine.
    aircraft, found = aircraft_of(aircraft_name), []
    lot, sectors = Lot("pool", aircraft.identifier, secret_number), list(sectors_for(aircraft))
    draws = _numbers(lot, flights, "flights")
    if kinds & FROM_FLIGHTS:
        found += [
            Source(FLIGHT, aircraft_name, sectors[i % len(sectors)], draw, str(i % 2))
            for i, draw in enumerate(draws)
        ]
    if "fault" in kinds:
        found += [
            Source("faults", aircraft_name, sectors[i % len(sectors)], draw)
            for i, draw in enumerate(_numbers(lot, max(2, flights // 3), "faults"))
        ]
    if "label" in kinds:
        found += [Source("label", aircraft_name, sectors[0], n) for n in range(1, 9)]
    stand = [s for s, (kind, _) in _ON_THE_STAND.items() if kind in kinds]
    if "sheet" in kinds:
        stand += sheets_for(aircraft)
    for what in stand:
        numbers = _numbers(lot, max(4, flights // 2), what)
        found += [Source("stand", aircraft_name, draw=draw, what=what) for draw in numbers]
    return tuple(found)


def _numbers(lot, count, what):
    """Different numbers of draws, none of which a lesson uses."""
    found = {}
    while len(found) < count:
        found[lot.whole(100_000, 999_999, f"{what}|{len(found)}")] = True
        lot = Lot(lot.share("next"), what)
    return tuple(found)


def questions_of(source):
    """Return the questions that a source gives, as a list of Question."""
    return _MAKERS[source.kind](source)


def worked_questions(source):
    """Return the questions that a source gives and that can be marked, with their right answers.

    A question about states of which none changes earns nothing.
    """
    found = []
    for question in questions_of(source):
        right = computed(question.board)
        if question.kind == "reason" or mark_board(question.board, right, {}).full > 0.0:
            found.append(replace(question, right=tuple(answer.written() for answer in right)))
    return found


def plain_questions_of(source):
    """Return the questions that a source gives without what beliefs say, which takes long.

    Of a flight, those with three options are left out: beliefs make their options.
    """
    if source.kind != FLIGHT:
        return questions_of(source)
    history, made = _flown_questions(source)
    return _apart(history, made)


def _flight_questions(source):
    history, made = _flown_questions(source)
    made = with_beliefs(history, made)
    choices = [choice_from(history, q) for q in made if q.kind == "state"]
    made += [question for question in choices if question is not None]
    return _apart(history, made)


def _apart(history, made):
    beside = conflicts(history, made)
    return [replace(question, beside=beside[question.identifier]) for question in made]


def _flown_questions(source):
    """The flight of a source, and the questions that it gives by itself."""
    more, begin, end = "", 0.0, float("inf")
    if source.what == "1":
        cases = situations(source.aircraft, source.sector, source.draw)[1:]
        if cases:
            case = Lot("case", source.draw).one_of(cases, "which")
            more, begin, end = case.more, case.begin, case.end
    history = flight_of(source.aircraft, source.sector, source.draw, more)
    fields = {"aircraft": source.aircraft, "sector": source.sector, "draw": source.draw,
              "more": more}  # fmt: skip
    made = [
        question for question in questions_from(history, fields)
        if not more or begin - 900.0 <= moment(history, question.board.asked) <= end + 900.0
    ]  # fmt: skip
    return history, made


def _fault_questions(source):
    """What has failed, from the indications; what follows is asked by other questions."""
    found = []
    boards = abnormal_boards(source.aircraft, source.sector, source.draw, most=_FAULTS)
    own = flight_of(source.aircraft, source.sector, source.draw).sector.failures
    for number, board in enumerate(boards, start=1):
        name = f"fault-{source.sector}-{source.draw}-{number}"
        asks = tuple(
            replace(ask, identifier=f"{name}-1", marks=4.0)
            for ask in board.asks if ask.kind == "fault"
        )  # fmt: skip
        placed = replace(
            board, name=name, asks=asks, aircraft=source.aircraft, sector=source.sector,
            draw=source.draw, state_marks=0.0, asked_as="from what is shown", asked=board.shown,
        )  # fmt: skip
        flight = flight_of(source.aircraft, source.sector, source.draw, board.more)
        failed = next(f for f in flight.sector.failures if f not in own)
        objective = objective_of_failure(failed, flight.aircraft)
        found.append(Question(name, "fault", placed, (objective, "indications"), "abnormal", 2, 1))
    return found


def _stand_questions(source):
    aircraft = aircraft_of(source.aircraft)
    is_sheet = source.what in SHEETS
    scene = "sheet" if is_sheet else source.what
    kind, stage = _ON_THE_STAND.get(source.what, ("sheet", "cockpit-preparation"))
    name = f"{kind}-{source.what}-{source.draw}"
    board = Board(
        name=name, title=SHEETS[source.what].title if is_sheet else _TITLES[source.what],
        lead="", scene=scene, sheet=source.what if is_sheet else "", aircraft=source.aircraft,
        draw=source.draw, state_marks=4.0 if scene == "walk-around" else 0.0,
    )  # fmt: skip
    board = replace(board, asks=stand_asks(aircraft, board))
    if not board.asks:
        return []
    believed = sheet_beliefs(aircraft, board) if is_sheet else {}
    return [
        Question(
            name, kind, board, objectives_on_the_stand(board),
            _STAGE_OF_SHEET.get(source.what, stage), 0 if is_sheet else 2,
            len(board.asks) if is_sheet else 1, believed,
        )
    ]  # fmt: skip


_TITLES = {"walk-around": "On the walk-around", "sticks": "A stick reading",
           "tanks": "The tanks", "water": "A water sample"}  # fmt: skip


def _label_questions(source):
    """Which part a letter stands for, on the drawing of a flight that no other question uses."""
    history = flight_of(source.aircraft, source.sector)
    aircraft = history.aircraft
    lot = Lot("label", aircraft.identifier, source.draw)
    names = [p.name for p in (*aircraft.pumps, *aircraft.valves) if getattr(p, "group", "feed")
             == "feed"]  # fmt: skip
    asked = lot.some_of(names, min(_LETTERS, len(names)), "parts")
    name = f"label-{source.sector}-{source.draw}"
    begin = stages(history).get("cruise", (0.0, 0.0))[0]
    asks = tuple(
        Ask(f"{name}-{i}", "label", part, f"Part {letter}", marks=1.0,
            options=_like(aircraft, part, lot.some_of(names, len(names), f"others {i}")))
        for i, (letter, part) in enumerate(zip("ABCDE", asked, strict=False), start=1)
    )  # fmt: skip
    board = Board(
        name=name, title="Parts by their place", lead="The drawing has letters in place of names.",
        shown=clock(begin), asked=clock(begin), asked_as="for each letter", asks=asks,
        aircraft=source.aircraft, sector=source.sector,
    )  # fmt: skip
    return [Question(name, "label", board, ("layout", "pumps-and-valves"), "tanks", 1, 0)]


def _like(aircraft, part, others):
    """A part and three others, of its own sort first: its symbol shall not tell which it is."""
    sort = type(aircraft.by_name[part])
    alike = sorted(others, key=lambda name: not isinstance(aircraft.by_name[name], sort))
    return tuple(dict.fromkeys((part, *alike)))[:4]


_MAKERS = {FLIGHT: _flight_questions, "faults": _fault_questions, "stand": _stand_questions,
           "label": _label_questions}  # fmt: skip
