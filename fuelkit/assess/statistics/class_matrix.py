"""The marks of a class as a table with missing cells: learners by lines of the blueprint.

Each learner has a paper of their own, drawn from one blueprint. A column is therefore not one
question but what the blueprint asks for in one line (an objective, a kind, a difficulty), and a
cell is a learner's mark on the question they drew for it. Questions of one line are taken to be
alike, as the draw makes them. A finer column, such as a family of questions, leaves cells empty.
"""

import math
from dataclasses import dataclass

import numpy as np

from fuelkit.assess.statistics.estimate import NOTHING


@dataclass(frozen=True)
class ClassMatrix:
    """Marks of a class. Frozen.

    learners : tuple of str
        Codes, one a row.
    lines : tuple of str
        Lines of the blueprint (or families of questions), one a column.
    most : tuple of float
        Marks to be had on each line.
    got : tuple of tuple of float or None
        Marks earned, by learner and line; None where a learner did not have the line.
    """

    learners: tuple[str, ...]
    lines: tuple[str, ...]
    most: tuple[float, ...]
    got: tuple[tuple[float | None, ...], ...]

    def __post_init__(self):
        """Check that rows and columns fit and that every mark is possible."""
        for what, names in (("learner", self.learners), ("line", self.lines)):
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"{what} {twice[0]!r} stands twice; name each {what} once.")
        if len(self.most) != len(self.lines) or len(self.got) != len(self.learners):
            raise ValueError(
                f"got has {len(self.got)} rows and most {len(self.most)} figures; there are "
                f"{len(self.learners)} learners and {len(self.lines)} lines."
            )
        for line, most in zip(self.lines, self.most, strict=True):
            if not (math.isfinite(most) and most > 0.0):
                raise ValueError(f"line {line!r}: most is {most}; it must be above 0.")
        for learner, row in zip(self.learners, self.got, strict=True):
            self._check_row(learner, row)

    def _check_row(self, learner, row):
        if len(row) != len(self.lines):
            raise ValueError(
                f"learner {learner!r} has {len(row)} marks; there are {len(self.lines)} lines. "
                "Put None where a line was not had."
            )
        for line, most, mark in zip(self.lines, self.most, row, strict=True):
            if mark is not None and not -NOTHING <= mark <= most + NOTHING:
                raise ValueError(
                    f"learner {learner!r}, line {line!r}: got is {mark}; "
                    f"it must be from 0 to {most}."
                )

    @property
    def marks(self):
        """Marks earned, shape (learners, lines); not a number where a line was not had."""
        shape = (len(self.learners), len(self.lines))
        cells = [math.nan if mark is None else mark for row in self.got for mark in row]
        return np.array(cells, dtype=float).reshape(shape)

    @property
    def shares(self):
        """Marks earned as a share of those to be had, shape (learners, lines). [-]"""
        return self.marks / np.array(self.most, dtype=float)

    @property
    def is_whole(self):
        """Whether a learner had every line, shape (learners,)."""
        return ~np.isnan(self.marks).any(axis=1)

    def whole_marks(self):
        """Return the marks of those who had every line, shape (whole papers, lines)."""
        return self.marks[self.is_whole]

    def whole_totals(self):
        """Return (learner, marks in all) of those who had every line."""
        totals = self.whole_marks().sum(axis=1)
        codes = [code for code, whole in zip(self.learners, self.is_whole, strict=True) if whole]
        return tuple(zip(codes, (float(total) for total in totals), strict=True))

    def shares_on(self, line):
        """Return the shares earned on a line by those who had it, shape (n,). [-]"""
        column = self.shares[:, self._index(line)]
        return column[~np.isnan(column)]

    def line_and_rest(self, line):
        """Return what those who had a line earned on it and on the rest of their own paper.

        Returns
        -------
        on_line, on_rest : ndarray, shape (n,)
            Shares; who had nothing but this line is left out. [-]
        """
        index = self._index(line)
        had = ~np.isnan(self.marks)
        others = had.copy()
        others[:, index] = False
        with_both = had[:, index] & others.any(axis=1)
        got = np.where(others, self.marks, 0.0).sum(axis=1)
        most = (others * np.array(self.most, dtype=float)).sum(axis=1)
        return self.shares[with_both, index], got[with_both] / most[with_both]

    def _index(self, line):
        if line not in self.lines:
            raise ValueError(f"there is no line {line!r}; there are {', '.join(self.lines)}.")
        return self.lines.index(line)


def class_matrix(entries):
    """Return the class matrix of single marks.

    Parameters
    ----------
    entries : iterable of (str, str, float, float)
        Learner, line, marks earned, marks to be had. Several questions of one line on a paper are
        added up.

    Returns
    -------
    ClassMatrix
        Learners and lines in the order of the alphabet, so that the order of entries is no matter.

    Raises
    ------
    ValueError
        If a line is worth more to one learner than to another: then papers are not equal.

    Examples
    --------
    >>> class_matrix([("A2", "climb", 1, 2), ("A1", "climb", 2, 2), ("A1", "order", 0, 1)]).got
    ((2, 0), (1, None))
    """
    got, most = {}, {}
    for learner, line, mark, full in entries:
        got[learner, line] = got.get((learner, line), 0) + mark
        most[learner, line] = most.get((learner, line), 0) + full
    learners = tuple(sorted({learner for learner, _ in got}))
    lines = tuple(sorted({line for _, line in got}))
    worth = tuple(_worth(line, most) for line in lines)
    rows = tuple(tuple(got.get((learner, line)) for line in lines) for learner in learners)
    return ClassMatrix(learners, lines, worth, rows)


def _worth(line, most):
    found = sorted({full for (_, other), full in most.items() if other == line})
    if found[-1] - found[0] > NOTHING:
        raise ValueError(
            f"line {line!r} is worth {found[0]} marks on one paper and {found[-1]} on another; "
            "draw all papers from one blueprint, or name two lines."
        )
    return found[0]
