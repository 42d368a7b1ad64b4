"""Keys: what each question of a learner's paper is, what is right, and what each answer is worth.

A key is a table that JSON can hold. It stays in the instructor's folder; only a seal of it is
printed on the paper.
"""

from dataclasses import dataclass, field

from fuelkit.assess.course import Board
from fuelkit.assess.integrity.sittings import paper_name
from fuelkit.assess.papers.placed import as_table, board_from, computed, placed

SCHEMA = 1


@dataclass(frozen=True)
class KeyQuestion:
    """One question of a paper with its answers. Frozen.

    name, line, kind, source : str
        Its name on the paper; the line of the blueprint; the kind; and which question of the pool
        it is.
    marks : float
        For the whole question.
    board : Board
        As it stands on the paper.
    right : tuple of str
        Right answers as written, ask by ask.
    believed : dict of str to tuple of str
        See `Question`.
    objectives : tuple of str
    difficulty : int
    """

    name: str
    line: str
    kind: str
    source: str
    marks: float
    board: Board
    right: tuple
    believed: dict = field(default_factory=dict)
    objectives: tuple = ()
    difficulty: int = 0


@dataclass(frozen=True)
class Key:
    """The key to one learner's paper. Frozen.

    paper, sitting, learner, title : str
    aircraft, fingerprint : str
        Which the answers were computed for.
    """

    paper: str
    sitting: str
    learner: str
    title: str
    aircraft: str
    fingerprint: str
    questions: tuple

    @property
    def marks(self):
        """Marks to be had."""
        return sum(question.marks for question in self.questions)

    def table(self):
        """Return the key as JSON can hold it."""
        rows = [
            {
                "name": q.name, "line": q.line, "kind": q.kind, "source": q.source,
                "marks": q.marks, "board": as_table(q.board), "right": list(q.right),
                "believed": {name: list(said) for name, said in q.believed.items()},
                "objectives": list(q.objectives), "difficulty": q.difficulty,
            }
            for q in self.questions
        ]  # fmt: skip
        names = ("paper", "sitting", "learner", "title", "aircraft", "fingerprint")
        return {"schema": SCHEMA, **{n: getattr(self, n) for n in names}, "questions": rows}


def make_key(blueprint, drawn, learner, fingerprint, known=None):
    """Return the key to a drawn paper.

    Parameters
    ----------
    blueprint : Blueprint
    drawn : Drawn
    learner : str
        The learner's code.
    fingerprint : str
        Of the aircraft's file.
    known : dict, optional
        Keeps the right answers to each question of the pool, so that they are computed once.
    """
    known, questions = {} if known is None else known, []
    for number, (line, question) in enumerate(drawn.questions, start=1):
        board = placed(question.board, number)
        if question.identifier not in known:
            known[question.identifier] = question.right or _right(question.board)
        right = known[question.identifier]
        questions.append(
            KeyQuestion(
                board.name, line.name, question.kind, question.identifier, line.marks, board,
                right, question.believed, question.objectives, question.difficulty,
            )
        )  # fmt: skip
    return Key(
        paper_name(blueprint.sitting, learner), blueprint.sitting, learner, blueprint.title,
        blueprint.aircraft, fingerprint, tuple(questions),
    )  # fmt: skip


def _right(board):
    return tuple(answer.written() for answer in computed(board))


def key_from(table):
    """Return a key from what `Key.table` made."""
    questions = tuple(
        KeyQuestion(
            row["name"], row["line"], row["kind"], row["source"], row["marks"],
            board_from(row["board"]), tuple(row["right"]),
            {name: tuple(said) for name, said in row["believed"].items()},
            tuple(row["objectives"]), row["difficulty"],
        )
        for row in table["questions"]
    )  # fmt: skip
    names = ("paper", "sitting", "learner", "title", "aircraft", "fingerprint")
    return Key(**{name: table[name] for name in names}, questions=questions)
