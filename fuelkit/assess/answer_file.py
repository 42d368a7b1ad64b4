"""A learner's answer sheet on disk: restored when a notebook opens, saved at each commit."""

import json
import os
import sys
import time
from dataclasses import replace
from pathlib import Path

from fuelkit.assess.sheet import (
    Sheet,
    SheetError,
    learner_code,
    read_sheet,
    sheet_path,
    write_atomically,
    write_sheet,
)

AT_HOME = "HOME"
"""Code of a learner who has not been given one."""

SIGN_IN = "learner.json"
"""File in a folder of answers that keeps the code of the learner at this machine."""

NOT_KEPT = (
    "This browser keeps no files for this address, so your answers are lost when the page is "
    "closed. Hand in and download the answer sheet before you close it, or ask for an address "
    "that begins with https:."
)
"""Told on every board where Python runs in a browser without a place for files."""

LEARNER = "FUELKIT_LEARNER"
"""Environment variable with the learner's code, where a server knows who it is."""

_STALE_SECONDS = 3600.0
_ROOMS = ("lessons", "exercises", "solutions")
_DRIVE = "/drive"  # where JupyterLite mounts the browser's files for Python


def answers_folder():
    """Return where answers are kept: `answers` beside the folder of the notebook.

    The environment variable FUELKIT_ANSWERS names another place.
    """
    if named := os.environ.get("FUELKIT_ANSWERS"):
        return Path(named)
    here = Path.cwd()
    return (here.parent if here.name in _ROOMS else here) / "answers"


def keeps_files(folder, platform=sys.platform):
    """Whether what is written to a folder outlives the page: elsewhere than in a browser, always.

    Examples
    --------
    >>> keeps_files("/answers", "emscripten"), keeps_files("answers", "linux")
    (False, True)
    """
    place = Path(os.path.abspath(folder)).as_posix()
    return platform != "emscripten" or place.startswith(f"{_DRIVE}/")


def known_learner():
    """Return the code of whom a classroom server has signed in; "" where there is none."""
    named = os.environ.get(LEARNER, "")
    return learner_code(named) if named else ""


def signed_in(folder):
    """Return the learner's code: the server's, or what was last entered here, or AT_HOME."""
    if code := known_learner():
        return code
    try:
        content = json.loads((Path(folder) / SIGN_IN).read_text(encoding="utf-8"))
        return learner_code(content["learner"])
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return AT_HOME


def sign_in(folder, text):
    """Keep a learner's code for a folder of answers; return it in its standard form.

    Raises
    ------
    SheetError
        If it is not a code, or a classroom server knows the learner by another one.
    """
    code = learner_code(text)
    if (known := known_learner()) and code != known:
        raise SheetError(f"You are signed in as {known}; to be {code}, sign out of the classroom.")
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    write_atomically(folder / SIGN_IN, json.dumps({"schema": 1, "learner": code}, indent=1) + "\n")
    return code


class AnswerFile:
    """The answers of one learner to one lesson or exercise. Every change is read, made, written.

    Parameters
    ----------
    folder : str or Path
        Where answers are kept; made when the first one is saved.
    unit, learner, aircraft : str
        See `Sheet`.
    """

    def __init__(self, folder, unit, learner, aircraft):
        self.path = sheet_path(folder, unit, learner)
        self._new = Sheet(unit, learner, aircraft)
        self.note = "" if keeps_files(folder) else NOT_KEPT
        self._tidy()

    @property
    def sheet(self):
        """The sheet as it is on disk now, or a new one; a damaged file is put aside, not lost."""
        if not self.path.exists():
            return self._new
        try:
            sheet = read_sheet(self.path)
        except SheetError as problem:
            return self.put_aside(f"{problem}")
        if (sheet.unit, sheet.learner) != (self._new.unit, self._new.learner):
            return self.put_aside("it belongs to someone or something else")
        if sheet.aircraft != self._new.aircraft and not sheet.handed_in:
            return self.put_aside("it was answered for another edition of the aircraft file")
        return sheet

    def put_aside(self, why):
        """Keep the file under another name and begin anew; return the new sheet."""
        kept = self.path.with_suffix(f".put-aside-{time.time_ns()}")
        self.path.replace(kept)
        self.note = f"The answers kept before could not be used: {why}. They are in {kept.name}."
        return self._new

    def draft(self, board, given):
        """Save what is set on a board and not yet committed."""
        sheet = self.sheet
        if board not in sheet.answers and not sheet.handed_in:
            write_sheet(sheet.with_draft(board, given), self.path)

    def commit(self, board, given, most=None, at=""):
        """Save the answers to a board for good; return the sheet.

        With `most`, only that many boards are kept, the oldest go: for practice without end. With
        `at`, they stand as committed at that moment of a sheet and not now.

        Raises
        ------
        SheetError
            If the board is committed already, or the sheet is handed in.
        """
        sheet = self.sheet.with_committed(board, given, at)
        if most is not None:
            sheet = replace(sheet, answers=dict(list(sheet.answers.items())[-most:]))
        write_sheet(sheet, self.path)
        return sheet

    def compare(self, board, marks):
        """Save what the learner saw when comparing a committed board; return the sheet."""
        sheet = self.sheet.with_compared(board, marks)
        write_sheet(sheet, self.path)
        return sheet

    def hand_in(self):
        """Hand the sheet in; return it with its receipt. Done twice, the receipt stays."""
        sheet = self.sheet
        if not sheet.answers:
            raise SheetError("There is nothing to hand in yet: commit at least one board first.")
        sheet = sheet.with_hand_in()
        write_sheet(sheet, self.path)
        return sheet

    def download(self):
        """Return the file as it is now, to be saved by a browser: its name and its text."""
        return {"name": self.path.name, "text": self.path.read_bytes().decode("utf-8")}

    def _tidy(self):
        """Take away pieces that a stop in the middle of writing left behind, once they are old."""
        for piece in self.path.parent.glob(f".{self.path.name}.*.part"):
            if time.time() - piece.stat().st_mtime > _STALE_SECONDS:
                piece.unlink(missing_ok=True)
