"""Read figures and times as people write them; say what was expected when they cannot be read."""

import re

from fuelkit.physics.units import POUND, TONNE
from fuelkit.physics.writing import clock

_MASS = re.compile(r"([+-]?)(\d[\d ,]*(?:\.\d+)?|\d+,\d{1,2})(kg|t|lb)?", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"\d+,\d{1,2}")
_GROUPED = re.compile(r"\d{1,3}(,\d{3})*(\.\d+)?|\d+(\.\d+)?")
_CLOCK = re.compile(r"(\d{1,2})[:h](\d{1,2})(?:(?:[:m]|min)(\d{1,2})?s?)?", re.IGNORECASE)
_MINUTES = re.compile(r"(\d{1,4})min", re.IGNORECASE)
_SPACES = re.compile("[\u00a0\u2009\u202f ]+")
_FACTORS = {"kg": 1.0, "t": TONNE, "lb": POUND}


def read_mass(text):
    """Return a mass as it was written, or None if it cannot be read. [kg]

    A space or a comma before three digits sets thousands apart; a comma before one or two is a
    decimal comma. Without a unit it is kilograms.

    Examples
    --------
    >>> [read_mass(t) for t in ("12 500", "12,500 kg", "12.5 t", "12,5 t", "1e9", "about 3000")]
    [12500.0, 12500.0, 12500.0, 12500.0, None, None]
    """
    bare = _SPACES.sub("", text) if isinstance(text, str) else ""
    found = _MASS.fullmatch(bare) if 0 < len(bare) <= 20 else None
    if found is None:
        return None
    digits = found[2]
    if _DECIMAL_COMMA.fullmatch(digits):
        digits = digits.replace(",", ".")
    elif not _GROUPED.fullmatch(digits):
        return None
    mass = float(digits.replace(",", "")) * _FACTORS[(found[3] or "kg").lower()]
    return -mass if found[1] == "-" else mass


def read_time(text):
    """Return a time as it was written, h:mm or h:mm:ss, or None if it cannot be read. [s]

    Examples
    --------
    >>> [read_time(t) for t in ("1:32:05", "1:32", "1h32", "92 min", "92", "1:75")]
    [5525.0, 5520.0, 5520.0, 5520.0, None, None]
    """
    bare = _SPACES.sub("", text) if isinstance(text, str) else ""
    if whole := _MINUTES.fullmatch(bare):
        return 60.0 * int(whole[1])
    found = _CLOCK.fullmatch(bare) if 0 < len(bare) <= 12 else None
    if found is None or int(found[2]) > 59 or int(found[3] or 0) > 59:
        return None
    return 3600.0 * int(found[1]) + 60.0 * int(found[2]) + int(found[3] or 0)


def span_text(seconds):
    """Return a tolerance in time as a person would say it.

    Examples
    --------
    >>> span_text(45.0), span_text(90.0), span_text(240.0)
    ('45 s', '1.5 min', '4 min')
    """
    return f"{seconds:.0f} s" if seconds < 60.0 else f"{seconds / 60:.1f} min".replace(".0 ", " ")


WORDS = "words"
"""In place of a unit: an answer in the learner's own words."""

NEVER = "never"
"""What is written for a part that is not in the state at all."""


def read_periods(text):
    """Return periods as they were written, or None if they cannot be read. [s]

    Returns
    -------
    tuple of (float, float) or None
        In order of time, none overlapping; empty for "never".

    Examples
    --------
    >>> read_periods("0:44:30-1:16:20, 1:31:00 to 2:40")
    ((2670.0, 4580.0), (5460.0, 9600.0))
    >>> read_periods("never"), read_periods("2:00-1:00"), read_periods("all day")
    ((), None, None)
    """
    if not isinstance(text, str) or len(text) > 400:
        return None
    if text.strip().lower() == NEVER:
        return ()
    found = []
    for piece in re.split(r"[,;]|\band\b", text):
        ends = [read_time(end) for end in re.split(r"-|–|\bto\b", piece)]
        if len(ends) != 2 or None in ends or ends[0] >= ends[1]:
            return None
        found.append(tuple(ends))
    found.sort()
    apart = all(a[1] <= b[0] for a, b in zip(found, found[1:], strict=False))
    return tuple(found) if apart else None


def periods_text(periods):
    """Return periods as a learner writes them.

    Examples
    --------
    >>> periods_text(((2670.0, 4580.0),)), periods_text(())
    ('0:44:30-1:16:20', 'never')
    """
    return ", ".join(f"{clock(begin)}-{clock(end)}" for begin, end in periods) or NEVER


def read_answer(answer, text):
    """Return what a learner wrote for an ask, as an option, mass or time; None if unreadable.

    Parameters
    ----------
    answer : Answer
        The computed answer, which knows what kind of thing is asked for.
    text : str
        As it stands on the sheet.
    """
    if answer.options:
        return text if text in answer.options else None
    if answer.unit == WORDS:
        return text.strip() or None if isinstance(text, str) else None
    readers = {"kg": read_mass, "periods": read_periods}
    return readers.get(answer.unit, read_time)(text)


def expected_form(answer):
    """Return in words what would have been readable.

    Used in feedback: what cannot be read is told with the unit that was expected.
    """
    if answer.options:
        return "one of " + ", ".join(answer.options)
    if answer.unit == "kg":
        return "a mass such as 3 250 kg"
    if answer.unit == WORDS:
        return "a sentence or two"
    if answer.unit == "periods":
        return 'periods such as 0:44:30-1:16:20, 1:31:00-2:40:00, or "never"'
    return "a time such as 1:32:00"
