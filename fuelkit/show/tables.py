"""The same as the drawings in words: rows of a table, and a table for a page.

Every drawing has its table, for those who cannot see it or would rather read.
"""

from html import escape

from fuelkit.physics.writing import clock, held, mass_text
from fuelkit.show.faults import failure_words
from fuelkit.show.places import parts_of_network, plan
from fuelkit.show.routes import TRICKLE
from fuelkit.show.views import BETWEEN, as_view, sensor_words
from fuelkit.show.words import (
    NOT_SHOWN,
    fed_text,
    flow_text,
    line_state,
    title_case,
    told,
)

COLUMNS = ("Part", "Kind", "State", "What it does")


def schematic_table(aircraft, picture, hidden=()):
    """Return what the schematic shows, as rows.

    Parameters
    ----------
    aircraft : Aircraft
    picture : Picture
    hidden : tuple of str
        Components that a learner has yet to predict; held back as on the drawing.

    Returns
    -------
    list of (str, str, str, str)
        Part, kind, state, what it does; masses in kg, flows in kg/h.
    """
    writer = _Rows(aircraft, as_view(picture), hidden)
    return [
        *map(writer.tank, aircraft.tanks),
        *map(writer.pump, aircraft.pumps),
        *(writer.line(line) for line in writer.plan.lines if line.kind != "pipe"),
        *map(writer.consumer, aircraft.consumers),
        *map(writer.hot_return, aircraft.returns),
        *map(writer.filler, aircraft.fillers),
        *map(writer.outlet, writer.plan.outlets),
        *map(writer.overflow, aircraft.overflows),
        *map(writer.sensor, aircraft.sensors),
        *map(writer.switch, aircraft.switches),
        *map(writer.bus, aircraft.buses),
        *writer.told(),
        *map(writer.failure, writer.picture.failures),
    ]


