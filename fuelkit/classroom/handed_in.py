"""The sheets that were handed in: taken in once, whole and checked, and listed."""

import os
import re
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fuelkit.assess.integrity.sittings import is_paper
from fuelkit.assess.sheet import LARGEST_BYTES, Sheet, SheetError, read_sheet, settle_folder

_UNIT = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,78}[a-z0-9])?")
_MOST = 100
"""Sheets of one learner: more than the course has units, so that nobody fills the disk."""


@dataclass(frozen=True)
class HandedIn:
    """A sheet on the desk. Frozen.

    Attributes
    ----------
    sheet : Sheet
    file : str
    arrived : datetime
        By the clock of this machine.
    """

    sheet: Sheet
    file: str
    arrived: datetime

    @property
    def work(self):
        """The exercise, or the papers of a sitting, of which each learner has their own."""
        unit, code = self.sheet.unit, self.sheet.learner
        return unit.removesuffix(f"-{code.lower()}") if is_paper(unit) else unit


def take_in(folder, code, data):
    """Keep a sheet for good; return what to tell the learner.

    Handed in twice, the same sheet is told again to be there; another one is refused.

    Parameters
    ----------
    folder : Path
    code : str
        Of who hands in, as the hub knows them.
    data : bytes
        The sheet's file.

    Raises
    ------
    SheetError
        If it is no sheet, not handed in by that learner, changed afterwards, or another one is
        there already.
    """
    folder = Path(folder)
    if len(data) > LARGEST_BYTES:
        raise SheetError(f"it is larger than {LARGEST_BYTES // 1000} kB")
    handle, name = tempfile.mkstemp(dir=folder, prefix=".", suffix=".part")
    new = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        sheet = _checked(read_sheet(new), code)
        return _placed(new, folder, sheet)
    finally:
        new.unlink(missing_ok=True)


def _checked(sheet, code):
    if sheet.learner != code:
        raise SheetError(f"it is the sheet of {sheet.learner}, and you are signed in as {code}")
    if not _UNIT.fullmatch(sheet.unit):
        raise SheetError(f"it belongs to no exercise or paper ({sheet.unit[:40]!r})")
    if not sheet.handed_in or sheet.receipt != sheet.true_receipt():
        raise SheetError("its receipt does not fit its answers")
    return sheet


def _placed(new, folder, sheet):
    name = f"{sheet.unit}.{sheet.learner}.json"
    if len(list(folder.glob(f"*.{sheet.learner}.json"))) >= _MOST:
        raise SheetError(f"there are {_MOST} sheets of {sheet.learner} already")
    try:
        os.link(new, folder / name)  # fails where there is one: a sheet is never replaced
    except FileExistsError:
        if read_sheet(folder / name).receipt != sheet.receipt:
            raise SheetError(
                "another sheet of yours was handed in before; that one counts"
            ) from None
    settle_folder(folder)
    return "Your instructor's desk has it."


def listed(folder):
    """Return all sheets on the desk by unit and learner; what is no sound sheet is left out.

    Parameters
    ----------
    folder : Path
    """
    found = []
    for path in Path(folder).glob("*.json"):
        if path.is_symlink() or not path.is_file():
            continue
        try:
            sheet = read_sheet(path)
        except SheetError:
            continue
        arrived = datetime.fromtimestamp(path.stat().st_mtime, UTC)
        found.append(HandedIn(sheet, path.name, arrived))
    return tuple(sorted(found, key=lambda item: (item.sheet.unit, item.sheet.learner)))


def by_work(sheets, learners):
    """Return who has handed in and who has not, work by work.

    Parameters
    ----------
    sheets : sequence of HandedIn
    learners : sequence of str
        All codes of the class.

    Returns
    -------
    list of (str, tuple of HandedIn, tuple of str)
        The work, what is there of it, and the codes of whom nothing is there.
    """
    found = []
    for work in dict.fromkeys(item.work for item in sheets):
        own = tuple(item for item in sheets if item.work == work)
        there = {item.sheet.learner for item in own}
        found.append((work, own, tuple(code for code in learners if code not in there)))
    return found
