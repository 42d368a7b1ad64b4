"""Rows of text and numbers as CSV that is safe to open in a spreadsheet.

A spreadsheet takes a cell that begins with certain signs for a formula and works it out. The cure
is that of OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection, read): every text
in double quotes, double quotes doubled, and a single quote before a text that begins with one of
those signs. Numbers are written as numbers, unquoted, negative ones too.
"""

import csv
import io
import unicodedata

from fuelkit.assess.exports.plain import plain_text

FORMULA_SIGNS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""Those of the OWASP page, and their wide forms, which some spreadsheets take for the same (issue
1088 of the page's repository)."""

_LEADING = ("\t", "\r", "\n")  # of the OWASP page too: what follows them is taken for a new cell
_PLACES = 6


def csv_bytes(rows):
    """Return rows as CSV: UTF-8 without a byte order mark, lines end as RFC 4180 says.

    Parameters
    ----------
    rows : iterable of sequences of str, float or None
        None is an empty cell.

    Examples
    --------
    >>> csv_bytes([("note", -1.5, None), ("tank", 2.0, "x")]).splitlines()
    [b'"note",-1.5,""', b'"tank",2,"x"']
    """
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue().encode("utf-8")


def _cell(value):
    if value is None:
        return ""
    return text_cell(value) if isinstance(value, str) else number_cell(value)


def text_cell(text):
    """Return a text that no spreadsheet takes for a formula.

    It is made plain first, so that no control character hides a formula sign; nor do spaces.

    Examples
    --------
    >>> [text_cell(text) for text in ("=1+2", " @A1", "Karn Ness", "5-4")]
    ["'=1+2", "' @A1", 'Karn Ness', '5-4']
    """
    plain = plain_text(text)
    seen = next((sign for sign in plain if not _is_blank(sign)), "")
    return "'" + plain if plain[:1] in _LEADING or seen in FORMULA_SIGNS else plain


def _is_blank(sign):
    return sign.isspace() or unicodedata.category(sign) == "Cf"


def number_cell(value):
    """Return a number to write: whole if it is, else to six places.

    Examples
    --------
    >>> number_cell(0.1 + 0.2), number_cell(-2.0)
    (0.3, -2)
    """
    rounded = round(float(value), _PLACES)
    return int(rounded) if rounded == int(rounded) else rounded
