"""A lesson in a notebook: predict, commit, then see the computed flight beside the prediction."""

import os
from functools import partial
from html import escape

from fuelkit.assess.moments import moment
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.writing import clock
from fuelkit.show.board import PredictionBoard
from fuelkit.show.headings import counted, headings
from fuelkit.show.lesson_pages import LessonPages
from fuelkit.show.objectives_page import objectives_page
from fuelkit.show.page import Page, joined
from fuelkit.show.practice import Practice
from fuelkit.show.projector import projected
from fuelkit.show.worked import (
    answers_page,
    board_rules_page,
    pressures_page,
    situation_page,
)

PROJECTOR = "FUELKIT_PROJECTOR"
"""Environment variable that opens every lesson for the projector."""


def open_lesson(identifier, aircraft="", *, projector=None):
    """Return a lesson of the kit, ready to be worked in a notebook.

    Parameters
    ----------
    identifier : str
        Such as "lesson-cruise".
    aircraft : str
        A name in the kit or the path of a file, if not the one that the course is taught on.
    projector : bool, optional
        Whether boards are shown to a class: large, with answers hidden until they are revealed.
        If not given, as the course was opened.

    Raises
    ------
    DataFileError
        If the kit has no such lesson; names the ones it has.
    """
    if projector is None:
        projector = bool(os.environ.get(PROJECTOR))
    return Lesson(identifier, aircraft, projector=projector)