def table_html(rows, *, caption, columns=COLUMNS):
    """Return rows as a table for a page, with a caption and headed rows and columns.

    Parameters
    ----------
    rows : list of tuple of str
    caption : str
    columns : tuple of str
        Headings, as many as a row has cells.

    Examples
    --------
    >>> table_html([("centre", "13 kg")], caption="Fuel", columns=("Tank", "Mass"))[:43]
    '<table class="fuelkit-table"><caption>Fuel<'
    """
    head = "".join(f'<th scope="col">{escape(column)}</th>' for column in columns)
    body = "".join(
        f'<tr><th scope="row">{escape(held(row[0]))}</th>'
        + "".join(f"<td>{escape(held(cell))}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    return (
        f'<table class="fuelkit-table"><caption>{escape(held(caption))}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )


def schematic_table_html(aircraft, picture, *, hidden=()):
    """Return the table of a moment of a flight for a page."""
    caption = f"{aircraft.name}, {picture.phase}, {clock(picture.time)}"
    return table_html(schematic_table(aircraft, picture, hidden), caption=caption)


class _Rows:
    """Writes one row for each part of an aircraft at one moment."""

    def __init__(self, aircraft, picture, hidden):
        self.aircraft, self.picture, self.hidden = aircraft, picture, set(hidden)
        self.plan = plan(aircraft, picture)
        self.unknown = parts_of_network(aircraft, hidden)

    def tank(self, tank):
        kind = "tank" if tank.holds_fuel else "vent surge tank"
        if tank.name in self.hidden:
            return tank.title, kind, "?", NOT_SHOWN
        known = {c.name for c in self.aircraft.consumers} - self.unknown
        fed = [
            n for n, shares in self.picture.feeding.items() if tank.name in shares and n in known
        ]
        does = f"feeds {' and '.join(fed)}" if fed else ""
        return tank.title, kind, mass_text(self.picture.masses[tank.name]), self._but(tank, does)

    def pump(self, pump):
        state = self._state(pump)
        does = {
            "OFF": "stands still",
            "LOW PRESS": "runs dry; its inlet is not covered",
            "RUN": self._delivery(pump, "runs and holds pressure, delivers nothing"),
            "FAIL": "has failed, delivers nothing",
        }.get(state, NOT_SHOWN)
        if state == "LOW PRESS" and self.picture.guarded:
            does = "gives no pressure"
        return title_case(pump.name), f"{pump.kind} pump", state, self._but(pump, does)

    def line(self, line):
        if line.kind == "valve":
            state = self._state(line)
            if state in ("MOVING", BETWEEN):
                does = "is on its way" if state == "MOVING" else "is at neither end"
                return title_case(line.name), "valve", state, self._but(line, does)
        else:
            state = "?" if line.name in self.unknown else line_state(line, self.picture)
        if line.kind == "jet pump":
            return title_case(line.name), line.kind, state, self._jet(line, state)
        is_open = state in ("OPEN", "HALF OPEN")
        does = self._delivery(line, "open, nothing flows") if is_open else "passes nothing"
        stuck = self.picture.failure_of(line.name, "stuck")
        if stuck:
            state = f"STUCK {stuck.state if line.kind != 'valve' and stuck.state else state}"
        if state != "?":
            does = self._but(line, does)
        kind = "sequence valve" if line.kind == "relief valve" else line.kind
        return title_case(line.name), kind, state, NOT_SHOWN if state == "?" else does

    def _jet(self, jet, state):
        does = {
            "OFF": "nothing drives it",
            "NO SUCTION": f"is driven, but no fuel of {jet.suction} covers its inlet",
            "RUN": f"moves fuel from {jet.suction} to {jet.end}",
        }.get(state, NOT_SHOWN)
        if state == "RUN" and not self.picture.guarded:
            moved = self.picture.flows[jet.name] * jet.flow_ratio
            does += f": {flow_text(moved)}"
        return does

    def consumer(self, part):
        state = self._state(part)
        does = {
            "RUN": fed_text(part, self.picture).lower(),
            "STARVED": "stopped for want of fuel",
            "FAIL": "has failed, takes no fuel",
        }.get(state, "takes no fuel")
        if state == "?" or (state == "RUN" and part.name in self.unknown):
            does = NOT_SHOWN
        return title_case(part.name), part.kind, state, self._but(part, does)

    def hot_return(self, part):
        state = self._state(part)
        does = {
            "OPEN": f"returns {flow_text(part.flow)} to {part.end}",
            "SHUT": "returns nothing",
        }.get(state, NOT_SHOWN)
        return title_case(part.name), "hot return", state, does

    def overflow(self, part):
        state = self._state(part)
        goes = "overboard" if part.end not in self.plan.shapes else f"into {part.end}"
        does = {"RUNNING": f"{part.start} runs over {goes}", "STILL": ""}.get(state, NOT_SHOWN)
        return title_case(part.name), "overflow", state, does

    def filler(self, part):
        state = self._state(part)
        does = {
            "OPEN": f"{flow_text(part.flow)} is filled into {part.end} by hand",
            "SHUT": "its cap is on",
        }.get(state, NOT_SHOWN)
        return title_case(part.name), "filler", state, does

    def outlet(self, part):
        leading = [line for line in self.plan.lines if line.end == part.name]
        if any(line.name in self.unknown for line in leading):
            return title_case(part.name), "opening overboard", "?", NOT_SHOWN
        flow = sum(self.picture.flows.get(line.name, 0.0) for line in leading)
        if flow <= TRICKLE:
            return title_case(part.name), "opening overboard", "STILL", ""
        does = "fuel runs overboard" if self.picture.guarded else f"loses {flow_text(flow)}"
        return title_case(part.name), "opening overboard", "RUNNING", does

    def sensor(self, part):
        kind = f"{part.kind} sensor"
        state = "?" if part.tank in self.hidden else self._state(part)
        does = {"WET": "fuel covers it", "DRY": "the fuel stands below it"}.get(state, NOT_SHOWN)
        if part.kind == "temperature" and state == "WET":
            does = f"shows {sensor_words(part, self.picture)}"
        elif part.kind == "temperature" and state == "DRY":
            does = "shows nothing; the fuel stands below it"
        return title_case(part.name), kind, state, self._but(part, does)

    def switch(self, switch):
        does = "stuck there" if self.picture.failure_of(switch.name, "stuck") else "set by hand"
        return title_case(switch.name), "switch", self.picture.positions[switch.name], does

    def bus(self, bus):
        state = self.picture.positions[bus.name]
        does = "" if state == "LIVE" else "what hangs on it has no power"
        return title_case(bus.name), "electrical bus", state, does

    def failure(self, failure):
        return title_case(failure.name), "failure", "PRESENT", failure_words(self.picture, failure)

    def _but(self, part, does):
        """What a part does, then what is shown instead of the truth, or what else is to be said."""
        more = []
        if part.name in self.picture.readings:
            gauge = "its gauge" if part in self.aircraft.tanks else "it"
            more.append(f"{gauge} shows {self.picture.readings[part.name]}")
        bus = getattr(part, "bus", None)
        if bus and self.picture.positions[bus] == "DEAD":
            more.append(f"no power: {bus} is DEAD")
        if part.name in self.picture.astray:
            more.append("not where it is called for")
        return "; ".join(words for words in (does, *more) if words)

    def told(self):
        shown, held = told(self.aircraft, self.picture, self.hidden)
        rows = [(alert.name, alert.level, "SHOWN", "told to the crew") for alert in shown]
        return rows + ([("What else the crew is told", "", "?", NOT_SHOWN)] if held else [])

    def _state(self, part):
        return "?" if part.name in self.hidden else self.picture.positions[part.name]

    def _delivery(self, part, otherwise):
        """What passes through a pump or line, unless that is held back."""
        if part.name in self.unknown:
            return f"what flows is {NOT_SHOWN}"
        flow = self.picture.flows.get(part.name, 0.0)
        if abs(flow) <= TRICKLE:
            return otherwise
        return "passes fuel" if self.picture.guarded else f"passes {flow_text(abs(flow))}"
