"""The runtime: Python for the browser, as its makers publish it. From a folder, or fetched once.

A school that has the whole published runtime in a folder gives it; otherwise the few files that
the course needs are fetched from the address that the notebook's kernel names itself, and kept.
"""

import hashlib
import json
import os
import re
import shutil
import subprocess
import tempfile
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path

from fuelkit.command.faults import CommandError
from fuelkit.command.install import child_variables
from fuelkit.command.website.needs import LOCK

ADDRESS_VARIABLE = "FUELKIT_RUNTIME_ADDRESS"
"""Environment variable that names another address to fetch the runtime from: an own copy."""

ENTRY = "pyodide.mjs"
_SECONDS = 60
_ASK = (
    "import json, jupyterlite_pyodide_kernel.constants as c; "
    "print(json.dumps([c.PYODIDE_VERSION, c.PYODIDE_CDN_URL]))"
)


@dataclass(frozen=True)
class Fitting:
    """Which runtime fits the notebook's kernel, and where it is published. Frozen."""

    version: str
    address: str


def fitting(environment):
    """Ask the environment that builds the site which runtime fits.

    Raises
    ------
    CommandError
        If it does not answer.
    """
    done = subprocess.run(
        [environment.python, "-c", _ASK], capture_output=True, text=True, env=child_variables()
    )
    try:
        version, address = json.loads(done.stdout)
    except ValueError:
        fault = f"{environment.folder} does not work. Remove it, then run the same command again."
        raise CommandError(fault) from None
    return Fitting(version, os.environ.get(ADDRESS_VARIABLE, address).rstrip("/"))


class Given:
    """A runtime in a folder of the user's.

    Parameters
    ----------
    folder : Path
        With `pyodide.mjs` in it.
    version : str
        What it must be.

    Raises
    ------
    CommandError
        If it is none, or of another version.
    """

    def __init__(self, folder, version):
        self.folder = Path(folder)
        self._check(version)

    def _check(self, version):
        if not (self.folder / ENTRY).is_file() or not (self.folder / LOCK).is_file():
            raise CommandError(
                f"--runtime is '{self.folder}'; it must be the folder with {ENTRY} and {LOCK}."
            )
        text = (self.folder / ENTRY).read_text(encoding="utf-8", errors="replace")
        if not re.search(rf'["\'`/@v]{re.escape(version)}["\'`/]', text):
            raise CommandError(
                f"--runtime is '{self.folder}'; it is not version {version}, the one that fits. "
                f"Get pyodide {version}."
            )

    def bring(self, name, to, sha256=""):
        """Copy a file of the runtime into a folder; whether it is there to be copied."""
        found = self.folder / name
        if not found.is_file():
            return False
        if sha256 and digest(found) != sha256:
            raise CommandError(f"--runtime: {name} is damaged. Get the runtime again.")
        shutil.copyfile(found, to / name)
        return True


class Published:
    """A runtime as it is published, each file fetched once and kept.

    Parameters
    ----------
    address : str
    kept : Path
        Where what was fetched is kept.
    version : str
        For the sentence that is said when nothing can be fetched.
    """

    def __init__(self, address, kept, version):
        self.address, self.kept, self.version = address, kept, version

    def bring(self, name, to, sha256=""):
        """Copy a file of the runtime into a folder, fetched if need be; always true.

        Raises
        ------
        CommandError
            If it cannot be fetched, or is not what the runtime's list says.
        """
        found = self.kept / name
        if not found.is_file() or (sha256 and digest(found) != sha256):
            print(f"  Fetching {name}", flush=True)
            self._fetch(name, sha256)
        shutil.copyfile(found, to / name)
        return True

    def _fetch(self, name, sha256):
        self.kept.mkdir(parents=True, exist_ok=True)
        place = f"{self.address}/{name}"
        with tempfile.TemporaryDirectory(dir=self.kept) as folder:
            part = Path(folder) / name
            try:
                with urllib.request.urlopen(place, timeout=_SECONDS) as come:
                    part.write_bytes(come.read())
            except (OSError, urllib.error.URLError) as problem:
                raise self._unreachable(place, problem) from problem
            if sha256 and digest(part) != sha256:
                raise CommandError(f"{place} is not what the runtime's list says. Try again later.")
            os.replace(part, self.kept / name)

    def _unreachable(self, place, problem):
        return CommandError(
            f"{place} could not be fetched ({getattr(problem, 'reason', problem)}). Without that "
            f"network: get the whole runtime, pyodide {self.version}, on another machine, unpack "
            f"it, and add --runtime FOLDER, the folder that holds {ENTRY}."
        )


def digest(path):
    """Return the SHA-256 of a file."""
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
