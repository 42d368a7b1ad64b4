"""Mark a folder of answer sheets: a mark sheet, one feedback page a learner, and what to see to."""

from functools import partial
from pathlib import Path

from fuelkit.assess.mark_folder import mark_folder, write_mark_sheets
from fuelkit.assess.marking import PASS_SHARE
from fuelkit.command.cluster import HELP, workers
from fuelkit.command.mark_papers import (
    EXPORTS,
    NEED_RECEIVER,
    has_exercises,
    mark_papers,
    read_receiver,
    sittings_in,
)
from fuelkit.command.progress import counted
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.feedback import write_feedback
from fuelkit.show.print.typeset import PAPERS

NEEDS = ("typst",)
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

    parser.add_argument(
        "--export", action="append", choices=EXPORTS, default=[],
        help="of papers: write this besides; may be given more than once",
    )  # fmt: skip
    parser.add_argument(
        "--receiver", metavar="FILE",
        help="of papers, for oneroster and statements: what the receiving system calls school "
        "and class",
    )  # fmt: skip
    parser.add_argument("--cluster", help=f"of papers: {HELP}")
    parser.add_argument("--page", choices=PAPERS, default="A4", help="size of printed pages")


def run(arguments):
    """Mark, write, and print what was done; 0 if every file was marked, 1 if some were not."""
    if not 0.0 < arguments.pass_mark <= 100.0:
        raise MarkError(
            f"--pass-mark is {arguments.pass_mark:g}; it must be above 0 and at most 100."
        )
    share, folder = arguments.pass_mark / 100.0, Path(arguments.folder)
    out = Path(arguments.out) if arguments.out else folder / "marks"
    names = sittings_in(folder) if folder.is_dir() else []
    codes = [_papers(name, folder, out, arguments) for name in names]
    if not names or has_exercises(folder):
        codes.append(_exercises(folder, out, share, papers_too=bool(names)))
    return max(codes)


def _exercises(folder, out, share, *, papers_too):
    """Mark exercises, write, and say what was done; 0 if every one was marked."""
    try:
        progress = partial(counted, "sheets marked")
        marked, aside = mark_folder(folder, progress, papers_too=papers_too)
        write_mark_sheets(out, marked, aside, share)
        for item in marked:
            write_feedback(out / "feedback", item, share)
    except OSError as problem:
        raise MarkError(str(problem)) from None
    _report(marked, aside, out, share)
    return 1 if any(item.is_fault for item in aside) or not marked else 0


def _papers(name, folder, out, arguments):
    """Mark the papers of a sitting; 0 if all were marked and nothing waits."""
    wanted = [export for export in arguments.export if export in NEED_RECEIVER]
    if wanted and not arguments.receiver:
        raise MarkError(
            f"--export {wanted[0]} needs --receiver FILE: a text file with schema = 1 and, each in "
            "quotes, school, class_group, category, session and home_page, as the receiving "
            "system calls them."
        )
    receiver = read_receiver(arguments.receiver) if arguments.receiver else None
    with workers(arguments.cluster) as work:
        marked = mark_papers(
            name, folder.absolute(), out.absolute(), exports=arguments.export, receiver=receiver,
            page=arguments.page, progress=partial(counted, "sheets read"),
            work=work if arguments.cluster else None,
        )  # fmt: skip
    share = marked.plan["pass share"]
    passed = sum(paper.has_passed(share) for paper in marked.papers)
    print(f"{marked.plan['title']}: {len(marked.papers)} papers marked; {passed} at or above the "
          f"pass mark of {100 * share:g} %.")  # fmt: skip
    for paper in marked.papers:
        print(f"  {paper.sheet.learner:<12} {paper.marks:5.1f} of {paper.full:g}  "
              f"{paper.share_text(share):>6}")  # fmt: skip
    for change in marked.amendments:
        print(f"  key changed: {change.question}: {change.words}")
    for moved in marked.moved:
        print(f"  moved: {moved.learner} {moved.words}")
    waiting = [paper.sheet.learner for paper in marked.papers if paper.open_reasons]
    if waiting:
        print(f"Written reasons to be marked by you: python -m fuelkit reasons {name} {folder}")
    faults = [item for item in marked.set_aside if item.is_fault]
    for item in faults:
        print(f"  set aside: {item.file}: {item.reason}")
    if marked.missing:
        print(f"No paper marked of: {', '.join(marked.missing)}.")
    print(f"Class report, feedback and mark sheet: {out / name}.")
    return 1 if faults or not marked.papers else 0


def _report(marked, aside, out, share):
    passed = sum(item.has_passed(share) for item in marked)
    if not marked and not aside:
        print("There is no answer sheet (*.json) in this folder.")
    sheets = "1 sheet" if len(marked) == 1 else f"{len(marked)} sheets"
    print(f"Marked {sheets}; {passed} of them at or above the pass mark of {100 * share:g} %.")
    for item in marked:
        print(
            f"  {item.sheet.learner:<12} {item.sheet.unit:<24} "
            f"{item.marks:5.1f} of {item.full:g}  {item.share_text(share):>6}"
        )
    faults = [item for item in aside if item.is_fault]
    _list(f"Set aside {len(faults)}; see to these:", faults)
    left = [item for item in aside if not item.is_fault]
    _list(f"Left alone {len(left)}, which are not marked:", left)
    print(f"Mark sheet: {out / 'mark-sheet.csv'}. Feedback pages: {out / 'feedback'}.")


def _list(head, items):
    if items:
        print(head)
    for item in items:
        print(f"  {item.file}: {item.reason}")
