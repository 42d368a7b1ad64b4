"""Share a load of fuel out over the tanks, as the aircraft's own order of filling says."""

import math

from fuelkit.physics.errors import FuelkitError


class LoadError(FuelkitError, ValueError):
    """A load of fuel does not fit the aircraft."""


def distribution(aircraft, total, density):
    """Return the mass in each tank for a total mass of fuel.

    Each step of the aircraft's loading order is filled level, its tanks in proportion to what
    they hold, before the next step begins.

    Parameters
    ----------
    aircraft : Aircraft
    total : float
        Mass of fuel on board, 0 up to what all tanks are refuelled to. [kg]
    density : float
        Density of the fuel at its temperature. [kg/m³]

    Returns
    -------
    dict of str to float
        Mass by tank, every tank of the aircraft named. [kg]

    Raises
    ------
    LoadError
        If the total is negative, not a number, or more than the tanks take.

    Notes
    -----
    Wings before centre, since fuel in the wing relieves its bending: common practice, no source.
    The order itself is in the aircraft's file.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> masses = distribution(load_aircraft("halbrook-180"), 4000.0, 800.0)
    >>> round(masses["left inboard"], 6), masses["centre"]
    (2000.0, 0.0)
    """
    masses = {tank.name: 0.0 for tank in aircraft.tanks}
    if not 0.0 <= total < math.inf:
        raise LoadError(f"load: total is {total} kg; it must be 0 or more. Give a mass in kg.")
    left = total
    for step in aircraft.loading_order:
        limits = [aircraft.tank(name).refuelled_volume * density for name in step]
        share = min(1.0, left / sum(limits))
        for name, limit in zip(step, limits, strict=True):
            masses[name] = share * limit
        left = 0.0 if share < 1.0 else left - sum(limits)  # no dust of rounding for the next step
    if left > 1e-6 * max(1.0, total):
        raise LoadError(
            f"load: total is {total:.0f} kg; the tanks take at most {total - left:.0f} kg at "
            f"{density:.1f} kg/m³. Order less."
        )
    return masses
