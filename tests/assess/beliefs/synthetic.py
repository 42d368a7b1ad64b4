"""Synthetic learners: who holds which beliefs is known, so that what is found can be held to it.

A learner answers a part as the beliefs held predict, as `infer` describes it: but for slips, in
which one of the other answers is given, and for guesses, any answer at all. Every learner is drawn
from one numpy Generator in turn: the same seed gives the same class.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.assess.beliefs.infer import infer
from fuelkit.assess.beliefs.table import OTHER, UNANSWERED


@dataclass(frozen=True)
class Learner:
    """A synthetic learner. Frozen.

    holds : tuple of int
        Places of the beliefs held, among those of the table.
    given : numpy.ndarray
        Codes of the answers.
    """

    holds: tuple
    given: np.ndarray


def learners(table, count, seed, *, holding=1, slip=0.10, guess=0.02, unanswered=0.0, among=None):
    """Return a synthetic class.

    Parameters
    ----------
    table : Table
        Of the paper that they sit.
    count, seed : int
    holding : int
        How many beliefs each holds: 0, 1 or 2.
    slip, guess, unanswered : float
        Chances for each part. [-]
    among : sequence of int, optional
        Places of the beliefs that may be held; all if left out.

    Returns
    -------
    tuple of Learner
    """
    lots = np.random.default_rng(seed)
    known = np.arange(len(table.beliefs)) if among is None else np.asarray(among)
    found = []
    for _ in range(count):
        holds = tuple(sorted(int(b) for b in lots.choice(known, holding, replace=False)))
        meant = _meant(table, holds, lots)
        given = _given(table, meant, lots, slip, guess)
        given[lots.random(given.size) < unanswered] = UNANSWERED
        found.append(Learner(holds, given))
    return tuple(found)


def _meant(table, holds, lots):
    """What a learner would answer without slips."""
    meant = table.predicted[0].copy()
    toss = lots.random(meant.size) < 0.5
    speaking = np.zeros(meant.size, bool)
    for belief in holds:
        own = table.predicted[1 + belief]
        speaks = own != table.predicted[0]
        take = speaks & (~speaking | toss)
        meant = np.where(take, own, meant)
        speaking |= speaks
    return meant


def _given(table, meant, lots, slip, guess):
    size = meant.size
    slips, guesses = lots.random(size) < slip, lots.random(size) < guess
    number = np.maximum(table.options, 2)
    another = (meant + 1 + np.floor(lots.random(size) * (number - 1)).astype(int)) % number
    any_one = np.floor(lots.random(size) * number).astype(int)
    is_open = table.options == 0
    given = np.where(slips, np.where(is_open, OTHER, another), meant)
    return np.where(guesses, np.where(is_open, OTHER, any_one), given)


@dataclass(frozen=True)
class Found:
    """How a class came out. Frozen.

    named : float
        Share of the learners for whom any belief was named. [-]
    first_true : float
        Share of the learners for whom the belief named first is one they hold. [-]
    """

    named: float
    first_true: float


def outcome(table, group, **settings):
    """Return how often beliefs are named for a class, and how often rightly.

    Of several beliefs that the paper cannot tell apart, the one that stands first counts.
    """
    named = true = 0
    for learner in group:
        found = infer(table, learner.given, **settings).named()
        named += bool(found)
        true += bool(found) and found[0].names[0] in {table.beliefs[b] for b in learner.holds}
    count = max(1, len(group))
    return Found(named / count, true / count)
