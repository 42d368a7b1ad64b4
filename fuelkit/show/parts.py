"""The upper layer of the schematic: pumps, valves, engines, hot returns, overflows, with words."""

from fuelkit.aircraft.model import Consumer, Pump, Return, states_of
from fuelkit.show import symbols
from fuelkit.show.palette import FLOW, IDLE, INK
from fuelkit.show.places import is_upright, parts_of_network
from fuelkit.show.routes import TRICKLE
from fuelkit.show.svg import arrowheads, element, plate, polyline, wrapped
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

_QUESTION = symbols.QUESTION


def parts_drawn(plan, picture, predicted, hidden):
    """Return every symbol of the drawing with its words."""
    artist = _Artist(plan, picture, predicted, hidden)
    aircraft = plan.aircraft
    drawn = [artist.pump(part) for part in aircraft.pumps]
    drawn += [artist.line(part) for part in plan.lines if part.kind != "pipe"]
    drawn += [artist.consumer(part) for part in aircraft.consumers]
    drawn += [artist.hot_return(part) for part in aircraft.returns]
    drawn += [artist.overflow(part) for part in aircraft.overflows]
    if any(aircraft.coupling in (line.start, line.end) for line in plan.lines):
        drawn.append(artist.coupling())
    return "".join(drawn)


