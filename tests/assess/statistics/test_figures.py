"""Facility, discrimination, reliability, options: examples in print, properties, silence."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from fuelkit.assess.statistics.class_matrix import ClassMatrix
from fuelkit.assess.statistics.discrimination import item_rest
from fuelkit.assess.statistics.estimate import (
    LEAST_FOR_CORRELATION,
    LEAST_FOR_RELIABILITY,
    LEAST_FOR_SHARE,
    Estimate,
    silence,
)
from fuelkit.assess.statistics.facility import facility
from fuelkit.assess.statistics.intervals import feldt_interval, fisher_interval, wilson_interval
from fuelkit.assess.statistics.options import option_table
from fuelkit.assess.statistics.pass_mark import near_pass
from fuelkit.assess.statistics.reliability import alpha, kr20, standard_error
from fuelkit.assess.statistics.summary import class_figures
from tests.assess.statistics.classes import (
    QUIZ,
    QUIZ_RIGHT,
    QUIZ_TOTALS,
    QUIZ_VARIANCE,
    TWO_CLASSES,
    class_of_covariance,
    drawn_class,
)


def matrix_of(marks, most=1.0):
    """A class matrix of an array; not a number is a missing cell."""
    rows = tuple(tuple(None if math.isnan(m) else float(m) for m in row) for row in marks)
    learners = tuple(f"A{i}" for i in range(len(marks)))
    lines = tuple(f"line {j}" for j in range(np.shape(marks)[1]))
    return ClassMatrix(learners, lines, (most,) * len(lines), rows)


def test_the_quiz_is_copied_rightly():
    """Totals, facilities and variance are those printed beside it."""
    assert tuple(QUIZ.sum(axis=1)) == QUIZ_TOTALS
    assert QUIZ.mean(axis=0) == pytest.approx(QUIZ_RIGHT)
    assert QUIZ.sum(axis=1).var() == pytest.approx(QUIZ_VARIANCE)


def test_facilities_are_those_of_the_textbook():
    """The row p of Wuensch's table, with Wilson's interval for twenty students."""
    for column, right in zip(TWO_CLASSES.T, QUIZ_RIGHT, strict=True):
        found = facility(column)
        assert found.value == pytest.approx(right)
        assert (found.low, found.high) == pytest.approx(wilson_interval(round(20 * right), 20))


def test_kr20_is_that_of_the_textbook():
    """10/9 · (1 - 2.18/5.84): the sum of Wuensch's row p·q over his variance."""
    assert kr20(TWO_CLASSES).value == pytest.approx(10 / 9 * (1 - 2.18 / 5.84))


def test_alpha_and_kr20_are_one_formula():
    """For right and wrong marks, interval included; as the textbook says."""
    marks = drawn_class()
    one, other = alpha(marks), kr20(marks)
    assert one.is_given
    assert (one.value, one.low, one.high) == pytest.approx((other.value, other.low, other.high))


# Documentation of StatsBase.jl, `cronbachalpha`: alpha of this covariance, and without each item.
COVARIANCE = np.array([[10, 6, 6, 6], [6, 11, 6, 6], [6, 6, 12, 6], [6, 6, 6, 13]])


@pytest.mark.parametrize(
    ("left_out", "printed"),
    [(None, 0.8136), (0, 0.7500), (1, 0.7606), (2, 0.7714), (3, 0.7826)],
)
def test_alpha_is_that_of_another_library(left_out, printed):
    """On marks that have exactly the covariance of its example."""
    kept = [i for i in range(4) if i != left_out]
    found = alpha(class_of_covariance(COVARIANCE)[:, kept])
    assert found.value == pytest.approx(printed, abs=6e-5)
    assert (found.low, found.high) == pytest.approx(feldt_interval(found.value, 60, len(kept)))


def test_the_standard_error_is_that_of_the_textbook():
    """Standard deviation 10, reliability 0.90: 3.16 (iedunote.com, read in a stored copy)."""
    ten, paired = 1.9, 0.9  # ten lines: variance 10·1.9 + 90·0.9 = 100; alpha 10/9·(1 - 0.19) = 0.9
    covariance = np.full((10, 10), paired) + (ten - paired) * np.eye(10)
    marks = class_of_covariance(covariance)
    assert marks.sum(axis=1).std(ddof=1) == pytest.approx(10.0)
    assert alpha(marks).value == pytest.approx(0.90)
    assert standard_error(marks).value == pytest.approx(3.16, abs=5e-3)


