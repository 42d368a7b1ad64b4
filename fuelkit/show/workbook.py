"""What lessons and exercises share: a unit's flight, its boards, and the learner's answer file."""

from dataclasses import replace
from html import escape

from fuelkit.assess.answer_file import AnswerFile, answers_folder, signed_in
from fuelkit.assess.answers import answers
from fuelkit.assess.choice import chosen_aircraft
from fuelkit.assess.course import load_unit
from fuelkit.assess.figure_marks import unread
from fuelkit.assess.flights import flight_for, flight_of
from fuelkit.assess.given import given_figures
from fuelkit.assess.marking import mark_board
from fuelkit.assess.moments import moment
from fuelkit.assess.progress.record import ProgressRecord
from fuelkit.assess.progress.tries import tried
from fuelkit.assess.stand import sheet_of
from fuelkit.assess.teach import unit_for
from fuelkit.assess.written import WORDS, span_text
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.writing import clock, read_clock
from fuelkit.show.figure_board import sheet_asks
from fuelkit.show.page import Page, table_page
from fuelkit.show.reveal import BoardPlace
from fuelkit.show.schematic import schematic
from fuelkit.show.stand_views import stand_drawing, stand_figures, stand_table
from fuelkit.show.tables import schematic_table_html
from fuelkit.show.viewer import Viewer
from fuelkit.show.views import view


