"""The course as it is given out: a copy that belongs to root and that everybody may only read."""

import filecmp
import os
import shutil

from fuelkit.assess.integrity.scan import scan
from fuelkit.classroom.layout import ClassroomError

PARTS = ("fuelkit", "lessons", "exercises", "requirements.txt", "README.md")
"""What is given out. Solutions, tests and history are not."""

_LOOKED_THROUGH = ("lessons", "exercises")  # what an instructor may have added to
_LEFT_OUT = shutil.ignore_patterns(
    "__pycache__", ".ipynb_checkpoints", ".virtual_documents", ".DS_Store", "*.pyc"
)


def give_out(source, course):
    """Copy what learners get, where it is not there already; return the names of what is new.

    Parameters
    ----------
    source : Path
        The instructor's folder of the course.
    course : Path
        Where learners read it.

    Raises
    ------
    ClassroomError
        If a part is missing, or if lessons or exercises hold what learners must not have: keys,
        answers, lists of a class.
    """
    _check(source)
    course.mkdir(parents=True, exist_ok=True)
    return tuple(name for name in PARTS if _given(source / name, course / name))


def _check(source):
    for name in PARTS:
        if not (source / name).exists():
            raise ClassroomError(f"{source / name} is missing. Copy the whole course again.")
    found = [f"{name}/{f.place}: {f.why}" for name in _LOOKED_THROUGH for f in scan(source / name)]
    if found:
        raise ClassroomError("Learners must not get this; take it away first: " + "; ".join(found))


def _given(original, place):
    """Put a fresh copy in place of an old one that differs; a stop leaves no half of one there."""
    new, old = place.with_name(f".{place.name}.new"), place.with_name(f".{place.name}.old")
    for left in (new, old):
        _remove(left)
    if original.is_dir():
        shutil.copytree(original, new, ignore=_LEFT_OUT)
    else:
        shutil.copyfile(original, new)
    if _same(new, place):
        _remove(new)
        return False
    _make_readable(new)
    if place.exists():
        place.rename(old)
    new.rename(place)
    _remove(old)
    return True


def _make_readable(path):
    """Let everybody read, and root alone write."""
    for folder, _, files in os.walk(path):
        os.chmod(folder, 0o755)
        for name in files:
            os.chmod(os.path.join(folder, name), 0o644)
    if path.is_file():
        os.chmod(path, 0o644)


def _same(new, place):
    if new.is_file():
        return place.is_file() and filecmp.cmp(new, place, shallow=False)
    if not place.is_dir():
        return False
    return (
        _files(new) == _files(place)
        and not filecmp.cmpfiles(new, place, _files(new), shallow=False)[1]
    )


def _files(folder):
    return sorted(
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    )


def _remove(path):
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