@pytest.mark.parametrize("seed", range(5))
def test_the_standard_error_is_a_residual_of_the_analysis_of_variance(seed):
    """Hoyt 1941: lines times the residual mean square, worked out without alpha."""
    marks = drawn_class(learners=20, lines=12, seed=seed)
    residual = marks - marks.mean(axis=0) - marks.mean(axis=1, keepdims=True) + marks.mean()
    mean_square = (residual**2).sum() / (19 * 11)
    found = standard_error(marks)
    assert found.value == pytest.approx(math.sqrt(12 * mean_square))
    below, above = stats.chi2.interval(0.95, 19 * 11)
    assert found.low == pytest.approx(math.sqrt(12 * mean_square * 19 * 11 / above))
    assert found.high == pytest.approx(math.sqrt(12 * mean_square * 19 * 11 / below))


def test_feldts_interval_holds_the_true_alpha_as_often_as_it_says():
    """1,000 classes of 24 with eight parallel normal lines, whose true alpha is 0.8."""
    lot = np.random.default_rng(7)
    able = lot.normal(size=(1000, 24, 1)) * math.sqrt(0.5)  # alpha = 8·0.5/(8·0.5 + 1) = 0.8
    marks = able + lot.normal(size=(1000, 24, 8))
    value = 8 / 7 * (1 - marks.var(axis=1, ddof=1).sum(axis=1) / marks.sum(axis=2).var(1, ddof=1))
    held = np.mean([low <= 0.8 <= high for low, high in (feldt_interval(v, 24, 8) for v in value)])
    assert held == pytest.approx(0.95, abs=0.021)  # three standard deviations of 1,000 draws


def test_item_rest_is_the_point_biserial_of_the_rest():
    """scipy.stats.pointbiserialr of each question of the quiz and the total without it."""
    matrix = matrix_of(TWO_CLASSES)
    for j, line in enumerate(matrix.lines):
        found = item_rest(*matrix.line_and_rest(line))
        other = stats.pointbiserialr(TWO_CLASSES[:, j], np.delete(TWO_CLASSES, j, 1).sum(axis=1))
        assert found.value == pytest.approx(other.statistic)
        assert (found.low, found.high) == pytest.approx(fisher_interval(other.statistic, 20))


def test_item_rest_is_the_corrected_item_total_correlation():
    """Henrysson 1963: (r·s_t - s_i) / sqrt(s_t² + s_i² - 2·r·s_t·s_i), from memory."""
    matrix, totals = matrix_of(TWO_CLASSES), TWO_CLASSES.sum(axis=1)
    for j, line in enumerate(matrix.lines):
        r = np.corrcoef(TWO_CLASSES[:, j], totals)[0, 1]
        s_i, s_t = TWO_CLASSES[:, j].std(), totals.std()
        corrected = (r * s_t - s_i) / math.sqrt(s_t**2 + s_i**2 - 2 * r * s_t * s_i)
        assert item_rest(*matrix.line_and_rest(line)).value == pytest.approx(corrected)


def test_item_rest_by_hand():
    """Ten of sixteen right; the right ones earned 0.8 on the rest, the others 0.4 or 0.8.

    Of the rest: mean 11.6/16 = 0.725, mean square 8.8/16 = 0.55, deviation sqrt(0.55 - 0.725²).
    The point-biserial in its textbook form is (0.8 - 0.6) / deviation · sqrt(10·6)/16.
    """
    on_line = [1] * 10 + [0] * 6
    on_rest = [0.8] * 10 + [0.4, 0.8, 0.4, 0.8, 0.4, 0.8]
    deviation = math.sqrt(0.55 - 0.725**2)
    by_hand = (0.8 - 0.6) / deviation * math.sqrt(10 * 6) / 16
    assert item_rest(on_line, on_rest).value == pytest.approx(by_hand)


def test_part_marks_have_students_interval():
    """scipy.stats.t of the same shares."""
    shares = np.random.default_rng(2).choice([0.25, 0.5, 0.75, 1.0], size=20)
    found = facility(shares)
    other = stats.t.interval(0.95, 19, shares.mean(), stats.sem(shares))
    assert found.value == pytest.approx(shares.mean())
    assert (found.low, found.high) == pytest.approx(other)


def test_missing_cells_change_no_other_line():
    """A facility is over those who had the line, whatever else they had."""
    marks = drawn_class()
    holed = marks.copy()
    holed[::3, 4] = math.nan
    assert facility(matrix_of(holed).shares_on("line 5")) == facility(marks[:, 5])
    assert facility(matrix_of(holed).shares_on("line 4")).count == 16


# Limits of silence


