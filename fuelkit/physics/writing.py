"""Times and masses as people write them. The one place where numbers become text."""

import re
from functools import lru_cache

_TIME = re.compile(r"(\d{1,2}):([0-5]\d):([0-5]\d)")
_UNITS = (
    "kg", "t", "lb", "kN", "kPa", "hPa", "litres", "l", "L", "US gal", "imp gal", "m³", "m", "cm",
    "mm", "ft", "NM", "kt", "°C", "K", "%", "h", "min", "s",
)  # fmt: skip
_WITHIN_FIGURE = re.compile(
    rf"(?<=\d) (?=\d{{3}}(?!\d)|(?:{'|'.join(_UNITS)})(?!\w))|(?<=±) (?=\d)"
)


def clock(seconds):
    """Return a time [s] as h:mm:ss, rounded to the second.

    Examples
    --------
    >>> clock(3725.4)
    '1:02:05'
    """
    whole = int(seconds + 0.5)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"


def read_clock(text):
    """Return the seconds of a time written h:mm:ss, or None if it is not one. [s]

    Examples
    --------
    >>> read_clock("1:02:05")
    3725.0
    """
    found = _TIME.fullmatch(text) if isinstance(text, str) else None
    return (
        None if found is None else float(3600 * int(found[1]) + 60 * int(found[2]) + int(found[3]))
    )


def mass_text(mass):
    """Return a mass [kg] as it is written on a sheet, thousands set apart by a space.

    Examples
    --------
    >>> mass_text(12500.4)
    '12 500 kg'
    """
    return f"{grouped(mass)} kg"


def grouped(number, places=0):
    """Return a number with its thousands set apart by a space.

    Examples
    --------
    >>> grouped(12500.0), grouped(-1234.567, 1), grouped(-0.01)
    ('12 500', '-1 234.6', '0')
    """
    text = f"{number:,.{places}f}".replace(",", " ")
    return text.lstrip("-") if float(text.replace(" ", "")) == 0.0 else text


@lru_cache(maxsize=16384)  # a class's pages say the same again and again
def held(text):
    r"""Return text for a page whose figures are not broken: thousands, unit and tolerance stay.

    Examples
    --------
    >>> held("it shows 3 065 kg ± 20 kg").split(" ")
    ['it', 'shows', '3\xa0065\xa0kg', '±\xa020\xa0kg']
    """
    return _WITHIN_FIGURE.sub("\u00a0", text)