class _Artist:
    def __init__(self, plan, picture, predicted, hidden):
        self.plan, self.picture, self.predicted = plan, picture, predicted
        self.aircraft, self.hidden = plan.aircraft, set(hidden)
        self.unknown = parts_of_network(plan.aircraft, hidden)

    # ------------------------------------------------------------------------------ the parts
    def pump(self, part):
        x, y = self.plan.places[part.name]
        label = (x + 20, y - 11)

        def drawn(state, delivers=False):
            return symbols.pump(x, y, state, delivers=delivers) + self._words(part, state, label)

        if part.name in self.hidden:
            return self._asked(part, (x - 20, y - 25), (107, self._label_height(part) + 16), drawn)
        flows = self._flows(part)
        return self._group(part, drawn(self.picture.positions[part.name], flows))

    def line(self, part):
        if part.kind == "valve":
            return self._valve(part)
        x, y = self.plan.places[part.name]
        known = part.name not in self.unknown
        flows = known and self._flows(part)
        state = line_state(part, self.picture) if known else ""
        symbol = symbols.check_valve(x, y, sprung=part.kind == "relief valve", flows=flows)
        names = wrapped(short_name(self.aircraft, part), 70)
        return self._group(part, symbol + symbols.state_label(x + 17, y - 3, names, state), state)

    def _valve(self, part):
        x, y = self.plan.places[part.name]
        upright = is_upright(part, self.plan)
        label, anchor = ((x + 20, y - 11), "start") if upright else ((x, y + 31), "middle")

        def drawn(state, flows=False):
            symbol = symbols.valve(x, y, state, upright=upright, flows=flows)
            return symbol + self._words(part, state, label, anchor)

        if part.name in self.hidden:
            height = self._label_height(part)
            if upright:
                return self._asked(part, (x - 18, y - 25), (138, height + 16), drawn)
            return self._asked(part, (x - 42, y - 18), (84, height + 36), drawn)
        flows = part.name not in self.unknown and self._flows(part)
        return self._group(part, drawn(self.picture.positions[part.name], flows))

    def consumer(self, part):
        x, y = self.plan.places[part.name]

        def drawn(words):
            lines = fed_lines(words, symbols.BOX_WIDTH - 12)
            running = words.startswith("FED") or words == "RUN"
            return symbols.consumer(x, y, title_case(part.name), lines, running=running)

        if part.name in self.hidden:
            tanks = [tank for tank in self.aircraft.tanks if tank.holds_fuel]
            states = {s: drawn(s) for s in states_of(part)}
            states |= {tank.name: drawn(f"FED FROM {tank.name.upper()}") for tank in tanks}
            size = (symbols.BOX_WIDTH + 6, symbols.BOX_HEIGHT + 6)
            return asked(part.name, (x, y), size, states, drawn)
        state = self.picture.positions[part.name]
        words = state if part.name in self.unknown else fed_text(part, self.picture)
        mark = self._mark(part, (x + 10, y - symbols.BOX_HEIGHT / 2 - 5), "start")
        return self._group(part, drawn(words) + mark, state)

    def hot_return(self, part):
        state = self.picture.positions[part.name]
        if part.name not in self.hidden and state == "SHUT":
            return ""
        x, y = self.plan.places[part.name]
        label = (x + 20, y - 11)

        def drawn(state, flows=False):
            below = (flow_text(part.flow),) if flows else ()
            return symbols.valve(x, y, state, flows=flows) + symbols.state_label(
                *label, wrapped("hot return", 70), state, below
            ) + self._mark(part, (x + 20, y + 45), "start")

        if part.name in self.hidden:
            return self._asked(part, (x - 18, y - 25), (114, 48), drawn)
        return self._group(part, drawn(state, flows=True))

    def overflow(self, part):
        state = self.picture.positions[part.name]
        points = self._over_the_rib(part)
        (x, y) = points[1]
        if part.name in self.hidden:
            return asked(
                part.name, (x, y - 6), (110, 30),
                {s: plate(x, y, f"overflow {s}", size=14, bold=True) for s in states_of(part)},
                lambda word: plate(x, y, f"overflow {word}", size=14, bold=True),
            )  # fmt: skip
        if state != "RUNNING":
            return ""
        arrow = polyline(points, stroke=FLOW, width=3) + arrowheads(
            points[-2:], fill=FLOW, size=6
        )
        to_right = points[-1][0] >= points[0][0]
        words = plate(x, y - 5, "overflow", size=14, anchor="start" if to_right else "end")
        return self._group(part, arrow + words, state)

    def coupling(self):
        x, y = self.plan.places[self.aircraft.coupling]
        words = plate(x + 14, y - 14, self.aircraft.coupling, size=14, anchor="end")
        return element("g", symbols.coupling(x, y) + words, data_part=self.aircraft.coupling)

    # ------------------------------------------------------------------------- what they share
    def _over_the_rib(self, part):
        """Points of an overflow: up out of its tank, across, and down into the next."""
        start = self.plan.shapes[part.start]
        end = self.plan.shapes.get(part.end)
        outward = -1.0 if start.middle < 640.0 else 1.0
        target = end.middle if end else start.middle + outward * 1e4
        x0 = start.right - 10 if target > start.middle else start.left + 10
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
        return part.name not in self.unknown and abs(self.picture.flows.get(part.name, 0)) > TRICKLE

    def _words(self, part, state, at, anchor="start"):
        """The label of a part: short name, state, its switch, and the mark of a prediction."""
        if getattr(part, "group", "feed") == "refuelling":
            return symbols.state_label(at[0], at[1] + 16, (), state, anchor=anchor)
        known = part.name not in self.hidden and state == "LOW PRESS"
        alarm = alarm_of(self.aircraft, self.picture, part.name) if known else ""
        names, below = self._around_state(part)
        label = symbols.state_label(*at, names, state, below, alarm=alarm, anchor=anchor)
        lines = len(names) + len(below) + (len(state.split()) if alarm else 1)
        return label + self._mark(part, (at[0], at[1] + 17 * lines), anchor)

    def _around_state(self, part):
        """The lines over and under a part's state: its short name, its switch."""
        switch = own_switch(self.aircraft, part)
        room = 74 if isinstance(part, Pump) else 118
        below = wrapped(switch_words(part, switch, self.picture), room) if switch else []
        return wrapped(short_name(self.aircraft, part), 70), below

    def _label_height(self, part):
        names, below = self._around_state(part)
        return 17 * (len(names) + len(below) + 1)

    def _mark(self, part, at, anchor):
        """What a learner said of a part, once it may be seen: right, or what it was."""
        said = self.predicted.get(part.name)
        if not said or part.name in self.hidden:
            return ""
        right = said.casefold() in answers_to(self.aircraft, self.picture, part.name)
        words = "✓ right" if right else f"✗ you: {said}"
        return plate(*at, words, size=13, bold=True, anchor=anchor, edge=IDLE if right else INK)

    def _asked(self, part, corner, size, drawn):
        middle = (corner[0] + size[0] / 2, corner[1] + size[1] / 2)
        return asked(part.name, middle, size, {s: drawn(s) for s in states_of(part)}, drawn)

    def _group(self, part, content, state=None):
        state = state or self.picture.positions.get(part.name)
        return element("g", content, data_part=part.name, data_state=state)
