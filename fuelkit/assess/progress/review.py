"""Today's review: ten fresh questions from the lessons that a learner has met.

Drawn once a day from the record as it is then, and kept in it, so that whoever opens the page
again finds the same ten. No situation comes twice: flights and draws that the record knows are
not drawn again.
"""

from dataclasses import replace

from fuelkit.assess.flights import aircraft_of, sectors_for
from fuelkit.assess.papers.placed import computed
from fuelkit.assess.papers.pool import Source, plain_questions_of
from fuelkit.assess.progress.record import now_text
from fuelkit.assess.progress.standing import lessons_met, standings
from fuelkit.assess.progress.tries import situation_of
from fuelkit.assess.stand import stand_asks
from fuelkit.figures.catalogue import sheets_for
from fuelkit.physics.lots import Lot

MOST = 10
"""Questions a day."""

_SECTORS, _SHEETS = 2, 5  # drawn at first: enough to choose from, and quick
_ROUNDS = 12  # of drawing more, where a single lesson was met
_ABOVE_SHARE = 2  # questions that a weak lesson may have beyond an even share
_IN_FLIGHT = {"cockpit-preparation", "engine-start", "climb", "cruise", "descent", "after-landing"}
_LOWEST, _HIGHEST = 100_000, 999_999  # numbers of draws that no lesson and no practice uses
_KINDS = ("state", "when", "figure", "order", "fault", "sheet", "spot", "choice")
_PARTS = 2  # of a question about the tanks, which could ask six
_MOST_ASKS = 8  # a sheet with more steps takes too long for one of ten
_STAND = {"walk-around": ("walk-around", "sticks", "water"), "tanks": ("tanks",)}


def draw_review(entries, aircraft_name, learner, today):
    """Return the entry of a day's review, or None if no lesson was met yet.

    Parameters
    ----------
    entries : sequence of dict
        Of the learner's record of progress.
    aircraft_name : str
        That the course is taught on.
    learner : str
    today : date

    Returns
    -------
    dict or None
        The same for the same record, aircraft and day, but for its time.
    """
    met = lessons_met(entries)
    if not met:
        return None
    lot = Lot("review", aircraft_of(aircraft_name).identifier, learner, today.isoformat())
    known, numbers = standings(entries, today), _Numbers(lot, _used(entries))
    found, chosen = [], []
    for round_ in range(_ROUNDS):
        for source in _sources(aircraft_name, met, numbers, lot, round_):
            found += [(source, question) for question in plain_questions_of(source)]
        fitting = [pair for pair in found if _fits(pair[1], met)]
        chosen = _chosen(fitting, known, today, lot, len(met))
        if len(chosen) == MOST:
            break
    questions = [
        _entry(source, question, f"{today.isoformat()}-{number:02d}")
        for number, (source, question) in enumerate(chosen, start=1)
    ]
    return {
        "event": "drawn", "time": now_text(), "day": today.isoformat(), "questions": questions,
    }  # fmt: skip


def _fits(question, met):
    """Whether a question is of a lesson that was met, and short enough for one of ten."""
    is_short = question.kind != "sheet" or len(question.board.asks) <= _MOST_ASKS
    return question.stage in met and question.kind in _KINDS and is_short


def _used(entries):
    """Numbers of draws that the record knows already, of lessons, practice and reviews."""
    drawn = {
        question["draw"]
        for entry in entries if entry["event"] == "drawn"
        for question in entry["questions"]
    }  # fmt: skip
    said = [e["situation"].split() for e in entries if e["event"] == "tried"]
    return drawn | {int(word) for words in said for word in words if word.isdecimal()}


def _sources(aircraft_name, met, numbers, lot, round_):
    """What the day's questions are chosen from: flights, failures, and draws on the stand.

    The first round is enough where several lessons were met; each later one adds a flight and
    further draws.
    """
    aircraft, found = aircraft_of(aircraft_name), []
    if met & _IN_FLIGHT:
        known = sectors_for(aircraft)
        order = lot.some_of(known, len(known), "sectors")
        count = _SECTORS if round_ == 0 else 1
        flown = [order[(round_ + i) % len(order)] for i in range(count)]
        found += [Source("flight", aircraft_name, s, numbers.next(), "0") for s in flown]
    if "abnormal" in met and round_ in (0, 2, 4):
        sector = lot.one_of(sectors_for(aircraft), f"failures {round_}")
        found.append(Source("faults", aircraft_name, sector, numbers.next()))
        if met & _IN_FLIGHT:  # with something set or failed in the cruise
            found.append(Source("flight", aircraft_name, sector, numbers.next(), "1"))
    what = [scene for stage, scenes in _STAND.items() if stage in met for scene in scenes]
    what += lot.some_of(sheets_for(aircraft), _SHEETS, f"sheets {round_}")
    return [*found, *(Source("stand", aircraft_name, draw=numbers.next(), what=w) for w in what)]


