"""Quantiles and intervals against scipy and against examples in print."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from fuelkit.assess.statistics.intervals import (
    deviation_interval,
    feldt_interval,
    fisher_interval,
    student_interval,
    wilson_interval,
)
from fuelkit.assess.statistics.quantiles import (
    chi_square_quantile,
    f_quantile,
    incomplete_beta,
    incomplete_gamma,
    normal_quantile,
    student_quantile,
)

FREEDOMS = st.integers(1, 6000)
TAILS = st.sampled_from((0.005, 0.025, 0.05, 0.5, 0.95, 0.975, 0.995))


@settings(max_examples=80, deadline=None)
@given(TAILS, FREEDOMS, FREEDOMS)
def test_f_quantiles_are_those_of_scipy(tail, above, below):
    """For every class size and number of lines that an academy could have."""
    assert f_quantile(tail, above, below) == pytest.approx(
        stats.f.ppf(tail, above, below), rel=1e-8
    )


@settings(max_examples=60, deadline=None)
@given(TAILS, FREEDOMS)
def test_other_quantiles_are_those_of_scipy(tail, freedom):
    """Chi-square at both tails; Student's t and the normal above the middle."""
    assert chi_square_quantile(tail, freedom) == pytest.approx(
        stats.chi2.ppf(tail, freedom), rel=1e-8
    )
    if tail > 0.5:
        assert student_quantile(tail, freedom) == pytest.approx(
            stats.t.ppf(tail, freedom), rel=1e-8
        )
    assert normal_quantile(tail) == pytest.approx(stats.norm.ppf(tail), rel=1e-9, abs=1e-12)


@settings(max_examples=100, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.5, 3000.0), st.floats(0.5, 3000.0))
def test_incomplete_beta_and_gamma_are_those_of_scipy(x, a, b):
    """The two functions that all quantiles rest on."""
    assert incomplete_beta(x, a, b) == pytest.approx(special.betainc(a, b, x), abs=1e-10)
    assert incomplete_gamma(a, b) == pytest.approx(special.gammainc(a, b), abs=1e-10)


# R. G. Newcombe, "Two-sided confidence intervals for the single proportion: comparison of seven
# methods", Statistics in Medicine 17, 1998, table I, score method (limits from memory).
@pytest.mark.parametrize(
    ("hits", "count", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_the_examples_of_newcombe(hits, count, low, high):
    """To the four figures in print."""
    assert wilson_interval(hits, count) == pytest.approx((low, high), abs=6e-5)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_wilson_is_that_of_scipy(hits_of):
    """A second implementation, by scipy.stats.binomtest."""
    hits, count = hits_of
    other = stats.binomtest(hits, count).proportion_ci(method="wilson")
    assert wilson_interval(hits, count) == pytest.approx((other.low, other.high), abs=1e-9)


def test_feldt_gives_the_example_of_evans():
    """For alpha 0.913, 873 people and 20 lines, as printed by C. Evans for his own program.

    MRC Cognition and Brain Sciences Unit, wiki page "cafun", read in a stored copy.
    """
    assert feldt_interval(0.913, 873, 20) == pytest.approx((0.9044024, 0.9211588), abs=5e-8)


def test_fisher_gives_an_example_out_of_a_textbook():
    """For r 0.5 and 12 people: transformed limits -0.104 and 1.203.

    A textbook on biostatistics, part 5, "How precise is an r value?" (stored copy without a title;
    probably J. C. Pezzullo, "Biostatistics For Dummies").
    """
    transformed = [math.atanh(end) for end in fisher_interval(0.5, 12)]
    assert transformed == pytest.approx([-0.104, 1.203], abs=6e-4)


def test_fisher_is_that_of_scipy():
    """By scipy.stats.pearsonr."""
    lot = np.random.default_rng(5)
    x, y = lot.normal(size=(2, 30))
    found = stats.pearsonr(x, y)
    other = found.confidence_interval(0.95)
    assert fisher_interval(found.statistic, 30) == pytest.approx((other.low, other.high), abs=1e-9)


def test_student_gives_the_interval_of_his_own_data():
    """Extra hours of sleep of ten patients (Student 1908): 0.700 to 2.460.

    The data and the limits, as R's documentation of its data set "sleep" prints them, from memory.
    """
    extra = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4]
    assert student_interval(extra) == pytest.approx((0.7001142, 2.4598858), abs=5e-7)


def test_the_interval_of_a_deviation_holds_it_as_often_as_it_says():
    """2,000 samples of ten normal errors of deviation 2: 95 % of the intervals hold it."""
    lot = np.random.default_rng(11).normal(scale=2.0, size=(2000, 10))
    ends = [deviation_interval(sample.std(ddof=1), 9) for sample in lot]
    held = np.mean([low <= 2.0 <= high for low, high in ends])
    assert held == pytest.approx(0.95, abs=0.015)  # three standard deviations of 2,000 draws
