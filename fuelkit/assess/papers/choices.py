"""Questions with three options, each wrong one what a named belief answers."""

from dataclasses import replace

from fuelkit.aircraft.conditions import is_or_are
from fuelkit.assess.answers import answers
from fuelkit.assess.course import Ask

_OPTIONS, _MOST_PARTS = 3, 3
_MARKS = 2.0


def choice_from(history, question):
    """Return a question with three options made from one about states, or None.

    Parameters
    ----------
    history : History
    question : Question
        About states and feeding, with what beliefs say of it.

    Returns
    -------
    Question or None
        None unless two beliefs answer differently from the right answer and from one another.

    Notes
    -----
    All options tell of the same parts in the same order, so that neither length nor form gives
    the right one away; and each tells another state, so that one alone is right.
    """
    computed = answers(history, question.board)
    right = tuple(answer.written() for answer in computed)
    told = _parts_that_differ(right, question.believed)
    options = {_picked(right, told): None}
    for belief, said in question.believed.items():
        options.setdefault(_picked(said, told), belief)
    if len(options) < _OPTIONS or not told:
        return None
    kept = dict(list(options.items())[:_OPTIONS])
    sentences = {states: _sentence(computed, told, states) for states in kept}
    believed = {
        belief: (sentences[_picked(said, told)],)
        for belief, said in question.believed.items()
        if _picked(said, told) in kept and _picked(said, told) != _picked(right, told)
    }
    ask = Ask(
        f"{question.identifier.replace('state', 'choice', 1)}-1", "choice",
        text=f"Which is true {question.board.asked_as or 'at ' + question.board.asked}?",
        options=tuple(sentences.values()), marks=_MARKS,
        because=" ".join(computed[i].reason for i in told),
    )  # fmt: skip
    board = replace(
        question.board, name=question.identifier.replace("state", "choice", 1), asks=(ask,),
        state_marks=0.0,
    )  # fmt: skip
    return replace(
        question, identifier=board.name, kind="choice", board=board, believed=believed,
        changes=len(told),
    )  # fmt: skip


def _parts_that_differ(right, believed):
    """Indices of the asks on which beliefs differ most from what is right, few enough to read."""
    counts = [sum(said[i] != right[i] for said in believed.values()) for i in range(len(right))]
    order = sorted((i for i, n in enumerate(counts) if n), key=lambda i: -counts[i])
    return tuple(sorted(order[:_MOST_PARTS]))


def _picked(said, told):
    return tuple(said[i] for i in told)


def _sentence(computed, told, states):
    pieces = []
    for index, state in zip(told, states, strict=True):
        ask = computed[index].ask
        verb = f"{is_or_are(ask.about)} fed from" if ask.kind == "feeding" else is_or_are(ask.about)
        pieces.append(f"{ask.about} {verb} {state}")
    joined = pieces[0] if len(pieces) == 1 else ", ".join(pieces[:-1]) + " and " + pieces[-1]
    return f"{joined[:1].upper()}{joined[1:]}."
