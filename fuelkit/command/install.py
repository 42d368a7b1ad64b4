"""Run pip in a .venv: its messages go to a log, and a count that a person can follow is shown."""

import os
import subprocess
import time

from fuelkit.command.faults import install_fault
from fuelkit.command.progress import Progress

_POLL = 0.2
_PIP = (
    *("-m", "pip", "install", "--prefer-binary", "--no-input", "--no-color"),
    *("--progress-bar", "off", "--disable-pip-version-check", "--no-warn-script-location"),
)
# Set by users for other Pythons; in the course's own they would bring in foreign packages.
_FOREIGN = ("PYTHONPATH", "PYTHONHOME", "PYTHONSTARTUP", "PIP_USER", "PIP_TARGET", "PIP_PREFIX")


def child_variables(**more):
    """Return the environment variables for a process of the .venv: only its own packages."""
    variables = {name: value for name, value in os.environ.items() if name not in _FOREIGN}
    own = {"PYTHONNOUSERSITE": "1", "PYTHONUTF8": "1", "PYTHONUNBUFFERED": "1", "PIP_USER": "0"}
    return {**variables, **own, **more}


def install(environment, interpreter, requirements, *, held):
    """Install requirement files into a .venv and show how far it is.

    Parameters
    ----------
    environment : Environment
        Whose interpreter runs pip, and whose `log` keeps all of pip's messages.
    interpreter : Interpreter
        Where its packages are put.
    requirements : sequence of str
        The requirement files, relative to the project.
    held : int
        Descriptor of the lock. pip shares it, so that the lock stays taken as long as pip
        runs, even if the process that started it is killed.

    Raises
    ------
    CommandError
        If pip fails; the sentence says what to do.
    """
    command = [environment.python, *_PIP]
    for name in requirements:
        command += ["-r", environment.root / name]
    progress = Progress()
    with (
        open(environment.log, "wb") as log,
        open(environment.log, encoding="utf-8", errors="replace") as lines,
    ):
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            cwd=environment.root,
            env=child_variables(),
            pass_fds=(held,) if os.name == "posix" else (),
        )
        try:
            _follow(process, lines, progress, interpreter.site_packages)
        finally:
            _end(process)
    if process.returncode:
        output = environment.log.read_text(encoding="utf-8", errors="replace")
        python = ".".join(str(part) for part in interpreter.version)
        raise install_fault(output, python=python, log=environment.log)
    progress.finish()


def has_begun(environment):
    """Whether the last run of pip went beyond fetching and changed what is installed."""
    if not environment.log.exists():
        return False
    output = environment.log.read_text(encoding="utf-8", errors="replace")
    return "Installing collected packages" in output


def _follow(process, lines, progress, site_packages):
    """Read the log as it grows until pip has ended."""
    before, pending, running = _count(site_packages), "", True
    while running:
        running = process.poll() is None
        *whole, pending = (pending + lines.read()).split("\n")
        for line in whole:
            progress.read(line)
        progress.installed(_count(site_packages) - before)
        if running:
            time.sleep(_POLL)


def _count(site_packages):
    return sum(1 for _ in site_packages.glob("*.dist-info"))


def _end(process):
    """Leave no pip behind when the user stops the command."""
    if process.poll() is None:
        process.terminate()
        process.wait()
