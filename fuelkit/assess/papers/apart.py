"""Which questions of one flight may not stand on one paper: one would give the other away."""

from fuelkit.assess.moments import moment

_STATES = ("state", "choice")


def conflicts(history, questions):
    """Return for each question the identifiers of those that may not stand beside it.

    Parameters
    ----------
    history : History
    questions : sequence of Question
        Of this flight.

    Returns
    -------
    dict of str to frozenset of str

    Notes
    -----
    Two questions conflict if the times that they are about overlap, or if the later one's drawing
    still shows what the earlier one asks: no part that it asks about has changed in between.
    """
    spans = [_span(history, question) for question in questions]
    found = {question.identifier: set() for question in questions}
    for i, first in enumerate(questions):
        for j in range(i + 1, len(questions)):
            second = questions[j]
            if _conflict(history, first, spans[i], second, spans[j]):
                found[first.identifier].add(second.identifier)
                found[second.identifier].add(first.identifier)
    return {name: frozenset(others) for name, others in found.items()}


def _span(history, question):
    board = question.board
    moments = [board.asked, *(ask.moment for ask in board.asks if ask.moment)]
    return moment(history, board.shown), max(moment(history, words) for words in moments)


def _conflict(history, first, span, second, other):
    if span[0] <= other[1] and other[0] <= span[1]:
        return True
    if span[0] > other[0]:
        first, span, second, other = second, other, first, span
    return first.kind in _STATES and _still_shown(history, first, span[1], other[0])


def _still_shown(history, question, asked, later):
    names = question.parts
    return not any(
        change.name in names and asked < change.time <= later for change in history.changes
    )
