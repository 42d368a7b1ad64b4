"""The worked answers to an exercise, step by step: what is seen, which rules act, what follows."""

from fuelkit.assess.stand import sheet_of
from fuelkit.show.figure_page import worked_page
from fuelkit.show.workbook import Workbook
from fuelkit.show.worked import answers_page, board_rules_page, pressures_page, situation_page


def open_solution(identifier):
    """Return the worked answers to an exercise of the kit.

    Parameters
    ----------
    identifier : str
        Such as "exercise-cruise".

    Raises
    ------
    DataFileError
        If the kit has no such exercise; names the ones it has.
    """
    return Solution(identifier)


class Solution(Workbook):
    """The worked answers to an exercise. Each method is one short call of a notebook cell."""

    def situation(self, which):
        """Return step 1: what the learner sees, part by part and tank by tank."""
        return self._step(which, situation_page)

    def rules(self, which):
        """Return step 2: the automatic functions that act on the parts asked for."""
        return self._step(which, board_rules_page)

    def pressures(self, which):
        """Return step 3: the pressures at the moment asked for, which decide who feeds."""
        return self._step(
            which, lambda flight, board: pressures_page(flight, board, self.asked_words(board))
        )

    def answers(self, which):
        """Return the last step: every answer with its reason."""
        return self._step(which, self._answers)

    def _answers(self, flight, board):
        if board.scene == "sheet":
            return worked_page(sheet_of(flight.aircraft, board))
        return answers_page(self.marked(board, {}), board)

    def _step(self, which, page):
        """A page on a board; a sentence where this aircraft has no such board."""
        board = self.named(which)
        return page(self.flight_of(board), board) if board else self.left_out(which)
