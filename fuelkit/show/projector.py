"""A lesson's board in front of a class: answers stay hidden until the instructor reveals them."""

import json
from functools import partial

from fuelkit.assess.answer_file import AnswerFile
from fuelkit.assess.moments import moment
from fuelkit.show.class_board import ClassBoard

CLASS = "CLASS"
"""Code under which the hands counted in a class are kept, so that they survive a restart."""


def projected(lesson, board):
    """Return a board for a class: large, one question at a time, hands counted, then revealed.

    Parameters
    ----------
    lesson : Lesson
    board : Board
    """
    file = AnswerFile(
        lesson.folder, f"hands-{lesson.unit.identifier}", CLASS, lesson.flight.aircraft.fingerprint
    )
    kept = _kept(file.sheet.drafts.get(board.name, {}))
    shown = lesson.shown(board)

    def keep():
        file.draft(board.name, {"kept": json.dumps(kept)})

    def counted(counts):
        kept["counts"] = counts
        keep()

    def again():
        kept["counts"], kept["revealed"] = {}, []
        keep()

    def revealed(ask):
        kept["revealed"] = [*dict.fromkeys([*kept["revealed"], ask])]
        keep()
        return _revealed(lesson, board, ask)

    return ClassBoard(
        title=board.title,
        lead=board.lead,
        when=lesson.when_words(board),
        drawing=lesson.drawing(board, shown, "What you see now"),
        table=lesson.drawing_table(board, shown),
        figures=lesson.figures_html(board),
        asks=lesson.asks(board),
        counts=kept["counts"],
        revealed=[*(ask.identifier for ask in board.asks if ask.given), *kept["revealed"]],
        on_counts=counted,
        on_reveal=revealed,
        on_again=again,
        agrees=partial(_agrees, lesson, board),
    )


def _kept(draft):
    """What was kept of a class; nothing if it cannot be read."""
    try:
        content = json.loads(draft.get("kept", "{}"))
        counts, revealed = content.get("counts", {}), content.get("revealed", [])
    except (ValueError, AttributeError):
        counts, revealed = {}, []
    return {"counts": counts, "revealed": revealed}


def _agrees(lesson, board, ask, text):
    """Whether what somebody in the class said counts as right, by the marking itself."""
    lines = lesson.marked(board, {ask: text}).lines
    return next(line.is_right for line in lines if line.identifier == ask)


def _revealed(lesson, board, ask):
    line = next(n for n in lesson.marked(board, {}).lines if n.identifier == ask)
    asked = moment(lesson.flight_of(board), board.asked)
    answer = next(a for a in lesson.computed(board) if a.ask.identifier == ask)
    return {
        "right": line.right,
        "reason": answer.reason,
        "after_drawing": lesson.drawing(board, asked, "The computed flight", given={}),
        "after_table": lesson.drawing_table(board, asked, truth=True),
    }
