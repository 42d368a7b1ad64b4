"""Which aircraft the course is taught on: chosen in one place, `course.toml` beside the lessons."""

import os
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, read_toml

COURSE_FILE = "course.toml"
VARIABLE = "FUELKIT_AIRCRAFT"
"""Environment variable that overrides the file: a name in the kit, or the path of a file."""

_PLACES = ("", "lessons", "../lessons")


def chosen_aircraft(folder=None):
    """Return the aircraft that the course is taught on; "" for the one of each lesson.

    Parameters
    ----------
    folder : str or Path, optional
        Where to look: the folder of a notebook or the folder of the course; the current one if
        not given.

    Returns
    -------
    str
        A name in the kit, or the path of a file.

    Raises
    ------
    DataFileError
        If `course.toml` has faults: field, value and what would be right.
    """
    if named := os.environ.get(VARIABLE):
        return named
    here = Path(folder) if folder else Path.cwd()
    for place in _PLACES:
        path = here / place / COURSE_FILE
        if path.is_file():
            return _read(path)
    return ""


def _read(path):
    faults = []
    section = Table(read_toml(path), COURSE_FILE, faults)
    if section.number("schema") != 1:
        faults.append(f"{COURSE_FILE}: this kit reads schema 1.")
    name = section.text("aircraft")
    section.finish()
    if faults:
        raise DataFileError(COURSE_FILE, faults)
    if name.endswith(".toml") and not Path(name).is_absolute():
        return str((path.parent / name).resolve())
    return name
