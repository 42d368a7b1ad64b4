"""Look at this machine and the course on it, and say what is wrong and how to mend it."""

import json
import platform
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass

from fuelkit.command import lab
from fuelkit.command.browser import find_browser
from fuelkit.command.environment import (
    DEVELOPER,
    FROM_NOTHING,
    LEARNER,
    MISSING_MODULE,
    Condition,
    Environment,
    ask_interpreter,
    condition_of,
    missing_module,
)
from fuelkit.command.faults import wrapped

SUMMARY = "Look for what is wrong on this machine, and say how to mend it."

_SPACE_NEEDED = 1_000_000_000
_OPEN = "Run: python -m fuelkit open"
_REBUILD = "Run: python -m fuelkit open --rebuild"
_MEND = {
    Condition.ABSENT: f"The course is not set up yet. {_OPEN}",
    Condition.INTERRUPTED: f"The last installation was interrupted. {_OPEN}",
    Condition.BROKEN: f"The folder .venv does not work on this machine. {_OPEN}",
    Condition.UNSTAMPED: f"The packages in .venv were not checked yet. {_OPEN}",
    Condition.OUTDATED: f"The course needs other packages than are installed. {_OPEN}",
}


@dataclass(frozen=True)
class Finding:
    """One line of the report, and what is wrong with it, if anything. Frozen."""

    name: str
    what: str
    wrong: str = ""


def add_arguments(parser):
    """Add the options of this command: it has none."""


def run(arguments):
    """Print what is found and then what is wrong; return 1 if anything is."""
    environment = Environment.of_project()
    print("Looking ...", flush=True)
    findings = [
        Finding("Python", f"{platform.python_version()} on {platform.system()} ({sys.executable})"),
        Finding("Course", str(environment.root)),
        *_environment(environment),
        _writable("Course folder", environment.root),
        _writable("Answers folder", environment.root / "answers"),
        _space(environment),
        _browser(),
    ]
    print(report(findings))
    return 1 if any(finding.wrong for finding in findings) else 0


def report(findings):
    """Return the findings as a table, followed by the list of what is wrong."""
    width = max(len(finding.name) for finding in findings)
    rows = [f"  {finding.name.ljust(width)}  {finding.what}" for finding in findings]
    wrong = [finding.wrong for finding in findings if finding.wrong]
    listed = [wrapped(f"  {n}. {text}", indent="     ") for n, text in enumerate(wrong, start=1)]
    return "\n".join([*rows, "", "What is wrong", *(listed or ["  Nothing found wrong."])])


def _environment(environment):
    """Return the findings about the .venv and, where it runs, what is in it."""
    condition = condition_of(environment, LEARNER)
    if condition in FROM_NOTHING:
        module = missing_module()
        missing = MISSING_MODULE.format(module=module) if module else ""
        return [Finding("Environment", "none that works", missing or _MEND[condition])]
    version = ".".join(str(part) for part in ask_interpreter(environment).version)
    state = "up to date" if condition is Condition.CURRENT else "not up to date"
    found = Finding("Environment", f".venv, Python {version}, {state}", _MEND.get(condition, ""))
    there = all((environment.root / name).exists() for name in DEVELOPER)  # not for learners
    tests = there and condition is Condition.CURRENT
    tests = tests and condition_of(environment, DEVELOPER) is condition
    return [found, *_inside(environment, DEVELOPER if tests else LEARNER)]


def _inside(environment, requirements):
    """Return the findings about the kernel and the packages, asked from the .venv itself."""
    files = [environment.root / name for name in requirements]
    answer = subprocess.run(
        [environment.python, "-m", "fuelkit.command.probe", *files],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        cwd=environment.root,
        env=lab.variables(environment.folder / "jupyter"),
    )
    try:
        answer = json.loads(answer.stdout.splitlines()[-1])
    except (ValueError, IndexError):
        last = (answer.stderr.strip().splitlines() or ["nothing"])[-1]
        wrong = f"The packages in .venv do not work ({last}). {_REBUILD}"
        return [Finding("Packages", "cannot be asked", wrong)]
    return [_kernel(answer), *(_package(*row) for row in answer["packages"])]


def _kernel(answer):
    kernel = answer["kernel"]
    if kernel["error"]:
        wrong = f"The notebooks' kernel does not work ({kernel['error']}). {_REBUILD}"
        return Finding("Kernel", "does not work", wrong)
    if kernel["prefix"] != answer["prefix"]:
        wrong = f"The notebooks' kernel runs in {kernel['prefix']} instead of .venv. {_REBUILD}"
        return Finding("Kernel", "runs in another Python", wrong)
    return Finding("Kernel", "starts, answers and finds the course")


def _package(name, version, wanted, fits):
    if version is None:
        return Finding(name, "missing", f"Package {name} is missing from .venv. {_REBUILD}")
    wrong = f"Package {name} is {version}; it must be {wanted}. {_REBUILD}"
    return Finding(name, version, "" if fits else wrong)


def _writable(name, folder):
    """Write a file and delete it: what the system says about rights is not always true."""
    if not folder.exists():
        return Finding(name, "not made yet")
    try:
        with tempfile.TemporaryFile(dir=folder):
            return Finding(name, "can be written to")
    except OSError as error:
        advice = "Move the course to a folder of your own, such as Documents."
        wrong = f"{folder} cannot be written to ({error.strerror}). {advice}"
        return Finding(name, "cannot be written to", wrong)


def _space(environment):
    free = shutil.disk_usage(environment.root).free
    needed = 0 if environment.python.exists() else _SPACE_NEEDED
    what = f"{free / 1e9:.1f} GB free"
    if free >= max(needed, _SPACE_NEEDED / 20):
        return Finding("Disk", what)
    return Finding("Disk", what, f"The disk is nearly full ({what}). Free at least 1 GB.")


def _browser():
    """Return where the tests' browser is; without one nothing is wrong for a learner."""
    return Finding("Browser for tests", find_browser() or "none (only the tests need one)")
