"""The lines of a drawing: where each runs, which way fuel flows in it, and under what pressure.

A junction is drawn as a level bar. Each part joins it straight up or down at its own x, and what
flows in each piece of the bar follows from what comes in and goes out beside it.
"""

from dataclasses import dataclass
from itertools import pairwise

from fuelkit.show.places import parts_of_network
from fuelkit.show.symbols import BOX_HEIGHT, BOX_WIDTH

TRICKLE = 1.0 / 3600.0  # kg/s; a flow below it is drawn as none
_PRESSED_SHARE = 0.25  # of the weakest pump's rise: more than any head of fuel in a tank

FLOWING, PRESSED, EMPTY, UNKNOWN = "flow", "pressure", "none", "unknown"


@dataclass(frozen=True)
class Run:
    """A stretch of line. Frozen.

    points : tuple of (float, float)
        In the direction of flow, if there is any. [px]
    state : str
        FLOWING, PRESSED (pressure without flow), EMPTY, or UNKNOWN while a learner predicts.
    hot : bool
        Whether it is a hot return.
    """

    points: tuple
    state: str
    hot: bool = False


@dataclass(frozen=True)
class Joint:
    """A place where three lines or more join. Frozen."""

    at: tuple
    state: str


def routes(plan, picture, hidden=()):
    """Return the runs and the joints of a drawing.

    Parameters
    ----------
    plan : Plan
    picture : Picture
    hidden : tuple of str
        Components that a learner has yet to predict: every line that hangs together with one of
        them is UNKNOWN, since its flow would tell.

    Returns
    -------
    tuple of Run, tuple of Joint
    """
    return _Router(plan, picture, hidden).lines()


