"""A hydrometer's reading, made into a density at 15 °C. Knows no tank and no aircraft."""

from fuelkit.physics.fuel import BASE_TEMPERATURE, density_15_from, smooth_density


def glass_correction(temperature):
    """Return the factor that turns a reading into a true density: the glass shrinks in the cold.

    Parameters
    ----------
    temperature : float
        Temperature of fuel and hydrometer. [K]

    Returns
    -------
    float
        Correction of a soda-glass hydrometer that is calibrated at 15 °C. [-]

    References
    ----------
    ASTM D1250-80, procedure of Table 53B (API MPMS 11.1, IP 200); formula seen in public code.

    Examples
    --------
    >>> glass_correction(288.15)
    1.0
    >>> round(glass_correction(298.15), 6)
    0.999768
    """
    difference = round(temperature - BASE_TEMPERATURE, 8)
    return 1.0 - 0.000023 * difference - 0.00000002 * difference**2


def density_15_from_reading(reading, temperature, *, decimals=1):
    """Return the density at 15 °C from what a hydrometer reads in fuel at a temperature.

    Parameters
    ----------
    reading : float
        Reading of a soda-glass hydrometer calibrated at 15 °C. [kg/m³]
    temperature : float
        Temperature of the fuel when it was read, 213.15 to 423.15. [K]
    decimals : int or None
        Decimals of the result: 1 as in the printed table (from memory), None for no rounding. [-]

    Returns
    -------
    float
        Density at 15 °C. [kg/m³]

    Raises
    ------
    ValueError
        If the reading is no density of the table, with what a reading at that temperature may be.

    References
    ----------
    ASTM D1250-80, Table 53B (API MPMS 11.1, IP 200).

    Examples
    --------
    At 15 °C a reading needs no correction; fuel that was read warm is denser at 15 °C:

    >>> density_15_from_reading(800.0, 288.15)
    800.0
    >>> density_15_from_reading(792.0, 273.15 + 27.0)
    800.7
    """
    if not reading > 0.0:
        raise ValueError(
            f"hydrometer: reading is {reading} kg/m³; it must be above 0, and jet fuel reads about "
            "750 to 870. Give the reading in kg/m³."
        )
    try:
        exact = density_15_from(reading * glass_correction(temperature), temperature)
    except ValueError as problem:
        if "temperature is" in str(problem):
            raise
        raise ValueError(_outside(reading, temperature)) from None
    return exact if decimals is None else round(exact, decimals)


def reading_of(density_15, temperature):
    """Return what a hydrometer reads in fuel of a given density at 15 °C.

    Parameters
    ----------
    density_15 : float
        Density at 15 °C, 653 to 1075. [kg/m³]
    temperature : float
        Temperature of fuel and hydrometer, 213.15 to 423.15. [K]

    Returns
    -------
    float
        Reading, not rounded. [kg/m³]

    Raises
    ------
    ValueError
        If either value is outside the table.

    References
    ----------
    ASTM D1250-80, Tables 53B and 54B (API MPMS 11.1, IP 200).

    Examples
    --------
    >>> round(reading_of(800.0, 273.15 + 27.0), 1)
    791.3
    """
    return smooth_density(density_15, temperature) / glass_correction(temperature)


def _outside(reading, temperature):
    lightest, heaviest = reading_of(653.0, temperature), reading_of(1075.0, temperature)
    return (
        f"hydrometer: reading is {reading} kg/m³; at {temperature} K the table covers readings "
        f"of {lightest:.1f} to {heaviest:.1f} kg/m³. Read again, or correct the unit."
    )
