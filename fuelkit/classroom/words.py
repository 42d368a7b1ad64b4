"""The words that learners sign in with: drawn at random, told once, kept only as hashes."""

import hashlib
import hmac
import secrets

# Letters and digits that are not mistaken for one another when read out (no I, L, O, U).
_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_GROUPS, _LENGTH = 2, 4
_LOOKALIKE = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})
_LONGEST = 100
# scrypt of the standard library (RFC 7914), with 16 MB a try: log2 of N, r, p.
_COST = (14, 8, 1)


def new_word():
    """Return a fresh word of eight signs, 40 bits, as it is printed on a slip.

    Examples
    --------
    >>> len(new_word()), new_word()[4]
    (9, '-')
    """
    groups = ("".join(secrets.choice(_SIGNS) for _ in range(_LENGTH)) for _ in range(_GROUPS))
    return "-".join(groups)


def hashed(word):
    """Return a word as it is kept: method, cost, salt and hash."""
    salt = secrets.token_bytes(16)
    return ":".join(["scrypt", *map(str, _COST), salt.hex(), _scrypt(word, salt, _COST).hex()])


def agrees(word, kept):
    """Whether a word that was typed is the one whose hash is kept.

    Capitals, blanks and hyphens do not matter, nor does an O for a nought. It takes as long
    where nothing is kept (`kept` is ""), so that time does not tell which codes there are.

    Examples
    --------
    >>> agrees("abcd 0123", hashed("ABCD-O123")), agrees("ABCD-0124", hashed("ABCD-0123"))
    (True, False)
    """
    if not kept:
        _scrypt(word, b"no salt", _COST)
        return False
    method, *cost, salt, found = kept.split(":")
    if method != "scrypt":
        raise ValueError(f"a word is kept by {method!r}; this kit reads scrypt")
    tried = _scrypt(word, bytes.fromhex(salt), tuple(map(int, cost)))
    return hmac.compare_digest(tried, bytes.fromhex(found))


def _scrypt(word, salt, cost):
    log_n, r, p = cost
    plain = word[:_LONGEST].upper().translate(_LOOKALIKE).encode("utf-8", "replace")
    return hashlib.scrypt(plain, salt=salt, n=1 << log_n, r=r, p=p, dklen=32)
