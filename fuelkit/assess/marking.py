"""Mark the answers to one board against the computed flight. Pure: answers in, marks out.

State and feeding asks of a board are marked together and corrected for chance: a part that did
not change since the learner was shown it earns nothing, a false change counts as a miss, and
only what lies above pure guessing earns marks. So is the order of events, pair by pair. Nothing
ever goes below zero. Reasons in the learner's own words earn nothing here: the instructor marks
them.
"""

from dataclasses import dataclass
from functools import cached_property
from math import floor

from fuelkit.assess.figure_marks import mark_sheet
from fuelkit.assess.figure_slips import listed
from fuelkit.assess.written import WORDS, expected_form, read_answer, span_text

_CHANCE_OF_A_PAIR = 0.5  # that two events are put in their order blindly
PASS_SHARE = 0.75
"""Share of the marks that passes, unless the instructor says otherwise."""


def together(marks):
    """Return marks added up, to a tenth, as they stand on every document."""
    return round(sum(marks), 1)


class Totals:
    """The marks of a whole sheet from those of its `boards`, rounded to a tenth.

    So that sheet, feedback and list agree.
    """

    @property
    def marks(self):
        """Marks earned."""
        return together(board.marks for board in self.boards)

    @property
    def full(self):
        """Marks to be had."""
        return together(board.full for board in self.boards)

    @property
    def share(self):
        """Marks earned as a share of those to be had. [-]"""
        return self.marks / self.full if self.full else 0.0

    def has_passed(self, pass_share=PASS_SHARE):
        """Return whether the sheet reaches the pass mark."""
        return self.share >= pass_share - 1e-9

    def share_text(self, pass_share=PASS_SHARE):
        """Return the share in percent; one that falls short is not rounded up to the pass mark."""
        whole = round(100.0 * self.share)
        if not self.has_passed(pass_share) and whole >= 100.0 * pass_share - 1e-9:
            return f"{floor(1000.0 * self.share) / 10.0:.1f} %"
        return f"{whole} %"


@dataclass(frozen=True)
class Line:
    """One ask, marked: what was given, what is right, and why. Frozen.

    marks, full : float
        Marks earned and to be had by this ask alone; those of state and feeding asks stand in
        the board's own line.
    is_change : bool
        Whether it is one of the changes that the marks for states and feeding are counted by.
    """

    identifier: str
    text: str
    given: str
    right: str
    is_right: bool
    marks: float
    full: float
    reason: str
    is_change: bool = False


@dataclass(frozen=True)
class BoardMark:
    """A board, marked. Frozen.

    state_marks, state_full : float
        For its state and feeding asks together, or for the order of its events.
    note : str
        How these came about, in words.
    """

    name: str
    title: str
    lines: tuple
    state_marks: float
    state_full: float
    note: str

    @cached_property
    def marks(self):
        """Marks earned on the whole board."""
        return self.state_marks + sum(line.marks for line in self.lines)

    @cached_property
    def full(self):
        """Marks to be had on the whole board."""
        return self.state_full + sum(line.full for line in self.lines)


def mark_board(board, computed, given):
    """Return the marks for one board.

    Parameters
    ----------
    board : Board
    computed : sequence of Answer
        The computed answers, in the order of the board's asks.
    given : dict of str to str
        What the learner gave, by ask; missing ones count as not answered.

    Returns
    -------
    BoardMark

    Notes
    -----
    With `changed` parts that changed, `right` of them given rightly and `false` parts wrongly
    given as changed: share = right / (changed + false); marks = full · max(0, (share - guess) /
    (1 - guess)), where guess is the mean chance of hitting a changed part blindly. The usual
    correction for guessing, applied to a share: common practice, no source.
    """
    sheet = next((answer.sheet for answer in computed if answer.sheet is not None), None)
    if sheet is not None:
        return _sheet_mark(board, sheet, given)
    lines = tuple(_line(answer, given.get(answer.ask.identifier)) for answer in computed)
    asked = [(a, n) for a, n in zip(computed, lines, strict=True) if not a.ask.given]
    order = [(answer, line) for answer, line in asked if answer.ask.kind == "order"]
    if order:
        share, note = _order_share(order)
        return BoardMark(board.name, board.title, lines, board.state_marks * share,
                         board.state_marks, note)  # fmt: skip
    states = [(answer, line) for answer, line in asked if answer.ask.is_marked_together]
    answered = {i for i, text in given.items() if text}
    share, note = _state_share(states, answered)
    full = board.state_marks if any(answer.changed for answer, _ in states) else 0.0
    return BoardMark(board.name, board.title, lines, full * share, full, note)


def _sheet_mark(board, sheet, given):
    """A figure sheet: each part by itself, and what follows from the learner's own figures."""
    set_by_kit = {ask.about: ask for ask in board.asks if ask.given}
    texts = dict(given)
    for name, value in sheet.worked().items():
        if name in set_by_kit:
            texts[set_by_kit[name].identifier] = sheet.step(name).written(value)
    mark = mark_sheet(sheet, texts, board.name)
    fixed = {ask.identifier for ask in set_by_kit.values()}
    lines = tuple(
        Line(
            line.identifier, line.text, line.given, line.right, line.is_right,
            0.0 if line.identifier in fixed else line.marks,
            0.0 if line.identifier in fixed else line.full, line.reason,
        )
        for line in mark.lines
    )  # fmt: skip
    return BoardMark(board.name, board.title, lines, 0.0, 0.0, mark.note)


