"""Time for a paper: when it was begun, what is left, and more of it by the instructor's word.

The words that give more time are drawn from the sitting's secret; the paper carries only their
digests, so that a learner's machine can tell a right word and cannot make one up.
"""

import hashlib
import hmac
from datetime import UTC, datetime, timedelta

from fuelkit.assess.integrity.seeds import derive

_STEPS = (5, 10, 15, 20, 30, 45, 60)
"""How many minutes can be given."""

_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LENGTH = 8
_MOMENT = "%Y-%m-%dT%H:%M:%SZ"


def word_for(secret, sitting, learner, minutes):
    """Return the word by which an instructor gives a learner more minutes.

    Raises
    ------
    ValueError
        If so many minutes cannot be given.
    """
    if minutes not in _STEPS:
        steps = ", ".join(map(str, _STEPS))
        raise ValueError(f"minutes: it is {minutes}; it must be one of {steps}.")
    number = int.from_bytes(derive(secret, "time", sitting, learner, str(minutes))[:8], "big")
    signs = "".join(_SIGNS[(number >> (5 * i)) & 31] for i in range(_LENGTH))
    return f"{signs[:4]}-{signs[4:]}"


def digests(secret, sitting, learner):
    """Return the digest of each word by its minutes, for the paper."""
    return {
        str(minutes): _digest(word_for(secret, sitting, learner, minutes), learner)
        for minutes in _STEPS
    }


def minutes_of(word, learner, known):
    """Return how many minutes a word gives a learner; 0 if it is not one of those.

    Parameters
    ----------
    word : str
        As it was read out.
    learner : str
    known : dict of str to str
        As `digests` made it.
    """
    plain = "".join(c for c in str(word).upper() if c.isalnum())
    told = _digest(f"{plain[:4]}-{plain[4:]}", learner)
    for minutes, digest in known.items():
        if hmac.compare_digest(told, str(digest)):
            return int(minutes)
    return 0


def _digest(word, learner):
    return hashlib.sha256(f"fuelkit more time|{learner}|{word}".encode()).hexdigest()


def now():
    """Return the time of this machine in UTC."""
    return datetime.now(UTC)


def seconds_left(begun, minutes, more, at=None):
    """Return the seconds that are left; None without a limit.

    Parameters
    ----------
    begun : str
        When the paper was begun, as an answer sheet has it.
    minutes, more : float
        The limit, and what was given beside it. [min]
    at : datetime, optional
        Now, unless said otherwise.
    """
    if not minutes:
        return None
    return (_end(begun, minutes, more) - (at or now())).total_seconds()


def end_of(begun, minutes, more):
    """Return when the time is up, as an answer sheet has it; other parameters as above."""
    return _end(begun, minutes, more).strftime(_MOMENT)


def _end(begun, minutes, more):
    start = datetime.strptime(begun, _MOMENT).replace(tzinfo=UTC)
    return start + timedelta(minutes=minutes + more)
