"""Run all checks of the course in its .venv, one step after the other."""

import subprocess

from fuelkit.command.browser import HOW_TO_GET, find_browser
from fuelkit.command.environment import DEVELOPER, Environment, prepare
from fuelkit.command.faults import CommandError
from fuelkit.command.install import child_variables

SUMMARY = "Check the course: all its tests, lessons and worked answers."

THOROUGH = "FUELKIT_THOROUGH"
"""Environment variable that is "1" where all tests are to run."""

_NO_TESTS_RAN = 5
_TWO_CORES = ("-n", "2", "--dist", "loadfile")
_FEW = 4
_CLASSROOM = "tests/classroom"
_NOTEBOOKS = (
    ("Worked answers: run, and compared with what is stored in them", "--nbval", ("solutions",)),
    ("Lessons and exercises: run from top to bottom", "--nbval-lax", ("lessons", "exercises")),
)


def add_arguments(parser):
    """Add the options of this command."""
    parser.add_argument(
        "--quick", action="store_true", help="leave out the browser tests and the notebooks"
    )
    parser.add_argument(
        "--thorough",
        action="store_true",
        help="also what is left out of the check of every day: half an hour in all",
    )
    parser.add_argument(
        "pytest_arguments",
        nargs="*",
        metavar="-- ARGUMENT",
        help="what stands after -- is given to pytest in the first step",
    )


def run(arguments):
    """Run every step, also after one has failed; return 1 if any has."""
    environment = Environment.of_project()
    if not (environment.root / "tests").is_dir():
        raise CommandError(
            "This is a learner's edition of the course, which holds no tests. "
            "To look for what is wrong on this machine, run: python -m fuelkit doctor"
        )
    prepare(environment, DEVELOPER)
    wanted = steps(environment.root, arguments)
    failed = []
    for number, (title, pytest_arguments) in enumerate(wanted, start=1):
        print(f"\nStep {number} of {len(wanted)}. {title}", flush=True)
        if pytest_arguments and _pytest(environment, pytest_arguments, arguments.thorough):
            failed.append(f"{number}. {title}")
    if failed:
        print("\nFailed:\n" + "\n".join(f"  {line}" for line in failed))
        return 1
    print("\nAll steps passed.")
    return 0


def steps(root, arguments):
    """Return the steps as (title, arguments of pytest); no arguments where there is none to run."""
    # A classroom of many programs, which would slow down what else is tested at the same time.
    classroom = [_CLASSROOM] if (root / _CLASSROOM).is_dir() else []
    alone = [f"--ignore={folder}" for folder in classroom]
    extra = [*alone, *_TWO_CORES, *arguments.pytest_arguments]
    if arguments.quick:
        return [("Tests, without those in a browser", ["--ignore=tests/browser", *extra])]
    browser = find_browser()
    title = f"Tests (browser: {browser})" if browser else f"Tests. {HOW_TO_GET}"
    notebooks = (_notebook_step(root, *step) for step in _NOTEBOOKS)
    return [(title, extra), *notebooks, *(("The classroom server", [f]) for f in classroom)]


def _notebook_step(root, title, option, folders):
    found = {name: len(list((root / name).rglob("*.ipynb"))) for name in folders}
    filled = [name for name, count in found.items() if count]
    if not filled:
        return f"{title}: no notebook there, nothing to run", []
    # To start two workers takes longer than they save on a few notebooks.
    cores = _TWO_CORES if sum(found.values()) > _FEW else ()
    return title, [option, *cores, *filled]


def _pytest(environment, arguments, is_thorough):
    """Run pytest in the .venv; true if it failed or ran nothing."""
    command = [environment.python, "-m", "pytest", *arguments]
    variables = child_variables(**({THOROUGH: "1"} if is_thorough else {}))
    code = subprocess.call(command, cwd=environment.root, env=variables)
    if code == _NO_TESTS_RAN:
        print("No test ran: that counts as failed.", flush=True)
    return code != 0
