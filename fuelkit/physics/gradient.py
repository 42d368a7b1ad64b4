"""The iteration that balances a network: arrays in, arrays out. Knows no names and no sources.

The flows of a network are the one minimum of a convex function, so a descent always finds them;
only `network` should need this module.
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
        The fall is `offset + friction·q + resistance·q·|q|^power`.
    one_way : ndarray of bool, shape (n,)
    """

    leaving: np.ndarray
    resistance: np.ndarray
    power: np.ndarray
    offset: np.ndarray
    friction: np.ndarray
    one_way: np.ndarray

    def part(self, junctions, links):
        """Return the laws of some links between some junctions."""
        columns = (self.resistance, self.power, self.offset, self.friction, self.one_way)
        return Laws(self.leaving[junctions][:, links], *(column[links] for column in columns))

    def fall(self, flow, holding, steepness):
        """Return the pressure fall [Pa] along each link and its slope [Pa/(kg/s)].

        A one-way link also pushes back with `holding - steepness·flow` while that is positive.
        """
        loss = self.resistance * np.abs(flow) ** self.power
        fall = self.offset + (self.friction + loss) * flow
        slope = self.friction + (self.power + 1.0) * loss
        push = np.where(self.one_way, holding - steepness * flow, 0.0)
        pushing = push > 0.0
        return fall - pushing * push, slope + pushing * steepness


def balance(laws, drive, demand):
    """Return flows and junction pressures that obey every law, or None if they do not settle.

    Parameters
    ----------
    laws : Laws
    drive : ndarray, shape (n,)
        Pressure difference along each link due to the given pressures at its ends. [Pa]
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
    with is then kept, so that in a few rounds it pushes without any reverse flow.

    References
    ----------
    E. Todini and S. Pilati, "A gradient algorithm for the analysis of pipe networks", in
    Computer Applications in Water Supply, vol. 1, 1988; M. J. D. Powell and M. R. Hestenes for
    the method of multipliers, 1969 (all from memory).
    """
    leaving = laws.leaving
    flow = np.full(len(drive), 0.1 + np.abs(demand).max(initial=0.0))
    pressure, holding = np.zeros(len(demand)), np.zeros(len(drive))
    steepness, last_leak = 1e3 * laws.fall(flow, holding, 0.0)[1].max(initial=1.0), np.inf
    fall, slope = laws.fall(flow, holding, steepness)
    for step in range(_MOST_STEPS):
        weight = 1.0 / slope
        unmet = pressure @ leaving + drive - fall
        missing = demand + leaving @ (flow + weight * unmet)
        shift = np.linalg.solve((leaving * weight) @ leaving.T, -missing)
        change = weight * (unmet + shift @ leaving)  # of small numbers, so that flows add up
        pressure = pressure + shift
        supply = pressure @ leaving + drive
        moved, fall, slope = _descend(laws, flow, change, supply, fall, holding, steepness, step)
        flow = flow + moved
        rounding = _FLOW_ROUNDING * (1.0 + np.abs(flow).max(initial=0.0))
        noise = weight * (_PRESSURE_ROUNDING * np.abs(supply).max(initial=0.0))
        held = np.where(laws.one_way, np.maximum(holding - steepness * flow, 0.0), 0.0)
        leak = np.abs(held - holding).max(initial=0.0) / steepness
        unsettled = (np.abs(change) - noise).max(initial=0.0)
        if unsettled <= rounding and leak <= rounding:
            return flow, pressure, held
        if unsettled <= max(rounding, 0.01 * leak):
            steepness *= 100.0 if leak > 0.1 * last_leak else 1.0
            holding, last_leak = held, leak
            fall, slope = laws.fall(flow, holding, steepness)
    return None


def _descend(laws, flow, change, supply, fall, holding, steepness, step):
    """Step along `change` that lowers the convex function, and the law at its end.

    The slope of that function along the step is sought to fall to half, by false position.
    """
    low, low_slope, start = 0.0, change @ (fall - supply), abs(change @ (fall - supply))
    high, high_slope, length = 1.0, 0.0, 1.0
    for _ in range(30):
        there, slope = laws.fall(flow + length * change, holding, steepness)
        uphill = change @ (there - supply)
        if step == 0 or abs(uphill) <= 0.5 * start or (length == 1.0 and uphill < 0.0):
            break
        if uphill > 0.0:
            high, high_slope, low_slope = length, uphill, 0.5 * low_slope
        else:
            low, low_slope, high_slope = length, uphill, 0.5 * high_slope
        length = low + (high - low) * low_slope / (low_slope - high_slope)
    return length * change, there, slope
