"""The course's own Python: the folder .venv, in which state it is, and how it is made or mended."""

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from fuelkit.command import lock
from fuelkit.command.faults import CommandError, disk_fault, install_fault
from fuelkit.command.install import child_variables, has_begun, install
from fuelkit.command.stamp import Stamp, fingerprints, read_stamp, write_stamp

LEARNER = ("requirements.txt",)
"""What the course itself needs."""

DEVELOPER = (
    "requirements.txt",
    "tests/requirements.txt",
    "fuelkit/classroom/data/requirements.txt",
)
"""What the tests need too."""

_OLDEST_PYTHON = (3, 11)
_ASK = (
    "import importlib.util, json, sys, sysconfig; "
    "print(json.dumps([sys.version_info[:2], sysconfig.get_path('purelib'), "
    "importlib.util.find_spec('pip') is not None]))"
)


_REBUILD = "Make it again with: python -m fuelkit open --rebuild"
MISSING_MODULE = (
    "Python's own module '{module}' is missing, which makes the folder for the course's packages. "
    "On Debian or Ubuntu: sudo apt install python3-venv. Elsewhere, install Python from "
    "python.org. Then run the same command again."
)
_IN_USE = (
    "The folder .venv is in use. Close JupyterLab and the other windows of the course, "
    "then run the same command again."
)


class Condition(Enum):
    """What state a .venv is in; the value is told to the user before it is mended."""

    ABSENT = (
        "Setting up the course, in its folder .venv. This is done once.\n"
        "It needs a network and takes a minute or more."
    )
    INTERRUPTED = "The last installation was interrupted. It is made again from the beginning."
    BROKEN = "The folder .venv does not work on this machine. It is made again."
    UNSTAMPED = "Installing the course's packages in the .venv that is there."
    OUTDATED = "The course needs other packages than before. They are installed now."
    CURRENT = "The packages are all there."


FROM_NOTHING = (Condition.ABSENT, Condition.INTERRUPTED, Condition.BROKEN)
"""Conditions in which what is there is of no use."""


@dataclass(frozen=True)
class Environment:
    """Where the parts of a course's .venv are. Frozen; holds no state of its own.

    Attributes
    ----------
    root : Path
        The folder of the project, in which .venv is or will be.
    name : str
        Of the folder; another one than .venv for what must stay apart from the course.
    """

    root: Path
    name: str = ".venv"

    @classmethod
    def of_project(cls):
        """Return the environment of the project that this file belongs to."""
        return cls(Path(__file__).resolve().parents[2])

    @property
    def folder(self):
        """The .venv itself."""
        return self.root / self.name

    @property
    def python(self):
        """The interpreter in it."""
        return self.folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")

    @property
    def stamp(self):
        """What is installed in it, and whether all of it is."""
        return self.folder / "fuelkit-stamp.json"

    @property
    def log(self):
        """All that pip printed in the last installation."""
        return self.folder / "install.log"

    @property
    def is_running_here(self):
        """Whether this very process runs in it."""
        return Path(sys.prefix).resolve() == self.folder.resolve()


@dataclass(frozen=True)
class Interpreter:
    """What the interpreter of a .venv answers. Frozen."""

    version: tuple
    site_packages: Path
    has_pip: bool


