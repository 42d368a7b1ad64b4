"""Mark a folder of answer sheets: a mark sheet, one feedback page a learner, and what to see to."""

import sys
from pathlib import Path

from fuelkit.assess.mark_folder import mark_folder, write_mark_sheets
from fuelkit.assess.marking import PASS_SHARE
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.feedback import write_feedback

SUMMARY = "Mark a folder of answer sheets, with a feedback page each."


class MarkError(FuelkitError):
    """The folder cannot be marked; the message says why."""


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("folder", help="the folder with the answer sheets (*.json)")
    parser.add_argument(
        "--out", help="where to write; a folder 'marks' beside the sheets if not given"
    )
    parser.add_argument(
        "--pass-mark",
        type=float,
        default=100 * PASS_SHARE,
        help="percent of the marks that passes (default %(default)g)",
    )


def run(arguments):
    """Mark, write, and print what was done; 0 if every file was marked, 1 if some were not."""
    if not 0.0 < arguments.pass_mark <= 100.0:
        raise MarkError(
            f"--pass-mark is {arguments.pass_mark:g}; it must be above 0 and at most 100."
        )
    share, folder = arguments.pass_mark / 100.0, Path(arguments.folder)
    out = Path(arguments.out) if arguments.out else folder / "marks"
    try:
        marked, aside = mark_folder(folder, _progress)
        write_mark_sheets(out, marked, aside, share)
        for item in marked:
            write_feedback(out / "feedback", item, share)
    except OSError as problem:
        raise MarkError(str(problem)) from None
    _report(marked, aside, out, share)
    return 1 if any(item.is_fault for item in aside) or not marked else 0


def _progress(done, total):
    end = "\n" if done == total else "\r"
    if sys.stdout.isatty() or done == total or done % 50 == 0:
        print(f"Marking: {done} of {total} sheets", end=end, flush=True)


def _report(marked, aside, out, share):
    passed = sum(item.has_passed(share) for item in marked)
    if not marked and not aside:
        print("There is no answer sheet (*.json) in this folder.")
    sheets = "1 sheet" if len(marked) == 1 else f"{len(marked)} sheets"
    print(f"Marked {sheets}; {passed} of them at or above the pass mark of {100 * share:g} %.")
    for item in marked:
        print(
            f"  {item.sheet.learner:<12} {item.sheet.unit:<24} "
            f"{item.marks:5.1f} of {item.full:g}  {100 * item.share:3.0f} %"
        )
    faults = [item for item in aside if item.is_fault]
    _list(f"Set aside {len(faults)}; see to these:", faults)
    left = [item for item in aside if not item.is_fault]
    _list(f"Left alone {len(left)}; lessons and practice are not marked:", left)
    print(f"Mark sheet: {out / 'mark-sheet.csv'}. Feedback pages: {out / 'feedback'}.")


def _list(head, items):
    if items:
        print(head)
    for item in items:
        print(f"  {item.file}: {item.reason}")
