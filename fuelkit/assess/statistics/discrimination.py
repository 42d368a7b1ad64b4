"""Discrimination: whether those who did well on the rest of their paper did well on a line."""

import numpy as np

from fuelkit.assess.statistics.estimate import (
    LEAST_FOR_CORRELATION,
    NOTHING,
    estimate,
    silence,
    too_few,
)
from fuelkit.assess.statistics.intervals import fisher_interval


def item_rest(on_line, on_rest):
    """Return the correlation between a line and the rest of the learner's own paper. [-]

    The corrected point-biserial: "point-biserial" because for right and wrong it is the ordinary
    correlation, "corrected" because the line itself is left out of what it is compared with.
    Papers differ, so the rest of each paper is that learner's own, as a share of its marks; where
    all had every line this is the usual item-rest correlation, unchanged.

    Parameters
    ----------
    on_line, on_rest : array_like, shape (n,)
        Shares that the same learners earned on the line and on the rest of their paper. [-]

    Returns
    -------
    Estimate
        With Fisher's interval. Silent for fewer than LEAST_FOR_CORRELATION learners, where all
        earned the same on either side, and where the two agree perfectly.

    References
    ----------
    S. Henrysson, "Correction of item-total correlations in item analysis", Psychometrika 28, 1963,
    pages 211-218 (from memory).
    """
    on_line = np.asarray(on_line, dtype=float)
    on_rest = np.asarray(on_rest, dtype=float)
    if on_line.shape != on_rest.shape:
        raise ValueError(
            f"on_line has {len(on_line)} shares and on_rest {len(on_rest)}; give as many of each."
        )
    count = len(on_line)
    few = too_few(count, LEAST_FOR_CORRELATION, "had this line beside others")
    if few:
        return few
    for values, where in ((on_line, "on this line"), (on_rest, "on the rest of their paper")):
        if np.ptp(values) <= NOTHING:
            return silence(count, f"all earned the same {where}; nothing can go with it")
    value = correlation(on_line, on_rest)
    if abs(value) >= 1.0 - NOTHING:
        return silence(count, "line and rest agree to the last mark; chance cannot be seen")
    return estimate(value, fisher_interval(value, count), count, 2.0)


def correlation(first, second):
    """Return Pearson's correlation of two series, neither of them constant. [-]

    Examples
    --------
    >>> round(correlation([0, 1, 2, 3], [1, 3, 2, 4]), 3)
    0.8
    """
    first = np.asarray(first, dtype=float) - np.mean(first)
    second = np.asarray(second, dtype=float) - np.mean(second)
    value = (first @ second) / np.sqrt((first @ first) * (second @ second))
    return float(np.clip(value, -1.0, 1.0))
