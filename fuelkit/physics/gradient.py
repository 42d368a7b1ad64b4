"""The iteration that balances a network: arrays in, arrays out. Knows no names of nodes or links.

The flows of a network are the one minimum of a convex function, so a descent always finds them.
"""

from dataclasses import dataclass

import numpy as np

_MOST_STEPS = 200
_FLOW_ROUNDING = 1e-13  # of the largest flow (at least 1 kg/s)
_PRESSURE_ROUNDING = 4e-16  # of the largest pressure


@dataclass(frozen=True)
class Laws:
    """Pressure laws of links as arrays, one entry a link. Frozen.

    leaving : ndarray, shape (m, n)
        +1 where a link starts at a junction, -1 where it ends there.
    resistance, power, offset, friction : ndarray, shape (n,)
        The fall is `offset + friction·q + resistance·q·|q|^power`. [Pa, kg/s]
    one_way : ndarray of bool, shape (n,)
    """

    leaving: np.ndarray
    resistance: np.ndarray
    power: np.ndarray
    offset: np.ndarray
    friction: np.ndarray
    one_way: np.ndarray

    def part(self, junctions, links):
        """Return the laws of some links between some junctions, given by their indices."""
        columns = (self.resistance, self.power, self.offset, self.friction, self.one_way)
        return Laws(self.leaving[junctions][:, links], *(column[links] for column in columns))

    def fall(self, flow, holding, stiffness):
        """Return the pressure fall along each link, its slope, and the push of one-way links.

        A one-way link adds `holding - stiffness·flow` to the pressure while that is positive;
        both are 0 for the others.
        """
        loss = self.resistance * np.abs(flow) ** self.power
        push = np.maximum(holding - stiffness * flow, 0.0)
        fall = self.offset + (self.friction + loss) * flow - push
        slope = self.friction + (self.power + 1.0) * loss + stiffness * (push > 0.0)
        return fall, slope, push


def balance(laws, drive, demand):
    """Return flows and junction pressures that obey every law, or None if they do not settle.

    Parameters
    ----------
    laws : Laws
    drive : ndarray, shape (n,)
        Part of the pressure fall along each link that is due to given pressures. [Pa]
    demand : ndarray, shape (m,)
        Flow taken out at each junction. [kg/s]

    Returns
    -------
    flow : ndarray, shape (n,)
        Flow in each link. [kg/s]
    pressure : ndarray, shape (m,)
        Pressure of each junction. [Pa]
    holding : ndarray, shape (n,)
        Pressure that each closed one-way link holds back; 0 for the others. [Pa]

    Notes
    -----
    Newton's method on the energy equations of all links together with continuity (the global
    gradient method), shortened where a full step would overshoot. A one-way link is held by the
    method of multipliers: it pushes back in proportion to its reverse flow, and what it pushed
    with is then kept, so that in a few rounds it holds without any reverse flow.

    References
    ----------
    E. Todini and S. Pilati, "A gradient algorithm for the analysis of pipe networks", in
    Computer Applications in Water Supply, vol. 1, 1988. M. R. Hestenes, "Multiplier and gradient
    methods", Journal of Optimization Theory and Applications 4, 1969. Both from memory.
    """
    leaving = laws.leaving
    flow = np.full(len(drive), 0.1 + _largest(demand))
    pressure, holding, last_leak = np.zeros(len(demand)), np.zeros(len(drive)), np.inf
    # Steep against every slope that occurs, but not so steep that rounding drowns the others.
    steepest = 1e15 * laws.friction.min(initial=1.0)
    steepness = min(0.1 * steepest, 1e4 * laws.fall(flow, 0.0, 0.0)[1].max(initial=1.0))
    law = laws.fall(flow, holding, steepness * laws.one_way)
    for step in range(_MOST_STEPS):
        fall, weight = law[0], 1.0 / law[1]
        unmet = pressure @ leaving + drive - fall
        missing = demand + leaving @ (flow + weight * unmet)
        try:
            shift = np.linalg.solve((leaving * weight) @ leaving.T, -missing)
        except np.linalg.LinAlgError:  # weights too far apart to be added
            return None
        change = weight * (unmet + shift @ leaving)  # of small numbers, so that flows add up
        pressure = pressure + shift
        supply = pressure @ leaving + drive
        ahead = _Ahead(laws, flow, change, supply, holding, steepness * laws.one_way)
        # The first step is taken whole: it is the one that makes the flows add up.
        length, law = (1.0, ahead.law(1.0)) if step == 0 else ahead.descend(fall)
        flow = flow + length * change
        # Where weights are far apart rounding goes round and round: after a while let it.
        rounding = _FLOW_ROUNDING * (1.0 + _largest(flow)) * min(2.0 ** max(0, step - 60), 1e4)
        blur = _PRESSURE_ROUNDING * _largest(supply) * weight
        unsettled = (np.abs(change) - blur).max(initial=0.0)
        leak = _largest(law[2] - holding) / steepness
        settled = unsettled <= rounding and leak <= rounding
        if settled and _largest(demand + leaving @ flow) <= rounding:
            return _closed(laws, demand, flow, law), pressure, law[2]
        if unsettled <= max(rounding, 0.1 * leak):
            if leak > max(0.1 * last_leak, 1e4 * rounding):
                steepness = min(steepest, 100.0 * steepness)
            holding, last_leak = law[2], leak
            law = laws.fall(flow, holding, steepness * laws.one_way)
    return None


