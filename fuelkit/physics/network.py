"""Steady flow of fuel through tanks, pumps, pipes and valves. Knows links and nodes, no aircraft.

Pressures here are piezometric: gauge pressure plus density × gravity × height, so that a link
sees no gravity of its own. Flows are in kg/s, positive from the start of a link to its end.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelkit.physics.errors import NetworkError

_CLOSED_SLOPE = 1e9  # pressure fall per reverse flow while a one-way link is being closed
_LARGEST_ITERATIONS = 200


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


@dataclass(frozen=True)
class Network:
    """Links between nodes, some of which have a given pressure. Frozen.

    links : tuple of Link
    sources : tuple of str
        Nodes whose pressure is given: the tanks and the refuelling coupling.
    """

    links: tuple
    sources: tuple

    @cached_property
    def junctions(self):
        """Names of the nodes whose pressure is found, in order of first mention."""
        ends = (node for link in self.links for node in (link.start, link.end))
        return tuple(dict.fromkeys(node for node in ends if node not in self.sources))

    @cached_property
    def arrays(self):
        """The links as arrays: incidence matrices and coefficients, built once."""
        return _Arrays(self)


class _Arrays:
    """Coefficients of all links of a network, one entry a link, in the order of the links."""

    def __init__(self, network):
        links = network.links
        junction = {name: i for i, name in enumerate(network.junctions)}
        source = {name: i for i, name in enumerate(network.sources)}
        self.leaving = np.zeros((len(junction), len(links)))  # +1 where a link starts, -1 ends
        self.leaving_source = np.zeros((len(source), len(links)))
        for i, link in enumerate(links):
            for node, sign in ((link.start, 1.0), (link.end, -1.0)):
                table, rows = (
                    (self.leaving, junction) if node in junction else (self.leaving_source, source)
                )
                table[rows[node], i] += sign
        self.resistance = np.array([link.resistance for link in links])
        self.power = np.array([link.exponent - 1.0 for link in links])
        self.offset = np.array([link.opening - link.rise for link in links])
        self.friction = np.array([link.friction for link in links])
        self.one_way = np.array([link.one_way for link in links])

    def fall(self, flow, index):
        """Pressure fall [Pa] along the links of `index` at their flows, and its slope."""
        size = np.abs(flow)
        loss = self.resistance[index] * size ** self.power[index]
        slope = self.friction[index] + (self.power[index] + 1.0) * loss
        return self.offset[index] + (self.friction[index] + loss) * flow, slope


@dataclass(frozen=True)
class Solution:
    """Flows and pressures of a solved network. Frozen.

    flows : dict of str to float
        Flow in each link. [kg/s]
    pressures : dict of str to float
        Piezometric pressure of each node; `nan` where a node is cut off from every source. [Pa]
    passing : frozenset of str
        Links that are open: not shut, and not closed against a reverse pressure.
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
        Flow taken out at junctions; the others take nothing. [kg/s]
    shut : collection of str
        Links that are shut: closed valves, pumps that do not run.

    Returns
    -------
    Solution

    Raises
    ------
    NetworkError
        If a demand has no path from any source, or the iteration does not settle.

    Notes
    -----
    Global gradient method: each step solves the linearised energy equations of all links
    together with continuity at all junctions. A one-way link is first given a very steep law for
    reverse flow, which keeps the whole problem that of a convex function with one minimum; the
    links that end there are then taken out and the rest is solved to rounding error.

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
    arrays = network.arrays
    demand = np.array([demands.get(node, 0.0) for node in network.junctions])
    given = np.array([pressures[node] for node in network.sources])
    drive = given @ arrays.leaving_source
    index = np.array([i for i, link in enumerate(network.links) if link.name not in shut], int)
    live, index = _connected(network, index, demand)
    flow, _ = _newton(arrays, index, live, drive, demand, one_way=True)
    closed = arrays.one_way[index] & (flow < 0.0)
    index, flow = index[~closed], flow[~closed]
    kept, kept_index = _connected(network, index, demand)
    flow = flow[np.isin(index, kept_index)]
    flow, head = _newton(arrays, kept_index, kept, drive, demand, one_way=False, flow=flow)
    return _solution(network, pressures, kept_index, flow, kept, head)


