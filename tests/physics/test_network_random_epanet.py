"""Five hundred random networks against another engine: EPANET (public domain) through wntr.

Both find the same flows, or both say that a demand has no supply. Where EPANET does not settle,
or differs, a second witness decides: the flows of least content, found by scipy.
"""

import random
from collections import Counter
from dataclasses import dataclass

import pytest

from fuelkit.physics.network import Link, Network, NetworkError, solve
from tests.physics.epanet import DISCONNECTED, NEGATIVE, NotSettled, epanet_solution
from tests.physics.least_content import content, least_content

CLOSE = 0.005  # of the largest flow
BLOCK = 50  # networks in one test, so that tests can be shared out
PUMP = {"one_way": True, "exponent": 2.0}


def random_network(chance):
    """Return a random network of 4 to 30 nodes with its pressures, demands and shut links."""
    return _Growing(chance).case()


class _Growing:
    """A network that grows link by link, each node reached from a tank.

    Nearly every end is drawn from. EPANET opens and closes the valves of lines at rest for ever,
    so that a network of many dead ends would be no comparison.
    """

    def __init__(self, chance):
        self.chance, self.links = chance, []
        size = chance.randint(4, 30)
        most = max(1, min(4, size // 4))
        self.tanks = [f"tank {i}" for i in range(chance.randint(1, most))]
        self.nodes = list(self.tanks)
        for tank in self.tanks:
            self.add(tank, f"{tank} inlet", exponent=2.0)
            rise = chance.choice([150e3, 200e3, 300e3])
            self.add(f"{tank} inlet", f"{tank} outlet", rise=rise, **PUMP)
        # A node grows from any node but a pump's inlet, most often along an open pipe.
        while len(self.nodes) < size:
            start = chance.choice([n for n in self.nodes if not n.endswith("inlet")])
            self.add(start, f"node {len(self.nodes)}", one_way=chance.random() < 0.3)
        self._add_cross_links(chance)

    def add(self, start, end, **law):
        """Add a link, and its end if that is new."""
        powers = [2.0, 2.0, 1.852] if law.get("one_way") else [2.0, 2.0, 1.852, 1.852, 1.0]
        more = {"exponent": self.chance.choice(powers), "friction": 1e-3, **law}
        resistance = 10.0 ** self.chance.uniform(4.0, 5.5)
        self.links.append(Link(f"link {len(self.links)}", start, end, resistance, **more))
        self.nodes += [end] * (end not in self.nodes)

    def _add_cross_links(self, chance):
        for _ in range(chance.randint(1, 10)):
            start, end = chance.sample(self.nodes, 2)
            pump = {"rise": chance.choice([50e3, 100e3]), **PUMP}
            self.add(start, end, **chance.choice([{}, {}, {"one_way": True}, pump]))
        for _ in range(chance.choice([0, 0, 1, 2])):
            start, end = chance.sample(self.nodes, 2)
            opening = chance.choice([20e3, 60e3])
            self.add(start, end, opening=opening, one_way=True, exponent=2.0)

    def case(self):
        """Return the network with random pressures, demands and shut links."""
        chance = self.chance
        shut = {x.name for x in self.links if chance.random() < chance.choice([0.0, 0.0, 0.1])}
        touching = Counter(n for x in self.links if x.name not in shut for n in (x.start, x.end))
        ends = [n for n in self.nodes if n not in self.tanks and touching[n] == 1]
        drawn = {n for n in ends if chance.random() < 0.95}
        others = [n for n in self.nodes if n not in self.tanks and n not in ends]
        drawn |= set(chance.sample(others, min(len(others), chance.randint(1, 3))))
        total, shares = chance.uniform(0.2, 2.0), {n: chance.uniform(0.1, 0.9) for n in self.nodes}
        scale = total / sum(shares[n] for n in drawn)
        demands = {n: scale * shares[n] for n in self.nodes if n in drawn}
        pressures = {tank: chance.uniform(0.0, 20e3) for tank in self.tanks}
        return Network(tuple(self.links), tuple(self.tanks)), pressures, demands, shut


@dataclass
class Compared:
    """One network in both engines: what each found, or why it found nothing."""

    ours: object = None
    theirs: object = None
    refused: object = None
    doubted: object = None

    @classmethod
    def of(cls, net, pressures, demands, shut):
        """Solve it twice."""
        self = cls()
        try:
            self.ours = solve(net, pressures, demands, shut=shut).flows
        except NetworkError as error:
            self.refused = error
        try:
            self.theirs, _ = epanet_solution(net, pressures, demands, shut)
        except NotSettled as error:
            self.doubted = error
        return self

    @property
    def verdict(self):
        """In a word."""
        no_supply = self.doubted and self.doubted.code in (DISCONNECTED, NEGATIVE)
        if self.refused:
            return "both none" if no_supply else "differ"
        if self.doubted:
            return "differ" if no_supply else "not settled"
        largest = max(map(abs, self.ours.values()))
        apart = max(abs(self.theirs[name] - flow) for name, flow in self.ours.items())
        return "agree" if apart <= CLOSE * largest else "differ"
