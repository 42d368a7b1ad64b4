"""Draw the fuel system at one moment, as an SVG: tanks, pumps, valves, lines, who feeds whom.

Generic over the aircraft: every name, place and shape comes from its record. Network parts stand
below the tanks at the places its file gives; left and right of them there is room for notes.
"""

from fuelkit.aircraft.reading import nearest
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.faults import faults_drawn
from fuelkit.show.layers import lines_drawn, tanks_drawn
from fuelkit.show.notes import notes_drawn
from fuelkit.show.palette import IDLE
from fuelkit.show.parts import parts_drawn
from fuelkit.show.places import plan
from fuelkit.show.routes import routes
from fuelkit.show.sensors import sensors_drawn, tank_room
from fuelkit.show.svg import drawing, text
from fuelkit.show.tables import schematic_table, schematic_table_html, table_html
from fuelkit.show.views import as_view
from fuelkit.show.words import title_case

__all__ = ["HEIGHT", "schematic", "schematic_table", "schematic_table_html", "table_html"]

HEIGHT = 720


class DrawingError(FuelkitError, LookupError):
    """A drawing was asked for a part that the aircraft does not have."""


def schematic(aircraft, picture, *, title="", subtitle="", predicted=None, asked=(), hidden=(),
              lettered=None, blank=False):  # fmt: skip
    """Return the drawing of the fuel system at one moment of a flight.

    Parameters
    ----------
    aircraft : Aircraft
    picture : Picture
        From `fuelkit.show.views.view`: as the crew is shown it, or the truth, with failures
        marked; or from `fuelkit.flight.picture.picture`.
    title, subtitle : str
        Without them the aircraft's name, and phase and time.
    predicted : dict of str to str, optional
        What a learner said of components: each gets a mark, right or not.
    asked : tuple of str
        Components whose state at a later moment the learner predicts: each is drawn as it is now
        and gets a mark in which the board writes what it will be.
    hidden : tuple of str
        Components (pumps, valves, engines, tanks, sensors, ...) that the learner has yet to
        predict. Each is drawn as a question, with every state it may take ready to be switched
        on by the board, and nothing else on the drawing gives its state away: not the lines that
        hang together with it, nor what feeds the engines there, nor what the crew is told.
    lettered : dict of str to str, optional
        Letters by component: these stand in place of the names of all pumps, valves and lines, for
        a learner to say which part each letter stands for.
    blank : bool
        Whether the panels and the legend are those of a sheet that is filled in with a pencil.

    Raises
    ------
    DrawingError
        If `asked` or `hidden` names a part that the aircraft does not have.

    Returns
    -------
    str
        An SVG 1280 wide with a label for those who do not see it.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.picture import picture
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> drawing = schematic(halbrook, picture(flight, 6000.0))
    >>> drawing.startswith("<svg"), "FED FROM" in drawing
    (True, True)
    """
    hidden, asked = _known(aircraft, "hidden", hidden), _known(aircraft, "asked", asked)
    picture = as_view(picture)
    drawing_plan = plan(aircraft, picture)
    runs, joints = routes(drawing_plan, picture, hidden)
    room = tank_room(drawing_plan, picture)
    title = title or aircraft.name
    subtitle = subtitle or f"{title_case(picture.phase)}, {clock(picture.time)}"
    content = (
        text(24, 33, title, size=20, bold=True)
        + text(24, 54, subtitle, size=15, fill=IDLE)
        + _total(picture, hidden)
        + tanks_drawn(drawing_plan, picture, hidden)
        + lines_drawn(runs, joints)
        + sensors_drawn(drawing_plan, picture, hidden, room)
        + parts_drawn(drawing_plan, picture, predicted or {}, asked, hidden, room, lettered or {})
        + faults_drawn(drawing_plan, picture, room)
        + ("" if lettered else notes_drawn(drawing_plan, picture, hidden, runs, blank=blank))
    )
    return drawing(
        content, height=HEIGHT, label=f"Fuel system of {aircraft.name}. {title}. {subtitle}"
    )


def _known(aircraft, field, names):
    for name in names:
        if name not in aircraft.by_name:
            hint = nearest(name, aircraft.by_name)
            raise DrawingError(
                f"schematic: {field} names '{name}'; {aircraft.name} has no such part.{hint}"
            )
    return tuple(names)


def _total(picture, hidden):
    if set(hidden) & set(picture.masses):
        return ""
    total = mass_text(sum(picture.masses.values()))
    return text(1256, 33, f"On board {total}", size=20, bold=True, anchor="end")
