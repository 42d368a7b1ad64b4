"""Steady flow of fuel through tanks, pumps, pipes and valves. Knows links and nodes, no aircraft.

Pressures here are piezometric: gauge pressure plus density × gravity × height, so that a link
sees no gravity of its own. Flows are in kg/s, positive from the start of a link to its end.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.physics.errors import NetworkError
from fuelkit.physics.gradient import Laws, balance

_AT_REST = 1e-11  # of the largest flow (at least 1 kg/s): less than this is no flow
_SAME_PRESSURE = 1e-8  # of the largest pressure (at least 1 Pa)


@dataclass(frozen=True)
class Link:
    """One element of a network between two nodes. Frozen.

    The pressure falls along it by `opening - rise + resistance·q·|q|^(exponent-1) + friction·q`.
    A pipe has only a resistance; a pump a rise; a check valve is one-way; a relief (sequence)
    valve is one-way and needs its opening pressure before it lets anything through.

    name, start, end : str
        The link and its two nodes.
    resistance : float
        Loss coefficient, 0 or more. [Pa/(kg/s)^exponent]
    exponent : float
        Power of the flow in the loss, 1 or more; 2 for turbulent flow. [-]
    rise : float
        Pressure that a running pump adds at no flow. [Pa]
    opening : float
        Pressure difference at which a relief valve opens. [Pa]
    one_way : bool
        Whether reverse flow is stopped.
    friction : float
        Laminar loss, above 0: keeps the law rising where the quadratic one is flat. [Pa/(kg/s)]
    """

    name: str
    start: str
    end: str
    resistance: float = 0.0
    exponent: float = 2.0
    rise: float = 0.0
    opening: float = 0.0
    one_way: bool = False
    friction: float = 1.0

    def __post_init__(self):
        rules = {
            "resistance": (self.resistance >= 0.0, "it may not be negative"),
            "exponent": (self.exponent >= 1.0, "it must be at least 1"),
            "friction": (self.friction > 0.0, "it must be above 0"),
            "opening": (self.opening == 0.0 or self.one_way, "only a one-way link has one"),
            "rise": (math.isfinite(self.rise), "it must be a number of pascals"),
        }
        for field, (holds, rule) in rules.items():
            if not holds:
                raise NetworkError(
                    f"link {self.name}: {field} is {getattr(self, field)}; {rule}. Correct it."
                )


@dataclass(frozen=True)
class Network:
    """Links between nodes, some of which have a given pressure. Frozen.

    links : tuple of Link
    sources : tuple of str
        Nodes whose pressure is given: the tanks and the refuelling coupling.
    """

    links: tuple
    sources: tuple

    def __post_init__(self):
        names = [link.name for link in self.links]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise NetworkError(
                f"network: links are named {', '.join(twice)} more than once; each link needs a "
                "name of its own. Rename them."
            )

    @cached_property
    def junctions(self):
        """Names of the nodes whose pressure is found, in order of first mention."""
        ends = (node for link in self.links for node in (link.start, link.end))
        return tuple(dict.fromkeys(node for node in ends if node not in self.sources))

    @cached_property
    def incidence(self):
        """+1 where a link starts at a node, -1 where it ends; sources first, then junctions."""
        row = {name: i for i, name in enumerate(self.sources + self.junctions)}
        matrix = np.zeros((len(row), len(self.links)))
        for i, link in enumerate(self.links):
            matrix[row[link.start], i] += 1.0
            matrix[row[link.end], i] -= 1.0
        return matrix

    @cached_property
    def laws(self):
        """The pressure laws of all links as arrays, in the order of the links."""
        column = {
            name: np.array([getattr(link, name) for link in self.links], float)
            for name in ("resistance", "exponent", "opening", "rise", "friction", "one_way")
        }
        return Laws(
            leaving=self.incidence[len(self.sources) :],
            resistance=column["resistance"],
            power=column["exponent"] - 1.0,
            offset=column["opening"] - column["rise"],
            friction=column["friction"],
            one_way=column["one_way"].astype(bool),
        )


@dataclass(frozen=True)
class Solution:
    """Flows and pressures of a solved network. Frozen.

    flows : dict of str to float
        Flow in each link; 0 in a section that is cut off. [kg/s]
    pressures : dict of str to float
        Piezometric pressure of each node; `nan` where a node is cut off from every source. [Pa]
    passing : frozenset of str
        Links that pass pressure on: not shut, not closed against a reverse pressure, not cut off.
    """

    flows: dict
    pressures: dict
    passing: frozenset


def solve(network, pressures, demands, *, shut=frozenset()):
    """Return the steady flows and pressures of a network.

    Parameters
    ----------
    network : Network
    pressures : dict of str to float
        Piezometric pressure of each source. [Pa]
    demands : dict of str to float
        Flow taken out at junctions, negative where fuel is put in; the others take nothing.
        [kg/s]
    shut : collection of str
        Links that are shut: closed valves, pumps that do not run. A name that is no link of
        this network changes nothing.

    Returns
    -------
    Solution

    Raises
    ------
    NetworkError
        If a source has no pressure, a demand is no number or is not at a junction, a demand has
        no path from any source (or back to one), or the iteration does not settle.

    Notes
    -----
    The flows are the minimum of a convex function, found by the global gradient method; see
    `gradient.balance`. Where nothing flows a pressure may be free within bounds: a line that a
    pump dead-heads through a check valve could hold more than the pump gives. Such a line is
    given the least pressure that its sources impose on it, and `nan` if they impose none.

    References
    ----------
    E. Todini and S. Pilati, "A gradient algorithm for the analysis of pipe networks", in
    Computer Applications in Water Supply, vol. 1, 1988 (from memory).

    Examples
    --------
    A pump of 200 kPa lifts 0.5 kg/s through a pipe that loses 40 kPa at 1 kg/s:

    >>> links = (Link("pump", "tank", "line", rise=200e3, resistance=80e3, friction=1e-3,
    ...               one_way=True),
    ...          Link("pipe", "line", "engine", resistance=40e3, friction=1e-3))
    >>> found = solve(Network(links, ("tank",)), {"tank": 0.0}, {"engine": 0.5})
    >>> round(found.pressures["engine"])
    170000
    """
    _check_numbers(network, pressures, demands)
    open_links = [i for i, link in enumerate(network.links) if link.name not in shut]
    live = _live_nodes(network, open_links, demands)
    junctions = [i for i, node in enumerate(network.junctions) if node in live]
    links = [
        i for i in open_links if network.links[i].start in live and network.links[i].end in live
    ]
    given = np.array([float(pressures[node]) for node in network.sources])
    demand = np.array([float(demands.get(network.junctions[i], 0.0)) for i in junctions])
    drive = given @ network.incidence[: len(given), links]
    found = balance(network.laws.part(junctions, links), drive, demand)
    if found is None:
        raise NetworkError(
            "network: flows are not settled after all the steps allowed; a loss coefficient or "
            "pump curve is out of proportion to the others. Check them."
        )
    flow, pressure, holding = found
    balanced = {network.junctions[i]: float(p) for i, p in zip(junctions, pressure, strict=True)}
    balanced.update(zip(network.sources, given.tolist(), strict=True))
    running = [network.links[i] for i in links]
    return _solution(network, running, flow.tolist(), balanced, holding.tolist())


def _check_numbers(network, pressures, demands):
    for node in network.sources:
        if not math.isfinite(pressures.get(node, math.nan)):
            raise NetworkError(
                f"network: pressure of {node} is {pressures.get(node)}; every source needs a "
                "number of pascals. Give it one."
            )
    for node, demand in demands.items():
        if not math.isfinite(demand) or (demand and node not in network.junctions):
            raise NetworkError(
                f"network: demand at {node} is {demand}; a demand is a number of kg/s at a "
                f"junction. The junctions are {', '.join(network.junctions)}. Correct it."
            )


def _live_nodes(network, open_links, demands):
    """Nodes that fuel can get to at all; raises if a demand is not one of them."""
    ahead = [(network.links[i].start, network.links[i].end) for i in open_links]
    ahead += [
        (end, start)
        for i, (start, end) in zip(open_links, ahead, strict=True)
        if not network.links[i].one_way
    ]
    returned = {node for node, demand in demands.items() if demand < 0.0}
    live = _reached({*network.sources, *returned}, ahead)
    unfed = [node for node, demand in demands.items() if demand > 0.0 and node not in live]
    if unfed:
        raise NetworkError(
            f"network: {', '.join(unfed)} draws fuel but no open path leads there from any "
            "source. Open a valve, run a pump, or take the demand away.",
            unfed=unfed,
        )
    if returned:
        drained = _reached(network.sources, [(end, start) for start, end in ahead])
        stuck = sorted(returned - drained)
        if stuck:
            raise NetworkError(
                f"network: {', '.join(stuck)} takes fuel in but no open path leads from there to "
                "any tank. Open a valve, or take the flow away.",
                unfed=stuck,
            )
    return live


def _reached(seeds, steps):
    """Set of the nodes that one gets to from `seeds` by (from, to) steps."""
    reached, before = set(seeds), 0
    while len(reached) > before:
        before = len(reached)
        reached.update(end for start, end in steps if start in reached)
    return reached


def _solution(network, links, flow, balanced, holding):
    """The solution from balanced arrays: pressure where nothing flows, and what is passing."""
    rest = _AT_REST * max([1.0, *map(abs, flow)])
    same = _SAME_PRESSURE * max([1.0, *map(abs, balanced.values())])
    fixed = [not link.one_way or q > rest for link, q in zip(links, flow, strict=True)]
    joints = list(zip(links, fixed, holding, strict=True))
    lift = _least_lift(network.sources, joints, same)
    pressures = {node: p + lift.get(node, math.nan) for node, p in balanced.items()}
    found = {n: pressures.get(n, math.nan) for n in network.sources + network.junctions}
    flows, passing = dict.fromkeys((link.name for link in network.links), 0.0), set()
    for (link, _, held), q in zip(joints, flow, strict=True):
        if link.start in lift and lift[link.start] - held >= lift[link.end] - same:
            passing.add(link.name)
            flows[link.name] = max(q, 0.0) if link.one_way else q
    return Solution(flows, found, frozenset(passing))


def _least_lift(sources, joints, same):
    """By node: what to add to its balanced pressure so that it is the least its sources impose.

    Along a flow or a two-way link pressures move together; a one-way link at rest only keeps its
    end from falling further below its start than what it already holds back.
    """
    lift, moving = dict.fromkeys(sources, 0.0), True
    while moving:
        moving = False
        for link, rigid, held in joints:
            ways = ((link.start, link.end, held),) + ((link.end, link.start, 0.0),) * rigid
            for start, end, slack in ways:
                if start in lift and lift[start] - slack > lift.get(end, -math.inf) + same:
                    lift[end], moving = lift[start] - slack, True
    return lift


def supply_shares(network, flows):
    """Return for every node the share of its fuel that comes from each source.

    Parameters
    ----------
    network : Network
    flows : dict of str to float
        Flow in each link. [kg/s]

    Returns
    -------
    dict of str to dict of str to float
        By node, then by source; a node that no source feeds has an empty share. [-]

    Notes
    -----
    Fuel that meets at a junction leaves it mixed in proportion to what came in through links.
    Fuel put in at a junction comes from no source and is left out of the shares.

    Examples
    --------
    >>> net = Network((Link("a", "left", "line"), Link("b", "right", "line")), ("left", "right"))
    >>> supply_shares(net, {"a": 3.0, "b": 1.0})["line"]
    {'left': 0.75, 'right': 0.25}
    """
    streams = _streams(network, flows)
    fed = _reached(network.sources, [(start, end) for start, end, _ in streams])
    row = {node: i for i, node in enumerate(n for n in network.junctions if n in fed)}
    matrix, right = np.zeros((len(row), len(row))), np.zeros((len(row), len(network.sources)))
    for start, end, flow in streams:
        if end in row and start in fed:
            matrix[row[end], row[end]] += flow
            if start in row:
                matrix[row[end], row[start]] -= flow
            else:
                right[row[end], network.sources.index(start)] += flow
    mixed = np.linalg.solve(matrix, right)
    mixed /= mixed.sum(axis=1, keepdims=True)  # a hair off 1 where much fuel goes round
    shares = {node: {} for node in network.junctions}
    for node, i in row.items():
        shares[node] = {
            s: float(x) for s, x in zip(network.sources, mixed[i], strict=True) if x > 1e-9
        }
    return shares


def _streams(network, flows):
    """(from, to, flow) of every link in which fuel flows, in the direction of the flow."""
    found = []
    rounding = max([1e-9, *(1e-11 * abs(flow) for flow in flows.values())])
    for link in network.links:
        flow = flows[link.name]
        if flow > rounding:
            found.append((link.start, link.end, flow))
        elif flow < -rounding:
            found.append((link.end, link.start, -flow))
    return found
