"""The upper layer of the schematic: pumps, valves, engines, hot returns, overflows, with words."""

from fuelkit.aircraft.model import Filler, Pump, Return, states_of
from fuelkit.show import symbols
from fuelkit.show.palette import FLOW, IDLE, INK
from fuelkit.show.places import is_upright, parts_of_network
from fuelkit.show.routes import TRICKLE
from fuelkit.show.svg import arrowheads, element, plate, polyline, text_width, wrapped
from fuelkit.show.variants import asked
from fuelkit.show.words import (
    alarm_of,
    answers_to,
    fed_lines,
    fed_text,
    flow_text,
    line_state,
    own_switch,
    short_name,
    switch_words,
    title_case,
)

_STEP = 18  # px between lines of a label


def parts_drawn(plan, picture, predicted, asked_about, hidden, lettered):
    """Return every symbol of the drawing with its words."""
    artist = _Artist(plan, picture, predicted, asked_about, hidden, lettered)
    aircraft = plan.aircraft
    drawn = [artist.pump(part) for part in aircraft.pumps]
    drawn += [artist.line(part) for part in plan.lines if part.kind != "pipe"]
    drawn += [artist.consumer(part) for part in aircraft.consumers]
    drawn += [artist.hot_return(part) for part in aircraft.returns]
    drawn += [artist.overflow(part) for part in aircraft.overflows]
    drawn += [artist.filler(part) for part in aircraft.fillers]
    drawn += [artist.outlet(part) for part in plan.outlets]
    if any(aircraft.coupling in (line.start, line.end) for line in plan.lines):
        drawn.append(artist.coupling())
    return "".join(drawn)