class _Numbers:
    """Numbers of draws, each of which was never used."""

    def __init__(self, lot, used):
        self._lot, self._used, self._count = lot, set(used), 0

    def next(self):
        while True:
            self._count += 1
            number = self._lot.whole(_LOWEST, _HIGHEST, f"draw {self._count}")
            if number not in self._used:
                self._used.add(number)
                return number


def _chosen(found, known, today, lot, lessons):
    """The questions that are needed most, spread over lessons, objectives and kinds.

    Each one chosen makes those of its lesson, objective and kind less needed; no lesson has many
    more than its share, and none is left out that has a question.
    """
    most = -(-MOST // lessons) + _ABOVE_SHARE
    need = {standing.objective.name: standing.need(today) for standing in known}
    left, chosen, counts, barred = list(found), [], {}, set()
    while left and len(chosen) < MOST:
        best = max(_due(left, counts, MOST - len(chosen)),
                   key=lambda pair: (_worth(pair[1], need, counts),
                                     lot.share(pair[1].identifier)))  # fmt: skip
        question = best[1]
        if not _says_something(question):
            left.remove(best)
            continue
        chosen.append(best)
        barred |= {question.identifier, *question.beside}
        for sign in _signs(question):
            counts[sign] = counts.get(sign, 0) + 1
        left = [
            (s, q) for s, q in left
            if q.identifier not in barred and counts.get(("stage", q.stage), 0) < most
        ]  # fmt: skip
    return chosen


def _due(left, counts, room):
    """What may be chosen next: with no more room than that, only lessons that have none yet."""
    missing = {q.stage for _, q in left if not counts.get(("stage", q.stage), 0)}
    if room > len(missing):
        return left
    return [pair for pair in left if pair[1].stage in missing] or left


def _says_something(question):
    """Whether an answer would count: of states that are asked for, one at least must change."""
    return question.kind != "state" or any(a.changed for a in computed(question.board))


def _signs(question):
    return (("stage", question.stage), ("kind", question.kind),
            *(("objective", name) for name in question.objectives))  # fmt: skip


def _worth(question, need, counts):
    wanted = max((need.get(name, 0.0) for name in question.objectives), default=0.0)
    stage, kind, *objectives = (counts.get(sign, 0) for sign in _signs(question))
    again = max(objectives, default=0)
    return wanted / ((1.0 + 0.5 * stage) * (1.0 + 0.3 * kind) * (1.0 + 0.5 * again))


def _entry(source, question, name):
    return {
        "board": name, "question": question.identifier, "kind": source.kind,
        "sector": source.sector, "what": source.what, "draw": source.draw,
        "situation": situation_of(None, question.board),
    }  # fmt: skip


def question_again(one, aircraft_name, known):
    """Return a question of a day's review again, under its name; None if the kit lacks it now.

    Parameters
    ----------
    one : dict
        Of the questions in the entry that `draw_review` made.
    aircraft_name : str
    known : dict
        Keeps what a source gives, so that it is worked out once for a day.
    """
    source = Source(one["kind"], aircraft_name, one["sector"], one["draw"], one["what"])
    if source not in known:
        known[source] = {q.identifier: q for q in plain_questions_of(source)}
    question = known[source].get(one["question"])
    return None if question is None else replace(question, board=_named(question, one["board"]))


def _named(question, name):
    """The board of a question under its name of the day, with what it tests."""
    board = replace(question.board, name=name, objectives=question.objectives)
    if board.scene == "tanks":
        return _shortened(replace(board, asks=stand_asks(aircraft_of(board.aircraft), board)))
    if board.scene != "flight":
        return replace(board, asks=stand_asks(aircraft_of(board.aircraft), board))
    asks = tuple(
        replace(ask, identifier=f"{name}-{number}") for number, ask in enumerate(board.asks, 1)
    )
    return replace(board, asks=asks)


def _shortened(board):
    """A board with two of the parts that it could ask; ten of a day come round to all of them."""
    count, number = len(board.asks), int(board.name.rpartition("-")[2])
    first = _PARTS * (number - 1)
    asks = tuple(board.asks[i] for i in sorted({(first + i) % count for i in range(_PARTS)}))
    tested = dict.fromkeys(name for ask in asks for name in ask.objectives)
    return replace(board, asks=asks, objectives=tuple(tested) or board.objectives)
