"""One question of a paper: a board of its own, what it tests, how hard it is, what beliefs say."""

from dataclasses import dataclass, field

from fuelkit.assess.course import Board

KINDS = (
    "state", "order", "when", "figure", "sheet", "label", "spot", "fault", "choice", "reason",
)  # fmt: skip
"""Every kind of question; what each asks stands in the guide for contributors."""

BANDS = ("easy", "middle", "hard")
"""Bands of difficulty, from few state changes and arithmetic steps to many."""

_EASY, _HARD = 2, 5  # state changes and arithmetic steps together: at most, at least


@dataclass(frozen=True)
class Question:
    """A question that can stand on a paper. Frozen.

    identifier : str
        The same for the same aircraft file, kind and situation.
    kind : str
        One of `KINDS`.
    board : Board
        With aircraft, sector, draw and failures of its own flight: all that the answer needs.
    objectives : tuple of str
        Names of what it tests.
    stage : str
        Name of the lesson that it belongs to.
    changes, steps : int
        State changes to foresee and arithmetic steps to work.
    believed : dict of str to tuple of str
        For each belief under which it is answered otherwise: the answers, ask by ask, as written.
    parts : frozenset of str
        Names of the components whose states it asks for.
    beside : frozenset of str
        Identifiers of those that may not stand beside it on a paper.
    right : tuple of str
        Right answers as written, ask by ask; empty as long as they are not computed.
    """

    identifier: str
    kind: str
    board: Board
    objectives: tuple
    stage: str
    changes: int
    steps: int
    believed: dict = field(default_factory=dict)
    parts: frozenset = frozenset()
    beside: frozenset = frozenset()
    right: tuple = ()

    @property
    def difficulty(self):
        """State changes and arithmetic steps together."""
        return self.changes + self.steps

    @property
    def band(self):
        """The band of difficulty that it lies in."""
        if self.difficulty <= _EASY:
            return BANDS[0]
        return BANDS[2] if self.difficulty >= _HARD else BANDS[1]
