"""A learner from a script: works the boards of a lesson in a browser, and makes mistakes.

What is right comes from the kit, computed in the test's own process; a fixed seed says where the
learner goes wrong. Each kind of ask is met once by the keyboard alone, then by the mouse.
"""

import json
import random
import re
from dataclasses import dataclass, field

from fuelkit.assess.written import periods_text
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.headings import counted
from tests.browser.hands import Keyboard, Mouse

PATIENCE = 240_000  # ms; a lesson computes many flights, and the machine may be busy
MISTAKES = 0.35  # share of the answers that go wrong, and of the marks when comparing
UNREADABLE = {"number": "about 3000", "time": "at noon"}
ASKED_AGAIN = {"number": "write a figure such as", "time": "write a time such as"}


def answer_kind(answer):
    """Return how an answer is given on a board: "choice", "long choice", "number", ..."""
    if answer.options:
        is_long = answer.ask.kind in ("choice", "fault", "finding")
        return "long choice" if is_long or any(len(o) > 40 for o in answer.options) else "choice"
    kinds = {"h:mm:ss": "time", "h:mm": "time", "periods": "bands"}
    return kinds.get(answer.unit, "number")


def said(answer, chance, *, wrong, span):
    """Return what a learner writes for an answer, as people write it; wrong if that is asked for.

    Parameters
    ----------
    answer : Answer
    chance : random.Random
    wrong : bool
    span : (float, float)
        The stretch of time that the board is about. [s]
    """
    if answer.options:
        others = [option for option in answer.options if option != answer.value]
        return chance.choice(others) if wrong else answer.value
    if answer.unit == "periods":
        other = "never" if answer.value else f"{clock(span[0])}-{clock(span[1])}"
        return other if wrong else periods_text(answer.value)
    if answer.sheet is not None:
        value = answer.value * 1.25 + 5.0 if wrong else answer.value
        return answer.written(value).removesuffix(answer.unit).strip()
    off = 3.0 * answer.ask.tolerance + 120.0 if wrong else 0.0
    if answer.unit == "kg":
        return _mass_said(answer.value + off, chance)
    return clock(answer.value + off)


def _mass_said(mass, chance):
    forms = (mass_text(mass), f"{mass:.0f}", f"{mass:,.0f}", f"{mass / 1000.0:.3f} t")
    return chance.choice(forms)


