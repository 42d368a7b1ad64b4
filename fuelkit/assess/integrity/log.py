"""The mark log: what happened to each paper, one line each; a change afterwards shows.

Each line carries the digest of the one before it and its own, so a line that was changed, taken
out, put in or moved breaks the chain where it happened. Two things only a head that was kept
elsewhere can show (`head`, printed on the mark sheet): lines cut off at the end, and a whole log
that was written anew. The log shows that it was changed, never by whom.

An entry that `append` has returned is on the disk. A stop in the middle of writing leaves a torn
last line, which the next `append` sets aside in a file of its own and notes as an entry.
"""

import os
import time
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from fuelkit.assess.integrity.canonical import IntegrityError, groups
from fuelkit.assess.integrity.entry import (
    START,
    Entry,
    line_of,
    own_digest,
    parsed,
    part_digest,
    part_of,
    written,
)
from fuelkit.assess.integrity.keeping import write_private
from fuelkit.assess.integrity.lines import cut, grow, lines, open_to_grow, tail
from fuelkit.assess.integrity.lock import held
from fuelkit.assess.integrity.parts import add_parts, parts_by_digest

FILE = "mark-log.jsonl"
"""Name of the log in the instructor's folder."""


@dataclass(frozen=True)
class Head:
    """The end of a log: number and digest of its last entry. Frozen. Keep it elsewhere."""

    number: int
    digest: str

    @property
    def printed(self):
        """Number and digest as they are printed on a mark sheet."""
        return f"Entry {self.number}\n{groups(self.digest)}"


def append(path, *events, tell=lambda sentence: None):
    """Write events at the end of the log; what is returned is on the disk.

    Parameters
    ----------
    path : str or Path
        Of the log, in the instructor's folder; made if it is not there.
    events : Event
        As `entry.happened` makes them. Many at once cost hardly more time than one; after a stop
        in the middle the first of them may be there and the rest not, so look before doing it
        again.
    tell : callable
        Called with a sentence if a torn line was set aside.

    Returns
    -------
    tuple of Entry

    Raises
    ------
    IntegrityError
        If the last line is damaged (then nothing is written), others can read the log, or another
        program holds it for a minute.
    """
    path = Path(path)
    with writing(path) as handle:
        last = last_line(handle, path, tell)
        made, parts = [], []
        for event in events:
            part = part_of(last.number + 1, event.learner, event.personal)
            parts.append(part)
            line = line_of(
                last.number + 1, last.digest, event.event, event.sitting, event.details,
                part_digest(part),
            )  # fmt: skip
            made.append(line)
            last = Head(line["number"], line["digest"])
        data = b"".join(written(line) for line in made)
        add_parts(path, parts)
        grow(handle, data)
    return tuple(_entry(line, part) for line, part in zip(made, parts, strict=True))


@contextmanager
def writing(path):
    """Hold the log alone, open to read and to write at its end."""
    try:
        with held(path):
            handle = open_to_grow(path)
            try:
                yield handle
            finally:
                os.close(handle)
    except OSError as problem:
        raise IntegrityError(f"'{path.name}': it cannot be written ({problem.strerror})") from None


def last_line(handle, path, tell):
    """Return the head of a log that is about to grow; a torn line is set aside first.

    Raises
    ------
    IntegrityError
        If the last whole line is damaged: what came next could not be trusted.
    """
    data, torn = tail(handle)
    last = _head_of(data, path)
    return _set_aside(handle, path, last, torn, tell) if torn else last


def _head_of(data, path):
    if data is None:
        return Head(0, START)
    line = parsed(data)
    if line is None or line["digest"] != own_digest(line):
        raise IntegrityError(
            f"'{path.name}': its last line is damaged or was changed, so nothing is added to it. "
            "Verify the log, and go back to a copy that is whole"
        )
    return Head(line["number"], line["digest"])


def _set_aside(handle, path, last, torn, tell):
    aside = path.with_name(f"{path.name}.torn-{time.time_ns()}")
    write_private(aside, torn.decode("utf-8", "backslashreplace"))
    cut(handle, torn)
    details = {"set aside": aside.name, "bytes": len(torn)}
    line = line_of(last.number + 1, last.digest, "mended", "", details, "")
    grow(handle, written(line))
    tell(
        f"The last line of the mark log was torn by a stop in the middle of writing. It is set "
        f"aside in {aside.name}; all entries before it are safe."
    )
    return Head(line["number"], line["digest"])


def _entry(line, part, token=""):
    return Entry(
        line["number"], line["time"], line["event"], line["sitting"],
        part["learner"] if part else token, part["personal"] if part else None,
        line["details"], line["before"], line["digest"],
    )  # fmt: skip


def entries(path):
    """Return all entries of a log, with what is personal in them as far as it was not purged.

    Raises
    ------
    IntegrityError
        If a line is damaged; `verify` names them all.
    """
    path = Path(path)
    with held_to_read(path):
        chain = sound_lines(path)
        parts = parts_by_digest(path)
    tokens = {number: token for line in chain for number, token in tokens_of(line).items()}
    return tuple(
        _entry(line, _fitting(line, parts, tokens), tokens.get(line["number"], ""))
        for line in chain
    )


def sound_lines(path):
    """Return the whole lines of a log as records; raise IntegrityError at one that is damaged."""
    return [_sound(number, data) for number, data, is_whole in lines(path) if is_whole]


def _sound(number, data):
    line = parsed(data)
    if line is None or line["digest"] != own_digest(line):
        raise IntegrityError(f"mark log, line {number}: it is damaged; verify the log")
    return line


def _fitting(line, parts, tokens):
    """Return the personal part of a line, None if it is purged or lost."""
    return None if line["number"] in tokens else parts.get(line["part"])


def tokens_of(line):
    """Return what a purge entry put in place of learners: token by number of an earlier entry."""
    if line["event"] != "purged":
        return {}
    tokens = line["details"].get("tokens")
    if not isinstance(tokens, dict):
        return {}
    pairs = [(int(n), t) for n, t in tokens.items() if n.isdecimal() and isinstance(t, str)]
    return {number: token for number, token in pairs if number < line["number"]}


@contextmanager
def held_to_read(path):
    """Hold the log while it is read; a copy in a place that cannot be written needs no lock."""
    with ExitStack() as stack:
        with suppress(OSError):
            stack.enter_context(held(path))
        yield


def head(path):
    """Return the head of a log, to print where the log is not: number 0 if it is empty.

    Raises
    ------
    IntegrityError
        If its last whole line is damaged.
    """
    path = Path(path)
    last = None
    with held_to_read(path):
        for _, data, is_whole in lines(path):
            last = data if is_whole else last
    return _head_of(last, path)
