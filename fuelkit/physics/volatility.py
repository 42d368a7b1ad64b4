"""Vapour pressure of jet fuel, and how high fuel still flows by gravity. Knows no aircraft."""

import math

from fuelkit.physics.atmosphere import HIGHEST, LOWEST, air, height_of_pressure
from fuelkit.physics.units import PSI

# US EPA, AP-42, section 7.1, table 7.1-2: ln(pressure in psi) = A - B/(temperature in °R). The
# constants of jet kerosene (Jet A) and jet naphtha (JP-4, a wide-cut) were seen in public code.
_KEROSENE = (12.390, 8933.0)
_WIDE_CUT = (11.368, 5784.3)
_RANKINE = 1.8
_COLDEST, _HOTTEST = 213.15, 423.15


def vapour_pressure(temperature, *, wide_cut=False):
    """Return the true vapour pressure of jet fuel: the least pressure at which it stays liquid.

    Parameters
    ----------
    temperature : float
        Fuel temperature, 213.15 to 423.15 (-60 °C to 150 °C). [K]
    wide_cut : bool
        Whether the fuel is a wide-cut (Jet B) and not a kerosene (Jet A, Jet A-1).

    Returns
    -------
    float
        Absolute vapour pressure of typical fuel. [Pa]

    Raises
    ------
    ValueError
        If the temperature is outside the range.

    Notes
    -----
    Published for stored fuel, about 4 °C to 38 °C; elsewhere it is extrapolated. One delivery
    differs from another by a good part of the value itself.

    References
    ----------
    US EPA, AP-42, Compilation of Air Emissions Factors, section 7.1, table 7.1-2.

    Examples
    --------
    >>> round(vapour_pressure(293.15), 1), round(vapour_pressure(293.15, wide_cut=True))
    (73.7, 10348)
    """
    if not _COLDEST - 1e-8 <= temperature <= _HOTTEST + 1e-8:
        raise ValueError(
            f"vapour pressure: temperature is {temperature} K; it must lie between {_COLDEST} K "
            f"and {_HOTTEST} K. Give the temperature in kelvin."
        )
    first, second = _WIDE_CUT if wide_cut else _KEROSENE
    return PSI * math.exp(first - second / (_RANKINE * temperature))


def gravity_ceiling(gauge_pressure, fuel_temperature, *, margin=0.0, wide_cut=False):
    """Return the pressure altitude up to which fuel reaches an engine by gravity alone.

    Above it the pressure at the engine's inlet (ambient pressure, plus head of fuel, less the loss
    in the line) would fall below the vapour pressure, and vapour would fill the line.

    Parameters
    ----------
    gauge_pressure : float
        Pressure at the engine's inlet above ambient; negative for suction. [Pa]
    fuel_temperature : float
        Fuel temperature, 213.15 to 423.15. [K]
    margin : float
        What the inlet needs above the vapour pressure, 0 or more: the engine pump's own need, and
        air that comes out of solution well before vapour does. [Pa]
    wide_cut : bool
        Whether the fuel is a wide-cut and not a kerosene.

    Returns
    -------
    float
        Pressure altitude. [m] Infinite where there is no ceiling: at the top of the standard
        atmosphere, 80 km, there is still pressure enough. Minus infinity where fuel does not
        flow by gravity even 5 km below sea level.

    Raises
    ------
    ValueError
        If a value is no number, the margin is negative, or the temperature is out of range.

    Notes
    -----
    A warmer or colder day moves no pressure altitude, so the answer needs no deviation; it acts
    through the fuel's temperature. With no margin the ceiling of a kerosene is far above what is
    certified: there, dissolved air sets it, which only a margin from a test can stand for (common
    practice, no source).

    References
    ----------
    Inlet pressure equal to vapour pressure and margin (definition); ICAO Doc 7488/3 for the height.

    Examples
    --------
    Wide-cut fuel at 35 °C with 15 kPa of suction stops flowing far below cruise height:

    >>> round(gravity_ceiling(-15e3, 308.15, wide_cut=True))
    8594
    >>> gravity_ceiling(5e3, 288.15)
    inf
    """
    if not math.isfinite(gauge_pressure):
        raise ValueError(
            f"gravity feed: gauge pressure is {gauge_pressure} Pa; it must be a number. Correct it."
        )
    if not 0.0 <= margin < math.inf:
        raise ValueError(f"gravity feed: margin is {margin} Pa; it must be 0 or more. Correct it.")
    needed = vapour_pressure(fuel_temperature, wide_cut=wide_cut) + margin - gauge_pressure
    if needed <= air(HIGHEST).pressure:
        return math.inf
    if needed > air(LOWEST).pressure:
        return -math.inf
    return height_of_pressure(needed)
