"""Look at a computed flight: any moment as a drawing, the whole as a ribbon, and the reasons."""

from fuelkit.aircraft import model
from fuelkit.assess.flights import flight_of
from fuelkit.assess.moments import moment
from fuelkit.flight.reasons import why, why_fed
from fuelkit.physics.writing import clock
from fuelkit.show.page import Page, table_page
from fuelkit.show.ribbon import ribbon, ribbon_table_html, shown_changes
from fuelkit.show.rule_list import rules_page
from fuelkit.show.schematic import schematic
from fuelkit.show.tables import schematic_table_html
from fuelkit.show.views import view

_NOT_TOLD = (
    "Not told while only what the crew is shown is on view. Open the flight with truth=True."
)
_TOLD = model.Pump | model.Consumer | model.Return | model.Overflow | model.Bus | model.Filler


def open_flight(sector, aircraft="halbrook-180", *, truth=False):
    """Return a viewer of a computed flight of the kit.

    Parameters
    ----------
    sector, aircraft : str
        As in the kit, such as "eastmere-port-ellery".
    truth : bool
        Whether drawings tell the true state, with what has failed, and not only what the crew is
        shown. Without failures both are the same.

    Raises
    ------
    DataFileError
        If the kit has no such sector or aircraft; names the ones it has.
    """
    return Viewer(flight_of(aircraft, sector), truth=truth)


class Viewer:
    """A computed flight to look at. Each method is one short call of a notebook cell.

    Parameters
    ----------
    flight : History
    truth : bool
        Whether drawings tell the true state rather than what the crew is shown.
    """

    def __init__(self, flight, *, truth=False):
        self.flight, self.truth = flight, truth

    def moment_words(self, time):
        """Return aircraft, sector, time and phase in words."""
        flight = self.flight
        return (
            f"{flight.aircraft.name} · {flight.sector.name} · {clock(time)}, {flight.phase(time)}"
        )

    def drawing_at(self, words):
        """Return the drawing of a moment in words, such as "0:21:00", with its table."""
        time = moment(self.flight, words)
        now, aircraft = view(self.flight, time, truth=self.truth), self.flight.aircraft
        title = f"The fuel system at {clock(time)}{self._whose()}"
        drawing = schematic(aircraft, now, title=title, subtitle=self.moment_words(time))
        text = [f"{title}, {now.phase}."]
        if not now.guarded:
            text += [why_fed(self.flight, c.name, time) for c in aircraft.consumers]
        return _with_table(drawing, schematic_table_html(aircraft, now), "\n".join(text))

    def _whose(self):
        """Whether a drawing shows the truth, where that may differ from what the crew is shown."""
        if not self.flight.sector.failures:
            return ""
        return ", the true state" if self.truth else ", as the crew is shown it"

    def ribbon(self):
        """Return the whole flight on one page, with its table."""
        title = f"The whole flight{self._whose()}: {self.flight.sector.name}"
        drawing = ribbon(self.flight, title=title, truth=self.truth)
        table = ribbon_table_html(self.flight, truth=self.truth)
        return _with_table(drawing, table, str(self.flight))

    def why(self, name, words):
        """Return why a part is in its state at a moment, or where an engine is fed from."""
        time = moment(self.flight, words)
        if self._hides_truth:
            return table_page(f"Why, at {clock(time)}", ("part", "because"), [(name, _NOT_TOLD)])
        is_fed = isinstance(self.flight.aircraft.by_name.get(name), model.Consumer)
        text = (why_fed if is_fed else why)(self.flight, name, time)
        return table_page(f"Why, at {clock(time)}", ("part", "because"), [(name, text)])

    def rules(self, *names):
        """Return the automatic functions that act on some parts, as sentences."""
        return rules_page(self.flight.aircraft, names)

    def events(self, start, end):
        """Return what happened between two moments in words, each with its reason."""
        begin, finish = moment(self.flight, start), moment(self.flight, end)
        rows = self.event_rows(begin, finish)
        title = f"What happened from {clock(begin)} to {clock(finish)}, and why"
        return table_page(title, ("time", "part", "became", "because"), rows)

    def event_rows(self, begin, finish):
        """Return time, part, state and reason of what happened between two moments [s], as text."""
        changes = shown_changes if self._hides_truth else _changes
        return [
            (clock(time), name, after, reason)
            for time, name, _, after, reason in changes(self.flight, self._told_names())
            if begin <= time <= finish
        ]

    @property
    def _hides_truth(self):
        return bool(self.flight.sector.failures) and not self.truth

    def _told_names(self):
        parts = self.flight.aircraft.by_name.items()
        return [n for n, p in parts if isinstance(p, _TOLD) or getattr(p, "kind", "") == "valve"]


def _changes(flight, names):
    """Every change of some parts, a valve's being on its way left out."""
    told = set(names)
    return [
        (c.time, c.name, c.before, c.after, c.reason)
        for c in flight.changes
        if c.name in told and c.after != "MOVING"
    ]


def _with_table(drawing, table, text):
    details = f"<details><summary>The same as a table</summary>{table}</details>"
    style = "max-width:1280px;background:#fff;color:#111"
    return Page(f'<div style="{style}">{drawing}{details}</div>', text)
