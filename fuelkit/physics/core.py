"""Newton's method for the core of a network, on plain numbers: quick where there are few links.

It takes whole steps and gives up where they do not settle; `gradient.balance` then finds the
flows by a descent that cannot fail.
"""

import math

from fuelkit.physics.lone_link import flow_under

_MOST_STEPS = 40
_FLOW_ROUNDING = 1e-13  # of the largest flow (at least 1 kg/s)
_PRESSURE_ROUNDING = 4e-16  # of the largest pressure
_SINGULAR = 1e-11  # share of a pivot that is left when a group of nodes hangs on nothing


def core_flows(ends, laws, drive, demand, flow, pressure):
    """Return flows and junction pressures that obey every law, or None if they do not settle.

    Parameters
    ----------
    ends : list of (int, int)
        Start and end junction of each chain; -1 for a source.
    laws : list of Chain
    drive : list of float
        Part of the pressure along each chain that given pressures and its offset make up. [Pa]
    demand : list of float
        Flow taken out at each junction. [kg/s]
    flow, pressure : list of float
        Where to begin; the closer the quicker. A one-way chain without flow begins closed.

    Returns
    -------
    flow, pressure : list of float
        [kg/s, Pa]

    Notes
    -----
    The global gradient method, with one-way chains either open or closed: one whose flow would
    turn is closed, and one that is closed opens when the pressures would push fuel through.
    """
    flow = [max(q, 0.0) if law.one_way else q for law, q in zip(laws, flow, strict=True)]
    for _ in range(_MOST_STEPS):
        linear, opened, scale = _linear(ends, laws, drive, flow, pressure)
        shift = _shifts(ends, linear, flow, demand)
        if shift is None:
            return None
        close = _FLOW_ROUNDING * (1.0 + max(map(abs, flow), default=0.0))
        settled = _take_step(ends, laws, linear, shift, flow, scale, close) and not opened
        pressure = [p + s for p, s in zip(pressure, shift, strict=True)]
        if (
            settled
            and _adds_up(ends, flow, demand, close)
            and _stay_closed(ends, laws, drive, flow, pressure)
        ):
            return flow, pressure
    return None


def _linear(ends, laws, drive, flow, pressure):
    """By chain: weight, unmet pressure and bend of its law; whether any opened; pressure scale.

    A closed chain weighs nothing. One that opens gets the flow that the pressures would drive.
    """
    linear, opened, scale = [], False, 0.0
    for k, (i, j) in enumerate(ends):
        law, q = laws[k], flow[k]
        pull = drive[k] + (pressure[i] if i >= 0 else 0.0) - (pressure[j] if j >= 0 else 0.0)
        scale = max(scale, abs(drive[k]), abs(pressure[i]) if i >= 0 else 0.0)
        if law.one_way and q <= 0.0:
            if pull <= _PRESSURE_ROUNDING * scale:
                linear.append((0.0, 0.0, 0.0))
                continue
            q = flow[k] = flow_under(pull, law.friction, law.quadratic, law.others)
            opened = True
        size = abs(q)
        loss = law.quadratic * size
        fall, slope, bend = law.friction + loss, law.friction + 2.0 * loss, law.quadratic
        for resistance, power in law.others:
            loss = resistance * size**power
            fall += loss
            slope += (power + 1.0) * loss
            bend += power * (power + 1.0) * loss / (size or 1.0)
        linear.append((1.0 / slope, pull - fall * q, bend))
    return linear, opened, scale


def _shifts(ends, linear, flow, demand):
    """Changes of the junction pressures that make the flows add up; None if they cannot."""
    count = len(demand)
    matrix = [[0.0] * count for _ in range(count)]
    right = [-d for d in demand]
    for (i, j), (weight, unmet, _), q in zip(ends, linear, flow, strict=True):
        q += weight * unmet
        if i >= 0:
            right[i] -= q
            matrix[i][i] += weight
        if j >= 0:
            right[j] += q
            matrix[j][j] += weight
            if i >= 0:
                matrix[max(i, j)][min(i, j)] -= weight
    return _solved(matrix, right)


def _take_step(ends, laws, linear, shift, flow, scale, close):
    """Change the flows, in place, by what the shifts drive; whether they are as good as still.

    Still means that the change is rounding, or that what the law bends away from its tangent,
    which is what the next step would mend, is.
    """
    still = True
    for k, (i, j) in enumerate(ends):
        weight, unmet, bend = linear[k]
        if not weight:
            continue
        pull = unmet + (shift[i] if i >= 0 else 0.0) - (shift[j] if j >= 0 else 0.0)
        change = weight * pull
        q = flow[k] + change
        if q <= 0.0 and laws[k].one_way:
            q, still = 0.0, False
        elif still and not abs(change) - _PRESSURE_ROUNDING * scale * weight <= close:  # or nan
            bent = 10.0 * weight * bend * change * change
            still = bent <= close and 4.0 * abs(change) <= abs(q)
        flow[k] = q
    return still


def _solved(matrix, right):
    """Solve a symmetric system, given its lower triangle, in place; None if it cannot be solved.

    Nodes that hang on nothing, where all chains are closed, stay as they are if nothing is drawn.
    """
    whole = [row[k] for k, row in enumerate(matrix)]
    for k, row in enumerate(matrix):
        if row[k] <= _SINGULAR * whole[k]:
            if abs(right[k]) > _FLOW_ROUNDING:
                return None
            row[k], right[k] = math.inf, 0.0
        for i in range(k + 1, len(right)):
            if matrix[i][k]:
                factor = matrix[i][k] / row[k]
                right[i] -= factor * right[k]
                for j in range(k + 1, i + 1):
                    matrix[i][j] -= factor * matrix[j][k]
    for k in reversed(range(len(right))):
        known = sum(matrix[i][k] * right[i] for i in range(k + 1, len(right)))
        right[k] = (right[k] - known) / matrix[k][k]
    return right


def _adds_up(ends, flow, demand, close):
    left = list(demand)
    for (i, j), q in zip(ends, flow, strict=True):
        if i >= 0:
            left[i] += q
        if j >= 0:
            left[j] -= q
    return all(abs(q) <= close for q in left)


def _stay_closed(ends, laws, drive, flow, pressure):
    """Whether no closed chain is pushed open."""
    for (i, j), law, start, q in zip(ends, laws, drive, flow, strict=True):
        if law.one_way and q <= 0.0:
            from_start = pressure[i] if i >= 0 else 0.0
            at_end = pressure[j] if j >= 0 else 0.0
            scale = max(abs(start), abs(from_start), abs(at_end))
            if not start + from_start - at_end <= 4.0 * _PRESSURE_ROUNDING * scale:
                return False
    return True
