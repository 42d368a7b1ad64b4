"""The class board's Python side: nothing told early, hands counted right, every error said."""

import json
import re
from pathlib import Path

import pytest

import fuelkit.show as show
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.class_board import MOST_HANDS, ClassBoard, ClassBoardError
from fuelkit.show.palette import COLOURS, DARK

ASKS = [
    {"id": "p1", "text": "Left centre pump", "kind": "choice", "options": ["OFF", "RUN"],
     "component": "left centre pump", "right": "SECRET in the ask"},
    {"id": "m1", "text": "Fuel in the centre tank?", "kind": "number", "unit": "kg"},
    {"id": "t1", "text": "When does it stop?", "kind": "time"},
    {"id": "w1", "text": "Why does it stop?", "kind": "text"},
    {"id": "b1", "text": "Draw the pump's flight", "kind": "bands"},
]  # fmt: skip
ANSWERS = {
    "p1": {"right": "OFF", "reason": "SECRET p1", "after_drawing": "<svg>SECRET after</svg>"},
    "m1": {"right": "6 800 kg", "reason": "SECRET m1", "after_table": "<table>SECRET</table>"},
    "t1": {"right": "1:32:00", "reason": "SECRET t1"},
    "w1": {"right": "It is empty", "reason": ""},
    "b1": {"right": "OFF from 1:32:00", "reason": "SECRET b1"},
}  # fmt: skip
WHOLE = f"must be a whole number from 0 to {MOST_HANDS}"


def made(**more):
    """A board with an ask of each kind."""
    given = {"title": "Taxi out", "asks": ASKS, "on_reveal": ANSWERS.__getitem__}
    return ClassBoard(**(given | more))


def state(board):
    """All that lies open in the page."""
    return json.dumps(board.get_state(), default=str)


def test_nothing_in_the_browser_tells_an_answer_before_its_reveal():
    """Neither the widget's state nor an ask's spare fields; nobody is even asked before."""
    asked = []
    board = made(on_reveal=lambda name: asked.append(name) or ANSWERS[name])
    board.counts = {"p1": {"OFF": 3}}

    assert "SECRET" not in state(board)
    assert asked == []


def test_a_reveal_tells_its_own_answer_and_no_other():
    """The drawing of what the aircraft did waits until the last ask is revealed."""
    board = made()

    board.reveal("p1")

    assert board.reveals["p1"]["right"] == "OFF"
    assert "SECRET p1" in state(board)
    assert not any(words in state(board) for words in ("SECRET m1", "SECRET t1", "SECRET after"))
    for name in ("m1", "t1", "w1"):
        board.reveal(name)
        assert board.after_drawing == board.after_table == ""
    board.reveal("b1")
    assert board.after_drawing == "<svg>SECRET after</svg>"
    assert board.after_table == "<table>SECRET</table>"


def test_a_second_reveal_asks_nobody():
    """What is shown stays as it is."""
    asked = []
    board = made(on_reveal=lambda name: asked.append(name) or ANSWERS[name])

    board.reveal("p1")
    board.reveal("p1")

    assert asked == ["p1"]


def test_reveal_all_reveals_in_order_and_stops_where_it_fails(capsys):
    """What came before the failure is shown, and the failure is told."""

    def fails_at_time(name):
        if name == "t1":
            raise FuelkitError("flight: it is not computed. Wait.")
        return ANSWERS[name]

    board = made(on_reveal=fails_at_time)
    board.reveal_all()

    assert board.revealed == ("p1", "m1")
    assert board.error == "The answer is not revealed. flight: it is not computed. Wait."
    assert board.after_drawing == ""
    assert "Traceback" in capsys.readouterr().err


def test_to_start_again_leaves_nothing_of_the_last_class():
    """Counts, answers and drawing are gone, and both callbacks hear of it."""
    seen, again = [], []
    board = made(on_counts=seen.append, on_again=lambda: again.append(True))
    board.counts = {"p1": {"OFF": 3}}
    board.reveal_all()

    board.start_again()

    assert board.counts == {} and board.revealed == () and board.after_drawing == ""
    assert "SECRET" not in state(board)
    assert seen == [{"p1": {"OFF": 3}}, {}]
    assert again == [True]


def test_a_restored_board_shows_counts_and_what_was_revealed():
    """As after reopening a notebook; asks that are gone from the lesson do not disturb."""
    board = made(counts={"p1": {"RUN": 4}, "old": {"x": 1}}, revealed=["p1", "old"])

    assert board.counts == {"p1": {"RUN": 4}}
    assert board.revealed == ("p1",)
    assert "SECRET m1" not in state(board)


@pytest.mark.parametrize("count", [-1, MOST_HANDS + 1, 2.5, "3", True, None])
def test_hands_are_whole_numbers(count):
    """Anything else is refused with field, value and rule, and the last good count comes back."""
    seen = []
    board = made(on_counts=seen.append)
    board.counts = {"p1": {"OFF": 3}}

    board.counts = {"p1": {"OFF": count}}

    assert board.counts == {"p1": {"OFF": 3}}
    assert seen == [{"p1": {"OFF": 3}}]
    assert f"Left centre pump, OFF: hands is {count!r}; it {WHOLE}" in board.error


