"""The standard atmosphere, warmer or colder days, and the air that a moving aircraft meets.

Knows no aircraft. Heights are geopotential unless a name says geometric. A height is a pressure
altitude throughout: on a warm day the pressure at it is the standard one and only the temperature
differs.
"""

from typing import NamedTuple

import numpy as np

from fuelkit.physics.units import STANDARD_GRAVITY

# ICAO Doc 7488/3 (1993), also ISO 2533: layers by the height [m] they begin at and the change of
# temperature with height in them [K/m]. The lowest reaches down to -5000 m, the last to 80 km.
_BASES = np.array([0.0, 11e3, 20e3, 32e3, 47e3, 51e3, 71e3])
_GRADIENTS = np.array([-6.5e-3, 0.0, 1e-3, 2.8e-3, 0.0, -2.8e-3, -2e-3])
LOWEST, HIGHEST = -5000.0, 80000.0
"""Heights that the standard covers. [m]"""

SEA_LEVEL_TEMPERATURE = 288.15
SEA_LEVEL_PRESSURE = 101325.0
GAS_CONSTANT = 287.05287
"""Specific gas constant of dry air. [J/(kg·K)]"""
_HEAT_RATIO = 1.4
_EARTH_RADIUS = 6356766.0


class Air(NamedTuple):
    """Air at a height.

    temperature : float or ndarray
        Static temperature. [K]
    pressure : float or ndarray
        Static pressure. [Pa]
    density : float or ndarray
        [kg/m³]
    speed_of_sound : float or ndarray
        [m/s]
    """

    temperature: float
    pressure: float
    density: float
    speed_of_sound: float


def air(height, *, deviation=0.0):
    """Return the state of the air at a pressure altitude.

    Parameters
    ----------
    height : float or array_like
        Pressure altitude, geopotential, -5000 to 80000. [m]
    deviation : float
        How much warmer the air is than standard at every height; negative for colder. [K]

    Returns
    -------
    Air
        Temperature [K], pressure [Pa], density [kg/m³] and speed of sound [m/s].

    Raises
    ------
    ValueError
        If a height is outside the standard, or the air would be at or below absolute zero.

    Notes
    -----
    The pressure is the standard one at a pressure altitude whatever the deviation.

    References
    ----------
    ICAO Doc 7488/3, Manual of the ICAO Standard Atmosphere, 1993.

    Examples
    --------
    >>> [round(x, 4) for x in air(11000.0)]
    [216.65, 22632.0401, 0.3639, 295.0695]
    >>> round(air(11000.0, deviation=10.0).temperature, 6)
    226.65
    """
    standard, pressure = _standard(_checked_height(height))
    temperature = standard + deviation
    if not np.all(np.isfinite(temperature) & (temperature > 0.0)):
        raise ValueError(
            f"atmosphere: deviation is {deviation} K; the air must stay above absolute zero. "
            "Give the difference from the standard temperature, about -60 to 40 K."
        )
    density = pressure / (GAS_CONSTANT * temperature)
    sound = speed_of_sound(temperature)
    if temperature.ndim:
        return Air(temperature, pressure, density, sound)
    return Air(float(temperature), float(pressure), float(density), float(sound))


def height_of_pressure(pressure):
    """Return the pressure altitude: the standard height of a static pressure.

    Parameters
    ----------
    pressure : float or array_like
        Static pressure, that of 80 km (0.9 Pa) to that of -5000 m (177 687 Pa). [Pa]

    Returns
    -------
    float or ndarray
        Geopotential height. [m]

    Raises
    ------
    ValueError
        If a pressure is outside the standard.

    References
    ----------
    ICAO Doc 7488/3, 1993, its pressure formulas solved for the height.

    Examples
    --------
    >>> round(height_of_pressure(101325.0), 6)
    0.0
    >>> round(height_of_pressure(22632.04), 2)
    11000.0
    """
    pressure = np.asarray(pressure, dtype=float)
    if not np.all((pressure >= _LEAST_PRESSURE) & (pressure <= _MOST_PRESSURE)):
        raise ValueError(
            f"atmosphere: pressure is {pressure} Pa; the standard covers {_LEAST_PRESSURE:.2f} to "
            f"{_MOST_PRESSURE:.0f} Pa. Give the static pressure in pascals."
        )
    layer = np.maximum(len(_BASES) - np.searchsorted(_PRESSURES[::-1], pressure, "left"), 1) - 1
    gradient, base = _GRADIENTS[layer], _TEMPERATURES[layer]
    ratio = np.log(_PRESSURES[layer] / pressure) * GAS_CONSTANT / STANDARD_GRAVITY
    slope = np.where(gradient == 0.0, 1.0, gradient)
    rise = np.where(gradient == 0.0, base * ratio, base * np.expm1(slope * ratio) / slope)
    height = _BASES[layer] + rise
    return height if height.ndim else float(height)


