"""A board speaks of a prediction only where a flight is run after it."""

from fuelkit.assess.course import load_unit
from fuelkit.show.headings import counted, headings


def board_of(unit, scene, *, drawn=True):
    """The first board of that scene, with or without a drawing."""
    return next(b for b in load_unit(unit).boards if b.scene == scene and b.drawing == drawn)


def test_only_what_is_predicted_is_called_so():
    """A sum, a decision and an answer from memory are right or not; a flight is as predicted."""
    flight = board_of("lesson-cruise", "flight")
    assert headings(flight) == {} and counted(flight, 2, 3) == "2 of 3 as predicted."
    others = [board_of("lesson-cruise", "flight", drawn=False)]
    others += [board_of("lesson-walk-around", s) for s in ("walk-around", "sticks", "water")]
    for board in others:
        words = headings(board)
        assert set(words) == {"panel_heading", "done_heading"}
        assert "predict" not in " ".join(words.values()).casefold()
        assert counted(board, 2, 3) == "2 of 3 right."
