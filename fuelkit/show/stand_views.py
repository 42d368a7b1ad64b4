"""What a board on the stand shows: the aircraft from below, readings of sticks, a water sample."""

from html import escape

from fuelkit.assess.stick_task import stick_task
from fuelkit.assess.walk_around import CAUTIONS, walk
from fuelkit.assess.water_task import water_task
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.units import LITRE
from fuelkit.show.page import table_page
from fuelkit.show.underside import underside, underside_table_html


def stand_drawing(aircraft, board, *, title, given=None):
    """Return what the learner sees, as SVG or HTML.

    Parameters
    ----------
    aircraft : Aircraft
    board : Board
        Of a scene on the stand.
    title : str
    given : dict of str to str, optional
        A committed answer: decisions are then written beside the items of a walk-around.
    """
    if board.scene == "walk-around":
        return _walk(aircraft, board, title, given)
    return (_sticks if board.scene == "sticks" else _water)(aircraft, board)


def stand_table(aircraft, board):
    """Return the table of the drawing; nothing where the board shows tables already."""
    if board.scene == "walk-around":
        return underside_table_html(aircraft, walk(aircraft, board.draw))
    return ""


def _walk(aircraft, board, title, given):
    sights = walk(aircraft, board.draw)
    decided = None
    if given:
        decided = {s.label: given.get(f"{board.name}-{s.label}", "") for s in sights}
        decided = {label: word for label, word in decided.items() if word}
    return underside(aircraft, sights, title=f"{aircraft.name}: {title}", decided=decided)


def _sticks(aircraft, board):
    task = stick_task(aircraft, board.draw)
    seen = table_page(
        "Readings", ("stick", "tank", "shows"),
        [(s.name, s.tank, str(s)) for s in task.readings], note=task.caution,
    )  # fmt: skip
    rows = [
        (f"{100 * reading:.0f} cm", f"{volume / LITRE:.0f} l", f"{level / LITRE:.0f} l")
        for reading, volume, level in task.table
    ]
    head = ("reading", "on this slope", "if it stood level")
    table = table_page(f"{task.stick}: volume in {task.tank}", head, rows, note="")
    return f"<p>{escape(task.question)}</p>{seen.html}{table.html}"


def _water(aircraft, board):
    task = water_task(aircraft, board.draw)
    rows = [
        ("sample", f"number {task.sample} from this drain"),
        ("what is seen", task.sees),
        ("fuel in the tank", f"{task.volume / LITRE:.0f} l"),
        ("fuel temperature when loaded", f"{task.warm - ZERO_CELSIUS:.0f} °C"),
        ("now", f"{task.cold - ZERO_CELSIUS:.0f} °C"),
    ]
    return table_page(f"A sample from {task.tank}", ("", ""), rows, note=task.caution).html


def cautions_page():
    """Return what to mind on a walk-around, as a page."""
    rows = [(f"{number}", words) for number, words in enumerate(CAUTIONS, start=1)]
    return table_page("Before you walk around", ("", "mind"), rows)

