"""What the course lets a learner do: objectives, their syllabus codes, their lessons and questions.

Units, boards and asks are met by what they have, not by what they are: an ask or a board may carry
`objectives`, the names of what it tests.
"""

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import NamedTuple

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml

SCHEMA = 1
STAGES = ("knowledge", "risk", "skill")
_FILE = resources.files("fuelkit.assess") / "data" / "objectives.toml"


@dataclass(frozen=True)
class Edition:
    """A public syllabus in one edition. Frozen. `read` says what of it was read, and where."""

    name: str
    title: str
    edition: str
    read: str


@dataclass(frozen=True)
class Code:
    """A place in a syllabus. Frozen. `confirmed`: it was read there, not remembered."""

    edition: Edition
    code: str
    confirmed: bool


@dataclass(frozen=True)
class Objective:
    """One thing that a learner is able to do after the course. Frozen.

    name : str
        Short and stable; boards and asks name it.
    text : str
        A sentence that begins with a verb, as it goes on from "You will be able to".
    stage : str
        "knowledge", "risk", "skill" or nothing.
    codes : tuple of Code
        Empty if no syllabus has a place for it.
    lessons : tuple of str
        Identifiers of the lessons that teach it, in the order of the course.
    """

    name: str
    text: str
    stage: str
    codes: tuple
    lessons: tuple


@dataclass(frozen=True)
class ObjectivesTable:
    """The whole table. Frozen. `lessons` gives titles by identifier, in the order of the course."""

    lessons: dict
    editions: tuple
    objectives: tuple

    def of_lesson(self, identifier):
        """Return the objectives that a lesson teaches; raise with the nearest name if unknown."""
        if identifier not in self.lessons:
            hint = nearest(identifier, self.lessons)
            fault = f"there is no such lesson; the course has {', '.join(self.lessons)}.{hint}"
            raise DataFileError(str(identifier), [fault])
        return tuple(o for o in self.objectives if identifier in o.lessons)


class Coverage(NamedTuple):
    """Where an objective is taught and tested: lessons, and questions as "unit: question"."""

    lessons: tuple
    asks: tuple


def load_objectives():
    """Return the objectives of the course as a tuple of Objective.

    Raises
    ------
    DataFileError
        If the file has faults; all are listed.

    Examples
    --------
    >>> load_objectives()[0].name
    'layout'
    """
    return load_table().objectives


@lru_cache(maxsize=1)
def load_table():
    """Return the course's table of objectives, with its lessons and syllabuses."""
    return table_from(read_toml(Path(str(_FILE))), _FILE.name)


def objectives_of(lesson_identifier):
    """Return the objectives that a lesson teaches, as a tuple of Objective.

    Raises
    ------
    DataFileError
        If the course has no lesson of that name.

    Examples
    --------
    >>> "crossfeed" in [o.name for o in objectives_of("lesson-cruise")]
    True
    """
    return load_table().of_lesson(lesson_identifier)


def coverage(units, objectives=None):
    """Return where each objective is taught and tested.

    Parameters
    ----------
    units : iterable
        Lessons and exercises, each with `identifier`, `kind` and `boards`.
    objectives : iterable of Objective, optional
        Those of the course if not given.

    Returns
    -------
    dict of str to Coverage
        By the name of the objective: those of its lessons that are among the units, and the
        questions that a learner answers on it.
    """
    units = tuple(units)
    there = {unit.identifier for unit in units if unit.kind == "lesson"}
    tested = _tested(units)
    return {
        objective.name: Coverage(
            tuple(lesson for lesson in objective.lessons if lesson in there),
            tuple(dict.fromkeys(tested.get(objective.name, ()))),
        )
        for objective in (load_objectives() if objectives is None else objectives)
    }


def uncovered(units, objectives=None):
    """Return a sentence for each gap between the objectives and the units; none if all is well.

    A gap is an objective that no lesson teaches or no question tests, or a name that a board or a
    question uses and the table does not have.
    """
    units = tuple(units)
    found = coverage(units, objectives)
    gaps = []
    for name, (lessons, asks) in found.items():
        if not lessons:
            gaps.append(f"No lesson teaches '{name}'.")
        if not asks:
            gaps.append(f"No question tests '{name}'.")
    for where, name in _uses(units):
        if name not in found:
            hint = nearest(name, found)
            gaps.append(f"{where} names the objective '{name}', which the table has not.{hint}")
    return tuple(gaps)


