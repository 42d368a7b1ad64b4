"""What each belief answers to each part of each question, as one table of numbers.

A question is a board of several parts: states of pumps and valves at a moment, or one time, or one
figure. Of a part only matters which beliefs answer alike.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from operator import eq

import numpy as np

UNANSWERED, OTHER = -1, -2
"""Codes of a given answer: none, and one that neither the right model nor a belief predicts."""


@dataclass(frozen=True)
class Part:
    """One part of a question, answered by every model. Frozen.

    answers : tuple
        The right answer first, then that of each belief; None for one that says nothing here.
    options : int
        How many answers there are to choose from; 0 if it is open, as a figure or a time is.
    agree : callable
        Whether two answers are the same, within the tolerance of the part.
    """

    answers: tuple
    options: int = 0
    agree: Callable = field(default=eq, repr=False)


@dataclass(frozen=True)
class Table:
    """Predicted answers. Frozen.

    beliefs : tuple of str
    predicted : numpy.ndarray
        Code of the answer, shape (1 + beliefs, parts); row 0 is right, and its code 0.
    options : numpy.ndarray
        Number of answers of each part, 0 if it is open.
    question : numpy.ndarray
        Number of the question that each part belongs to, from 0.
    values : tuple of tuple
        For each part the answers that the codes stand for.
    agree : tuple of callable
    """

    beliefs: tuple
    predicted: np.ndarray
    options: np.ndarray
    question: np.ndarray
    values: tuple = field(default=(), repr=False)
    agree: tuple = field(default=(), repr=False)

    @property
    def questions(self):
        """How many questions there are."""
        return int(self.question.max()) + 1 if self.question.size else 0

    def of(self, questions):
        """Return the table of some questions, numbered anew in the order given."""
        places = [np.flatnonzero(self.question == q) for q in questions]
        parts = np.concatenate(places) if places else np.zeros(0, int)
        return Table(
            self.beliefs,
            self.predicted[:, parts],
            self.options[parts],
            np.repeat(np.arange(len(places)), [len(p) for p in places]),
            tuple(self.values[i] for i in parts) if self.values else (),
            tuple(self.agree[i] for i in parts) if self.agree else (),
        )

    def with_beliefs(self, names):
        """Return the table of some of the beliefs."""
        rows = [0, *(1 + self.beliefs.index(name) for name in names)]
        return Table(
            tuple(names), self.predicted[rows], self.options, self.question, self.values, self.agree
        )

    def code(self, part, answer):
        """Return the code of an answer that a learner gave to a part; None is unanswered."""
        if answer is None:
            return UNANSWERED
        for code, value in enumerate(self.values[part]):
            if self.agree[part](answer, value):
                return code
        return OTHER


def table_of(beliefs, boards):
    """Return the table of some questions.

    Parameters
    ----------
    beliefs : sequence of str
    boards : sequence of sequence of Part
        The parts of each question.

    Examples
    --------
    >>> board = (Part(("RUN", "OFF", None), 2), Part((40.0, 40.4, 90.0), agree=_near))
    >>> table_of(("a", "b"), [board]).predicted.tolist()
    [[0, 0], [1, 0], [0, 1]]
    """
    coded = [_coded(part) for board in boards for part in board]
    predicted = np.array([codes for codes, _ in coded], int).reshape(len(coded), 1 + len(beliefs)).T
    return Table(
        tuple(beliefs),
        predicted,
        np.array([part.options for board in boards for part in board], int),
        np.repeat(np.arange(len(boards)), [len(board) for board in boards]),
        tuple(values for _, values in coded),
        tuple(part.agree for board in boards for part in board),
    )


def joined(tables):
    """Return the table of several others, whose beliefs may differ, with all their beliefs.

    A belief that a table does not have predicts the right answers there.

    Parameters
    ----------
    tables : sequence of Table

    Examples
    --------
    >>> one = table_of(("a",), [(Part(("RUN", "OFF"), 2),)])
    >>> other = table_of(("b",), [(Part(("OPEN", "SHUT"), 2),)])
    >>> joined([one, other]).predicted.tolist()
    [[0, 0], [1, 0], [0, 1]]
    """
    beliefs = sorted({name for table in tables for name in table.beliefs})
    row = {name: number for number, name in enumerate(beliefs, start=1)}
    columns, questions, first = [], [], 0
    for table in tables:
        column = np.zeros((1 + len(beliefs), table.options.size), int)
        column[[row[name] for name in table.beliefs]] = table.predicted[1:]
        columns.append(column)
        questions.append(table.question + first)
        first += table.questions
    return Table(
        tuple(beliefs), np.hstack(columns), np.concatenate([t.options for t in tables]),
        np.concatenate(questions), sum((t.values for t in tables), ()),
        sum((t.agree for t in tables), ()),
    )  # fmt: skip


def _near(one, other):
    """Whether two numbers differ by 1 at most."""
    return abs(one - other) <= 1.0


def _coded(part):
    values, codes = [], []
    for answer in part.answers:
        if answer is None and values:
            codes.append(0)
            continue
        known = (i for i, value in enumerate(values) if part.agree(answer, value))
        code = next(known, len(values))
        if code == len(values):
            values.append(answer)
        codes.append(code)
    return codes, tuple(values)
