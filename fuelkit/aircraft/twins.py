"""Rules of one side and of the other: pairs that are the same with left and right exchanged."""

import re

_PAIRS = (("left", "right"), ("Left", "Right"), ("1", "2"))
_OTHER = dict((*_PAIRS, *(pair[::-1] for pair in _PAIRS)))
_WORDS = re.compile(r"\b(?:left|right|Left|Right)\b|(?<=engine )[12]\b")
_SIDE = re.compile(r"\b(?:left|right)\b", re.IGNORECASE)


def exchanged(text):
    """Return a text with left and right, and engine 1 and engine 2, exchanged.

    Examples
    --------
    >>> exchanged("the left pump feeds engine 1")
    'the right pump feeds engine 2'
    """
    return _WORDS.sub(lambda m: _OTHER[m[0]], text)


def without_twins(sentences):
    """Return each sentence once, numbered; one whose twin is another of them speaks for both.

    Parameters
    ----------
    sentences : sequence of str

    Returns
    -------
    list of (str, str)
        Number or numbers, from 1, and the sentence.

    Examples
    --------
    >>> for line in without_twins(["The left pump runs.", "The APU runs.", "The right pump runs."]):
    ...     print(*line)
    1, 3 The left pump runs. The same with left and right exchanged.
    2 The APU runs.
    """
    sentences, found, told = list(sentences), [], set()
    for number, sentence in enumerate(sentences, start=1):
        if number in told:
            continue
        twin = exchanged(sentence)
        others = [
            i for i, other in enumerate(sentences, start=1)
            if i > number and i not in told and other == twin != sentence
        ]  # fmt: skip
        told |= set(others[:1])
        sides = "left and right" if _SIDE.search(sentence) else "engines 1 and 2"
        more = f" The same with {sides} exchanged." if others else ""
        numbers = ", ".join(map(str, (number, *others[:1])))
        found.append((numbers, sentence + more))
    return found
