"""Files of lines that only grow: written durably, read one by one, mended after a stop."""

import os

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.entry import LARGEST_LINE
from fuelkit.assess.integrity.keeping import open_private
from fuelkit.assess.sheet import settle_folder

_CHUNK = 65_536


def lines(path):
    """Yield (number from 1, line without its end, whether it is whole) of a file; none without one.

    A line is whole if its end was written. One that is larger than any here counts as not whole,
    and nothing after it is read.

    Raises
    ------
    IntegrityError
        If the file can be read by others, or is no plain file.
    """
    if not os.path.lexists(path):
        return
    with os.fdopen(open_private(path, os.O_RDONLY), "rb") as file:
        number = 0
        while line := file.readline(LARGEST_LINE + 1):
            number += 1
            yield number, line.removesuffix(b"\n"), line.endswith(b"\n")
            if not line.endswith(b"\n"):
                return


def open_to_grow(path):
    """Return the handle of a file to read and to write at its end; makes it, for one reader."""
    is_new = not path.exists()
    handle = open_private(path, os.O_RDWR | os.O_CREAT | os.O_APPEND)
    if is_new:
        settle_folder(path.parent)
    return handle


def grow(handle, data):
    """Write at the end of a file and wait until it is on the disk."""
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(handle, rest) :]
    os.fsync(handle)


def tail(handle):
    """Return the last whole line of a file, None if there is none, and the torn bytes after it."""
    end = os.lseek(handle, 0, os.SEEK_END)
    data = b""
    while end and data.count(b"\n") < 2 and len(data) <= 2 * LARGEST_LINE:
        start = max(0, end - _CHUNK)
        os.lseek(handle, start, os.SEEK_SET)
        data = _read(handle, end - start) + data
        end = start
    whole, newline, torn = data.rpartition(b"\n")
    if end and not newline:
        raise IntegrityError(
            "mark log: what stands at its end is larger than any entry; go back to a whole copy"
        )
    return (whole.rpartition(b"\n")[2] if newline else None), torn


def _read(handle, length):
    data = b""
    while len(data) < length:
        piece = os.read(handle, length - len(data))
        if not piece:
            raise IntegrityError("mark log: it became shorter while it was read")
        data += piece
    return data


def cut(handle, torn):
    """Take torn bytes away from the end of a file, for good."""
    os.ftruncate(handle, os.lseek(handle, 0, os.SEEK_END) - len(torn))
    os.fsync(handle)
