"""A blueprint: how many questions of which kind, objective and difficulty stand on every paper."""

import re
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.assess.course import LESSONS
from fuelkit.assess.marking import PASS_SHARE
from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.papers.question import BANDS, KINDS

SCHEMA = 1
EXAMPLE = resources.files("fuelkit.assess.papers") / "data" / "blueprint.toml"
ANY = "any"

MOST_SPREAD = 20
"""By how much papers may be said to differ at most. [%]"""

_MOST_QUESTIONS = 60
_SITTING = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,28}[a-z0-9])?")


@dataclass(frozen=True)
class Line:
    """One line of a blueprint. Frozen.

    name : str
        As the class report calls it.
    kinds, objectives, stages : tuple of str
        A question fits if its kind is among the kinds, one of its objectives among the
        objectives, and its stage among the stages; an empty one leaves it open.
    difficulty : str
        One of `BANDS`, or "any".
    count : int
        Questions on each paper.
    marks : float
        Of each of them.
    """

    name: str
    kinds: tuple
    objectives: tuple
    stages: tuple
    difficulty: str
    count: int
    marks: float

    def fits(self, question):
        """Return whether a question may stand on this line."""
        return (
            question.kind in self.kinds
            and self.difficulty in (ANY, question.band)
            and (not self.objectives or bool(set(self.objectives) & set(question.objectives)))
            and (not self.stages or question.stage in self.stages)
        )


@dataclass(frozen=True)
class Blueprint:
    """What every paper of a sitting is made of. Frozen.

    sitting : str
        Short name; stands in file names.
    title : str
    aircraft : str
        In the kit, or the path of a file.
    lines : tuple of Line
    minutes : float
        Time limit; 0 for none.
    pass_share : float
        Share of the marks that passes. [-]
    flights : int
        How many flights are drawn that questions may come from.
    spread : float
        By how much the expected share of the marks of two papers may differ. [-]
    keep_days : int
        After how many days answers are purged.
    """

    sitting: str
    title: str
    aircraft: str
    lines: tuple
    minutes: float
    pass_share: float
    flights: int
    spread: float
    keep_days: int

    @property
    def count(self):
        """Questions on each paper."""
        return sum(line.count for line in self.lines)

    @property
    def marks(self):
        """Marks to be had on each paper."""
        return sum(line.count * line.marks for line in self.lines)


def read_blueprint(path):
    """Return the blueprint in a file; raise DataFileError with all its faults."""
    path = Path(path)
    if path.is_file() and path.suffix.lower() != ".toml":
        fault = "a blueprint is a file that ends in .toml; a class list stands after --class"
        raise DataFileError(path.name, [fault])
    return blueprint_from(read_toml(path), path.name)


def blueprint_from(content, label="blueprint"):
    """Return a blueprint from the content of a file.

    Raises
    ------
    DataFileError
        With every fault: field, value, and what would be right.

    Examples
    --------
    >>> read_blueprint(str(EXAMPLE)).count
    20
    """
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    blueprint = Blueprint(
        sitting=_short(section, section.text("sitting")),
        title=section.text("title"),
        aircraft=section.text("aircraft"),
        lines=tuple(_line(table) for table in section.tables("lines", required=True)),
        minutes=section.number("minutes", 0.0, low=0, high=600),
        pass_share=section.number("pass_percent", 100 * PASS_SHARE, above=0, high=100) / 100.0,
        flights=_whole(section, "flights", 16, low=1, high=200),
        spread=section.number("spread_percent", 2.0, above=0, high=MOST_SPREAD) / 100.0,
        keep_days=_whole(section, "keep_days", 365, low=1, high=3650),
    )
    section.finish()
    names = [line.name for line in blueprint.lines]
    for name in sorted({n for n in names if names.count(n) > 1}):
        found.append(f"line '{name}' stands twice; give each line a name of its own.")
    if not 1 <= blueprint.count <= _MOST_QUESTIONS and not found:
        found.append(f"count: all lines together are {blueprint.count}; it must be 1 to "
                     f"{_MOST_QUESTIONS}.")  # fmt: skip
    if found:
        raise DataFileError(label, found)
    return blueprint


def _short(section, text):
    if not _SITTING.fullmatch(text):
        section.fault("sitting", text, "write small letters, digits and hyphens, such as autumn-1")
    return text


def _whole(table, field, *default, **bounds):
    number = table.number(field, *default, **bounds)
    if number != int(number):
        table.fault(field, number, "it must be a whole number")
    return int(number)


def _line(table):
    line = Line(
        name=table.text("name"),
        kinds=_known(table, "kinds", table.texts("kinds"), KINDS),
        objectives=_known(
            table, "objectives", table.texts("objectives", ()), [o.name for o in load_objectives()]
        ),
        stages=_known(table, "stages", table.texts("stages", ()), LESSONS),
        difficulty=table.choice("difficulty", (*BANDS, ANY), ANY),
        count=_whole(table, "count", low=1, high=_MOST_QUESTIONS),
        marks=table.number("marks", above=0, high=100),
    )
    table.finish()
    return line


def _known(table, field, given, known):
    for name in given:
        if name not in known:
            hint = f"there is no such thing.{nearest(name, known)}"
            table.fault(field, name, f"{hint} It must be one of {', '.join(known)}")
    return tuple(given)
