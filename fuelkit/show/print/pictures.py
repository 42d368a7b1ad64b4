"""The pictures of a lesson for paper: the same drawings and charts, each with what it shows."""

import re
from dataclasses import dataclass
from html import unescape

from fuelkit.assess.moments import moment
from fuelkit.assess.stages import stages
from fuelkit.flight.reasons import why_fed
from fuelkit.physics.writing import clock
from fuelkit.show.charts import chart_svg
from fuelkit.show.plan import plan_view
from fuelkit.show.relief import relief_page
from fuelkit.show.ribbon import ribbon
from fuelkit.show.schematic import schematic
from fuelkit.show.section import section_page
from fuelkit.show.stand_views import stand_drawing
from fuelkit.show.underside import underside
from fuelkit.show.vent_page import vent_page
from fuelkit.show.viewer import Viewer
from fuelkit.show.views import view
from fuelkit.survey.bending import BendingError

_DRAWING = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
_TOLD = (re.compile(r'aria-label="([^"]*)"'), re.compile(r"<desc>(.*?)</desc>", re.DOTALL))
_SIZE = re.compile(r'viewBox="([^"]+)"')
_FLAT = 0.48  # height over width
_LONGEST = 1200  # letters of what is read out in place of a picture

_ALIKE = ("picture", "example", "rules", "summary")
SHOWN = {
    "tanks": ("plan", "section", "vents", "bending", "example"),
    "walk-around": ("underside", "example", "cautions"),
    "cockpit-preparation": (*_ALIKE, "ribbon", "quantities", "balance"),
    "engine-start": (*_ALIKE, "ribbon"),
    "climb": (*_ALIKE, "ribbon", "temperatures"),
    "cruise": (*_ALIKE, "ribbon", "quantities", "temperatures"),
    "descent": (*_ALIKE, "quantities", "temperatures"),
    "after-landing": (*_ALIKE, "ribbon"),
    "abnormal": ("picture", "example", "vents", "rules", "ribbon", "balance"),
}
"""What each lesson shows, by the names of the methods that its notebook calls."""


@dataclass(frozen=True)
class Drawn:
    """A picture on paper. Frozen.

    heading : str
    svg : str
    alt : str
        What it shows, for those who do not see it.
    words : tuple of str
        Paragraphs below it.
    """

    heading: str
    svg: str
    alt: str
    words: tuple = ()

    @property
    def is_flat(self):
        """Whether two of its kind fit one below the other on a page on its side."""
        _, _, width, height = map(float, _SIZE.search(self.svg)[1].split())
        return height < _FLAT * width and not self.words


def pictures(lesson):
    """Return what a lesson shows as pictures for paper, without those that this aircraft lacks.

    Parameters
    ----------
    lesson : Lesson

    Returns
    -------
    list of Drawn
    """
    names = [name for name in SHOWN[lesson.unit.stage] if name in _MAKERS]
    return [drawn for name in names for drawn in _MAKERS[name](lesson)]


def drawn(heading, svg, words=(), told=""):
    """Return a picture whose own label and description are what is read out, with `told`."""
    said = [unescape(m[1]) for pattern in _TOLD if (m := pattern.search(svg))]
    alt = " ".join([*said, told]).strip()
    return Drawn(heading, svg, alt[:_LONGEST], tuple(words))


def moment_drawn(flight, time, heading, title, *, truth=False):
    """Return the fuel system at a moment of a flight [s]; the words say what feeds each engine."""
    now = view(flight, time, truth=truth)
    svg = schematic(flight.aircraft, now, title=title, subtitle=Viewer(flight).moment_words(time))
    fed = [] if now.guarded else [why_fed(flight, c.name, time) for c in flight.aircraft.consumers]
    return drawn(heading, svg, fed, " ".join(fed))


def _picture(lesson):
    known = stages(lesson.flight)
    start, _ = known.get(lesson.unit.stage, known.get("cruise", lesson.span()))
    title = f"The fuel system at {clock(start)}"
    return [moment_drawn(lesson.flight, start, "How it begins", title)]


def _example(lesson):
    """Before and after of the situation that the lesson works through."""
    board = next((b for b in lesson.unit.boards if b.form == "worked"), None)
    if board is None:
        return []
    flight = lesson.flight_of(board)
    if board.scene == "flight":
        begin, end = lesson.shown(board), moment(flight, board.asked)
        return [
            moment_drawn(flight, begin, f"Worked through: {board.title}", "What is seen"),
            moment_drawn(
                flight, end, f"{board.title}: what follows", "What the aircraft did", truth=True
            ),
        ]
    if board.scene != "walk-around":
        return []
    svg = stand_drawing(flight.aircraft, board, title="What is seen on this walk")
    return [drawn(f"Worked through: {board.title}", svg)]


def _plan(lesson):
    return [drawn("The tanks from above", plan_view(lesson.flight.aircraft))]


def _section(lesson):
    flight = lesson.flight
    tanks = [tank.name for tank in flight.aircraft.tanks if tank.holds_fuel]
    page = section_page(flight.aircraft, {name: flight.quantity(name, 0.0) for name in tanks})
    return _of_page("The tanks cut open, with the load of this flight", page)


def _vents(lesson):
    return _of_page("Where each tank breathes", vent_page(lesson.flight.aircraft))


def _bending(lesson):
    try:
        page = relief_page(lesson.flight)
    except BendingError:
        return []
    return _of_page("What the fuel in the wings takes off their roots", page)


def _of_page(heading, page):
    return [drawn(heading, svg) for svg in _DRAWING.findall(page.html)[:1]]


def _underside(lesson):
    return [drawn("The way around", underside(lesson.flight.aircraft))]


def _ribbon(lesson):
    start, end = lesson.span()
    title = f"From {clock(start)} to {clock(end)}: {lesson.flight.sector.name}"
    svg = ribbon(lesson.flight, title=title, start=start, end=end)
    return [drawn("On one time axis", svg, told=_changed(lesson, start, end))]


def _changed(lesson, start, end):
    rows = Viewer(lesson.flight).event_rows(start, end)
    return "; ".join(f"{time} {name} {state}" for time, name, state, _ in rows)


def _chart(kind, heading):
    return lambda lesson: [drawn(heading, chart_svg(lesson.flight, kind))]


_MAKERS = {
    "picture": _picture,
    "example": _example,
    "plan": _plan,
    "section": _section,
    "vents": _vents,
    "bending": _bending,
    "underside": _underside,
    "ribbon": _ribbon,
    "quantities": _chart("quantities", "Fuel in each tank"),
    "temperatures": _chart("temperatures", "Temperature of fuel and air"),
    "balance": _chart("balance", "Balance"),
}
