"""What a committed board says of each objective: right at the first try, or not.

Counted like marks: a part that did not change and was not set otherwise says nothing, and neither
does what the kit had set.
"""

import hashlib

from fuelkit.assess.progress.record import now_text

REVIEW = "practice-review"
"""The unit of today's review: practice, which nobody marks."""


def tries_of(board, marked):
    """Return the tries of a board, one for each ask that counts.

    Parameters
    ----------
    board : Board
        With the objectives that it and its asks test.
    marked : BoardMark

    Returns
    -------
    list of dict
        Each with "ask", "right" and "objectives".
    """
    asks, found = {ask.identifier: ask for ask in board.asks}, []
    for line in marked.lines:
        ask = asks[line.identifier]
        says_nothing = ask.is_marked_together and line.is_right and not line.is_change
        # An ask that says what it tests says nothing of what its neighbours test.
        names = list(dict.fromkeys(ask.objectives or board.objectives))
        if names and not ask.given and not says_nothing:
            found.append({"ask": line.identifier, "right": line.is_right, "objectives": names})
    return found


def situation_of(unit, board):
    """Return what makes a situation that one and no other: flight, moment, and what is drawn.

    Parameters
    ----------
    unit : Unit or None
        Where the board does not say its aircraft and sector itself.
    board : Board

    Returns
    -------
    str
    """
    aircraft = board.aircraft or unit.aircraft
    name = aircraft.replace("\\", "/").rpartition("/")[2]  # the same on every machine
    if board.scene != "flight":
        return f"{name} {board.sheet or board.scene} {board.draw}"
    more = f" {hashlib.sha256(board.more.encode()).hexdigest()[:12]}" if board.more else ""
    return f"{name} {board.sector or unit.sector} {board.draw} {board.shown}{more}"


def tried(unit, board, marked, certainty="", time=None):
    """Return the entry of a committed board.

    Parameters
    ----------
    unit : Unit
        That the board belongs to.
    board : Board
    marked : BoardMark
    certainty : str
        One of `lines.CERTAINTIES`, or nothing.
    time : str, optional
        When it was committed, if not now.
    """
    return {
        "event": "tried", "time": time or now_text(), "unit": unit.identifier,
        "board": board.name, "situation": situation_of(unit, board),
        "tries": tries_of(board, marked), "certainty": certainty,
    }  # fmt: skip
