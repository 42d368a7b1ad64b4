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
BANDS = {"id": "b1", "text": "When does it run?", "kind": "bands", "start": 900.0, "end": 9000.0,
         "state": "RUN", "label": "Left centre pump"}  # fmt: skip
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
        ({"compared": {"p1": "same"}}, "compared is given before the commit"),
        ({"asks": [ASKS[0] | {"given": ""}]}, "given is ''; it must be a text"),
        ({"asks": [BANDS | {"end": 900.0}]}, "start is 900.0 and end 900.0; they must be seconds"),
        ({"asks": [BANDS | {"state": None}]}, "state is None; it must be a text"),
    ],
)
def test_a_board_that_is_not_whole_is_refused(more, words):
    """Field, value and rule, when it is made."""
    with pytest.raises(BoardError, match=words):
        made(**more)


def compared(marks):
    """What a lesson tells once the learner has marked themself."""
    return {"reasons": [{"id": "p1", "is_right": False, "reason": "of the SECRET rule"}],
            "note": "0 of 1"}  # fmt: skip


def test_reasons_are_held_back_until_the_learner_has_compared():
    """After the commit no verdict and no reason lies open; after the marking both do."""
    seen = []
    board = made(
        on_commit=lambda _: RESULT, on_compare=lambda marks: seen.append(marks) or compared(marks)
    )
    board.commit(GIVEN)

    assert board.comparison == [
        {"id": "p1", "text": "Left centre pump", "given": "RUN", "right": "OFF"}
    ]
    assert "of the SECRET rule" not in json.dumps(board.get_state(), default=str)

    board.compare({"p1": "same"})
    assert seen == [{"p1": "same"}]
    assert board.comparison == RESULT["comparison"]
    assert board.compared == {"p1": "same"}
    assert board.note == "0 of 1"

    board.compare({"p1": "differs"})
    assert len(seen) == 1 and board.compared == {"p1": "same"}


@pytest.mark.parametrize("marks", [None, {}, {"p1": "perhaps"}])
def test_a_marking_that_is_not_whole_is_refused(marks):
    """With the row and what it may be; nothing is told."""
    board = made(on_commit=lambda _: RESULT, on_compare=compared)
    board.commit(GIVEN)

    board.compare(marks)

    assert "it must be same or differs" in board.error
    assert not board.compared and "reason" not in board.comparison[0]


def test_nothing_is_compared_before_the_commit():
    """A page that asks for reasons early gets none."""
    board = made(on_commit=lambda _: RESULT, on_compare=compared)

    board.compare({"p1": "same"})

    assert not board.compared and not board.comparison


def test_an_error_while_comparing_or_asking_for_another_is_told(capsys):
    """In plain words; the marking can be sent again."""

    def fails(*_):
        raise FuelkitError("sheet: it is full. Free it.")

    board = made(on_commit=lambda _: RESULT, on_compare=fails, on_another=fails)
    board.commit(GIVEN)
    board.compare({"p1": "same"})
    assert board.error == "Your marking is not kept. sheet: it is full. Free it."
    assert not board.compared

    assert not board.another()
    assert board.error.startswith("There is no other one yet.")
    assert "Traceback" in capsys.readouterr().err


def test_a_restored_board_that_was_compared_keeps_its_reasons():
    """And one that was committed but not compared holds them back, even if it is given them."""
    kept = made(answers=GIVEN, committed=True, compared={"p1": "same"}, on_compare=compared,
                **RESULT)  # fmt: skip
    still = made(answers=GIVEN, committed=True, on_compare=compared, **RESULT)

    assert kept.comparison == RESULT["comparison"]
    assert "SECRET" not in json.dumps(still.comparison)


def test_what_the_course_has_set_is_not_answered():
    """It needs no answer, and none that is sent for it is kept."""
    seen = []
    asks = [ASKS[0] | {"given": "RUN", "reason": "its switch is on"}, ASKS[1]]
    board = made(asks=asks, on_commit=seen.append)

    board.commit({"m1": "6 800", "p1": "OFF"})

    assert seen == [{"m1": "6 800"}]
    assert board.committed


def test_bands_are_handed_over_as_they_are_written():
    """Only an empty answer is refused here; the page and the marking read it."""
    board = made(asks=[BANDS])

    board.commit({"b1": " "})
    assert "'When does it run?' is still open" in board.error
    board.commit({"b1": "0:44:30-1:16:20, 1:31:00-2:00:00"})
    assert board.answers == {"b1": "0:44:30-1:16:20, 1:31:00-2:00:00"}


def test_a_board_that_is_no_prediction_does_not_speak_of_one():
    """Signing in that fails is not called a prediction."""
    board = made(panel_heading="Your code", done_heading="Signed in", commit_label="Sign in")

    board.commit({})

    assert board.error.startswith("“Sign in” did not go through.")


def test_an_unknown_argument_is_refused():
    """A slip of the pen is not swallowed."""
    with pytest.raises(TypeError, match="no argument 'heading'"):
        made(heading="x")
