"""Marks: worked by hand, corrected for chance, never above full or below zero."""

from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.assess.answers import Answer, answers
from fuelkit.assess.course import Ask, Board
from fuelkit.assess.flights import flight_for
from fuelkit.assess.marking import mark_board
from fuelkit.assess.teach import unit_for
from fuelkit.assess.written import read_mass, read_time
from tests.assess.conftest import right_answers

OPTIONS = ("OFF", "RUN")


def state(name, shown, right):
    """A state ask with two options, its answer and what was shown."""
    ask = Ask(name, "state", name, name, "", 0.0, 0.0)
    return Answer(ask, name, OPTIONS, right, shown, "", "because of a rule of the test")


def figure(name, value, tolerance, marks):
    ask = Ask(name, "figure", name, name, "", tolerance, marks)
    return Answer(ask, name, (), value, 0.0, "kg", "because of a flow of the test")


def board(marks=4.0):
    return Board("b", "A board", "lead", "0:00:00", "0:01:00", "", True, "", marks, ())


FOUR = (
    state("a", "OFF", "RUN"),
    state("b", "OFF", "RUN"),
    state("c", "OFF", "RUN"),
    state("d", "OFF", "OFF"),
)


def marks_for(**given):
    return mark_board(board(), FOUR, given).state_marks


def test_all_right_earns_full_marks():
    """Every change foreseen and nothing else changed."""
    assert marks_for(a="RUN", b="RUN", c="RUN", d="OFF") == 4.0


def test_copying_what_was_shown_earns_nothing():
    """Nothing changed on the sheet, so nothing was foreseen."""
    assert marks_for(a="OFF", b="OFF", c="OFF", d="OFF") == 0.0


def test_changing_everything_is_marked_down_for_the_false_change():
    """By hand: 3 changes right, 1 false: share 3/4, guess 1/2, (3/4 - 1/2) / (1/2) = 1/2."""
    assert marks_for(a="RUN", b="RUN", c="RUN", d="RUN") == pytest.approx(2.0)


def test_two_of_three_is_worked_by_hand():
    """By hand: share 2/3, guess 1/2: (2/3 - 1/2) / (1/2) = 1/3 of 4 marks."""
    assert marks_for(a="RUN", b="RUN", c="OFF", d="OFF") == pytest.approx(4.0 / 3.0)


def test_worse_than_chance_is_zero_not_negative():
    """One change of three, and a false one: below guessing."""
    assert marks_for(a="RUN", b="OFF", c="OFF", d="RUN") == 0.0


def test_a_figure_counts_up_to_its_tolerance_and_not_beyond():
    """Exactly at the limit counts; a kilogram further does not."""
    asks = (figure("f", 3500.0, 40.0, 2.0),)
    assert mark_board(board(0.0), asks, {"f": "3 540"}).marks == 2.0
    assert mark_board(board(0.0), asks, {"f": "3460 kg"}).marks == 2.0
    assert mark_board(board(0.0), asks, {"f": "3541"}).marks == 0.0


def test_an_answer_that_cannot_be_read_says_what_was_expected():
    """The reason names the form with its unit."""
    line = mark_board(board(0.0), (figure("f", 3500.0, 40.0, 2.0),), {"f": "plenty"}).lines[0]
    assert "cannot be read; expected was a mass such as 3 250 kg" in line.reason


@given(
    st.lists(st.tuples(*[st.sampled_from(OPTIONS)] * 3), min_size=1, max_size=8),
    st.randoms(use_true_random=False),
)
def test_marks_stay_within_bounds_and_do_not_depend_on_order(rows, random):
    """For any states shown, right and given: 0 <= marks <= full, in any order of the asks."""
    asks = [state(str(i), shown, right) for i, (shown, right, _) in enumerate(rows)]
    answered = {str(i): given_ for i, (_, _, given_) in enumerate(rows)}
    first = mark_board(board(), asks, answered)
    random.shuffle(asks)
    second = mark_board(board(), asks, answered)
    assert 0.0 <= first.state_marks <= first.state_full <= 4.0
    assert first.state_marks == second.state_marks


def test_a_right_sheet_scores_full_and_an_empty_one_zero(exercise):
    """Over a whole exercise of the kit."""
    right = right_answers(exercise)
    for one in exercise.boards:
        computed = answers(flight_for(exercise, one), one)
        best, none = mark_board(one, computed, right[one.name]), mark_board(one, computed, {})
        assert best.marks == pytest.approx(best.full) and best.full > 0.0
        assert none.marks == 0.0 and none.full == best.full


@dataclass(frozen=True)
class Written:
    text: str
    value: float | None


@pytest.mark.parametrize(
    "case",
    [
        Written("12 500", 12500.0),
        Written("12\u00a0500 kg", 12500.0),
        Written("12,500", 12500.0),
        Written("12.5 t", 12500.0),
        Written("12,5t", 12500.0),
        Written("100 lb", 45.359237),  # NIST SP 811: 1 lb = 0.45359237 kg exactly
        Written("0", 0.0),
        Written("-5", -5.0),
        Written("", None),
        Written("12 500 l", None),
        Written("1,2,3", None),
        Written("nan", None),
        Written("9" * 40, None),
    ],
    ids=lambda case: case.text[:12],
)
def test_masses_are_read_as_people_write_them(case):
    """What is unclear is not guessed."""
    found = read_mass(case.text)
    assert found == (pytest.approx(case.value) if case.value is not None else None)


@settings(max_examples=200)
@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_without_an_error(text):
    """No text that a learner can type breaks the reading."""
    assert read_mass(text) is None or isinstance(read_mass(text), float)
    assert read_time(text) is None or 0.0 <= read_time(text) < 100 * 3600.0


def test_the_rows_that_count_as_changes_are_marked_as_such():
    """As many of them as the note counts; none that the kit has set."""
    for name in ("exercise-climb", "exercise-cruise"):
        unit = unit_for(name)
        for board in unit.boards:
            computed = answers(flight_for(unit, board), board)
            mark = mark_board(board, computed, {})
            changes = [line for line in mark.lines if line.is_change]
            if board.state_marks:
                assert f"of {len(changes)} changes" in mark.note
