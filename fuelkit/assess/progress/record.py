"""A learner's record on disk: one file of lines that only grows, in the folder of answers.

An entry that `add` has returned is on the disk. A stop in the middle of writing leaves a torn last
line, which the next `add` sets aside. A damaged file is kept aside, whole, and a new one is begun
with all lines of it that are sound. Nothing of this keeps an answer from being committed.
"""

import os
import time
from datetime import UTC, datetime
from pathlib import Path

from fuelkit.assess.integrity.keeping import open_flags
from fuelkit.assess.integrity.lines import cut, grow
from fuelkit.assess.integrity.lock import held
from fuelkit.assess.progress.lines import head, is_head, parsed, written
from fuelkit.assess.sheet import SheetError, settle_folder, write_bytes_atomically

LARGEST_BYTES = 30_000_000
_PATIENCE = 10.0  # s until another notebook has written


def now_text(now=None):
    """Return a moment as it stands in a record: UTC, to the second."""
    return (now or datetime.now(UTC)).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class ProgressRecord:
    """What one learner has tried, as it is on disk now.

    Parameters
    ----------
    folder : str or Path
        Where answers are kept; made when the first entry is added.
    learner : str
        A learner's code.

    Attributes
    ----------
    note : str
        What had to be set aside, as a sentence; empty if all was well.
    """

    def __init__(self, folder, learner):
        self.folder, self.learner, self.note = Path(folder), learner, ""
        self.path = self.folder / f"progress.{learner}.jsonl"

    def entries(self):
        """Return all sound entries in order, without the first line; () if there is no file.

        Raises
        ------
        SheetError
            If the file cannot be read.
        """
        if not self.path.exists():
            return ()
        data = self._read()
        whole, _, _ = data.rpartition(b"\n")
        if self._is_damaged(whole):
            with held(self.path, _PATIENCE):
                self._mend()
            whole, _, _ = self._read().rpartition(b"\n")
        return _sound(whole)

    def add(self, *entries):
        """Write entries at the end of the record; what is returned from is on the disk.

        Raises
        ------
        SheetError or OSError
            If it cannot be written.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        with held(self.path, _PATIENCE):
            self._mend()
            handle = os.open(self.path, open_flags(os.O_RDWR | os.O_CREAT | os.O_APPEND), 0o600)
            try:
                grow(handle, b"".join(written(entry) for entry in entries))
            finally:
                os.close(handle)

    def erase(self):
        """Begin a new record; nothing of the old one stays but the moment it was erased at."""
        if not self.folder.is_dir():
            return
        with held(self.path, _PATIENCE):
            erased = {"event": "erased", "time": now_text()}
            write_bytes_atomically(self.path, written(head(self.learner)) + written(erased))
            for piece in self.set_aside():
                piece.unlink(missing_ok=True)

    def set_aside(self):
        """Return the files that were set aside from this record, by name."""
        return tuple(sorted(self.folder.glob(f"{self.path.name}.aside-*")))

    # ------------------------------------------------------------------------- how it is mended
    def _read(self):
        try:
            if self.path.stat().st_size > LARGEST_BYTES:
                raise SheetError(f"progress: '{self.path.name}' is too large to be read.")
            return self.path.read_bytes()
        except OSError as problem:
            raise SheetError(
                f"progress: '{self.path.name}' cannot be read ({problem.strerror})."
            ) from None

    def _is_damaged(self, whole):
        """Whether a line that was written to its end is not as it was written."""
        first, *rest = whole.split(b"\n") if whole else [b""]
        start = parsed(first)
        if start is None or not is_head(start, self.learner):
            return True
        return any(line is None or "event" not in line for line in map(parsed, rest))

    def _mend(self):
        """Make the file one that can grow: there, whole, and with an end. The lock is held."""
        data = self._read() if self.path.exists() else b""
        whole, end, torn = data.rpartition(b"\n")
        if not data or (not end and not whole and _is_begun(torn, self.learner)):
            write_bytes_atomically(self.path, written(head(self.learner)))
        elif self._is_damaged(whole):
            aside = self._aside(data)
            kept = _sound(whole)
            lines = [head(self.learner), *kept]
            write_bytes_atomically(self.path, b"".join(map(written, lines)))
            self.note = (
                f"The record of your progress was damaged. {len(kept)} entries could be read and "
                f"were kept; the damaged file is {aside.name}."
            )
        elif torn:
            aside = self._aside(torn)
            handle = os.open(self.path, open_flags(os.O_RDWR))
            try:
                cut(handle, torn)
            finally:
                os.close(handle)
            self.note = f"The last entry was cut off by a stop; what there is of it: {aside.name}."

    def _aside(self, data):
        path = self.path.with_name(f"{self.path.name}.aside-{time.time_ns()}")
        write_bytes_atomically(path, data)
        settle_folder(self.folder)
        return path


def _sound(whole):
    found = (parsed(line) for line in whole.split(b"\n"))
    return tuple(line for line in found if line is not None and "event" in line)


def _is_begun(torn, learner):
    """Whether bytes are the beginning of a first line, torn."""
    return written(head(learner)).startswith(torn)
