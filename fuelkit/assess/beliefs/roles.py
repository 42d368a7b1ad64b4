"""What the parts of an aircraft are there for, found from kinds and lines and never from names.

Only high-lift surfaces are known by their name, as everywhere in the kit: no rule need ask for
them, and no line leads to them.
"""

from functools import lru_cache

from fuelkit.aircraft import model
from fuelkit.survey.crew_switches import crew_switches, switches_for
from fuelkit.survey.supply import Links

LEFT, RIGHT = -1.0, 1.0


class Roles:
    """Groups of parts of one aircraft, each a tuple of parts in the order of the file."""

    def __init__(self, aircraft):
        self.aircraft = aircraft
        self.tanks = {tank.name: tank for tank in aircraft.tanks}
        self._tank_sides = {
            t.name: float(s) for t, s in zip(aircraft.tanks, aircraft.sides, strict=True)
        }
        self._links = Links(aircraft)
        self._junctions = {j.name: j for j in aircraft.junctions}
        self.high_lift = frozenset(crew_switches(aircraft).high_lift)
        self.automatic = frozenset(s.name for s in aircraft.switches if "auto" in s.positions)
        self.crossfeeds = tuple(v for v in self._feed_valves() if self._joins_engines(v))
        self.groups = self._groups()

    def _groups(self):
        craft = self.aircraft
        engines = tuple(c for c in craft.consumers if c.kind == "engine")
        filling = self._filling()
        return {
            "pump": craft.pumps,
            "override pump": tuple(p for p in craft.pumps if p.kind == "override"),
            "boost pump": tuple(p for p in craft.pumps if p.kind == "boost"),
            "valve": craft.valves,
            "crossfeed": self.crossfeeds,
            "gravity transfer valve": tuple(
                v for v in self._feed_valves() if v.start in self.tanks and v.end in self.tanks
            ),
            "transfer valve": tuple(v for v in self._feed_valves() if v.end in self.tanks),
            "refuelling valve": filling,
            "return": craft.returns,
            "engine": engines,
            "consumer": craft.consumers,
        }

    def names(self, role):
        """Return the names of the parts of a role."""
        return frozenset(part.name for part in self.groups[role])

    def _feed_valves(self):
        return tuple(v for v in self.aircraft.valves if v.group != "refuelling")

    # ---------------------------------------------------------------------------------- lines
    def _filling(self):
        """The fillers, and the valves through which the coupling alone fills a tank."""
        craft, reached = self.aircraft, set()
        reached |= {craft.coupling} if craft.coupling else set()
        for _ in craft.lines:
            reached |= {
                x.end for x in craft.lines if x.start in reached and x.end not in self.tanks
            }
        valves = [v for v in craft.valves if v.start in reached and v.end in self.tanks]
        return (*valves, *craft.fillers)

    def _joins_engines(self, valve):
        """Whether a valve joins lines that without it have sources and engines of their own."""
        ends = {valve.start, valve.end}
        lost = frozenset([valve.name])
        if ends & set(self.tanks) or not all(self._links.sources_of(n, lost) for n in ends):
            return False
        one, other = (self._engines_from(node, valve) for node in (valve.start, valve.end))
        return bool(one) and bool(other) and not one & other

    def _engines_from(self, node, without):
        reached, waiting = {node}, [node]
        while waiting:
            here = waiting.pop()
            for line in self.aircraft.lines:
                if line is without or line.group == "refuelling":
                    continue
                ways = [(line.start, line.end)]
                ways += [] if line.one_way else [(line.end, line.start)]
                for start, end in ways:
                    if start == here and end not in reached and end not in self.tanks:
                        reached.add(end)
                        waiting.append(end)
        engines = (c for c in self.aircraft.consumers if c.kind == "engine")
        return {c.name for c in engines if c.start in reached}

    def feeding_pumps(self):
        """Return the names of the pumps that reach an engine without crossing a tank."""
        links = self._links
        engines = (c for c in self.aircraft.consumers if c.kind == "engine")
        return frozenset(s.part for c in engines for s in links.sources_of(c.start) if s.pumped)

    def gravity_feeds(self):
        """Return the names of the lines by which an engine can draw from a tank without a pump.

        Motor valves are not among them: they have states that rules and learners ask for.
        """
        links = self._links
        sources = (s for c in self.aircraft.consumers for s in links.sources_of(c.start))
        motor = {valve.name for valve in self.aircraft.valves}
        return frozenset(s.part for s in sources if not s.pumped) - motor

    # ---------------------------------------------------------------------------------- sides
    def side(self, part):
        """Return -1 for a part of the left, 1 of the right, 0 of neither or both.

        By the tank it stands in or opens into; else by the junction it leads to.
        """
        ends = [getattr(part, name, "") for name in ("tank", "start", "end")]
        if isinstance(part, model.Tank):
            ends = [part.name]
        sides = {self._tank_sides[n] for n in ends if n in self.tanks}
        if not sides:
            places = (self._junctions[n].position[1] for n in ends if n in self._junctions)
            sides = {LEFT if y < 0.0 else RIGHT if y > 0.0 else 0.0 for y in places}
        return sides.pop() if len(sides) == 1 else 0.0

    def main_tank(self, side):
        """Return the largest fuel tank of a side, or None."""
        own = [t for t in self.aircraft.tanks if t.holds_fuel and self._tank_sides[t.name] == side]
        return max(own, key=lambda t: t.levels.capacity, default=None)

    def feed_tank(self, side):
        """Return the tank of a side with boost pumps that feed an engine, or None."""
        feeding = self.feeding_pumps()
        for pump in self.groups["boost pump"]:
            if pump.name in feeding and self._tank_sides[pump.start] == side:
                return self.tanks[pump.start]
        return None

    def resting_switches(self, name):
        """Return the switches that select a part, each in its resting position."""
        selected = switches_for(self.aircraft, name, self.aircraft.states_of(name)[1])
        return {n: self.aircraft.by_name[n].positions[0] for n in selected}


@lru_cache(maxsize=16)
def _roles(aircraft_key):
    return Roles(aircraft_key.aircraft)


class _Key:
    """An aircraft as a key: one fingerprint, one aircraft."""

    def __init__(self, aircraft):
        self.aircraft = aircraft

    def __hash__(self):
        return hash(self.aircraft.fingerprint)

    def __eq__(self, other):
        return self.aircraft.fingerprint == other.aircraft.fingerprint


def roles_of(aircraft):
    """Return the roles of an aircraft, found once for each fingerprint."""
    return _roles(_Key(aircraft))