def ask_interpreter(environment):
    """Return the `Interpreter` of a .venv, or None if there is none that runs."""
    try:
        answer = subprocess.run(
            [environment.python, "-c", _ASK],
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=60,
            env=child_variables(),
        )
        version, site_packages, has_pip = json.loads(answer.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return None
    return Interpreter(tuple(version), Path(site_packages), has_pip)


def condition_of(environment, requirements):
    """Return the `Condition` of a .venv for these requirement files."""
    stamp = read_stamp(environment.stamp)
    if stamp is None and not environment.python.exists():
        return Condition.ABSENT
    if stamp and not stamp.complete:
        return Condition.INTERRUPTED
    interpreter = ask_interpreter(environment)
    if interpreter is None or not interpreter.has_pip or interpreter.version < _OLDEST_PYTHON:
        return Condition.BROKEN
    if stamp is None:
        return Condition.UNSTAMPED
    if stamp.python != interpreter.version:
        return Condition.BROKEN
    wanted = fingerprints(environment.root, requirements)
    return Condition.CURRENT if wanted.items() <= stamp.files.items() else Condition.OUTDATED


def missing_module():
    """Return the part of Python that makes a .venv and is not installed, or None."""
    for module in ("venv", "ensurepip"):
        found = importlib.util.find_spec(module)
        if found is None or found.origin is None:  # an empty folder has no origin
            return module
    return None


def prepare(environment, requirements, *, rebuild=False):
    """Make sure that a .venv holds these requirements; do nothing when it does already.

    Parameters
    ----------
    environment : Environment
        The .venv to make or to mend.
    requirements : sequence of str
        Requirement files, relative to the project.
    rebuild : bool
        Make it from nothing, whatever is there.

    Raises
    ------
    CommandError
        With a sentence that says what is wrong and how to mend it.
    """
    if not rebuild and condition_of(environment, requirements) is Condition.CURRENT:
        return
    started = time.monotonic()
    try:
        with lock.held(environment.folder) as held:
            condition = condition_of(environment, requirements)
            if rebuild or condition in FROM_NOTHING:
                _say(environment, Condition.ABSENT if rebuild else condition)
                _create(environment)
                _install(environment, requirements, held=held)
            elif condition is not Condition.CURRENT:
                _say(environment, condition)
                _install(environment, requirements, held=held)
    except OSError as error:
        raise disk_fault(error) from error
    print(f"Ready, after {time.monotonic() - started:.0f} s.\n", flush=True)


def _say(environment, condition):
    print(condition.value.replace(".venv", environment.name), flush=True)


def _create(environment):
    """Make an empty .venv, marked as not complete from its first instant."""
    if module := missing_module():
        raise CommandError(MISSING_MODULE.format(module=module))
    print("  Making a Python for the course alone", flush=True)
    _empty(environment.folder)
    write_stamp(environment.stamp, Stamp(complete=False))
    base = getattr(sys, "_base_executable", None) or sys.executable
    # In two steps: in one, venv would keep the reason to itself when the second fails.
    _run([base, "-m", "venv", "--without-pip", environment.folder])
    _run([environment.python, "-m", "ensurepip", "--default-pip"])


def _run(command):
    """Run a step of making a .venv; a failure becomes a sentence."""
    done = subprocess.run(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        env=child_variables(),
    )
    if done.returncode:
        raise install_fault(done.stdout)


def _install(environment, requirements, *, held):
    """Install with the stamp at "not complete"; put it back if pip failed before any change."""
    interpreter = ask_interpreter(environment)
    if interpreter is None:
        raise CommandError(f"The Python in {environment.folder} does not start. {_REBUILD}")
    before = read_stamp(environment.stamp)
    files = before.files if before else {}
    write_stamp(environment.stamp, Stamp(complete=False, files=files))
    try:
        install(environment, interpreter, requirements, held=held)
    except BaseException:
        if not has_begun(environment):
            write_stamp(environment.stamp, before)
        raise
    _write_path_file(environment, interpreter)
    files = {**files, **fingerprints(environment.root, requirements)}
    write_stamp(environment.stamp, Stamp(True, interpreter.version, files))


def _empty(folder):
    """Remove all that is in the folder but the lock, which is held."""
    try:
        for part in folder.iterdir():
            if part.is_dir() and not part.is_symlink():
                shutil.rmtree(part)
            elif part.name != lock.NAME:
                part.unlink()
    except PermissionError as error:
        if os.name != "nt":
            raise
        raise CommandError(_IN_USE) from error


def _write_path_file(environment, interpreter):
    """Let every program of the .venv import the kit, wherever it is started.

    The path is relative, so the folder of the course may be moved, and may have any letters.
    """
    path = os.path.relpath(environment.root, interpreter.site_packages)
    (interpreter.site_packages / "fuelkit.pth").write_text(f"{path}\n", encoding="ascii")