def _connected(network, index, demand):
    """Mask of the junctions that the links of `index` join to a source, and those links."""
    reached = set(network.sources)
    links = [(int(i), network.links[i].start, network.links[i].end) for i in index]
    growing = True
    while growing:
        growing = False
        for _, start, end in links:
            if (start in reached) != (end in reached):
                reached.update((start, end))
                growing = True
    live = np.array([node in reached for node in network.junctions], bool)
    unfed = [n for n, ok, d in zip(network.junctions, live, demand, strict=True) if d and not ok]
    if unfed:
        raise NetworkError(
            f"network: {', '.join(unfed)} draws fuel but no open path leads there from any "
            "source. Open a valve, run a pump, or take the demand away.",
            unfed=tuple(unfed),
        )
    return live, np.array([i for i, start, _ in links if start in reached], int)


def _newton(arrays, index, live, drive, demand, *, one_way, flow=None):
    """Flows and junction pressures of the links in `index`, by the global gradient method."""
    leaving, drive, demand = arrays.leaving[np.ix_(live, index)], drive[index], demand[live]
    closing = arrays.one_way[index] & one_way
    if flow is None:
        flow = np.full(len(index), 0.1 + np.abs(demand).max(initial=0.0))
    feasible = False
    for _ in range(_LARGEST_ITERATIONS):
        fall, slope = _law(arrays, index, closing, flow)
        weight = 1.0 / slope
        matrix = (leaving * weight) @ leaving.T
        right = -demand - leaving @ (flow + weight * (drive - fall))
        head = np.linalg.solve(matrix, right) if live.any() else np.zeros(0)
        change = weight * (head @ leaving + drive - fall)
        if feasible:
            change *= _step_length(arrays, index, closing, flow, change, fall, head, leaving, drive)
        flow = flow + change
        feasible = True
        if np.abs(change).max(initial=0.0) <= 1e-13 * (1.0 + np.abs(flow).max(initial=0.0)):
            return flow, head
    raise NetworkError(
        f"network: no steady flow was found in {_LARGEST_ITERATIONS} steps; a loss coefficient or "
        "pump curve is out of proportion to the others. Check them.",
        unfed=(),
    )


def _law(arrays, index, closing, flow):
    """Pressure fall and slope of each link; a closing link has a steep law in reverse."""
    fall, slope = arrays.fall(flow, index)
    reverse = closing & (flow < 0.0)
    fall = np.where(reverse, arrays.offset[index] + _CLOSED_SLOPE * flow, fall)
    return fall, np.where(reverse, _CLOSED_SLOPE, slope)


def _step_length(arrays, index, closing, flow, change, fall, head, leaving, drive):
    """How much of a step to take so that the convex content of the network keeps falling."""
    supply = head @ leaving + drive
    start = change @ (fall - supply)
    length = 1.0
    while length > 1e-6:
        there, _ = _law(arrays, index, closing, flow + length * change)
        if abs(change @ (there - supply)) <= 0.9 * abs(start) or start == 0.0:
            return length
        length *= 0.5
    return 1.0  # rounding is all that is left


def _solution(network, pressures, index, flow, live, head):
    flows = dict.fromkeys((link.name for link in network.links), 0.0)
    for i, value in zip(index, flow, strict=True):
        flows[network.links[i].name] = float(value)
    found = dict(pressures)
    heads = iter(head)
    for node, connected in zip(network.junctions, live, strict=True):
        found[node] = float(next(heads)) if connected else float("nan")
    return Solution(flows, found, frozenset(network.links[i].name for i in index))


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
        By node, then by source; a node without flow has an empty share. [-]

    Notes
    -----
    Fuel that meets at a junction leaves it mixed in proportion to what came in.

    Examples
    --------
    >>> net = Network((Link("a", "left", "line"), Link("b", "right", "line")), ("left", "right"))
    >>> supply_shares(net, {"a": 3.0, "b": 1.0})["line"]
    {'left': 0.75, 'right': 0.25}
    """
    row = {node: i for i, node in enumerate(network.junctions)}
    matrix, right = np.eye(len(row)), np.zeros((len(row), len(network.sources)))
    incoming = np.zeros(len(row))
    for upstream, downstream, flow in _streams(network, flows):
        if downstream in row:
            incoming[row[downstream]] += flow
    for upstream, downstream, flow in _streams(network, flows):
        if downstream in row:
            share = flow / incoming[row[downstream]]
            if upstream in row:
                matrix[row[downstream], row[upstream]] -= share
            else:
                right[row[downstream], network.sources.index(upstream)] += share
    mixed = np.linalg.solve(matrix, right)
    return {
        node: {s: float(x) for s, x in zip(network.sources, mixed[i], strict=True) if x > 1e-9}
        for node, i in row.items()
    }


def _streams(network, flows):
    for link in network.links:
        flow = flows[link.name]
        if flow > 1e-9:
            yield link.start, link.end, flow
        elif flow < -1e-9:
            yield link.end, link.start, -flow
