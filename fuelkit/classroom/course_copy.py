"""The course as it is given out: a copy that belongs to root and that everybody may only read."""

import filecmp
import os
import shutil
from pathlib import PurePosixPath

from fuelkit.assess.edition.making import course_edition
from fuelkit.classroom.layout import ClassroomError

PARTS = ("fuelkit", "lessons", "exercises", "requirements.txt", "README.md")
"""What lies at the top of the learner's edition, which is what is given out."""


def give_out(source, course, secrets=()):
    """Lay out the learner's edition, where it is not there already; return what is new.

    Parameters
    ----------
    source : Path
        The instructor's folder of the course.
    course : Path
        Where learners read it.
    secrets : sequence of str or bytes
        What must not occur in any file.

    Returns
    -------
    tuple of str
        Some of `PARTS`.

    Raises
    ------
    EditionError, ClassroomError
        If something is not for learners, or missing: then nothing is given out.
    """
    files = course_edition(source, secrets)
    there = {place.partition("/")[0] for place in files}
    for name in PARTS:
        if name not in there:
            raise ClassroomError(f"{source / name} is missing. Copy the whole course again.")
    course.mkdir(parents=True, exist_ok=True)
    for name in PARTS:
        _remove(_new(course, name))
    for place, data in files.items():
        first, *rest = PurePosixPath(place).parts
        path = _new(course, first).joinpath(*rest)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return tuple(name for name in PARTS if _put_in_place(course, name))


def _new(course, name):
    return course / f".{name}.new"


def _put_in_place(course, name):
    """Put a fresh copy in place of an old one that differs; a stop leaves no half of one there."""
    place, new, old = course / name, _new(course, name), course / f".{name}.old"
    _remove(old)
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
