"""Density of fuel at any temperature, by ASTM D1250 Table 54B. Knows no tank and no aircraft.

`volume_correction_factor` and `density` give the printed table digit for digit, for sheets;
`smooth_volume_correction` and `smooth_density` the same law without its rounding, for a computed
flight, which may not jump.
"""

import math

import numpy as np

ZERO_CELSIUS = 273.15
BASE_TEMPERATURE = ZERO_CELSIUS + 15.0
"""Temperature at which a density is quoted, 15 °C. [K]"""

# Product bands of Table 54B, by density at 15 °C [kg/m³]; ASTM D1250-80 (API MPMS 11.1, IP 200),
# constants seen in public code. Printed: gasolines 653 to 770, transition 770.5 to 787.5, jet fuels
# 788 to 838.5, fuel oils 839 to 1075.
_LOWEST, _HIGHEST = 653.0, 1075.0
_COLDEST, _HOTTEST = -75.0, 135.0  # from the base temperature [K]

# Between two printed densities the table is silent: a band ends where its formula and its
# neighbour's agree, so that nothing jumps. The 2004 edition's edges, 770.3520, 787.5195 and
# 838.3127 at 60 °F (seen in public code), are such points too.
_GASOLINES_END = 770.3608957343678
_TRANSITION_END = 787.5224490722559
_JET_FUELS_END = 838.2809543397777
_JET_FUELS_END_PRINTED = 838.75  # 838.5 is printed as a jet fuel and 839 as a fuel oil


def thermal_expansion(density_15):
    """Return the coefficient of thermal expansion of a petroleum product at 15 °C.

    The band is chosen by density, not by the name of the product: a light Jet A-1 at 780 kg/m³
    lies in the transition band between gasolines and jet fuels.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]

    Returns
    -------
    float
        Coefficient of expansion, rounded to 7 decimals as the printed tables are. [1/K]

    Raises
    ------
    ValueError
        If the density is outside the table.

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200).

    Examples
    --------
    >>> thermal_expansion(800.0)
    0.000929
    """
    _check_density(density_15)
    return round(_expansion(density_15, _JET_FUELS_END_PRINTED), 7)


def volume_correction_factor(density_15, temperature):
    """Return the volume at 15 °C of one unit of volume measured at `temperature`.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]
    temperature : float
        Fuel temperature, 213.15 to 423.15 (-60 °C to 150 °C). [K]

    Returns
    -------
    float
        Factor, rounded step by step so that it reproduces the printed table. [-]

    Raises
    ------
    ValueError
        If the density is outside the table or the temperature is not one of a liquid fuel.

    Notes
    -----
    Exponential form with the standard's own rounding: expansion to 7 decimals, products to 8,
    the exponential to 6, the result to 4 (the rule of rounding is from memory; it reproduces
    every printed value that was seen).

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200).

    Examples
    --------
    At 15 °C nothing is corrected; cold fuel takes less room:

    >>> volume_correction_factor(800.0, 288.15)
    1.0
    >>> volume_correction_factor(800.0, 273.15 - 40.0)
    1.0502
    """
    # 8 decimals hide the rounding of °C to K and back.
    difference = round(temperature - BASE_TEMPERATURE, 8)
    _check_temperature(temperature, difference)
    swelling = round(thermal_expansion(density_15) * difference, 8)
    exponent = round(-swelling * (1.0 + 0.8 * swelling), 8)
    return round(round(math.exp(exponent), 6), 4)


def density(density_15, temperature):
    """Return the density of fuel at a temperature.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]
    temperature : float
        Fuel temperature, 213.15 to 423.15. [K]

    Returns
    -------
    float
        Density at `temperature`. [kg/m³]

    Raises
    ------
    ValueError
        If either value is outside the table.

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200).

    Examples
    --------
    >>> round(density(800.0, 273.15 - 40.0), 2)
    840.16
    """
    return density_15 * volume_correction_factor(density_15, temperature)


def smooth_volume_correction(density_15, temperature):
    """Return the volume at 15 °C of one unit of volume at `temperature`, without table rounding.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]
    temperature : float or array_like
        Fuel temperature, 213.15 to 423.15 (-60 °C to 150 °C). [K]

    Returns
    -------
    float or ndarray
        Factor, smooth in the temperature and without a jump in the density. [-]

    Raises
    ------
    ValueError
        If the density is outside the table or a temperature is not one of a liquid fuel.

    Notes
    -----
    Lies within 0.005 % and half a digit of the table, everywhere (tested).

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200): its exponential form.

    Examples
    --------
    >>> round(smooth_volume_correction(800.0, 273.15 - 40.0), 6)
    1.050226
    >>> smooth_volume_correction(800.0, [288.15, 288.15])
    array([1., 1.])
    """
    _check_density(density_15)
    difference = np.asarray(temperature, dtype=float) - BASE_TEMPERATURE
    _check_temperature(temperature, difference)
    factor = _factor(density_15, difference)
    return factor if factor.ndim else float(factor)


