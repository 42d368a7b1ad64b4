"""A receipt to be read out on the telephone: which bytes were handed in, and was it heard right.

Sixteen signs in four groups, out of 23 digits and letters. Of signs that look alike (0 O Q D,
1 I L, 2 Z, 5 S, 8 B, U V) at most one is among them, and N, heard as M, is not. Fifteen come from
the SHA-256 of what was handed in (23**15 is about 2**67), the last is a check sign: each sign is
multiplied by its place, and the sum must divide by 23. As 23 is a prime, one wrong sign anywhere,
or any two that changed places, is always noticed (the principle of the check digit of ISBN-10,
ISO 2108, there with 11: from memory).
"""

import hashlib
import hmac

from fuelkit.assess.integrity.canonical import IntegrityError, framed

SIGNS = "23456789ACEFGHJKMPRTWXY"
_BASE = len(SIGNS)
_LENGTH = 16
_PURPOSE = b"fuelkit receipt, edition 1"


def receipt(data):
    """Return the receipt of handed-in bytes.

    Examples
    --------
    >>> receipt(b"what a learner handed in") == receipt(b"what a learner handed in")
    True
    >>> [len(group) for group in receipt(b"").split("-")]
    [4, 4, 4, 4]
    """
    number = int.from_bytes(hashlib.sha256(framed(_PURPOSE, data)).digest(), "big")
    values = []
    for _ in range(_LENGTH - 1):
        number, value = divmod(number, _BASE)
        values.append(value)
    values.append(_check(values))
    return _grouped("".join(SIGNS[value] for value in values))


def _check(values):
    """Return the last value, which makes the weighted sum divide by the number of signs."""
    total = sum(place * value for place, value in enumerate(values, start=1))
    return -total * pow(_LENGTH, -1, _BASE) % _BASE


def _grouped(signs):
    return "-".join(signs[i : i + 4] for i in range(0, len(signs), 4))


def heard(text):
    """Return a receipt as it was heard or typed, in its standard form.

    Capitals, spaces and hyphens do not matter.

    Raises
    ------
    IntegrityError
        If it cannot be a receipt: too short or long, a sign that none has, or the check sign does
        not fit. The message says what to ask the learner.
    """
    signs = "".join(c for c in str(text).upper() if not c.isspace() and c not in "-–—.")
    foreign = sorted(set(signs) - set(SIGNS))
    if foreign:
        raise IntegrityError(
            f"receipt: no receipt has the sign {foreign[0]!r}; ask to hear it again. The signs are "
            f"{' '.join(sorted(SIGNS))}"
        )
    if len(signs) != _LENGTH:
        raise IntegrityError(f"receipt: {len(signs)} signs were heard; it must be {_LENGTH}")
    values = [SIGNS.index(sign) for sign in signs]
    if _check(values[:-1]) != values[-1]:
        raise IntegrityError(
            "receipt: the check sign does not fit, so a sign was misheard or two changed places; "
            "ask to hear it again"
        )
    return _grouped(signs)


def confirms(text, data):
    """Return whether a receipt, as it was heard, belongs to these bytes.

    Raises
    ------
    IntegrityError
        If it was misheard; see `heard`.
    """
    return hmac.compare_digest(heard(text), receipt(data))
