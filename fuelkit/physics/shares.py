"""Whose fuel it is that flows in each part of a network. Knows links and flows, no pressures."""

import numpy as np

from fuelkit.physics.skeleton import reached


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
    >>> from fuelkit.physics.network import Link, Network
    >>> net = Network((Link("a", "left", "line"), Link("b", "right", "line")), ("left", "right"))
    >>> supply_shares(net, {"a": 3.0, "b": 1.0})["line"]
    {'left': 0.75, 'right': 0.25}
    """
    streams = _streams(network, flows)
    fed = reached(network.sources, [(start, end) for start, end, _ in streams])
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
