"""Every figure sheet by its name: its title, how it is drawn by a number, and what it needs.

A sheet is added in one place: an `Entry` in `SHEETS`, with a function that draws it for any
aircraft and one that says, in a sentence, why an aircraft cannot have it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from fuelkit.aircraft.reading import nearest
from fuelkit.figures.after_flight import draw_after_flight
from fuelkit.figures.distribution_sheet import draw_distribution, without_sides
from fuelkit.figures.draws import without_counters
from fuelkit.figures.fuel_limits import draw_freezing, draw_gravity_feed
from fuelkit.figures.in_flight import draw_in_flight
from fuelkit.figures.jettison import draw_jettison, without_jettison
from fuelkit.figures.leak import draw_leak
from fuelkit.figures.limits_sheet import draw_computer_sheet, draw_limits_sheet
from fuelkit.figures.navigation import draw_equal_time, draw_safe_return
from fuelkit.figures.performance import without_performance
from fuelkit.figures.plan_sheet import draw_plan_sheet
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.stand import draw_stand, without_sticks
from fuelkit.figures.uplift import draw_uplift


def _nothing(_aircraft):
    return ""


@dataclass(frozen=True)
class Entry:
    """A figure sheet that can be drawn. Frozen.

    title : str
        The title that its sheets have.
    draw : callable
        Given an aircraft and a number, returns the sheet.
    lacks : callable
        Given an aircraft, returns a sentence that says what it lacks for this sheet, or nothing.
    """

    title: str
    draw: Callable
    lacks: Callable = _nothing


# In the order of a flight.
SHEETS = {
    "stand": Entry("Quantity on the stand", draw_stand, without_sticks),
    "uplift": Entry("Uplift check", draw_uplift),
    "plan": Entry("Fuel plan", draw_plan_sheet, without_performance),
    "masses": Entry("Masses and limits", draw_limits_sheet, without_performance),
    "computer": Entry(
        "Flight management computer against plan and load sheet",
        draw_computer_sheet,
        without_performance,
    ),
    "distribution": Entry("Distribution and balance", draw_distribution, without_sides),
    "in-flight": Entry("Fuel check in flight", draw_in_flight, without_counters),
    "equal-time": Entry("Equal time point", draw_equal_time),
    "safe-return": Entry("Point of safe return", draw_safe_return),
    "leak": Entry("Leak, faulty gauge, or neither", draw_leak, without_counters),
    "gravity-feed": Entry("Ceiling for gravity feed", draw_gravity_feed),
    "freezing": Entry("Margin to the freezing point", draw_freezing),
    "jettison": Entry("Jettison", draw_jettison, without_jettison),
    "after-flight": Entry("After the flight", draw_after_flight, without_counters),
}
"""Every sheet by its name."""


def sheets_for(aircraft):
    """Return the names of the sheets that an aircraft can have, in the order of a flight.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> "jettison" in sheets_for(load_aircraft("halbrook-180"))
    False
    """
    return tuple(name for name, entry in SHEETS.items() if not entry.lacks(aircraft))


def left_out(aircraft):
    """Return for each sheet that an aircraft cannot have a sentence that says why.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> list(left_out(load_aircraft("halbrook-180")))
    ['jettison']
    """
    said = {name: entry.lacks(aircraft) for name, entry in SHEETS.items()}
    return {name: sentence for name, sentence in said.items() if sentence}


@lru_cache(maxsize=256)
def draw_sheet(name, aircraft, draw):
    """Return a sheet by its name, its situation drawn by a number.

    Parameters
    ----------
    name : str
        One of `SHEETS`.
    aircraft : Aircraft
    draw : int
        0 or more; the same number gives the same sheet, always and on every machine.

    Returns
    -------
    Sheet

    Raises
    ------
    FigureError
        If there is no such sheet, the aircraft lacks what it needs, or the number is none.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> draw_sheet("uplift", load_aircraft("halbrook-180"), 3).title
    'Uplift check'
    """
    if name not in SHEETS:
        raise FigureError(
            f"sheet: it is {name!r}; it must be one of {', '.join(SHEETS)}.{nearest(name, SHEETS)}"
        )
    if isinstance(draw, bool) or not isinstance(draw, int) or draw < 0:
        raise FigureError(f"draw: it is {draw!r}; it must be a whole number, 0 or more.")
    if sentence := SHEETS[name].lacks(aircraft):
        raise FigureError(sentence)
    return SHEETS[name].draw(aircraft, draw)
