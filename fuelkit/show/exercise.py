"""An exercise in a notebook: answers are kept and handed in; nothing is told before marking."""

from fuelkit.assess.answer_file import AT_HOME, known_learner, sign_in, signed_in
from fuelkit.assess.sheet import moment_words
from fuelkit.figures.quantities import FigureError
from fuelkit.show.board import PredictionBoard
from fuelkit.show.hand_in import hand_in_board, state_words
from fuelkit.show.workbook import Workbook


def open_exercise(identifier, aircraft=""):
    """Return an exercise of the kit, ready to be worked in a notebook.

    Parameters
    ----------
    identifier : str
        Such as "exercise-cruise".
    aircraft : str
        A name in the kit or the path of a file, if not the one that the course is taught on.

    Raises
    ------
    DataFileError
        If the kit has no such exercise; names the ones it has.
    """
    return Exercise(identifier, aircraft)


class Exercise(Workbook):
    """An exercise. Each method is one short call of a notebook cell."""

    def __init__(self, identifier, aircraft=""):
        super().__init__(identifier, aircraft)
        self._hand_in_boards = []

    def sign_in(self):
        """Return a board that asks for the learner's code."""
        code, known = signed_in(self.folder), known_learner()
        return PredictionBoard(
            title="Who are you?",
            lead="Enter the code that your instructor gave you; no name. At home, leave it empty "
            f"and your sheet is kept under {AT_HOME}.",
            when="Your code",
            panel_heading="Sign in",
            done_heading="Signed in",
            asks=[{"id": "code", "text": "Learner code", "kind": "text", "options": [], "unit": "",
                   "component": None, "hint": "letters and digits, such as A07"}],
            answers={} if code == AT_HOME else {"code": code},
            committed=bool(known),
            note=f"The classroom has signed you in as {known}." if known else "",
            commit_label="Sign in",
            on_commit=lambda values: self._signed(values.get("code", "")),
        )  # fmt: skip

    def _signed(self, text):
        code = sign_in(self.folder, text.strip() or AT_HOME)
        self.open_what_waits()
        return {
            "note": f"Signed in as {code}. If you have worked on this exercise before, run the "
            "cells below again to see what you committed."
        }

    def make_board(self, name):
        """Return a board of the exercise; what is committed is kept and not commented on."""
        board = self.unit.board(name)
        file = self.answer_file
        sheet = file.sheet
        entry = sheet.answers.get(name)
        given = entry["given"] if entry else sheet.drafts.get(name, {})
        shown = self.shown(board)
        number = 1 + [b.name for b in self.unit.boards].index(name)
        return PredictionBoard(
            title=f"{number} of {len(self.unit.boards)} · {board.title}",
            lead=board.lead,
            when="Decide for each"
            if board.scene != "flight"
            else f"Answer {self.asked_words(board)}",
            drawing=self.drawing(board, shown, "What you see now", asked=True),
            table=self.drawing_table(board, shown),
            figures=self.figures_html(board),
            asks=self.asks(board),
            answers=given,
            committed=bool(entry),
            note=self._kept(entry["committed"]) if entry else "",
            restored_note="What you had set was restored; commit it when you are sure."
            if given and not entry
            else file.note,
            on_draft=lambda values: self.answer_file.draft(name, values),
            on_commit=lambda values: self._commit(name, values),
        )

    @staticmethod
    def _kept(time):
        return f"Committed and saved ({moment_words(time)}). It is marked after you hand in."

    def _commit(self, name, values):
        faults = self.unreadable(self.unit.board(name), values)
        if faults:
            raise FigureError(" ".join(faults))
        sheet = self.answer_file.commit(name, values)
        self.open_what_waits()
        for board in self._hand_in_boards:
            board.lead = self._hand_in_lead(sheet)
        return {"note": self._kept(sheet.answers[name]["committed"])}

    def hand_in(self):
        """Return a board that hands the sheet in and shows the receipt."""
        lead = self._hand_in_lead(self.answer_file.sheet)
        board = hand_in_board(lambda: self.answer_file, lead, self._receipt, self._hand_in)
        self._hand_in_boards.append(board)
        return board

    def _hand_in(self):
        return self.answer_file.hand_in()  # of whoever is signed in by then

    def _hand_in_lead(self, sheet):
        done, count = len(sheet.answers), len(self.unit.boards)
        return state_words(done, count, "boards", sheet.learner, "sheet")

    def _receipt(self, sheet):
        return (
            f"Handed in {moment_words(sheet.handed_in)}. Your receipt: {sheet.receipt}. Your sheet "
            f"is the file {self.answer_file.path.name} in the folder answers."
        )
