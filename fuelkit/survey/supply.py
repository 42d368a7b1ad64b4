"""From which tanks fuel can come to each engine, and what is lost with any single part.

Found from the plan of lines alone: pumps push, open lines let fuel run by gravity. Pressures are
the computed flight's business.
"""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.survey.possible import attainable


@dataclass(frozen=True)
class Source:
    """A way for fuel into the lines: through a pump, or by gravity through a line. Frozen."""

    tank: str
    part: str
    pumped: bool


@dataclass(frozen=True)
class Loss:
    """What an engine is left with when one part is lost. Frozen.

    part, kind : str
        "left pump", "pump"; kinds are "pump", "valve", "line", "tank" and "bus".
    left : tuple of Source
    """

    part: str
    kind: str
    left: tuple


@dataclass(frozen=True)
class Supply:
    """Where an engine or the APU can draw from. Frozen.

    sources : tuple of Source
        Everything open and running.
    losses : tuple of Loss
        One for each single part whose loss takes all pumped sources away, or all sources.
    """

    consumer: str
    sources: tuple
    losses: tuple

    @property
    def cut_by(self):
        """The losses that leave nothing."""
        return tuple(loss for loss in self.losses if not loss.left)

    @property
    def single_sources(self):
        """The pump, tank or electrical bus without which nothing is left."""
        return tuple(x for x in self.cut_by if x.kind in ("pump", "tank", "bus"))


class Links:
    """The ways that fuel can take in flight: what rules can open and run. Immutable.

    Lines of the refuelling group, and those at the coupling, are no way to an engine.
    """

    def __init__(self, aircraft):
        self.aircraft = aircraft
        self.tanks = {tank.name for tank in aircraft.tanks}
        states = attainable(aircraft, failures=False)
        self.pumps = [p for p in aircraft.pumps if "RUN" in states[p.name]]
        self.lines = [
            x
            for x in aircraft.lines
            if (x.kind != "valve" or "OPEN" in states[x.name])
            and x.group != "refuelling"
            and aircraft.coupling not in (x.start, x.end)
        ]

    def steps(self, lost=frozenset()):
        """Yield every step (from, to, part) but those of parts that are lost."""
        for pump in self.pumps:
            if pump.name not in lost and pump.bus not in lost:
                yield pump.start, pump.end, pump
        for line in self.lines:
            if line.name in lost:
                continue
            if line.kind == "jet pump":
                yield line.suction, line.end, line
            yield line.start, line.end, line
            if not line.one_way:
                yield line.end, line.start, line

    def sources_of(self, junction, lost=frozenset()):
        """Return the sources from which a junction can be reached without crossing a tank."""
        steps = [s for s in self.steps(lost) if s[0] not in lost and s[1] not in lost]
        reached, waiting, found = {junction}, [junction], {}
        while waiting:
            node = waiting.pop()
            for start, end, part in steps:
                if end != node or start in reached:
                    continue
                if start in self.tanks:
                    if self.aircraft.tank(start).holds_fuel:
                        pumped = isinstance(part, model.Pump)
                        found[(start, part.name)] = Source(start, part.name, pumped)
                else:
                    reached.add(start)
                    waiting.append(start)
        return tuple(found.values())


def supply_of(aircraft, consumer):
    """Return where an engine or the APU can draw from, and what each single loss leaves.

    Parameters
    ----------
    aircraft : Aircraft
    consumer : Consumer

    Returns
    -------
    Supply

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> found = supply_of(halbrook, halbrook.by_name["engine 1"])
    >>> len([s for s in found.sources if s.pumped]), [loss.part for loss in found.cut_by]
    (6, ['engine 1 shut-off valve'])
    """
    links = Links(aircraft)
    whole = links.sources_of(consumer.start)
    losses = []
    for part, kind in _single_parts(links):
        left = links.sources_of(consumer.start, frozenset([part]))
        had_pumps = any(s.pumped for s in whole)
        if whole and (not left or (had_pumps and not any(s.pumped for s in left))):
            losses.append(Loss(part, kind, left))
    return Supply(consumer.name, whole, tuple(losses))


def _single_parts(links):
    yield from ((pump.name, "pump") for pump in links.pumps)
    yield from ((x.name, "valve" if x.kind == "valve" else "line") for x in links.lines)
    yield from ((tank.name, "tank") for tank in links.aircraft.tanks if tank.holds_fuel)
    yield from ((bus.name, "bus") for bus in links.aircraft.buses)


def unreachable_tanks(aircraft):
    """Return the fuel tanks from which no way leads to any engine, through other tanks or not."""
    links = Links(aircraft)
    steps = list(links.steps())
    reaching = {c.start for c in aircraft.consumers if c.kind == "engine"}
    while True:
        more = {start for start, end, _ in steps if end in reaching} - reaching
        if not more:
            break
        reaching |= more
    return tuple(t.name for t in aircraft.tanks if t.holds_fuel and t.name not in reaching)


def openings_of(aircraft, tank):
    """Return the openings (part, position) through which fuel can leave a tank for other parts.

    Those of pumps, of lines that begin there or run both ways, and of jet pumps that suck there.
    """
    links = Links(aircraft)
    found = [(p.name, p.inlet) for p in links.pumps if p.start == tank]
    for line in links.lines:
        if tank in (line.start, line.suction) and line.inlet is not None:
            found.append((line.name, line.inlet))
        elif tank == line.end and not line.one_way and line.outlet is not None:
            found.append((line.name, line.outlet))
    return tuple(found)
