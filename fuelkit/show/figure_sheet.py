"""A figure sheet by itself, for any aircraft: worked, to fill in, and on paper."""

from html import escape

from fuelkit.assess.answer_file import answers_folder
from fuelkit.assess.choice import course_file, taught_aircraft
from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.sheet import write_atomically
from fuelkit.figures.catalogue import draw_sheet
from fuelkit.show.figure_board import figure_board
from fuelkit.show.figure_page import paper_key, paper_sheet, worked_page
from fuelkit.show.page import Page


def open_sheet(name, number=1, aircraft=""):
    """Return a figure sheet whose situation is drawn by a number.

    Parameters
    ----------
    name : str
        Such as "uplift"; see `fuelkit.figures.catalogue`.
    number : int
        The same number gives the same sheet, always and on every machine.
    aircraft : str
        A name in the kit or the path of a file, if not the one that the course is taught on.

    Raises
    ------
    FigureError
        If there is no such sheet, or the aircraft lacks what it needs.
    """
    taught = aircraft_of(aircraft or taught_aircraft())
    return FigureSheet(draw_sheet(name, taught, number), f"{name}-{number}")


class FigureSheet:
    """A figure sheet to look at. Each method is one short call of a notebook cell."""

    def __init__(self, sheet, file):
        self.sheet, self._file = sheet, file

    def board(self):
        """Return a board on which the sheet is filled in; nothing of it is kept."""
        return figure_board(self.sheet)

    def worked(self):
        """Return the sheet worked step by step, each with its formula and its source."""
        return worked_page(self.sheet)

    def paper(self):
        """Return where the form to fill in with a pencil was written, to be printed."""
        return self._written("form", paper_sheet(self.sheet, school=course_file().school))

    def key(self):
        """Return where the key to the form was written, for the one who marks."""
        return self._written("key", paper_key(self.sheet, school=course_file().school))

    def _written(self, kind, html):
        folder = answers_folder()
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"sheet-{self._file}-{kind}.html"
        write_atomically(path, html)
        words = f"The {kind} to print is the file {path.name} in the folder {folder.name}."
        return Page(f"<p>{escape(words)}</p>", words)