def _line(answer, text):
    given = "" if text is None else str(text)
    value = read_answer(answer, text)
    right = value is not None and _agrees(answer, value)
    reason = answer.reason
    if given and value is None:
        reason = f"Your answer cannot be read; expected was {expected_form(answer)}. {reason}"
    full = 0.0 if answer.ask.is_marked_together or answer.ask.given else answer.ask.marks
    share = float(right)
    if answer.unit == "periods" and value is not None:
        share = _ends_share(answer, value)
    return Line(
        answer.ask.identifier,
        answer.text,
        given or "no answer",
        _right_text(answer),
        right,
        full * share,
        full,
        reason,
        answer.changed and answer.ask.is_marked_together and not answer.ask.given,
    )


def _right_text(answer):
    if answer.options or answer.unit == WORDS:
        return answer.written()
    if answer.unit == "kg":
        return f"{answer.written()} ± {answer.ask.tolerance:.0f} kg"
    if answer.unit == "periods" and not answer.value:
        return answer.written()
    return f"{answer.written()} ± {span_text(answer.ask.tolerance)}"


def _agrees(answer, value):
    if answer.unit == WORDS:
        return False
    if answer.options:
        return value == answer.value
    if answer.unit == "periods":
        return _ends_share(answer, value) == 1.0
    return abs(value - answer.value) <= answer.ask.tolerance + 1e-9


def _ends_share(answer, periods):
    """Share of the beginnings and ends that are right; each one too many counts as a miss."""
    right = [("begin", b) for b, _ in answer.value] + [("end", e) for _, e in answer.value]
    given = [("begin", b) for b, _ in periods] + [("end", e) for _, e in periods]
    if not right or not given:
        return float(right == given)
    near = sum(
        any(k == kind and abs(t - time) <= answer.ask.tolerance + 1e-9 for k, t in given)
        for kind, time in right
    )
    return near / max(len(right), len(given))


def _order_share(order):
    """Share of the pairs of events that are in their right order, corrected for chance: one half.

    An event that is given twice or not at all puts all its pairs out of order.
    """
    right = [answer.value for answer, _ in order]
    given = [line.given for _, line in order]
    places = {event: given.index(event) for event in right if given.count(event) == 1}
    pairs = [(first, then) for i, first in enumerate(right) for then in right[i + 1 :]]
    kept = sum(a in places and b in places and places[a] < places[b] for a, b in pairs)
    note = f"{kept} of {len(pairs)} pairs in the right order; half of them would be chance"
    return _above_chance(kept / len(pairs), _CHANCE_OF_A_PAIR), note


def split_words(computed):
    """Return how the marks of a board are split among its parts, for whoever marks by hand.

    Parameters
    ----------
    computed : sequence of Answer

    Notes
    -----
    Shares are computed by the functions by which `mark_board` marks.
    """
    if any(answer.sheet is not None for answer in computed):
        return (
            f"{_parts_earn(computed)} A figure that follows from the learner's own earlier figures "
            "earns its marks too."
        )
    if computed[0].ask.kind == "order":
        pairs = len(computed) * (len(computed) - 1) // 2
        return (
            "Of each two events it counts whether they stand in their right order, half of which "
            f"would be chance; of all marks: {_shares(pairs, _CHANCE_OF_A_PAIR)}."
        )
    asked = [answer for answer in computed if not answer.ask.given]
    changed = [answer for answer in asked if answer.ask.is_marked_together and answer.changed]
    if not changed:
        return ""
    parts = listed(str(i) for i, answer in enumerate(computed, start=1) if answer in changed)
    return (
        f"Counted is what changes, part{'s' if len(changed) > 1 else ''} {parts}; of all marks: "
        f"{_shares(len(changed), _guess(changed))}. Another part wrongly given as changed counts "
        "like one more change that was missed."
    )


def _shares(count, guess):
    """What so many right of a count earn, all of them first, as far as it is anything."""
    shares = [(right, _above_chance(right / count, guess)) for right in range(count, 0, -1)]
    told = [f"{right} right, {100.0 * share:.0f} %" for right, share in shares if share > 0.0]
    return "; ".join([*told, "fewer, nothing"] if len(told) < count else told)


def _parts_earn(computed):
    """What each part earns by itself, those that earn alike together."""
    alike = {}
    for number, answer in enumerate(computed, start=1):
        alike.setdefault(answer.ask.marks, []).append(str(number))
    whole = sum(answer.ask.marks for answer in computed)
    if len(alike) == 1:
        return f"Each of {len(computed)} parts earns {100.0 / len(computed):.1f} % of all marks."
    told = "; ".join(
        f"{listed(parts)}: {100.0 * marks / whole:.1f} %{' each' if len(parts) > 1 else ''}"
        for marks, parts in alike.items()
    )
    return f"Each part earns its own marks, of all marks {told}."


def _guess(changed):
    """The mean chance of hitting a changed part blindly. [-]"""
    return sum(1.0 / len(answer.options) for answer in changed) / len(changed)


def _above_chance(share, guess):
    return max(0.0, (share - guess) / (1.0 - guess))


def _state_share(states, answered):
    changed = [(answer, line) for answer, line in states if answer.changed]
    if not changed:
        return 0.0, ""
    right = sum(line.is_right for _, line in changed)
    false = sum(
        not line.is_right and line.identifier in answered and line.given in answer.options
        for answer, line in states
        if not answer.changed
    )
    guess = _guess([answer for answer, _ in changed])
    share = right / (len(changed) + false)
    note = f"{right} of {len(changed)} changes foreseen"
    if false:
        note += f", {false} that did not happen"
    note += "; only what is better than blind guessing earns marks"
    return _above_chance(share, guess), note
