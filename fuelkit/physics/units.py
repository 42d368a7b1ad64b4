"""Exact conversion factors to SI. Conversions happen only at the edge: files, sheets, screens.

Source of every factor: NIST Special Publication 811, appendix B, and NIST Handbook 44,
appendix C. All are exact by definition but the pound-force per square inch, which follows from
the pound, the foot and gravity and is given to 13 digits.
"""

import difflib

MINUTE = 60.0
HOUR = 3600.0
POUND = 0.45359237
TONNE = 1000.0
LITRE = 0.001
US_GALLON = 3.785411784e-3
IMPERIAL_GALLON = 4.54609e-3
FOOT = 0.3048
NAUTICAL_MILE = 1852.0
KILOPASCAL = 1000.0
PSI = 6894.757293168
STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity. [m/s²]"""

# To kg or to m³; NIST SP 811, appendix B: exact by definition.
_MASSES = {"kg": 1.0, "lb": POUND, "t": TONNE}
_VOLUMES = {"m³": 1.0, "L": LITRE, "US gal": US_GALLON, "imp gal": IMPERIAL_GALLON}


def convert(value, unit, to, *, density=None):
    """Return a fuel quantity in another unit of mass or volume.

    Parameters
    ----------
    value : float or ndarray
        The quantity, in `unit`. [unit]
    unit, to : str
        One of `kg`, `lb`, `t` (tonne), `m³`, `L`, `US gal`, `imp gal`.
    density : float or None
        Density of the fuel at its temperature; needed between mass and volume only. [kg/m³]

    Returns
    -------
    float or ndarray
        The quantity. [to]

    Raises
    ------
    ValueError
        If a unit is unknown, or mass and volume are exchanged without a density above 0.

    References
    ----------
    NIST Special Publication 811, appendix B; NIST Handbook 44, appendix C.

    Examples
    --------
    >>> round(convert(1000.0, "kg", "lb"), 2)
    2204.62
    >>> round(convert(1000.0, "L", "kg", density=800.0), 9)
    800.0
    """
    known = _MASSES | _VOLUMES
    for name in (unit, to):
        if name not in known:
            raise ValueError(
                f"convert: unit is '{name}'; known are {', '.join(known)}.{_nearest(name, known)}"
            )
    if unit == to:
        return value
    factor = known[unit] / known[to]
    if (unit in _MASSES) == (to in _MASSES):
        return value * factor
    if density is None or not 0.0 < density < float("inf"):
        raise ValueError(
            f"convert: density is {density} kg/m³ from '{unit}' to '{to}'; mass and volume are "
            "exchanged by a density above 0. Give the density at the fuel's temperature."
        )
    return value * factor / density if unit in _MASSES else value * factor * density


def _nearest(name, known):
    by_lower = {k.lower(): k for k in known} | {"m3": "m³", "usg": "US gal", "lbs": "lb"}
    close = difflib.get_close_matches(str(name).lower(), by_lower, n=1, cutoff=0.5)
    return f" Did you mean '{by_lower[close[0]]}'?" if close else ""
