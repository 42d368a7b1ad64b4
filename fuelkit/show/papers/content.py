"""What a learner sees of a paper: every question as plain data, with nothing that tells an answer.

The paper carries drawings, tables and figures as they are, and neither flight nor draw: whoever
has the kit cannot compute the same flight again from it.
"""

import re
from functools import lru_cache

from fuelkit.assess.course import Unit
from fuelkit.assess.flights import aircraft_of, flight_of
from fuelkit.assess.given import aircraft_figures, alike_together, given_figures
from fuelkit.assess.moments import moment
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.papers.placed import flight_asked, flight_of_board
from fuelkit.physics.units import IMPERIAL_GALLON, LITRE, POUND, US_GALLON
from fuelkit.physics.writing import clock
from fuelkit.show.page import table_page
from fuelkit.show.palette import SAFETY
from fuelkit.show.papers.form import FORMAT, SCHEMA
from fuelkit.show.schematic import schematic
from fuelkit.show.stand_views import stand_page
from fuelkit.show.tables import schematic_table_html
from fuelkit.show.views import view
from fuelkit.show.words import title_case
from fuelkit.show.workbook import Workbook

_FEW_FIGURES = 6  # rows in print where nothing is worked out; all of them where something is


_UNITS = {
    "US gal": f"{US_GALLON / LITRE:.5f} l", "imp gal": f"{IMPERIAL_GALLON / LITRE:.5f} l",
    "lb": f"{POUND:.6f} kg",
}  # fmt: skip


class _Pages(Workbook):
    """The pages of one question, as a lesson would show them."""

    def __init__(self, board):
        self.unit = Unit(board.name, "exercise", board.title, board.aircraft, board.sector, (),
                         (board,))  # fmt: skip
        self._waiting = []

    def flight_of(self, board):
        """Return the computed flight of the question."""
        return flight_of_board(board)

    def computed(self, board):
        """Return the computed answers, with options in the order that the key has them in."""
        return answers_of(board)

    def drawing_table(self, board, time, *, truth=False):
        """Return the table of a moment; made once for all questions that show it."""
        if truth or board.scene != "flight" or not board.drawing:
            return super().drawing_table(board, time, truth=truth)
        return _moment_seen(flight_asked(board), time)[1]


def paper_content(key, seal, blueprint, extensions=(), known=None):
    """Return a learner's paper as a table that JSON can hold.

    Parameters
    ----------
    key : Key
    seal : Commitment
        Only its digest goes into the paper.
    blueprint : Blueprint
    extensions : dict of str to str
        Digests of the words by which an instructor gives more time; see `papers.time_limit`.
    known : dict, optional
        Keeps what is drawn for a question, so that it is drawn once for all papers.
    """
    known, aircraft = {} if known is None else known, aircraft_of(key.aircraft)
    return {
        "format": FORMAT,
        "schema": SCHEMA,
        "paper": key.paper,
        "title": key.title,
        "learner": key.learner,
        "aircraft": aircraft.name,
        "fingerprint": key.fingerprint,
        "minutes": blueprint.minutes,
        "pass_share": blueprint.pass_share,
        "extensions": dict(extensions),
        "marks": key.marks,
        "seal": seal.printed,
        "safety": SAFETY,
        "figures": [list(row) for row in alike_together(aircraft_figures(aircraft))],
        "questions": [_placed(question, known) for question in key.questions],
    }


def _placed(question, known):
    """A question under its name on this paper; what is drawn for it is drawn once."""
    if question.source not in known:
        known[question.source] = question_content(question)
    content = known[question.source]
    asks = [
        {**shown, "id": ask.identifier}
        for shown, ask in zip(content["asks"], question.board.asks, strict=True)
    ]
    return {**content, "name": question.name, "marks": question.marks, "asks": asks}


