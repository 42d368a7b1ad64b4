"""A figure about a class with its interval, or a sentence that says why none can be given.

When to be silent
-----------------
A figure whose 95 % interval spans more than half of all values it could have cannot tell an
instructor what to do: it may be easy or hard, sound or unsound. Such figures are not given. Whether
an interval is that wide may itself be a matter of luck in a small class, so below the least counts
named here nothing is given at all. Each is the smallest class in which the interval keeps to half
of the scale in the case named beside it; the tests work them out again. That half is the measure
is our choice: common practice has no agreed limit, no source.
"""

from dataclasses import dataclass

LEVEL = 0.95
"""How often intervals made this way hold the true figure. [-]"""

TAIL = 0.5 + LEVEL / 2.0
"""Probability below the upper end of an interval. [-]"""

LEAST_FOR_SHARE = 12
"""Learners who had the question: Wilson's interval about a facility of one half."""

LEAST_FOR_CORRELATION = 16
"""Learners who had the question: Fisher's interval about a correlation of nought."""

LEAST_FOR_RELIABILITY = 13
"""Learners with a whole paper: Feldt's interval about an alpha of 0.7 on twenty lines."""

NOTHING = 1e-9
"""Marks that differ by less are the same: what is left of sums of decimal fractions."""


@dataclass(frozen=True)
class Estimate:
    """A figure and its 95 % interval. Frozen.

    value, low, high : float or None
        None, all three, if the figure is silent.
    count : int
        Learners behind it.
    silent : str
        Why nothing is given; empty if something is.
    """

    value: float | None
    low: float | None
    high: float | None
    count: int
    silent: str = ""

    @property
    def is_given(self):
        """Return whether there is a figure."""
        return not self.silent

    def __str__(self):
        if self.silent:
            return f"not given: {self.silent}"
        return f"{self.value:.2f} ({self.low:.2f} to {self.high:.2f}, {self.count} learners)"


def silence(count, why):
    """Return an estimate that gives nothing, and why.

    Examples
    --------
    >>> print(silence(3, "only 3 learners"))
    not given: only 3 learners
    """
    return Estimate(None, None, None, count, why)


def too_few(count, least, what):
    """Return the estimate of a class that is too small, or None if it is not.

    Examples
    --------
    >>> print(too_few(8, 12, "had this question"))
    not given: only 8 had this question; from 12 on the interval is narrow enough to be of use
    """
    if count >= least:
        return None
    few = f"only {count}" if count else "nobody"
    return silence(
        count, f"{few} {what}; from {least} on the interval is narrow enough to be of use"
    )


def estimate(value, interval, count, span):
    """Return an estimate, silent if its interval is wider than half of `span`.

    Parameters
    ----------
    value : float
    interval : tuple of float
        Its ends.
    count : int
        Learners behind it.
    span : float
        Width of all values that the figure could have.

    Examples
    --------
    >>> print(estimate(0.5, (0.3, 0.7), 20, 1.0))
    0.50 (0.30 to 0.70, 20 learners)
    >>> print(estimate(0.5, (0.1, 0.9), 20, 1.0))
    not given: its interval would reach from 0.10 to 0.90, too wide to be of use
    """
    low, high = (float(end) for end in interval)
    if high - low > span / 2.0 + NOTHING:
        return silence(
            count, f"its interval would reach from {low:.2f} to {high:.2f}, too wide to be of use"
        )
    return Estimate(float(value), low, high, count)
