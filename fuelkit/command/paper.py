"""Draw a paper for each learner of a class from a blueprint, seal the keys, and print them."""

import time
from functools import partial
from itertools import pairwise
from pathlib import Path

from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.log import entries
from fuelkit.assess.integrity.scan import scan
from fuelkit.assess.integrity.sittings import learners_of, sitting_of
from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.papers.blueprint import EXAMPLE, read_blueprint
from fuelkit.assess.papers.class_list import read_class_list
from fuelkit.assess.papers.issue import (
    LOG_FILE,
    changed_keys,
    draw_sitting,
    keep_sitting,
    secret_of,
)
from fuelkit.assess.papers.kept_pool import KeptQuestions
from fuelkit.assess.papers.time_limit import digests, word_for
from fuelkit.assess.sheet import learner_code
from fuelkit.command.cluster import HELP, workers
from fuelkit.command.progress import counted
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.papers.bundle import bundle
from fuelkit.show.papers.content import paper_content
from fuelkit.show.papers.in_heaps import drawn_once, heaps
from fuelkit.show.papers.print_paper import paper_pdf, scheme_pdf
from fuelkit.show.print.typeset import PAPERS

NEEDS = ("scipy", "typst")
SUMMARY = "Draw a paper of their own for each learner of a class, with keys and print."


PRINTED = "paper.pdf"
"""Name of the printed paper in a learner's folder."""


class PaperCommandError(FuelkitError):
    """The papers cannot be drawn or given out; the message says why."""


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("blueprint", nargs="?", help="the blueprint, a file that ends in .toml")
    parser.add_argument("--class", dest="learners", help="the class list: one code a line")
    parser.add_argument("--out", help="where the papers go; papers/SITTING here if not given")
    parser.add_argument("--page", choices=PAPERS, default="A4", help="size of the printed pages")
    parser.add_argument(
        "--replace", action="store_true",
        help="draw a sitting again whose papers are not out yet, in place of the old ones",
    )  # fmt: skip
    parser.add_argument("--new", metavar="FILE", help="write an example of a blueprint, and stop")
    parser.add_argument(
        "--objectives", action="store_true",
        help="list the objectives that a line of a blueprint can name, and stop",
    )  # fmt: skip
    parser.add_argument("--cluster", help=HELP)
    parser.add_argument(
        "--more-time", nargs=3, metavar=("SITTING", "CODE", "MINUTES"),
        help="print the word by which a learner gets more time, and stop",
    )  # fmt: skip


def run(arguments):
    """Draw, keep, scan and write; 0 if every paper was given out."""
    if arguments.new:
        return _write_example(Path(arguments.new))
    if arguments.objectives:
        print("\n".join(f"{o.name}: {o.text}" for o in load_objectives()))
        return 0
    if arguments.more_time:
        return _tell_word(*arguments.more_time)
    if not arguments.blueprint or not arguments.learners:
        raise PaperCommandError(
            "Name a blueprint and a class list: python -m fuelkit paper my-blueprint.toml "
            "--class my-class.txt. An example of a blueprint: python -m fuelkit paper --new "
            "my-blueprint.toml"
        )
    blueprint = read_blueprint(arguments.blueprint)
    learners = read_class_list(arguments.learners)
    out = Path(arguments.out or Path("papers") / blueprint.sitting)
    folder = instructor_folder(out)
    secret = secret_of(folder, blueprint.sitting)
    begun = time.monotonic()
    with workers(arguments.cluster) as work:
        kept = KeptQuestions(folder, blueprint.sitting)
        issued = draw_sitting(blueprint, learners, secret, counted, work, kept)
        check = _check_not_marked if arguments.replace else _check_as_before
        check(folder, blueprint.sitting, issued)
        sitting = keep_sitting(folder, blueprint, issued)
        place, personal = out.absolute(), sitting.personal  # other machines start elsewhere
        make = partial(_written, blueprint, place, personal, arguments.page, learners, secret)
        refused, made = [], heaps(issued, drawn_once(issued, work))
        for done, found in enumerate(work(make, made), start=1):
            refused += found
            counted("papers printed", done, len(made))
    if refused:
        raise PaperCommandError("Not given out: " + " ".join(refused))
    print(f"{len(issued)} papers in {out} ({time.monotonic() - begun:.0f} s). Keys and mark "
          f"schemes, for you alone: {sitting.folder}")  # fmt: skip
    if len(issued) > 1:
        print(_shared_words([one.key for one in issued]))
    return 0


