"""A feed network solved by another engine: EPANET, public domain, through the PyPI library wntr.

What stands for what, with head = pressure / (density · g) and flow = mass flow / density:

- a quadratic loss: the minor loss of a short, wide, smooth pipe whose own friction is nothing;
- a loss with the power 1.852: the Hazen-Williams friction of a pipe of a matching length;
- any other loss, and a loss that is partly laminar: a general purpose valve with a curve;
- a one-way link: a pipe with a check valve;
- a pump or relief valve at a source: a source raised or lowered by what it adds or takes;
- a pump between junctions: a pump whose curve goes through three points, which makes it quadratic;
- a relief valve between junctions: EPANET has none that looks at both sides, so each combination
  of open and closed ones is solved, and the one that contradicts no valve is the answer.
"""

import ctypes
import itertools
import logging
import math
import tempfile
from pathlib import Path

import numpy as np
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
# Hazen-Williams as EPANET 2.2 has it (users' manual, table 3.1): 4.727·C^-1.852·d^-4.871·L·Q^1.852
# in feet and seconds. Here the fall of 1 m of such a pipe, per (m³/s)^1.852.
HAZEN_WILLIAMS = 4.727 * ROUGHNESS**-1.852 * (DIAMETER / FOOT) ** -4.871 / FOOT ** (3 * 1.852)
# Lists of (CHECKFREQ, MAXCHECK, DAMPLIMIT): how often valves are looked at, for how long, and
# from which accuracy on steps are shortened. If valves chatter with one, the next is tried.
PATIENCE = ((2, 10, 0), (1, 500, 0), (10, 500, 0), (2, 500, 0.1), (5, 40, 0.01))
TRIALS, ACCURACY = 500, 1e-6
BOTTOM = -1e5  # m; height of all junctions
UNBALANCED, UNSTABLE, DISCONNECTED, PUMP_CLOSED, NEGATIVE = 1, 2, 3, 4, 6  # warnings of EPANET


class NotSettled(Exception):
    """EPANET did not converge, or warned about the state that it found, with the code given."""

    def __init__(self, message, *, code=None):
        super().__init__(message)
        self.code = code


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
    joined = {node for link in links for node in (link.start, link.end)}
    if any(demand and node not in joined for node, demand in demands.items()):
        # Let EPANET itself find that a part is cut off: its shut links are closed pipes.
        _run(network, network.links, pressures, demands, density, shut)
        raise AssertionError("EPANET did not notice a part that is cut off")
    reliefs = [
        link.name
        for link in links
        if link.opening and not {link.start, link.end} & set(network.sources)
    ]
    problem = NotSettled("no state of the relief valves agrees with itself")
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
    raise problem


def determined(network, found):
    """Nodes joined to a source by flow or by open two-way links: elsewhere pressure is free."""
    small = 1e-4 * max(map(abs, found.flows.values()))
    joins = [
        {link.start, link.end}
        for link in network.links
        if link.name in found.passing and (not link.one_way or found.flows[link.name] > small)
    ]
    nodes, before = set(network.sources), 0
    while len(nodes) > before:
        before = len(nodes)
        nodes = nodes.union(*(pair for pair in joins if pair & nodes))
    return nodes


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


def _run(network, links, pressures, demands, density, shut=frozenset()):
    model = _Model(network, links, pressures, demands, density, shut)
    for patience in PATIENCE:
        try:
            return _run_once(model, patience)
        except NotSettled as error:
            problem = error
    raise problem


def _run_once(model, patience):
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "network")
        Path(path + ".inp").write_text(model.text(patience), encoding="utf-8")
        engine = ENepanet()
        try:
            engine.ENopen(path + ".inp", path + ".rpt", path + ".bin")
            engine.ENopenH()
            engine.ENinitH(0)
            engine.ENrunH()
            found = model.pressures(engine)
            _check_settled(engine, min(found.values()) / model.per_head)
            return model.flows(engine), found
        except EpanetException as problem:
            raise NotSettled(f"EPANET stops: {problem}") from problem
        finally:
            engine.ENclose()


def _check_settled(engine, lowest):
    """Raise if it did not converge, or warns of anything but a pump that is held closed."""
    # EPANET gives one of its warnings only; a head below all nodes is the one of no supply.
    code = NEGATIVE if lowest < BOTTOM else engine.errcode
    if code in (DISCONNECTED, NEGATIVE):
        raise NotSettled(f"EPANET warns of demands without supply, code {code}", code=code)
    iterations = _statistic(engine, 0)
    if code in (UNBALANCED, UNSTABLE) or iterations > TRIALS:
        raise NotSettled(f"EPANET does not converge in {iterations:.0f} trials", code=UNBALANCED)
    if code not in (0, PUMP_CLOSED):
        raise NotSettled(f"EPANET warns with code {code}", code=code)


