"""Open the course: make its .venv when needed, then JupyterLab on the first page."""

import argparse
import secrets
import signal

from fuelkit.command import lab
from fuelkit.command.environment import LEARNER, Environment, prepare

SUMMARY = "Open the course in your browser (the first time, set it up)."

_PROJECTOR = "FUELKIT_PROJECTOR"  # as `fuelkit.show.lesson` reads it
_FIRST_PAGE = "lessons/00_start_here.ipynb"


def add_arguments(parser):
    """Add the options of this command."""
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address, open no browser"
    )
    parser.add_argument(
        "--port", type=_port, help=f"port number; a free one from {lab.FIRST_PORT} on otherwise"
    )
    parser.add_argument(
        "--rebuild", action="store_true", help="install everything again from the beginning"
    )
    parser.add_argument(
        "--projector",
        action="store_true",
        help="for a class: large boards, hands counted, answers hidden until you reveal them",
    )


def run(arguments):
    """Open the course and stay until it is closed."""
    environment = Environment.of_project()
    prepare(environment, LEARNER, rebuild=arguments.rebuild)
    port = lab.free_port(arguments.port, tries=1) if arguments.port else lab.free_port()
    token = secrets.token_hex(16)
    state, page = environment.folder / "jupyter", first_page(environment.root)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    print("Starting JupyterLab ...", flush=True)
    process = lab.start(
        environment.python,
        root=environment.root,
        state=state,
        port=port,
        token=token,
        browser=not arguments.no_browser,
        page=page,
        more=[(_PROJECTOR, "1")] if arguments.projector else [],
    )
    try:
        lab.wait_until_ready(process, port=port, state=state)
        _tell(lab.address(port, token, page), browser=not arguments.no_browser)
        lab.wait_until_closed(process, state=state)
    except KeyboardInterrupt:
        print("\nClosing the course ...", flush=True)
    finally:
        lab.stop(process)
    print("The course is closed.")
    return 0


def first_page(root):
    """Return the notebook to open first, relative to `root`; nothing if there is no lesson."""
    if (root / _FIRST_PAGE).exists():
        return _FIRST_PAGE
    lessons = sorted(root.glob("lessons/*.ipynb"))
    return lessons[0].relative_to(root).as_posix() if lessons else ""


def _tell(address, *, browser):
    if browser:
        print(f"The course is open. If no browser opens, copy this address into one:\n  {address}")
    else:
        print(f"The course is open. Copy this address into a browser:\n  {address}")
    print("Leave this window open while you work. To end, press Ctrl+C in it.", flush=True)


def _port(text):
    if not text.isdecimal() or not 1024 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"'{text}' is no port; give a number from 1024 to 65535")
    return int(text)
