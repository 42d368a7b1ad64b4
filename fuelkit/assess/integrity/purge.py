"""Take away what is personal when its time is over; the mark log can be checked as before.

In the log each learner's code gives way to a token drawn by chance, one for a learner and
sitting, so that entries can still be counted but not be led back. The chain holds only salted
digests of what was personal; with salt and content gone they say nothing. The purge is itself an
entry, written first: a stop in the middle is seen by `verify`, and a second purge ends the work.
"""

import os
import secrets
import shutil
from dataclasses import dataclass
from pathlib import Path

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.entry import line_of, written
from fuelkit.assess.integrity.lines import grow
from fuelkit.assess.integrity.log import FILE, last_line, sound_lines, tokens_of, writing
from fuelkit.assess.integrity.parts import keep_only, parts_by_digest
from fuelkit.assess.integrity.sittings import sitting_of
from fuelkit.assess.sheet import settle_folder

REMINDER = (
    "Not reached by this: your names.csv, marks sent to others, print, back-ups and copies, and "
    "blocks that the disk has not yet used again. See to those yourself."
)


@dataclass(frozen=True)
class Purged:
    """What a purge did: entries of the log and files that lost what was personal. Frozen."""

    sitting: str
    entries: int
    files: int


def purge(folder, name, today, early="", tell=lambda sentence: None):
    """Take away what is personal of a sitting: from the log, and its folder of personal files.

    Parameters
    ----------
    folder : Path
        The instructor's.
    name : str
        Of the sitting.
    today : date
    early : str
        Why it is purged before its date, such as a learner's wish; written into the log for good,
        so name nobody. Needed only before the date.
    tell : callable
        Called with sentences that the instructor must read.

    Returns
    -------
    Purged
        Doing it twice is harmless; the second time nothing is left to do.

    Raises
    ------
    IntegrityError
        If the date has not passed and no reason is given, or the log is damaged: then nothing is
        taken away.
    """
    sitting = sitting_of(folder, name)
    if today <= sitting.keep_until and not early.strip():
        raise IntegrityError(
            f"sitting {name!r}: it is kept until {sitting.keep_until}, and today is {today}; to "
            "purge it before, give the reason"
        )
    why = early.strip() or f"kept until {sitting.keep_until}"
    count = _purge_log(Path(folder) / FILE, name, why, tell)
    files = _remove_files(sitting)
    _remove_pieces(Path(folder))
    tell(REMINDER)
    return Purged(name, count, files)


def _purge_log(path, name, why, tell):
    """Write the purge into the log, then take the personal parts away; return how many entries."""
    if not path.exists():
        return 0
    with writing(path) as handle:
        last = last_line(handle, path, tell)
        chain, parts = sound_lines(path), parts_by_digest(path)
        gone = {number for line in chain for number in tokens_of(line)}
        mine = [
            line
            for line in chain
            if line["sitting"] == name and line["part"] and line["number"] not in gone
        ]
        if mine:
            details = {"why": why, "tokens": _tokens(mine, parts)}
            line = line_of(last.number + 1, last.digest, "purged", name, details, "")
            grow(handle, written(line))
        gone |= {line["number"] for line in mine}
        keep_only(path, {line["part"] for line in chain if line["number"] not in gone})
    return len(mine)


def _tokens(mine, parts):
    """Return by entry's number a token drawn by chance, the same for all of one learner's."""
    tokens, found = {}, {}
    for line in mine:
        learner = parts[line["part"]]["learner"] if line["part"] in parts else line["number"]
        token = tokens.setdefault(learner, f"purged-{secrets.token_hex(8)}")
        found[str(line["number"])] = token
    return found


def _remove_files(sitting):
    """Take the folder of personal files away and make an empty one; return how many files went."""
    if sitting.personal.is_symlink():
        raise IntegrityError(
            f"sitting {sitting.name!r}: its folder 'personal' is a link; take away what it leads "
            "to yourself, then the link"
        )
    count = sum(len(files) for _, _, files in os.walk(sitting.personal))
    if sitting.personal.exists():
        shutil.rmtree(sitting.personal)
    sitting.personal.mkdir(mode=0o700)
    _remove_pieces(sitting.folder)
    settle_folder(sitting.folder)
    return count


def _remove_pieces(folder):
    """Take away what a stop in the middle of writing left: it may hold what was personal."""
    for piece in folder.glob(".*.part"):
        piece.unlink(missing_ok=True)
    settle_folder(folder)
