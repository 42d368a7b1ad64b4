"""Entries of the mark log: what stands in a line, in its personal part, and how both are checked.

A line of the chain holds nothing personal: its `part` is only a digest of the personal part
(learner's code and details), which is kept in a file of its own with 32 bytes of salt. When part
and salt are gone, the digest says nothing, and the line can still be checked.
"""

import json
import re
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime

from fuelkit.assess.integrity.canonical import IntegrityError, canonical, is_digest, sha256
from fuelkit.assess.integrity.names import learner_code

FORMAT = "fuelkit mark log"
PART_FORMAT = "fuelkit mark log, personal part"
SCHEMA = 1
LEARNER_EVENTS = ("issued", "handed in", "marked", "re-marked", "released")
EVENTS = (*LEARNER_EVENTS, "purged", "mended")
START = "0" * 64
"""Stands where the first entry would have the digest of the one before."""

LARGEST_LINE = 4_000_000
_FIELDS = {
    "format": str, "schema": int, "number": int, "time": str, "event": str, "sitting": str,
    "details": dict, "part": str, "before": str, "digest": str,
}  # fmt: skip
_SITTING = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,58}[A-Za-z0-9])?")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")


@dataclass(frozen=True)
class Event:
    """Something to be written down. Frozen.

    event : str
        One of LEARNER_EVENTS.
    sitting : str
        Its short name: letters, digits and hyphens.
    learner : str
        The learner's code.
    personal : dict
        What is about this learner, such as receipt, mark or paper; a purge takes it away. With
        "re-marked": "old", "new" and "why".
    details : dict
        What is about nobody, such as the blueprint; it stays for good.
    """

    event: str
    sitting: str
    learner: str
    personal: dict
    details: dict


@dataclass(frozen=True)
class Entry:
    """An entry of the mark log as it can be read now. Frozen.

    learner : str
        A code; after a purge the token that stands for it; "" with "purged" and "mended".
    personal : dict or None
        None if it was purged, or cannot be found or trusted.
    """

    number: int
    time: str
    event: str
    sitting: str
    learner: str
    personal: dict | None
    details: dict
    before: str
    digest: str


def happened(event, sitting, learner, personal=None, details=None):
    """Return something to be written down, checked; see `Event`.

    Raises
    ------
    IntegrityError
        If a field is not what it must be; the message names it.
    """
    if event not in LEARNER_EVENTS:
        raise IntegrityError(
            f"mark log: event is {event!r}; it must be one of {', '.join(LEARNER_EVENTS)}"
        )
    personal = personal or {}
    if event == "re-marked" and not {"old", "new", "why"} <= set(personal):
        raise IntegrityError("mark log: 're-marked' needs the old mark, the new one, and why")
    return Event(
        event, sitting_name(sitting), learner_code(learner), dict(personal), dict(details or {})
    )


def sitting_name(text):
    """Return a sitting's name, or raise with what would be right."""
    if not isinstance(text, str) or not _SITTING.fullmatch(text):
        raise IntegrityError(
            f"sitting: its name is {str(text)[:60]!r}; it must be at most 60 letters and digits, "
            "with hyphens inside if wanted, such as 2026-11-cruise"
        )
    return text


def now():
    """Return the time of this machine in UTC, to the second, as ISO 8601 writes it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def part_of(number, learner, personal):
    """Return the personal part of an entry, with new salt."""
    return {
        "format": PART_FORMAT,
        "number": number,
        "salt": secrets.token_hex(32),
        "learner": learner,
        "personal": personal,
    }


def part_digest(part):
    """Return the digest that stands for a personal part in the chain."""
    return sha256("fuelkit personal part, edition 1", canonical(part))


def line_of(number, before, event, sitting, details, part, time=None):
    """Return one line of the chain as a record, with its own digest."""
    line = {
        "format": FORMAT,
        "schema": SCHEMA,
        "number": number,
        "time": time or now(),
        "event": event,
        "sitting": sitting,
        "details": details,
        "part": part,
        "before": before,
    }
    return {**line, "digest": own_digest(line)}


def own_digest(line):
    """Return the digest that a line must carry."""
    content = {name: value for name, value in line.items() if name != "digest"}
    return sha256("fuelkit mark log line, edition 1", canonical(content))


def written(record):
    """Return a record as a line of a file.

    Raises
    ------
    IntegrityError
        If it is larger than any reader here takes.
    """
    data = canonical(record) + b"\n"
    if len(data) > LARGEST_LINE:
        raise IntegrityError(f"mark log: an entry is larger than {LARGEST_LINE} bytes")
    return data


def parsed(data):
    """Return the record in a line of the chain, or None if no such line was ever written so.

    A line must be, byte for byte, what `written` makes of its content: another order, a second
    field of one name or a blank is a change.
    """
    try:
        line = json.loads(data.decode("ascii"))
        sound = isinstance(line, dict) and canonical(line) == data
    except (ValueError, RecursionError):
        return None
    if not sound or set(line) != set(_FIELDS):
        return None
    if any(type(line[name]) is not kind for name, kind in _FIELDS.items()):
        return None
    if line["format"] != FORMAT or line["schema"] != SCHEMA or line["event"] not in EVENTS:
        return None
    if not (is_digest(line["before"]) and is_digest(line["digest"])):
        return None
    if not _TIME.fullmatch(line["time"]) or (line["part"] and not is_digest(line["part"])):
        return None
    return line
