"""A board worked through: what is seen, which rules watch it, what the pressures decide."""

from fuelkit.assess.moments import moment
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.page import table_page
from fuelkit.show.rule_list import rules_page
from fuelkit.show.stand_views import stand_page
from fuelkit.show.views import view


def situation_page(flight, board):
    """Return step 1: what is seen, tank by tank and part by part."""
    if board.scene != "flight":
        return stand_page(flight.aircraft, board)
    shown = moment(flight, board.shown)
    now = view(flight, shown)
    tanks = [tank.name for tank in flight.aircraft.tanks if tank.holds_fuel]
    rows = [(name, mass_text(flight.shown_mass(name, shown))) for name in tanks]
    rows += [(name, now.positions[name]) for name in _parts(board)]
    title = f"Step 1. {board.title}: what is seen at {clock(shown)}, {now.phase}"
    return table_page(title, ("part", "now"), rows, note="")


def board_rules_page(flight, board):
    """Return step 2: the automatic functions that act on the parts asked for."""
    return rules_page(flight.aircraft, _parts(board), "Step 2. Automatic functions")


def _parts(board):
    return tuple(dict.fromkeys(ask.about for ask in board.asks if ask.kind == "state"))


def pressures_page(flight, board, asked_words):
    """Return step 3: the pressures at the moment asked for, which decide who feeds."""
    asked = moment(flight, board.asked)
    now = picture(flight, asked)
    rows = [
        (pump.name, now.positions[pump.name], _pressure(now, pump.end), _flow(now, pump))
        for pump in flight.aircraft.pumps
    ]
    head = ("pump", "state", "pressure behind it", "delivers")
    return table_page(f"Step 3. Pressures {asked_words} ({clock(asked)})", head, rows, note="")


def _pressure(now, junction):
    value = now.pressures.get(junction, float("nan"))
    return "none" if value != value else f"{value / 1000:.0f} kPa"


def _flow(now, pump):
    return f"{mass_text(now.flows[pump.name] * 3600)}/h"


def answers_page(marked, board):
    """Return the last step: every answer with its reason, from a board marked with no answers."""
    rows = [(line.text, line.right, line.reason) for line in marked.lines]
    marks = f" ({marked.full:g} marks)" if marked.full else ""  # an example has none
    title = f"Answers: {board.title}{marks}"
    return table_page(title, ("asked", "right", "because"), rows)
