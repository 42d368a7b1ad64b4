"""Water in fuel: what lies in a sump, and what cold brings out of solution. Knows no aircraft."""

from fuelkit.physics.fuel import ZERO_CELSIUS

WATER_DENSITY = 999.1
"""Density of water at 15 °C, from memory; it changes by under 0.5 % from 0 to 30 °C. [kg/m³]"""

_PER_FAHRENHEIT = 1e-6  # of the fuel's volume


def settled_water(volume, capacity):
    """Return the mass of water that lies in a sump, and the volume of water that rises above it.

    Water is denser than fuel and sinks to the lowest place: it fills the sump first, and only what
    the sump cannot hold reaches pump inlets.

    Parameters
    ----------
    volume : float
        Volume of free water in the tank, 0 or more. [m³]
    capacity : float
        Volume of the sump below the lowest inlet, 0 or more. [m³]

    Returns
    -------
    mass : float
        Water in the sump, what a drain would let out. [kg]
    above : float
        Water above the sump, within reach of the inlets. [m³]

    Raises
    ------
    ValueError
        If a volume is negative or no number.

    References
    ----------
    Common practice, no source: water lies below fuel. The sump's size: 14 CFR 25.971.

    Examples
    --------
    >>> mass, above = settled_water(0.005, 0.003)
    >>> round(mass, 4), round(above, 6)
    (2.9973, 0.002)
    """
    for name, value in (("volume of water", volume), ("capacity of the sump", capacity)):
        if not value >= 0.0:
            raise ValueError(f"water: {name} is {value} m³; it must be 0 or more. Correct it.")
    return WATER_DENSITY * min(volume, capacity), max(volume - capacity, 0.0)


def dissolved_water(fuel_volume, temperature):
    """Return the mass of water that jet fuel can hold in solution, the most at its temperature.

    Parameters
    ----------
    fuel_volume : float
        Volume of fuel. [m³]
    temperature : float
        Fuel temperature. [K]

    Returns
    -------
    float
        Water in solution at saturation; 0 at -18 °C and below. [kg]

    References
    ----------
    Common practice, no source: the parts per million by volume are about the temperature in °F.
    An order of magnitude, not a measurement; what one cools out is the difference of two.

    Examples
    --------
    10 m³ of saturated fuel cooled from 30 °C to 0 °C frees about half a litre:

    >>> round(dissolved_water(10.0, 303.15) - dissolved_water(10.0, 273.15), 2)
    0.54
    """
    fahrenheit = 1.8 * (temperature - ZERO_CELSIUS) + 32.0
    return WATER_DENSITY * fuel_volume * _PER_FAHRENHEIT * max(fahrenheit, 0.0)
