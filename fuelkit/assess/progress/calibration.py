"""How often a learner was right when they said that they were sure: for them alone, no mark."""

from dataclasses import dataclass

from fuelkit.assess.progress.lines import CERTAINTIES
from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE
from fuelkit.assess.statistics.intervals import wilson_interval


@dataclass(frozen=True)
class Calibration:
    """One of the words, and how it went. Frozen.

    word : str
    right, count : int
        Questions that were right throughout, and all that were rated so.
    low, high : float or None
        Of the share that is right, with 95 %; None where too few were rated to say.
    """

    word: str
    right: int
    count: int
    low: float | None = None
    high: float | None = None


def calibration(entries):
    """Return how often questions were right at each rating, from "guess" to "certain".

    Parameters
    ----------
    entries : sequence of dict
        Of a record of progress.

    Returns
    -------
    tuple of Calibration
    """
    rated = {word: [] for word in CERTAINTIES}
    for entry in entries:
        if entry["event"] == "tried" and entry["certainty"] and entry["tries"]:
            rated[entry["certainty"]].append(all(one["right"] for one in entry["tries"]))
    return tuple(_one(word, results) for word, results in rated.items())


def _one(word, results):
    right, count = sum(results), len(results)
    ends = wilson_interval(right, count) if count >= LEAST_FOR_SHARE else (None, None)
    return Calibration(word, right, count, *ends)