class Lesson(LessonPages):
    """A lesson. Each method is one short call of a notebook cell; see also `LessonPages`."""

    def first_open_before(self, name):
        """Return which earlier board is still to be committed; nothing for the projector."""
        return "" if self.projector else super().first_open_before(name)

    # ------------------------------------------------------------------------------- the parts
    def goals(self):
        """Return what a learner will be able to do, with the codes of the syllabus it serves."""
        items = "".join(f"<li>{escape(goal)}</li>" for goal in self.unit.goals)
        said = Page(f"<ul>{items}</ul>", "\n".join(f"* {goal}" for goal in self.unit.goals))
        table = objectives_page(self.unit.identifier)
        words = "The lines of public syllabuses that this lesson serves"
        folded = f"<details><summary>{words}</summary>{table.html}</details>"
        return joined(said, Page(folded, table.text))

    def starters(self):
        """Return the closed-book questions on earlier lessons, on one board."""
        return self._of_form("starter")

    def example(self):
        """Return a situation worked through: what is seen, rules, pressures, answers."""
        board = self._first("worked")
        if board is None:
            return self.left_out("to work through")
        closed = partial(self.first_open_before, board.name)
        return self.reveal_when(lambda: self._example(board), closed)

    def _example(self, board):
        flight = self.flight_of(board)
        pages = [
            Page(f"<p>{escape(board.lead)}</p>", board.lead),
            self._drawn(board, self.shown(board), "What you see"),
            situation_page(flight, board),
        ]
        if board.scene == "flight":
            pages += [
                board_rules_page(flight, board),
                pressures_page(flight, board, self.asked_words(board)),
                self._drawn(board, moment(flight, board.asked), "What the aircraft did", given={}),
            ]
        return joined(*pages, answers_page(self.marked(board, {}), board))

    def _drawn(self, board, time, title, given=None):
        drawing = self.drawing(board, time, title, given=given)
        return Page(drawing, f"{title} at {clock(time)}.")

    def half_done(self):
        """Return a board on which a part is done already."""
        return self._of_form("half")

    def contrast(self, number=1):
        """Return a board on what another aircraft of the kit does here."""
        found = [b for b in self.unit.boards if b.aircraft and b.scene != "sheet"]
        if not 1 <= number <= len(found):
            return self.left_out("for contrast")
        return self.place(found[number - 1].name)

    def another(self, which=1):
        """Return a fresh situation like that of a board; another one after each commit."""
        board = self.named(which)
        if board is None:
            return self.left_out(which)
        return Practice(self, board).place()

    def _first(self, form):
        return next((board for board in self.unit.boards if board.form == form), None)

    def _of_form(self, form):
        board = self._first(form)
        return self.place(board.name) if board else self.left_out(f"of this kind ({form})")

    # --------------------------------------------------------------------------------- boards
    def make_board(self, name):
        """Return a prediction board: the situation, what to predict, then the comparison."""
        board = self.unit.board(name)
        if self.projector:
            return projected(self, board)
        file = self.answer_file
        sheet = file.sheet
        entry = sheet.answers.get(name)
        given = entry["given"] if entry else sheet.drafts.get(name, {})
        return self.predicted(
            board, given, entry,
            restored_note=self._restored(entry, given, file.note),
            on_draft=lambda values: self.answer_file.draft(name, values),
            on_commit=lambda values: self._commit(board, values),
            on_compare=lambda marks: self._compare(board, marks),
        )  # fmt: skip

    def predicted(self, board, given, entry, **more):
        """Return a board with what was set on it, and with its result if it is committed."""
        shown = self.shown(board)
        compared = (entry or {}).get("compared", {})
        state = {} if not entry else self.result(board, given, told=bool(compared))
        return PredictionBoard(
            title=board.title,
            lead=board.lead,
            when=self.when_words(board),
            drawing=self.drawing(board, shown, "What you see now", asked=True),
            table=self.drawing_table(board, shown),
            figures=self.figures_html(board),
            asks=self.asks(board),
            answers=given,
            committed=bool(entry),
            compared=compared,
            **headings(board),
            **state,
            **more,
        )

    def when_words(self, board):
        """Return what is asked for when, as the heading of a board's questions."""
        if board.scene != "flight":
            return "Decide for each" if board.scene == "walk-around" else "Work it out"
        return f"Predict {self.asked_words(board)}" if board.drawing else "From memory"

    @staticmethod
    def _restored(entry, given, note):
        if entry:
            return "Your committed prediction was restored."
        return "What you had set was restored; it is not committed yet." if given else note

    def _commit(self, board, values):
        self.check_readable(board, values)
        self.answer_file.commit(board.name, values)
        result = self.result(board, values, told=False) | self.keep(board, values)
        self.open_what_waits()
        return result

    def check_readable(self, board, values):
        """Raise with what is asked again, and how, if a figure cannot be read."""
        faults = self.unreadable(board, values)
        if faults:
            raise FigureError(" ".join(faults))

    def _compare(self, board, marks):
        given = self.answer_file.compare(board.name, marks).answers[board.name]["given"]
        return self.reasons(board, given)

    def result(self, board, given, *, told):
        """Return what a board shows once it is committed: never before.

        Until the learner has marked what differs (`told`), no verdict and no reason is in it.
        """
        rows = self._rows(board, given)
        if not told:
            rows = [{k: row[k] for k in ("id", "text", "given", "right")} for row in rows]
        flight = self.flight_of(board)
        asked = moment(flight, board.asked)
        is_walk = board.scene == "walk-around"  # shows what was decided, and no verdict
        return {
            "comparison": rows,
            "after_drawing": self._after(board, given if told or is_walk else {}),
            "after_table": self.drawing_table(board, asked, truth=True),
            "note": self._note(board, given, rows) if told else "",
        }

    def reasons(self, board, given):
        """Return verdicts, reasons and the closing words of a committed board."""
        rows = self._rows(board, given)
        return {
            "reasons": [{k: row[k] for k in ("id", "is_right", "reason")} for row in rows],
            "note": self._note(board, given, rows),
            "after_drawing": self._after(board, given),
        }

    def _after(self, board, given):
        """What the aircraft did; nothing where the board shows no more than before."""
        if board.scene not in ("flight", "walk-around"):
            return ""
        asked = moment(self.flight_of(board), board.asked)
        return self.drawing(board, asked, "The computed flight", given=given)

    def _rows(self, board, given):
        marked = self.marked(board, given)
        set_by_kit = {ask.identifier for ask in board.asks if ask.given}
        return [
            {
                "id": line.identifier,
                "text": line.text,
                "given": line.given,
                "right": line.right,
                "is_right": line.is_right,
                "reason": line.reason,
            }
            for line in marked.lines
            if line.identifier not in set_by_kit
        ]

    def _note(self, board, given, rows):
        if board.scene == "sheet":
            return f"{self.marked(board, given).note} {board.after}".strip()
        right = sum(row["is_right"] for row in rows)
        return f"{counted(board, right, len(rows))} {board.after}".strip()
