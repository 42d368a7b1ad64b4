"""Turn an aircraft's lines and pumps into networks, and a flight's state into flows.

The lines fall into parts that share no junction (feed, each transfer, refuelling). Each part is
solved by itself, and remembered for as long as its flows cannot depend on any fuel level.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.aircraft import model
from fuelkit.aircraft.parts import friction
from fuelkit.physics.lone_link import flow_through
from fuelkit.physics.network import Link, Network, solve, supply_shares
from fuelkit.physics.units import STANDARD_GRAVITY

_DRIP = 1e-7  # kg/s; a flow below it is none: a gram in three hours


@dataclass(frozen=True)
class Port:
    """Where a line or pump opens in a tank; the coupling is a port with a pressure of its own."""

    name: str
    tank: str
    z: float


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


@dataclass(frozen=True)
class Flow:
    """A solved part of the network. Frozen.

    steady : bool
        Whether the flows stay as they are while levels move.
    """

    flows: dict
    pressures: dict
    steady: bool


@dataclass(frozen=True)
class Setting:
    """Everything that the flows of a part depend on, but for the levels. Frozen.

    part : int
        Place among the parts.
    shut, covered : frozenset of str
        Links that pass nothing; ports below the surface.
    demands : tuple of (str, float)
        Junctions and what is drawn there. [kg/s]
    """

    part: int
    shut: frozenset
    covered: frozenset
    demands: tuple


class Hydraulics:
    """The networks of an aircraft filled with fuel of one density [kg/m³].

    Remembers flows that it has solved; what it returns depends only on what it is asked.
    """

    def __init__(self, aircraft, density):
        self.aircraft = aircraft
        self.density = density
        self.weight = density * STANDARD_GRAVITY
        self._memory = {}
        self._tanks = {tank.name: i for i, tank in enumerate(aircraft.tanks)}

    # ------------------------------------------------------------------ what does not change
    @cached_property
    def ports(self):
        """Every port by its name: "left centre pump inlet" and the like."""
        found = {}
        for part in (*self.aircraft.pumps, *self.aircraft.lines):
            outlet = getattr(part, "outlet", None)
            for word, node, point in (
                ("inlet", part.start, part.inlet), ("outlet", part.end, outlet),
            ):  # fmt: skip
                if node in self._tanks:
                    found[f"{part.name} {word}"] = Port(f"{part.name} {word}", node, point[2])
        return found

    @cached_property
    def watched_ports(self):
        """Ports that are WET or DRY: those of pumps and of lines to or from a junction."""
        between = {n for part in self.parts if part.between_tanks for n in part.ports}
        return {name: port for name, port in self.ports.items() if name not in between}

    @cached_property
    def parts(self):
        """The parts of the network that share no junction."""
        links = self._links()
        groups = _connected(links, set(self.ports) | {self.aircraft.coupling})
        return tuple(self._part(group) for group in groups)

    def _links(self):
        links = [
            Link(
                p.name, f"{p.name} inlet", p.end, p.resistance, p.exponent, rise=p.rise,
                friction=friction(p),
            )
            for p in self.aircraft.pumps
        ]  # fmt: skip
        for line in self.aircraft.lines:
            start = f"{line.name} inlet" if line.start in self._tanks else line.start
            end = f"{line.name} outlet" if line.end in self._tanks else line.end
            links.append(
                Link(
                    line.name, start, end, line.resistance, opening=line.opening,
                    one_way=line.one_way, friction=friction(line),
                )
            )  # fmt: skip
        return links

    def _part(self, links):
        ends = list(dict.fromkeys(n for link in links for n in (link.start, link.end)))
        sources = tuple(n for n in ends if n in self.ports or n == self.aircraft.coupling)
        network = Network(tuple(links), sources)
        return Part(
            network,
            tuple(n for n in sources if n in self.ports),
            frozenset(self.ports[n].tank for n in sources if n in self.ports),
            frozenset(network.junctions),
            not network.junctions,
        )

    @cached_property
    def demand_points(self):
        """For each part, the consumers and returns that draw from it."""
        drawers = (*self.aircraft.consumers, *self.aircraft.returns)
        return tuple(tuple(d for d in drawers if d.start in p.junctions) for p in self.parts)

    # ------------------------------------------------------------------------ what is asked
    def levels(self, quantities, *, only=None):
        """Return the height of the fuel surface in each tank, in the order of the tanks [m].

        With `only`, the heights of these tanks are found, and the others are nan.
        """
        volumes = (quantities[: len(self.aircraft.tanks)] / self.density).tolist()
        return [
            t.levels.level_of(v) if only is None or t.name in only else math.nan
            for t, v in zip(self.aircraft.tanks, volumes, strict=True)
        ]

    def solved(self, positions, travels, burns, levels):
        """Return the flow of each part for a state.

        Parameters
        ----------
        positions : dict of str to str
        travels : dict of str to Travel
        burns : dict of str to float
            What each consumer burns. [kg/s]
        levels : sequence of float
            Height of the surface in each tank. [m]

        Returns
        -------
        list of Flow
        """
        settings = self.settings(positions, travels, burns)
        return [self.flow(setting, levels) for setting in settings]

    def settings(self, positions, travels, burns):
        """Return what is open, covered and drawn in each part: all but the fuel levels."""
        found = []
        for number, part in enumerate(self.parts):
            shut = frozenset(
                link.name
                for link in part.network.links
                if not self._passes(link, positions, travels)
            )
            covered = frozenset(n for n in part.ports if positions.get(n) != "DRY")
            demands = self._demands(number, positions, burns)
            found.append(Setting(number, shut, covered, tuple(demands.items())))
        return found

    def flow(self, setting, levels):
        """Return the flow of one part, from memory where its flows do not depend on the levels.

        The pressures remembered are those of the levels at which it was first solved.
        """
        flow = self._memory.get(setting)
        if flow is None:
            flow = self.flow_afresh(setting, levels)
            if flow.steady:
                self._memory[setting] = flow
        return flow

    def _passes(self, link, positions, travels):
        name = link.name
        if positions.get(f"{name} inlet") == "DRY":
            return False
        part = self.aircraft.by_name[name]
        if isinstance(part, model.Pump):
            return positions[name] == "RUN"
        if part.kind != "valve":
            return True
        state = positions[name]
        return (travels[name].before if state == "MOVING" else state) == "OPEN"

    def _demands(self, number, positions, burns):
        demands = {}
        for drawer in self.demand_points[number]:
            flow = (
                burns.get(drawer.name, 0.0)
                if isinstance(drawer, model.Consumer)
                else drawer.flow * (positions[drawer.name] == "OPEN")
            )
            if flow:
                demands[drawer.start] = demands.get(drawer.start, 0.0) + flow
        return demands

    def flow_afresh(self, setting, levels):
        """Return the flow of one part, solved at these levels: its pressures follow them too."""
        part, shut = self.parts[setting.part], setting.shut
        potentials = self._potentials(part, levels)
        if part.between_tanks:
            (link,) = part.network.links
            shut_off = link.name in shut
            drive = potentials[link.start], potentials[link.end]
            flow = 0.0 if shut_off else flow_through(link, *drive)
            return Flow({link.name: flow if abs(flow) > _DRIP else 0.0}, {}, shut_off)
        solution = solve(part.network, potentials, dict(setting.demands), shut=shut)
        flows = {n: (q if abs(q) > _DRIP else 0.0) for n, q in solution.flows.items()}
        steady = self._is_steady(part, shut, solution, setting.covered)
        return Flow(flows, solution.pressures, steady)

    def _potentials(self, part, levels):
        potentials = {}
        for name in part.network.sources:
            if name in self.ports:
                port = self.ports[name]
                height = max(levels[self._tanks[port.tank]], port.z)
                potentials[name] = self.weight * height
            else:
                potentials[name] = self.aircraft.coupling_pressure
        return potentials

    def _is_steady(self, part, shut, solution, covered):
        """Whether the flows and every closed valve stay as they are, wherever the levels go.

        Flows depend on levels where open links join two tanks. A closed one-way link could open
        only if the levels on its two sides moved by more than its margin.
        """
        islands = _islands(part.network, solution.passing)
        tanks = [{self.ports[n].tank for n in island & covered} for island in islands]
        return all(len(names) < 2 for names in tanks) and all(
            self._stays_closed(link, islands, covered, solution.pressures)
            for link in part.network.links
            if link.name not in shut and link.name not in solution.passing
        )

    def _stays_closed(self, link, islands, covered, pressures):
        sides = [{node} for node in (link.start, link.end)]
        sides += [island for island in islands if link.start in island or link.end in island]
        tanks = {self.ports[n].tank for side in sides for n in side & covered}
        swing = sum(self._swing(name) for name in tanks)
        margin = link.opening - (pressures[link.start] - pressures[link.end])
        return not margin <= swing  # nan, a trapped section, stays closed

    def _swing(self, tank):
        heights = self.aircraft.tanks[self._tanks[tank]].levels.heights
        return self.weight * float(heights[-1] - heights[0])

    def rates(self, flows, positions, burns):
        """Return the rate of change of every quantity, shape (n,) [kg/s]."""
        rates = self.given_rates(positions, burns)
        for part, flow in zip(self.parts, flows, strict=True):
            self.add_flow(rates, part, flow)
        return self.run_over(rates, positions)

    def given_rates(self, positions, burns):
        """Return the rates that no pressure decides: burns and hot returns, shape (n,) [kg/s]."""
        rates = np.zeros(len(self.quantity_names))
        for name, burn in burns.items():
            rates[self._index[f"burned by {name}"]] = burn
        for back in self.aircraft.returns:
            if positions[back.name] == "OPEN":
                rates[self._index[back.end]] += back.flow
        return rates

    def add_flow(self, rates, part, flow):
        """Add to the rates what a part's links take from tanks and bring to them."""
        for link in part.network.links:
            q = flow.flows[link.name]
            if q:
                for node, change in ((link.start, -q), (link.end, q)):
                    if node in self.ports:
                        rates[self._index[self.ports[node].tank]] += change
                    elif node == self.aircraft.coupling:
                        rates[self._index["delivered"]] -= change

    def run_over(self, rates, positions):
        """Pass on, in place, what runs into a tank that overflows; return the rates."""
        for overflow in self.overflow_order:
            if positions[overflow.name] == "RUNNING":
                start = self._index[overflow.start]
                rates[self._index[overflow.end]] += rates[start]
                rates[start] = 0.0
        return rates

    @cached_property
    def _index(self):
        return {name: i for i, name in enumerate(self.quantity_names)}

    @cached_property
    def quantity_names(self):
        """Names of the quantities of a state, in order: tanks first."""
        burned = (f"burned by {c.name}" for c in self.aircraft.consumers)
        tanks = (t.name for t in self.aircraft.tanks)
        return (*tanks, *burned, "delivered", model.OVERBOARD)

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

    def shares(self, flows):
        """Return for every junction the share of its fuel that comes from each tank [-]."""
        found = {}
        for part, flow in zip(self.parts, flows, strict=True):
            for node, by_port in supply_shares(part.network, flow.flows).items():
                tanks = {}
                for port, share in by_port.items():
                    tank = self.ports[port].tank if port in self.ports else port
                    tanks[tank] = tanks.get(tank, 0.0) + share
                found[node] = tanks
        return found


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


def _islands(network, passing):
    """Sets of nodes that open links join."""
    islands = []
    for link in network.links:
        if link.name in passing:
            nodes = {link.start, link.end}
            touching = [i for i in islands if i & nodes]
            islands = [i for i in islands if not i & nodes] + [nodes.union(*touching)]
    return islands
