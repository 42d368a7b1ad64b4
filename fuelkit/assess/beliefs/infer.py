"""Which beliefs a learner's answers fit, and how well: exact, over at most two beliefs at once.

The model
---------
A learner holds a set of at most two beliefs. Each belief is held with the same small probability,
independently of the others, before anything is answered. A part of a question is answered as the
set predicts it, but for a slip: then one of the other answers is given, all alike. And with a small
chance the learner guesses: any answer, all alike. Answers to the parts are independent, given the
set. A belief that agrees with the right answer leaves a part to the other one; two that disagree
about it are each followed half the time.

Learners are not alike careful. Each is of one of a few kinds, with more slips or fewer, and the
kind is summed out: many wrong answers that no belief explains make a careless learner, not a
believer.

Slips and guesses as in the DINA model, with beliefs in the place of skills and predicted answers in
the place of right and wrong: Junker and Sijtsma, Applied Psychological Measurement 25(3), 2001,
258-272 (authors, title and pages confirmed in public reference pages, the text not read). That a
table of predicted answers tells procedures apart: Brown and Burton, Cognitive Science 2 (1978),
155-192 (abstract read).
The rates and the prior are our own.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations

import numpy as np

from fuelkit.assess.beliefs.table import UNANSWERED

PRIOR = 0.02
"""Chance that a learner holds a given belief, before anything is answered. [-]"""
SLIPS = ((0.10, 0.80), (0.30, 0.15), (0.50, 0.05))
"""Kinds of learners: rate of slips and share of learners of each; the last one guesses. [-]"""
GUESS = 0.02
"""Chance that a part is guessed. [-]"""
OPEN = 100
"""An open answer is hit by chance as one of so many is."""
THRESHOLD = 0.60
"""From this probability on a belief is named. [-]"""
_LEAST = 1e-12


@dataclass(frozen=True)
class Finding:
    """A belief that answers fit, or several that these questions cannot tell apart. Frozen.

    names : tuple of str
    probability : float
        That at least one of them is held. [-]
    questions : tuple of int
        Questions that speak for it, the one that says the most first.
    """

    names: tuple
    probability: float
    questions: tuple


@dataclass(frozen=True)
class Posterior:
    """What answers say about beliefs. Frozen.

    beliefs : tuple of str
    probability : numpy.ndarray
        That each belief is held. [-]
    none : float
        That none is held. [-]
    sets, weights : numpy.ndarray
        Every set of beliefs, shape (sets, beliefs), and its probability. [-]
    evidence : numpy.ndarray
        By how much each question speaks for each belief alone against none, as the logarithm of
        the ratio of likelihoods, shape (beliefs, questions). [-]
    alike : tuple of tuple of int
        Beliefs that predict the same for everything that was answered.
    """

    beliefs: tuple
    probability: np.ndarray
    none: float
    sets: np.ndarray = field(repr=False)
    weights: np.ndarray = field(repr=False)
    evidence: np.ndarray = field(repr=False)
    alike: tuple = field(repr=False)

    def named(self, threshold=THRESHOLD):
        """Return the beliefs to name, as a tuple of Finding, the most probable first."""
        found = []
        for group in self.alike:
            together = float(self.weights[self.sets[:, group].any(axis=1)].sum())
            if together >= threshold:
                names = tuple(self.beliefs[b] for b in group)
                found.append(Finding(names, together, self._speaking(group[0])))
        return tuple(sorted(found, key=lambda finding: -finding.probability))

    def _speaking(self, belief):
        order = np.argsort(-self.evidence[belief], kind="stable")
        return tuple(int(q) for q in order if self.evidence[belief, q] > 0.0)


def infer(table, given, *, slips=SLIPS, guess=GUESS, prior=PRIOR, open_options=OPEN):
    """Return what answers say about the beliefs of a table.

    Parameters
    ----------
    table : Table
    given : array of int
        Code of the answer to each part; UNANSWERED says nothing, OTHER is one that no model
        predicts.
    slips : sequence of (float, float)
        Rates of slips, and the share of learners of each. [-]
    guess, prior : float
        [-]
    open_options : int
        How many answers an open part counts as having.

    Returns
    -------
    Posterior

    Notes
    -----
    Every set of at most two beliefs is weighed, with no sampling: the same answers give the same
    result, in whatever order the questions stand.
    """
    given = np.asarray(given)
    if given.shape != table.options.shape:
        raise ValueError(
            f"given: it has {given.size} answers; the table has {table.options.size} parts."
        )
    answered = np.flatnonzero(given != UNANSWERED)
    predicted, given = table.predicted[:, answered], given[answered]
    options = _options(table.options[answered], open_options)
    sets, prior_weights = _sets(len(table.beliefs), prior)
    chances = [_chances(options, slip, guess) for slip, _ in slips]
    shares = np.log([max(share, _LEAST) for _, share in slips])
    kinds = _likelihoods(predicted, given, chances) + shares[:, None]
    logs = np.logaddexp.reduce(kinds, axis=0) + prior_weights
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    return Posterior(
        table.beliefs, weights @ sets, float(weights[0]), sets, weights,
        _evidence(table, answered, predicted, given, options, slips, guess), _alike(predicted),
    )  # fmt: skip


def _options(options, open_options):
    return np.where(options > 0, np.maximum(options, 2), open_options).astype(float)


def _chances(options, slip, guess):
    """Probabilities of the predicted answer, and of any one other answer."""
    hit = (1.0 - guess) * (1.0 - slip) + guess / options
    miss = (1.0 - guess) * slip / (options - 1.0) + guess / options
    return np.maximum(hit, _LEAST), np.maximum(miss, _LEAST)


@lru_cache(maxsize=64)
def _pairs(count):
    pairs = np.array(list(combinations(range(count), 2)), int).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


@lru_cache(maxsize=64)
def _sets(count, prior):
    """Every set of at most two beliefs, and the logarithm of its prior (not normalised)."""
    first, second = _pairs(count)
    sets = np.zeros((1 + count + first.size, count), bool)
    sets[1 : 1 + count] = np.eye(count, dtype=bool)
    rows = np.arange(1 + count, len(sets))
    sets[rows, first] = sets[rows, second] = True
    return sets, sets.sum(axis=1) * np.log(prior / (1.0 - prior))


def _likelihoods(predicted, given, chances):
    """Logarithm of the likelihood of the answers under every set: none, each alone, each pair.

    Shape (kinds of learners, sets).
    """
    match = predicted == given
    speaks = predicted[1:] != predicted[0]
    a, b = _pairs(len(predicted) - 1)
    own = match[1:]
    # By default the first decides; where only the second speaks, it does.
    decided = np.where(speaks[b] & ~speaks[a], own[b], own[a])
    split = speaks[a] & speaks[b] & (predicted[1:][a] != predicted[1:][b])
    halved, whole = split & (own[a] | own[b]), decided & ~split
    found = []
    for hit, miss in chances:
        gain, half = np.log(hit) - np.log(miss), np.log(0.5 * (hit + miss)) - np.log(miss)
        pairs = whole @ gain + halved @ half
        found.append(np.log(miss).sum() + np.concatenate([match @ gain, pairs]))
    return np.array(found)


def _evidence(table, answered, predicted, given, options, slips, guess):
    """For each belief and question, the logarithm of the ratio of likelihoods against none."""
    rate = sum(slip * share for slip, share in slips) / sum(share for _, share in slips)
    hit, miss = _chances(options, rate, guess)
    match = (predicted == given) * (np.log(hit) - np.log(miss))
    found = np.zeros((len(table.beliefs), table.questions))
    np.add.at(found.T, table.question[answered], (match[1:] - match[0]).T)
    return found


def _alike(predicted):
    """Groups of beliefs that predict the same; without those that predict the right alone."""
    groups = {}
    for belief, row in enumerate(predicted[1:]):
        if (row != predicted[0]).any():
            groups.setdefault(row.tobytes(), []).append(belief)
    return tuple(tuple(group) for group in groups.values())