class _Artist:
    def __init__(self, plan, picture, predicted, asked_about, hidden, lettered):
        self.plan, self.picture, self.predicted = plan, picture, predicted
        self.lettered = lettered
        self.aircraft, self.hidden = plan.aircraft, set(hidden)
        self.asked_about = set(asked_about) - self.hidden
        self.unknown = parts_of_network(plan.aircraft, hidden)

    # ------------------------------------------------------------------------------ the parts
    def pump(self, part):
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            symbol = symbols.pump(x, y, state, delivers=flows)
            return symbol + self._label(part, state, (x + 20, y - 11), "start")

        return self._set_by_state(part, drawn, (x - 19, y - 25, 107), (x + 20, y - 11), "start")

    def line(self, part):
        if part.kind == "valve":
            return self._valve(part)
        x, y = self.plan.places[part.name]
        known = part.name not in self.unknown
        flows = known and self._flows(part)
        state = line_state(part, self.picture) if known else ""
        if part.kind == "jet pump":
            symbol = symbols.jet_pump(x, y, flows=flows, turn=self._turn(part))
            names, left, top = ["jet pump"], x + 12, y + 28
            if self._turn(part) == -90:
                left, top = x + 18, y - 24
        else:
            symbol = symbols.check_valve(x, y, sprung=part.kind == "relief valve", flows=flows)
            names = wrapped(short_name(self.aircraft, part), 70)
            left, top = x + 15, y - 3
        stuck = self.picture.failure_of(part.name, "stuck")
        if stuck:
            symbol, state = symbol + symbols.cross(x, y), f"STUCK {stuck.state}"
        size = 15 if len(names) < 3 else 14
        label = symbols.state_label(left, top, names, state, size=size)
        return self._group(part, symbol + label, state)

    def _turn(self, jet):
        """Which way a jet pump blows: towards its tank, or towards the junction it leads to."""
        x, y = self.plan.places[jet.name]
        if self.plan.is_tank(jet.end):
            to = self.plan.turn_at(jet, self.plan.shapes[jet.end])
            return -90 if to == x else (0 if to > x else 180)
        return 90 if self.plan.places[jet.end][1] > y else -90

    def _valve(self, part):
        x, y = self.plan.places[part.name]
        upright = is_upright(part, self.plan)
        at, anchor = ((x + 20, y - 11), "start") if upright else ((x, y + 31), "middle")
        if part.group == "refuelling" and not upright:
            at, anchor = (x + 27, y + 14), "start"

        stuck = self.picture.failure_of(part.name, "stuck")

        def drawn(state, flows=False):
            is_stuck = bool(stuck) and part.name not in self.hidden
            symbol = symbols.valve(x, y, state, upright=upright, flows=flows, stuck=is_stuck)
            words = f"STUCK {state}" if is_stuck else state
            return symbol + self._label(part, words, at, anchor)

        width = 42 + self._label_width(part)
        corner = (x - 18, y - 25, width) if upright else (x - 44, y - 18, 88)
        return self._set_by_state(part, drawn, corner, at, anchor)

    def hot_return(self, part):
        state = self.picture.positions[part.name]
        if state == "SHUT" and part.name not in self.hidden | self.asked_about:
            return ""
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            symbol = symbols.valve(x, y, state, flows=flows)
            return symbol + self._label(part, state, (x + 20, y - 11), "start")

        return self._set_by_state(part, drawn, (x - 18, y - 25, 116), (x + 20, y - 11), "start")

    def consumer(self, part):
        x, y = self.plan.places[part.name]

        def drawn(words):
            lines = fed_lines(words, symbols.BOX_WIDTH - 12)
            running = words.startswith("FED") or words == "RUN"
            stopped = words in ("STARVED", "FAIL", "STOPPED")
            alarm = ""
            if stopped and part.name not in self.hidden:
                alarm = alarm_of(self.aircraft, self.picture, part.name)
            return symbols.consumer(
                x, y, title_case(part.name), lines, running=running, stopped=stopped, alarm=alarm
            )

        left, top = x - symbols.BOX_WIDTH / 2 - 3, y - symbols.BOX_HEIGHT / 2 - 3
        size = (symbols.BOX_WIDTH + 6, symbols.BOX_HEIGHT + 6)
        if part.name in self.hidden:
            states = {s: drawn(s) for s in states_of(part)}
            states |= {tank: drawn(f"FED FROM {tank.upper()}") for tank in self._feeding_tanks()}
            return asked(part.name, (left, top, *size), states, drawn)
        state = self.picture.positions[part.name]
        words = state if part.name in self.unknown else fed_text(part, self.picture)
        at = (x + 10, y - symbols.BOX_HEIGHT / 2 - 5)
        drawing = self._group(part, drawn(words) + self._mark(part, at, "start"), state)
        states = [*states_of(part), *self._feeding_tanks()]
        return drawing + self._then(
            part, states, (left, top - 20, size[0], size[1] + 20), at, "start"
        )

    def overflow(self, part):
        state, points = self.picture.positions[part.name], self._over_the_rib(part)
        (x, y), to_right = points[1], points[-1][0] >= points[0][0]
        anchor = "start" if to_right else "end"
        area = (x - 5 if to_right else x - 147, y - 21, 152, 21)

        def words(state):
            return plate(x, y - 5, f"overflow {state}", size=14, bold=True, anchor=anchor)

        if part.name in self.hidden:
            return asked(part.name, area, {s: words(s) for s in states_of(part)}, words)
        mark = self._mark(part, (x, y - 24), anchor)
        then = self._then(part, states_of(part), area, (x, y - 5), anchor, "overflow, then")
        if state != "RUNNING":
            return mark + then
        arrow = polyline(points, stroke=FLOW, width=3)
        arrow += arrowheads(points[-2:], fill=FLOW, size=6)
        label = "" if then else plate(x, y - 5, "overflow", size=14, anchor=anchor)
        return self._group(part, arrow + label + mark, state) + then

    def filler(self, part):
        """A filler by hand: drawn while it is OPEN or asked about."""
        state = self.picture.positions[part.name]
        if state == "SHUT" and part.name not in self.hidden | self.asked_about:
            return ""
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            symbol = symbols.filler(x, y, state, flows=flows)
            return symbol + self._label(part, state, (x + 18, y - 4), "start")

        return self._set_by_state(part, drawn, (x - 14, y - 18, 116), (x + 18, y - 4), "start")

    def outlet(self, part):
        """An opening overboard: still, or what runs out of it."""
        x, y = self.plan.places[part.name]
        leading = [line for line in self.plan.lines if line.end == part.name]
        if any(line.name in self.unknown for line in leading):
            state, flow = "?", 0.0
        else:
            flow = sum(self.picture.flows.get(line.name, 0.0) for line in leading)
            state = "RUNNING" if flow > TRICKLE else "STILL"
        below = [] if state != "RUNNING" or self.picture.guarded else [flow_text(flow)]
        label = symbols.state_label(x - 16, y + 2, (), state, below, size=15, anchor="end")
        symbol = symbols.outlet(x, y, flows=state == "RUNNING")
        return self._group(part, symbol + label, state)

    def coupling(self):
        x, y = self.plan.places[self.aircraft.coupling]
        words = plate(x + 14, y - 14, self.aircraft.coupling, size=14, anchor="end")
        return element("g", symbols.coupling(x, y) + words, data_part=self.aircraft.coupling)

    # ------------------------------------------------------------------------ what they share
    def _set_by_state(self, part, drawn, corner, at, anchor):
        """A symbol with its label: as a question, or as it is, with what is asked about it.

        corner : left, top and width of the area that may be clicked
        at, anchor : where the label's first line begins
        """
        left, top, width = corner
        lines = self._lines(part)
        foot = (at[0], at[1] + _STEP * lines)
        height = foot[1] - top + 4.0
        states = states_of(part)
        if part.name in self.hidden:
            area = (left, top, width, height - 12)
            return asked(part.name, area, {s: drawn(s) for s in states}, drawn)
        state = self.picture.positions[part.name]
        two_lines = state == "LOW PRESS" or self.picture.failure_of(part.name, "stuck")
        label_foot = (foot[0], foot[1] + _STEP) if two_lines else foot
        drawing = drawn(state, self._flows(part)) + self._mark(part, label_foot, anchor)
        area = (left, top, width, label_foot[1] - top + 6)
        return self._group(part, drawing, state) + self._then(
            part, states, area, label_foot, anchor
        )

    def _label(self, part, state, at, anchor):
        """The words beside a symbol: short name, state, its switch or flow."""
        if getattr(part, "group", "feed") == "refuelling":
            return symbols.state_label(at[0], at[1] + 16, (), state, anchor=anchor)
        known = part.name not in self.hidden and state.startswith(("LOW PRESS", "FAIL", "STUCK"))
        alarm = alarm_of(self.aircraft, self.picture, part.name) if known else ""
        names, below = self._around_state(part)
        return symbols.state_label(*at, names, state, below, alarm=alarm, anchor=anchor)

    def _around_state(self, part):
        """The lines over and under a part's state: its short name; its switch or its flow."""
        if self.lettered:  # then nothing else that names a part stands beside it
            return [self.lettered.get(part.name, "")], []
        if isinstance(part, Return):
            is_open = part.name not in self.hidden and self._flows(part)
            return ["hot return"], [flow_text(part.flow)] if is_open else []
        if isinstance(part, Filler):
            is_open = part.name not in self.hidden and self._flows(part)
            return ["filler"], [flow_text(part.flow)] if is_open else []
        switch = own_switch(self.aircraft, part)
        room = 86 if isinstance(part, Pump) else 140
        below = wrapped(switch_words(part, switch, self.picture), room) if switch else []
        if part.bus and self.picture.positions[part.bus] == "DEAD":
            below = [*below, "no power"]
        elif part.name in self.picture.astray:
            below = [*below, "not as set"]
        return wrapped(short_name(self.aircraft, part), 70), below

    def _label_width(self, part):
        names, below = self._around_state(part)
        return max(map(text_width, [*names, *below, "then ?"]))

    def _lines(self, part):
        names, below = self._around_state(part)
        return len(names) + len(below) + 1

    def _mark(self, part, at, anchor):
        """What a learner said of a part, once it may be seen: right, or what it was."""
        said = self.predicted.get(part.name)
        if not said or part.name in self.hidden:
            return ""
        right = said.casefold() in answers_to(self.aircraft, self.picture, part.name)
        words = "✓ agrees" if right else f"✗ you: {said}"
        return plate(*at, words, size=14, bold=True, anchor=anchor, edge=IDLE if right else INK)

    def _then(self, part, states, area, at, anchor, lead="then"):
        """The mark in which the board writes what a learner expects of a part later on."""
        if part.name not in self.asked_about:
            return ""

        def words(state):
            return plate(*at, f"{lead} {state}", size=14, bold=True, anchor=anchor, edge=INK)

        return asked(part.name, area, {s: words(s) for s in states}, words)

    def _feeding_tanks(self):
        return [tank.name for tank in self.aircraft.tanks if tank.holds_fuel]

    def _over_the_rib(self, part):
        """Points of an overflow: up out of its tank, across, and down into the next."""
        start = self.plan.shapes[part.start]
        end = self.plan.shapes.get(part.end)
        outward = -1.0 if start.middle < 640.0 else 1.0
        target = end.middle if end else start.middle + outward * 1e4
        inset = 10 if start.right - start.left > 120.0 else 4
        x0 = start.right - inset if target > start.middle else start.left + inset
        if end is None:
            edge = start.left if outward < 0 else start.right
            x1, y1 = edge + outward * 9, start.bottom(start.inside(edge, 2)) + 24
        else:
            x1 = end.left + 7 if target > start.middle else end.right - 7
            y1 = end.top(end.inside(x1, 2)) + 14
        y0 = start.top(start.inside(x0, 2))
        high = min(y0, y1 - 14) - 12
        return [(x0, y0 + 6), (x0, high), (x1, high), (x1, y1)]

    def _flows(self, part):
        if isinstance(part, Return | Filler):
            return self.picture.positions[part.name] == "OPEN"
        known = part.name not in self.unknown
        return known and abs(self.picture.flows.get(part.name, 0.0)) > TRICKLE

    def _group(self, part, content, state=None):
        state = state or self.picture.positions.get(part.name)
        name = self.lettered.get(part.name, "part") if self.lettered else part.name
        return element("g", content, data_part=name, data_state=state)
