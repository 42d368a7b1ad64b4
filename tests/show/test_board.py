"""The board's Python side: nothing told early, nothing lost, every error said."""

import json

import pytest

from fuelkit.physics.errors import FuelkitError
from fuelkit.show.board import BoardError, PredictionBoard

ASKS = [
    {"id": "p1", "text": "Left centre pump", "kind": "choice", "options": ["OFF", "RUN"],
     "component": "left centre pump"},
    {"id": "m1", "text": "Fuel in the centre tank", "kind": "number", "unit": "kg"},
]  # fmt: skip
GIVEN = {"p1": "RUN", "m1": "6 800"}
RESULT = {
    "comparison": [{"id": "p1", "text": "Left centre pump", "given": "RUN", "right": "OFF",
                    "is_right": False, "reason": "of the SECRET rule"}],
    "after_drawing": "<svg>SECRET</svg>", "after_table": "<table></table>", "note": "0 of 2",
}  # fmt: skip


def made(**more):
    """A board with two asks."""
    return PredictionBoard(**({"title": "Taxi out", "asks": ASKS} | more))


def test_nothing_of_the_answer_is_in_the_browser_before_the_commit():
    """The widget's whole state, as it lies open in the page, does not hold what is right."""
    board = made(on_commit=lambda _: RESULT)

    assert "SECRET" not in json.dumps(board.get_state(), default=str)
    board.answers = {"p1": "RUN"}
    assert "SECRET" not in json.dumps(board.get_state(), default=str)

    board.commit(GIVEN)
    assert "SECRET" in json.dumps(board.get_state(), default=str)


def test_commit_hands_over_the_answers_and_shows_the_result():
    """The callback gets what was set; the board then holds the comparison."""
    seen = []
    board = made(on_commit=lambda answers: seen.append(answers) or RESULT)

    board.commit(GIVEN)

    assert seen == [GIVEN]
    assert board.committed
    assert board.comparison == RESULT["comparison"]
    assert board.note == "0 of 2"


def test_a_second_commit_changes_nothing():
    """What is committed stays, whatever the page sends later."""
    seen = []
    board = made(on_commit=seen.append)
    board.commit(GIVEN)

    board.commit({"p1": "OFF", "m1": "1"})
    board.answers = {"p1": "OFF"}

    assert len(seen) == 1
    assert board.answers == GIVEN


def test_drafts_are_handed_over():
    """Each change reaches the callback."""
    seen = []
    board = made(on_draft=seen.append)

    board.answers = {"p1": "RUN"}

    assert seen == [{"p1": "RUN"}]


def test_an_open_ask_is_not_committed():
    """Neither a missing answer nor one that is no option."""
    board = made(on_commit=lambda _: RESULT)

    board.commit({"p1": "RUN"})
    assert board.error == (
        "Your prediction is not committed. 'Fuel in the centre tank' is still open. "
        "Set it and commit again."
    )
    board.commit({"p1": "MAYBE", "m1": "1"})
    assert "is MAYBE; it must be one of OFF, RUN" in board.error
    assert not board.committed


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (FuelkitError("sheet: it is full. Free it."), "sheet: it is full. Free it."),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ZeroDivisionError("division by zero"), "Something is wrong in the course, not in your"),
    ],
)
def test_an_error_in_a_callback_is_told_and_nothing_is_committed(problem, words, capsys):
    """In plain words on the board, in full in the log; the next try may succeed."""

    def fails(_):
        raise problem

    board = made(on_commit=fails, on_draft=fails)
    board.commit(GIVEN)
    assert words in board.error
    assert board.error.startswith("Your prediction is not committed.")
    assert not board.committed
    assert "Traceback" in capsys.readouterr().err

    board.answers = {"p1": "OFF"}
    assert board.error.startswith("What you have set is not saved.")


def test_a_restored_board_shows_its_result_and_stays_committed():
    """As after reopening a notebook."""
    board = made(answers=GIVEN, committed=True, **RESULT)

    board.answers = {}

    assert board.answers == GIVEN
    assert board.comparison == RESULT["comparison"]


def test_answers_of_asks_that_are_gone_are_left_out():
    """A sheet from an older lesson does not disturb."""
    assert made(answers={"old": "1", "p1": "RUN"}).answers == {"p1": "RUN"}


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"asks": [{"id": "", "text": "x", "kind": "number"}]}, "an ask has id ''"),
        (
            {"asks": [{"id": "a", "text": "x", "kind": "guess"}]},
            "kind is 'guess'; it must be choice",
        ),
        ({"asks": [{"id": "a", "text": "x", "kind": "choice", "options": ["1"]}]}, "two or more"),
        ({"asks": [ASKS[1], ASKS[1]]}, "two asks have the id 'm1'"),
        ({"comparison": RESULT["comparison"]}, "comparison is given before the commit"),
        ({"after_drawing": "<svg/>"}, "after_drawing is given before the commit"),
    ],
)
def test_a_board_that_is_not_whole_is_refused(more, words):
    """Field, value and rule, when it is made."""
    with pytest.raises(BoardError, match=words):
        made(**more)
