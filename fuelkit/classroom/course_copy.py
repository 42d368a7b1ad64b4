"""The course as it is given out: a copy that belongs to root and that everybody may only read."""

import filecmp
import json
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
    for name in PARTS:
        if not (source / name).exists():
            raise ClassroomError(f"{source / name} is missing. Copy the whole course again.")
    course.mkdir(parents=True, exist_ok=True)
    for name in PARTS:
        _copy(source / name, _new(course, name))
    _check(course)
    return tuple(name for name in PARTS if _put_in_place(course, name))


def _new(course, name):
    return course / f".{name}.new"


def _check(course):
    found = [
        f"{name}/{finding.place}: {finding.why}"
        for name in _LOOKED_THROUGH
        for finding in scan(_new(course, name))
    ]
    if found:
        for name in PARTS:
            _remove(_new(course, name))
        raise ClassroomError("Learners must not get this; take it away first: " + "; ".join(found))


def _copy(original, new):
    """Copy a part; of notebooks what they showed to the instructor is left out."""
    _remove(new)
    if original.is_file():
        shutil.copyfile(original, new)
        return
    shutil.copytree(original, new, ignore=_LEFT_OUT)
    for path in new.rglob("*.ipynb"):
        _forget_outputs(path)


def _forget_outputs(path):
    """Take outputs and the state of widgets out of a notebook, where there are any."""
    try:
        content = json.loads(path.read_bytes())
        cells = [cell for cell in content["cells"] if cell["cell_type"] == "code"]
        is_clean = "widgets" not in content.get("metadata", {}) and not any(
            c["outputs"] for c in cells
        )
    except (ValueError, KeyError, TypeError):
        return  # no notebook: the scan says what it is
    if is_clean:
        return
    content.get("metadata", {}).pop("widgets", None)
    for cell in cells:
        cell.update(outputs=[], execution_count=None)
    path.write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


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