def question_content(question):
    """Return one question as a learner sees it."""
    board = question.board
    pages, labelled = _Pages(board), question.kind == "label"
    flight = pages.flight_of(board)
    shown = moment(flight, board.shown) if board.scene == "flight" else 0.0
    return {
        "name": question.name,
        "title": board.title,
        "lead": board.lead,
        "when": heading_of(pages, board),
        "marks": question.marks,
        "drawing": _lettered(flight, board, shown) if labelled
        else _drawn(pages, board, shown),
        "table": "" if labelled else pages.drawing_table(board, shown),
        "figures": "" if labelled else _figures(pages, board),
        "words": _words(pages, board) if not labelled else "",
        "asks": [_plain(ask) for ask in pages.asks(board)],
    }  # fmt: skip


def _words(pages, board):
    """What is given, in plain words, for print: without what the cover gives for all questions."""
    if board.scene == "flight":
        flight = pages.flight_of(board)
        always = set(aircraft_figures(flight.aircraft))
        given = given_figures(flight, moment(flight, board.shown), board)
        rows = [row for row in given if row not in always]
        kept = rows if _is_worked(board) else rows[:_FEW_FIGURES]
        return table_page("Given", ("what", "figure"), alike_together(kept), note="").text
    told = stand_page(aircraft_of(board.aircraft), board).text
    rows = _units_in(told)
    return f"{told}\n{_units_page(rows).text}" if rows else told


def _units_in(text):
    """What the units are worth that a text names and that nobody needs to know by heart."""
    named = (unit for unit in _UNITS if re.search(rf"\b{unit}\b", text))
    return [(f"1 {unit}", _UNITS[unit]) for unit in named]


def _units_page(rows):
    return table_page("Units", ("one", "is"), rows, note="")


def _figures(pages, board):
    """The figures of a question for their own view: of a sheet, what its units are worth."""
    if board.scene != "sheet":
        return pages.figures_html(board)
    rows = _units_in(stand_page(aircraft_of(board.aircraft), board).text)
    return _units_page(rows).html if rows else ""


def _is_worked(board):
    return any(ask.kind in ("figure", "when", "order") for ask in board.asks)


_WHEN = {
    "choice": "One of three is true", "order": "Put these in order, from the moment shown",
    "when": "Say when", "figure": "Work out", "fault": "Answer from what is shown",
    "label": "Name the part for each letter", "reason": "Answer in one or two sentences",
    "finding": "Decide for each",
}  # fmt: skip


def heading_of(pages, board):
    """Return what is asked, as the heading of a question's answers.

    Parameters
    ----------
    pages : Workbook
    board : Board
    """
    if board.scene != "flight":
        return _WHEN["finding"] if board.scene == "walk-around" else "Work it out"
    kind = board.asks[0].kind
    return _WHEN[kind] if kind in _WHEN else f"Answer {pages.asked_words(board)}"


def _plain(ask):
    """An ask without what belongs to the drawing alone."""
    return {k: v for k, v in ask.items() if k not in ("component", "given", "reason")}


def _drawn(pages, board, shown):
    """The drawing of the moment, whose words do not say which flight it is."""
    if board.scene != "flight":
        return pages.drawing(board, shown, "What you see now")
    return _moment_seen(flight_asked(board), shown)[0]


@lru_cache(maxsize=64)
def _moment_seen(asked, time):
    """The drawing of a moment and its table: of one flight, many questions show the same."""
    flight = flight_of(*asked)
    picture = view(flight, time)
    drawing = schematic(
        flight.aircraft, picture, title="What you see now",
        subtitle=f"{title_case(picture.phase)}, {clock(time)}",
    )  # fmt: skip
    return drawing, schematic_table_html(flight.aircraft, picture)


def _lettered(flight, board, shown):
    """The drawing with letters in place of the names that are asked for."""
    letters = {ask.about: ask.text.rsplit(" ", 1)[-1] for ask in board.asks}
    return schematic(
        flight.aircraft, view(flight, shown), title="Name the parts",
        subtitle="as they stand in the cruise",
        lettered=letters,
    )  # fmt: skip
