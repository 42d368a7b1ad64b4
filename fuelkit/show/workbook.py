"""What lessons and exercises share: a unit's flight, its boards, and the learner's answer file."""

import os
from pathlib import Path

from fuelkit.assess.answer_file import AnswerFile, signed_in
from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit
from fuelkit.assess.flights import flight_of
from fuelkit.assess.given import given_figures
from fuelkit.assess.marking import mark_board
from fuelkit.assess.moments import moment
from fuelkit.physics.writing import clock
from fuelkit.show.page import table_page
from fuelkit.show.reveal import BoardPlace
from fuelkit.show.schematic import schematic
from fuelkit.show.tables import schematic_table_html
from fuelkit.show.viewer import Viewer
from fuelkit.show.views import view

_ROOMS = ("lessons", "exercises", "solutions")


def answers_folder():
    """Return where answers are kept: `answers` beside the folder of the notebook.

    The environment variable FUELKIT_ANSWERS names another place.
    """
    if named := os.environ.get("FUELKIT_ANSWERS"):
        return Path(named)
    here = Path.cwd()
    return (here.parent if here.name in _ROOMS else here) / "answers"


class Workbook:
    """One lesson or exercise as it is worked: reads the computed flight, keeps the answers.

    Parameters
    ----------
    identifier : str
        Of a unit of the kit, such as "lesson-cruise".
    """

    def __init__(self, identifier):
        self.unit = load_unit(identifier)
        self.folder = answers_folder()
        self._waiting = []

    def board(self, name):
        """Return a board, or a place where it opens once the one before it is committed."""
        self.unit.board(name)
        if not self.first_open_before(name):
            return self.make_board(name)
        place = BoardPlace(
            lambda: self.make_board(name),
            lambda: self.first_open_before(name),
        )
        self._waiting.append(place)
        return place

    def first_open_before(self, name):
        """Return in a sentence which earlier board is not committed yet, or nothing.

        A later board shows what an earlier one asks for, so they open in order.
        """
        committed = self.answer_file.sheet.answers
        for board in self.unit.boards:
            if board.name == name:
                return ""
            if board.name not in committed:
                return f"This board opens when you have committed “{board.title}”."
        return ""

    def open_what_waits(self):
        """Open every place that may be opened now: called after each commit."""
        for place in self._waiting:
            place.refresh()

    @property
    def flight(self):
        """The computed flight; computed when first needed, then shared."""
        return flight_of(self.unit.aircraft, self.unit.sector)

    @property
    def answer_file(self):
        """The learner's answers to this unit, as they are on disk now."""
        fingerprint = self.flight.aircraft.fingerprint
        return AnswerFile(self.folder, self.unit.identifier, signed_in(self.folder), fingerprint)

    def computed(self, board):
        """Return the computed answers to a board."""
        return answers(self.flight, board)

    def marked(self, board, given):
        """Return a board's answers marked against the computed flight."""
        return mark_board(board, self.computed(board), given)

    def asked_words(self, board):
        """Return the moment asked for, as the learner reads it."""
        return board.asked_as or f"at {clock(moment(self.flight, board.asked))}"

    def shown(self, board):
        """Return the moment of a board that the learner sees. [s]"""
        return moment(self.flight, board.shown)

    def asks(self, board):
        """Return what a board asks, for the front end; nothing in it tells an answer."""
        kinds = {"kg": "number", "h:mm:ss": "time"}
        return [
            {
                "id": answer.ask.identifier,
                "text": answer.text,
                "kind": "choice" if answer.options else kinds[answer.unit],
                "options": list(answer.options),
                "unit": answer.unit,
                "component": answer.ask.about if answer.options else None,
                "hint": self._hint(answer),
            }
            for answer in self.computed(board)
        ]

    @staticmethod
    def _hint(answer):
        if answer.unit == "kg":
            return f"counts within {answer.ask.tolerance:.0f} kg"
        if answer.unit:
            return f"for example 1:32:00; counts within {answer.ask.tolerance / 60:.1f} min"
        return ""

    def drawing(self, board, time, title, *, asked=False, given=None):
        """Return the drawing of a moment, or nothing for a closed-book board.

        With `asked`, what the board asks about can be set on the drawing; with `given`, a
        committed prediction, each part that was predicted carries its mark, and the drawing tells
        the true state; before that, what the crew is shown.
        """
        if not board.drawing:
            return ""
        flight = self.flight
        settable = [ask for ask in board.asks if ask.kind in ("state", "feeding")]
        predicted = {a.about: given[a.identifier] for a in settable if given and a.kind == "state"}
        return schematic(
            flight.aircraft,
            view(flight, time, truth=given is not None),
            title=title,
            subtitle=Viewer(flight).moment_words(time),
            predicted=predicted,
            asked=tuple(dict.fromkeys(a.about for a in settable)) if asked else (),
        )

    def drawing_table(self, board, time, *, truth=False):
        """Return the table that goes with the drawing of a moment."""
        if not board.drawing:
            return ""
        return schematic_table_html(self.flight.aircraft, view(self.flight, time, truth=truth))

    def figures(self, board_name):
        """Return the figures that a learner may look up for a board, as a page."""
        board = self.unit.board(board_name)
        rows = given_figures(self.flight, self.shown(board))
        return table_page(f"Figures you may use: {board.title}", ("what", "figure"), rows)

    def objectives(self):
        """Return what a learner will be able to do, as a page."""
        rows = [(f"{n}", text) for n, text in enumerate(self.unit.objectives, start=1)]
        return table_page("You will be able to", ("", self.unit.title), rows)
