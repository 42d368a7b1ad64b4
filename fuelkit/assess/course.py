"""Lessons and exercises as data: boards with their situations and what each one asks."""

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml

SCHEMA = 1
_LIBRARY = resources.files("fuelkit.assess") / "data"


@dataclass(frozen=True)
class Ask:
    """One thing that a board asks. Frozen.

    identifier : str
        Unique in its lesson or exercise.
    kind : str
        "state", "feeding", "figure" or "when".
    about : str
        A component, a consumer, a tank or "total", or a fact that will come about.
    text : str
        The question as the learner reads it; empty to let the kit write it.
    moment : str
        When it is asked for, if not at the board's own moment.
    tolerance : float
        Of a figure [kg] or a time [s].
    marks : float
    """

    identifier: str
    kind: str
    about: str
    text: str
    moment: str
    tolerance: float
    marks: float


@dataclass(frozen=True)
class Board:
    """A situation and what is asked about it. Frozen.

    shown, asked : str
        The moment that the learner sees, and the one that the answers are for, in words.
    asked_as : str
        The moment asked for as the learner reads it; empty to write its time. Needed where the
        time itself would give an answer away.
    drawing : bool
        False for a closed-book board: no drawing is shown.
    after : str
        What a lesson says once the prediction is committed, below the number of right ones.
    state_marks : float
        Marks for its state and feeding asks together; see `assess.marking`.
    """

    name: str
    title: str
    lead: str
    shown: str
    asked: str
    asked_as: str
    drawing: bool
    after: str
    state_marks: float
    asks: tuple


@dataclass(frozen=True)
class Unit:
    """A lesson or an exercise: an aircraft, a sector, and boards. Frozen."""

    identifier: str
    kind: str
    title: str
    aircraft: str
    sector: str
    objectives: tuple
    boards: tuple

    def board(self, name):
        """Return the board of that name, or raise with the nearest name."""
        for board in self.boards:
            if board.name == name:
                return board
        names = [board.name for board in self.boards]
        raise DataFileError(self.identifier, [f"there is no board '{name}'.{nearest(name, names)}"])


def load_unit(identifier):
    """Return a lesson or exercise of the kit by its identifier.

    Raises
    ------
    DataFileError
        If the kit has none of that name, or its file has faults (all are listed).

    Examples
    --------
    >>> load_unit("exercise-cruise").kind
    'exercise'
    """
    known = unit_names()
    if identifier not in known:
        hint = nearest(identifier, known)
        raise DataFileError(str(identifier), [f"the kit has {', '.join(known)}.{hint}"])
    return unit_from(read_toml(Path(str(_LIBRARY / f"{identifier}.toml"))), identifier)


def unit_names():
    """Return the identifiers of all lessons and exercises of the kit."""
    return sorted(p.name[:-5] for p in _LIBRARY.iterdir() if p.name.endswith(".toml"))


def unit_from(content, label="unit"):
    """Return a lesson or exercise from the content of a file; raise with all its faults."""
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    unit = Unit(
        identifier=section.text("identifier"),
        kind=section.choice("kind", ("lesson", "exercise")),
        title=section.text("title"),
        aircraft=section.text("aircraft"),
        sector=section.text("sector"),
        objectives=section.texts("objectives"),
        boards=tuple(_board(table) for table in section.tables("boards", required=True)),
    )
    section.finish()
    names = [board.name for board in unit.boards]
    names += [ask.identifier for board in unit.boards for ask in board.asks]
    for name in sorted({n for n in names if names.count(n) > 1}):
        found.append(f"'{name}' stands twice; give each board and ask a name of its own.")
    if found:
        raise DataFileError(label, found)
    return unit


def _board(table):
    board = Board(
        name=table.text("name"),
        title=table.text("title"),
        lead=table.text("lead"),
        shown=table.text("shown"),
        asked=table.text("asked"),
        asked_as=table.text("asked_as", ""),
        drawing=table.flag("drawing", True),
        after=table.text("after", ""),
        state_marks=table.number("state_marks", 0.0, low=0, high=100),
        asks=tuple(_ask(ask) for ask in table.tables("asks", required=True)),
    )
    table.finish()
    return board


def _ask(table):
    kind = table.choice("kind", ("state", "feeding", "figure", "when"))
    measured = kind in ("figure", "when")
    ask = Ask(
        identifier=table.text("name"),
        kind=kind,
        about=table.text("about"),
        text=table.text("text", ""),
        moment=table.text("moment", ""),
        tolerance=table.number("tolerance", above=0) if measured else 0.0,
        marks=table.number("marks", 0.0, low=0, high=100) if measured else 0.0,
    )
    table.finish()
    return ask
