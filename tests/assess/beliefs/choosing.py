"""Which questions say the most about beliefs: what tells what apart, and the best few of many.

How well answers tell two models apart is measured by Bhattacharyya's coefficient of their answers,
the product over independent parts. Summed over pairs, weighted by the priors, it bounds the chance
of taking one model for another; a paper is chosen to make the sum small. The bound is from memory:
confirm it before citing.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.assess.beliefs.infer import OPEN, PRIOR

SLIP = 0.10
"""Rate of slips that questions are chosen for. [-]"""


@dataclass(frozen=True)
class Information:
    """What questions tell apart. Frozen.

    separates : numpy.ndarray of bool
        Whether a belief answers some part otherwise than right, shape (questions, beliefs).
    pairs : numpy.ndarray of bool
        Whether two beliefs answer some part unlike, shape (questions, beliefs, beliefs).
    distance : numpy.ndarray
        How far apart the answers to a question put two models, with the right one first, as minus
        the logarithm of Bhattacharyya's coefficient; shape (questions, 1 + beliefs, 1 + beliefs).
        Distances of questions add up. [-]
    expected : numpy.ndarray
        What each question is expected to tell about which belief is held, if at most one is, as the
        sum over its parts: more than the whole where parts repeat each other. [nat]
    """

    separates: np.ndarray
    pairs: np.ndarray
    distance: np.ndarray
    expected: np.ndarray


def information(table, *, slip=SLIP, prior=PRIOR, open_options=OPEN):
    """Return what the questions of a table tell apart."""
    options = np.where(table.options > 0, np.maximum(table.options, 2), open_options).astype(float)
    models, count = len(table.predicted), table.questions
    distance = np.zeros((count, models, models))
    expected = np.zeros(count)
    weights = priors(models - 1, prior)
    for part, question in enumerate(table.question):
        codes = table.predicted[:, part]
        differ = codes[:, None] != codes[None, :]
        distance[question] += differ * _distance(options[part], slip)
        expected[question] += _mutual(codes, weights, options[part], slip)
    apart = distance > 0.0
    return Information(apart[:, 0, 1:], apart[:, 1:, 1:], distance, expected)


def priors(count, prior=PRIOR):
    """Return the weights of no belief and of each alone, if at most one is held. [-]"""
    odds = np.full(1 + count, prior / (1.0 - prior))
    odds[0] = 1.0
    return odds / odds.sum()


def _distance(options, slip):
    other = slip / (options - 1.0)
    return -np.log(2.0 * np.sqrt((1.0 - slip) * other) + (options - 2.0) * other)


def _mutual(codes, weights, options, slip):
    """Mutual information of a model drawn by its weight and its answer to one part. [nat]"""
    other = slip / (options - 1.0)
    share = np.bincount(codes, weights)
    chance = other + (1.0 - slip - other) * share
    left = options - len(share)  # answers that nobody predicts
    entropy = -(chance * np.log(chance)).sum() - left * other * np.log(other)
    noise = -(1.0 - slip) * np.log(1.0 - slip) - slip * np.log(other)
    return float(entropy - noise)


def confusion(told, questions, *, prior=PRIOR):
    """Return the bound on the chance that a paper takes one model for another. [-]

    Parameters
    ----------
    told : Information
    questions : sequence of int
    """
    weights = _pair_weights(told.distance.shape[1], prior)
    return float((weights * np.exp(-told.distance[list(questions)].sum(axis=0))).sum())


def choose(told, count, *, prior=PRIOR, among=None):
    """Return the questions of a paper that tells beliefs apart well, chosen one after another.

    Parameters
    ----------
    told : Information
    count : int
    prior : float
    among : sequence of int, optional
        Questions to choose from; all if left out.

    Returns
    -------
    tuple of int
        In the order in which they were chosen; each makes the bound as small as one more can.
    """
    left = list(range(len(told.distance)) if among is None else among)
    keeps = np.exp(-told.distance)
    open_pairs, chosen = _pair_weights(told.distance.shape[1], prior), []
    while left and len(chosen) < count:
        bounds = np.tensordot(keeps[left], open_pairs, axes=2)
        best = left.pop(int(np.argmin(bounds)))
        chosen.append(best)
        open_pairs = open_pairs * keeps[best]
    return tuple(chosen)


def _pair_weights(models, prior):
    """For each pair of models once, the square root of the product of their weights."""
    weights = priors(models - 1, prior)
    return np.triu(np.sqrt(np.outer(weights, weights)), 1)
