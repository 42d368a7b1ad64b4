"""The worked answers to an exercise, step by step: what is seen, which rules act, what follows."""

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

    def situation(self, name):
        """Return step 1: what the learner sees, part by part and tank by tank."""
        board = self.named(name)
        return situation_page(self.flight_of(board), board)

    def rules(self, name):
        """Return step 2: the automatic functions that act on the parts asked for."""
        board = self.named(name)
        return board_rules_page(self.flight_of(board), board)

    def pressures(self, name):
        """Return step 3: the pressures at the moment asked for, which decide who feeds."""
        board = self.named(name)
        return pressures_page(self.flight_of(board), board, self.asked_words(board))

    def answers(self, name):
        """Return the last step: every answer with its reason."""
        board = self.named(name)
        return answers_page(self.marked(board, {}), board)