class Workbook:
    """One lesson or exercise as it is worked: reads the computed flight, keeps the answers.

    Parameters
    ----------
    identifier : str
        Of a unit of the kit, such as "lesson-cruise".
    aircraft : str
        A name in the kit or the path of a file, if not the one that the course is taught on.
    """

    def __init__(self, identifier, aircraft=""):
        self.unit = unit_for(identifier, aircraft or chosen_aircraft())
        self.folder = answers_folder()
        self._waiting = []

    def board(self, which):
        """Return a board, or a place where it opens once the one before it is committed.

        Parameters
        ----------
        which : int or str
            Its number among those that are left blank, from 1; or its name. A number that this
            aircraft has no board for gives a sentence instead.
        """
        board = self.named(which)
        return self.place(board.name) if board else self.left_out(which)

    def place(self, name):
        """Return a board, or a place where it opens once it may."""
        if not self.first_open_before(name):
            return self.make_board(name)
        place = BoardPlace(
            lambda: self.make_board(name),
            lambda: self.first_open_before(name),
        )
        self._waiting.append(place)
        return place

    def named(self, which):
        """Return a board by its number among the blank ones, or by its name.

        Figure sheets go by their name alone. None if this aircraft has no such board.

        Raises
        ------
        DataFileError
            If no aircraft has a board of that name.
        """
        if isinstance(which, str):
            if which not in [board.name for board in self.unit.boards]:
                load_unit(self.unit.identifier).board(which)
                return None
            return self.unit.board(which)
        blank = [
            board
            for board in self.unit.boards
            if board.form == "blank" and board.scene != "sheet" and not board.aircraft
        ]
        return blank[which - 1] if 1 <= which <= len(blank) else None

    def left_out(self, which):
        """Return a sentence in place of a board that this aircraft does not have."""
        words = f"The {self.flight.aircraft.name} has no situation {which} here; it is left out."
        return Page(f"<p><em>{escape(words)}</em></p>", words)

    def first_open_before(self, name):
        """Return in a sentence which earlier board is not committed yet, or nothing.

        A later board shows what an earlier one asks for, so they open in order.
        """
        committed = self.answer_file.sheet.answers
        for board in self.unit.boards:
            if board.name == name:
                return ""
            if board.is_committed_by_learner and board.name not in committed:
                return f"This board opens when you have committed “{board.title}”."
        return ""

    def waits(self, place):
        """Open a place as soon as it may be opened."""
        self._waiting.append(place)

    def open_what_waits(self):
        """Open every place that may be opened now: called after each commit."""
        for place in self._waiting:
            place.refresh()

    @property
    def flight(self):
        """The computed flight; computed when first needed, then shared."""
        return flight_of(self.unit.aircraft, self.unit.sector)

    def flight_of(self, board):
        """Return the computed flight that a board is about."""
        return flight_for(self.unit, board)

    @property
    def answer_file(self):
        """The learner's answers to this unit, as they are on disk now."""
        fingerprint = self.flight.aircraft.fingerprint
        return AnswerFile(self.folder, self.unit.identifier, signed_in(self.folder), fingerprint)

    def computed(self, board):
        """Return the computed answers to a board."""
        return answers(self.flight_of(board), board)

    def marked(self, board, given):
        """Return a board's answers marked against the computed flight."""
        return mark_board(board, self.computed(board), given)

    def keep(self, board, given, *, unit="", certainty=""):
        """Put a committed board into the learner's own record of progress.

        Returns
        -------
        dict
            Empty; or a note for the board if that failed. The answers themselves are kept then.
        """
        unit = replace(self.unit, identifier=unit or self.unit.identifier)
        try:
            entry = tried(unit, board, self.marked(board, given), certainty)
            ProgressRecord(self.folder, signed_in(self.folder)).add(entry)
        except (FuelkitError, OSError) as problem:
            return {"note": f"Your answer is kept, but your progress is not: {problem}"}
        return {}

    def asked_words(self, board):
        """Return the moment asked for, as the learner reads it."""
        return board.asked_as or f"at {clock(moment(self.flight_of(board), board.asked))}"

    def shown(self, board):
        """Return the moment of a board that the learner sees. [s]"""
        time = read_clock(board.shown)  # needs no flight, so that closed pages open at once
        return moment(self.flight_of(board), board.shown) if time is None else time

    def asks(self, board):
        """Return what a board asks, for the front end; nothing in it tells an answer."""
        if board.scene == "sheet":
            return self._sheet_asks(board)
        return [self._ask(board, answer) for answer in self.computed(board)]

    def _sheet_asks(self, board):
        """The steps of a figure sheet; those that the kit has worked carry their answers."""
        found = {answer.ask.identifier: answer for answer in self.computed(board)}
        asks = sheet_asks(sheet_of(self.flight_of(board).aircraft, board), board.name)
        given = {a.identifier for a in board.asks if a.given}
        return [
            ask | {"given": found[ask["id"]].written(), "reason": found[ask["id"]].reason}
            if ask["id"] in given
            else ask
            for ask in asks
        ]

    def unreadable(self, board, given):
        """Return sentences on figures of a sheet that cannot be read; they are asked again."""
        if board.scene != "sheet":
            return ()
        return unread(sheet_of(self.flight_of(board).aircraft, board), given, board.name)

    def _ask(self, board, answer):
        kinds = {"kg": "number", "h:mm:ss": "time", "periods": "bands", WORDS: "text"}
        ask = {
            "id": answer.ask.identifier,
            "text": answer.text,
            "kind": "choice" if answer.options else kinds[answer.unit],
            "options": list(answer.options),
            "unit": "" if answer.unit in ("periods", WORDS) else answer.unit,
            "component": answer.ask.about if answer.ask.kind in ("state", "feeding") else None,
            "hint": self._hint(answer),
        }
        if answer.ask.kind in ("choice", "fault", "finding", "order", "label", "reason"):
            ask["long"] = True
        if answer.ask.kind == "order":
            ask["once"] = True
        if answer.ask.given:
            ask |= {"given": answer.written(), "reason": answer.reason}
        if answer.unit == "periods":
            ask |= self._axis(board, answer)
        return ask

    def _axis(self, board, answer):
        """The time axis of a question about periods: where it begins and ends, and the phases."""
        flight = self.flight_of(board)
        start, end = moment(flight, board.shown), moment(flight, board.asked)
        name, _, state = answer.ask.about.rpartition(" is ")
        phases = [p for p in flight.sector.phases if p.start < end]
        ticks = [{"at": max(p.start, start), "words": p.name} for p in phases]
        inside = [
            t for i, t in enumerate(ticks) if i + 1 == len(ticks) or ticks[i + 1]["at"] > start
        ]
        return {"start": start, "end": end, "state": state, "label": name, "ticks": inside}

    @staticmethod
    def _hint(answer):
        if answer.unit == WORDS:
            return "in your own words; read and marked by your instructor"
        if answer.unit == "kg":
            return f"counts within {answer.ask.tolerance:.0f} kg"
        if answer.unit == "periods":
            return f"each end counts within {span_text(answer.ask.tolerance)}"
        if answer.unit:
            return f"for example 1:32:00; counts within {span_text(answer.ask.tolerance)}"
        return ""

    def drawing(self, board, time, title, *, asked=False, given=None):
        """Return the drawing of a moment, or nothing for a closed-book board.

        With `asked`, what the board asks about can be set on the drawing; with `given`, a
        committed prediction, each part that was predicted carries its mark, and the drawing tells
        the true state; before that, what the crew is shown.
        """
        if not board.drawing:
            return ""
        flight = self.flight_of(board)
        if board.scene != "flight":
            return stand_drawing(flight.aircraft, board, title=title, given=given)
        settable = [ask for ask in board.asks if ask.kind in ("state", "feeding") and not ask.given]
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
        flight = self.flight_of(board)
        if board.scene != "flight":
            return stand_table(flight.aircraft, board)
        return schematic_table_html(flight.aircraft, view(flight, time, truth=truth))

    def figures_html(self, board):
        """Return the figures of a board for its own view; empty where there are none."""
        has = board.drawing and board.scene in ("flight", "tanks")
        return self.figures_of(board).html if has else ""

    def figures_of(self, board):
        """Return the figures that a learner may look up for a board, as a page."""
        flight = self.flight_of(board)
        if board.scene == "flight":
            rows = given_figures(flight, moment(flight, board.shown), board)
        else:
            rows = stand_figures(flight.aircraft, board)
        return table_page(f"Figures you may use: {board.title}", ("what", "figure"), rows)
