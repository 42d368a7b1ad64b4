"""A figure sheet on the prediction board: filled in, committed, compared, then the reasons.

Also the parts of it that a lesson's own board takes: what is asked, and the rows of comparison.
"""

from fuelkit.assess.figure_marks import (
    ask_id,
    asked_steps,
    mark_sheet,
    tolerance_words,
    unread,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.show.board import PredictionBoard
from fuelkit.show.figure_page import figures_html

_HELD_BACK = ("is_right", "reason")


HEADINGS = {
    "panel_heading": "Your figures",
    "done_heading": "Your figures and the worked sheet",
}
"""How a board that fills in a sheet is headed, before and after."""


def sheet_asks(sheet, prefix=""):
    """Return what a sheet asks, for the front end; nothing in it tells a formula or an answer.

    Parameters
    ----------
    sheet : Sheet
    prefix : str
        Of the ids, so that boards of one lesson have ids of their own.

    Returns
    -------
    list of dict
        With id, text, kind ("number", "time" or "choice"), options, unit, component and hint.

    Raises
    ------
    FigureError
        If two steps would have one id.
    """
    asks = [_ask(step, prefix) for step in asked_steps(sheet)]
    ids = [ask["id"] for ask in asks]
    for name in ids:
        if ids.count(name) > 1:
            raise FigureError(f"sheet '{sheet.name}': two steps have the id '{name}'; rename one.")
    return asks


def _ask(step, prefix):
    kind = "choice" if step.options else "time" if step.unit == "h:mm" else "number"
    return {
        "id": ask_id(step, prefix),
        "text": step.label,
        "kind": kind,
        "options": list(step.options),
        "unit": step.unit,
        "component": None,
        "hint": _hint(step),
    }


def _hint(step):
    """The form that is expected, and how near a figure must be."""
    if step.options:
        return ""
    # An example of the size of something else misleads more than it helps.
    form = "such as 3:25" if step.unit == "h:mm" else "with a minus if below zero"
    return f"{form}; counts {tolerance_words(step)}"


def sheet_rows(sheet, given, prefix=""):
    """Return the rows of comparison of a sheet.

    Parameters
    ----------
    sheet : Sheet
    given : dict of str to str
        What was written, by the id of the ask or the name of the step.
    prefix : str
        Of those ids.

    Returns
    -------
    list of dict
        With id, text, given, right, is_right and reason. `is_right` is whether the figure agrees
        with the one that is computed; that one which only follows earns its mark stands in the
        reason, with the slips, the formula in words and the numbers put in.
    """
    return _rows(mark_sheet(sheet, given, prefix))


def _rows(mark):
    return [
        {
            "id": line.identifier, "text": line.text, "given": line.given, "right": line.right,
            "is_right": line.is_right, "reason": line.reason,
        }
        for line in mark.lines
    ]  # fmt: skip


def figure_board(
    sheet, prefix="", *, answers=None, committed=False, compared=None, on_commit=None,
    on_compare=None, **more,
):  # fmt: skip
    """Return a board in a notebook that fills in a sheet.

    Parameters
    ----------
    sheet : Sheet
    prefix : str
        Of the ids of its asks.
    answers : dict of str to str
        What was set before, by id.
    committed : bool
    compared : dict of str to str
        How the learner marked each row: "same" or "differs".
    on_commit, on_compare : callable, optional
        Called with the answers, and with the learner's own marking, to keep them; an error that
        one raises is shown and nothing is committed.
    **more
        What else `PredictionBoard` takes, such as on_draft, restored_note, large or title.

    Notes
    -----
    A figure that cannot be read is asked again when it is committed, with the unit expected.
    """
    state = {"committed": committed, "compared": compared or {}}
    if committed:
        state |= _result(sheet, answers or {}, prefix, told=bool(compared))
    words = {
        "title": sheet.title, "lead": sheet.lead, "figures": figures_html(sheet),
        "when": "Work each figure from those that are given and from your own before it.",
        **HEADINGS,
    }  # fmt: skip
    latest = dict(answers or {})

    def commit(values):
        faults = unread(sheet, values, prefix)
        if faults:
            raise FigureError(" ".join(faults))
        if on_commit is not None:
            on_commit(values)
        latest.update(values)
        return _result(sheet, values, prefix, told=False)

    def compare(marks):
        if on_compare is not None:
            on_compare(marks)
        return _reasons(sheet, latest, prefix)

    return PredictionBoard(
        asks=sheet_asks(sheet, prefix), answers=answers, on_commit=commit, on_compare=compare,
        **state, **(words | more),
    )  # fmt: skip


def _result(sheet, given, prefix, *, told):
    """What shows once a sheet is committed; verdicts and marks only once it is compared."""
    mark = mark_sheet(sheet, given, prefix)
    rows = _rows(mark)
    if not told:
        rows = [{k: v for k, v in row.items() if k not in _HELD_BACK} for row in rows]
    return {"comparison": rows, "note": mark.note if told else ""}


def _reasons(sheet, given, prefix):
    mark = mark_sheet(sheet, given, prefix)
    return {"reasons": _rows(mark), "note": mark.note}
