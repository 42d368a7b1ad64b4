"""Which misconception a wrong answer to one question fits: found by flying it, or working it."""

from fuelkit.assess.beliefs.flown import beliefs_about
from fuelkit.assess.papers.believing import with_beliefs
from fuelkit.assess.papers.placed import computed, flight_of_board
from fuelkit.assess.written import read_answer
from fuelkit.figures.quantities import read_figure

MOST = 2
"""Where more beliefs than these fit, the question cannot tell, and none is named."""


def beliefs_that_fit(question, given):
    """Return the names of the beliefs whose holder would have answered as the learner did.

    Only beliefs about what the question tests are flown, so that the answer comes soon.

    Parameters
    ----------
    question : Question
        Of a review.
    given : dict of str to str
        What the learner wrote, by ask.

    Returns
    -------
    tuple of str
        Empty if none fits, or more than `MOST`.
    """
    board = question.board
    if board.scene == "flight":
        tested = set(question.objectives)
        about = [b for b in beliefs_about(board.aircraft) if tested & set(b.objectives)]
        (question,) = with_beliefs(flight_of_board(board), [question], about)
    right = computed(board)
    fitting = [
        name for name, said in question.believed.items()
        if all(_fits(a, given.get(a.ask.identifier, ""), text)
               for a, text in zip(right, said, strict=True))
    ]  # fmt: skip
    return tuple(fitting) if len(fitting) <= MOST else ()


def _fits(answer, given, said):
    """Whether what was written is what a belief says, within half the tolerance."""
    if answer.sheet is not None:
        step = answer.sheet.step(answer.ask.about)
        if step.options:
            return given == said
        first, second = (read_figure(text, step.unit) for text in (given, said))
        return None not in (first, second) and step.agrees(first, second)
    if answer.options:
        return given == said
    first, second = read_answer(answer, given), read_answer(answer, said)
    return None not in (first, second) and abs(first - second) <= 0.5 * answer.ask.tolerance
