"""Flows of a network as the least of a function: a second witness, by the library scipy.

The flows of a network, at given pressures and demands, are those of least content: the sum over
its links of the integral of the pressure fall, less what the sources push, among all flows that
add up and run the right way through one-way links. Source: C. Cherry and W. Millar, "Some general
theorems for non-linear systems possessing resistance", Philosophical Magazine 42, 1951 (from
memory). The function is convex, so what scipy finds is the only one.
"""

import numpy as np
from scipy.linalg import null_space
from scipy.optimize import LinearConstraint, linprog, minimize


def content(links, pressures, flows):
    """Content of flows in the order of the links. [W, with flow in kg/s and pressure in Pa]"""
    total = 0.0
    for link, q in zip(links, flows, strict=True):
        push = pressures.get(link.start, 0.0) - pressures.get(link.end, 0.0)
        loss = link.resistance * abs(q) ** (link.exponent + 1.0) / (link.exponent + 1.0)
        total += loss + link.friction * q * q / 2.0 + (link.opening - link.rise - push) * q
    return total


def _slope(links, pressures, flows):
    return np.array(
        [_fall(link, q) - pressures.get(link.start, 0.0) + pressures.get(link.end, 0.0)
         for link, q in zip(links, flows, strict=True)]
    )  # fmt: skip


def _bend(links, flows):
    return np.array(
        [link.friction + link.exponent * link.resistance * abs(q) ** (link.exponent - 1.0)
         for link, q in zip(links, flows, strict=True)]
    )  # fmt: skip


def _fall(link, q):
    loss = link.resistance * abs(q) ** (link.exponent - 1.0)
    return (loss + link.friction) * q + link.opening - link.rise


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
    # Any flows that add up, the smaller the better, to begin with: no pressure is looked at.
    twice = [(0.0, None)] * len(links) + [(0.0, 0.0 if x.one_way else None) for x in links]
    some = linprog(np.ones(2 * len(links)), A_eq=np.hstack([matrix, -matrix]), b_eq=drawn,
                   bounds=twice)  # fmt: skip
    if not some.success:
        return None
    begin = some.x[: len(links)] - some.x[len(links) :]
    # All other flows that add up differ from these by flows around loops.
    loops = null_space(matrix) if len(matrix) else np.eye(len(links))
    one_way = [link.one_way for link in links]
    problem = {
        "fun": lambda x: content(links, pressures, begin + loops @ x) / 1e5,
        "jac": lambda x: _slope(links, pressures, begin + loops @ x) @ loops / 1e5,
        "constraints": LinearConstraint(loops[one_way], -begin[one_way], np.inf),
    }
    # SLSQP is exact, but stops too soon where many one-way links are at rest: take the lower.
    rough = minimize(
        **problem,
        x0=np.zeros(loops.shape[1]),
        hess=lambda x: (loops.T * _bend(links, begin + loops @ x)) @ loops / 1e5,
        method="trust-constr",
        options={
            "gtol": 1e-10,
            "xtol": 1e-12,
            "barrier_tol": 1e-10,
            "maxiter": 3000,
            "factorization_method": "SVDFactorization",
        },
    )
    found = minimize(**problem, x0=rough.x, method="SLSQP", options={"ftol": 1e-15})
    best = begin + loops @ min(rough, found, key=lambda which: which.fun).x
    flows = dict.fromkeys((link.name for link in network.links), 0.0)
    return flows | {link.name: float(q) for link, q in zip(links, best, strict=True)}
