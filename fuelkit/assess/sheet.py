"""Answer sheets: JSON files with a learner's code and answers. Data only, never run.

A sheet is written whole to a file beside it and then put in its place, so that a stop at any
instant leaves either the old or the new sheet, never half of one.
"""

import json
import os
import re
import tempfile
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from fuelkit.assess.receipts import receipt
from fuelkit.physics.errors import FuelkitError

FORMAT = "fuelkit answer sheet"
SCHEMA = 2
_READABLE = (1, 2)  # in 1, nothing was kept of what a learner saw in the comparison
LARGEST_BYTES = 500_000
_CODE = re.compile(r"[A-Z0-9](?:[A-Z0-9-]{0,18}[A-Z0-9])?")
_LONGEST_ANSWER = 2000
_MOST_ANSWERS = 1000


class SheetError(FuelkitError, ValueError):
    """A file is not a sound answer sheet; the message says why in plain words."""


@dataclass(frozen=True)
class Sheet:
    """A learner's answers to one lesson or exercise. Frozen; every change makes a new one.

    unit, learner : str
        Identifier of the lesson or exercise, and the learner's code.
    aircraft : str
        Fingerprint of the aircraft's file for which it was answered.
    answers : dict of str to dict
        By board: {"given": {ask: text}, "committed": time in UTC}, and in a lesson "compared":
        {ask: "same" or "differs"}, as the learner saw it before the reasons showed.
    drafts : dict of str to dict of str to str
        What was set but not committed, by board.
    handed_in, receipt : str or None
    """

    unit: str
    learner: str
    aircraft: str
    answers: dict = field(default_factory=dict)
    drafts: dict = field(default_factory=dict)
    handed_in: str | None = None
    receipt: str | None = None

    def with_draft(self, board, given):
        """Return the sheet with what is set on a board that is not committed."""
        return replace(self, drafts={**self.drafts, board: dict(given)})

    def with_committed(self, board, given, at=""):
        """Return the sheet with a board committed, now or at a moment; it cannot be changed."""
        if board in self.answers:
            raise SheetError(f"sheet: board '{board}' is committed already and stays as it is.")
        if self.handed_in:
            raise SheetError("sheet: it is handed in and stays as it is.")
        drafts = {name: value for name, value in self.drafts.items() if name != board}
        entry = {"given": dict(given), "committed": at or _now()}
        return replace(self, answers={**self.answers, board: entry}, drafts=drafts)

    def with_compared(self, board, marks):
        """Return the sheet with what the learner saw in the comparison of a committed board."""
        if board not in self.answers:
            raise SheetError(f"sheet: board '{board}' is not committed yet.")
        entry = {**self.answers[board], "compared": dict(marks)}
        return replace(self, answers={**self.answers, board: entry})

    def with_hand_in(self):
        """Return the sheet handed in, with its receipt."""
        if self.handed_in:
            return self
        sheet = replace(self, handed_in=_now())
        return replace(sheet, receipt=sheet.true_receipt())

    def true_receipt(self):
        """Return the receipt that belongs to the content as it is."""
        return receipt(
            {
                "unit": self.unit,
                "learner": self.learner,
                "aircraft": self.aircraft,
                "answers": self.answers,
                "handed_in": self.handed_in,
            }
        )


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def moment_words(text):
    """Return a moment of a sheet as it is read; what is no such moment stays as it is.

    Examples
    --------
    >>> moment_words("2026-11-25T20:38:57Z")
    '25 Nov 2026, 20:38 UTC'
    """
    try:
        at = datetime.strptime(str(text), "%Y-%m-%dT%H:%M:%SZ")
    except ValueError:
        return str(text)
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}, {at:%H:%M} UTC"


def _now():
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def learner_code(text):
    """Return a learner's code in its standard form, or raise SheetError.

    Examples
    --------
    >>> learner_code(" a07 ")
    'A07'
    """
    code = text.strip().upper() if isinstance(text, str) else ""
    if not _CODE.fullmatch(code):
        raise SheetError(
            f"learner code: it is {text!r}; it must be 1 to 20 letters and digits, with hyphens "
            "inside if wanted, such as A07. Ask your instructor for yours."
        )
    return code


