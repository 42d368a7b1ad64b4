"""Draw each learner's paper from a pool: the blueprint met exactly, equally hard, saying most.

A paper is the best choice of an integer programme, solved by the HiGHS solver in
`scipy.optimize.milp`. The questions that a learner's paper is chosen from are themselves drawn by
the learner's seed, so that papers differ, and the same secret and class list give the same papers.
They are of the learner's own share of the pool: three shares, dealt out in turn along the class
list, so that those who sit beside each other have no question in common wherever each share has
enough.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.assess.papers.blueprint import MOST_SPREAD
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.lots import Lot

_OFFERED = 8  # times the questions of a line are offered to a learner at most,
_PART = 3 / 4  # and so much of those that fit it: what all are offered, all would be given
_TURNS = ((_PART, True), (_PART, True), (7 / 8, True), (7 / 8, True), (1.0, True), (1.0, False))
_SHARES = 3  # neighbours in so many places each have a share of the pool of their own;
_OTHERS = 1.0  # where it is too small, a question of the others costs so much, in beliefs told
_ENOUGH = 2.0  # questions that tell of one belief; more add nothing
_OPEN = {"figure", "sheet", "when"}  # kinds whose answers are not chosen from a few
_HALF = 0.5  # what one wrong choice tells, which may as well be a slip
_CHANCE = 0.05  # at most, of a random preference that sets learners apart
_GAP = 0.05  # of the best value; the rest is not worth twice the time


class BlueprintError(FuelkitError, ValueError):
    """A blueprint cannot be met; the message says which line, and by how much."""


@dataclass(frozen=True)
class Drawn:
    """The questions of one paper, line by line. Frozen.

    questions : tuple of (Line, Question)
        In the order of the blueprint.
    expected : float
        Share of the marks that a learner of middling ability may expect. [-]
    """

    questions: tuple
    expected: float


def expected_share(question, ability=0.0):
    """Return the share of its marks that a synthetic learner may expect. [-]

    A logistic curve of ability less difficulty, as in the one-parameter model of G. Rasch (1960,
    from memory); a difficulty of 4 state changes and steps is the middle, 2.5 one unit. It only
    balances papers: no mark depends on it.
    """
    return float(1.0 / (1.0 + np.exp((question.difficulty - 4.0) / 2.5 - ability)))


def check_counts(lines, pool):
    """Raise BlueprintError if there are lines for which a pool has too few questions."""
    counts = [sum(map(line.fits, pool)) for line in lines]
    short = [
        f"line '{line.name}' needs {line.count}, and {count} fit{_never(line, pool)}"
        for line, count in zip(lines, counts, strict=True) if count < line.count
    ]  # fmt: skip
    if short:
        raise BlueprintError(
            f"blueprint: {'; '.join(short)}. Ask for fewer, leave kinds, stages, objectives or "
            "difficulty more open, or draw more flights."
        )


def _never(line, pool):
    """Which wish of a line no question of a pool meets, whatever else it is; or nothing."""
    lacking = [
        name
        for found, wanted in (
            ({question.kind for question in pool}, line.kinds),
            ({name for question in pool for name in question.objectives}, line.objectives),
            ({question.stage for question in pool}, line.stages),
        )
        if wanted and not found & set(wanted)
        for name in wanted
    ]
    if not lacking:
        return ""
    return f" (nothing at all for {', '.join(lacking)}: this aircraft may never give any)"


def draw_papers(blueprint, pool, seeds, progress=lambda done, total: None, work=None):
    """Return one paper for each learner, in the order of the list.

    Parameters
    ----------
    blueprint : Blueprint
    pool : sequence of Question
    seeds : sequence of int
        Of each learner, from the sitting's secret. Neighbours stand beside each other.
    progress : callable
        Called with how many papers are drawn and how many there are.
    work : callable, optional
        Maps a function over a sequence, in order; each paper depends on its own seed and place
        alone, so that any number of cores gives the same papers.

    Returns
    -------
    tuple of Drawn

    Raises
    ------
    BlueprintError
        If a line cannot be met: says which, and by how much.
    """
    programme, papers = _Programme(blueprint, pool), []
    places = [(seed, number % _SHARES) for number, seed in enumerate(seeds)]
    for chosen in (work or map)(programme.chosen, places):
        papers.append(programme.drawn(chosen))
        progress(len(papers), len(seeds))
    return tuple(papers)


def _dealt(pool):
    """The share of the pool that each question falls to; questions of a sort fall to all alike."""
    sorts = {}
    for i, question in enumerate(pool):
        sort = (question.kind, question.stage, question.board.sheet)
        sorts.setdefault(sort, []).append((Lot(question.identifier).share("share"), i))
    dealt = [i for sort in sorted(sorts) for _, i in sorted(sorts[sort])]
    share = np.empty(len(pool), int)
    share[dealt] = np.arange(len(pool)) % _SHARES
    return share


def _telling(question, belief):
    """How much a question tells of a belief: one that is shown by a single choice, half."""
    pairs = zip(question.right, question.believed[belief], strict=False)
    parts = sum(right != said for right, said in pairs)
    return 1.0 if parts > 1 or question.kind in _OPEN else _HALF


class _Programme:
    """The choices that a blueprint leaves, and what each is worth."""

    def __init__(self, blueprint, pool):
        self.blueprint, self.pool = blueprint, sorted(pool, key=lambda q: q.identifier)
        self.eligible = [
            [i for i, question in enumerate(self.pool) if line.fits(question)]
            for line in blueprint.lines
        ]
        check_counts(blueprint.lines, self.pool)
        self.expected = np.array([expected_share(question) for question in self.pool])
        self.share = _dealt(self.pool)
        self.beliefs = sorted({name for question in self.pool for name in question.believed})
        place = {name: i for i, name in enumerate(self.beliefs)}
        self.tells = np.zeros((len(self.pool), len(self.beliefs)))
        for i, question in enumerate(self.pool):
            for name in question.believed:
                self.tells[i, place[name]] = _telling(question, name)
        self.target = self._target()

    def _target(self):
        """The mean expected share over all papers that meet the lines, with their marks."""
        lines = self.blueprint.lines
        means = [self.expected[found].mean() for found in self.eligible]
        marks = sum(line.count * line.marks * m for line, m in zip(lines, means, strict=True))
        return marks / self.blueprint.marks

    def chosen(self, place):
        """Return the best choice for a seed and a share of the pool.

        As pairs of the line's number and that of the question: little to send from core to core.
        """
        seed, share = place
        rng = np.random.default_rng(seed)
        for part, own in _TURNS:
            pairs = self._offered(rng, part, share if own else None)
            found = self._solved(pairs, rng, share)
            if found is not None:
                return found
        raise BlueprintError(self._why_not())

    def _offered(self, rng=None, part=1.0, share=None):
        """Pairs of line and question that are offered: a part of those that fit each line, or all.

        Of one share of the pool, if that has enough for the line.
        """
        pairs = []
        for number, (line, found) in enumerate(
            zip(self.blueprint.lines, self.eligible, strict=True)
        ):
            own = [i for i in found if self.share[i] == share]
            found = own if len(own) >= line.count else found
            most = min(_OFFERED * line.count, max(line.count, round(part * len(found))))
            if part < 1.0:
                found = sorted(rng.choice(found, most, replace=False))
            pairs += [(number, i) for i in found]
        return pairs

    def _solved(self, pairs, rng, share):
        """The pairs that are worth most, or None if the lines cannot be met with them."""
        value = rng.uniform(0.0, _CHANCE, len(pairs))
        value -= _OTHERS * np.array([self.share[i] != share for _, i in pairs])
        rows = self._rows(pairs, 0.5 * self.blueprint.spread)
        chosen = self._best(value, 1.0, rows, gap=_GAP)
        return None if chosen is None else [p for p, c in zip(pairs, chosen, strict=True) if c]

    def _best(self, value, told_value, rows, *, gap=0.0):
        """Which pairs to choose, as a row of truth, for their value and that of beliefs told."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # heavy, used here alone

        count, told = len(value), len(self.beliefs)
        found = milp(
            -np.r_[value, np.full(told, told_value)],
            integrality=np.r_[np.ones(count), np.zeros(told)],
            bounds=Bounds(0.0, np.r_[np.ones(count), np.full(told, _ENOUGH)]),
            constraints=LinearConstraint(*rows),
            options={"mip_rel_gap": gap},
        )
        return None if found.x is None else found.x[:count] > 0.5

    def _rows(self, pairs, half):
        """Constraints: each line full, no question twice, none beside another, equally hard.

        `half` is by how much the expected share may lie off the target. [-]
        """
        from scipy.sparse import csr_array

        count, told = len(pairs), len(self.beliefs)
        entries, low, high = [], [], []

        def add(places, at_least, at_most):
            entries.extend((len(low), place, number) for place, number in places)
            low.append(at_least)
            high.append(at_most)

        for number, line in enumerate(self.blueprint.lines):
            own = [(k, 1.0) for k, (n, _) in enumerate(pairs) if n == number]
            add(own, line.count, line.count)
        for group in self._apart(pairs):
            add([(k, 1.0) for k in group], -np.inf, 1.0)
        lines, marks = self.blueprint.lines, self.blueprint.marks
        hard = [(k, lines[n].marks * self.expected[i] / marks) for k, (n, i) in enumerate(pairs)]
        add(hard, self.target - half, self.target + half)
        for b in range(told):
            said = ((k, self.tells[i, b]) for k, (_, i) in enumerate(pairs))
            tells = [(k, -tells) for k, tells in said if tells]
            add([(count + b, 1.0), *tells], -np.inf, 0.0)
        row, column, number = zip(*entries, strict=True)
        shape = (len(low), count + told)
        return csr_array((number, (row, column)), shape=shape), np.array(low), np.array(high)

    def _apart(self, pairs):
        """Groups of pairs of which one at most may be chosen."""
        by_question = {}
        for k, (_, i) in enumerate(pairs):
            by_question.setdefault(i, []).append(k)
        groups = [places for places in by_question.values() if len(places) > 1]
        by_sheet = {}
        for i, places in by_question.items():
            if self.pool[i].board.sheet:
                by_sheet.setdefault(self.pool[i].board.sheet, []).extend(places)
        groups += list(by_sheet.values())  # one paper asks for a sheet once
        index = {self.pool[i].identifier: i for i in by_question}
        for i, places in by_question.items():
            for name in sorted(self.pool[i].beside):  # as in every process: rows must not differ
                other = index.get(name)
                if other is not None and other > i:
                    groups.append(places + by_question[other])
        return groups

    def drawn(self, chosen):
        """Return the paper of a choice."""
        lines, marks = self.blueprint.lines, self.blueprint.marks
        ordered = sorted(chosen)
        expected = sum(lines[n].marks * self.expected[i] for n, i in ordered) / marks
        return Drawn(tuple((lines[n], self.pool[i]) for n, i in ordered), float(expected))

    def _why_not(self):
        """Which lines together cannot be met, found by leaving each one out in turn."""
        pairs = self._offered()
        helped = []
        for number, line in enumerate(self.blueprint.lines):
            fewer = self._most_of(number, pairs)
            if fewer is not None and fewer < line.count:
                helped.append(f"line '{line.name}' could have {fewer} instead of {line.count}")
        told = "; or ".join(helped) or self._too_narrow(pairs)
        return (
            f"blueprint: its lines cannot all be met at once with these flights: {told}. "
            "Draw more flights, or ask for less."
        )

    def _most_of(self, number, pairs):
        """How many questions of a line are possible beside all the others; None if none helps.

        However hard: a paper that lacks a question cannot be as hard as the others.
        """
        rows, low, high = self._rows(pairs, np.inf)
        low[number] = 0.0
        own = np.array([n == number for n, _ in pairs], float)
        chosen = self._best(own, 0.0, (rows, low, high))
        return None if chosen is None else round(float(own @ chosen))

    def _too_narrow(self, pairs):
        """Which spread would do, where all lines can be met and the band is what cannot."""
        no, yes = int(100.0 * self.blueprint.spread), MOST_SPREAD + 1
        while yes - no > 1:
            middle = (no + yes) // 2
            no, yes = (no, middle) if self._feasible(pairs, 0.005 * middle) else (middle, yes)
        if yes > MOST_SPREAD:
            return "no single line is to blame"
        return f"all lines can, but not equally hard: spread_percent = {yes} would do"

    def _feasible(self, pairs, half):
        return self._best(np.zeros(len(pairs)), 0.0, self._rows(pairs, half)) is not None
