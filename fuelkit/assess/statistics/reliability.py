"""Reliability: how far the same marks would come again, and how far one learner's may be out.

All three figures need whole papers: learners who had every line of the blueprint. A line is then
taken as one item of the test, though learners drew different questions for it; what those
questions differ in counts as error, as it should.
"""

import math

import numpy as np

from fuelkit.assess.statistics.estimate import (
    LEAST_FOR_RELIABILITY,
    NOTHING,
    estimate,
    silence,
    too_few,
)
from fuelkit.assess.statistics.facility import is_all_or_nothing
from fuelkit.assess.statistics.intervals import deviation_interval, feldt_interval


def alpha(marks):
    """Return Cronbach's coefficient alpha. [-]

    k/(k - 1) · (1 - sum of the variances of the lines / variance of the totals). It is at most 1,
    and below 0 where lines contradict each other. It says how well the lines go together in this
    class; a class whose learners are much alike has a low alpha on a sound paper.

    Parameters
    ----------
    marks : array_like, shape (learners, lines)
        Marks earned, no cell missing.

    Returns
    -------
    Estimate
        With Feldt's interval. Silent for fewer than LEAST_FOR_RELIABILITY learners or two lines,
        and where learners, or lines within each learner, do not differ.

    References
    ----------
    L. J. Cronbach, "Coefficient alpha and the internal structure of tests", Psychometrika 16, 1951,
    pages 297-334.
    """
    marks = _whole(marks)
    return _reliability(marks, _alpha(marks)) if _speaks(marks) else _silent(marks)


def kr20(marks):
    """Return Kuder and Richardson's formula 20: alpha where marks are right or wrong. [-]

    k/(k - 1) · (1 - sum of p(1 - p) / variance of the totals), p being each line's facility. Both
    variances are taken over n; alpha takes both over n - 1, which makes no difference.

    Parameters
    ----------
    marks : array_like, shape (learners, lines)
        0 or 1 in every cell.

    Returns
    -------
    Estimate
        As `alpha`; silent too where a line was worth more than one mark or earned a part of it.

    References
    ----------
    G. F. Kuder and M. W. Richardson, "The theory of the estimation of test reliability",
    Psychometrika 2, 1937, pages 151-160 (from memory).
    """
    marks = _whole(marks)
    if not _speaks(marks):
        return _silent(marks)
    if not is_all_or_nothing(marks):
        return silence(len(marks), "marks are not only 0 and 1; alpha says the same for any marks")
    lines, right = marks.shape[1], marks.mean(axis=0)
    value = lines / (lines - 1) * (1 - (right * (1 - right)).sum() / marks.sum(axis=1).var())
    return _reliability(marks, value)


def standard_error(marks):
    """Return the standard error of measurement of a whole paper, in marks.

    The standard deviation of the totals times the root of (1 - alpha): by how much a learner's
    total would scatter over many such papers, if the learner stayed as they are.

    Parameters
    ----------
    marks : array_like, shape (learners, lines)
        Marks earned, no cell missing.

    Returns
    -------
    Estimate
        In marks. Its square is `lines` times the residual mean square of learners by lines
        (C. Hoyt, "Test reliability estimated by analysis of variance", Psychometrika 6, 1941, pages
        153-160, from memory), so its interval is that of a variance with (learners - 1)(lines - 1)
        degrees of freedom. Silent where alpha would be, except that a wide interval of alpha is no
        hindrance: in a class of learners much alike alpha is uncertain, but not this error. Silent
        too if its interval is wider than itself.

    References
    ----------
    F. M. Lord and M. R. Novick, "Statistical Theories of Mental Test Scores", 1968; what it may not
    be used for: F. J. Dudek, "The continuing misinterpretation of the standard error of
    measurement", Psychological Bulletin 86, 1979, pages 335-337 (both from memory).
    """
    marks = _whole(marks)
    if not _speaks(marks):
        return _silent(marks)
    value = float(marks.sum(axis=1).std(ddof=1)) * math.sqrt(max(0.0, 1.0 - _alpha(marks)))
    freedom = (marks.shape[0] - 1) * (marks.shape[1] - 1)
    return estimate(value, deviation_interval(value, freedom), len(marks), 2.0 * value)


def _whole(marks):
    marks = np.asarray(marks, dtype=float)
    if marks.ndim != 2:
        raise ValueError(f"marks have {marks.ndim} dimensions; give learners by lines.")
    if not np.isfinite(marks).all():
        raise ValueError("marks have a missing cell; give only learners who had every line.")
    return marks


def _alpha(marks):
    lines = marks.shape[1]
    shares = marks.var(axis=0, ddof=1).sum() / marks.sum(axis=1).var(ddof=1)
    return float(lines / (lines - 1) * (1.0 - shares))


def _reliability(marks, value):
    learners, lines = marks.shape
    return estimate(value, feldt_interval(value, learners, lines), learners, 1.0)


def _speaks(marks):
    return _silent(marks) is None


def _silent(marks):
    """Return why nothing can be said of these marks, or None."""
    learners, lines = marks.shape
    few = too_few(learners, LEAST_FOR_RELIABILITY, "had every line")
    if few:
        return few
    if lines < 2:
        return silence(learners, "there are fewer than two lines to go together")
    if np.ptp(marks.sum(axis=1)) <= NOTHING:
        return silence(learners, "all earned the same marks in all; nobody can be told apart")
    beyond = marks - marks.mean(axis=0) - marks.mean(axis=1, keepdims=True) + marks.mean()
    if np.abs(beyond).max() <= NOTHING:
        return silence(learners, "all lines tell learners apart alike; chance cannot be seen")
    return None