class _Router:
    def __init__(self, plan, picture, hidden):
        self.plan, self.picture = plan, picture
        self.hidden = frozenset(hidden)
        self.unknown = parts_of_network(plan.aircraft, hidden)
        self.unknown |= {f.name for f in plan.aircraft.fillers if f.name in self.hidden}
        rises = [pump.rise for pump in plan.aircraft.pumps]
        self.threshold = _PRESSED_SHARE * min(rises, default=0.0)
        self.runs, self.taps = [], {}

    def lines(self):
        for part in self.plan.parts:
            flow = self.picture.flows.get(part.name, 0.0)
            self._end(part, part.start, flow, towards_part=True)
            self._end(part, part.end, flow, towards_part=False)
            if part in self.plan.jet_pumps:
                self._suction(part, flow)
        for consumer in self.plan.aircraft.consumers:
            self._consumer(consumer)
        self._coupling()
        self._overboard()
        joints = [joint for junction in self.taps for joint in self._bar(junction)]
        for back in self.plan.aircraft.returns:
            self._return(back)
        for filler in self.plan.aircraft.fillers:
            self._filler(filler)
        return tuple(self.runs), tuple(joints)

    # ----------------------------------------------------------------- from a part to its ends
    def _end(self, part, node, flow, *, towards_part):
        """Add the run between a part and one of its ends; `flow` is from start to end."""
        x, y = self.plan.places[part.name]
        if self.plan.is_tank(node):
            points, pressed = self._to_tank(part, node), False
        else:
            node_y = self.plan.places[node][1]
            points, pressed = ((x, node_y), (x, y)), self._pressed(node)
            into_node = -flow if towards_part else flow
            self._tap(node, x, into_node, part.name)
        if not towards_part:
            points = points[::-1]
        self._add(points, flow, pressed, part.name)

    def _suction(self, jet, flow):
        """What a jet pump sucks in, from the tank straight down or up to its side."""
        draws = flow > TRICKLE and self.picture.positions[f"{jet.name} suction"] == "WET"
        points = suction_points(self.plan, jet)
        self._add(points, flow * jet.flow_ratio if draws else 0.0, False, jet.name)

    def _to_tank(self, part, node):
        shape, (x, y) = self.plan.shapes[node], self.plan.places[part.name]
        turn = self.plan.turn_at(part, shape)
        wall = shape.top(turn) + 3.0 if y < shape.top(turn) else shape.bottom(turn)
        return ((turn, wall), (turn, y), (x, y)) if turn != x else ((x, wall), (x, y))

    def _tap(self, node, x, inflow, name):
        self.taps.setdefault(node, []).append((x, inflow, name))

    def _consumer(self, consumer):
        """A consumer takes what all the others bring to its junction."""
        x, y = self.plan.places[consumer.name]
        node_y = self.plan.places[consumer.start][1]
        drawn = sum(inflow for _, inflow, _ in self.taps.get(consumer.start, ()))
        self._tap(consumer.start, x, -drawn, consumer.name)
        box = y - BOX_HEIGHT / 2 if node_y < y else y + BOX_HEIGHT / 2
        self._add(((x, node_y), (x, box)), drawn, self._pressed(consumer.start), consumer.name)

    def _coupling(self):
        """What goes into the refuelling lines comes in at the coupling."""
        node = self.plan.aircraft.coupling
        if node in self.taps:
            drawn = sum(inflow for _, inflow, _ in self.taps[node])
            self._tap(node, self.plan.places[node][0], -drawn, self.taps[node][0][2])

    def _overboard(self):
        """What comes to an opening overboard goes out there."""
        for outlet in self.plan.outlets:
            taps = self.taps[outlet.name]
            drawn = sum(inflow for _, inflow, _ in taps)
            self._tap(outlet.name, self.plan.places[outlet.name][0], -drawn, taps[0][2])

    def _return(self, back):
        state = self.picture.positions.get(back.name, "SHUT")
        unknown = back.name in self.hidden
        if state == "SHUT" and not unknown:
            return
        x, _ = self.plan.places[back.name]
        shape = self.plan.shapes[back.end]
        turn = shape.inside(x, 0.0)
        points = [self._return_start(back, x), (x, self._return_start(back, x)[1])]
        points += [(x, shape.bottom(turn))] if turn == x else [(x, shape.y(0)), (turn, shape.y(0))]
        self.runs.append(Run(tuple(points), UNKNOWN if unknown else FLOWING, hot=True))

    def _filler(self, filler):
        """What is filled in by hand, straight down through the top of its tank."""
        state = self.picture.positions.get(filler.name, "SHUT")
        if filler.name in self.hidden or state == "OPEN":
            x, y = self.plan.places[filler.name]
            shape = self.plan.shapes[filler.end]
            turn = shape.inside(x)
            points = ((x, y), (x, y + 14.0), (turn, y + 14.0), (turn, shape.top(turn) + 10.0))
            self._add(points, filler.flow, False, filler.name)

    def _return_start(self, back, x):
        consumer = self.plan.consumer_at(back.start)
        if consumer is None:
            return self.plan.places[back.start]
        cx, cy = self.plan.places[consumer.name]
        return (cx - BOX_WIDTH / 2 if x < cx else cx + BOX_WIDTH / 2), cy

    # ------------------------------------------------------------------------ along a junction
    def _bar(self, junction):
        """Add the pieces of a junction's bar with what flows in each; yield its joints."""
        x, y = self.plan.places[junction]
        lost = sum(inflow for _, inflow, _ in self.taps[junction])
        known = self.taps[junction][0][2] not in self.unknown
        if known and lost > TRICKLE:  # a leak, or a return that begins here: it leaves here
            self._tap(junction, x, -lost, self.taps[junction][0][2])
        inflows, names = {}, {}
        for x, inflow, name in self.taps[junction]:
            inflows[x] = inflows.get(x, 0.0) + inflow
            names.setdefault(x, []).append(name)
        pressed, net, states = self._pressed(junction), 0.0, {}
        for left, right in pairwise(sorted(inflows)):
            net += inflows[left]
            ends = ((left, y), (right, y)) if net >= 0.0 else ((right, y), (left, y))
            state = self._add(ends, abs(net), pressed, self.taps[junction][0][2])
            for x in (left, right):
                states.setdefault(x, []).append(state)
        for x, around in states.items():
            if len(around) + len(names[x]) > 2:
                yield Joint((x, y), _joint_state(around, pressed))

    def _pressed(self, node):
        return self.picture.pressures.get(node, 0.0) > self.threshold

    def _add(self, points, flow, pressed, name):
        if flow < 0.0:
            points, flow = points[::-1], -flow
        state = FLOWING if flow > TRICKLE else (PRESSED if pressed else EMPTY)
        if name in self.unknown:
            state, points = UNKNOWN, min(points, points[::-1])  # the order of points would tell
        points = tuple(p for i, p in enumerate(points) if i == 0 or p != points[i - 1])
        if len(points) > 1:
            self.runs.append(Run(points, state))
        return state


def suction_points(plan, jet):
    """Return the way of what a jet pump sucks in, from its tank to its symbol. [px]

    Where its outlet leads the same way, beside it.
    """
    shape, (x, y) = plan.shapes[jet.suction], plan.places[jet.name]
    turn = x if shape.left + 4.0 <= x <= shape.right - 4.0 else shape.inside(x)
    if plan.is_tank(jet.end) and abs(plan.turn_at(jet, plan.shapes[jet.end]) - turn) < 12.0:
        turn = shape.inside(turn - 16.0)
    above = y < shape.top(turn)
    wall = shape.top(turn) + 3.0 if above else shape.bottom(turn)
    return ((turn, wall), (turn, y), (x, y)) if turn != x else ((x, wall), (x, y))


def _joint_state(around, pressed):
    if UNKNOWN in around:
        return UNKNOWN
    return FLOWING if FLOWING in around else (PRESSED if pressed else EMPTY)
