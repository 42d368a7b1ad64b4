"""One writer at a time: a lock that the operating system lets go when its holder dies."""

import os
import time
from contextlib import contextmanager

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.keeping import open_flags

try:
    import fcntl
except ImportError:  # Windows
    import msvcrt

PATIENCE_SECONDS = 60.0
_PAUSE_SECONDS = 0.005


@contextmanager
def held(path, patience=PATIENCE_SECONDS):
    """Hold the lock of a file, in `NAME.lock` beside it; waits for its turn.

    Raises
    ------
    IntegrityError
        If another program still holds it after so many seconds.
    """
    place = path.with_name(path.name + ".lock")
    handle = os.open(place, open_flags(os.O_RDWR | os.O_CREAT), 0o600)
    try:
        end = time.monotonic() + patience
        while not taken(handle):
            if time.monotonic() > end:
                raise IntegrityError(
                    f"'{path.name}': another program has been writing to it for {patience:g} "
                    "seconds; wait until that is finished, then try again"
                )
            time.sleep(_PAUSE_SECONDS)
        yield
    finally:
        os.close(handle)


def taken(handle):
    """Take the lock without waiting; False if it is another's."""
    try:
        if os.name == "nt":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
