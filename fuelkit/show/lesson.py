"""A lesson in a notebook: predict, commit, then see the computed flight beside the prediction."""

from fuelkit.assess.moments import moment
from fuelkit.physics.writing import clock
from fuelkit.show.board import PredictionBoard
from fuelkit.show.reveal import Reveal
from fuelkit.show.viewer import Viewer
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
    """A lesson. Each method is one short call of a notebook cell.

    What lies beyond the first prediction that is not committed stays closed, also when all
    cells are run at once; it opens by itself when that prediction is committed.
    """

    @property
    def viewer(self):
        """The flight to look at, nothing of it closed: for the one who projects the lesson."""
        return Viewer(self.flight)

    def make_board(self, name):
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
            when=f"Predict {self.asked_words(board)}" if board.drawing else "From memory",
            drawing=self.drawing(board, shown, "What you see now", asked=True),
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

    @staticmethod
    def _restored(entry, given, note):
        if entry:
            return "Your committed prediction was restored."
        return "What you had set was restored; it is not committed yet." if given else note

    def _commit(self, board, values):
        self.answer_file.commit(board.name, values)
        result = self._result(board, values)
        self.open_what_waits()
        return result

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
            "after_drawing": self.drawing(board, asked, "The computed flight", given=given),
            "after_table": self.drawing_table(board, asked, truth=True),
            "note": f"{right} of {len(marked.lines)} as predicted. {board.after}".strip(),
        }

    # ------------------------------------------------------------------------- things to look at
    def drawing_at(self, words):
        """Return the drawing of a moment in words, such as "0:21:00", with its table."""
        return self._reveal(lambda: self.viewer.drawing_at(words), words)

    def why(self, name, words):
        """Return why a part is in its state at a moment, or where an engine is fed from."""
        return self._reveal(lambda: self.viewer.why(name, words), words)

    def rules(self, *names):
        """Return the automatic functions that act on some parts, as sentences."""
        return self.viewer.rules(*names)

    def ribbon(self):
        """Return the whole flight on one page, with its table."""
        return self._reveal(self.viewer.ribbon, clock(self.flight.sector.end))

    def summary(self):
        """Return what happened in the stretch that the lesson covers, each with its reason."""
        boards = [board for board in self.unit.boards if board.drawing]
        end = max(boards, key=lambda board: moment(self.flight, board.asked)).asked
        return self._reveal(lambda: self.viewer.events(boards[0].shown, end), end)

    def _reveal(self, page, words):
        time = moment(self.flight, words)
        reveal = Reveal(page, lambda: self._closed(time))
        self._waiting.append(reveal)
        return reveal

    def _closed(self, time):
        """Why a moment may not be seen yet: a prediction about what comes before it is open."""
        committed = self.answer_file.sheet.answers
        for board in self.unit.boards:
            if board.drawing and board.name not in committed and self.shown(board) < time:
                return f"This opens when you have committed your prediction “{board.title}”."
        return ""
