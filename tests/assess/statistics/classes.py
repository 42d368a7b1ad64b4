"""Classes for the tests: one out of a textbook, one drawn by number, one of given covariance."""

import numpy as np

# K. L. Wuensch, East Carolina University, "The Kuder-Richardson 20" (KR20.txt, read in a stored
# copy of core.ecu.edu/wuenschk/StatHelp): ten students, ten questions, right or wrong.
QUIZ = np.array(
    [
        [1, 1, 1, 1, 1, 1, 0, 1, 1, 0],
        [1, 0, 1, 1, 0, 1, 1, 1, 0, 1],
        [1, 1, 1, 1, 0, 1, 1, 0, 0, 1],
        [0, 0, 1, 0, 0, 0, 1, 0, 0, 0],
        [0, 0, 0, 0, 0, 1, 0, 0, 1, 0],
        [1, 1, 1, 0, 1, 1, 1, 1, 1, 1],
        [1, 1, 0, 1, 1, 1, 0, 1, 1, 1],
        [1, 1, 1, 1, 1, 1, 1, 1, 0, 1],
        [0, 1, 0, 1, 1, 1, 1, 1, 0, 1],
        [1, 1, 0, 1, 1, 0, 1, 1, 1, 0],
    ]
)
QUIZ_TOTALS = (8, 7, 7, 2, 2, 9, 8, 9, 7, 7)  # as printed there
QUIZ_RIGHT = (0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6)  # as printed there
QUIZ_VARIANCE = 5.84  # of the totals, over n, as printed there

TWO_CLASSES = np.vstack([QUIZ, QUIZ])
"""The same quiz with every student twice: large enough to speak, no proportion changed."""


def drawn_class(learners=24, lines=20, seed=1):
    """Marks of a class with abilities and difficulties drawn by number: right or wrong."""
    lot = np.random.default_rng(seed)
    ability, difficulty = lot.normal(size=(learners, 1)), lot.normal(size=lines)
    chance = 1.0 / (1.0 + np.exp(difficulty - 1.5 * ability))
    return (lot.random((learners, lines)) < chance).astype(float)


def class_of_covariance(covariance, learners=60, seed=3):
    """Marks whose sample covariance is exactly the given one."""
    covariance = np.asarray(covariance, dtype=float)
    lot = np.random.default_rng(seed).normal(size=(learners, len(covariance)))
    lot -= lot.mean(axis=0)
    white = lot @ np.linalg.inv(np.linalg.cholesky(np.cov(lot.T))).T
    return white @ np.linalg.cholesky(covariance).T
