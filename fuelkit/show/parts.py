"""The upper layer of the schematic: pumps, valves, engines, hot returns, overflows, with words."""

from fuelkit.aircraft.model import Consumer, Pump, states_of
from fuelkit.show import symbols
from fuelkit.show.layers import title_boxes
from fuelkit.show.mark_room import MARK_SIZE, mark_spot
from fuelkit.show.palette import FLOW, IDLE, INK
from fuelkit.show.part_labels import PartLabels
from fuelkit.show.places import is_at_the_edge, is_mirrored, is_upright, parts_of_network
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
    short_name,
    title_case,
)


def parts_drawn(plan, picture, predicted, asked_about, hidden, room, lettered):
    """Return every symbol of the drawing with its words; marks take what room is left."""
    artist = _Artist(plan, picture, predicted, asked_about, hidden, room, lettered)
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
    def __init__(self, plan, picture, predicted, asked_about, hidden, room, lettered):
        self.lettered = lettered
        self.plan, self.picture, self.predicted, self.room = plan, picture, predicted, room
        self.aircraft, self.hidden = plan.aircraft, set(hidden)
        self.asked_about = set(asked_about) - self.hidden
        self.unknown = parts_of_network(plan.aircraft, hidden)
        self.labels = PartLabels(
            plan, picture, self.hidden, self.asked_about, self.unknown, lettered
        )
        for box in self.labels.boxes():
            room.take(box)

    # ------------------------------------------------------------------------------ the parts
    def pump(self, part):
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            return symbols.pump(x, y, state, delivers=flows) + self._label(part, state)

        return self._set_by_state(part, drawn, (x - 19, y - 25, 107))

    def line(self, part):
        if part.kind == "valve":
            return self._valve(part)
        x, y = self.plan.places[part.name]
        known = part.name not in self.unknown
        flows = known and self.labels.flows(part)
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
        stuck = self.picture.failure_of(part.name, "stuck")

        def drawn(state, flows=False):
            is_stuck = bool(stuck) and part.name not in self.hidden
            symbol = symbols.valve(x, y, state, upright=upright, flows=flows, stuck=is_stuck)
            words = f"STUCK {state}" if is_stuck else state
            return symbol + self._label(part, words)

        width = 42 + max(self.labels.width(part), text_width("then ?"))
        left = x + 18 - width if is_mirrored(part, self.plan) else x - 18
        corner = (left, y - 25, width) if upright else (x - 44, y - 18, 88)
        return self._set_by_state(part, drawn, corner)

    def hot_return(self, part):
        state = self.picture.positions[part.name]
        if state == "SHUT" and part.name not in self.hidden | self.asked_about:
            return ""
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            return symbols.valve(x, y, state, flows=flows) + self._label(part, state)

        return self._set_by_state(part, drawn, (x - 18, y - 25, 116))

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
        foot = y - symbols.BOX_HEIGHT / 2 - 5
        spots = [
            (0, x + 10, foot, "start"),
            (12, x - 10, foot, "end"),
            (19, x + 10, foot - 19, "start"),
        ]
        drawing = self._group(part, drawn(words) + self._mark(part, spots), state)
        states = [*states_of(part), *self._feeding_tanks()]
        area = (left, top - 20, size[0], size[1] + 20)
        return drawing + self._then(part, states, area, spots)

    def overflow(self, part):
        state, points = self.picture.positions[part.name], self._over_the_rib(part)
        over = list(_over(points, self.plan.shapes[part.start]))
        if part.name in self.hidden:
            forms = [[f"overflow {s}"] for s in states_of(part)]
            at, anchor, box, _ = mark_spot(self.room, [forms], over)

            def words(state):
                return plate(*at, f"overflow {state}", size=MARK_SIZE, bold=True, anchor=anchor)

            return asked(part.name, _area(box), {s: words(s) for s in states_of(part)}, words)
        then = self._then(part, states_of(part), None, over, "overflow, then")
        if state != "RUNNING":
            return self._mark(part, over) + then
        arrow = polyline(points, stroke=FLOW, width=3)
        arrow += arrowheads(points[-2:], fill=FLOW, size=6)
        label = "" if then else self._overflow_label(over)
        return self._group(part, arrow + label + self._mark(part, over), state) + then

    def _overflow_label(self, spots):
        at, anchor, *_ = mark_spot(self.room, [[["overflow"]]], spots)
        return plate(*at, "overflow", size=MARK_SIZE, anchor=anchor)

    def filler(self, part):
        """A filler by hand: drawn while it is OPEN or asked about."""
        state = self.picture.positions[part.name]
        if state == "SHUT" and part.name not in self.hidden | self.asked_about:
            return ""
        x, y = self.plan.places[part.name]

        def drawn(state, flows=False):
            return symbols.filler(x, y, state, flows=flows) + self._label(part, state)

        return self._set_by_state(part, drawn, (x - 14, y - 26, 116))

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
        if is_at_the_edge(x):
            words = plate(x, y + 24, self.aircraft.coupling.split(), size=14)
        return element("g", symbols.coupling(x, y) + words, data_part=self.aircraft.coupling)

    # ------------------------------------------------------------------------ what they share
    def _set_by_state(self, part, drawn, corner):
        """A symbol with its label: as a question, or as it is, with what is asked about it.

        corner : left, top and width of the area that may be clicked
        """
        left, top, width = corner
        states, foot = states_of(part), self.labels.foot(part)
        if part.name in self.hidden:
            area = (left, top, width, foot - top - 8)
            return asked(part.name, area, {s: drawn(s) for s in states}, drawn)
        state = self.picture.positions[part.name]
        spots = list(self.labels.spots(part))
        drawing = drawn(state, self.labels.flows(part)) + self._mark(part, spots)
        area = (left, top, width, foot - top - 12)
        return self._group(part, drawing, state) + self._then(part, states, area, spots)

    def _label(self, part, state):
        """The words beside a symbol: short name, state, its switch or flow."""
        at, anchor = self.labels.at(part)
        if getattr(part, "group", "feed") == "refuelling":
            return symbols.state_label(at[0], at[1] + 16, (), state, anchor=anchor)
        known = part.name not in self.hidden and state.startswith(("LOW PRESS", "FAIL", "STUCK"))
        alarm = alarm_of(self.aircraft, self.picture, part.name) if known else ""
        names, below = self.labels.around_state(part)
        return symbols.state_label(*at, names, state, below, alarm=alarm, anchor=anchor)

    def _mark(self, part, spots):
        """What a learner said of a part, once it may be seen: right, or what it was."""
        said = self.predicted.get(part.name)
        if not said or part.name in self.hidden:
            return ""
        right = said.casefold() in answers_to(self.aircraft, self.picture, part.name)
        ways = _ways(part, "✓ agrees" if right else f"✗ you: {said}")
        at, anchor, _, way = mark_spot(self.room, [[lines] for lines in ways], spots)
        edge = IDLE if right else INK
        return plate(*at, ways[way], size=MARK_SIZE, bold=True, anchor=anchor, edge=edge)

    def _then(self, part, states, area, spots, lead="then"):
        """The mark in which the board writes what a learner expects of a part later on.

        area : what may be clicked beside the mark, if there is more
        """
        if part.name not in self.asked_about:
            return ""
        said = [f"{lead} {state}" for state in (*states, "?")]
        said += [f"{lead} more than one tank"] * isinstance(part, Consumer)
        choices = zip(*(_ways(part, words) for words in said), strict=True)
        at, anchor, box, way = mark_spot(self.room, list(choices), spots)

        def words(state):
            lines = _ways(part, f"{lead} {state}")[way]
            return plate(*at, lines, size=MARK_SIZE, bold=True, anchor=anchor, edge=INK)

        area = area if isinstance(part, Consumer) else _area(box, area)
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
        high = self._over_titles((x0, x1), min(y0, y1 - 14) - 12)
        return [(x0, y0 + 6), (x0, high), (x1, high), (x1, y1)]

    def _over_titles(self, ends, y):
        """Where a level line runs between two x: over the titles that it would cross. [px]"""
        for left, top, right, foot in title_boxes(self.plan):
            if left < max(ends) and right > min(ends) and top - 4.0 < y < foot:
                y = top - 4.0
        return y

    def _group(self, part, content, state=None):
        state = state or self.picture.positions.get(part.name)
        name = self.lettered.get(part.name, "part") if self.lettered else part.name
        return element("g", content, data_part=name, data_state=state)


def _over(points, shape):
    """Where words on an overflow may stand: over it, to either side, or under its tank."""
    (x, y), to_right = points[1], points[-1][0] >= points[0][0]
    for step in (0.0, 16.0, 32.0, 48.0):
        yield step, x, y - 5 - step, "start" if to_right else "end"
        yield step + 8.0, x, y - 5 - step, "end" if to_right else "start"
        yield step + 12.0, x, shape.bottom(shape.inside(x, 2)) + 20.0 + step, "middle"


def _ways(part, words):
    """The lines of a mark, two ways: at a pump, which has another beside it, short ones first."""
    if isinstance(part, Pump):
        return wrapped(words, 84, size=MARK_SIZE, bold=True), [words]
    return [words], wrapped(words, 112, size=MARK_SIZE, bold=True)


def _area(box, also=None):
    """Left, top, width and height of what may be clicked: a mark and what it stands beside."""
    left, top, right, low = box
    if also:
        left, top = min(left, also[0]), min(top, also[1])
        right, low = max(right, also[0] + also[2]), max(low, also[1] + also[3])
    return left, top - 1.0, right - left, low - top + 2.0
