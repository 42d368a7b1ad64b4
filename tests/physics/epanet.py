"""A feed network solved by another engine: EPANET, public domain, through the PyPI library wntr.

What stands for what, with head = pressure / (density · g) and flow = mass flow / density:

- a quadratic loss: the minor loss of a short, wide, smooth pipe whose own friction is nothing;
- any other loss, and a loss that is partly laminar: a general purpose valve with a curve;
- a one-way link: a pipe with a check valve;
- a pump or relief valve at a source: a source raised or lowered by what it adds or takes;
- a pump between junctions: a pump whose curve goes through three points, which makes it quadratic;
- a relief valve between junctions: EPANET has none that looks at both sides, so each combination
  of open and closed ones is solved, and the one that contradicts no valve is the answer.
"""

import itertools
import logging
import math
import tempfile
from pathlib import Path

import numpy as np
import wntr
from wntr.epanet.exceptions import EpanetException
from wntr.epanet.toolkit import ENepanet
from wntr.epanet.util import EN

logging.getLogger("wntr").setLevel(logging.ERROR)  # a warning becomes a NotSettled

GRAVITY = 9.80665
# EPANET opens and closes valves at fixed flows and heads of its own (1e-4 ft³/s, 5e-4 ft), which
# are not small in a fuel line; flows a thousand times as large make them so.
ENLARGED = 1000.0
DIAMETER, LENGTH, ROUGHNESS = 10.0, 0.01, 150.0
FOOT = 0.3048
# EPANET takes the minor loss as 0.02517·K·Q²/d⁴ in feet and seconds (its source, from memory): a
# rounded 8/(π²·g), by a thousandth.
MINOR_LOSS = 0.02517 / FOOT / DIAMETER**4


class NotSettled(Exception):
    """EPANET did not converge, or warned about the state that it found."""


def epanet_solution(network, pressures, demands, shut=frozenset(), density=800.0):
    """Return what EPANET finds for a network, in the units of `fuelkit.physics.network`.

    Parameters
    ----------
    network : fuelkit.physics.network.Network
    pressures, demands, shut
        As in `fuelkit.physics.network.solve`.
    density : float
        Density of the fuel. [kg/m³]

    Returns
    -------
    flows : dict of str to float
        Flow in each link. [kg/s]
    pressures : dict of str to float
        Piezometric pressure of every node that an open link joins to a source. [Pa]

    Raises
    ------
    NotSettled
        If EPANET does not converge, warns, or contradicts every state of the relief valves.
    ValueError
        If EPANET has nothing that behaves like one of the links.
    """
    links = _joined(network, [link for link in network.links if link.name not in shut])
    reliefs = [
        link.name
        for link in links
        if link.opening and not {link.start, link.end} & set(network.sources)
    ]
    problem = "no state of the relief valves agrees with itself"
    for states in itertools.product((True, False), repeat=len(reliefs)):
        closed = {name for name, is_open in zip(reliefs, states, strict=True) if not is_open}
        running = _joined(network, [link for link in links if link.name not in closed])
        fed = {node for link in running for node in (link.start, link.end)}
        if any(demand and node not in fed for node, demand in demands.items()):
            continue
        try:
            flows, found = _run(network, running, pressures, demands, density)
        except NotSettled as error:
            problem = error
            continue
        if all(_is_consistent(link, flows, found) for link in links if link.name in reliefs):
            return {link.name: flows.get(link.name, 0.0) for link in network.links}, found
    raise NotSettled(str(problem))


def _joined(network, links):
    """The links that some path of links joins to a source."""
    reached, before = set(network.sources), 0
    while len(reached) > before:
        before = len(reached)
        for link in links:
            if link.start in reached or link.end in reached:
                reached |= {link.start, link.end}
    return [link for link in links if link.start in reached]


def _is_consistent(link, flows, pressures):
    if link.name in flows:
        return flows[link.name] >= 0.0
    start, end = (pressures.get(node, math.nan) for node in (link.start, link.end))
    return not start - end > link.opening  # a trapped side opens nothing


def _run(network, links, pressures, demands, density):
    model = _Model(network, links, pressures, demands, density)
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "network")
        wntr.network.write_inpfile(model.water, path + ".inp", units="LPS")
        engine = ENepanet()
        try:
            engine.ENopen(path + ".inp", path + ".rpt", path + ".bin")
            engine.ENopenH()
            engine.ENinitH(0)
            engine.ENrunH()
            if engine.errcode:
                raise NotSettled(f"EPANET warns with code {engine.errcode}")
            return model.flows(engine), model.pressures(engine)
        except EpanetException as problem:
            raise NotSettled(f"EPANET stops: {problem}") from problem
        finally:
            engine.ENclose()


