"""Quantiles that intervals need, without a larger library: normal, Student's t, F, chi-square.

Each distribution function is computed to about 1e-12 and its quantile found by halving; the tests
hold all of them against scipy.
"""

import math
from statistics import NormalDist

_SMALLEST = 1e-300
_ENOUGH = 1e-15
_MOST_TERMS = 10_000


def normal_quantile(probability):
    """Return the quantile of the standard normal distribution. [-]

    Examples
    --------
    >>> round(normal_quantile(0.975), 3)
    1.96
    """
    return NormalDist().inv_cdf(probability)


def student_quantile(probability, freedom):
    """Return the quantile of Student's t, from F: the square of t has F with 1 and `freedom`. [-]

    Parameters
    ----------
    probability : float
        At least 0.5. [-]
    freedom : float
        Degrees of freedom. [-]

    Examples
    --------
    >>> round(student_quantile(0.975, 10), 3)
    2.228
    """
    return math.sqrt(f_quantile(2.0 * probability - 1.0, 1.0, freedom))


def f_quantile(probability, above, below):
    """Return the quantile of the F distribution. [-]

    Parameters
    ----------
    probability : float
        From 0 to less than 1. [-]
    above, below : float
        Degrees of freedom of numerator and denominator. [-]

    Examples
    --------
    >>> round(f_quantile(0.95, 5, 10), 2)
    3.33
    """
    share = _halved(lambda y: incomplete_beta(y, above / 2.0, below / 2.0), probability, 1.0)
    return below * share / (above * (1.0 - share))


def chi_square_quantile(probability, freedom):
    """Return the quantile of the chi-square distribution. [-]

    Examples
    --------
    >>> round(chi_square_quantile(0.95, 10), 2)
    18.31
    """
    top = freedom + 1.0
    while incomplete_gamma(freedom / 2.0, top / 2.0) < probability:
        top *= 2.0
    return _halved(lambda x: incomplete_gamma(freedom / 2.0, x / 2.0), probability, top)


def incomplete_beta(x, a, b):
    """Return the regularised incomplete beta function I_x(a, b). [-]

    By the continued fraction of the NIST Digital Library of Mathematical Functions, 8.17.22,
    worked forwards as modified by W. J. Lentz (Applied Optics 15, 1976); both from memory.

    Examples
    --------
    >>> round(incomplete_beta(0.25, 1.0, 1.0), 12), round(incomplete_beta(0.5, 7.0, 7.0), 12)
    (0.25, 0.5)
    """
    if x <= 0.0 or x >= 1.0:
        return float(x >= 1.0)
    if x > (a + 1.0) / (a + b + 2.0):  # where the other side converges sooner
        return 1.0 - incomplete_beta(1.0 - x, b, a)
    scale = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    front = math.exp(scale + a * math.log(x) + b * math.log1p(-x)) / a
    return front / _beta_fraction(x, a, b)


def _beta_fraction(x, a, b):
    """Return 1 + d1/(1 + d2/(1 + ...)), the denominator of the continued fraction."""
    value, upper, lower = 1.0, 1.0, 0.0
    for term in range(1, _MOST_TERMS):
        m = term // 2
        if term % 2:
            weight = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            weight = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        lower = 1.0 / ((1.0 + weight * lower) or _SMALLEST)
        upper = (1.0 + weight / upper) or _SMALLEST
        value *= upper * lower
        if abs(upper * lower - 1.0) < _ENOUGH:
            break
    return value


def incomplete_gamma(a, x):
    """Return the regularised lower incomplete gamma function P(a, x). [-]

    By its power series, NIST Digital Library of Mathematical Functions, 8.11.4 (from memory): all
    terms are positive, so none cancel.

    Examples
    --------
    >>> round(incomplete_gamma(1.0, 2.0), 9) == round(1.0 - math.exp(-2.0), 9)
    True
    """
    if x <= 0.0:
        return 0.0
    term = total = 1.0 / a
    for n in range(1, _MOST_TERMS):
        term *= x / (a + n)
        total += term
        if term < _ENOUGH * total:
            break
    return min(1.0, total * math.exp(a * math.log(x) - x - math.lgamma(a)))


def _halved(rising, target, top):
    """Return where a rising function of 0..top reaches a target, to the last digit or nearly."""
    low, high = 0.0, top
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            return middle
        low, high = (middle, high) if rising(middle) < target else (low, middle)
