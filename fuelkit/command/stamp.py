"""The stamp of a .venv: which requirement files are installed in it, and whether all of them are.

It is written "not complete" before anything is installed and "complete" after all of it, so an
installation that was killed at any instant is known the next time.
"""

import hashlib
import json
from dataclasses import asdict, dataclass, field

from fuelkit.assess.sheet import write_atomically
from fuelkit.command.faults import CommandError

_SCHEMA = 1


@dataclass(frozen=True)
class Stamp:
    """What is installed. Frozen.

    Attributes
    ----------
    complete : bool
        Whether the installation came to its end.
    python : tuple of int
        Version of the .venv's Python at that time.
    files : dict of str to str
        Fingerprint of each requirement file that is installed, by its name.
    """

    complete: bool
    python: tuple = ()
    files: dict = field(default_factory=dict)


def read_stamp(path):
    """Return the stamp, None if there is none, or "not complete" if it cannot be understood."""
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        if content.pop("schema") != _SCHEMA:
            return Stamp(complete=False)
        return Stamp(content["complete"] is True, tuple(content["python"]), dict(content["files"]))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return Stamp(complete=False)


def write_stamp(path, stamp):
    """Write a stamp, or remove it if `stamp` is None."""
    if stamp is None:
        path.unlink(missing_ok=True)
    else:
        write_atomically(path, json.dumps({"schema": _SCHEMA, **asdict(stamp)}, indent=1) + "\n")


def fingerprints(root, requirements):
    """Return the hash of what each requirement file asks for: its lines without comments.

    Raises
    ------
    CommandError
        If a file is missing.
    """
    return {name: _fingerprint(root / name) for name in requirements}


def _fingerprint(file):
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        raise CommandError(f"{file} is missing. Copy the whole course again.") from None
    meant = [line.split("#")[0].strip() for line in lines]
    return hashlib.sha256("\n".join(filter(None, meant)).encode()).hexdigest()
