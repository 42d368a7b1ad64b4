"""Facility: how easy a line of the blueprint was for the class."""

import numpy as np

from fuelkit.assess.statistics.estimate import (
    LEAST_FOR_SHARE,
    NOTHING,
    estimate,
    silence,
    too_few,
)
from fuelkit.assess.statistics.intervals import student_interval, wilson_interval


def facility(shares, had="had this line"):
    """Return the mean share of its marks that a line earned, over those who had it. [-]

    Papers differ, so this is the facility of a line of the blueprint: the mean over the questions
    that learners drew for it. Its interval says how far another class of this size, with questions
    drawn anew, could differ by chance.

    Parameters
    ----------
    shares : array_like, shape (n,)
        Each learner's share of the marks, 0 to 1; only those who had the line. [-]
    had : str
        What these learners have in common, for the sentence where the figure is silent.

    Returns
    -------
    Estimate
        With Wilson's score interval if every mark is all or nothing, which also holds where all
        or none were right; otherwise with Student's interval of the mean, cut to 0 to 1.
        Silent for fewer than LEAST_FOR_SHARE learners, and where all earned the same part.

    Examples
    --------
    >>> print(facility([1, 1, 0, 1, 1, 1, 0, 1, 1, 1, 1, 0, 1, 1, 1, 1]))
    0.81 (0.57 to 0.93, 16 learners)
    >>> print(facility([1, 0, 1]))
    not given: only 3 had this line; from 12 on the interval is narrow enough to be of use
    """
    shares = np.asarray(shares, dtype=float)
    few = too_few(len(shares), LEAST_FOR_SHARE, had)
    if few:
        return few
    if is_all_or_nothing(shares):
        hits = int(round(shares.sum()))
        return estimate(hits / len(shares), wilson_interval(hits, len(shares)), len(shares), 1.0)
    if np.ptp(shares) <= NOTHING:
        return silence(
            len(shares), f"all earned the same part, {shares[0]:.2f}; chance cannot be seen"
        )
    low, high = student_interval(shares)
    return estimate(shares.mean(), (max(0.0, low), min(1.0, high)), len(shares), 1.0)


def is_all_or_nothing(shares):
    """Return whether every share is 0 or 1.

    Examples
    --------
    >>> is_all_or_nothing([0, 1, 1.0]), is_all_or_nothing([0, 0.5])
    (True, False)
    """
    shares = np.asarray(shares, dtype=float)
    return bool((np.minimum(np.abs(shares), np.abs(1.0 - shares)) <= NOTHING).all())