class _Model:
    """A wntr model of some links, and the way back from its results."""

    def __init__(self, network, links, pressures, demands, density):
        self.per_head = density * GRAVITY
        self.per_flow = density / ENLARGED
        self.sources, self.links = network.sources, links
        self.given, self.demands = pressures, demands
        self.water = wntr.network.WaterNetworkModel()
        hydraulic = self.water.options.hydraulic
        hydraulic.inpfile_units, hydraulic.trials, hydraulic.accuracy = "LPS", 500, 1e-5
        hydraulic.headerror, hydraulic.flowchange = 1e-6, 1e-6
        self.nodes, self.pieces = {}, {}
        for number, link in enumerate(links):
            self._add(f"L{number}", link)

    def flows(self, engine):
        """Mass flow [kg/s] of each link."""
        return {
            name: self._value(engine, piece, EN.FLOW) / 1000.0 * self.per_flow
            for name, piece in self.pieces.items()
        }

    def pressures(self, engine):
        """Piezometric pressure [Pa] of each node; those of the sources are the given ones."""
        found = {
            name: engine.ENgetnodevalue(engine.ENgetnodeindex(label), EN.HEAD) * self.per_head
            for name, label in self.nodes.items()
        }
        return found | {name: float(self.given[name]) for name in self.sources}

    @staticmethod
    def _value(engine, piece, code):
        return engine.ENgetlinkvalue(engine.ENgetlinkindex(piece), code)

    def _node(self, name):
        if name in self.sources:
            return self._source(self.given[name])
        if name not in self.nodes:
            self.nodes[name] = f"N{len(self.nodes)}"
            # Far below everything, so that no pressure is negative.
            self.water.add_junction(
                self.nodes[name],
                base_demand=self.demands.get(name, 0.0) / self.per_flow,
                elevation=-1e5,
            )
        return self.nodes[name]

    def _source(self, pressure):
        label = f"S{self.water.num_reservoirs}"
        self.water.add_reservoir(label, base_head=pressure / self.per_head)
        return label

    def _add(self, piece, link):
        """Add a link; its flow is the flow of the piece of that name."""
        self.pieces[link.name] = piece
        gain = link.rise - link.opening
        if link.start in self.sources:
            start, end = self._source(self.given[link.start] + gain), self._node(link.end)
        elif link.end in self.sources:
            start, end = self._node(link.start), self._source(self.given[link.end] - gain)
        elif gain > 0.0:
            return self._pump(piece, link)
        else:
            start, end = self._node(link.start), self._node(link.end)
            if gain:
                return self._valve(piece, start, end, link, -gain)
        if link.exponent == 2.0 and link.friction <= 1e-3 * link.resistance:
            return self._pipe(piece, start, end, link.one_way, self._loss_coefficient(link))
        if link.one_way:
            between = piece + "C"
            self.water.add_junction(between, elevation=-1e5)
            self._pipe(piece + "P", start, between, True, 0.0)
            start = between
        return self._valve(piece, start, end, link, 0.0)

    def _loss_coefficient(self, link):
        """Coefficient K for which density·g·MINOR_LOSS·K·Q² is resistance·(mass flow)²."""
        return link.resistance * self.per_flow**2 / self.per_head / MINOR_LOSS

    def _pipe(self, piece, start, end, check_valve, loss):
        self.water.add_pipe(
            piece,
            start,
            end,
            length=LENGTH,
            diameter=DIAMETER,
            roughness=ROUGHNESS,
            minor_loss=loss,
            check_valve=check_valve,
        )

    def _pump(self, piece, link):
        if not (link.one_way and link.exponent == 2.0 and link.friction < 1e-3 * link.resistance):
            raise ValueError(f"EPANET has no pump like {link.name}: one-way and quadratic only")
        head = (link.rise - link.opening) / self.per_head
        some = math.sqrt(0.2 * (link.rise - link.opening) / link.resistance) / self.per_flow
        curve = [(0.0, head), (some, 0.8 * head), (2.0 * some, 0.2 * head)]
        self.water.add_curve(piece + "H", "HEAD", curve)
        ends = self._node(link.start), self._node(link.end)
        self.water.add_pump(piece, *ends, pump_type="HEAD", pump_parameter=piece + "H")

    def _valve(self, piece, start, end, link, least):
        flow = np.concatenate([[0.0], np.geomspace(1e-4, 100.0, 400)])
        fall = least + link.friction * flow + link.resistance * flow**link.exponent
        curve = list(zip(flow / self.per_flow, fall / self.per_head, strict=True))
        self.water.add_curve(piece + "V", "HEADLOSS", curve)
        self.water.add_valve(
            piece, start, end, DIAMETER, "GPV", initial_setting=piece + "V", initial_status="ACTIVE"
        )
