"""One way to write a record as bytes, its digest, and digests as a person can compare them."""

import hashlib
import json

from fuelkit.physics.errors import FuelkitError

_GROUP = 4
_GROUPS_A_LINE = 4


class IntegrityError(FuelkitError, ValueError):
    """Something cannot be kept, sealed, logged or scanned; the message says why."""


def canonical(content):
    r"""Return a record as the only bytes that stand for it: JSON, keys sorted, no spaces, ASCII.

    Numbers are written as Python writes them (the shortest digits that give the same number
    back), so 1 and 1.0 are different records.

    Raises
    ------
    IntegrityError
        If it holds what JSON cannot say: a name that is not a text, NaN, an infinity, bytes.

    Examples
    --------
    >>> canonical({"b": 1.5, "a": ["é"]})
    b'{"a":["\\u00e9"],"b":1.5}'
    """
    _check_names(content)
    try:
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
    except (TypeError, ValueError, RecursionError) as problem:
        raise IntegrityError(f"record: it cannot be written as JSON ({problem})") from None
    return text.encode("ascii")


def _check_names(content):
    """Refuse names that are no texts: JSON would write the number 1 and the text "1" alike."""
    waiting, seen = [content], 0
    while waiting:
        here = waiting.pop()
        seen += 1
        if seen > 1_000_000:
            raise IntegrityError("record: it is too large, or it holds itself")
        if isinstance(here, dict):
            for name in here:
                if not isinstance(name, str):
                    raise IntegrityError(f"record: the name {name!r} must be a text")
            waiting.extend(here.values())
        elif isinstance(here, list | tuple):
            waiting.extend(here)


def sha256(purpose, *parts):
    """Return the SHA-256 of byte strings for one purpose, as 64 hexadecimal digits.

    The purpose and each part go in with their length before them, so that no two different
    calls hash the same bytes.
    """
    return hashlib.sha256(framed(purpose.encode(), *parts)).hexdigest()


def framed(*parts):
    """Return byte strings joined so that they can be told apart again: each after its length.

    Examples
    --------
    >>> framed(b"ab", b"c") == framed(b"a", b"bc")
    False
    """
    return b"".join(len(part).to_bytes(8, "big") + part for part in parts)


def groups(digest):
    """Return a digest for print: groups of four in lines of four, to compare line by line.

    Examples
    --------
    >>> print(groups("0123456789abcdef" * 2))
    0123 4567 89ab cdef
    0123 4567 89ab cdef
    """
    parts = [digest[i : i + _GROUP] for i in range(0, len(digest), _GROUP)]
    lines = [parts[i : i + _GROUPS_A_LINE] for i in range(0, len(parts), _GROUPS_A_LINE)]
    return "\n".join(" ".join(line) for line in lines)


def from_groups(text):
    """Return the digest that was typed off a print, whatever its spaces and capitals.

    Raises
    ------
    IntegrityError
        If it is not 64 hexadecimal digits.
    """
    digest = "".join(text.split()).lower() if isinstance(text, str) else ""
    if not is_digest(digest):
        raise IntegrityError(
            f"digest: {len(digest)} signs were typed; it must be 64, each 0 to 9 or a to f"
        )
    return digest


def is_digest(text):
    """Return whether a text is a SHA-256 in hexadecimal: 64 of 0 to 9 and a to f."""
    return isinstance(text, str) and len(text) == 64 and set(text) <= set("0123456789abcdef")
