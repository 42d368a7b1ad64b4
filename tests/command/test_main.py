"""The command line lists what it can do and answers a fault with a sentence."""

import importlib
import subprocess
import sys

import pytest

from fuelkit.command import main as command_line
from fuelkit.command.faults import CommandError

_ONLY_STANDARD = """
import importlib, pkgutil, sys
class Refuse:
    def find_spec(self, name, path=None, target=None):
        first = name.partition(".")[0]
        if first != "fuelkit" and first not in sys.stdlib_module_names:
            raise ModuleNotFoundError(f"not in the standard library: {name}", name=name)
sys.meta_path.insert(0, Refuse())
import fuelkit.command
for module in pkgutil.iter_modules(fuelkit.command.__path__):
    if module.name not in sys.argv[1:]:
        importlib.import_module(f"fuelkit.command.{module.name}")
"""
# probe runs in the .venv alone; mark marks and aircraft flies, for which they need the packages.
_NEED_PACKAGES = (
    "probe", "mark", "mark_papers", "paper", "transcribe", "reasons", "verify", "purge",
    "aircraft", "bundle", "site", "handout", "cluster",
)  # fmt: skip


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"]])
def test_the_commands_are_listed_with_a_line_each(arguments, capsys):
    """Alone or with --help, every command stands with its summary."""
    assert command_line.main(arguments) == 0

    output = capsys.readouterr().out
    for name in command_line.COMMANDS:
        assert f"python -m fuelkit {name}" in output
        assert command_line.summary(name) in output
    assert "Training aid, not for operational use" in output


@pytest.mark.parametrize("name", command_line.COMMANDS)
def test_a_command_is_a_module_with_three_names(name):
    """SUMMARY is one short line; add_arguments and run can be called."""
    module = importlib.import_module(f"fuelkit.command.{name}")

    assert command_line.summary(name) == module.SUMMARY
    assert "\n" not in module.SUMMARY
    assert len(module.SUMMARY) <= 90
    assert callable(module.add_arguments)
    assert callable(module.run)


def test_a_mistyped_command_is_answered_with_the_nearest(capsys):
    """The answer is a sentence; the exit code is that of a wrong command line."""
    assert command_line.main(["opne"]) == 2
    assert "There is no command 'opne'. Did you mean 'open'?" in capsys.readouterr().err


def test_an_unknown_command_is_answered_with_the_list(capsys):
    """Where no command is near, all are named."""
    assert command_line.main(["xyzzy"]) == 2
    assert "The commands are open, " in capsys.readouterr().err


@pytest.mark.parametrize(
    ("fault", "code", "words"),
    [
        (CommandError("The disk is full. Free some."), 1, "The disk is full. Free some."),
        (KeyboardInterrupt(), 130, "Stopped."),
    ],
)
def test_a_known_fault_ends_in_a_sentence(fault, code, words, monkeypatch, capsys):
    """No traceback: the message and an exit code."""

    def fail(arguments):
        raise fault

    monkeypatch.setattr("fuelkit.command.doctor.run", fail)

    assert command_line.main(["doctor"]) == code
    assert capsys.readouterr().err.strip() == words


def test_the_command_line_needs_the_standard_library_only():
    """Before anything is installed, each command that sets up or looks can be imported."""
    subprocess.run([sys.executable, "-c", _ONLY_STANDARD, *_NEED_PACKAGES], check=True)


def _add_weigh(course, source):
    """Give a course one command more."""
    room = course.root / "fuelkit" / "command"
    (room / "weigh.py").write_text(source)
    table = room / "main.py"
    table.write_text(table.read_text().replace("COMMANDS = (", 'COMMANDS = ("weigh", '))


def test_a_command_whose_package_is_not_here_runs_in_the_venv(course):
    """The .venv has `packet`, this Python has not; words and exit code come through."""
    _add_weigh(
        course,
        "import packet\n"
        "SUMMARY = 'Weigh.'\n"
        "def add_arguments(parser):\n    parser.add_argument('what')\n"
        "def run(arguments):\n    print('weighed', arguments.what, packet.VERSION)\n    return 7\n",
    )

    assert course.run("weigh", "fuel") == (7, "weighed fuel 1.0")
    assert "weigh" in course.run()[1]


def test_a_package_that_is_needed_only_later_is_looked_for_first(course):
    """Half a result would be worse than none: a command says what it will need."""
    _add_weigh(
        course,
        "NEEDS = ('packet',)\n"
        "SUMMARY = 'Weigh.'\n"
        "def add_arguments(parser):\n    pass\n"
        "def run(arguments):\n"
        "    print('begun')\n    import packet\n    print(packet.VERSION)\n    return 7\n",
    )

    assert course.run("weigh") == (7, "begun 1.0")


def test_a_package_that_is_missing_in_the_venv_is_named(course):
    """Not even the .venv has it: a sentence says how to install again."""
    _add_weigh(
        course,
        "SUMMARY = 'Weigh.'\nimport no_such_packet\n",
    )

    code, output = course.run("weigh")

    assert code == 1
    assert output == (
        "Package no_such_packet is missing from .venv. Run: python -m fuelkit open --rebuild"
    )
