"""Learners' codes, and the one file that has their names: the instructor's `names.csv`.

Nothing else in the kit reads that file: papers, sheets, marks and the log know codes only. It is
for a display of the instructor's own.
"""

import csv
import io
from pathlib import Path

from fuelkit.assess import sheet
from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.keeping import read_private

FILE = "names.csv"
HEADER = ("code", "name")
_SHORTEST = 2
_LONGEST_NAME = 200


def learner_code(text):
    """Return a learner's code in its standard form: as answer sheets take it, 2 signs or more.

    Raises
    ------
    IntegrityError
        If it is not letters and digits with hyphens inside, or too short or long.

    Examples
    --------
    >>> learner_code(" a07 ")
    'A07'
    """
    try:
        code = sheet.learner_code(text)
    except sheet.SheetError as problem:
        raise IntegrityError(str(problem)) from None
    if len(code) < _SHORTEST:
        raise IntegrityError(f"learner code: it is {code!r}; it must be 2 signs or more")
    return code


def names(folder):
    """Return learners' names by code, from names.csv in the instructor's folder; {} without one.

    Raises
    ------
    IntegrityError
        If others can read the file, or a line is not `code,name`; the message names the line.
    """
    path = Path(folder) / FILE
    if not path.exists() and not path.is_symlink():
        return {}
    try:
        text = read_private(path).decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as problem:
        raise IntegrityError(f"{FILE}: it is no CSV file in UTF-8 ({problem})") from None
    if not rows or tuple(cell.strip() for cell in rows[0]) != HEADER:
        raise IntegrityError(f"{FILE}: its first line must be: code,name")
    found = {}
    for number, row in enumerate(rows[1:], start=2):
        if row:
            _take(found, number, row)
    return found


def _take(found, number, row):
    if len(row) != 2 or not 0 < len(row[1].strip()) <= _LONGEST_NAME:
        raise IntegrityError(f"{FILE}, line {number}: it must be a code and a name: A07,name")
    try:
        code = learner_code(row[0])
    except IntegrityError as problem:
        raise IntegrityError(f"{FILE}, line {number}: {problem}") from None
    if code in found:
        raise IntegrityError(f"{FILE}, line {number}: the code {code} stands there twice")
    found[code] = row[1].strip()
