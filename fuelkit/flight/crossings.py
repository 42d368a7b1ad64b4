"""When thresholds are met inside one smooth step. Knows watches and a step, no aircraft."""

import numpy as np

from fuelkit.physics.steps import crossing


def first_met(watches, step):
    """Return when the first thresholds of a step are met and which they are.

    Parameters
    ----------
    watches : sequence of Watch
    step : Step

    Returns
    -------
    time : float or None
        None if no threshold is met. [s]
    met : list of Watch
    """
    after = step.at(step.start + step.length)
    first, last = step.powers[:, 0], step.powers @ np.arange(1.0, step.powers.shape[1] + 1.0)
    times = [(_met_at(w, step, after, first[w.index], last[w.index]), w) for w in watches]
    time = min((t for t, _ in times if t is not None), default=None)
    return time, [w for t, w in times if t is not None and t <= time]


def _met_at(watch, step, after, first, last):
    """When one threshold is met, or None; `first` and `last` are the slopes at the two ends."""
    if not watch.rising:
        first, last = -first, -last
    distance, left = watch.distance(step.before), watch.distance(after)
    if distance <= 0.0:
        return step.start if first > 0.0 or left < distance else None
    end = step.start + step.length
    if left > 0.0:
        if not first > 0.0 > last:
            return None
        end = _turn(watch, step)  # it comes closer and goes away again
        if watch.distance(step.at(end)) > 0.0:
            return None
    return crossing(lambda time: watch.distance(step.at(time)), step.start, end)


def _turn(watch, step):
    """When the quantity of a watch turns round inside a step [s]."""
    powers = step.powers[watch.index]
    slopes = powers * np.arange(1.0, len(powers) + 1.0)
    return crossing(
        lambda time: (
            float(np.polyval(slopes[::-1], (time - step.start) / step.length))
            * (1.0 if watch.rising else -1.0)
        ),
        step.start,
        step.start + step.length,
    )