def smooth_density(density_15, temperature):
    """Return the density of fuel at a temperature, without table rounding.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]
    temperature : float or array_like
        Fuel temperature, 213.15 to 423.15. [K]

    Returns
    -------
    float or ndarray
        Density at `temperature`, smooth in it. [kg/m³]

    Raises
    ------
    ValueError
        If the density is outside the table or a temperature is not one of a liquid fuel.

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200): its exponential form.

    Examples
    --------
    >>> round(smooth_density(800.0, 273.15 - 40.0), 3)
    840.18
    """
    return density_15 * smooth_volume_correction(density_15, temperature)


def smooth_expansion(density_15):
    """Return the coefficient of thermal expansion at 15 °C, without table rounding.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]

    Returns
    -------
    float
        Coefficient of expansion, that of `smooth_density`. [1/K]

    Raises
    ------
    ValueError
        If the density is outside the table.

    References
    ----------
    ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200).

    Examples
    --------
    >>> round(smooth_expansion(800.0), 9)
    0.000928972
    """
    _check_density(density_15)
    return _expansion(density_15, _JET_FUELS_END)


def density_15_from(density, temperature):
    """Return the density at 15 °C of fuel whose true density at a temperature is known.

    Parameters
    ----------
    density : float
        True density at `temperature`. A hydrometer's reading is not yet that: see
        `physics.hydrometer`. [kg/m³]
    temperature : float
        Fuel temperature, 213.15 to 423.15. [K]

    Returns
    -------
    float
        Density at 15 °C. [kg/m³]

    Raises
    ------
    ValueError
        If no product of the table has that density at that temperature.

    Notes
    -----
    The inverse of `smooth_density`, by halving: that law rises with the density at 15 °C and has
    no jump, so there is exactly one answer. Repeated substitution, the printed procedure, does
    not settle for hot fuel in the transition band, where expansion falls steeply with density.

    References
    ----------
    ASTM D1250-80, Table 53B (API MPMS 11.1, IP 200).

    Examples
    --------
    >>> round(density_15_from(smooth_density(800.0, 253.15), 253.15), 6)
    800.0
    """
    difference = temperature - BASE_TEMPERATURE
    _check_temperature(temperature, difference)
    lightest = _LOWEST * float(_factor(_LOWEST, difference))
    heaviest = _HIGHEST * float(_factor(_HIGHEST, difference))
    if not lightest <= density <= heaviest:
        raise ValueError(
            f"fuel: density is {density} kg/m³; at {temperature} K the table covers "
            f"{lightest:.1f} to {heaviest:.1f} kg/m³. Correct the density or the temperature."
        )
    low, high = _LOWEST, _HIGHEST
    while low < (middle := 0.5 * (low + high)) < high:
        if middle * float(_factor(middle, difference)) < density:
            low = middle
        else:
            high = middle
    return high


def _expansion(density_15, jet_fuels_end):
    if density_15 < _GASOLINES_END:
        return 346.4228 / density_15**2 + 0.4388 / density_15
    if density_15 < _TRANSITION_END:
        return -0.00336312 + 2680.3206 / density_15**2
    if density_15 < jet_fuels_end:
        return 594.5418 / density_15**2
    return 186.9696 / density_15**2 + 0.4862 / density_15


def _factor(density_15, difference):
    swelling = _expansion(density_15, _JET_FUELS_END) * difference
    return np.exp(-swelling * (1.0 + 0.8 * swelling))


def _check_temperature(temperature, difference):
    # 1e-8 K for the rounding of °C to K and back.
    inside = (difference >= _COLDEST - 1e-8) & (difference <= _HOTTEST + 1e-8)
    if not np.all(inside):
        raise ValueError(
            f"fuel: temperature is {temperature} K; it must lie between 213.15 K (-60 °C) and "
            "423.15 K (150 °C). Give the temperature in kelvin."
        )


def _check_density(density_15):
    if not _LOWEST <= density_15 <= _HIGHEST:
        raise ValueError(
            f"fuel: density at 15 °C is {density_15} kg/m³; Table 54B covers {_LOWEST} to "
            f"{_HIGHEST} kg/m³, and jet fuel is 775 to 840. Correct the density."
        )
