"""Numbers drawn for a task: the same words give the same numbers, on every machine."""

import hashlib


class Lot:
    """Numbers that follow from words and from the purpose that they are drawn for.

    Examples
    --------
    >>> lot = Lot("walk-around", "halbrook-180", 7)
    >>> lot.share("how many") == Lot("walk-around", "halbrook-180", 7).share("how many")
    True
    >>> lot.whole(2, 4, "how many") in (2, 3, 4)
    True
    """

    def __init__(self, *words):
        self._words = "|".join(map(str, words))

    def share(self, what):
        """Return a number from 0 to below 1 for a purpose. [-]"""
        digest = hashlib.sha256(f"{self._words}|{what}".encode()).digest()
        return int.from_bytes(digest[:6], "big") / 2.0**48

    def between(self, low, high, what, *, step=None):
        """Return a number from low to high; with a step, one of low, low + step, ..., high."""
        if step is None:
            return low + (high - low) * self.share(what)
        return low + step * self.whole(0, round((high - low) / step), what)

    def whole(self, low, high, what):
        """Return a whole number from low to high, both included."""
        return low + int(self.share(what) * (high - low + 1))

    def one_of(self, choices, what):
        """Return one of several things."""
        return choices[self.whole(0, len(choices) - 1, what)]

    def some_of(self, choices, count, what):
        """Return some of several things, in another order."""
        order = sorted(range(len(choices)), key=lambda i: self.share(f"{what}|{i}"))
        return tuple(choices[i] for i in order[:count])
