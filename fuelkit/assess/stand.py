"""Boards without a flight: tanks, walk-around, sticks at the stand's slope, water, figure sheets.

What is seen follows from the board's number; asks and answers follow from the aircraft.
"""

from fuelkit.assess.answer import Answer
from fuelkit.assess.course import Ask
from fuelkit.assess.figure_marks import ask_id, asked_steps, worked_words
from fuelkit.assess.stick_task import stick_task
from fuelkit.assess.tank_task import tank_questions
from fuelkit.assess.walk_around import DECISIONS, walk
from fuelkit.assess.water_task import WATER_DECISIONS, water_task
from fuelkit.figures.catalogue import draw_sheet, sheets_for

SCENES_ON_THE_STAND = ("tanks", "walk-around", "sticks", "water", "sheet")


def stand_asks(aircraft, board):
    """Return what a board on the stand asks about an aircraft; nothing if it has no such thing.

    Parameters
    ----------
    aircraft : Aircraft
    board : Board
        Of one of `SCENES_ON_THE_STAND`.

    Returns
    -------
    tuple of Ask
    """
    return _ASKS[board.scene](aircraft, board)


def _tank_asks(aircraft, board):
    return tuple(
        Ask(
            f"{board.name}-{question.key}", "choice" if question.options else "figure",
            question.key, question.text, tolerance=question.tolerance,
            marks=1.0 if question.options else 2.0, objectives=(question.objective,),
        )
        for question in tank_questions(aircraft, board.draw)
    )  # fmt: skip


def _walk_asks(aircraft, board):
    return tuple(
        Ask(f"{board.name}-{sight.label}", "finding", str(number))
        for number, sight in enumerate(walk(aircraft, board.draw))
    )


def _stick_asks(aircraft, board):
    task = stick_task(aircraft, board.draw)
    if not task:
        return ()
    return (
        Ask(f"{board.name}-1", "figure", task.tank, task.question, tolerance=task.tolerance,
            marks=3.0),
    )  # fmt: skip


def _water_asks(aircraft, board):
    question = water_task(aircraft, board.draw).question
    return (Ask(f"{board.name}-1", "choice", "", question, marks=1.0),)


def _sheet_asks(aircraft, board):
    if board.sheet not in sheets_for(aircraft):
        return ()
    sheet = draw_sheet(board.sheet, aircraft, board.draw)
    return tuple(
        Ask(ask_id(step, board.name), "step", step.name, step.label, marks=step.marks)
        for step in asked_steps(sheet)
    )


def sheet_of(aircraft, board):
    """Return the figure sheet of a board."""
    return draw_sheet(board.sheet, aircraft, board.draw)


def stand_answer(aircraft, board, ask):
    """Return the computed answer to an ask of a board on the stand."""
    return _ANSWERS[board.scene](aircraft, board, ask)


def _tank_answer(aircraft, board, ask):
    question = next(q for q in tank_questions(aircraft, board.draw) if q.key == ask.about)
    unit = "" if question.options else "kg"
    return Answer(ask, ask.text, question.options, question.value, None, unit, question.reason)


def _walk_answer(aircraft, board, ask):
    sight = walk(aircraft, board.draw)[int(ask.about)]
    text = f"{sight.label} {sight.item}: {sight.sees}"
    reason = sight.reason[:1].upper() + sight.reason[1:]
    return Answer(ask, text, DECISIONS, sight.decision, DECISIONS[0], "", f"{reason}.")


def _stick_answer(aircraft, board, ask):
    task = stick_task(aircraft, board.draw)
    reason = " ".join(
        step if step.endswith(".)") else f"{step.rstrip('.')}." for step in task.steps
    )
    return Answer(ask, ask.text, (), task.answer, None, "kg", reason)


def _sheet_answer(aircraft, board, ask):
    sheet = sheet_of(aircraft, board)
    step, value = sheet.step(ask.about), sheet.worked()[ask.about]
    reason = worked_words(sheet, step, sheet.worked(), value)
    return Answer(ask, step.label, step.options, value, None, step.unit, reason, sheet)


def _water_answer(aircraft, board, ask):
    task = water_task(aircraft, board.draw)
    reason = task.reason[:1].upper() + task.reason[1:]
    steps = " ".join(f"{step.rstrip('.')}." for step in task.steps)
    return Answer(ask, ask.text, WATER_DECISIONS, task.decision, None, "", f"{reason}. {steps}")


_ASKS = {
    "tanks": _tank_asks,
    "walk-around": _walk_asks,
    "sticks": _stick_asks,
    "water": _water_asks,
    "sheet": _sheet_asks,
}
_ANSWERS = {
    "tanks": _tank_answer,
    "walk-around": _walk_answer,
    "sticks": _stick_answer,
    "water": _water_answer,
    "sheet": _sheet_answer,
}