@dataclass
class Learner:
    """Works the boards of one lesson from top to bottom.

    page : Page
        Of a browser, with the notebook open and run.
    lesson : Lesson
        The same lesson in the test's process.
    answers : Path
        The folder in which the notebook keeps its answers.
    seed : int
    watch : callable, optional
        Called with a board on the page and a word for what it shows.
    """

    page: object
    lesson: object
    answers: object
    seed: int
    watch: object = None
    met: set = field(default_factory=set)
    asked_again: str = ""
    wrong: int = 0

    def __post_init__(self):
        self.chance = random.Random(self.seed)

    # ------------------------------------------------------------------------------ one board
    def work(self, board, place):
        """Predict, commit, compare and read the reasons of a board; check each step.

        Parameters
        ----------
        board : Board
        place : Locator
            The board on the page.

        Returns
        -------
        (dict of str to str, dict of str to str)
            What was entered, and how each row was marked.
        """
        answers = self.lesson.computed(board)
        kinds = {answer_kind(a) for a in answers if not a.ask.given}
        keys = bool(kinds - self.met)
        self.met |= kinds
        hand = Keyboard(self.page, place) if keys else Mouse()
        self._told("open", place)
        given = self._predict(board, answers, place, hand)
        self._told("set", place)
        hand.press(place.locator(".panel:not(.comparing) button.commit"))
        place.locator(".comparing").wait_for()
        assert place.locator(".verdict").count() == 0, f"{board.title}: told before comparing"
        self._told("comparing", place)
        marks = self._compare(board, given, place, hand)
        hand.press(place.locator(".comparing button.commit"))
        place.locator(".result table").wait_for()
        self._told("told", place)
        self._check_told(board, given, marks, place)
        return given, marks

    def _told(self, word, place):
        if self.watch:
            self.watch(place, word)

    def _predict(self, board, answers, place, hand):
        groups = place.locator(".panel:not(.comparing) .asks > .ask")
        assert groups.count() == len(answers), board.title
        span = _span(self.lesson, board)
        given, measured = {}, []
        for number, answer in enumerate(answers):
            group, kind = groups.nth(number), answer_kind(answer)
            assert plain(answer.text) in plain(group.inner_text()), (board.title, answer.text)
            if answer.ask.given:
                assert "set for you" in group.inner_text()
                continue
            wrong = self.chance.random() < MISTAKES
            text = said(answer, self.chance, wrong=wrong, span=span)
            given[answer.ask.identifier] = text
            hand.set(group, kind, text)
            if kind in UNREADABLE and not self.asked_again:
                measured.append((group, kind, text))
        for group, kind, text in measured[:1]:
            self._write_nonsense(board, place, group, kind, hand)
            hand.set(group, kind, text)
        return given

    def _write_nonsense(self, board, place, group, kind, hand):
        """Write what cannot be read: the board asks again, and nothing is committed."""
        hand.set(group, kind, UNREADABLE[kind])
        commit = place.locator(".panel:not(.comparing) button.commit")
        said_there = place.locator(".panel:not(.comparing) .row .quiet")
        assert ASKED_AGAIN[kind] in said_there.inner_text()
        assert commit.get_attribute("aria-disabled") == "true"
        commit.click(force=True)
        self.page.wait_for_timeout(400)
        assert place.locator(".comparing, .result:visible").count() == 0
        assert board.name not in self._sheet().get("answers", {})
        self.asked_again = kind

    def _compare(self, board, given, place, hand):
        """Mark each row same or differs, as it is or by mistake."""
        lines = self._lines(board, given)
        rows = place.locator(".comparing .ask")
        assert rows.count() == len(lines), board.title
        marks = {}
        for number, line in enumerate(lines):
            row = rows.nth(number)
            shown = row.locator("strong").all_inner_texts()
            expected = [plain(line.given), plain(line.right)]
            assert [plain(words) for words in shown] == expected, (board.title, line.text)
            is_mistaken = self.chance.random() < MISTAKES
            mark = "same" if line.is_right != is_mistaken else "differs"
            hand.mark(row, mark)
            marks[line.identifier] = mark
        return marks

    def _lines(self, board, given):
        """What the marking says of each ask that the learner answered."""
        lines = self.lesson.marked(board, given).lines
        return [line for line in lines if line.identifier in given]

    def _check_told(self, board, given, marks, place):
        """Hold what the board tells against the marking."""
        lines = self._lines(board, given)
        rows = place.locator(".result tbody tr")
        assert rows.count() == len(lines), board.title
        for number, line in enumerate(lines):
            cells = rows.nth(number).locator("th, td").all_inner_texts()
            verdict = "✓ agrees" if line.is_right else "✗ differs"
            mark = marks[line.identifier]
            saw = "you saw it" if (mark == "same") == line.is_right else "look again"
            expected = [line.text, line.given, line.right, verdict, f"{mark}: {saw}", line.reason]
            assert [plain(c) for c in cells] == [plain(e) for e in expected], board.title
            self.wrong += not line.is_right
        told = plain(place.locator(".result").inner_text())
        right = sum(line.is_right for line in lines)
        note = counted(board, right, len(lines))
        assert (self.lesson.marked(board, given).note if board.scene == "sheet" else note) in told

    # ----------------------------------------------------------------------------- what is kept
    def _sheet(self, unit=""):
        path = self.answers / f"{unit or self.lesson.unit.identifier}.HOME.json"
        return json.loads(path.read_text("utf-8")) if path.exists() else {}

    def check_kept(self, board, given, marks, unit=""):
        """Hold the file of answers against what was entered."""
        entry = self._sheet(unit)["answers"][board.name]
        assert entry["given"] == given and entry["compared"] == marks, board.title


def plain(text):
    """Text without what a page makes of its spaces."""
    return re.sub(r"\s+", " ", text).strip()


def _span(lesson, board):
    """The stretch of time that a board's axis shows. [s]"""
    asks = [ask for ask in lesson.asks(board) if ask["kind"] == "bands"]
    return (asks[0]["start"], asks[0]["end"]) if asks else (0.0, 0.0)
