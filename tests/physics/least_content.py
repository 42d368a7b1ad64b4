"""Flows of a network as the least of a function: a second witness, by the library scipy.

The flows of a network, at given pressures and demands, are those of least content: the sum over
its links of the integral of the pressure fall, less what the sources push, among all flows that
add up and run the right way through one-way links. Source: C. Cherry and W. Millar, "Some general
theorems for non-linear systems possessing resistance", Philosophical Magazine 42, 1951 (from
memory). The function is convex, so what scipy finds is the only one.
"""

import numpy as np
from scipy.optimize import linprog, minimize


def content(links, pressures, flows):
    """Content of flows in the order of the links. [W, with flow in kg/s and pressure in Pa]"""
    total = 0.0
    for link, q in zip(links, flows, strict=True):
        push = pressures.get(link.start, 0.0) - pressures.get(link.end, 0.0)
        loss = link.resistance * abs(q) ** (link.exponent + 1.0) / (link.exponent + 1.0)
        total += loss + link.friction * q * q / 2.0 + (link.opening - link.rise - push) * q
    return total


def _slope(links, pressures, flows):
    push = [pressures.get(x.start, 0.0) - pressures.get(x.end, 0.0) for x in links]
    return np.array(
        [
            (x.resistance * abs(q) ** (x.exponent - 1.0) + x.friction) * q + x.opening - x.rise - p
            for x, q, p in zip(links, flows, push, strict=True)
        ]
    )


def least_content(network, pressures, demands, shut):
    """Return the flows [kg/s] of least content by name of link; None if no flows add up."""
    links = [link for link in network.links if link.name not in shut]
    row = {node: i for i, node in enumerate(network.junctions)}
    matrix = np.zeros((len(row), len(links)))
    for k, link in enumerate(links):
        for node, sign in ((link.start, -1.0), (link.end, 1.0)):
            if node in row:
                matrix[row[node], k] += sign
    drawn = np.array([demands.get(node, 0.0) for node in network.junctions])
    bounds = [(0.0 if link.one_way else None, None) for link in links]
    # Any flows that add up, the smaller the better, to begin with: no pressure is looked at.
    twice = [(0.0, None)] * len(links) + [(0.0, 0.0 if x.one_way else None) for x in links]
    some = linprog(np.ones(2 * len(links)), A_eq=np.hstack([matrix, -matrix]), b_eq=drawn,
                   bounds=twice)  # fmt: skip
    if not some.success:
        return None
    begin = some.x[: len(links)] - some.x[len(links) :]
    best = begin
    for _ in range(50):  # it stops early where the function is flat: begin again until it stays
        found = minimize(
            lambda q: content(links, pressures, q) / 1e5,
            best,
            jac=lambda q: _slope(links, pressures, q) / 1e5,
            constraints={"type": "eq", "fun": lambda q: matrix @ q - drawn, "jac": lambda _: matrix},
            bounds=bounds,
            method="SLSQP",
            options={"maxiter": 1000, "ftol": 1e-15},
        )
        moved, best = np.abs(found.x - best).max(), found.x
        if moved < 1e-9:
            break
    flows = dict.fromkeys((link.name for link in network.links), 0.0)
    return flows | {link.name: float(q) for link, q in zip(links, best, strict=True)}
