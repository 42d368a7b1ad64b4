"""When gaps close inside one smooth step. Knows watches and a step, no aircraft."""

import numpy as np

from fuelkit.physics.steps import crossing

_ROUNDING = 1e-9  # kg; a gap nearer to nothing is nothing


class Gaps:
    """The gaps of a list of watches, those about levels all at once.

    Parameters
    ----------
    watches : sequence of Watch
    fuel : Fuel
    count : int
        Number of tanks.
    """

    def __init__(self, watches, fuel, count):
        self.watches, self._fuel, self._count = watches, fuel, count
        self._level = [i for i, w in enumerate(watches) if w.volume]
        self._other = [i for i, w in enumerate(watches) if not w.volume]
        self._tank = np.array([watches[i].tank for i in self._level], int)
        self._volume = np.array([watches[i].volume for i in self._level])
        self._sign = np.array([1.0 if watches[i].falls else -1.0 for i in self._level])

    def at(self, quantities):
        """Return the gap of every watch, shape (n,)."""
        found = np.empty(len(self.watches))
        density = self._fuel.density(quantities[-self._count :])
        found[self._level] = self._sign * (
            quantities[self._tank] - self._volume * density[self._tank]
        )
        for i in self._other:
            found[i] = self.watches[i].gap(quantities)
        return found

    def first_closed(self, step):
        """Return when the first gaps of a step close and whose they are.

        Returns
        -------
        time : float or None
            None if no gap closes. [s]
        closed : list of Watch

        Notes
        -----
        A gap that is closed at the start counts if it goes on closing. One that closes and opens
        again inside the step is found at the lowest point of the parabola through its values at
        the start, the middle and the end.
        """
        fractions = (0.0, 0.5, 1.0)
        first, middle, last = (self.at(step.at(step.start + f * step.length)) for f in fractions)
        bend = 2.0 * (first - 2.0 * middle + last)
        slope = last - first - bend
        suspect = (first <= 0.0) | (middle <= 0.0) | (last <= 0.0)
        suspect |= (bend > 0.0) & (slope < 0.0) & (slope + 2.0 * bend > 0.0)
        times = []
        for i in np.flatnonzero(suspect):
            time = self._closed_at(
                self.watches[i], step, (first[i], middle[i], last[i]), (slope[i], bend[i])
            )
            if time is not None:
                times.append((time, self.watches[i]))
        time = min((t for t, _ in times), default=None)
        return time, [watch for t, watch in times if t <= time]

    def _closed_at(self, watch, step, values, parabola):
        first, middle, last = values
        slope, bend = parabola
        start, half = step.start, step.start + 0.5 * step.length
        if first <= 0.0:
            if slope >= 0.0 and last >= first:
                return None
            start = self._opened(watch, step, first)
            if start in (step.start, half):
                return start
        end = step.start + step.length
        if last > 0.0:
            end = half
            if middle > 0.0 and bend > 0.0:
                lowest = min(max(-0.5 * slope / bend, 0.0), 1.0)
                end = step.start + lowest * step.length
            if end <= start or not watch.gap(step.at(end)) <= 0.0:
                return None
        return crossing(lambda time: watch.gap(step.at(time)), start, end)

    def _opened(self, watch, step, first):
        """When a gap that is closed at the start has opened; the start if it goes on closing.

        An overflow that has just stopped is such a gap: the level may sink for a moment and then
        come back. Within rounding it has done neither; half the step is then as good.
        """
        for power in range(20, 0, -1):
            time = step.start + step.length * 0.5**power
            gap = watch.gap(step.at(time))
            if gap > _ROUNDING:
                return time
            if gap < first - _ROUNDING:
                return step.start
        return step.start + 0.5 * step.length
