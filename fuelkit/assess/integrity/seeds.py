"""Seeds for papers: from the instructor's secret, the same on every machine, not to be guessed.

HMAC with SHA-256 (RFC 2104, test vectors in RFC 4231). Whoever has the secret can draw every
paper again; whoever has a seed, or many, learns nothing about the secret or another seed.
"""

import hashlib
import hmac
import secrets

from fuelkit.assess.integrity.canonical import IntegrityError, framed

SECRET_BYTES = 32
"""Length of a secret: as long as the digest, which RFC 2104 asks for at least."""

_PURPOSE = b"fuelkit seed, edition 1"


def new_secret():
    """Return a new secret from the operating system's source of chance. [32 bytes]"""
    return secrets.token_bytes(SECRET_BYTES)


def derive(secret, *words):
    """Return 32 bytes that follow from a secret and some words, and from nothing else.

    Parameters
    ----------
    secret : bytes
        As `new_secret` makes it.
    words : str
        What the bytes are for, such as "paper", the sitting and the learner's code. Each goes in
        with its length before it: ("ab", "c") and ("a", "bc") give different bytes.

    Raises
    ------
    IntegrityError
        If the secret has another length, or a word is not a text.
    """
    if not isinstance(secret, bytes) or len(secret) != SECRET_BYTES:
        raise IntegrityError(f"secret: it must be {SECRET_BYTES} bytes, as new_secret makes it")
    for word in words:
        if not isinstance(word, str):
            raise IntegrityError(f"seed: the word {word!r} must be a text")
    message = framed(_PURPOSE, *(word.encode("utf-8", "surrogatepass") for word in words))
    return keyed_digest(secret, message)


def keyed_digest(key, message):
    """Return HMAC-SHA-256 of a message. [32 bytes]"""
    return hmac.digest(key, message, hashlib.sha256)


def seed(secret, *words):
    """Return a whole number below 2**256 for a secret and some words; see `derive`.

    Python's `random.Random` and numpy's `default_rng` take it as it is.

    Examples
    --------
    >>> seed(bytes(32), "paper", "A07") == seed(bytes(32), "paper", "A07")
    True
    >>> seed(bytes(32), "ab", "c") == seed(bytes(32), "a", "bc")
    False
    """
    return int.from_bytes(derive(secret, *words), "big")
