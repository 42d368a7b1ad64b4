"""What is left of a network when shut links, dead ends and links in a row are folded away.

The flow in a dead end is what is drawn behind it, and links in a row carry one flow: only the
rest, the core, has to be found. Knows the attributes of links, but no numbers of a state.
"""

import math
from collections import defaultdict
from dataclasses import dataclass

from fuelkit.physics.chain import Chain
from fuelkit.physics.core import core_flows
from fuelkit.physics.errors import NetworkError


@dataclass(frozen=True)
class Skeleton:
    """A network with some links shut and some junctions drawn from, folded up. Frozen.

    sources : tuple of str
    links : tuple of int
        Links through which fuel could flow, by their place in the network.
    running : tuple of Link
        The same links.
    junctions : tuple of int
        Junctions that fuel could get to, by their place in the network.
    leaves : tuple of (str, str, Link, int)
        Dead ends, outermost first: the node, the node that it hangs on, the link, and 1 if the
        link leads to the dead end or -1 if away from it.
    chains : tuple of Chain
    nodes : tuple of str
        Junctions of the core.
    ends : tuple of (int, int)
        Places among them of each chain's ends; -1 for a source.
    """

    sources: tuple
    links: tuple
    running: tuple
    junctions: tuple
    leaves: tuple
    chains: tuple
    nodes: tuple
    ends: tuple

    @classmethod
    def of(cls, network, shut, drawn, returned):
        """Fold a network up, given its shut links and the nodes with demands above and below 0.

        Raises
        ------
        NetworkError
            If no open path leads to a demand, or from a return to a source.
        """
        open_links = [link for link in network.links if link.name not in shut]
        live = _live_nodes(network.sources, open_links, drawn, returned)
        running = [x for x in open_links if x.start in live and x.end in live]
        leaves, left = _without_leaves(running, set(network.sources))
        loaded = {*drawn, *returned}
        for leaf, away, *_ in leaves:
            loaded |= {away} if leaf in loaded else set()
        chains = _in_rows([Chain.of(link) for link in left], loaded.union(network.sources))
        ends = (node for chain in chains for node in (chain.start, chain.end))
        nodes = tuple(dict.fromkeys(node for node in ends if node not in network.sources))
        place = {node: i for i, node in enumerate(nodes)}
        kept = {link.name for link in running}
        return cls(
            network.sources,
            tuple(i for i, name in enumerate(network.names) if name in kept),
            tuple(running),
            tuple(i for i, node in enumerate(network.junctions) if node in live),
            tuple(leaves),
            tuple(chains),
            nodes,
            tuple((place.get(c.start, -1), place.get(c.end, -1)) for c in chains),
        )

    def solved(self, pressures, demands, guess=None):
        """Return what Newton's method finds on the core, folded out; None if it does not settle.

        Parameters
        ----------
        pressures, demands : dict of str to float
            Of the sources and the junctions. [Pa, kg/s]
        guess : Solution, optional
            Where to begin.

        Returns
        -------
        flows, pressures, holding : dict of str to float
            Flow of each link, pressure of each node, and the pressure that closed one-way links
            hold back. [kg/s, Pa]
        """
        flows, left = {}, dict(demands)
        for leaf, away, link, sign in self.leaves:
            drawn = left.pop(leaf, 0.0)
            if link.one_way and sign * drawn < 0.0:
                return None
            flows[link.name] = sign * drawn
            left[away] = left.get(away, 0.0) + drawn
        try:
            core = self._core(pressures, left, guess)
            return core and self._folded_out(flows, pressures, *core)
        except OverflowError:  # a law out of all proportion
            return None

    def _folded_out(self, flows, given, core_flow, core_pressure):
        """Flows of all links and pressures of all nodes from those of dead ends and core."""
        holding, found = {}, {node: float(given[node]) for node in self.sources}
        found.update(zip(self.nodes, core_pressure, strict=True))
        for chain, flow in zip(self.chains, core_flow, strict=True):
            chain.fold_out(flow, flows, found, holding)
        for leaf, away, link, sign in reversed(self.leaves):
            found[leaf] = found[away] - sign * link.fall(flows[link.name])
        return flows, found, holding

    def _core(self, pressures, demands, guess):
        drive = [
            pressures.get(c.start, 0.0) - pressures.get(c.end, 0.0) - c.offset for c in self.chains
        ]
        demand = [demands.get(node, 0.0) for node in self.nodes]
        begin = self._nearby(guess) if guess else None
        if begin is None:
            largest = 0.1 + max(map(abs, demand), default=0.0)
            begin = [largest] * len(drive), [0.0] * len(demand)
        return core_flows(self.ends, self.chains, drive, demand, *begin)

    def _nearby(self, guess):
        """Flows of the chains and pressures of the core in another solution, if it has them."""
        pressure = [guess.pressures.get(node, math.nan) for node in self.nodes]
        firsts = (chain.steps[0] for chain in self.chains)
        flow = [sign * guess.flows.get(link.name, 0.0) for link, sign, _ in firsts]
        return None if any(map(math.isnan, pressure)) else (flow, pressure)


