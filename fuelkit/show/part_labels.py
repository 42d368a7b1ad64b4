"""The words beside each symbol of the schematic, and where a mark may stand beside them."""

from fuelkit.aircraft.model import Filler, Pump, Return
from fuelkit.show import symbols
from fuelkit.show.mark_room import label_box, solid_boxes
from fuelkit.show.places import is_at_the_edge, is_mirrored, is_upright
from fuelkit.show.routes import TRICKLE
from fuelkit.show.svg import text_width, wrapped
from fuelkit.show.words import flow_text, own_switch, short_name, switch_words

_STEP = 18  # px between lines of a label
_BESIDE = ("check valve", "relief valve", "jet pump")  # with a short label beside their symbol


class PartLabels:
    """The labels of the parts of one drawing.

    Parameters
    ----------
    plan : Plan
    picture : View
    hidden : set of str
        What the learner has yet to predict.
    asked_about : set of str
        What is asked about a later moment.
    unknown : set of str
        All that hangs together with what is hidden.
    lettered : dict of str to str
        Letters in place of names, if there are any; then nothing else that names a part is told.
    """

    def __init__(self, plan, picture, hidden, asked_about, unknown, lettered):
        self.lettered = lettered
        self.plan, self.picture, self.aircraft = plan, picture, plan.aircraft
        self.hidden, self.asked_about, self.unknown = hidden, asked_about, unknown

    def foot(self, part):
        """Where a line would stand under the words beside a symbol. [px]"""
        (_, y), _ = self.at(part)
        return y + _STEP * (self.lines(part) + _refuels(part))

    def spots(self, part):
        """Where a mark may stand: under the words of its part, beside them, further down."""
        (x, top), anchor = self.at(part)
        row = top + 16 if _refuels(part) else top
        width, foot = self.width(part), self.foot(part)
        for step in (0.0, 19.0, 38.0):
            yield step, x, foot + step, anchor
        right, left = {
            "start": (x + width, x - 28), "end": (x + 28, x - width),
            "middle": (x + width / 2, x - width / 2),
        }[anchor]  # fmt: skip
        yield 16.0 + 8.0 * (anchor != "start"), right + 12, row, "start"
        yield 16.0 + 8.0 * (anchor == "start"), left - 12, row, "end"
        middle, level = self.plan.places[part.name]
        yield 24.0, middle - 28, level + 5, "end"
        yield 24.0, middle + 28, level + 5, "start"
        if _refuels(part):  # over the line that it hangs from
            yield 26.0, middle + (-12 if anchor == "end" else 12), level - 41, anchor

    def around_state(self, part):
        """The lines over and under a part's state: its short name; its switch or its flow."""
        if self.lettered:
            return [self.lettered.get(part.name, "")], []
        if isinstance(part, Return):
            is_open = part.name not in self.hidden and self.flows(part)
            return ["hot return"], [flow_text(part.flow)] if is_open else []
        if isinstance(part, Filler):
            is_open = part.name not in self.hidden and self.flows(part)
            return ["filler"], [flow_text(part.flow)] if is_open else []
        switch = own_switch(self.aircraft, part)
        room = 86 if isinstance(part, Pump) else 140
        below = wrapped(switch_words(part, switch, self.picture), room) if switch else []
        if part.bus and self.picture.positions[part.bus] == "DEAD":
            below = [*below, "no power"]
        elif part.name in self.picture.astray:
            below = [*below, "not as set"]
        return wrapped(short_name(self.aircraft, part), 70), below

    def width(self, part):
        """About how wide the words beside a symbol are. [px]"""
        if _refuels(part):
            return text_width(self._state(part), bold=True)
        if _kind(part) in _BESIDE:
            names = wrapped(short_name(self.aircraft, part), 70)
            return max(text_width(words, size=15) for words in names)
        names, below = self.around_state(part)
        return max(map(text_width, [*names, *below, "OPEN"]))

    def lines(self, part):
        """How many lines stand beside a symbol."""
        stuck = bool(self.picture.failure_of(part.name, "stuck"))
        if _refuels(part):
            return 1 + stuck
        if _kind(part) in _BESIDE:
            no_suction = _kind(part) == "jet pump"  # may be written, on two lines
            return len(wrapped(short_name(self.aircraft, part), 70)) + 1 + no_suction
        names, below = self.around_state(part)
        return len(names) + len(below) + 1 + (self._state(part) == "LOW PRESS" or stuck)

    def _state(self, part):
        """The state that is written; while it is hidden one that tells nothing."""
        return "HALF OPEN" if part.name in self.hidden else self.picture.positions[part.name]

    def boxes(self):
        """Yield what symbols and their words cover, so that marks stand clear of them. [px]"""
        yield from solid_boxes()
        yield from self._refuelling_line()
        for part in (*self.plan.parts, *self.aircraft.returns, *self.aircraft.fillers):
            if _kind(part) == "pipe" or not self._is_drawn(part):
                continue
            x, y = self.plan.places[part.name]
            yield x - 17.0, y - 17.0, x + 17.0, y + 17.0
            at, anchor = self.at(part)
            if _refuels(part):
                at = at[0], at[1] + 16
            yield label_box(at, anchor, self.width(part), self.lines(part))
        for part in self.aircraft.consumers:
            x, y = self.plan.places[part.name]
            half, tall = symbols.BOX_WIDTH / 2, symbols.BOX_HEIGHT / 2
            yield x - half, y - tall, x + half, y + tall

    def _refuelling_line(self):
        """The line to the coupling with its name, as rectangles, if it is drawn."""
        lines = [n for n in self.plan.lines if self.aircraft.coupling in (n.start, n.end)]
        if lines:
            x, y = self.plan.places[self.aircraft.coupling]
            if is_at_the_edge(x):
                yield x - 32.0, y - 10.0, x + 32.0, y + 46.0
            else:
                yield x - 110.0, y - 28.0, x + 18.0, y + 10.0
            near = [self.plan.places[n.name] for n in self.plan.lines if _refuels(n)]
            left = min([at[0] for at in near if abs(at[1] - y) < 40.0], default=x)
            yield min(left, x), y - 5.0, x, y + 5.0

    def _is_drawn(self, part):
        if not isinstance(part, Return | Filler):
            return True
        return self.picture.positions[part.name] != "SHUT" or part.name in (
            self.hidden | self.asked_about
        )

    def at(self, part):
        """Where the words beside a symbol begin, and their anchor."""
        x, y = self.plan.places[part.name]
        if isinstance(part, Filler):
            return (x + 18, y - 12), "start"
        if _kind(part) in _BESIDE:
            return (x + 15, y - 3), "start"
        if _kind(part) == "valve" and not is_upright(part, self.plan):
            if not _refuels(part):
                return (x, y + 31), "middle"
            return ((x, y - 30), "middle") if is_at_the_edge(x) else ((x + 27, y + 14), "start")
        if is_mirrored(part, self.plan):
            return (x - 20, y - 11), "end"
        return (x + 20, y - 11), "start"

    def flows(self, part):
        """Whether fuel is known to run through a part now."""
        if isinstance(part, Return | Filler):
            return self.picture.positions[part.name] == "OPEN"
        known = part.name not in self.unknown
        return known and abs(self.picture.flows.get(part.name, 0.0)) > TRICKLE


def _kind(part):
    return getattr(part, "kind", "")


def _refuels(part):
    return getattr(part, "group", "feed") == "refuelling"
