"""Make the learner's edition: a zip archive with lessons, exercises and the kit, looked through."""

import re
from pathlib import Path

from fuelkit.aircraft.load import aircraft_file, load_aircraft
from fuelkit.assess.choice import SCHOOL_RULE, course_file, is_school
from fuelkit.assess.edition.making import FOLDER, make_edition, write_archive
from fuelkit.assess.edition.secrets_here import others_of, secrets_here
from fuelkit.assess.sheet import learner_code
from fuelkit.command.environment import Environment
from fuelkit.command.faults import CommandError, disk_fault, wrapped
from fuelkit.show.papers.sitting import read_paper

SUMMARY = "Make a zip archive of the course for learners, without keys or worked answers."

_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,99}")


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument(
        "file", nargs="?", default=f"{FOLDER}.zip", help="the archive (*.zip; default %(default)s)"
    )
    parser.add_argument(
        "--aircraft", default="", metavar="FILE",
        help="teach it on this aircraft: a file (*.toml), or a name in the kit",
    )  # fmt: skip
    parser.add_argument(
        "--school", default="", metavar="NAME", help="printed on the first page and on sheets"
    )
    parser.add_argument(
        "--paper", action="append", default=[], metavar="FOLDER",
        help="put in a learner's paper; with the folder of all papers of a sitting, one archive "
        "a learner is made",
    )  # fmt: skip


def run(arguments):
    """Make one archive, or one a learner; 0 when all were written, 1 when any was refused."""
    path = _path(arguments.file)
    root = Path(Environment.of_project().root)
    course = course_file(root)
    aircraft = _aircraft(arguments.aircraft or course.aircraft)
    school = arguments.school.strip() or course.school
    if not is_school(school):
        raise CommandError(f"--school is {school!r}; {SCHOOL_RULE}.")
    learners = _by_learner([_paper(p) for f in arguments.paper for p in _paper_folders(Path(f))])
    secrets, done = secrets_here(), 0
    for code, papers in learners.items():
        to = path.with_name(f"{path.stem}-{code}.zip") if len(learners) > 1 else path
        named = [(paper["paper"], folder) for paper, folder in papers]
        others = [o for paper, _ in papers for o in others_of(paper["paper"], code)]
        edition = make_edition(root, aircraft=aircraft, school=school, papers=named,
                               secrets=secrets, others=others)  # fmt: skip
        done += _written(edition, to)
    return 0 if done == len(learners) else 1


def _written(edition, path):
    """Write an edition and say so, or say why it is refused; whether it was written."""
    if edition.refused:
        print(f"Not written: {path}. Nothing is given out while this is so:")
        for why in edition.why_refused:
            print(wrapped(f"  - {why}", indent="    "))
        return False
    try:
        write_archive(edition, path)
    except OSError as problem:
        raise disk_fault(problem) from problem
    size = path.stat().st_size / 1e6
    print(f"Written: {path} ({len(edition.files)} files, {size:.1f} MB), looked through.")
    print(f"A learner unpacks it and, in the folder {FOLDER}, types: python -m fuelkit open")
    return True


def _path(text):
    path = Path(text)
    if path.suffix != ".zip":
        raise CommandError(f"'{text}' does not end in .zip; give the archive a name that does.")
    if path.is_dir() or not path.parent.is_dir():
        raise CommandError(f"'{text}' cannot be written: name a file in a folder that is there.")
    return path


def _aircraft(name):
    """A name in the kit, or the full path of a sound file."""
    if not name:
        return ""
    load_aircraft(name)
    return str(Path(aircraft_file(name)).resolve()) if name.endswith(".toml") else name


def _paper_folders(folder):
    """The folder of one paper, or those of all learners in the folder of a sitting."""
    if (folder / "paper.json").exists():
        return [folder]
    found = sorted(path.parent for path in folder.glob("*/paper.json"))
    if not found:
        raise CommandError(f"--paper is '{folder}'; there is no paper.json in it.")
    return found


def _paper(folder):
    paper = read_paper(folder / "paper.json")
    if not _NAME.fullmatch(paper["paper"]) or learner_code(paper["learner"]) != paper["learner"]:
        raise CommandError(f"'{folder / 'paper.json'}' is damaged: take it from the sitting again.")
    return paper, folder


def _by_learner(papers):
    """Papers by the learner they are for; without any, one archive for everybody."""
    found = {}
    for paper, folder in papers:
        found.setdefault(paper["learner"], []).append((paper, folder))
    return found or {"": []}