def sheet_path(folder, unit, learner):
    """Return the path of a learner's sheet for a lesson or exercise."""
    return Path(folder) / f"{unit}.{learner}.json"


def write_sheet(sheet, path):
    """Write a sheet so that the file is always whole; creates the folder if need be."""
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(path, sheet_text(sheet))


def sheet_text(sheet):
    """Return a sheet as it stands in its file."""
    content = {"format": FORMAT, "schema": SCHEMA, **sheet.__dict__}
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def write_atomically(path, text):
    """Write a text file so that a stop at any instant leaves the old or the new one, whole."""
    write_bytes_atomically(path, text.encode("utf-8"))


def write_bytes_atomically(path, data):
    """Write a file of bytes so that a stop at any instant leaves the old or the new one, whole."""
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    settle_folder(path.parent)


def settle_folder(folder):
    """Make new names in a folder last through a power cut, where the system can do that."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def read_sheet(path):
    """Return the sheet in a file, checked field by field.

    Raises
    ------
    SheetError
        If it is too large, not JSON, not an answer sheet, of another version, or has a field
        that is not what it must be. Nothing in it is ever run.
    """
    content = _json(Path(path))
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise SheetError("it is not an answer sheet of this kit")
    if content.get("schema") not in _READABLE or isinstance(content.get("schema"), bool):
        raise SheetError(f"its version is {content.get('schema')!r}; this kit reads {SCHEMA}")
    unknown = sorted(set(content) - {"format", "schema", *Sheet.__dataclass_fields__})
    if unknown:
        raise SheetError(f"it has a field that does not belong there: {unknown[0][:40]!r}")
    for name in ("unit", "learner", "aircraft"):
        if not isinstance(content.get(name), str) or not 0 < len(content[name]) <= 100:
            raise SheetError(f"{name} is {str(content.get(name))[:40]!r}; it must be a short text")
    if learner_code(content["learner"]) != content["learner"]:
        raise SheetError("learner is not written in capitals")
    for name in ("handed_in", "receipt"):
        if not isinstance(content.get(name), str | None):
            raise SheetError(f"{name} must be a text")
    answers = {board: _entry(board, e) for board, e in _table(content, "answers").items()}
    drafts = {board: _given(board, g) for board, g in _table(content, "drafts").items()}
    return Sheet(
        content["unit"], content["learner"], content["aircraft"], answers, drafts,
        content.get("handed_in"), content.get("receipt"),
    )  # fmt: skip


def _json(path):
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise SheetError(f"it is larger than {LARGEST_BYTES // 1000} kB")
        raw = path.read_bytes()
    except OSError as problem:
        raise SheetError(f"it cannot be read ({problem.strerror})") from None
    if not raw.strip():
        raise SheetError("it is empty")
    try:
        return json.loads(raw.decode("utf-8"), parse_constant=_no_constant)
    except UnicodeDecodeError:
        raise SheetError("it is not text in UTF-8") from None
    except (ValueError, RecursionError):
        raise SheetError("it is damaged: not a whole JSON file") from None


def _no_constant(name):
    raise ValueError(name)


def _table(content, name):
    value = content.get(name, {})
    if not isinstance(value, dict) or len(value) > _MOST_ANSWERS:
        raise SheetError(f"{name} must be a table of boards")
    return value


def _entry(board, entry):
    if (
        not isinstance(entry, dict)
        or not {"given", "committed"} <= set(entry) <= {"given", "committed", "compared"}
        or not isinstance(entry["committed"], str)
    ):
        raise SheetError(f"the answers to board {board[:40]!r} are damaged")
    kept = {"given": _given(board, entry["given"]), "committed": entry["committed"]}
    if "compared" in entry:
        kept["compared"] = _given(board, entry["compared"])
    return kept


def _given(board, given):
    sound = isinstance(given, dict) and len(given) <= _MOST_ANSWERS
    if not sound or any(not isinstance(v, str) or len(v) > _LONGEST_ANSWER for v in given.values()):
        raise SheetError(f"the answers to board {board[:40]!r} are damaged")
    return given
