"""Lessons and exercises as data: boards with their situations and what each one asks."""

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.flight.amend import canonical

SCHEMA = 2
_LIBRARY = resources.files("fuelkit.assess") / "data" / "units"

LESSONS = (
    "tanks",
    "walk-around",
    "cockpit-preparation",
    "engine-start",
    "climb",
    "cruise",
    "descent",
    "after-landing",
    "abnormal",
)
"""The lessons of the course in their order; each has an exercise of the same name."""

KINDS = ("state", "feeding", "figure", "when", "bands", "choice", "fault")
MADE_KINDS = ("finding", "step", "order", "label", "reason")
FORMS = ("starter", "worked", "half", "blank")
SCENES = ("flight", "tanks", "walk-around", "sticks", "water", "sheet")
LABEL = "label"
"""A scene of papers only: the drawing with letters in place of names."""
_MEASURED = ("figure", "when", "bands")
_MARKED_TOGETHER = ("state", "feeding", "finding")


@dataclass(frozen=True)
class Ask:
    """One thing that a board asks. Frozen.

    identifier : str
        Unique in its lesson or exercise.
    kind : str
        "state", "feeding", "figure", "when", "bands" (when a part is in a state), "choice" (of
        sentences), or "fault" (what has failed). Made by the kit: "finding" (what to do about a
        sight), "step" (of a figure sheet), "order" (which event takes a place), "label" (which part
        a letter stands for) and "reason" (why, in the learner's words).
    about : str
        A component, a consumer, a tank or "total", a fact, the place of a sight in the walk, or of
        an event in the order, from 0.
    text : str
        The question as the learner reads it; empty to let the kit write it.
    moment : str
        When it is asked for, if not at the board's own moment.
    tolerance : float
        Of a figure [kg] or a time [s].
    marks : float
    options : tuple of str
        For a choice, its sentences, the right one first; they are shown in another order. For a
        fault, the failures to choose from; the flight knows which has happened.
    because : str
        For a choice, why the first one is right.
    given : bool
        Whether the kit sets it, on a board that is half done.
    objectives : tuple of str
        Names of the objectives that it tests.
    """

    identifier: str
    kind: str
    about: str = ""
    text: str = ""
    moment: str = ""
    tolerance: float = 0.0
    marks: float = 0.0
    options: tuple = ()
    because: str = ""
    given: bool = False
    objectives: tuple = ()

    @property
    def is_marked_together(self):
        """Whether it is marked with the others of its board, corrected for chance."""
        return self.kind in _MARKED_TOGETHER


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
        Marks for its asks that are marked together; see `assess.marking`.
    form : str
        "starter" (from memory), "worked" (shown with all its steps), "half" (some asks given) or
        "blank".
    scene : str
        "flight"; or "tanks", "walk-around", "sticks", "water" or "sheet", whose asks the kit makes.
    sheet : str
        Name of the figure sheet of a board whose scene is "sheet".
    aircraft, sector : str
        If not those of the lesson: for a contrast.
    more : str
        Failures and crew actions of this board's own flight; see `flight.amend.canonical`.
    draw : int
        0 for the situation as written; else the number of a drawn one.
    """

    name: str
    title: str
    lead: str = ""
    shown: str = "0:00:00"
    asked: str = "0:00:00"
    asked_as: str = ""
    drawing: bool = True
    after: str = ""
    state_marks: float = 0.0
    asks: tuple = ()
    form: str = "blank"
    scene: str = "flight"
    sheet: str = ""
    aircraft: str = ""
    sector: str = ""
    more: str = ""
    draw: int = 0
    objectives: tuple = ()

    @property
    def is_committed_by_learner(self):
        """Whether a learner commits answers on it: not on an example that is worked through."""
        return self.form != "worked"


@dataclass(frozen=True)
class Unit:
    """A lesson or an exercise: an aircraft, a sector, and boards. Frozen.

    goals : tuple of str
        What a learner will be able to do.
    summary : tuple of str
        The few sentences to take home; printed on one page.
    """

    identifier: str
    kind: str
    title: str
    aircraft: str
    sector: str
    goals: tuple
    boards: tuple
    summary: tuple = ()
    cautions: tuple = ()

    def board(self, name):
        """Return the board of that name, or raise with the nearest name."""
        for board in self.boards:
            if board.name == name:
                return board
        names = [board.name for board in self.boards]
        raise DataFileError(self.identifier, [f"there is no board '{name}'.{nearest(name, names)}"])

    @property
    def stage(self):
        """The part of the course that it belongs to, such as "cruise"."""
        return self.identifier.removeprefix("lesson-").removeprefix("exercise-")


def load_unit(identifier):
    """Return a lesson or exercise of the kit by its identifier, as it is written.

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
        goals=section.texts("goals"),
        boards=tuple(_board(table) for table in section.tables("boards", required=True)),
        summary=section.texts("summary", ()),
        cautions=section.texts("cautions", ()),
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
    scene = table.choice("scene", SCENES, "flight")
    board = Board(
        name=table.text("name"),
        title=table.text("title"),
        lead=table.text("lead"),
        shown=table.text("shown", "0:00:00"),
        asked=table.text("asked", "0:00:00"),
        asked_as=table.text("asked_as", ""),
        drawing=table.flag("drawing", True),
        after=table.text("after", ""),
        state_marks=table.number("state_marks", 0.0, low=0, high=100),
        asks=tuple(_ask(a) for a in table.tables("asks", required=scene == "flight")),
        form=table.choice("form", FORMS, "blank"),
        scene=scene,
        sheet=table.text("sheet") if scene == "sheet" else "",
        aircraft=table.text("aircraft", ""),
        sector=table.text("sector", ""),
        more=canonical(table.raw("failures", list, "", []), table.raw("actions", list, "", [])),
        draw=int(table.number("draw", 0, low=0, high=1e9)),
        objectives=table.texts("objectives", ()),
    )
    table.finish()
    return board


def _ask(table):
    kind = table.choice("kind", KINDS)
    measured, chosen = kind in _MEASURED, kind in ("choice", "fault")
    ask = Ask(
        identifier=table.text("name"),
        kind=kind,
        about=table.text("about", "") if chosen else table.text("about"),
        text=table.text("text") if chosen else table.text("text", ""),
        moment=table.text("moment", ""),
        tolerance=table.number("tolerance", above=0) if measured else 0.0,
        marks=table.number("marks", 0.0, low=0, high=100) if measured or chosen else 0.0,
        options=table.texts("options") if chosen else (),
        because=table.text("because") if kind == "choice" else "",
        given=table.flag("given", False),
        objectives=table.texts("objectives", ()),
    )
    if chosen and not 2 <= len(ask.options) <= 6:
        table.fault("options", ask.options, "a choice has two to six")
    table.finish()
    return ask
