"""A sealed key: a number printed on the paper before the sitting, checked against the key later.

What it proves: the key that was opened is the key that was sealed (binding: to find a second key
with the same number, SHA-256 would have to be broken), and nobody could read the key out of the
number meanwhile (hiding: 32 bytes of salt stand before it, so trying out likely keys is
hopeless). What it does not prove: who sealed it, when, or that the key is right. That it was
sealed before the sitting is shown by the print in the learner's hand alone.
"""

import hmac
import secrets
from dataclasses import dataclass

from fuelkit.assess.integrity.canonical import (
    IntegrityError,
    canonical,
    groups,
    is_digest,
    sha256,
)

SALT_BYTES = 32
_PURPOSE = "fuelkit sealed key, edition 1"


@dataclass(frozen=True)
class Commitment:
    """A sealed key. Frozen. The digest is for print, the salt stays with the instructor.

    salt, digest : str
        64 hexadecimal digits each. The salt is given out only when the key is opened.
    """

    salt: str
    digest: str

    def __post_init__(self):
        for name in ("salt", "digest"):
            if not is_digest(getattr(self, name)):
                raise IntegrityError(f"sealed key: its {name} must be 64 hexadecimal digits")

    @property
    def printed(self):
        """The whole digest in groups that a person can compare with another print."""
        return groups(self.digest)


def commit(key, salt=None):
    """Seal a paper's key.

    Parameters
    ----------
    key : dict
        Whatever JSON can say; the order of its names does not matter.
    salt : bytes, optional
        32 bytes that nobody else knows. New ones from the operating system if not given. Where
        the same secret must give the same paper again, take `seeds.derive(secret, "salt", ...)`;
        it hides as well, as long as the secret is one.

    Returns
    -------
    Commitment

    Raises
    ------
    IntegrityError
        If the key cannot be written as JSON, or the salt has another length.
    """
    salt = secrets.token_bytes(SALT_BYTES) if salt is None else salt
    if not isinstance(salt, bytes) or len(salt) != SALT_BYTES:
        raise IntegrityError(f"sealed key: the salt must be {SALT_BYTES} bytes")
    return Commitment(salt.hex(), sha256(_PURPOSE, salt, canonical(key)))


def opens(commitment, key):
    """Return whether a key is the one that was sealed."""
    found = sha256(_PURPOSE, bytes.fromhex(commitment.salt), canonical(key))
    return hmac.compare_digest(found, commitment.digest)
