"""A learner's progress in a notebook: the table, today's review, certainty, export and erasing."""

from datetime import date
from functools import partial
from html import escape

import ipywidgets
from IPython.display import display

from fuelkit.assess.answer_file import signed_in
from fuelkit.assess.choice import taught_aircraft
from fuelkit.assess.exports.cells import csv_bytes
from fuelkit.assess.progress.calibration import calibration
from fuelkit.assess.progress.catching_up import not_recorded
from fuelkit.assess.progress.record import ProgressRecord
from fuelkit.assess.progress.review import draw_review
from fuelkit.assess.progress.standing import standings
from fuelkit.assess.progress.tries import REVIEW
from fuelkit.assess.sheet import SheetError, sheet_path, write_bytes_atomically
from fuelkit.show.board import PredictionBoard
from fuelkit.show.page import Page
from fuelkit.show.progress_page import calibration_page, progress_page
from fuelkit.show.review import Review
from fuelkit.show.workbook import answers_folder

_WORD = "erase"
_NOTHING_YET = (
    "Today's review is drawn from the lessons that you have begun. Commit a board in any lesson, "
    "then run this cell again."
)


def open_progress():
    """Return the learner's progress, ready to be looked at in a notebook."""
    return Progress(answers_folder(), taught_aircraft())


class Progress:
    """What a learner has done, and what should come next. Each method is one short call of a cell.

    Parameters
    ----------
    folder : Path
        Of the answers.
    aircraft : str
        That the course is taught on.
    today : callable, optional
        Returns the day.
    """

    def __init__(self, folder, aircraft, today=date.today):
        self.folder, self.aircraft, self._today = folder, aircraft, today
        self._shown, self._note, self._reviews = [], "", []
        self._catch_up()

    @property
    def record(self):
        """The record of whoever is signed in."""
        return ProgressRecord(self.folder, signed_in(self.folder))

    def _catch_up(self):
        """Take over what was answered before the record, or while it could not be written."""
        record = self.record
        entries = record.entries()
        found = not_recorded(record, self.aircraft)
        if found:
            record.add(*found)
        self._note = record.note
        if found and not entries:
            self._note += f" {len(found)} boards that you answered earlier were taken over."

    # ------------------------------------------------------------------------------- the pages
    def table(self):
        """Show how it stands with each objective; the page follows what is answered below."""
        self._display(self.page)

    def page(self):
        """Return how it stands with each objective, as a page."""
        return progress_page(standings(self.record.entries(), self._today()), self._note.strip())

    def certainty(self):
        """Show how often answers were right at each rating of certainty."""
        self._display(lambda: calibration_page(calibration(self.record.entries())))

    def _display(self, make):
        self._shown.append((display(make(), display_id=True), make))

    def _changed(self):
        """Draw the pages that are shown anew."""
        for handle, make in self._shown:
            if handle is not None:  # nobody to show it to, outside a notebook
                handle.update(make())

    # ------------------------------------------------------------------------------ the review
    def review(self, number=None):
        """Return today's review: the first open question, or that of a number from 1."""
        review = self._review_of(self._today())
        if review is None:
            return Page(f"<p>{escape(_NOTHING_YET)}</p>", _NOTHING_YET)
        if number is not None and not 1 <= number <= len(review.names):
            words = f"Today's review has {len(review.names)} questions."
            return Page(f"<p>{escape(words)}</p>", words)
        self._reviews.append(review)
        return review.place(number)

    def _review_of(self, day):
        """The review of a day: as it is in the record, or drawn now and put there."""
        record = self.record
        entries = record.entries()
        drawn = [e for e in entries if e["event"] == "drawn" and e["day"] == day.isoformat()]
        if not drawn:
            entry = draw_review(entries, self.aircraft, record.learner, day)
            if entry is None or not entry["questions"]:
                return None
            record.add(entry)
            drawn = [entry]
        return Review(self.folder, self.aircraft, drawn[-1], self._changed)

    # ---------------------------------------------------------------------------- one's own data
    def export(self):
        """Return a board that writes the table as a file for a spreadsheet."""
        return PredictionBoard(
            title="Export", asks=[],
            lead="Writes your progress as a table for a spreadsheet, into the folder answers.",
            panel_heading="Export", done_heading="Exported", commit_label="Export",
            on_commit=lambda _: {"note": self._export()},
        )  # fmt: skip

    def _export(self):
        record = self.record
        head = ("objective", "able to", "standing", "right", "tries", "right of the last",
                "the last", "last day", "again after days")  # fmt: skip
        rows = [
            (s.objective.name, s.objective.text, s.word, s.right, s.count, s.late_right,
             s.late_count, s.last.isoformat() if s.last else None, s.days if s.last else None)
            for s in standings(record.entries(), self._today())
        ]  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        path = self.folder / f"progress.{record.learner}.csv"
        write_bytes_atomically(path, csv_bytes([head, *rows]))
        return (
            f"Written: {path.name}. The record itself is {record.path.name}, one line of text for "
            "each thing that happened; both are in the folder answers."
        )

    def erase(self):
        """Return a board that erases the record, and asks once more before it does."""
        place = ipywidgets.VBox()
        place.children = (
            PredictionBoard(
                title="Erase my progress", asks=[], lead=self._what_goes(),
                panel_heading="Erase", done_heading="Asked to erase", commit_label="Erase …",
                on_commit=partial(self._ask_again, place),
            ),
        )  # fmt: skip
        return place

    def _what_goes(self):
        return (
            "What goes, for good: the record of what you tried and when, your reviews with their "
            "answers, what you said of how sure you were, and the exported table. What stays: "
            "your answers in lessons and exercises, which are sheets of their own."
        )

    def _ask_again(self, place, _values):
        again = PredictionBoard(
            title="Erase my progress for good?", lead="There is no way back.",
            asks=[{"id": "word", "text": f"Type the word {_WORD}", "kind": "text", "options": [],
                   "unit": "", "component": None, "hint": ""}],
            panel_heading="Erase", done_heading="Erased", commit_label="Erase for good",
            on_commit=self._erase,
        )  # fmt: skip
        place.children = (*place.children, again)
        return {"note": "One more question, below."}

    def _erase(self, values):
        if values.get("word", "").strip().lower() != _WORD:
            raise SheetError(f"Nothing was erased: the word must be {_WORD}.")
        record = self.record
        review = sheet_path(self.folder, REVIEW, record.learner)
        pieces = [review, self.folder / f"progress.{record.learner}.csv"]
        for path in [*pieces, *self.folder.glob(f"{review.stem}.put-aside-*")]:
            path.unlink(missing_ok=True)
        record.erase()
        self._note = ""
        self._changed()
        for shown in self._reviews:
            shown.clear()
        return {"note": "Erased. Run the cells above again to begin anew."}
