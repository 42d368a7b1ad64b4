"""An aircraft's lines and pumps as networks, part by part. What does not change in a flight.

The lines fall into parts that share no junction: feed, each transfer, refuelling.
"""

from dataclasses import dataclass, replace
from functools import cached_property

from fuelkit.aircraft.parts import friction
from fuelkit.physics.network import Link, Network

HALF_OPEN_LOSS = 16.0
"""How many times the loss of an open valve a half open one has; our own choice for all valves."""


@dataclass(frozen=True)
class Port:
    """Where a line or pump opens in a tank."""

    name: str
    tank: str
    position: tuple


@dataclass(frozen=True)
class Part:
    """Lines and pumps that hang together. Frozen.

    tanks : frozenset of str
        Tanks that it opens into.
    between_tanks : bool
        Whether it is a gravity line from tank to tank, whose flow follows the levels.
    """

    network: Network
    ports: tuple
    tanks: frozenset
    junctions: frozenset
    between_tanks: bool

    def altered(self, changes):
        """Return its network with some links HALF OPEN, BOTH WAYS, or only INTO THE TANK."""
        if not changes:
            return self.network
        links = {link.name: link for link in self.network.links}
        for name, how in changes:
            links[name] = _altered(links[name], how)
        return replace(self.network, links=tuple(links.values()))


def _altered(link, how):
    if how == "HALF OPEN":
        return replace(link, resistance=link.resistance * HALF_OPEN_LOSS)
    if how == "BOTH WAYS":
        return replace(link, one_way=False, opening=0.0)
    return replace(link, one_way=True)  # its outlet is bare: nothing can be drawn through it


class Plumbing:
    """The networks of an aircraft."""

    def __init__(self, aircraft):
        self.aircraft = aircraft
        self.tank_index = {tank.name: i for i, tank in enumerate(aircraft.tanks)}
        self.outlets = {outlet.name: outlet for outlet in aircraft.outlets}
        self.jet_pumps = {x.name: x for x in aircraft.lines if x.kind == "jet pump"}

    @cached_property
    def ports(self):
        """Every port by its name: "left centre pump inlet" and the like."""
        found = {}
        for part in (*self.aircraft.pumps, *self.aircraft.lines):
            outlet = getattr(part, "outlet", None)
            for word, node, point in (
                ("inlet", part.start, part.inlet), ("outlet", part.end, outlet),
            ):  # fmt: skip
                if node in self.tank_index:
                    name = f"{part.name} {word}"
                    found[name] = Port(name, node, point)
        return found

    @cached_property
    def watched_ports(self):
        """Ports that are WET or DRY: those of pumps, jet pumps, lines to or from a junction."""
        between = {n for part in self.parts if part.between_tanks for n in part.ports}
        found = {name: port for name, port in self.ports.items() if name not in between}
        for jet in self.jet_pumps.values():
            name = f"{jet.name} suction"
            found[name] = Port(name, jet.suction, jet.inlet)
        return found

    @cached_property
    def parts(self):
        """The parts of the network that share no junction."""
        links = self._links()
        ends = {*self.ports, *self.outlets, self.aircraft.coupling}
        return tuple(self._part(group, ends) for group in _connected(links, ends))

    def _links(self):
        links = [
            Link(
                p.name, f"{p.name} inlet", p.end, p.resistance, p.exponent, rise=p.rise,
                friction=friction(p),
            )
            for p in self.aircraft.pumps
        ]  # fmt: skip
        for line in self.aircraft.lines:
            start = f"{line.name} inlet" if line.start in self.tank_index else line.start
            end = f"{line.name} outlet" if line.end in self.tank_index else line.end
            links.append(
                Link(
                    line.name, start, end, line.resistance, opening=line.opening,
                    one_way=line.one_way, friction=friction(line),
                )
            )  # fmt: skip
        return links

    def _part(self, links, ends):
        nodes = dict.fromkeys(n for link in links for n in (link.start, link.end))
        sources = tuple(n for n in nodes if n in ends)
        network = Network(tuple(links), sources)
        ports = tuple(n for n in sources if n in self.ports)
        tanks = frozenset(self.ports[n].tank for n in ports)
        lone = len(links) == 1 and len(ports) == 2
        return Part(network, ports, tanks, frozenset(network.junctions), lone)

    @cached_property
    def part_of(self):
        """Number of the part that each junction belongs to."""
        return {name: i for i, part in enumerate(self.parts) for name in part.junctions}

    @cached_property
    def overflow_order(self):
        """The overflows, each before the one that it runs into."""
        left, order = list(self.aircraft.overflows), []
        while left:
            ends = {o.end for o in left}
            first = [o for o in left if o.start not in ends]
            order += first
            left = [o for o in left if o.start in ends]
        return tuple(order)


def _connected(links, sources):
    """Groups of links that share a junction; a port does not connect, a tank is no junction."""
    groups = []
    for link in links:
        nodes = {n for n in (link.start, link.end) if n not in sources} or {link.name}
        touching = [g for g in groups if g[0] & nodes]
        groups = [g for g in groups if not g[0] & nodes]
        merged = (nodes.union(*(g[0] for g in touching)), [x for g in touching for x in g[1]])
        groups.append((merged[0], [*merged[1], link]))
    order = {link.name: i for i, link in enumerate(links)}
    return [sorted(group, key=lambda x: order[x.name]) for _, group in groups]
