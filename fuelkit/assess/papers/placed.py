"""A question as it stands on a paper, under a name that tells nothing of where it comes from.

The options stand in an order that follows from what they say alone: whoever has the kit cannot
find out from their order, or from the place on the paper, which of them is right.
"""

from dataclasses import fields, replace
from functools import lru_cache

from fuelkit.assess.answers import answers
from fuelkit.assess.course import Ask, Board
from fuelkit.assess.flights import aircraft_of, flight_of
from fuelkit.assess.stand import stand_asks
from fuelkit.physics.lots import Lot

_OF_BOARD, _OF_ASK = (tuple(field.name for field in fields(kind)) for kind in (Board, Ask))
_MIXED = ("choice", "fault", "order", "label")  # asks whose options have no order of their own


@lru_cache(maxsize=2048)  # the same question often takes the same place
def placed(board, number):
    """Return a board named after its place on a paper, with asks "q07-1", "q07-2", ...

    Parameters
    ----------
    board : Board
        Of a question of the pool.
    number : int
        Its place, from 1.
    """
    name = f"q{number:02d}"
    named = replace(board, name=name)
    if board.scene != "flight":
        return replace(named, asks=stand_asks(aircraft_of(board.aircraft), named))
    asks = tuple(
        replace(ask, identifier=f"{name}-{i}") for i, ask in enumerate(board.asks, start=1)
    )
    return replace(named, asks=asks)


def flight_asked(board):
    """Return the parameters of `flight_of` for the flight of a question's board."""
    draw = board.draw if board.sector else 0
    return board.aircraft, board.sector or "standard", draw, board.more


def flight_of_board(board):
    """Return the computed flight that a question's board is about, or that of its aircraft."""
    return flight_of(*flight_asked(board))


def computed(board):
    """Return the computed answers to a question's board, options in the order of the paper."""
    found = answers(flight_of_board(board), board)
    return tuple(_mixed(a) if a.ask.kind in _MIXED and a.options else a for a in found)


def _mixed(answer):
    """An answer with its options in an order that does not depend on which is right."""
    known = sorted(answer.options)
    return replace(answer, options=Lot(*known).some_of(known, len(known), "on a paper"))


def as_table(board):
    """Return a board as JSON can hold it."""
    asks = tuple({name: getattr(ask, name) for name in _OF_ASK} for ask in board.asks)
    return {name: getattr(board, name) for name in _OF_BOARD} | {"asks": asks}


def board_from(table):
    """Return a board from what `as_table` made.

    Raises
    ------
    TypeError
        If it has a field that a board does not have.
    """
    asks = tuple(_ask(ask) for ask in table["asks"])
    return Board(**{**table, "asks": asks, "objectives": tuple(table["objectives"])})


def _ask(table):
    return Ask(
        **{**table, "options": tuple(table["options"]), "objectives": tuple(table["objectives"])}
    )
