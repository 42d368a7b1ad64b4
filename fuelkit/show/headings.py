"""How a board of a lesson is headed: a prediction is one only where a flight is run after it."""

from fuelkit.show.figure_board import HEADINGS

_DECISIONS = {
    "panel_heading": "Your decisions",
    "done_heading": "Your decisions and what is right",
}
_ANSWERS = {"panel_heading": "Your answers", "done_heading": "Your answers and what is right"}


def headings(board):
    """Return the headings of a board before and after; a prediction has the board's own.

    Parameters
    ----------
    board : Board

    Returns
    -------
    dict of str to str
        For `PredictionBoard`.
    """
    if _is_predicted(board):
        return {}
    return {"sheet": HEADINGS, "walk-around": _DECISIONS}.get(board.scene, _ANSWERS)


def counted(board, right, count):
    """Return in a sentence how many answers to a board are right, of how many."""
    return f"{right} of {count} {'as predicted' if _is_predicted(board) else 'right'}."


def _is_predicted(board):
    return board.scene == "flight" and board.drawing
