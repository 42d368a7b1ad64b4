"""Sections of the tanks, heights to a stated larger scale: from behind, and one tank from the side.

Both are seen along the surface of the fuel (`section_shapes`): every level is a straight line, and
what stands under it is under it in the tank.
"""

from html import escape

from fuelkit.aircraft.reading import nearest
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text
from fuelkit.show.page import Page
from fuelkit.show.palette import IDLE, SAFETY
from fuelkit.show.section_behind import behind_drawn
from fuelkit.show.section_key import key_drawn, legend_drawn
from fuelkit.show.section_parts import SMALL
from fuelkit.show.section_shapes import span_of
from fuelkit.show.section_side import side_drawn
from fuelkit.show.section_table import (
    conditions_words,
    numbered,
    plain_text,
    spill_sentences,
    tables_html,
    wet_words,
)
from fuelkit.show.svg import drawing, element, text, wrapped
from fuelkit.survey.tank_state import TankStateError, fuel_at_rest


def section_page(
    aircraft, masses, *, pitch=0.0, roll=0.0, temperature=ZERO_CELSIUS + 15.0, density_15=800.0,
    tank="", cut=None,
):  # fmt: skip
    """Return the sections of an aircraft's tanks with fuel at rest, and their tables, as a page.

    Parameters
    ----------
    aircraft : Aircraft
    masses : dict of str to float
        What is put into each tank; a tank that is not named is empty. [kg]
    pitch, roll : float
        Nose up and right wing down are positive. [rad]
    temperature : float
        Of all fuel. [K]
    density_15 : float
        [kg/m³]
    tank : str
        The tank that is shown from the side; the first that is loaded if not given.
    cut : float, optional
        How far right of the middle it is cut; where its lowest opening is if not given. [m]

    Raises
    ------
    TankStateError
        If a tank is not known, a mass is below 0, or attitude or temperature is out of range.
    ValueError
        If the cut misses the tank, or the density is outside the table.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> page = section_page(load_aircraft("halbrook-40"), {"left wing": 900.0}, roll=0.01)
    >>> "0.573° right wing down" in page.text, page.html.count("<svg")
    (True, 1)
    """
    rest = fuel_at_rest(
        aircraft, masses, pitch=pitch, roll=roll, temperature=temperature, density_15=density_15
    )
    names = [t.name for t in aircraft.tanks]
    picture = section_drawing(rest, tank=tank, cut=cut)
    table = tables_html(rest, names)
    details = f"<details><summary>The same as a table</summary>{table}</details>"
    style = "max-width:1280px;background:#fff;color:#111"
    return Page(f'<div style="{style}">{picture}{details}</div>', plain_text(rest, names))


def first_tank(aircraft):
    """Return the name of the tank that is loaded first."""
    return aircraft.loading_order[0][0]


def usual_cut(aircraft, name):
    """Return how far right of the middle a tank's lowest opening is, else its middle. [m]"""
    low, high = span_of(aircraft.tank(name))
    inlets = [at for _, at in aircraft.openings_of(name)]
    y = min(inlets, key=lambda at: at[2])[1] if inlets else 0.5 * (low + high)
    return min(max(y, low), high)


def section_drawing(rest, *, tank="", cut=None, width=1280, heading=True):
    """Return the sections as an SVG.

    Parameters
    ----------
    rest : FuelAtRest
    tank, cut
        As in `section_page`.
    width : int
        Of the drawing; letters are the larger on a page the smaller it is. [px]
    heading : bool
        Whether the aircraft's name stands above it.
    """
    aircraft = rest.aircraft
    name = tank or first_tank(aircraft)
    if name not in rest.states:
        raise TankStateError(
            f"section: tank is '{name}'; {aircraft.name} has no such tank."
            f"{nearest(name, rest.states)}"
        )
    cut = usual_cut(aircraft, name) if cut is None else cut
    title, top = f"{aircraft.name}: the tanks in section", 54.0 if heading else 22.0
    head, top = legend_drawn(_kinds(rest), 24.0, top + 26.0, width - 24.0)
    behind, foot = behind_drawn(rest, name, width, top + 10.0)
    side, side_foot = side_drawn(rest, name, cut, width, foot + 34.0)
    key, key_foot = key_drawn(
        numbered(rest, [name]), x=0.484 * width, top=foot + 34.0, width=0.516 * width - 40.0,
        title=f"{rest.states[name].tank.title}: what is wet, what sticks read",
    )  # fmt: skip
    said, low = _said(rest, max(side_foot, key_foot) + 18.0, width)
    content = (
        element("desc", escape(_description(rest, name)))
        + (text(24, 33, title, size=20, bold=True) if heading else "")
        + text(24, 54 if heading else 22, conditions_words(rest), size=15, fill=IDLE)
        + head
        + behind
        + side
        + key
        + said
        + text(24, low + 24, SAFETY, size=SMALL, fill=IDLE)
    )
    return drawing(content, height=int(low + 38), label=title, width=width)


def _kinds(rest):
    """The kinds of things that stand in the tanks."""
    return {spot.kind for state in rest.states.values() for spot in state.spots}


def _description(rest, name):
    held = [f"{s.tank.title} {mass_text(s.mass)}" for s in rest.states.values()]
    return f"{conditions_words(rest)}. {'; '.join(held)}. " + " ".join(
        [*wet_words(rest, [name]), *spill_sentences(rest)]
    )


def _said(rest, y, width):
    """What runs over, in sentences."""
    found = []
    for sentence in spill_sentences(rest):
        lines = wrapped(sentence, width - 60.0, size=15, bold=bool(rest.spills))
        found.append(text(24, y + 8, lines, size=15, bold=bool(rest.spills), step=18))
        y += 18.0 * len(lines) + 3.0
    return "".join(found), y
