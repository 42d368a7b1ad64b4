"""One installation at a time: a lock that the operating system lets go when its holder dies."""

from contextlib import contextmanager

from fuelkit.assess.integrity.lock import taken
from fuelkit.command.faults import CommandError

NAME = "install.lock"

_BUSY = (
    "The course is being installed already, in another window or by a run that is just ending. "
    "Wait until that is finished, then run the same command again."
)


@contextmanager
def held(folder):
    """Hold the folder's lock; gives its file descriptor, which a child process may share.

    Parameters
    ----------
    folder : Path
        Made if it is not there.

    Raises
    ------
    CommandError
        If another process holds the lock.
    OSError
        If the folder cannot be made or written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with open(folder / NAME, "ab") as file:
        if not taken(file.fileno()):
            raise CommandError(_BUSY)
        yield file.fileno()
