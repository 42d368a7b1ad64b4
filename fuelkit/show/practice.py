"""Practice that never runs out: fresh situations like one of a lesson's, each with its answers."""

from dataclasses import replace

import ipywidgets

from fuelkit.assess.answer_file import AnswerFile, signed_in
from fuelkit.assess.teach import fresh_board
from fuelkit.show.reveal import Reveal

_MOST_KEPT = 300


class Practice:
    """Fresh situations like that of one board, kept apart from the lesson's own answers.

    Parameters
    ----------
    lesson : Lesson
    board : Board
        The one that they are like.
    """

    def __init__(self, lesson, board):
        self.lesson, self.like = lesson, board
        self.holder = ipywidgets.VBox()

    @property
    def file(self):
        """The learner's practice with this lesson, on disk."""
        lesson = self.lesson
        unit = f"practice-{lesson.unit.identifier}"
        fingerprint = lesson.flight.aircraft.fingerprint
        return AnswerFile(lesson.folder, unit, signed_in(lesson.folder), fingerprint)

    def place(self):
        """Return the place in the notebook where the situations come."""
        self.refresh()
        if not self.is_open:
            self.lesson.waits(self)
        return self.holder

    @property
    def is_open(self):
        """Whether a situation is shown."""
        return not self._closed()

    def _closed(self):
        lesson = self.lesson
        if lesson.projector or self.like.name in lesson.answer_file.sheet.answers:
            return ""
        return f"Practice opens when you have committed “{self.like.title}”."

    def refresh(self):
        """Show the situation that comes next, once the board that it is like is committed."""
        if self._closed():
            self.holder.children = (Reveal(lambda: None, self._closed),)
        elif not self.holder.children or isinstance(self.holder.children[0], Reveal):
            self.show(self._next())

    def _next(self):
        """The number of the situation: one that is open, or the first that is not committed."""
        done = [n for n in self.file.sheet.answers if n.startswith(f"{self.like.name}~")]
        return 1 + max((int(name.rpartition("~")[2]) for name in done), default=0)

    def show(self, number):
        """Show the situation of a number."""
        board = fresh_board(self.lesson.unit, self.like, number)
        entry = self.file.sheet.answers.get(board.name)
        given = entry["given"] if entry else self.file.sheet.drafts.get(board.name, {})
        widget = self.lesson.predicted(
            replace(board, title=self._title(board)), given, entry,
            on_draft=lambda values: self.file.draft(board.name, values),
            on_commit=lambda values: self._commit(board, values),
            on_compare=lambda marks: self._compare(board, marks),
            another_label="Another one like this",
            on_another=lambda: self.show(number + 1),
        )  # fmt: skip
        self.holder.children = (widget,)

    def _title(self, board):
        """A title that no other practice of the lesson has, whatever is drawn."""
        if board.title == self.like.title:
            return board.title
        return f"{board.title} (like “{self.like.title}”)"

    def _commit(self, board, values):
        self.lesson.check_readable(board, values)
        self.file.commit(board.name, values, most=_MOST_KEPT)
        kept = self.lesson.keep(board, values, unit=f"practice-{self.lesson.unit.identifier}")
        return self.lesson.result(board, values, told=False) | kept

    def _compare(self, board, marks):
        given = self.file.compare(board.name, marks).answers[board.name]["given"]
        return self.lesson.reasons(board, given)
