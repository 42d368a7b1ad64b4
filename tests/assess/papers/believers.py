"""Synthetic learners who sit whole papers: each holds one belief or none, and slips at random.

A believer answers a question as the key says that this belief would, and rightly where the belief
says nothing; each part is then slipped with a chance of one in ten: another option, or a figure
that nobody predicts. This is the generator of `beliefs.synthetic`, on papers instead of tables.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.assess.papers.beliefs_found import beliefs_found
from fuelkit.assess.papers.draw import draw_papers
from fuelkit.assess.papers.keys import make_key
from fuelkit.assess.papers.marking import answers_of
from tests.small_sitting import sheet_for

SLIP = 0.10
_NOBODY = {"kg": "1 kg", "h:mm:ss": "9:59:59"}


@dataclass(frozen=True)
class Outcome:
    """How many learners there were, how many had a belief named, how many a true one first."""

    learners: int
    named: int
    first_true: int

    @property
    def true_share(self):
        """Share of the learners whose first named belief is theirs. [-]"""
        return self.first_true / max(1, self.learners)

    @property
    def named_share(self):
        """Share of the learners for whom any belief is named. [-]"""
        return self.named / max(1, self.learners)


def keys_of(blueprint, pool, seeds, fingerprint):
    """Keys to papers drawn from a pool."""
    papers, known = draw_papers(blueprint, pool, seeds), {}
    return [
        make_key(blueprint, paper, f"S{n:03}", fingerprint, known)
        for n, paper in enumerate(papers, start=1)
    ]


def showing(key):
    """Beliefs that a paper speaks of: those that answer a question of it otherwise."""
    return sorted({name for question in key.questions for name in question.believed})


def shown(key):
    """Beliefs that a paper shows: who holds one and never slips is told so."""
    return [
        name for name in showing(key) if _is_first(name, beliefs_found(key, answered(key, name)))
    ]


def answered(key, belief, lots=None, slip=SLIP):
    """A handed-in sheet of a learner with a belief, or with none; without lots nobody slips."""
    given = {}
    for question in key.questions:
        said = question.believed.get(belief, question.right)
        parts = zip(answers_of(question.board), said, strict=True)
        given[question.name] = {
            a.ask.identifier: _slipped(a, text, lots) if lots and lots.random() < slip else text
            for a, text in parts
        }
    return sheet_for(key, given)


def _slipped(answer, text, lots):
    others = [option for option in answer.options if option != text]
    return str(lots.choice(others)) if others else _NOBODY.get(answer.unit, "1")


def believers(keys, turns, seed=1):
    """The outcome of so many believers a paper, each with a belief that the paper shows."""
    lots, count, named, true = np.random.default_rng(seed), 0, 0, 0
    for key in keys:
        known = shown(key)
        for belief in lots.choice(known, turns) if known else ():
            found = beliefs_found(key, answered(key, belief, lots))
            count, named = count + 1, named + bool(found)
            true += _is_first(belief, found)
    return Outcome(count, named, true)


def _is_first(belief, found):
    return bool(found) and belief in found[0].names


def sceptics(keys, turns, seed=2):
    """The outcome of so many learners a paper who hold no belief."""
    lots, named = np.random.default_rng(seed), 0
    for key in keys:
        for _ in range(turns):
            named += bool(beliefs_found(key, answered(key, None, lots)))
    return Outcome(turns * len(keys), named, 0)


def held(keys, names, turns, seed=3):
    """The outcome of believers whose belief is drawn from a list, shown by the paper or not."""
    lots, true, count = np.random.default_rng(seed), 0, 0
    for key in keys:
        for belief in lots.choice(names, turns):
            found = beliefs_found(key, answered(key, belief, lots))
            true += _is_first(belief, found)
            count += 1
    return Outcome(count, 0, true)