def _check_as_before(folder, sitting, issued):
    """Refuse to put other keys in the place of those to papers that may be out already."""
    others = changed_keys(folder, sitting, issued)
    if others:
        codes = ", ".join(others[:8]) + (" and others" if len(others) > 8 else "")
        raise PaperCommandError(
            f"The sitting '{sitting}' was drawn before, and {len(others)} of {len(issued)} papers "
            f"would now be others ({codes}): the blueprint, the order of the class list, the "
            "aircraft or the kit has changed. Papers that are out could no longer be marked. "
            "Give the blueprint another `sitting`; or, if no paper has been given out, add "
            "--replace."
        )


def _check_not_marked(folder, sitting, issued):
    """Refuse to put other papers in the place of those that were handed in and marked."""
    log = folder / LOG_FILE
    done = {
        entry.learner for entry in (entries(log) if log.exists() else ())
        if entry.sitting == sitting and entry.event in ("handed in", "marked", "re-marked")
    }  # fmt: skip
    if done and changed_keys(folder, sitting, issued):
        raise PaperCommandError(
            f"Papers of the sitting '{sitting}' were handed in and marked ({len(done)}); they are "
            "not replaced, or their sheets would be marked by other keys. Give the blueprint "
            "another `sitting`."
        )


def _shared_words(keys):
    """How much neighbours in the class list have in common, as a sentence."""
    count = most_shared(keys)
    if not count:
        return "Neighbours in the class list have no question in common."
    return (
        f"Neighbours in the class list have at most {count} of {len(keys[0].questions)} questions "
        "in common; more flights in the blueprint make them fewer."
    )


def most_shared(keys):
    """Return how many questions two neighbours of a class have in common, at most."""
    found = [{question.source for question in key.questions} for key in keys]
    return max(len(one & other) for one, other in pairwise(found))


def _written(blueprint, out, personal, page, learners, secret, heap):
    """Write a heap of papers and mark schemes; return a sentence for each that is refused."""
    issued, made = heap
    refused = []
    for one in issued:
        key = one.key
        extensions = digests(secret, blueprint.sitting, key.learner)
        content = paper_content(key, one.seal, blueprint, extensions, made.shown)
        files = bundle(content)
        place = out / key.learner
        place.mkdir(parents=True, exist_ok=True)
        (place / PRINTED).unlink(missing_ok=True)  # of an earlier draw, not to be scanned
        for name, data in files.items():
            (place / name).write_bytes(data)
        others = [code for code in learners if code != key.learner]
        draws = [str(q.board.draw) for q in key.questions if q.board.draw > 1]
        found = scan(place, [secret, bytes.fromhex(one.seal.salt), *draws, *others])
        if found:
            for name in files:
                (place / name).unlink()
            refused += [f"{key.learner}: {f.place}: {f.why}." for f in found[:3]]
            continue
        printed = paper_pdf(content, page, made.pictures_of(key))  # of what has just been scanned
        (place / PRINTED).write_bytes(printed)
        scheme = personal / f"scheme-{key.learner}.pdf"
        scheme.touch(mode=0o600)
        scheme.write_bytes(scheme_pdf(key, one.seal, page, made.schemes))
    return refused


def _write_example(path):
    if path.exists():
        raise PaperCommandError(f"'{path}' is there already; name another file.")
    path.write_text(EXAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    print(f"Written: {path}. Change it, then: python -m fuelkit paper {path} --class my-class.txt")
    return 0


def _minutes(text):
    """Minutes as a number where they are one; as they were typed where not, to be named so."""
    return int(text) if text.isdecimal() else text


def _tell_word(sitting, code, minutes):
    learner, folder = learner_code(code), instructor_folder()
    codes = learners_of(
        sitting_of(folder, sitting)
    )  # a word for a sitting or learner not drawn opens nothing
    if learner not in codes:
        raise PaperCommandError(f"There is no paper of {learner} in the sitting {sitting}.")
    try:
        word = word_for(secret_of(folder, sitting), sitting, learner, _minutes(minutes))
    except ValueError as problem:
        raise PaperCommandError(str(problem)) from None
    print(f"{learner}, {minutes} minutes more: {word}")
    return 0
