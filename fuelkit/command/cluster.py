"""Spread work over an existing Dask cluster: the same functions and results, other machines.

Each machine needs this very kit, and the folders that are named, under the same paths: papers,
keys and feedback are written where they are made.
"""

from contextlib import nullcontext

from fuelkit.assess.papers.issue import over_cores
from fuelkit.command.faults import CommandError

HELP = "address of a Dask scheduler to spread the work over"


def workers(address):
    """Return a context whose value maps a function over a sequence: here, or on a cluster."""
    return Cluster(address) if address else nullcontext(over_cores)


class Cluster:
    """A Dask scheduler that is running already.

    Parameters
    ----------
    address : str
        Such as "tcp://10.0.0.5:8786".

    Raises
    ------
    CommandError
        If Dask is not installed, or nothing answers there.
    """

    def __init__(self, address):
        try:
            from distributed import Client
        except ModuleNotFoundError:
            raise CommandError(
                "--cluster needs the package 'distributed', which the course does not install by "
                "itself: .venv/bin/python -m pip install 'distributed>=2026.1'"
            ) from None
        try:
            self._client = Client(address, timeout=10)
        except (OSError, ValueError, TimeoutError) as problem:
            raise CommandError(f"--cluster {address}: nothing answers there ({problem}).") from None

    def __enter__(self):
        return self.map

    def __exit__(self, *_):
        self._client.close()
        return False

    def map(self, function, items):
        """Map a function over a sequence; the results come in order."""
        futures = self._client.map(function, list(items), pure=False)
        for future in futures:
            yield future.result()
