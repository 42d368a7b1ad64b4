"""Which beliefs a learner's paper fits: the key's predicted answers, and the learner's own."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fuelkit.assess.beliefs.infer import infer
from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.beliefs.table import UNANSWERED, Part, joined, table_of
from fuelkit.assess.papers.marking import answers_of, nameless
from fuelkit.assess.written import read_answer


@dataclass(frozen=True)
class FoundBelief:
    """A belief that a paper speaks for, or some that it cannot tell apart. Frozen.

    names : tuple of str
    probability : float
        [-]
    questions : tuple of str
        Names of the questions that speak for it, the one that says most first.
    """

    names: tuple
    probability: float
    questions: tuple

    @property
    def sentence(self):
        """The sentence for the learner."""
        first = belief_of(self.names[0])
        where = ", ".join(name.removeprefix("q").lstrip("0") for name in self.questions[:3])
        alone = " No other question shows it, so it may be chance." if self.is_by_one else ""
        return f"{first.feedback} See question {where}.{alone}" if where else first.feedback

    @property
    def is_by_one(self):
        """Whether one question alone speaks for it."""
        return len(self.questions) == 1


def with_beliefs(paper):
    """Return a marked paper with the beliefs that its answers fit."""
    return replace(paper, beliefs=beliefs_found(paper.key, paper.sheet))


def beliefs_found(key, sheet):
    """Return the beliefs that the answers of a sheet fit, as a tuple of FoundBelief.

    Parameters
    ----------
    key : Key
    sheet : Sheet

    Notes
    -----
    Parts of a question about states and feeding are taken one by one, as are the steps of a
    sheet; a choice is one part. Written reasons and faults say nothing. See `beliefs.infer`.
    """
    questions = [q for q in key.questions if q.believed]
    if not questions:
        return ()
    table = joined([
        _predicted(nameless(q.board), q.right, tuple(sorted(q.believed.items())))
        for q in questions
    ])  # fmt: skip
    given = []
    for question in questions:
        texts = sheet.answers.get(question.name, {}).get("given", {})
        given += _written(question.board, tuple(sorted(texts.items())))
    codes = np.array(
        [UNANSWERED if g is None else table.code(i, g) for i, g in enumerate(given)], int
    )
    return tuple(
        FoundBelief(f.names, f.probability, tuple(questions[q].name for q in f.questions))
        for f in infer(table, codes).named()
    )


@lru_cache(maxsize=4096)
def _written(board, given):
    """What was given to each part, as an answer is written; None where it cannot be read."""
    texts, found = dict(given), []
    for answer in answers_of(board):
        value = read_answer(answer, texts.get(answer.ask.identifier))
        found.append(None if value is None else answer.written(value))
    return found


@lru_cache(maxsize=4096)
def _predicted(board, right, believed):
    """The table of one question: the same question stands on many papers."""
    parts = [
        Part((right[i], *(said[i] for _, said in believed)), len(answer.options), _agree(answer))
        for i, answer in enumerate(answers_of(board))
    ]
    return table_of([name for name, _ in believed], [parts])


def _agree(answer):
    """Whether two written answers to a part are the same, within its tolerance."""
    if answer.options:
        return _same
    tolerance = answer.ask.tolerance

    def near(one, other):
        first, second = read_answer(answer, one), read_answer(answer, other)
        if first is None or second is None:
            return one == other
        return abs(first - second) <= 0.5 * tolerance + 1e-9

    return near


def _same(one, other):
    return one == other
