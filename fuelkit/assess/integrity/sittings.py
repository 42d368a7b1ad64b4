"""Sittings in the instructor's folder: until when each is kept, and where its personal files are.

    sittings/NAME/sitting.json   the date until which it is kept
    sittings/NAME/personal/      answer sheets, written reasons, feedback, papers by learner

All that is about one learner belongs into `personal`: a purge takes that folder away, and nothing
else.
"""

import os
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.entry import sitting_name
from fuelkit.assess.integrity.keeping import read_record, write_record
from fuelkit.assess.sheet import settle_folder

_KEY, _PAPER = "key-", "paper-"
_FOLDER, _FILE, _PERSONAL, _KIND = "sittings", "sitting.json", "personal", "sitting"


@dataclass(frozen=True)
class Sitting:
    """A sitting. Frozen.

    name : str
    keep_until : date
        The last day on which what is personal is kept.
    folder : Path
        Where its files are.
    """

    name: str
    keep_until: date
    folder: Path

    @property
    def personal(self):
        """Folder of all files that are about one learner."""
        return self.folder / _PERSONAL


def new_sitting(folder, name, keep_until):
    """Make a sitting, with the date until which it is kept; one that is there keeps its files.

    Parameters
    ----------
    folder : Path
        The instructor's.
    name : str
        Letters, digits and hyphens.
    keep_until : date

    Raises
    ------
    IntegrityError
        If the name or the date is not one.
    """
    if type(keep_until) is not date:
        raise IntegrityError(f"keep until: it is {keep_until!r}; it must be a date, without a time")
    sitting = Sitting(sitting_name(name), keep_until, Path(folder) / _FOLDER / name)
    for place in (sitting.folder.parent, sitting.folder, sitting.personal):
        if not place.is_dir():
            place.mkdir(mode=0o700)
            settle_folder(place.parent)
    write_record(sitting.folder, _FILE, _KIND, {"keep until": keep_until.isoformat()})
    return sitting


def sitting_of(folder, name):
    """Return a sitting of the instructor's folder.

    Raises
    ------
    IntegrityError
        If there is none of this name, or its file is damaged.
    """
    place = Path(folder) / _FOLDER / sitting_name(name)
    if not (place / _FILE).exists():
        known = ", ".join(_names(folder)) or "none"
        raise IntegrityError(f"sitting: there is no {name!r}; there is: {known}")
    text = read_record(place, _FILE, _KIND).get("keep until")
    try:
        return Sitting(name, date.fromisoformat(text), place)
    except (TypeError, ValueError):
        raise IntegrityError(
            f"sitting {name!r}: keep until is {text!r}; it must be a date such as 2027-06-30"
        ) from None


def _names(folder):
    place = Path(folder) / _FOLDER
    return sorted(name for name in os.listdir(place)) if place.is_dir() else []


def sittings(folder):
    """Return all sittings of the instructor's folder, by name."""
    return tuple(sitting_of(folder, name) for name in _names(folder))


def due(folder, today):
    """Return the sittings that are to be purged: those kept until a day before today."""
    return tuple(s for s in sittings(folder) if s.keep_until < today)


# ------------------------------------------------------------------------- what files are called
def paper_name(sitting, learner):
    """Return the name of a learner's paper, which its answer sheet carries as its unit."""
    return f"{_PAPER}{sitting}-{learner}".lower()


def is_paper(unit):
    """Return whether a sheet's unit is a paper, of whichever sitting and learner."""
    return unit.startswith(_PAPER)


def secret_file(sitting):
    """Return the name of the file with a sitting's secret, in the instructor's folder."""
    return f"{sitting}-secret.json"


def key_file(learner):
    """Return the name of the file with a learner's key, among what is personal in a sitting."""
    return f"{_KEY}{learner}.json"


def learners_of(sitting):
    """Return the codes of all learners who have a paper in a sitting, as a tuple."""
    kept = sorted(sitting.personal.glob(key_file("*")))
    return tuple(path.stem.removeprefix(_KEY) for path in kept)
