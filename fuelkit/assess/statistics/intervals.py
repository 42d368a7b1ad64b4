"""Intervals of 95 % by published methods. Pure functions of numbers; each names its source."""

import math

import numpy as np

from fuelkit.assess.statistics.estimate import TAIL
from fuelkit.assess.statistics.quantiles import (
    chi_square_quantile,
    f_quantile,
    normal_quantile,
    student_quantile,
)


def wilson_interval(hits, count):
    """Return the score interval of a proportion. [-]

    Never leaves 0 to 1, and says something even if all or none were right.

    Parameters
    ----------
    hits, count : int
        How many were right, and of how many (at least 1).

    References
    ----------
    E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal
    of the American Statistical Association 22, 1927, pages 209-212.

    Examples
    --------
    >>> [round(end, 4) for end in wilson_interval(0, 20)]
    [0.0, 0.1611]
    """
    z = normal_quantile(TAIL)
    share, weight = hits / count, z * z / count
    middle = (share + weight / 2.0) / (1.0 + weight)
    half = z * math.sqrt(share * (1.0 - share) / count + weight / (4.0 * count)) / (1.0 + weight)
    return max(0.0, middle - half), min(1.0, middle + half)


def student_interval(values):
    """Return Student's interval of a mean.

    Assumes a mean that is about normal, which it is for a dozen shares unless nearly all are equal.

    Parameters
    ----------
    values : array_like, shape (n,)
        At least two.

    References
    ----------
    Student (W. S. Gosset), "The probable error of a mean", Biometrika 6, 1908, pages 1-25 (from
    memory).
    """
    values = np.asarray(values, dtype=float)
    half = student_quantile(TAIL, len(values) - 1) * values.std(ddof=1) / math.sqrt(len(values))
    return float(values.mean() - half), float(values.mean() + half)


def fisher_interval(correlation, count):
    """Return Fisher's interval of a correlation, by its inverse hyperbolic tangent. [-]

    Exact only for two normal quantities; for right and wrong against a share it is a good guide and
    no more.

    Parameters
    ----------
    correlation : float
        Between -1 and 1, not reaching them. [-]
    count : int
        Pairs, at least 4.

    References
    ----------
    R. A. Fisher, "On the 'probable error' of a coefficient of correlation deduced from a small
    sample", Metron 1, 1921, pages 3-32 (from memory).

    Examples
    --------
    >>> [round(end, 3) for end in fisher_interval(0.5, 12)]
    [-0.104, 0.834]
    """
    half = normal_quantile(TAIL) / math.sqrt(count - 3)
    middle = math.atanh(correlation)
    return math.tanh(middle - half), math.tanh(middle + half)


def feldt_interval(alpha, learners, lines):
    """Return Feldt's interval of coefficient alpha. [-]

    1 - (1 - alpha) F, with F at both tails for `learners` - 1 and (`learners` - 1)(`lines` - 1)
    degrees of freedom. Assumes lines that measure one thing equally well, with normal errors.

    References
    ----------
    L. S. Feldt, "The approximate sampling distribution of Kuder-Richardson reliability coefficient
    twenty", Psychometrika 30, 1965, pages 357-370; in this form in L. S. Feldt, D. J. Woodruff and
    F. A. Salih, "Statistical inference for coefficient alpha", Applied Psychological Measurement
    11, 1987, pages 93-103, formulae 6 and 7.

    Examples
    --------
    >>> [round(end, 4) for end in feldt_interval(0.913, 873, 20)]
    [0.9044, 0.9212]
    """
    between, within = learners - 1, (learners - 1) * (lines - 1)
    upper = f_quantile(TAIL, between, within)
    lower = f_quantile(1.0 - TAIL, between, within)
    return 1.0 - (1.0 - alpha) * upper, 1.0 - (1.0 - alpha) * lower


def deviation_interval(deviation, freedom):
    """Return the chi-square interval of a standard deviation of normal errors.

    Parameters
    ----------
    deviation : float
    freedom : int
        Degrees of freedom behind it.

    References
    ----------
    Any text on the analysis of variance, for instance G. W. Snedecor and W. G. Cochran,
    "Statistical Methods", on the variance of a normal sample (from memory).

    Examples
    --------
    >>> [round(end, 2) for end in deviation_interval(10.0, 19)]
    [7.6, 14.61]
    """
    return tuple(
        deviation * math.sqrt(freedom / chi_square_quantile(tail, freedom))
        for tail in (TAIL, 1.0 - TAIL)
    )
