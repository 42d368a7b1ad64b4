"""Mark the sheets of a sitting by their keys. Pure: keys and sheets in, marks out.

Each paper is marked as an exercise is, question by question, and scaled to the marks of its line
of the blueprint. Written reasons carry the marks that the instructor has given.
"""

import json
import re
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

from fuelkit.assess.marking import BoardMark, Totals, mark_board
from fuelkit.assess.papers.amendments import amended_answers
from fuelkit.assess.papers.begun import BEGIN
from fuelkit.assess.papers.placed import computed, placed
from fuelkit.assess.sheet import Sheet, SheetError

_TIME = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z", re.ASCII)
DROPPED = "This question counts as right for everybody"


@dataclass(frozen=True)
class PaperMark(Totals):
    """A paper with its marks, question by question. Frozen. Has all that a marked exercise has.

    key : Key
    boards : tuple of BoardMark
        In the order of the key; lines and marks are those of the paper.
    open_reasons : tuple of str
        Names of questions whose written reasons the instructor has still to mark.
    late : tuple of str
        Names of questions that were committed after the time was up.
    beliefs : tuple of FoundBelief
        What the answers speak for, once it was looked for: see `beliefs_found.with_beliefs`.
    """

    file: str
    sheet: Sheet
    key: object
    boards: tuple
    open_reasons: tuple
    late: tuple = ()
    beliefs: tuple = ()

    @property
    def title(self):
        """Title of the paper."""
        return self.key.title


@lru_cache(maxsize=4096)
def _kept(board):
    return computed(board)


@lru_cache(maxsize=4096)
def nameless(board):
    """Return a board under a name of no paper; kept, since a sheet's asks take long to draw."""
    return placed(board, 0)


@lru_cache(maxsize=256)  # marks, beliefs and report ask for the same in turn
def answers_of(board):
    """Return the computed answers of a question's board.

    They are kept under a name of no paper, since the same question stands on many.
    """
    found = _kept(nameless(board))
    return tuple(replace(a, ask=ask) for a, ask in zip(found, board.asks, strict=True))


def mark_paper(key, sheet, file="", *, amendments=(), awards=None, minutes=0.0, more=0.0):
    """Return the marks of one sheet.

    Parameters
    ----------
    key : Key
    sheet : Sheet
    file : str
        Name of the sheet's file, for the lists.
    amendments : sequence of Amendment
    awards : dict of str to float
        Share of the marks for each written reason, by the question's name.
    minutes, more : float
        Time limit, and what was given beside it; 0 for none. [min]

    Raises
    ------
    SheetError
        If it answers another paper, something that is not asked, was not handed in, or was
        changed afterwards.
    """
    check_sheet(key, sheet)
    boards, waiting = [], []
    for question in key.questions:
        given = sheet.answers.get(question.name, {}).get("given", {})
        award = (awards or {}).get(question.name)
        if question.kind == "reason" and award is None and any(given.values()):
            waiting.append(question.name)
        own = [a for a in amendments if a.question == question.source]
        boards.append(_marked(question, given, own, award))
    return PaperMark(
        file, sheet, key, tuple(boards), tuple(waiting), _late(sheet, minutes + more, minutes)
    )


def check_sheet(key, sheet):
    """Raise SheetError if a sheet cannot be an answer to the paper of a key."""
    if (sheet.unit, sheet.learner) != (key.paper, key.learner):
        raise SheetError(f"it is for {sheet.unit[:60]!r} of {sheet.learner}, not for this paper")
    if sheet.aircraft != key.fingerprint:
        raise SheetError("it was answered for another edition of the aircraft file")
    if not _is_text(sheet):
        raise SheetError("it holds signs that no text has")
    known = {q.name: {ask.identifier for ask in q.board.asks} for q in key.questions}
    for name, entry in sheet.answers.items():
        if name == BEGIN or name.startswith("more-time"):
            continue
        if name not in known or not set(entry["given"]) <= known[name] or "compared" in entry:
            raise SheetError(f"it answers something that is not asked ({name[:40]!r})")
    if not sheet.handed_in:
        raise SheetError("it was not handed in; ask the learner to do so, or finish typing it in")
    if sheet.receipt != sheet.true_receipt():
        raise SheetError("it was changed after it was handed in: the receipt does not fit")


def _is_text(sheet):
    """Whether all of it can be written as UTF-8: JSON can hold halves of signs, files cannot."""
    try:
        json.dumps(sheet.__dict__, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return False
    return True


def _marked(question, given, amendments, award):
    if question.kind != "reason":
        award = None  # only the instructor's own marking knows it
    texts = tuple(sorted(given.items()))
    return _as_given(question.board, question.kind, question.marks, texts, tuple(amendments), award)


@lru_cache(maxsize=4096)  # of a class many give the same answers to the same question
def _as_given(board, kind, marks, given, amendments, award):
    """A board's marks, for pairs of ask and what was given, and what a reason was awarded."""
    answers, texts = amended_answers(answers_of(board), dict(given), amendments)
    marked = mark_board(board, answers, texts)
    if kind == "reason":
        marked = _with_award(marked, award)
    why = next((amendment.because for amendment in amendments if amendment.drop), None)
    if why is None:
        return _scaled(marked, marks)
    lines = tuple(replace(line, marks=0.0, full=0.0) for line in marked.lines)
    return BoardMark(marked.name, marked.title, lines, marks, marks, f"{DROPPED}: {why}")


def _with_award(board, award):
    line = board.lines[0]
    said = "Not marked yet" if award is None else f"Marked by your instructor: {award:.0%}"
    marked = replace(
        line, marks=line.full * (award or 0.0), is_right=(award or 0.0) >= 0.999,
        reason=f"{said}." if line.given != "no answer" else "",
    )  # fmt: skip
    return replace(board, lines=(marked,))


def _scaled(board, marks):
    """A marked board with its marks brought to those of its line."""
    factor = marks / board.full if board.full else 0.0
    lines = tuple(
        replace(line, marks=line.marks * factor, full=line.full * factor) for line in board.lines
    )
    return replace(
        board, lines=lines, state_marks=board.state_marks * factor,
        state_full=board.state_full * factor,
    )  # fmt: skip


def _late(sheet, limit, is_limited):
    """Questions committed after the time was up, by the learner's own clock."""
    if not is_limited:
        return ()
    if BEGIN not in sheet.answers:
        raise SheetError("it was never begun; it was changed by hand, or another kit made it")
    begun = _moment(sheet.answers[BEGIN]["committed"])
    from_start = {
        name: (_moment(entry["committed"]) - begun).total_seconds()
        for name, entry in sheet.answers.items() if name.startswith("q")
    }  # fmt: skip
    return tuple(name for name, time in from_start.items() if time > 60.0 * limit + 1.0)


def _moment(text):
    """The moment that a time of a sheet means."""
    try:
        if _TIME.fullmatch(text):
            return datetime.fromisoformat(text[:-1])
    except ValueError:
        pass  # such as the 31st of February
    raise SheetError(f"a time in it is {text[:20]!r}; it must be such as 2027-01-31T08:30:00Z")
