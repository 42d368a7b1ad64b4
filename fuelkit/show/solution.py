"""The worked answers to an exercise, step by step: what is seen, which rules act, what follows."""

from fuelkit.assess.moments import moment
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.page import table_page
from fuelkit.show.rule_list import rules_page
from fuelkit.show.workbook import Workbook


def open_solution(identifier):
    """Return the worked answers to an exercise of the kit.

    Parameters
    ----------
    identifier : str
        "exercise-engine-start" or "exercise-cruise".

    Raises
    ------
    DataFileError
        If the kit has no such exercise; names the ones it has.
    """
    return Solution(identifier)


class Solution(Workbook):
    """The worked answers to an exercise. Each method is one short call of a notebook cell."""

    def situation(self, name):
        """Return step 1: what the learner sees, part by part and tank by tank."""
        board = self.unit.board(name)
        shown = self.shown(board)
        now = picture(self.flight, shown)
        rows = [(tank.name, mass_text(now.masses[tank.name])) for tank in self._tanks()]
        rows += [
            (name, now.positions[name])
            for name in dict.fromkeys(ask.about for ask in board.asks if ask.kind == "state")
        ]
        title = f"Step 1. {board.title}: what is seen at {clock(shown)}, {now.phase}"
        return table_page(title, ("part", "now"), rows, note="")

    def _tanks(self):
        return [tank for tank in self.flight.aircraft.tanks if tank.holds_fuel]

    def rules(self, name):
        """Return step 2: the automatic functions that act on the parts asked for."""
        board = self.unit.board(name)
        names = dict.fromkeys(ask.about for ask in board.asks if ask.kind == "state")
        return rules_page(self.flight.aircraft, tuple(names))

    def pressures(self, name):
        """Return step 3: the pressures at the moment asked for, which decide who feeds."""
        board = self.unit.board(name)
        asked = moment(self.flight, board.asked)
        now = picture(self.flight, asked)
        rows = [
            (
                pump.name,
                now.positions[pump.name],
                self._pressure(now, pump.end),
                self._flow(now, pump),
            )
            for pump in self.flight.aircraft.pumps
        ]
        head = ("pump", "state", "pressure behind it", "delivers")
        title = f"Step 3. Pressures {self.asked_words(board)} ({clock(asked)})"
        return table_page(title, head, rows, note="")

    @staticmethod
    def _pressure(now, junction):
        value = now.pressures.get(junction, float("nan"))
        return "none" if value != value else f"{value / 1000:.0f} kPa"

    @staticmethod
    def _flow(now, pump):
        return f"{mass_text(now.flows[pump.name] * 3600)}/h"

    def answers(self, name):
        """Return the last step: every answer with its reason."""
        board = self.unit.board(name)
        marked = self.marked(board, {})
        rows = [(line.text, line.right, line.reason) for line in marked.lines]
        title = f"Answers: {board.title} ({marked.full:g} marks)"
        return table_page(title, ("asked", "right", "because"), rows)
