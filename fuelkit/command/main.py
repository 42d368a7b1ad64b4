"""Choose a command and run it: here if its packages are here, otherwise in the .venv."""

import argparse
import ast
import difflib
import importlib.util
import subprocess
import sys
from importlib import resources

from fuelkit.command.environment import LEARNER, Environment, prepare
from fuelkit.command.faults import CommandError, wrapped
from fuelkit.physics.errors import FuelkitError

COMMANDS = (
    "open", "handout", "bundle", "site", "classroom", "paper", "transcribe", "mark", "reasons",
    "verify", "purge", "aircraft", "guide", "doctor", "test",
)  # fmt: skip
"""The commands in the order in which they are listed: each is a module of this room."""

_CAUTION = (
    "Training aid, not for operational use; the approved manuals, local rules and licensed\n"
    "practice prevail."
)


def main(arguments):
    """Run one command line and return its exit code; a known fault becomes one sentence.

    Parameters
    ----------
    arguments : list of str
        What stands after ``python -m fuelkit``.

    Returns
    -------
    int
        0 when all went well, 1 when something is wrong, 2 for a command line that cannot be
        read, 130 when stopped from the keyboard.
    """
    _make_printable(sys.stdout, sys.stderr)
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        print(overview())
        return 0
    name, *rest = arguments
    if name not in COMMANDS:
        print(_unknown(name), file=sys.stderr)
        return 2
    try:
        return _run(name, rest)
    except FuelkitError as error:
        print(f"\n{wrapped(str(error))}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130


def overview():
    """Return the list of commands with one plain line each."""
    width = max(len(name) for name in COMMANDS)
    rows = [f"  python -m fuelkit {name.ljust(width)}   {summary(name)}" for name in COMMANDS]
    first = "Learn an airliner's fuel system: predict, commit, then see the computed flight."
    last = "Add --help to a command to see its options."
    return "\n".join([first, "", *rows, "", last, _CAUTION])


def summary(name):
    """Return a command's one line, read without importing what the command needs."""
    source = (resources.files("fuelkit.command") / f"{name}.py").read_text(encoding="utf-8")
    for statement in ast.parse(source).body:
        if isinstance(statement, ast.Assign) and ast.unparse(statement.targets[0]) == "SUMMARY":
            return ast.literal_eval(statement.value)
    raise FuelkitError(f"Command '{name}': SUMMARY is missing. Add it to its module.")


def _run(name, rest):
    """Run a command here, or in the .venv when a package it needs is not installed here."""
    try:
        module = importlib.import_module(f"fuelkit.command.{name}")
        for package in getattr(module, "NEEDS", ()):  # what it imports only when it comes to it
            if importlib.util.find_spec(package) is None:
                raise ModuleNotFoundError(package, name=package)
    except ModuleNotFoundError as missing:
        environment = Environment.of_project()
        if (missing.name or "").startswith("fuelkit"):
            raise
        if environment.is_running_here:
            raise CommandError(
                f"Package {missing.name} is missing from .venv. "
                "Run: python -m fuelkit open --rebuild"
            ) from missing
        prepare(environment, LEARNER)
        return subprocess.call([environment.python, "-m", "fuelkit", name, *rest])
    parser = argparse.ArgumentParser(
        prog=f"python -m fuelkit {name}", description=module.SUMMARY, epilog=_CAUTION
    )
    module.add_arguments(parser)
    return module.run(parser.parse_args(rest))


def _unknown(name):
    near = difflib.get_close_matches(name, COMMANDS, n=1)
    advice = f"Did you mean '{near[0]}'?" if near else f"The commands are {', '.join(COMMANDS)}."
    return f"There is no command '{name}'. {advice}"


def _make_printable(*streams):
    """Let a console that lacks a letter (of a folder's name) show a mark instead of failing."""
    for stream in streams:
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
