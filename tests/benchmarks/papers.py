"""What a sitting costs: pool, drawing, print, and marking with feedback; against the class's size.

Run with ``python -m tests.benchmarks.papers [PAPERS [SHEETS [AIRCRAFT [FLIGHTS]]]]``; by default 24
papers, 100 sheets and the example's blueprint. For the whole: 300, 1000, halbrook-180, 18. All in
one run, so that what counts are the ratios: print against as many empty pages, marking against
reading as many sheets, and the whole class against half of it (2 is linear).
"""

import os
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.integrity.commitment import commit
from fuelkit.assess.integrity.seeds import seed
from fuelkit.assess.papers.blueprint import EXAMPLE, read_blueprint
from fuelkit.assess.papers.draw import BlueprintError, draw_papers
from fuelkit.assess.papers.issue import Issued, keep_sitting, make_pool, over_cores, secret_of
from fuelkit.assess.papers.kept_pool import KeptQuestions
from fuelkit.assess.papers.keys import make_key
from fuelkit.assess.papers.mark_sitting import mark_sitting
from fuelkit.assess.papers.reporting import class_report
from fuelkit.assess.sheet import read_sheet, sheet_path, write_sheet
from fuelkit.show.papers.content import paper_content
from fuelkit.show.papers.in_heaps import drawn_once, heaps
from fuelkit.show.papers.print_paper import paper_pdf, scheme_pdf
from fuelkit.show.papers.reports import feedback
from fuelkit.show.print import typeset
from tests.assess.papers.believers import answered, showing

SECRET = b"a secret of the benchmark, fixed"
DEFAULTS = ("24", "100", "", "")


def timed(action):
    """Return the seconds that an action takes, and its result."""
    begun = time.perf_counter()
    found = action()
    return time.perf_counter() - begun, found


def alone(function, *given):
    """Call a function in a process of its own, which has nothing at hand that was computed here."""
    with ProcessPoolExecutor(1) as process:
        return process.submit(function, *given).result()


def row(label, took, against=None, what=""):
    """Print a line: seconds, and perhaps the ratio to something else of the same run."""
    ratio = f"   x {took / against:6.2f} {what}" if against else ""
    print(f"  {label:<34} {took:8.2f} s{ratio}", flush=True)


def drawn(plan, pool, count):
    """Draw papers and seal their keys."""
    seeds = [seed(SECRET, "paper", plan.sitting, f"L{n}") for n in range(count)]
    papers = draw_papers(plan, pool, seeds, work=over_cores)
    fingerprint, known, found = aircraft_of(plan.aircraft).fingerprint, {}, []
    for number, paper in enumerate(papers):
        key = make_key(plan, paper, f"L{number}", fingerprint, known)
        found.append(Issued(key, commit(key.table())))
    return found


def _heap(given):
    plan, (issued, made) = given
    size = 0
    for one in issued:
        content = paper_content(one.key, one.seal, plan, {}, made.shown)
        size += len(paper_pdf(content, pictures=made.pictures_of(one.key)))
        size += len(scheme_pdf(one.key, one.seal, known=made.schemes))
    return size


def printed(plan, issued):
    """Print papers and mark schemes over the cores, in heaps; return their bytes together."""
    found = heaps(issued, drawn_once(issued, over_cores))
    return sum(over_cores(_heap, [(plan, heap) for heap in found]))


def _empty(number):
    return len(typeset.pdf("", title=f"{number}", head="", foot=""))


def write_sheets(folder, issued, count):
    """Write sheets for as many learners as there are to be; return their papers.

    Every other learner holds a belief; all slip in one part of ten.
    """
    folder.mkdir()
    found, lots = [], np.random.default_rng(1)
    for number in range(count):
        one = issued[number % len(issued)]
        code = f"L{number}"
        key = replace(one.key, learner=code, paper=one.key.paper.rpartition("-")[0] + f"-l{number}")
        belief = lots.choice(showing(key)) if number % 2 else None
        write_sheet(answered(key, belief, lots), sheet_path(folder, key.paper, code))
        found.append(Issued(key, one.seal))
    return found


def _told(page):
    return len(page.html()) + len(page.pdf())


def marked(folder, plan, sheets):
    """Mark a folder, find beliefs, and make every feedback; return how many papers."""
    found = mark_sitting(folder, plan.sitting, sheets)
    class_report(found)
    list(over_cores(_told, [feedback(paper, plan.pass_share) for paper in found.papers]))
    return len(found.papers)


def kept(root, plan, issued, name):
    """An instructor's folder of its own with a sitting in it."""
    folder = root / name
    folder.mkdir(mode=0o700)
    secret_of(folder, plan.sitting)
    keep_sitting(folder, plan, issued)
    return folder


def paper_side(plan, count):
    """Measure pool, drawing and print; return the papers."""
    with tempfile.TemporaryDirectory() as name:
        store = KeptQuestions(name, plan.sitting)
        first, pool = timed(lambda: make_pool(plan, SECRET, kept=store))
        row(f"pool of {len(pool)} questions", first)
        took, again = timed(lambda: make_pool(plan, SECRET, kept=store))
        assert again == pool
        row("the same, kept from before", took, first, "of the first time")
    half, _ = timed(lambda: drawn(plan, pool, count // 2))
    took, issued = timed(lambda: drawn(plan, pool, count))
    row(f"{count} papers drawn and sealed", took, half, "of half the class")
    half, _ = timed(lambda: printed(plan, issued[: count // 2]))
    took, size = timed(lambda: printed(plan, issued))
    empty, _ = timed(lambda: list(over_cores(_empty, range(2 * count))))
    row(f"{count} papers and schemes printed", took, half, "of half the class")
    row(f"{2 * count} empty pages", empty)
    row(f"  print, {size / 1e6:.1f} MB", took, empty, "of as many empty pages")
    return issued


def mark_side(plan, issued, count):
    """Measure marking with feedback, of half the class and of the whole."""
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        times = []
        for size in (count // 2, count):
            sheets = root / f"sheets-{size}"
            keys = alone(write_sheets, sheets, issued, size)
            folder = kept(root, plan, keys, f"instructor-{size}")
            took, papers = timed(lambda f=folder, s=sheets: alone(marked, f, plan, s))
            assert papers == size
            times.append(took)
        read, _ = timed(lambda: [read_sheet(path) for path in sorted(sheets.iterdir())])
        row(f"{count} sheets marked with feedback", times[1], times[0], "of half the class")
        row(f"{count} sheets read", read)
        row("  marking", times[1], read, "of reading")


def main(words):
    """Print a table."""
    papers, sheets, aircraft, flights = (*words, *DEFAULTS[len(words) :])
    plan = read_blueprint(str(EXAMPLE))
    plan = replace(plan, aircraft=aircraft or plan.aircraft, flights=int(flights or plan.flights))
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(f"{os.cpu_count()} cores, load {load:.1f} before the start; {plan.aircraft}, "
          f"{plan.flights} flights, {plan.count} questions a paper")  # fmt: skip
    try:
        issued = paper_side(plan, int(papers))
    except BlueprintError as problem:
        return print(problem)
    mark_side(plan, issued, int(sheets))


if __name__ == "__main__":
    main(sys.argv[1:])
