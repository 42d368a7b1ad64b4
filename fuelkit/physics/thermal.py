"""How the temperature of fuel in tanks changes in flight. Knows no aircraft.

Fuel tends to the total air temperature at a rate that depends on how full the tank is, and fuel
that flows in brings its own temperature. Each tank is one well-stirred temperature.
"""

import math

import numpy as np


def time_constant(fill, *, empty, full):
    """Return the time constant with which a tank's fuel tends to the temperature outside.

    Parameters
    ----------
    fill : float or array_like
        Fuel over capacity, 0 to 1. [-]
    empty, full : float or array_like
        Time constant of an almost empty and of a full tank, above 0. [s]

    Returns
    -------
    float or ndarray
        Time constant, linear in the fill. [s]

    Raises
    ------
    ValueError
        If a fill is not between 0 and 1 or a time constant is not above 0.

    Notes
    -----
    Heat passes through the skin, which stays the same, into fuel that grows with the fill: hence
    a constant that rises with the fill. That it rises linearly is a simplification.

    References
    ----------
    Common practice, no source: Newton's law of cooling with a time constant that falls with fill.

    Examples
    --------
    >>> time_constant(0.5, empty=1800.0, full=7200.0)
    4500.0
    """
    fill, empty, full = (np.asarray(x, dtype=float) for x in (fill, empty, full))
    if not np.all((fill >= 0.0) & (fill <= 1.0)):
        raise ValueError(f"thermal: fill is {fill}; it lies between 0 and 1. Correct it.")
    for name, value in (("empty", empty), ("full", full)):
        if not np.all((value > 0.0) & np.isfinite(value)):
            raise ValueError(
                f"thermal: time constant {name} is {value} s; it must be above 0. Correct it."
            )
    constant = empty + (full - empty) * fill
    return constant if constant.ndim else float(constant)


def temperature_rates(
    temperatures,
    masses,
    *,
    ambient,
    time_constants,
    structure,
    inflows=None,
    given_inflow=None,
    given_temperature=None,
):
    """Return how fast the fuel temperature of every tank changes.

    Parameters
    ----------
    temperatures : array_like, shape (n,)
        Fuel temperature of each tank. [K]
    masses : array_like, shape (n,)
        Fuel in each tank, 0 or more. [kg]
    ambient : float or array_like, shape (n,)
        Temperature that the fuel tends to: total air temperature in flight. [K]
    time_constants : array_like, shape (n,)
        Of each tank, above 0; infinite for a tank that exchanges no heat. [s]
    structure : float or array_like, shape (n,)
        Structure that warms and cools with the fuel, as a mass of fuel of the same heat capacity;
        above 0 where a tank may be empty. [kg]
    inflows : array_like, shape (n, n), or None
        Flow from tank j (column) into tank i (row), 0 or more; the diagonal has no effect. [kg/s]
    given_inflow : array_like, shape (n,), or None
        Flow into each tank from elsewhere: hot return, refuelling; 0 or more. [kg/s]
    given_temperature : array_like, shape (n,), or None
        Its temperature; any number where the flow is 0. [K]

    Returns
    -------
    ndarray, shape (n,)
        Rate of each temperature. [K/s]

    Raises
    ------
    ValueError
        If a flow is negative, a time constant or a mass with its structure is not above 0, or a
        flow from elsewhere has no temperature.

    Notes
    -----
    Outflow takes fuel at the tank's own temperature and changes none. One heat capacity for all
    fuel is assumed: it differs by some 10 % over 50 K.

    References
    ----------
    Energy balance of a well-stirred vessel (any textbook of heat transfer; from memory).

    Examples
    --------
    A warm tank in cold air, and one that gets warm fuel from it:

    >>> temperature_rates(
    ...     [290.0, 270.0], [1000.0, 500.0], ambient=250.0, time_constants=[4000.0, 2000.0],
    ...     structure=0.0, inflows=[[0.0, 0.0], [0.5, 0.0]])
    array([-0.01,  0.01])
    """
    temperatures = np.asarray(temperatures, dtype=float)
    time_constants = np.asarray(time_constants, dtype=float)
    heated = np.asarray(masses, dtype=float) + structure
    _check_above_0("mass with its structure", heated, "kg")
    _check_above_0("time constant", time_constants, "s")
    rates = (ambient - temperatures) / time_constants
    if inflows is not None:
        inflows = np.asarray(inflows, dtype=float)
        _check_flow(inflows)
        # Row i: sum over j of inflow[i, j] × (T[j] - T[i]).
        differences = temperatures[np.newaxis, :] - temperatures[:, np.newaxis]
        rates = rates + (inflows * differences).sum(axis=1) / heated
    if given_inflow is not None:
        if given_temperature is None:
            raise ValueError(
                "thermal: given temperature is missing; fuel that flows in from elsewhere needs "
                "one. Give it for every tank."
            )
        given_inflow = np.asarray(given_inflow, dtype=float)
        _check_flow(given_inflow)
        rates = rates + given_inflow * (given_temperature - temperatures) / heated
    return rates


def mixed_temperature(temperature, mass, inflow_temperature, inflow, outflow, time):
    """Return the temperature of a tank that exchanges no heat after a steady inflow.

    Parameters
    ----------
    temperature : float
        Fuel temperature at the start. [K]
    mass : float
        Fuel at the start, with the structure that warms with it, above 0. [kg]
    inflow_temperature : float
        Temperature of what flows in. [K]
    inflow, outflow : float
        Steady flows, 0 or more. [kg/s]
    time : float
        Time since the start; the tank may not run empty before it. [s]

    Returns
    -------
    float
        Fuel temperature. [K]

    Raises
    ------
    ValueError
        If a flow is negative, or the mass is not above 0 at the start and at the end.

    Notes
    -----
    The exact solution of `temperature_rates` with an infinite time constant: the difference of
    the two temperatures falls as a power of the mass, exponentially if the mass stays the same.

    References
    ----------
    Solution of a linear equation with separable variables (derived).

    Examples
    --------
    Two equal masses mix to the mean, whatever the time they take:

    >>> round(mixed_temperature(280.0, 100.0, 300.0, 1.0, 0.0, 100.0), 9)
    290.0
    """
    growth = inflow - outflow
    _check_flow(np.array([inflow, outflow]))
    _check_above_0("mass", np.array([mass, mass + growth * time]), "kg")
    # log1p keeps the digits where the mass hardly changes; its limit is the exponential.
    change = growth * time / mass
    turnover = inflow * time / mass * (math.log1p(change) / change if change else 1.0)
    return inflow_temperature + (temperature - inflow_temperature) * math.exp(-turnover)


def _check_flow(flow):
    if not np.all((flow >= 0.0) & np.isfinite(flow)):
        raise ValueError(
            f"thermal: inflow is {flow} kg/s; it must be 0 or more. A flow the other way belongs "
            "to the other tank."
        )


def _check_above_0(name, value, unit):
    if not np.all(value > 0.0):
        raise ValueError(f"thermal: {name} is {value} {unit}; it must be above 0. Correct it.")
