"""Questions once worked out are kept in the instructor's folder, and not worked out twice.

    questions/SITTING/KIT-SOURCE.json   what one source gave, for this kit and this aircraft file

To change a line of a blueprint, add a learner or go on after a stop then costs the drawing alone.
What was worked out with another kit or another aircraft file is not used, and taken away.
"""

import hashlib
import shutil
from dataclasses import astuple
from functools import cache
from importlib.metadata import version
from pathlib import Path

from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.integrity.canonical import IntegrityError, canonical
from fuelkit.assess.integrity.entry import sitting_name
from fuelkit.assess.integrity.keeping import read_record, write_record
from fuelkit.assess.papers.placed import as_table, board_from
from fuelkit.assess.papers.question import Question
from fuelkit.assess.sheet import settle_folder

FOLDER = "questions"
"""Name of the folder, in the instructor's folder; a folder a sitting in it."""

_KIND, _PACKAGE, _SIGNS = "questions", Path(__file__).resolve().parents[2], 16
_PARTS = {".py", ".toml", ".csv", ".json"}
_LIBRARIES = ("numpy", "scipy")  # another edition may round otherwise


class KeptQuestions:
    """The questions of a sitting as far as they are worked out.

    Parameters
    ----------
    folder : Path
        The instructor's.
    sitting : str
    """

    def __init__(self, folder, sitting):
        self.folder = Path(folder) / FOLDER / sitting_name(sitting)
        for place in (self.folder.parent, self.folder):
            if not place.is_dir():
                place.mkdir(mode=0o700)
                settle_folder(place.parent)
        for old in self.folder.glob("*.json"):
            if not old.name.startswith(kit_digest()):
                old.unlink(missing_ok=True)

    def read(self, source):
        """Return the questions of a source, or None where they are not there or damaged."""
        name = _name(source)
        if not (self.folder / name).exists():
            return None
        try:
            rows = read_record(self.folder, name, _KIND)["questions"]
            return [question_from(row) for row in rows]
        except (IntegrityError, KeyError, TypeError, ValueError, AttributeError):
            return None  # worked out afresh, and written anew

    def keep(self, source, questions):
        """Write down what a source gave."""
        rows = [question_table(question) for question in questions]
        write_record(self.folder, _name(source), _KIND, {"questions": rows})


def forget(folder, sitting):
    """Take away the questions of a sitting; nothing happens where there are none."""
    place = Path(folder) / FOLDER / sitting_name(sitting)
    if place.is_dir() and not place.is_symlink():
        shutil.rmtree(place)


def _name(source):
    aircraft = aircraft_of(source.aircraft).fingerprint
    told = canonical({"source": list(astuple(source)), "aircraft": aircraft})
    return f"{kit_digest()}-{hashlib.sha256(told).hexdigest()[:_SIGNS]}.json"


@cache
def kit_digest():
    """Return what tells this kit from every other: of all its rules, figures and libraries."""
    found = hashlib.sha256()
    for name in _LIBRARIES:
        found.update(f"{name} {version(name)}\n".encode())
    for path in sorted(p for p in _PACKAGE.rglob("*") if p.suffix in _PARTS):
        data = path.read_bytes()
        found.update(f"{path.relative_to(_PACKAGE).as_posix()} {len(data)}\n".encode() + data)
    return found.hexdigest()[:_SIGNS]


def question_table(question):
    """Return a question of the pool as JSON can hold it."""
    fields = ("identifier", "kind", "stage", "changes", "steps")
    return {
        **{name: getattr(question, name) for name in fields},
        "board": as_table(question.board), "objectives": list(question.objectives),
        "believed": {name: list(said) for name, said in question.believed.items()},
        "parts": sorted(question.parts), "beside": sorted(question.beside),
        "right": list(question.right),
    }  # fmt: skip


def question_from(table):
    """Return a question from what `question_table` made.

    Raises
    ------
    KeyError, TypeError
        If a field is missing or is not one.
    """
    fields = ("identifier", "kind", "stage", "changes", "steps")
    return Question(
        **{name: table[name] for name in fields},
        board=board_from(table["board"]), objectives=tuple(table["objectives"]),
        believed={name: tuple(said) for name, said in table["believed"].items()},
        parts=frozenset(table["parts"]), beside=frozenset(table["beside"]),
        right=tuple(table["right"]),
    )  # fmt: skip
