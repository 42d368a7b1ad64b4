"""What a board on the stand shows: the aircraft from below, readings of sticks, a water sample."""

from html import escape

from fuelkit.assess.stand import sheet_of
from fuelkit.assess.stick_task import stick_task
from fuelkit.assess.tank_task import tank_figures
from fuelkit.assess.walk_around import CAUTIONS, walk
from fuelkit.assess.water_task import water_task
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.units import LITRE
from fuelkit.physics.writing import grouped
from fuelkit.show.figure_page import givens_page
from fuelkit.show.page import Page, joined, table_page
from fuelkit.show.plan import plan_table_html, plan_view
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
    if board.scene == "tanks":
        return plan_view(aircraft, title=f"{aircraft.name}: tanks from above")
    return stand_page(aircraft, board).html


def stand_table(aircraft, board):
    """Return the table of the drawing; nothing where the board shows tables already."""
    if board.scene == "walk-around":
        return underside_table_html(aircraft, walk(aircraft, board.draw))
    return plan_table_html(aircraft) if board.scene == "tanks" else ""


def stand_figures(aircraft, board):
    """Return the figures that go with a board on the stand, as pairs of words."""
    return tuple(tank_figures(aircraft, board.draw)) if board.scene == "tanks" else ()


def _walk(aircraft, board, title, given):
    sights = walk(aircraft, board.draw)
    decided = None
    if given:
        decided = {s.label: given.get(f"{board.name}-{s.label}", "") for s in sights}
        decided = {label: word for label, word in decided.items() if word}
        title = "What you decided"  # what is right stands in the rows below, with its reason
    return underside(aircraft, sights, title=f"{aircraft.name}: {title}", decided=decided)


def stand_page(aircraft, board):
    """Return what is seen on a board on the stand as tables."""
    return _PAGES[board.scene](aircraft, board)


def _tank_page(aircraft, board):
    rows = tank_figures(aircraft, board.draw)
    return table_page(f"{board.title}: the figures", ("what", "figure"), tuple(rows), note="")


def _walk_page(aircraft, board):
    rows = [(s.label, s.station, s.item, s.sees) for s in walk(aircraft, board.draw)]
    head = ("", "station", "item", "what is seen")
    return table_page(f"{board.title}: what is seen", head, rows, note="")


def _stick_page(aircraft, board):
    task = stick_task(aircraft, board.draw)
    seen = table_page(
        "Readings", ("stick", "tank", "shows"),
        [(s.name, s.tank, str(s)) for s in task.readings], note=task.caution,
    )  # fmt: skip
    rows = [
        (f"{100 * reading:.0f} cm", _litres(volume), _litres(level))
        for reading, volume, level in task.table
    ]
    head = ("reading", "on this slope", "if it stood level")
    table = table_page(f"{task.stick}: volume in {task.tank}", head, rows, note="")
    return joined(Page(f"<p>{escape(task.question)}</p>", task.question), seen, table)


def _litres(volume):
    return f"{grouped(volume / LITRE)} litres"


def _water_page(aircraft, board):
    task = water_task(aircraft, board.draw)
    rows = [
        ("sample", f"number {task.sample} from this drain"),
        ("what is seen", task.sees),
        ("fuel in the tank", _litres(task.volume)),
        ("fuel temperature when loaded", f"{task.warm - ZERO_CELSIUS:.0f} °C"),
        ("now", f"{task.cold - ZERO_CELSIUS:.0f} °C"),
    ]
    return table_page(f"A sample from {task.tank}", ("what", "how"), rows, note=task.caution)


def _givens_page(aircraft, board):
    sheet = sheet_of(aircraft, board)
    return joined(Page(f"<p>{escape(sheet.lead)}</p>", sheet.lead), givens_page(sheet))


_PAGES = {
    "tanks": _tank_page,
    "walk-around": _walk_page,
    "sticks": _stick_page,
    "water": _water_page,
    "sheet": _givens_page,
}


def cautions_page():
    """Return what to mind on a walk-around, as a page."""
    rows = [(f"{number}", words) for number, words in enumerate(CAUTIONS, start=1)]
    return table_page("Before you walk around", ("", "mind"), rows)