@pytest.mark.parametrize("count", [0, MOST_HANDS])
def test_both_ends_of_the_range_are_taken(count):
    """0 and 500."""
    board = made()
    board.counts = {"p1": {"OFF": count}}
    assert board.counts == {"p1": {"OFF": count}} and board.error == ""


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        ({"p1": {"MAYBE": 1}}, "option is 'MAYBE'; it must be OFF or RUN"),
        ({"m1": {"about 6": 1}}, "value is 'about 6'; it must be a figure such as"),
        ({"t1": {"noon": 1}}, "value is 'noon'; it must be a time such as 1:32:00"),
        ({"w1": {" ": 1}}, "value is ' '; it must have 1 to 40 characters"),
        ({"m1": {f"{n} kg": 1 for n in range(7)}}, "7 values are given; it must be 6 at most"),
        ({"zz": {}}, "counts has 'zz'; it must be one of p1, m1"),
        ({"p1": 3}, "counts of 'p1' is 3; it must be a number for each answer"),
    ],
)
def test_a_count_that_cannot_be_is_refused(counts, words):
    """Names the field, the value and what would be right."""
    board = made()
    board.counts = counts
    assert words in board.error
    assert board.counts == {}


def test_counts_are_handed_over_as_a_copy():
    """What the callback does with them does not reach the board."""
    board = made(on_counts=lambda counts: counts["p1"].clear())
    board.counts = {"p1": {"OFF": 3}}
    assert board.counts == {"p1": {"OFF": 3}}


def test_who_had_it_is_told_by_option_or_by_reading():
    """Figures and times by how they read; texts are not judged; later counts are judged too."""
    board = made(counts={"m1": {"6,800": 2, "6 900": 1}, "w1": {"empty": 1}})
    board.reveal_all()

    assert board.reveals["p1"]["had"] == ["OFF"]
    assert board.reveals["m1"]["had"] == ["6,800"]
    assert board.reveals["w1"]["had"] is None
    assert board.reveals["b1"]["had"] is None
    board.counts = {"t1": {"1:32": 2, "1:33": 1}}
    assert board.reveals["t1"]["had"] == ["1:32"]


def test_the_marking_may_tell_who_had_it():
    """With a tolerance, for instance; an answer that is no option is not judged."""
    board = made(
        on_reveal=lambda _: {"right": "6 800 kg ± 60 kg", "reason": ""},
        agrees=lambda name, value: (name, value) == ("m1", "6 850"),
        counts={"m1": {"6 850": 2, "6 900": 1}},
    )
    board.reveal("m1")
    board.reveal("p1")

    assert board.reveals["m1"]["had"] == ["6 850"]
    assert board.reveals["p1"]["had"] is None


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (FuelkitError("sheet: it is full. Free it."), "sheet: it is full. Free it."),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ZeroDivisionError("division by zero"), "ZeroDivisionError: division by zero"),
    ],
)
def test_an_error_in_a_callback_is_told(problem, words, capsys):
    """On the board in words, in the log in full; what was counted stays on the board."""

    def fails(*_):
        raise problem

    board = made(on_counts=fails, on_reveal=fails, on_again=fails)
    board.counts = {"p1": {"OFF": 3}}
    assert board.error.startswith("The count is not saved.") and words in board.error
    assert board.counts == {"p1": {"OFF": 3}}
    assert not board.reveal("p1")
    assert board.error.startswith("The answer is not revealed.") and words in board.error
    assert board.revealed == ()
    board.start_again()
    assert board.error.startswith("The new start is not saved.") and words in board.error
    assert "Traceback" in capsys.readouterr().err


@pytest.mark.parametrize("found", [None, {}, {"right": ""}, {"right": 3}])
def test_an_answer_without_a_right_is_refused(found):
    """Nothing is shown as revealed, and the error says what is missing."""
    board = made(on_reveal=lambda _: found)
    board.reveal("p1")
    assert board.revealed == ()
    assert "it must be a text" in board.error


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"asks": []}, "asks is empty"),
        ({"asks": [{"id": "", "text": "x", "kind": "number"}]}, "an ask has id ''"),
        ({"asks": [{"id": "a", "text": "x", "kind": "guess"}]}, "kind is 'guess'; it must be"),
        ({"asks": [{"id": "a", "text": "x", "kind": "choice", "options": ["1"]}]}, "two or more"),
        ({"asks": [ASKS[1], ASKS[1]]}, "two asks have the id 'm1'"),
        ({"counts": {"p1": {"OFF": 501}}}, "hands is 501"),
    ],
)
def test_a_board_that_is_not_whole_is_refused(more, words):
    """Field, value and rule, when it is made."""
    with pytest.raises(ClassBoardError, match=words):
        made(**more)


def test_colours_come_from_the_palette_in_light_and_dark():
    """Every colour that the style sheet names is given for this board in both themes."""
    own = (Path(show.__file__).parent / "class_board.css").read_text(encoding="utf-8")
    used = set(re.findall(r"(?:color|background): var\(--(\w+)\)", own))
    assert used and used <= set(COLOURS)
    for name in used:
        for colour in (COLOURS[name], DARK[COLOURS[name]]):
            given = rf"\.fuelkit-class[^{{}}]*{{[^{{}}]*--{name}:{colour};"
            assert re.search(given, str(ClassBoard._css)), (name, colour)
