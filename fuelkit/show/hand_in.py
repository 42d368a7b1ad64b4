"""The board that hands a sheet in, of an exercise or of a paper, and what it says."""

from fuelkit.assess.delivery import deliver
from fuelkit.assess.sheet import SheetError
from fuelkit.show.board import PredictionBoard


def hand_in_board(answer_file, lead, receipt, hand_in):
    """Return a board that hands a sheet in, shows the receipt, and gives the sheet as a download.

    Parameters
    ----------
    answer_file : callable
        Returns the `AnswerFile` of whoever is signed in now.
    lead : str
        What is committed and what is open; see `state_words`.
    receipt : callable
        Given a handed-in sheet, returns the sentence with its receipt.
    hand_in : callable
        Hands the sheet in and returns it.

    Notes
    -----
    In a classroom the sheet is brought to the instructor's desk as well: when it is handed in, and
    again when the board is opened, should that have failed.
    """

    def done(sheet):
        told = f"{receipt(sheet)} {deliver(sheet)}".strip()
        return {"note": told, "download": answer_file().download()}

    sheet = answer_file().sheet
    return PredictionBoard(
        title="Hand in",
        lead=lead,
        when="When you are ready",
        panel_heading="Hand in",
        done_heading="Handed in",
        asks=[],
        answers={},
        commit_label="Hand in",
        on_commit=lambda _: done(hand_in()),
        **(_before(sheet, receipt, answer_file()) if sheet.handed_in else {}),
    )


def _before(sheet, receipt, file):
    """Return the state of a board of a sheet that was handed in before; open if it is not there."""
    try:
        there = deliver(sheet, pause=0.0)
    except SheetError as problem:
        return {"restored_note": f"{receipt(sheet)} {problem}", "download": file.download()}
    note = f"{receipt(sheet)} {there}".strip()
    return {"committed": True, "note": note, "download": file.download()}


def state_words(done, count, what, learner, whole):
    """Return how much of a sheet is committed, in words.

    Parameters
    ----------
    done, count : int
        Committed, and there to be.
    what : str
        "boards" or "questions".
    learner : str
        The learner's code.
    whole : str
        What is handed in: "sheet" or "paper".

    Examples
    --------
    >>> state_words(2, 3, "boards", "A07", "sheet").split(". ")[1]
    '1 is still open and would earn nothing'
    """
    left = count - done
    verb = "is" if left == 1 else "are"
    open_ones = f" {left} {verb} still open and would earn nothing." if left > 0 else ""
    return (
        f"{done} of {count} {what} are committed, for learner {learner}.{open_ones} Once handed "
        f"in, the {whole} cannot be changed."
    )
