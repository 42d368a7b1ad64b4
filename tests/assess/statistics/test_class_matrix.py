"""The table of a class: cells may be missing, marks may not be impossible."""

import math

import numpy as np
import pytest

from fuelkit.assess.statistics.class_matrix import ClassMatrix, class_matrix

NAN = math.nan


def small():
    """Three learners, three lines, two cells missing."""
    return ClassMatrix(
        ("A1", "A2", "A3"),
        ("climb", "order", "sheet"),
        (2.0, 1.0, 4.0),
        ((2.0, 0.0, 3.0), (1.0, None, 4.0), (None, 1.0, 0.0)),
    )


def test_missing_cells_stay_missing():
    """They are no noughts."""
    np.testing.assert_array_equal(
        small().shares, [[1.0, 0.0, 0.75], [0.5, NAN, 1.0], [NAN, 1.0, 0.0]]
    )
    assert small().is_whole.tolist() == [True, False, False]
    assert small().whole_totals() == (("A1", 5.0),)


def test_a_line_speaks_of_those_who_had_it():
    """Not of the class."""
    assert small().shares_on("order").tolist() == [0.0, 1.0]


def test_the_rest_is_that_of_the_learners_own_paper():
    """By hand: A1 had order and sheet beside climb, 3 of 5; A2 sheet alone, 4 of 4."""
    on_line, on_rest = small().line_and_rest("climb")
    assert on_line.tolist() == [1.0, 0.5]
    assert on_rest.tolist() == [3 / 5, 4 / 4]


def test_who_had_one_line_alone_has_no_rest():
    """And is left out, rather than divided by nought."""
    matrix = ClassMatrix(("A1", "A2"), ("a", "b"), (1.0, 1.0), ((1.0, None), (1.0, 0.0)))
    assert matrix.line_and_rest("a")[1].tolist() == [0.0]


def test_an_empty_class_is_no_error():
    """Its figures are silent, that is all."""
    matrix = class_matrix([])
    assert matrix.marks.shape == (0, 0) and matrix.whole_totals() == ()


def test_entries_may_come_in_any_order():
    """Questions of one line are added up."""
    entries = [("A1", "a", 1, 2), ("A1", "a", 0, 1), ("A2", "a", 3, 3), ("A2", "b", 1, 1)]
    assert class_matrix(entries) == class_matrix(entries[::-1])
    assert class_matrix(entries).got == ((1, None), (3, 1))
    assert class_matrix(entries).most == (3, 1)


@pytest.mark.parametrize("mark", [-0.5, 2.5, NAN, math.inf])
def test_impossible_marks_are_named(mark):
    """Learner, line, value, and what would be right."""
    with pytest.raises(ValueError, match=r"learner 'A1', line 'a': got is .*from 0 to 2"):
        ClassMatrix(("A1",), ("a",), (2.0,), ((mark,),))


@pytest.mark.parametrize(
    ("learners", "lines", "most", "got", "words"),
    [
        (("A1", "A1"), ("a",), (1.0,), ((1.0,), (1.0,)), "learner 'A1' stands twice"),
        (("A1",), ("a", "a"), (1.0, 1.0), ((1.0, 1.0),), "line 'a' stands twice"),
        (("A1",), ("a",), (0.0,), ((0.0,),), "line 'a': most is 0.0"),
        (("A1",), ("a",), (1.0, 1.0), ((1.0,),), "most 2 figures"),
        (("A1",), ("a",), (1.0,), ((1.0, 1.0),), "learner 'A1' has 2 marks"),
        (("A1",), ("a",), (1.0,), (), "got has 0 rows"),
    ],
)
def test_a_table_that_does_not_fit_is_named(learners, lines, most, got, words):
    """What is wrong, and where."""
    with pytest.raises(ValueError, match=words):
        ClassMatrix(learners, lines, most, got)


def test_papers_of_different_worth_are_not_mixed():
    """A line worth 1 to one learner and 2 to another is no line of one blueprint."""
    with pytest.raises(ValueError, match="line 'a' is worth 1 marks on one paper and 2 on another"):
        class_matrix([("A1", "a", 1, 1), ("A2", "a", 1, 2)])


def test_an_unknown_line_is_named():
    """With those that there are."""
    with pytest.raises(ValueError, match="no line 'x'; there are climb, order, sheet"):
        small().shares_on("x")
