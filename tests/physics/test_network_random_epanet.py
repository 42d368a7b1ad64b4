"""Five hundred random networks against another engine: EPANET (public domain) through wntr.

Both find the same flows, or both say that a demand has no supply. Where EPANET does not settle,
or differs, a second witness decides: the flows of least content, found by scipy.
"""

import random
from collections import Counter
from dataclasses import dataclass

import pytest

from fuelkit.physics.network import Link, Network, NetworkError, solve
from tests.physics.epanet import (
    DISCONNECTED,
    NEGATIVE,
    NotSettled,
    determined,
    epanet_solution,
)
from tests.physics.least_content import content, least_content

CLOSE = 0.001  # of the largest flow, and of the largest pressure difference
NEAR = 0.01  # of the largest flow: the second witness is blunt where little flows
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


@dataclass(frozen=True)
class Compared:
    """One network in both engines: what each found, or why it found nothing."""

    case: tuple
    ours: object = None
    theirs: tuple = ()
    refused: object = None
    doubted: object = None

    @classmethod
    def of(cls, *case):
        """Solve it twice."""
        net, pressures, demands, shut = case
        ours, theirs, refused, doubted = None, (), None, None
        try:
            ours = solve(net, pressures, demands, shut=shut)
        except NetworkError as error:
            refused = error
        try:
            theirs = epanet_solution(net, pressures, demands, shut)
        except NotSettled as error:
            doubted = error
        return cls(case, ours, theirs, refused, doubted)

    @property
    def verdict(self):
        """Whether they agree, in a word or two."""
        if self.refused or self.doubted:
            unfed = self.refused and self.refused.unfed
            no_supply = self.doubted and self.doubted.code in (DISCONNECTED, NEGATIVE)
            return "both none" if unfed and no_supply else "differ"
        largest = max(map(abs, self.ours.flows.values()))
        off = max(abs(self.theirs[0][name] - flow) for name, flow in self.ours.flows.items())
        known = {n: self.ours.pressures[n] for n in determined(self.case[0], self.ours)}
        spread = max(known.values()) - min(known.values())
        high = max(abs(self.theirs[1].get(n, p) - p) for n, p in known.items())
        return "agree" if off <= CLOSE * largest and high <= CLOSE * spread else "differ"

    @property
    def explanation(self):
        """Why they differ, if scipy confirms what we found; None if it does not."""
        witness = least_content(*self.case)
        if self.refused:
            confirmed = witness is None and self.refused.unfed
            return f"no flows add up; EPANET: {self.doubted}" if confirmed else None
        if witness is None or not self.is_least(self.ours.flows, witness):
            return None
        if self.doubted:
            return f"the flows of least content were found; {self.doubted}"
        return "EPANET's flows are not of least content"

    def is_least(self, flows, witness):
        """Whether flows are those of the witness, and of no more content."""
        net, pressures, _, shut = self.case
        links = [link for link in net.links if link.name not in shut]
        largest = max(map(abs, witness.values()))
        if max(abs(flows[name] - q) for name, q in witness.items()) > NEAR * largest:
            return False
        mine, other = (content(links, pressures, [f[x.name] for x in links])
                       for f in (flows, witness))  # fmt: skip
        return mine <= other + 1e-6 * max(1.0, abs(other))


@pytest.mark.parametrize("block", range(10))
def test_random_networks_agree_or_have_no_solution_for_either(block):
    """Fifty networks a block: each that differs is named, and scipy says that ours is right."""
    found = {
        seed: Compared.of(*random_network(random.Random(seed)))
        for seed in range(BLOCK * block, BLOCK * (block + 1))
    }
    tally = Counter(compared.verdict for compared in found.values())
    print(f"networks {min(found)} to {max(found)}: {dict(tally)}")
    for seed, compared in found.items():
        if compared.verdict == "differ":
            explanation = compared.explanation
            print(f"network {seed} differs: {explanation}")
            assert explanation, f"network {seed}: {compared.refused or compared.doubted}"
    assert tally["agree"] >= 35 and tally["differ"] <= 2 and tally["both none"] >= 1
    agreed = [compared for compared in found.values() if compared.verdict == "agree"]
    sizes = [len(c.case[0].junctions) + len(c.case[0].sources) for c in agreed]
    assert min(sizes) <= 9 and max(sizes) >= 25
    for what, number in kinds_of_state(agreed).items():
        assert number >= 3, f"only {number} of the networks that agree have a {what}"


def kinds_of_state(agreed):
    """How many networks have a link in each of the states that matter."""
    count = dict.fromkeys(
        ["closed check valve", "open check valve", "idle pump", "pump between junctions",
         "closed relief valve", "open relief valve", "shut link", "loss that is not quadratic"], 0
    )  # fmt: skip
    for compared in agreed:
        (net, _, _, shut), found, seen = compared.case, compared.ours, set()
        for link in net.links:
            runs = found.flows[link.name] != 0.0
            if link.name in shut:
                seen.add("shut link")
            elif link.opening:
                seen.add("open relief valve" if runs else "closed relief valve")
            elif link.rise:
                at_tank = {link.start, link.end} & set(net.sources)
                seen.add("pump between junctions" if runs and not at_tank else "idle pump")
            elif link.one_way:
                seen.add("open check valve" if runs else "closed check valve")
            if runs and link.exponent != 2.0:
                seen.add("loss that is not quadratic")
        for what in seen & set(count):
            count[what] += 1
    return count


def test_the_second_witness_confirms_right_flows_and_not_wrong_ones():
    """Scipy finds the flows of 30 networks on which both agree, and none with a pump weaker."""
    seen = 0
    for seed in range(40):
        net, pressures, demands, shut = case = random_network(random.Random(seed))
        compared = Compared.of(*case)
        if compared.verdict != "agree":
            continue
        witness, seen = least_content(*case), seen + 1
        assert compared.is_least(compared.ours.flows, witness), f"network {seed}"
        around = {name: q + 0.02 * max(witness.values()) for name, q in witness.items()}
        assert not compared.is_least(around, witness)
    assert seen >= 30


def test_the_second_witness_knows_when_no_flows_add_up():
    """A demand behind a check valve that points away from it has none."""
    net = Network((Link("flap", "engine", "tank", 1e4, one_way=True),), ("tank",))
    assert least_content(net, {"tank": 0.0}, {"engine": 0.1}, set()) is None
