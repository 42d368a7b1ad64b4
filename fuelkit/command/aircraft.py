"""Look over an instructor's own aircraft: check it, draw it, fly it, say what can never happen."""

import sys
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.load import aircraft_file, load_aircraft
from fuelkit.assess.sheet import write_atomically
from fuelkit.command.faults import CommandError, disk_fault, wrapped
from fuelkit.show.aircraft_page import aircraft_page
from fuelkit.show.findings import findings
from fuelkit.survey.survey import survey
from fuelkit.survey.tank_checks import tank_checks

SUMMARY = "Look over an aircraft of your own: check, draw, fly, and say what can never happen."

_STARTER = resources.files("fuelkit.aircraft") / "own" / "starter.toml"
_GUIDE = "fuelkit/aircraft/own/describe_your_aircraft.md"
_SHOWN = 12  # findings in the window; the page has them all
_READABLE = 0o644  # a page and a starter are there to be passed on


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument(
        "file", help="the aircraft's file (*.toml), or the name of an aircraft of the kit"
    )
    parser.add_argument(
        "--new", action="store_true", help="write a small file of that name to begin from"
    )
    parser.add_argument(
        "--to", help="the page to write (*.html); beside the aircraft's file if not given"
    )


def run(arguments):
    """Look an aircraft over, or write a new file; 0 when all went well, 1 when it is faulty."""
    if arguments.new:
        return _write_new(Path(arguments.file))
    aircraft = load_aircraft(_name(arguments.file))
    page = _page_path(arguments.file, arguments.to)
    print(f"{aircraft.name}: the file is sound.", flush=True)
    progress = _Progress()
    found = survey(aircraft, tell=progress.tell)
    progress.close()
    checks = tank_checks(aircraft)
    look_at = findings(found, checks)
    _write(page, aircraft_page(found, checks, look_at))
    _report(found, look_at, page)
    return 1 if found.failed else 0


def _write_new(path):
    if path.suffix != ".toml":
        raise CommandError(f"'{path}' does not end in .toml; give the new file a name that does.")
    if path.exists():
        raise CommandError(f"'{path}' is there already; nothing was written. Give another name.")
    _write_once(path, _STARTER.read_text(encoding="utf-8"))
    print(f"Written: {path}. It is a small twin with two tanks, ready to be changed.")
    print(f"The guide is {_GUIDE}.")
    print(f'Look it over with: python -m fuelkit aircraft "{path}"')
    return 0


def _write_once(path, text):
    """Write a file that must not be there yet, even if another program makes it meanwhile."""
    try:
        with path.open("x", encoding="utf-8", newline="\n"):
            pass
        write_atomically(path, text)
        path.chmod(_READABLE)
    except FileExistsError:
        raise CommandError(f"'{path}' is there already; nothing was written.") from None
    except OSError as problem:
        raise _no_writing(path, problem) from problem


def _write(path, text):
    try:
        write_atomically(path, text)
        path.chmod(_READABLE)
    except OSError as problem:
        raise _no_writing(path, problem) from problem


def _no_writing(path, problem):
    if isinstance(problem, FileNotFoundError | NotADirectoryError):
        return CommandError(f"There is no folder '{path.parent}' to write '{path.name}' in.")
    return disk_fault(problem)


def _check_folder(path):
    """See to it before the long work that the page can be written where it was asked."""
    if path.is_dir():
        raise CommandError(f"'{path}' is a folder; give the name of a file.")
    if not path.parent.is_dir():
        raise _no_writing(path, FileNotFoundError())


def _name(text):
    """A file is meant where one of that name is there, whatever it is called."""
    if not text.endswith(".toml") and Path(text).is_file():
        raise CommandError(f"'{text}' does not end in .toml; give the file a name that does.")
    return text


def _page_path(file, to):
    """Where the page goes: as asked, beside the instructor's file, or here for one of the kit's."""
    if to is not None:
        path = Path(to)
        if path.suffix.lower() not in (".html", ".htm"):
            raise CommandError(f"--to is '{to}'; a page's name ends in .html.")
        _check_folder(path)
        return path
    name = aircraft_file(file).with_suffix(".html")
    return name if str(file).endswith(".toml") else Path(name.name)


class _Progress:
    """One line that tells what is flown: over and over on a terminal, now and then elsewhere."""

    _EVERY = 25

    def __init__(self):
        self._overwrites = sys.stdout.isatty()
        self._width = 0

    def tell(self, done, total):
        text = f"  Flown: {done} of at most {total} flights" if done else "  Flying ..."
        if self._overwrites:
            sys.stdout.write("\r" + text.ljust(self._width))
            self._width = len(text)
        elif done % self._EVERY == 0:
            sys.stdout.write(f"{text}\n")
        sys.stdout.flush()

    def close(self):
        if self._overwrites:
            sys.stdout.write("\r" + " " * self._width + "\r")
            sys.stdout.flush()


def _report(found, look_at, page):
    flights = "the standard sector"
    if found.flown:
        flights += f" and {found.flown} variants of it"
    print(f"Flown: {flights}." if not found.failed else "The standard sector cannot be flown.")
    held = len(found.first_held)
    print(f"Rules that took hold: {held} of {len(found.aircraft.rules)}.")
    if look_at:
        print("To look at:")
        for finding in look_at[:_SHOWN]:
            print(wrapped(f"  - {finding.text}", indent="    "))
        if len(look_at) > _SHOWN:
            print(f"  and {len(look_at) - _SHOWN} more on the page.")
    else:
        print("Nothing was found that needs a look.")
    print(f"The page: {page}. Open it in a browser.")