def test_the_least_counts_follow_from_the_width_of_the_intervals():
    """In the named case each is the smallest class whose interval keeps to half of the scale."""

    def width(ends):
        return ends[1] - ends[0]

    n = LEAST_FOR_SHARE
    assert width(wilson_interval(n / 2, n)) <= 0.5 < width(wilson_interval((n - 1) / 2, n - 1))
    n = LEAST_FOR_CORRELATION
    assert width(fisher_interval(0.0, n)) <= 1.0 < width(fisher_interval(0.0, n - 1))
    n = LEAST_FOR_RELIABILITY
    assert width(feldt_interval(0.7, n, 20)) <= 0.5 < width(feldt_interval(0.7, n - 1, 20))


def test_small_classes_are_met_with_silence_and_a_reason():
    """One learner fewer than the least count: no figure, and a sentence that says why."""
    for found, least in (
        (facility([0, 1] * 5 + [1]), LEAST_FOR_SHARE),
        (item_rest(drawn_class(15)[:, 0], drawn_class(15)[:, 1]), LEAST_FOR_CORRELATION),
        (alpha(drawn_class(12)), LEAST_FOR_RELIABILITY),
        (kr20(drawn_class(12)), LEAST_FOR_RELIABILITY),
        (standard_error(drawn_class(12)), LEAST_FOR_RELIABILITY),
    ):
        assert (found.value, found.low, found.high) == (None, None, None)
        assert f"from {least} on" in found.silent and str(found).startswith("not given: only")


def test_the_summary_of_a_small_class_is_silent_throughout():
    """Eight learners: every figure says why, and nobody is named."""
    figures = class_figures(matrix_of(drawn_class(8)), 0.75)
    found = [figures.mean, figures.alpha, figures.kr20, figures.standard_error]
    found += [e for line in figures.lines for e in (line.facility, line.item_rest)]
    assert all(e.silent.startswith("only 8 had") and not e.is_given for e in found)
    assert "only 8 had every line" in figures.mean.silent
    assert figures.near_pass.silent and not figures.near_pass.above + figures.near_pass.below


def test_classes_just_large_enough_speak():
    """The limits are not set beyond reach."""
    assert facility([0, 1] * 6).is_given
    assert alpha(drawn_class(LEAST_FOR_RELIABILITY)).is_given
    marks = drawn_class(LEAST_FOR_CORRELATION, 20)
    assert item_rest(marks[:, 0], marks[:, 1:].mean(axis=1)).is_given


def test_equal_marks_are_met_with_silence_and_a_reason():
    """Zero variance is neither a nought nor a crash."""
    ones, half = np.ones((20, 5)), np.full((20, 5), 0.5)
    for marks in (ones, half, 0.0 * ones):
        assert "all earned the same marks in all" in alpha(marks).silent
        assert "all earned the same marks in all" in standard_error(marks).silent
        assert "all earned the same on this line" in item_rest(marks[:, 0], marks[:, 1]).silent
    assert "all earned the same part, 0.50" in facility(half[:, 0]).silent
    assert facility(ones[:, 0]).low == pytest.approx(wilson_interval(20, 20)[0])
    rest = item_rest([0, 1] * 10, half[:, 0])
    assert "on the rest of their paper" in rest.silent


def test_perfect_agreement_is_met_with_silence():
    """Nothing is left from which chance could be seen."""
    same = np.array([[0, 1] * 10] * 4, dtype=float).T
    assert "tell learners apart alike" in alpha(same).silent
    assert "agree to the last mark" in item_rest(same[:, 0], same[:, 1]).silent


def test_lines_that_contradict_each_other_are_met_with_silence():
    """An alpha far below nought has an interval of no use; the error of measurement has one."""
    lot = np.random.default_rng(4)
    first = (lot.random(20) < 0.5).astype(float)
    marks = np.column_stack([first, 1.0 - first, lot.random(20) < 0.5]).astype(float)
    found = alpha(marks)
    assert "too wide to be of use" in found.silent


def test_a_single_line_is_no_test():
    """Nothing goes together with nothing."""
    assert "fewer than two lines" in alpha(drawn_class()[:, :1]).silent


def test_kr20_leaves_part_marks_to_alpha():
    """And says so."""
    assert "alpha says the same" in kr20(drawn_class() * 0.5).silent


