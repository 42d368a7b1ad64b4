"""One adaptive step of a smooth system, with its dense output. Knows nothing but numbers.

The kit's path from lesson to board imports nothing heavier than numpy, so the step is here
instead of in a larger library; the tests hold it against one.
"""

from dataclasses import dataclass

import numpy as np

# J. R. Dormand and P. J. Prince, "A family of embedded Runge-Kutta formulae", Journal of
# Computational and Applied Mathematics 6, 1980: stages, solution, and error estimate (from
# memory; checked against scipy's RK45 in the tests).
_STAGES = tuple(
    np.array(weights)
    for weights in (
        (1 / 5,),
        (3 / 40, 9 / 40),
        (44 / 45, -56 / 15, 32 / 9),
        (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
        (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
        (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
    )
)
_ERROR = np.array([-71 / 57600, 0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40])
# Fourth-order dense output of L. F. Shampine (1986): powers 1 to 4 of the fraction of the step.
_DENSE = np.array(
    [
        [1, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432],
        [0, 0, 0, 0],
        [0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799],
        [0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072],
        [0, 127303824393 / 49829197408, -318862633887 / 49829197408, 701980252875 / 199316789632],
        [0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)
_CROSSING = 1e-7  # s; a crossing is found as near as this
_MOST_LOOKS = 12  # by false position


@dataclass(frozen=True)
class Step:
    """One accepted step. Frozen.

    start, length : float
        When it begins and how long it lasts. [s]
    before : ndarray, shape (n,)
        The quantities at its start.
    powers : ndarray, shape (n, k)
        Coefficients of powers 1 to k of the fraction of the step.
    error : float
        Estimated error against the tolerance; 1 is just good enough. [-]
    first, last : ndarray, shape (n,), or None
        Rates at its start and at its end, with which another step need not be worked out anew.
    """

    start: float
    length: float
    before: np.ndarray
    powers: np.ndarray
    error: float
    first: np.ndarray | None = None
    last: np.ndarray | None = None

    def at(self, time):
        """Return the quantities at a time inside the step, shape (n,)."""
        fraction = (time - self.start) / self.length
        powers = [fraction]
        for _ in range(self.powers.shape[1] - 1):
            powers.append(powers[-1] * fraction)
        return self.before + self.powers @ np.array(powers)


def straight_step(start, length, before, rates):
    """Return the step of a system whose rates are constant: exact for any length."""
    return Step(start, length, before, (rates * length)[:, None], 0.0)


def smooth_step(rates, start, length, before, *, tolerance, first=None):
    """Return one Dormand-Prince step of fifth order.

    Parameters
    ----------
    rates : callable
        Rates of change for given quantities, both shape (n,); does not depend on time.
    start, length : float
        When the step begins and how long it is. [s]
    before : ndarray, shape (n,)
        The quantities at its start.
    tolerance : float or ndarray, shape (n,)
        Absolute error that a step may make in any quantity, or in each.
    first : ndarray, shape (n,), or None
        The rates at its start, if they are known.

    Returns
    -------
    Step
        To be accepted if its `error` is at most 1.

    Examples
    --------
    Decay to 1/e in one unit of time, within the tolerance:

    >>> step = smooth_step(lambda y: -y, 0.0, 0.1, np.array([1.0]), tolerance=1e-6)
    >>> round(float(step.at(0.1)[0]), 6)
    0.904837
    """
    slopes = np.empty((len(_STAGES) + 1, len(before)))
    slopes[0] = rates(before) if first is None else first
    for stage, weights in enumerate(_STAGES, start=1):
        slopes[stage] = rates(before + length * (weights @ slopes[:stage]))
    error = float((np.abs(length * (_ERROR @ slopes)) / tolerance).max())
    powers = length * (slopes.T @ _DENSE)
    return Step(start, length, before, powers, error, slopes[0], slopes[-1])


def following_length(step):
    """Return a good length for the next try after a step, from its error. [s]"""
    factor = 5.0 if step.error == 0.0 else 0.9 * step.error**-0.2
    return step.length * min(5.0, max(0.2, factor))


def crossing(function, start, end):
    """Return when a function changes sign in [start, end], to a tenth of a microsecond. [s]

    The end of the last bracket, where it has its later sign. False position with the Illinois
    rule (M. Dowell and P. Jarratt, BIT 11, 1971, from memory), which lands beside the crossing of
    a smooth function in a few looks; bisection, which cannot miss, if it does not.
    """
    low, high = function(start), function(end)
    first, moved, looks = low > 0.0, 0, 0
    while end - start > _CROSSING:
        share = low / (low - high) if first != (high > 0.0) and looks < _MOST_LOOKS else 0.5
        if not 0.0 <= share <= 1.0:  # also if a value is no number
            share = 0.5
        middle = start + share * (end - start)
        middle = min(max(middle, start + 0.4 * _CROSSING), end - 0.4 * _CROSSING)
        value = function(middle)
        looks += 1
        if (value > 0.0) == first:
            start, low = middle, value
            high = 0.5 * high if moved > 0 else high
            moved = 1
        else:
            end, high = middle, value
            low = 0.5 * low if moved < 0 else low
            moved = -1
    return end
