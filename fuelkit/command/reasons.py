"""Mark written reasons: one after the other, one key each."""

import sys
from pathlib import Path

from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.sittings import sitting_of
from fuelkit.assess.papers.mark_sitting import awards_of, keep_award, key_of
from fuelkit.assess.papers.marking import answers_of, check_sheet
from fuelkit.assess.sheet import SheetError, read_sheet
from fuelkit.physics.errors import FuelkitError

SUMMARY = "Mark the written reasons of a sitting, one key each."

_STEPS = 4
_KEYS = {str(n): n / _STEPS for n in range(_STEPS + 1)}
_HELP = f"0 to {_STEPS}: quarters of the marks; s: later; q: stop"


class ReasonsError(FuelkitError):
    """The reasons cannot be marked; the message says why."""


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("sitting", help="name of the sitting")
    parser.add_argument("folder", help="the folder with the handed-in sheets (*.json)")
    parser.add_argument("--again", action="store_true", help="also those that are marked already")


def run(arguments):
    """Show each reason with the model's, take a key, and keep the award at once."""
    sitting = sitting_of(instructor_folder(arguments.folder), arguments.sitting)
    waiting = tuple(waiting_reasons(sitting, Path(arguments.folder), again=arguments.again))
    if not waiting:
        print("There is no written reason to be marked.")
        return 0
    for number, (learner, question, text, model) in enumerate(waiting, start=1):
        print(f"\n{number} of {len(waiting)} · question {question.name}, {question.marks:g} marks")
        print(f"  {question.board.asks[0].text}")
        print(f"  Model:   {model}\n  Learner: {text}")
        key = _key()
        if key == "q":
            print("Stopped. What you have marked is kept.")
            return 0
        if key != "s":
            keep_award(sitting, learner, question.name, _KEYS[key])
    print(f"\nDone. Now: python -m fuelkit mark {arguments.folder}")
    return 0


def waiting_reasons(sitting, folder, *, again=False):
    """Yield learner, question, what was written and what the model says, question by question.

    Who wrote it is not shown while marking: the order is by question, then by code.
    """
    awards, found = awards_of(sitting), []
    for path in sorted(folder.glob("*.json")):
        try:
            sheet = read_sheet(path)
            key = key_of(sitting, sheet.learner)
            check_sheet(key, sheet)
        except (SheetError, FuelkitError):
            continue  # mark says what is wrong with it
        for question in (q for q in key.questions if q.kind == "reason"):
            given = sheet.answers.get(question.name, {}).get("given", {})
            text = "".join(given.values()).strip()
            if text and (again or question.name not in awards.get(sheet.learner, {})):
                (answer,) = answers_of(question.board)
                found.append((question.source, sheet.learner, question, text, answer.value))
    for _, learner, question, text, model in sorted(found, key=lambda row: row[:2]):
        yield learner, question, _plain(text), model


def _plain(text):
    """What a learner wrote, with nothing that a console would obey."""
    return "".join(c if c.isprintable() else " " for c in text)


def _key():
    """One key, without Enter where the console can do that."""
    while True:
        print(f"  {_HELP} > ", end="", flush=True)
        key = _pressed()
        print(key)
        if key in _KEYS or key in ("s", "q"):
            return key
        print(f"  '{key}' is none of these.")


def _pressed():
    if not sys.stdin.isatty():
        line = sys.stdin.readline()
        return line.strip()[:1].lower() if line else "q"
    try:
        import termios
        import tty
    except ModuleNotFoundError:  # Windows
        import msvcrt

        return msvcrt.getwch().lower()
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle)
        return sys.stdin.read(1).lower()
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)
