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
from fuelkit.physics.shares import supply_shares
from fuelkit.physics.skeleton import Skeleton, check_amounts, reached

__all__ = ["Link", "Network", "NetworkError", "Solution", "solve", "supply_shares"]

_MOST_REMEMBERED = 512  # states of a network; each is a few kilobytes
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

    def fall(self, flow):
        """Return the pressure fall along the link, when it is open, at a flow [Pa]."""
        loss = self.resistance * abs(flow) ** (self.exponent - 1.0)
        return self.opening - self.rise + (self.friction + loss) * flow


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
    def names(self):
        """Names of the links, in order."""
        return tuple(link.name for link in self.links)

    def skeleton(self, shut, demands):
        """Return what is left of the network with these links shut; from memory, if it can."""
        drawn = tuple(node for node, demand in demands.items() if demand > 0.0)
        returned = tuple(node for node, demand in demands.items() if demand < 0.0)
        state = frozenset(shut), drawn, returned
        if state not in self._skeletons:
            if len(self._skeletons) >= _MOST_REMEMBERED:
                self._skeletons.clear()
            self._skeletons[state] = Skeleton.of(self, *state)
        return self._skeletons[state]

    @cached_property
    def _skeletons(self):
        return {}

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


def solve(network, pressures, demands, *, shut=frozenset(), guess=None):
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
    guess : Solution, optional
        A solution of this network in a state nearby: found sooner from there, to rounding.

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
    The flows are the minimum of a convex function, found by the global gradient method: by whole
    steps on what is left when links in a row are taken together (`skeleton.Skeleton`,
    `core.core_flows`); if those do not settle, by a descent on all links (`gradient.balance`).
    The same arguments give the same bits, whatever was solved before.

    Where nothing flows a pressure may be free within bounds: a line that a pump dead-heads through
    a check valve could hold more than the pump gives. Such a line is given the least pressure
    that its sources impose on it, and `nan` if they impose none.

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
    skeleton = network.skeleton(shut, demands)
    found = skeleton.solved(pressures, demands, guess)
    if found is None:
        found = _balanced(network, skeleton, pressures, demands)
    return _solution(network, skeleton, *found)


def _balanced(network, skeleton, pressures, demands):
    """Flows, pressures and what closed links hold back, by a descent on the whole network."""
    junctions, links = list(skeleton.junctions), list(skeleton.links)
    given = np.array([float(pressures[node]) for node in network.sources])
    demand = np.array([float(demands.get(network.junctions[i], 0.0)) for i in junctions])
    drive = given @ network.incidence[: len(given), links]
    found = balance(network.laws.part(junctions, links), drive, demand)
    if found is None:
        check_amounts(network.sources, skeleton.running, demands)
        raise NetworkError(
            "network: flows are not settled after all the steps allowed; a loss coefficient or "
            "pump curve is out of proportion to the others. Check them."
        )
    flow, pressure, holding = (values.tolist() for values in found)
    names = [network.links[i].name for i in links]
    balanced = {network.junctions[i]: p for i, p in zip(junctions, pressure, strict=True)}
    balanced.update(zip(network.sources, given.tolist(), strict=True))
    held = dict(zip(names, holding, strict=True))
    return dict(zip(names, flow, strict=True)), balanced, held


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


def _solution(network, skeleton, flows, balanced, holding):
    """The solution from balanced pressures: the least where nothing flows, and what is passing."""
    rest = _AT_REST * max([1.0, *map(abs, flows.values())])
    same = _SAME_PRESSURE * max([1.0, *map(abs, balanced.values())])
    joints = [
        (link, not link.one_way or flows[link.name] > rest, holding.get(link.name, 0.0))
        for link in skeleton.running
    ]
    lift = _least_lift(network.sources, joints, same)
    found = dict.fromkeys(network.sources + network.junctions, math.nan)
    for node, raised in lift.items():
        found[node] = balanced[node] + raised
    settled, passing = dict.fromkeys(network.names, 0.0), set()
    for link, _, held in joints:
        if link.start in lift and lift[link.start] - held >= lift[link.end] - same:
            passing.add(link.name)
            q = flows[link.name]
            settled[link.name] = max(q, 0.0) if link.one_way else q + 0.0  # -0.0 is 0.0
    return Solution(settled, found, frozenset(passing))


def _least_lift(sources, joints, same):
    """By node: what to add to its balanced pressure so that it is the least its sources impose.

    Along a flow or a two-way link pressures move together; a one-way link at rest only keeps its
    end from falling further below its start than what it already holds back.
    """
    ways = []
    for link, rigid, held in joints:
        ways.append((link.start, link.end, held))
        if rigid:
            ways.append((link.end, link.start, 0.0))
    firm = reached(sources, [(start, end) for start, end, slack in ways if not slack])
    lift, moving = dict.fromkeys(firm, 0.0), len(ways) > 0
    while moving:
        moving = False
        for start, end, slack in ways:
            if start in lift and lift[start] - slack > lift.get(end, -math.inf) + same:
                lift[end], moving = lift[start] - slack, True
    return lift