def table_from(content, label="objectives"):
    """Return the table from the content of a file; raise DataFileError with all its faults."""
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    lessons = tuple(_lesson(t) for t in section.tables("lessons", required=True))
    editions = tuple(_edition(t) for t in section.tables("editions", required=True))
    named = {edition.name: edition for edition in editions}
    order = [name for name, _ in lessons]
    rows = section.tables("objectives", required=True)
    objectives = tuple(_objective(t, named, order) for t in rows)
    section.finish()
    _twice(order, "lesson", found)
    _twice([e.name for e in editions], "edition", found)
    _twice([o.name for o in objectives], "objective", found)
    if found:
        raise DataFileError(label, found)
    return ObjectivesTable(dict(lessons), editions, objectives)


def _lesson(table):
    lesson = (table.text("name"), table.text("title"))
    table.finish()
    return lesson


def _edition(table):
    edition = Edition(*(table.text(field) for field in ("name", "title", "edition", "read")))
    table.finish()
    return edition


def _objective(table, editions, order):
    objective = Objective(
        name=table.text("name"),
        text=table.text("text"),
        stage=table.choice("stage", STAGES, ""),
        codes=tuple(_code(t, editions) for t in table.tables("codes")),
        lessons=table.texts("lessons"),
    )
    if objective.text and (not objective.text[0].islower() or objective.text.endswith(".")):
        rule = "it must go on from 'You will be able to': a small letter first, no full stop"
        table.fault("text", objective.text, rule)
    for lesson in objective.lessons:
        if lesson not in order:
            rule = f"'{lesson}' is no lesson of this file.{nearest(lesson, order)}"
            table.fault("lessons", list(objective.lessons), rule.removesuffix("."))
    _check_order(table, objective.lessons, order)
    table.finish()
    return objective


def _check_order(table, lessons, order):
    right = [name for name in order if name in lessons]
    known = [name for name in lessons if name in order]
    if known != right:
        listed = ", ".join(right)
        table.fault("lessons", list(lessons), f"in the order of the course, each once: {listed}")


def _code(table, editions):
    name = table.text("edition")
    if name and name not in editions:
        listed = " or ".join(f"'{known}'" for known in editions)
        table.fault("edition", name, f"it must be {listed}")
    code = Code(editions.get(name), table.text("code"), table.flag("confirmed", False))
    table.finish()
    return code


def _twice(names, kind, found):
    for name in sorted({n for n in names if n and names.count(n) > 1}):
        found.append(f"The {kind} '{name}' stands twice; give each a name of its own.")


def _uses(units):
    """Yield (where, objective's name) for every board and ask that names one."""
    for unit in units:
        for board in unit.boards:
            own = getattr(board, "objectives", ())
            yield from ((f"{unit.identifier}: board '{board.name}'", name) for name in own)
            for ask in board.asks:
                named = getattr(ask, "objectives", ())
                yield from ((f"{unit.identifier}: question '{ask.identifier}'", n) for n in named)


def _tested(units):
    """Return the questions on each objective, by its name."""
    tested = {}
    for unit in units:
        for board in unit.boards:
            for question, names in _questions(board):
                for name in names:
                    tested.setdefault(name, []).append(f"{unit.identifier}: {question}")
    return tested


def _questions(board):
    """Yield (question, objectives' names) for what a learner answers on a board.

    Not what is worked through or given. A walk-around has no asks: its finds are one question.
    """
    own = tuple(getattr(board, "objectives", ()))
    if not getattr(board, "is_committed_by_learner", True):
        return
    if not board.asks and getattr(board, "scene", "flight") != "flight":
        yield board.name, own
    for ask in board.asks:
        if not getattr(ask, "given", False):
            yield ask.identifier, (*own, *getattr(ask, "objectives", ()))
