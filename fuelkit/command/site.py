"""Build a site that needs no installation: lessons, exercises and Python, run by the browser."""

import time
from pathlib import Path

from fuelkit.assess.edition.secrets_here import secrets_here
from fuelkit.command.environment import Environment, prepare
from fuelkit.command.faults import disk_fault
from fuelkit.command.website.build import build
from fuelkit.command.website.runtime import Given, Published, fitting

SUMMARY = "Build a site for a school's web server: the course in the browser, nothing to install."

FOLDER = ".venv-site"
"""The environment of its own that builds the site."""

SITE = ("fuelkit/command/website/requirements.txt",)
"""What it needs."""


def add_arguments(parser):
    """Add the options of this command."""
    parser.add_argument("folder", type=Path, help="the folder to make; an older site is replaced")
    parser.add_argument(
        "--runtime",
        type=Path,
        metavar="FOLDER",
        help="folder that holds pyodide.mjs, if Python for the browser is there already; "
        "otherwise it is fetched once",
    )
    parser.add_argument(
        "--incomplete",
        action="store_true",
        help="build also with a runtime that lacks numpy, to try the site itself: no lesson runs",
    )


def run(arguments):
    """Build the site and say what to do with it."""
    environment = Environment(Environment.of_project().root, FOLDER)
    prepare(environment, SITE)
    started = time.monotonic()
    fits = fitting(environment)
    kept = environment.folder / "runtime" / fits.version
    runtime = (
        Given(arguments.runtime, fits.version)
        if arguments.runtime
        else Published(fits.address, kept, fits.version)
    )
    target = arguments.folder.resolve()
    print(f"Building the site in {target}", flush=True)
    try:
        lacking = build(
            environment,
            target,
            runtime,
            fits.version,
            secrets=secrets_here(),
            incomplete=arguments.incomplete,
        )
    except OSError as error:
        raise disk_fault(error) from error
    _tell(target, lacking, time.monotonic() - started)
    return 0


def _tell(target, lacking, seconds):
    size = sum(path.stat().st_size for path in target.rglob("*") if path.is_file())
    print(f"Built, after {seconds:.0f} s: {size / 1e6:.0f} MB.")
    if lacking:
        print(f"No lesson runs on it: the runtime lacks {', '.join(lacking)}.")
    print(
        "Put the folder on a web server, at an address that begins with https:, and give that\n"
        "address to your learners. To look at it on this machine alone:\n"
        f'  python -m http.server 8000 --bind 127.0.0.1 --directory "{target}"\n'
        "then open http://127.0.0.1:8000 in a browser."
    )
