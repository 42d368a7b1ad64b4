"""A marked paper as the exports take it: learner codes, questions, answers, marks. No names."""

import math
from dataclasses import dataclass

from fuelkit.assess.marking import together
from fuelkit.assess.sheet import learner_code

_SLACK = 1e-9


@dataclass(frozen=True)
class MarkedQuestion:
    """One question of a paper, with its key and what the learner gave and earned. Frozen.

    identifier : str
        Names the question; the same on every paper that has it.
    line : str
        Line of the blueprint that it was drawn for.
    kind : str
        choice, order, figure, when, reason, or another kind of the kit.
    words : str
        The question as the learner read it.
    options : tuple of str
        For choice and order: what could be chosen, or is to be put in order. Else empty.
    right : tuple of str
        The right option or options; for order all of them, in the right order; for a figure or a
        time that alone, as a person would write it. For a reason, what the mark scheme says.
    given : tuple of str
        What the learner gave, in the same form; empty for no answer.
    got, most : float
        Marks earned, and to be had.
    tolerance : float or None
        Of a figure, in its unit; of a time, in seconds.
    unit : str
        Of a figure; "h:mm:ss" for a time. Empty if there is none.
    """

    identifier: str
    line: str
    kind: str
    words: str
    options: tuple[str, ...]
    right: tuple[str, ...]
    given: tuple[str, ...]
    got: float
    most: float
    tolerance: float | None
    unit: str

    def __post_init__(self):
        """Check that marks are possible and that what is right can be chosen."""
        where = f"question {self.identifier!r}"
        if not (self.identifier and self.line):
            raise ValueError(f"{where}, line {self.line!r}: both must be named.")
        if not (math.isfinite(self.most) and self.most > 0.0):
            raise ValueError(f"{where}: most is {self.most}; it must be above 0.")
        if not -_SLACK <= self.got <= self.most + _SLACK:
            raise ValueError(f"{where}: got is {self.got}; it must be from 0 to {self.most}.")
        if self.tolerance is not None and not 0.0 <= self.tolerance < math.inf:
            raise ValueError(f"{where}: tolerance is {self.tolerance}; it must be 0 or more.")
        if len(set(self.options)) != len(self.options):
            raise ValueError(f"{where}: an option stands twice; name each once.")
        strange = [text for text in self.right if self.options and text not in self.options]
        if strange:
            raise ValueError(f"{where}: right is {strange[0]!r}; it must be one of its options.")

    @property
    def share(self):
        """Marks earned as a share of those to be had, 0 to 1. [-]"""
        return min(1.0, max(0.0, self.got / self.most))

    @property
    def is_right(self):
        """Whether all its marks were earned."""
        return self.got >= self.most - _SLACK


@dataclass(frozen=True)
class MarkedPaper:
    """The marked paper of one learner. Frozen.

    learner : str
        Code, in its standard form; never a name.
    paper : str
        Names the paper.
    questions : tuple of MarkedQuestion
    """

    learner: str
    paper: str
    questions: tuple[MarkedQuestion, ...]

    def __post_init__(self):
        """Check the code and that each question stands once."""
        if learner_code(self.learner) != self.learner:
            raise ValueError(
                f"learner is {self.learner!r}; write the code as {learner_code(self.learner)!r}."
            )
        names = [question.identifier for question in self.questions]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"paper {self.paper!r}: question {twice[0]!r} stands twice.")
        if not (self.paper and self.questions):
            raise ValueError(f"paper {self.paper!r}: it must have a name and a question.")

    @property
    def total(self):
        """Marks earned, rounded to a tenth as everywhere a learner reads them."""
        return together(question.got for question in self.questions)

    @property
    def most(self):
        """Marks to be had, rounded likewise."""
        return together(question.most for question in self.questions)

    @property
    def share(self):
        """Marks earned as a share of those to be had, 0 to 1. [-]"""
        return min(1.0, max(0.0, self.total / self.most))

    def has_passed(self, pass_share):
        """Return whether the paper reaches the pass mark, a share of its marks."""
        return self.share >= pass_share - _SLACK


def by_learner(papers):
    """Return papers in the order of learner codes.

    Raises
    ------
    ValueError
        If a learner has more than one: nobody guesses which counts.
    """
    papers = sorted(papers, key=lambda paper: paper.learner)
    for one, other in zip(papers, papers[1:], strict=False):
        if one.learner == other.learner:
            raise ValueError(
                f"learner {one.learner} has two papers, {one.paper!r} and {other.paper!r}; "
                "keep the one that counts."
            )
    return tuple(papers)
