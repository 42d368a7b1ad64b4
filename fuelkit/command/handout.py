"""Write handouts, blank sheets and a pocket card as PDF, all from the computed flight."""

from pathlib import Path

from fuelkit.aircraft.reading import nearest
from fuelkit.assess.choice import taught_aircraft
from fuelkit.assess.course import LESSONS
from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.sheet import write_bytes_atomically
from fuelkit.command.faults import CommandError, disk_fault
from fuelkit.show.print.blank import schematics_key_pdf, schematics_pdf
from fuelkit.show.print.card import card_pdf
from fuelkit.show.print.handout import handout_pdf
from fuelkit.show.print.sheets import sheet_pdfs
from fuelkit.show.print.typeset import PAPERS

NEEDS = ("typst",)
SUMMARY = "Write handouts, blank sheets to fill in and a pocket card, as PDF to print."

MORE = ("schematics", "figures", "card")
"""What there is beside the lessons: to be filled in with a pencil, and to be carried."""

_READABLE = 0o644  # handouts are there to be passed on


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument(
        "what", nargs="*", metavar="LESSON",
        help=f"lessons ({', '.join(LESSONS)}), or schematics, figures, card; all if none is named",
    )  # fmt: skip
    parser.add_argument(
        "--out", default="handouts", help="folder to write to; handouts if not given"
    )
    parser.add_argument("--page", choices=PAPERS, default="A4", help="size of the printed pages")
    parser.add_argument(
        "--aircraft", default="",
        help="an aircraft of the kit or a file (*.toml); the one that the course is taught on if "
        "not given",
    )  # fmt: skip
    parser.add_argument(
        "--number", type=int, default=1, help="which situation the figure sheets are drawn with"
    )


def run(arguments):
    """Write what was asked for; 0 when all of it is written."""
    named = tuple(dict.fromkeys(_known(word) for word in arguments.what)) or (*LESSONS, *MORE)
    aircraft = arguments.aircraft or taught_aircraft()
    name = aircraft_of(aircraft).name  # a fault in the file is told before any work
    folder = Path(arguments.out)
    print(f"{name}: {len(named)} to make, in {folder}", flush=True)
    for what in named:
        for file, data in made(what, aircraft, arguments.page, arguments.number):
            _write(folder / file, data)
            print(f"  {file}", flush=True)
    print("Print at 100 %, in colour or grey.")
    return 0


def made(what, aircraft, page, number=1):
    """Yield name and bytes of each file that makes up a lesson's handout, or one of `MORE`."""
    if what == "schematics":
        yield "schematics.pdf", schematics_pdf(aircraft, page)
        yield "schematics-key.pdf", schematics_key_pdf(aircraft, page)
    elif what == "card":
        yield "card.pdf", card_pdf(aircraft_of(aircraft), page)
    elif what == "figures":
        yield from sheet_pdfs(aircraft_of(aircraft), number, page)
    else:
        place = f"{LESSONS.index(what) + 1:02d}"
        yield f"handout-{place}-{what}.pdf", handout_pdf(f"lesson-{what}", aircraft, page)


def _known(word):
    plain = word.lower().removeprefix("lesson-")
    if plain not in (*LESSONS, *MORE):
        raise CommandError(
            f"There is no '{word}'.{nearest(plain, (*LESSONS, *MORE))} The lessons are "
            f"{', '.join(LESSONS)}; beside them there are {', '.join(MORE)}."
        )
    return plain


def _write(path, data):
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes_atomically(path, data)
        path.chmod(_READABLE)
    except OSError as problem:
        raise disk_fault(problem) from problem