def _statistic(engine, code):
    value = ctypes.c_double()
    engine.ENlib.EN_getstatistic(engine._project, code, ctypes.byref(value))
    return value.value


class _Model:
    """EPANET's text of some links, and the way back from its results."""

    def __init__(self, network, links, pressures, demands, density, shut):
        self.shut = shut
        self.per_head = density * GRAVITY
        self.per_flow = density / ENLARGED
        self.sources, self.links = network.sources, links
        self.given, self.demands = pressures, demands
        self.nodes, self.pieces = {}, {}
        self.tables = {
            name: [] for name in ("JUNCTIONS", "RESERVOIRS", "PIPES", "PUMPS", "VALVES", "CURVES")
        }
        for number, link in enumerate(links):
            self._add(f"L{number}", link)

    def text(self, patience):
        """The network as the text of an EPANET input file."""
        check, most, damp = patience
        options = [
            ("UNITS", "LPS"), ("HEADLOSS", "H-W"), ("TRIALS", TRIALS), ("ACCURACY", ACCURACY),
            ("HEADERROR", 1e-4), ("FLOWCHANGE", 1e-3), ("UNBALANCED", "STOP"),
            ("CHECKFREQ", check), ("MAXCHECK", most), ("DAMPLIMIT", damp),
        ]  # fmt: skip
        tables = self.tables | {"OPTIONS": options}
        rows = []
        for name, table in tables.items():
            rows += [f"[{name}]", *(" ".join(map(str, row)) for row in table)]
        return "\n".join([*rows, "[END]", ""])

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
            demand = self.demands.get(name, 0.0) / self.per_flow * 1000.0
            self.nodes[name] = self._junction(f"N{len(self.nodes)}", demand)
        return self.nodes[name]

    def _junction(self, label, demand=0.0):
        # Far below everything, so that only a pressure that nothing can give is negative.
        self.tables["JUNCTIONS"].append((label, BOTTOM, float(demand)))
        return label

    def _source(self, pressure):
        label = f"S{len(self.tables['RESERVOIRS'])}"
        self.tables["RESERVOIRS"].append((label, float(pressure / self.per_head)))
        return label

    def _add(self, piece, link):
        """Add a link; its flow is the flow of the piece of that name."""
        self.pieces[link.name] = piece
        gain = link.rise - link.opening
        if link.name in self.shut:
            start, end = self._node(link.start), self._node(link.end)
            return self._pipe(piece, start, end, link, status="CLOSED")
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
        if link.friction <= 1e-3 * link.resistance and link.exponent in (2.0, 1.852):
            return self._pipe(piece, start, end, link)
        if link.one_way:
            between = self._junction(piece + "C")
            self._pipe(piece + "P", start, between, link, free=True)
            start = between
        return self._valve(piece, start, end, link, 0.0)

    def _pipe(self, piece, start, end, link, *, free=False, status=None):
        length, minor_loss = LENGTH, 0.0
        per_power = self.per_flow**link.exponent / self.per_head
        if link.exponent == 2.0 and not free:
            # density·g·MINOR_LOSS·K·Q² is resistance·(mass flow)²
            minor_loss = link.resistance * per_power / MINOR_LOSS
        elif not free:
            length = link.resistance * per_power / HAZEN_WILLIAMS
        status = status or ("CV" if link.one_way else "OPEN")
        self.tables["PIPES"].append(
            (piece, start, end, length, 1000.0 * DIAMETER, ROUGHNESS, minor_loss, status)
        )

    def _pump(self, piece, link):
        if not (link.one_way and link.exponent == 2.0 and link.friction < 1e-3 * link.resistance):
            raise ValueError(f"EPANET has no pump like {link.name}: one-way and quadratic only")
        head = (link.rise - link.opening) / self.per_head
        some = math.sqrt(0.2 * (link.rise - link.opening) / link.resistance) / self.per_flow
        for flow, share in ((0.0, 1.0), (some, 0.8), (2.0 * some, 0.2)):
            self.tables["CURVES"].append((piece + "H", 1000.0 * flow, share * head))
        ends = self._node(link.start), self._node(link.end)
        self.tables["PUMPS"].append((piece, *ends, "HEAD", piece + "H"))

    def _valve(self, piece, start, end, link, least):
        flow = np.concatenate([[0.0], np.geomspace(1e-4, 100.0, 400)])
        if link.exponent == 1.0:
            flow = np.array([0.0, 100.0])  # a straight line
        fall = least + link.friction * flow + link.resistance * flow**link.exponent
        for q, h in zip(flow / self.per_flow, fall / self.per_head, strict=True):
            self.tables["CURVES"].append((piece + "V", float(1000.0 * q), float(h)))
        self.tables["VALVES"].append((piece, start, end, 1000.0 * DIAMETER, "GPV", piece + "V"))