def _closed(laws, demand, flow, law):
    """Flows without what closed links leak by rounding; the open ones take it over."""
    _, slope, push = law
    flow = np.where(push > 0.0, 0.0, flow)
    weighted = laws.leaving / slope
    shift = np.linalg.solve(weighted @ laws.leaving.T, -(demand + laws.leaving @ flow))
    return np.where(push > 0.0, 0.0, flow + shift @ weighted)


def _largest(values):
    return float(np.abs(values).max(initial=0.0))


class _Ahead:
    """The way ahead along one Newton step."""

    def __init__(self, laws, flow, change, supply, holding, stiffness):
        self.laws, self.flow, self.change, self.supply = laws, flow, change, supply
        self.holding, self.stiffness = holding, stiffness

    def law(self, length):
        """Pressure law of every link after a part of the step."""
        return self.laws.fall(self.flow + length * self.change, self.holding, self.stiffness)

    def uphill(self, fall):
        """Slope of the convex function along the step, from the pressure falls at a place."""
        return float(self.change @ (fall - self.supply))

    def descend(self, fall):
        """How much of the step to take so that the function falls, and the law there."""
        start, law = self.uphill(fall), self.law(1.0)
        if self.uphill(law[0]) <= -0.9 * start or -start <= self._rounding():
            return 1.0, law
        low, low_slope = 0.0, start
        for high in self._bends():
            law = self.law(high)
            high_slope = self.uphill(law[0])
            if high_slope > 0.0:
                break
            low, low_slope = high, high_slope
        if high_slope <= -0.9 * start:
            return high, law
        return self._lowest(low, low_slope, high, high_slope, -0.9 * start)

    def _rounding(self):
        """How far off the slope may be by rounding of the pressures."""
        return _PRESSURE_ROUNDING * _largest(self.supply) * float(np.abs(self.change).sum())

    def _bends(self):
        """Parts of the step at which a one-way link starts or ceases to push, and its end."""
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            parts = (self.holding - self.stiffness * self.flow) / (self.stiffness * self.change)
        return [*np.sort(parts[(parts > 0.0) & (parts < 1.0)]).tolist(), 1.0]

    def _lowest(self, low, low_slope, high, high_slope, enough):
        """Place between two bends where the function is about lowest, and the law there."""
        for turn in range(30):  # false position and halving by turns: neither gets stuck
            part = 0.5 if turn % 2 else low_slope / (low_slope - high_slope)
            length = low + (high - low) * part
            law = self.law(length)
            slope = self.uphill(law[0])
            if abs(slope) <= enough:
                break
            if slope > 0.0:
                high, high_slope = length, slope
            else:
                low, low_slope = length, slope
        return length, law