def geopotential_height(geometric):
    """Return the geopotential height of a geometric one, which counts gravity's decrease.

    Parameters
    ----------
    geometric : float or ndarray
        Height above mean sea level as a tape would measure it. [m]

    Returns
    -------
    float or ndarray
        Geopotential height, smaller aloft. [m]

    References
    ----------
    ICAO Doc 7488/3, 1993; its nominal radius of the earth is 6 356 766 m.

    Examples
    --------
    >>> round(geopotential_height(11019.07), 1)
    11000.0
    """
    return _EARTH_RADIUS * geometric / (_EARTH_RADIUS + geometric)


def geometric_height(geopotential):
    """Return the geometric height of a geopotential one.

    Parameters
    ----------
    geopotential : float or ndarray
        Geopotential height. [m]

    Returns
    -------
    float or ndarray
        Geometric height above mean sea level. [m]

    References
    ----------
    ICAO Doc 7488/3, 1993.

    Examples
    --------
    >>> round(geometric_height(11000.0), 2)
    11019.07
    """
    return _EARTH_RADIUS * geopotential / (_EARTH_RADIUS - geopotential)


def speed_of_sound(temperature):
    """Return the speed of sound in air.

    Parameters
    ----------
    temperature : float or ndarray
        Static temperature. [K]

    Returns
    -------
    float or ndarray
        Speed of sound. [m/s]

    References
    ----------
    ICAO Doc 7488/3, 1993; ratio of specific heats 1.4.

    Examples
    --------
    >>> round(speed_of_sound(288.15), 3)
    340.294
    """
    return (_HEAT_RATIO * GAS_CONSTANT * temperature) ** 0.5


def mach(true_airspeed, temperature):
    """Return the Mach number of an aircraft.

    Parameters
    ----------
    true_airspeed : float or ndarray
        True airspeed. [m/s]
    temperature : float or ndarray
        Static air temperature. [K]

    Returns
    -------
    float or ndarray
        Mach number. [-]

    References
    ----------
    Speed over speed of sound (definition).

    Examples
    --------
    >>> round(mach(236.0, 216.65), 2)
    0.8
    """
    return true_airspeed / speed_of_sound(temperature)


def total_air_temperature(temperature, mach, *, recovery=1.0):
    """Return the temperature of the air that an aircraft brings to rest.

    Parameters
    ----------
    temperature : float or ndarray
        Static air temperature. [K]
    mach : float or ndarray
        Mach number. [-]
    recovery : float
        Recovery factor: 1 for a total temperature, less for a skin or a probe, 0 to 1. [-]

    Returns
    -------
    float or ndarray
        Static temperature × (1 + 0.2 × recovery × Mach²). [K]

    Raises
    ------
    ValueError
        If the recovery factor is not between 0 and 1.

    References
    ----------
    Compressible flow of a gas with a ratio of specific heats of 1.4 (any textbook; from memory).

    Examples
    --------
    >>> total_air_temperature(216.65, 0.0)
    216.65
    >>> round(total_air_temperature(216.65, 0.8), 2)
    244.38
    """
    if not 0.0 <= recovery <= 1.0:
        raise ValueError(
            f"atmosphere: recovery factor is {recovery}; it lies between 0 and 1. Correct it."
        )
    return temperature * (1.0 + 0.5 * (_HEAT_RATIO - 1.0) * recovery * mach**2)


def _checked_height(height):
    height = np.asarray(height, dtype=float)
    if not np.all((height >= LOWEST) & (height <= HIGHEST)):
        raise ValueError(
            f"atmosphere: height is {height} m; the standard covers {LOWEST:.0f} to {HIGHEST:.0f} "
            "m. Give the geopotential height in metres."
        )
    return height


def _standard(height):
    layer = np.maximum(np.searchsorted(_BASES, height, "right") - 1, 0)
    base, gradient, rise = _TEMPERATURES[layer], _GRADIENTS[layer], height - _BASES[layer]
    temperature = base + gradient * rise
    scale = STANDARD_GRAVITY / GAS_CONSTANT
    slope = np.where(gradient == 0.0, 1.0, gradient)
    exponent = np.where(gradient == 0.0, rise / base, np.log1p(gradient * rise / base) / slope)
    return temperature, _PRESSURES[layer] * np.exp(-scale * exponent)


def _layer_bases():
    """Return temperature and pressure at the foot of every layer, from the ground up."""
    temperatures, pressures = [SEA_LEVEL_TEMPERATURE], [SEA_LEVEL_PRESSURE]
    for thickness, gradient in zip(np.diff(_BASES), _GRADIENTS, strict=False):
        low = temperatures[-1]
        high = low + gradient * thickness
        mean_inverse = np.log(high / low) / gradient if gradient else thickness / low
        temperatures.append(high)
        pressures.append(pressures[-1] * np.exp(-STANDARD_GRAVITY / GAS_CONSTANT * mean_inverse))
    return np.array(temperatures), np.array(pressures)


_TEMPERATURES, _PRESSURES = _layer_bases()
_MOST_PRESSURE, _LEAST_PRESSURE = (float(_standard(np.array(h))[1]) for h in (LOWEST, HIGHEST))
