"""Density of fuel at any temperature, by ASTM D1250 Table 54B. Knows no tank and no aircraft."""

import math

ZERO_CELSIUS = 273.15
BASE_TEMPERATURE = ZERO_CELSIUS + 15.0
"""Temperature at which a density is quoted, 15 °C. [K]"""

# Product bands of Table 54B: lowest and highest density at 15 °C [kg/m³], K0, K1.
# ASTM D1250-80 (API MPMS 11.1, IP 200); constants seen in public code.
_GASOLINES = (653.0, 770.25, 346.4228, 0.4388)
_JET_FUELS = (787.75, 838.75, 594.5418, 0.0)
_FUEL_OILS = (838.75, 1075.0, 186.9696, 0.4862)
_LOWEST, _HIGHEST = _GASOLINES[0], _FUEL_OILS[1]


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
    for lowest, highest, k0, k1 in (_GASOLINES, _JET_FUELS, _FUEL_OILS):
        if lowest <= density_15 < highest or density_15 == highest == _HIGHEST:
            return round(k0 / density_15**2 + k1 / density_15, 7)
    return round(-0.00336312 + 2680.3206 / density_15**2, 7)  # the transition band


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
    if not -75.0 <= difference <= 135.0:
        raise ValueError(
            f"fuel: temperature is {temperature} K; it must lie between 213.15 K (-60 °C) and "
            "423.15 K (150 °C). Give the temperature in kelvin."
        )
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


def _check_density(density_15):
    if not _LOWEST <= density_15 <= _HIGHEST:
        raise ValueError(
            f"fuel: density at 15 °C is {density_15} kg/m³; Table 54B covers {_LOWEST} to "
            f"{_HIGHEST} kg/m³, and jet fuel is 775 to 840. Correct the density."
        )
