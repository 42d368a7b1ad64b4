"""Which aircraft the course is taught on: chosen in one place, `course.toml` beside the lessons."""

import os
from dataclasses import dataclass
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, read_toml

COURSE_FILE = "course.toml"
VARIABLE = "FUELKIT_AIRCRAFT"
"""Environment variable that overrides the file: a name in the kit, or the path of a file."""

COURSE_AIRCRAFT = "halbrook-180"
"""The aircraft that the lessons of the kit are written for."""

_PLACES = ("", "lessons", "../lessons")
_LONGEST_SCHOOL = 80
SCHOOL_RULE = f"it must be one line of at most {_LONGEST_SCHOOL} letters"
"""What is said of a name that cannot stand."""


@dataclass(frozen=True)
class CourseFile:
    """What `course.toml` says. Frozen.

    aircraft : str
        A name in the kit, or the path of a file; "" for the one of each lesson.
    school : str
        Who gives the course, as it is printed; "" for nobody.
    """

    aircraft: str = ""
    school: str = ""


def course_file(folder=None):
    """Return what `course.toml` says, or a `CourseFile` that says nothing where there is none.

    Parameters
    ----------
    folder : str or Path, optional
        Where to look: the folder of a notebook or the folder of the course; the current one if
        not given.

    Raises
    ------
    DataFileError
        If `course.toml` has faults: field, value and what would be right.
    """
    here = Path(folder) if folder else Path.cwd()
    for place in _PLACES:
        path = here / place / COURSE_FILE
        if path.is_file():
            return _read(path)
    return CourseFile()


def chosen_aircraft(folder=None):
    """Return the aircraft that the course is taught on; "" for the one of each lesson.

    Parameters
    ----------
    folder : str or Path, optional
        As in `course_file`.

    Returns
    -------
    str
        A name in the kit, or the path of a file.

    Raises
    ------
    DataFileError
        If `course.toml` has faults: field, value and what would be right.
    """
    return os.environ.get(VARIABLE) or course_file(folder).aircraft


def taught_aircraft(folder=None):
    """Return the aircraft that the course is taught on; if none is chosen, the kit's own lessons'.

    Parameters and errors are those of `chosen_aircraft`.
    """
    return chosen_aircraft(folder) or COURSE_AIRCRAFT


def _read(path):
    faults = []
    section = Table(read_toml(path), COURSE_FILE, faults)
    if section.number("schema") != 1:
        faults.append(f"{COURSE_FILE}: this kit reads schema 1.")
    name, school = section.text("aircraft"), section.text("school", "")
    if not is_school(school):
        section.fault("school", school, SCHOOL_RULE)
    section.finish()
    if faults:
        raise DataFileError(COURSE_FILE, faults)
    if name.endswith(".toml") and not Path(name).is_absolute():
        name = str((path.parent / name).resolve())
    return CourseFile(name, school.strip())


def is_school(text):
    """Whether a text can stand as the name of a school: short, on one line."""
    return len(text) <= _LONGEST_SCHOOL and text.isprintable()
