"""Who is in the class: codes, system accounts with names that tell no code, hashed words."""

import json
import secrets
from dataclasses import dataclass, replace

from fuelkit.assess.integrity.keeping import read_private, write_private
from fuelkit.assess.sheet import learner_code
from fuelkit.classroom.layout import ClassroomError
from fuelkit.classroom.words import hashed, new_word

INSTRUCTOR = "INSTRUCTOR"
"""The code of the instructor, who signs in like everybody else."""

_SCHEMA = 1
_NUMBERS = range(1000, 10_000)


@dataclass(frozen=True)
class Entry:
    """A learner, or the instructor. Frozen.

    Attributes
    ----------
    account : str
        System account; "" for the instructor, who has none. Its name ends in a random number:
        everybody on the machine can list accounts, and may not learn the class list from them.
    word : str
        Hash of the word; see `words`.
    """

    account: str
    word: str


@dataclass(frozen=True)
class Register:
    """Everybody who may sign in, by code. Frozen; a change makes a new one."""

    entries: dict

    @property
    def learners(self):
        """The learners' codes, in order."""
        return tuple(sorted(code for code in self.entries if code != INSTRUCTOR))

    def account(self, code):
        """Return the system account of a code.

        Raises
        ------
        ClassroomError
            If there is no such learner.
        """
        entry = self.entries.get(code)
        if entry is None or not entry.account:
            raise ClassroomError(f"learner code: there is no {code!r} in this class.")
        return entry.account

    def word(self, code):
        """Return the hash of a code's word; "" if there is no such code."""
        return self.entries[code].word if code in self.entries else ""

    def with_class(self, codes, prefix):
        """Return the register with everybody of a class list, and the words of who is new.

        Nobody is taken out, and who is there keeps account and word.

        Returns
        -------
        Register, dict of str to str
        """
        if INSTRUCTOR in codes:
            raise ClassroomError(f"learner code: {INSTRUCTOR} is kept for the instructor.")
        taken = {entry.account for entry in self.entries.values()}
        entries, words = dict(self.entries), {}
        for code in (INSTRUCTOR, *codes):
            if code in entries:
                continue
            account = "" if code == INSTRUCTOR else _fresh(prefix, taken)
            taken.add(account)
            words[code] = new_word()
            entries[code] = Entry(account, hashed(words[code]))
        return Register(entries), words

    def with_new_word(self, code):
        """Return the register with another word for a code, and the word."""
        if code not in self.entries:
            raise ClassroomError(f"learner code: there is no {code!r} in this class.")
        word = new_word()
        changed = replace(self.entries[code], word=hashed(word))
        return Register({**self.entries, code: changed}), word


def _fresh(prefix, taken):
    free = [n for n in _NUMBERS if f"{prefix}{n}" not in taken]
    return f"{prefix}{secrets.choice(free)}"


def read_register(classroom):
    """Return the register of a classroom; an empty one where there is none yet.

    Raises
    ------
    ClassroomError
        If it is damaged.
    IntegrityError
        If others than its owner can get at it.
    """
    path = classroom.register_file
    if not path.exists():
        return Register({})
    data = read_private(path)
    try:
        content = json.loads(data)
        if content["schema"] != _SCHEMA:
            raise ValueError(f"schema {content['schema']}")
        return Register(
            {
                learner_code(code): Entry(str(entry["account"]), str(entry["word"]))
                for code, entry in content["entries"].items()
            }
        )
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        raise ClassroomError(f"'{path}' is damaged ({problem}).") from None


def write_register(classroom, register):
    """Keep a register, for root alone; a stop leaves the old or the new one, whole."""
    entries = {code: vars(entry) for code, entry in sorted(register.entries.items())}
    content = {"schema": _SCHEMA, "entries": entries}
    write_private(classroom.register_file, json.dumps(content, indent=1) + "\n")
