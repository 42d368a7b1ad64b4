"""Today's review in a notebook: one question after the other, with reasons, none of it marked."""

from dataclasses import replace

import ipywidgets

from fuelkit.assess.answer_file import AnswerFile, signed_in
from fuelkit.assess.answers import answers
from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.course import Unit
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.papers.placed import computed, flight_of_board
from fuelkit.assess.progress.believed import beliefs_that_fit
from fuelkit.assess.progress.lines import CERTAINTIES
from fuelkit.assess.progress.record import ProgressRecord, now_text
from fuelkit.assess.progress.review import question_again
from fuelkit.assess.progress.tries import REVIEW
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.lesson import Lesson
from fuelkit.show.page import Page
from fuelkit.show.papers.content import heading_of
from fuelkit.show.progress_page import day_page
from fuelkit.show.reveal import Reveal

SURE = "how-sure"
"""The id of the ask about certainty."""

_MOST_KEPT = 300
_GONE = "This question belongs to an earlier edition of the course, which made it otherwise."
_ERASED = "This review was erased with the rest of your progress."


class Review(Lesson):
    """The questions of one day.

    Parameters
    ----------
    folder : Path
        Of the answers.
    aircraft : str
        That the course is taught on.
    drawn : dict
        The day's entry in the record.
    changed : callable
        Called after each commit, so that pages about progress follow.
    """

    def __init__(self, folder, aircraft, drawn, changed):
        self.unit = Unit(REVIEW, "lesson", "Today's review", aircraft, "", (), ())
        self.folder, self.projector, self._waiting = folder, False, []
        self._drawn, self._changed, self._sources, self._questions = drawn, changed, {}, {}
        self.holder = ipywidgets.VBox()

    # ---------------------------------------------------------------------------- the questions
    @property
    def names(self):
        """Names of the day's questions, in their order."""
        return [one["board"] for one in self._drawn["questions"]]

    def question(self, number):
        """Return a question by its number, from 1; None if the kit does not make it any more."""
        if number not in self._questions:
            one = self._drawn["questions"][number - 1]
            found = question_again(one, self.unit.aircraft, self._sources)
            self._questions[number] = found
        return self._questions[number]

    @property
    def answer_file(self):
        """The learner's answers to reviews, as they are on disk now."""
        fingerprint = aircraft_of(self.unit.aircraft).fingerprint
        return AnswerFile(self.folder, REVIEW, signed_in(self.folder), fingerprint)

    def flight_of(self, board):
        """Return the flight of a question; on the stand, a short one with its aircraft."""
        if board.scene == "flight":
            return flight_of_board(board)
        sector = sectors_for(aircraft_of(board.aircraft))[0]
        return flight_of(board.aircraft, sector, until=1.0)

    def computed(self, board):
        """Return the computed answers, whose options do not tell by their order which is right."""
        if board.scene == "flight":
            return computed(board)
        return answers(self.flight_of(board), board)

    def when_words(self, board):
        """Return what is asked, as the heading of a question."""
        return heading_of(self, board)

    def asks(self, board):
        """Return what a question asks, and how sure one is of it."""
        sure = {
            "id": SURE, "text": "How sure are you?", "kind": "choice", "optional": True,
            "options": list(CERTAINTIES), "unit": "", "component": None,
            "hint": "if you like; for you alone, nothing is marked by it",
        }  # fmt: skip
        return [*super().asks(board), sure]

    # ------------------------------------------------------------------------------- the place
    def place(self, number=None):
        """Return the place where questions come: the first open one, or that of a number."""
        if number is None:
            self._show_next()
        else:
            self._show(number)
        return self.holder

    def clear(self):
        """Show nothing more of the day: its record was erased."""
        self.holder.children = (Reveal(lambda: Page(f"<p>{_ERASED}</p>", _ERASED), lambda: ""),)

    def _show_next(self):
        done = self.answer_file.sheet.answers
        open_ones = [n for n, name in enumerate(self.names, 1)
                     if name not in done and self.question(n) is not None]  # fmt: skip
        if open_ones:
            self._show(open_ones[0])
        else:
            self.holder.children = (Reveal(self.summary, lambda: ""),)

    def _show(self, number):
        question = self.question(number)
        if question is None:
            self.holder.children = (Reveal(lambda: Page(f"<p>{_GONE}</p>", _GONE), lambda: ""),)
            return
        title = f"{number} of {len(self.names)} · {question.board.title}"
        board, file = replace(question.board, title=title), self.answer_file
        sheet = file.sheet
        entry = sheet.answers.get(board.name)
        given = entry["given"] if entry else sheet.drafts.get(board.name, {})
        left = [n for n in self.names if n not in sheet.answers and n != board.name]
        widget = self.predicted(
            board, given, entry,
            restored_note=self._restored(entry, given, file.note),
            on_draft=lambda values: self.answer_file.draft(board.name, values),
            on_commit=lambda values: self._commit(board, values),
            on_compare=lambda marks: self._compare(board, marks),
            another_label="Next question" if left else "Finish today's review",
            on_another=self._show_next,
        )  # fmt: skip
        self.holder.children = (widget,)

    def _commit(self, board, values):
        self.check_readable(board, values)
        self.answer_file.commit(board.name, values, most=_MOST_KEPT)
        kept = self.keep(board, values, certainty=values.get(SURE, ""))
        result = self.result(board, values, told=False) | kept
        self._changed()
        return result

    def _compare(self, board, marks):
        given = self.answer_file.compare(board.name, marks).answers[board.name]["given"]
        told = self.reasons(board, given)
        words = self._believed(board, given)
        self._changed()
        return told | {"note": f"{told['note']} {words}".strip()}

    def _believed(self, board, given):
        """What a wrong answer fits, as a sentence; kept in the record, so that it comes again."""
        if all(line.is_right for line in self.marked(board, given).lines):
            return ""
        names = beliefs_that_fit(self.question(1 + self.names.index(board.name)), given)
        if not names:
            return ""
        entry = {"event": "believed", "time": now_text(), "board": board.name,
                 "beliefs": list(names)}  # fmt: skip
        try:
            ProgressRecord(self.folder, signed_in(self.folder)).add(entry)
        except (FuelkitError, OSError) as problem:
            return f"(Not kept in the record: {problem})"
        return " ".join(belief_of(name).feedback for name in names)

    def summary(self):
        """Return the day's questions with how each went, as a page."""
        answers_ = self.answer_file.sheet.answers
        rows = []
        for number, name in enumerate(self.names, start=1):
            question = self.question(number)
            if question is None or name not in answers_:
                continue
            lines = self.marked(question.board, answers_[name]["given"]).lines
            right = sum(line.is_right for line in lines)
            rows.append((number, question, right, len(lines)))
        return day_page(rows)
