"""The liquid jet pump: a fast jet drags slow fuel along. Knows no tank and no aircraft.

A motive flow leaves a nozzle, mixes with suction flow in a throat and is slowed in a diffuser.
The one-dimensional theory is that of Gosline and O'Brien (1934) and Cunningham (1957), both from
memory; here it is derived from energy up to the throat, momentum in it, and energy again after it.
Fuel is incompressible, motive and suction fuel have one density, and nothing boils in the throat.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class JetPump:
    """Shape and losses of a jet pump. Frozen. Losses count in velocity heads; the values
    given are usual ones for a well-made pump (from memory).

    area_ratio : float
        Area of the nozzle over that of the throat, between 0 and 1. [-]
    nozzle_loss : float
        Loss in the nozzle, of the jet's velocity head, 0 or more. [-]
    suction_loss : float
        Loss at the throat's entry, of the suction flow's velocity head, 0 or more. [-]
    throat_loss : float
        Loss in throat and diffuser together, of the throat's velocity head, above 0. [-]
    """

    area_ratio: float
    nozzle_loss: float = 0.05
    suction_loss: float = 0.05
    throat_loss: float = 0.20

    def __post_init__(self):
        rules = {
            "area_ratio": (0.0 < self.area_ratio < 1.0, "it must lie between 0 and 1"),
            "nozzle_loss": (0.0 <= self.nozzle_loss < math.inf, "it must be 0 or more"),
            "suction_loss": (0.0 <= self.suction_loss < math.inf, "it must be 0 or more"),
            "throat_loss": (0.0 < self.throat_loss < math.inf, "it must be above 0"),
        }
        for field, (holds, rule) in rules.items():
            if not holds:
                value = getattr(self, field)
                raise ValueError(f"jet pump: {field} is {value}; {rule}. Correct it.")


def head_ratio(pump, flow_ratio):
    """Return the pressure that a jet pump adds to the suction flow, against what the jet spends.

    Parameters
    ----------
    pump : JetPump
        Its shape and losses.
    flow_ratio : float
        Suction flow over motive flow, 0 or more. [-]

    Returns
    -------
    float
        (discharge - suction) / (motive - discharge), total pressures. Falls as the flow ratio
        rises; negative where the pump is pulled through faster than it pumps. [-]

    Raises
    ------
    ValueError
        If the flow ratio is negative, or so large that only a suction pressure above the motive
        pressure would give it.

    References
    ----------
    Gosline and O'Brien, The Water Jet Pump, University of California Publications in Engineering
    3, 1934; R. G. Cunningham, Trans. ASME 79, 1957, p. 1807. Both from memory.

    Examples
    --------
    >>> round(head_ratio(JetPump(0.25), 0.0), 3)
    0.68
    >>> head_ratio(JetPump(0.25), 1.0) > head_ratio(JetPump(0.25), 1.5) > 0.0
    True
    """
    if not 0.0 <= flow_ratio < math.inf:
        raise ValueError(
            f"jet pump: flow ratio is {flow_ratio}; it must be 0 or more. Suction flow may not run "
            "backwards; a check valve stops it."
        )
    drawn = _drawn(pump) * flow_ratio**2
    if drawn > 1.0 + pump.nozzle_loss:
        raise ValueError(
            f"jet pump: flow ratio is {flow_ratio}; so much is drawn only by a suction pressure "
            "above the motive pressure. Lower the flow ratio."
        )
    outlet = _outlet(pump, flow_ratio)
    return (outlet - drawn) / (1.0 + pump.nozzle_loss - outlet)


def flow_ratio(pump, head_ratio):
    """Return the suction flow that a jet pump moves for its motive flow.

    Parameters
    ----------
    pump : JetPump
        Its shape and losses.
    head_ratio : float
        (discharge - suction) / (motive - discharge), total pressures, above -1. [-]

    Returns
    -------
    float
        Suction flow over motive flow; 0 at the shut-off head and above it, where the suction
        side's check valve closes. [-]

    Raises
    ------
    ValueError
        If the head ratio is not above -1: the motive pressure is then below the suction pressure.

    References
    ----------
    As `head_ratio`, solved for the flow ratio: the smaller positive root of a quadratic.

    Examples
    --------
    >>> pump = JetPump(0.25)
    >>> round(flow_ratio(pump, head_ratio(pump, 1.2)), 9)
    1.2
    >>> flow_ratio(pump, 5.0)
    0.0
    """
    if not -1.0 < head_ratio < math.inf:
        raise ValueError(
            f"jet pump: head ratio is {head_ratio}; it must be above -1: the motive pressure must "
            "be above the suction pressure. Raise the motive pressure."
        )
    above = 1.0 + head_ratio
    square, linear, constant = (above * term for term in _mixed(pump))
    constant -= (1.0 + pump.nozzle_loss) * head_ratio
    if constant <= 0.0:
        return 0.0
    # The smaller positive root, in the form that keeps its digits near the shut-off head.
    square -= _drawn(pump)
    return 2.0 * constant / (-linear + math.sqrt(linear**2 - 4.0 * square * constant))


def efficiency(pump, flow_ratio):
    """Return the power given to the suction flow over the power that the motive flow gives up.

    Parameters
    ----------
    pump : JetPump
        Its shape and losses.
    flow_ratio : float
        Suction flow over motive flow, 0 or more. [-]

    Returns
    -------
    float
        Flow ratio × head ratio. [-]

    Raises
    ------
    ValueError
        As `head_ratio`.

    References
    ----------
    As `head_ratio`; the definition of efficiency in both.

    Examples
    --------
    >>> efficiency(JetPump(0.25), 0.0)
    0.0
    >>> round(efficiency(JetPump(0.25), 1.1), 2)
    0.37
    """
    return flow_ratio * head_ratio(pump, flow_ratio)


def jet_pump_flows(pump, motive, suction, discharge, *, nozzle_area, density):
    """Return the motive and the suction flow of a jet pump between three pressures.

    Parameters
    ----------
    pump : JetPump
        Its shape and losses.
    motive, suction, discharge : float
        Total pressure at the nozzle's supply, at the suction inlet and at the outlet. [Pa]
    nozzle_area : float
        Area of the nozzle, above 0. [m²]
    density : float
        Density of the fuel, above 0. [kg/m³]

    Returns
    -------
    motive_flow, suction_flow : float
        Flow through the nozzle, and flow drawn in; 0 above the shut-off head. [kg/s]

    Raises
    ------
    ValueError
        If area or density is not above 0, or the motive pressure is not above both others.

    References
    ----------
    As `head_ratio`; the jet's velocity from the same balance of energy and momentum.

    Examples
    --------
    A 4 mm nozzle at 2 bar lifts fuel against 10 kPa:

    >>> motive, suction = jet_pump_flows(
    ...     JetPump(0.1), 200e3, 0.0, 10e3, nozzle_area=12.6e-6, density=800.0)
    >>> round(motive, 3), round(suction, 3)
    (0.248, 1.028)
    """
    for name, value in (("nozzle area", nozzle_area), ("density", density)):
        if not 0.0 < value < math.inf:
            raise ValueError(f"jet pump: {name} is {value}; it must be above 0. Correct it.")
    if not motive > max(suction, discharge):
        raise ValueError(
            f"jet pump: motive pressure is {motive} Pa; it must be above suction ({suction} Pa) "
            f"and discharge ({discharge} Pa). Raise it, or take the pump as not running."
        )
    ratio = flow_ratio(pump, (discharge - suction) / (motive - discharge))
    velocity_head = (motive - discharge) / (1.0 + pump.nozzle_loss - _outlet(pump, ratio))
    motive_flow = nozzle_area * math.sqrt(2.0 * density * velocity_head)
    return motive_flow, ratio * motive_flow


def _mixed(pump):
    """Return the terms in M², M and 1 of the outlet's pressure above the throat entry's.

    In velocity heads of the jet, as all pressures here: momentum of both flows, less the
    throat's losses.
    """
    area, lost = pump.area_ratio, (1.0 + pump.throat_loss) * pump.area_ratio**2
    return 2.0 * area**2 / (1.0 - area) - lost, -2.0 * lost, 2.0 * area - lost


def _drawn(pump):
    """Return the term in M² of the suction's pressure above the throat entry's."""
    return (1.0 + pump.suction_loss) * (pump.area_ratio / (1.0 - pump.area_ratio)) ** 2


def _outlet(pump, flow_ratio):
    """Return the outlet's pressure above the throat entry's, in velocity heads of the jet."""
    square, linear, constant = _mixed(pump)
    return (square * flow_ratio + linear) * flow_ratio + constant