def test_missing_cells_are_refused_where_whole_papers_are_needed():
    """By name, not by a figure that is not a number."""
    marks = drawn_class()
    marks[0, 0] = math.nan
    with pytest.raises(ValueError, match="missing cell"):
        alpha(marks)
    with pytest.raises(ValueError, match="1 dimensions"):
        alpha(marks[0])
    with pytest.raises(ValueError, match="as many of each"):
        item_rest([1.0], [1.0, 0.0])


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_class_brings_forth_a_figure_that_is_no_number(data):
    """Any marks, any missing cells: figures within their bounds, or a reason."""
    learners = data.draw(st.sampled_from((0, 1, 2, 12, 13, 16, 24)))
    lines = data.draw(st.integers(1, 4))
    cell = st.sampled_from([None, 0.0, 0.1, 0.3, 0.5, 1.0, 1.0])
    rows = tuple(tuple(data.draw(cell) for _ in range(lines)) for _ in range(learners))
    names = tuple(f"line {j}" for j in range(lines))
    matrix = ClassMatrix(tuple(f"A{i}" for i in range(learners)), names, (1.0,) * lines, rows)
    figures = class_figures(matrix, 0.75)
    bounded = [(line.facility, 0.0, 1.0) for line in figures.lines] + [(figures.mean, 0.0, 1.0)]
    bounded += [(line.item_rest, -1.0, 1.0) for line in figures.lines]
    bounded += [(figures.alpha, -9e9, 1.0), (figures.kr20, -9e9, 1.0)]
    for found, least, greatest in [*bounded, (figures.standard_error, 0.0, 9e9)]:
        if found.silent:
            assert (found.value, found.low, found.high) == (None, None, None)
        else:
            assert least <= found.low <= found.value <= found.high <= greatest
            assert found.low < found.high


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(20)), st.permutations(range(8)))
def test_the_order_of_learners_and_lines_is_no_matter(rows, columns):
    """Every figure stays what it was."""
    marks = drawn_class(20, 8, seed=9)
    before = class_figures(matrix_of(marks), 0.75)
    after = class_figures(matrix_of(marks[np.ix_(rows, columns)]), 0.75)
    for one, other in ((before.alpha, after.alpha), (before.standard_error, after.standard_error)):
        assert one.value == pytest.approx(other.value, rel=1e-12)
    for j, column in enumerate(columns):
        assert after.lines[j].facility == before.lines[column].facility
        assert after.lines[j].item_rest.value == pytest.approx(
            before.lines[column].item_rest.value, rel=1e-9
        )


def test_estimates_are_frozen():
    """No report can change them."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        facility([0, 1] * 10).value = 1.0


# The pass mark


def test_who_is_near_the_pass_mark_by_hand():
    """Pass mark 15 of 20, error 1.5: 13.5 and 16.5 are within, 13.4 and 16.6 are not."""
    totals = [("A5", 16.6), ("A4", 16.5), ("A3", 15.0), ("A2", 13.5), ("A1", 13.4)]
    near = near_pass(totals, 20.0, 0.75, Estimate(1.5, 1.3, 1.8, 20))
    assert (near.above, near.below, near.silent) == (("A3", "A4"), ("A2",), "")


def test_nobody_is_named_where_the_error_is_silent():
    """The reason is handed on."""
    near = near_pass([("A1", 15.0)], 20.0, 0.75, silence(1, "only 1 had every line"))
    assert (near.above, near.below, near.silent) == ((), (), "only 1 had every line")


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1, math.nan])
def test_an_impossible_pass_mark_is_named(share):
    """It must be above nought and at most all marks."""
    with pytest.raises(ValueError, match="pass_share is"):
        near_pass([], 20.0, share, Estimate(1.5, 1.3, 1.8, 20))


def test_the_summary_names_those_near_the_pass_mark():
    """Of whole papers only, by the error of this class."""
    marks = drawn_class(24, 20, seed=6)
    figures = class_figures(matrix_of(marks), 0.5)
    error = figures.standard_error.value
    near = {f"A{i}" for i, got in enumerate(marks.sum(axis=1)) if abs(got - 10.0) <= error}
    assert near and set(figures.near_pass.above + figures.near_pass.below) == near


# Options


def test_options_are_counted_by_hand():
    """Fourteen papers, two of them with another third option, one left blank."""
    papers = [(("right", "inverted", "left out"), "right")] * 9
    papers += [(("right", "inverted", "left out"), "inverted")] * 3
    papers += [
        (("right", "inverted", "doubled"), "doubled"),
        (("right", "inverted", "doubled"), ""),
    ]
    table = option_table(papers)
    found = {use.option: (use.offered, use.chosen) for use in table.uses}
    assert found == {"right": (14, 9), "inverted": (14, 3), "left out": (12, 0), "doubled": (2, 1)}
    assert (table.unchosen, table.blank) == (("left out",), 1)
    shares = {use.option: use.share for use in table.uses}
    assert (shares["right"].low, shares["right"].high) == pytest.approx(wilson_interval(9, 14))
    assert "only 2 were offered it" in shares["doubled"].silent


def test_options_that_were_not_offered_are_refused():
    """And options that stand twice."""
    with pytest.raises(ValueError, match="chosen is 'c'; it must be one of a, b"):
        option_table([(("a", "b"), "c")])
    with pytest.raises(ValueError, match="name one twice"):
        option_table([(("a", "a"), "a")])