def reached(seeds, steps):
    """Return the set of nodes that one gets to from `seeds` by (from, to) steps."""
    ahead = defaultdict(list)
    for start, end in steps:
        ahead[start].append(end)
    found, left = set(seeds), list(seeds)
    while left:
        for node in ahead.get(left.pop(), ()):
            if node not in found:
                found.add(node)
                left.append(node)
    return found


def _live_nodes(sources, open_links, drawn, returned):
    """Nodes that fuel can get to at all; raises if a demand is not one of them."""
    ahead = [(link.start, link.end) for link in open_links]
    ahead += [(link.end, link.start) for link in open_links if not link.one_way]
    live = reached({*sources, *returned}, ahead)
    unfed = [node for node in drawn if node not in live]
    if unfed:
        raise NetworkError(
            f"network: {', '.join(unfed)} draws fuel but no open path leads there from any "
            "source. Open a valve, run a pump, or take the demand away.",
            unfed=unfed,
        )
    if returned:
        drained = reached(sources, [(end, start) for start, end in ahead])
        stuck = sorted(set(returned) - drained)
        if stuck:
            raise NetworkError(
                f"network: {', '.join(stuck)} takes fuel in but no open path leads from there to "
                "any tank. Open a valve, or take the flow away.",
                unfed=stuck,
            )
    return live


def check_amounts(sources, links, demands):
    """Raise if nodes that no source feeds, but returns do, draw more than those give.

    Raises
    ------
    NetworkError
    """
    ahead = [(link.start, link.end) for link in links]
    ahead += [(link.end, link.start) for link in links if not link.one_way]
    fed = reached(sources, ahead)
    others = {node: demand for node, demand in demands.items() if node not in fed}
    if sum(others.values()) > 0.0:
        unfed = [node for node, demand in others.items() if demand > 0.0]
        raise NetworkError(
            f"network: {', '.join(unfed)} draws more fuel than is put in, and no open path leads "
            "there from any source. Open a valve, run a pump, or take some of the demand away.",
            unfed=unfed,
        )


def _at_nodes(links):
    """Links (or chains) by the nodes that they touch, in order; a loop stands there twice."""
    at = defaultdict(list)
    for link in links:
        at[link.start].append(link)
        at[link.end].append(link)
    return at


def _without_leaves(links, sources):
    """Dead ends, outermost first, and the links that are left without them."""
    at, leaves = _at_nodes(links), []
    ends = [node for node in at if node not in sources and len(at[node]) == 1]
    while ends:
        leaf = ends.pop()
        if len(at[leaf]) != 1:  # its last link went with the other end
            continue
        (link,) = at.pop(leaf)
        away, sign = (link.start, 1) if link.end == leaf else (link.end, -1)
        leaves.append((leaf, away, link, sign))
        at[away].remove(link)
        if away not in sources and len(at[away]) == 1:
            ends.append(away)
    gone = {link for _, _, link, _ in leaves}
    return leaves, [link for link in links if link not in gone]


def _in_rows(chains, kept):
    """Chains joined to longer ones at every node, but for those kept, where just two meet."""
    at = _at_nodes(chains)
    for node in list(at):
        if node in kept or len(at[node]) != 2:
            continue
        one, other = at[node]
        row = _row(one, other, node)
        if row is None:
            continue
        del at[node]
        for end in (row.start, row.end):
            place = next(i for i, x in enumerate(at[end]) if x is one or x is other)
            at[end][place] = row
    return list(dict.fromkeys(chain for found in at.values() for chain in found))


def _row(one, other, node):
    """Two chains that meet at a node as one; None if they make a loop or stop each other."""
    if one is other or {one.start, one.end} == {other.start, other.end}:
        return None
    if (one.end == node) == (other.end == node):  # turn one of them, if it may be turned
        if not other.one_way:
            other = other.reversed()
        elif not one.one_way:
            one = one.reversed()
        else:
            return None
    return one.joined(other) if one.end == node else other.joined(one)
