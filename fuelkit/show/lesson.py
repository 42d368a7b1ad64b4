"""A lesson in a notebook: predict, commit, then see the computed flight beside the prediction."""

from fuelkit.aircraft import model
from fuelkit.assess.moments import moment
from fuelkit.flight.picture import picture
from fuelkit.flight.reasons import why, why_fed
from fuelkit.physics.writing import clock
from fuelkit.show.board import PredictionBoard
from fuelkit.show.page import Page, table_page
from fuelkit.show.ribbon import ribbon, ribbon_table_html
from fuelkit.show.rule_list import rules_page
from fuelkit.show.schematic import schematic
from fuelkit.show.tables import schematic_table_html
from fuelkit.show.workbook import Workbook


def open_lesson(identifier):
    """Return a lesson of the kit, ready to be worked in a notebook.

    Parameters
    ----------
    identifier : str
        "lesson-engine-start" or "lesson-cruise".

    Raises
    ------
    DataFileError
        If the kit has no such lesson; names the ones it has.
    """
    return Lesson(identifier)


class Lesson(Workbook):
    """A lesson. Each method is one short call of a notebook cell."""

    def board(self, name):
        """Return a prediction board: the situation, what to predict, then the comparison."""
        board = self.unit.board(name)
        file = self.answer_file
        sheet = file.sheet
        entry = sheet.answers.get(name)
        given = entry["given"] if entry else sheet.drafts.get(name, {})
        shown = self.shown(board)
        state = {} if not entry else self._result(board, given)
        return PredictionBoard(
            title=board.title,
            lead=board.lead,
            when=f"Predict {self.asked_words(board)}",
            drawing=self.drawing(board, shown, "What you see now", self._moment_words(shown)),
            table=self.drawing_table(board, shown),
            figures=self.figures(name).html if board.drawing else "",
            asks=self.asks(board),
            answers=given,
            committed=bool(entry),
            restored_note=self._restored(entry, given, file.note),
            on_draft=lambda values: self.answer_file.draft(name, values),
            on_commit=lambda values: self._commit(board, values),
            **state,
        )

    def _moment_words(self, time):
        flight = self.flight
        return (
            f"{flight.aircraft.name} · {flight.sector.name} · {clock(time)}, {flight.phase(time)}"
        )

    @staticmethod
    def _restored(entry, given, note):
        if entry:
            return "Your committed prediction was restored."
        return "What you had set was restored; it is not committed yet." if given else note

    def _commit(self, board, values):
        self.answer_file.commit(board.name, values)
        return self._result(board, values)

    def _result(self, board, given):
        """What the board shows once it is committed: never before."""
        marked = self.marked(board, given)
        asked = moment(self.flight, board.asked)
        right = sum(line.is_right for line in marked.lines)
        return {
            "comparison": [
                {
                    "id": line.identifier,
                    "text": line.text,
                    "given": line.given,
                    "right": line.right,
                    "is_right": line.is_right,
                    "reason": line.reason,
                }
                for line in marked.lines
            ],
            "after_drawing": self.drawing(
                board, asked, "The computed flight", self._moment_words(asked)
            ),
            "after_table": self.drawing_table(board, asked),
            "note": f"{right} of {len(marked.lines)} as predicted.",
        }

    # ------------------------------------------------------------------------- things to look at
    def drawing_at(self, words):
        """Return the drawing of a moment in words, such as "0:21:00", with its table."""
        time = moment(self.flight, words)
        now = picture(self.flight, time)
        aircraft = self.flight.aircraft
        title = f"The fuel system at {clock(time)}"
        drawing = schematic(aircraft, now, title=title, subtitle=self._moment_words(time))
        table = schematic_table_html(aircraft, now)
        details = f"<details><summary>The same as a table</summary>{table}</details>"
        fed = "; ".join(
            f"{c.name}: {why_fed(self.flight, c.name, time)}" for c in aircraft.consumers
        )
        return Page(f'<div style="max-width:1280px">{drawing}{details}</div>', f"{title}. {fed}")

    def ribbon(self):
        """Return the whole flight on one page, with its table."""
        drawing = ribbon(self.flight, title=f"The whole flight: {self.flight.sector.name}")
        table = ribbon_table_html(self.flight)
        details = f"<details><summary>The same as a table</summary>{table}</details>"
        html = f'<div style="max-width:1280px">{drawing}{details}</div>'
        return Page(html, str(self.flight))

    def why(self, name, words):
        """Return why a component is in its state at a moment, as a sentence."""
        time = moment(self.flight, words)
        part = self.flight.aircraft.by_name.get(name)
        is_fed = isinstance(part, model.Consumer)
        text = why_fed(self.flight, name, time) if is_fed else why(self.flight, name, time)
        return table_page(f"Why, at {clock(time)}", ("part", "because"), [(name, text)])

    def rules(self, *names):
        """Return the automatic functions that act on some components, as sentences."""
        return rules_page(self.flight.aircraft, names)

    def summary(self):
        """Return what happened in the stretch that the lesson covers, each with its reason."""
        boards = [board for board in self.unit.boards if board.drawing]
        start = self.shown(boards[0])
        end = max(moment(self.flight, board.asked) for board in boards)
        aircraft = self.flight.aircraft
        rows = [
            (clock(c.time), c.name, c.after, c.reason)
            for c in self.flight.changes
            if start <= c.time <= end
            and isinstance(aircraft.by_name.get(c.name), model.Pump | model.Consumer | model.Line)
            and c.after != "MOVING"
        ]
        title = f"What happened from {clock(start)} to {clock(end)}, and why"
        return table_page(title, ("time", "part", "became", "because"), rows)
