"""The network solver against another engine: EPANET (public domain) through the library wntr.

A network that EPANET does not settle, or warns about, is no evidence either way: it is named in
the output and not counted.
"""

import random
from dataclasses import replace

import pytest

from fuelkit.physics.network import Link, Network, NetworkError, solve
from tests.physics.epanet import NotSettled, epanet_solution

CLOSE = 0.001  # of the largest flow, and of the largest pressure difference
FINE = {"friction": 1e-3}


def feed_network():
    """A twin's feed lines: two boost pumps a side, overriding centre pumps, bypass, crossfeed."""
    links = []
    for side, engine in (("left", "engine 1"), ("right", "engine 2")):
        rail = f"{side} rail"
        for number in (1, 2):
            out = f"{side} pump {number} outlet"
            links += [
                Link(f"{side} pump {number}", f"{side} tank", out, 90e3, rise=150e3, **FINE),
                Link(f"{side} flap {number}", out, rail, 8e3, one_way=True, **FINE),
            ]
        links += [
            Link(f"{side} centre pump", "centre tank", f"{side} out", 40e3, rise=260e3, **FINE),
            Link(f"{side} sequence valve", f"{side} out", rail, 9e3, opening=20e3, one_way=True),
            Link(f"{side} bypass", f"{side} tank", rail, 50e3, one_way=True, **FINE),
            Link(f"{side} shut-off valve", rail, engine, 6e3, **FINE),
        ]
    links.append(Link("crossfeed valve", "left rail", "right rail", 12e3, **FINE))
    return Network(tuple(links), ("left tank", "right tank", "centre tank"))


def centre(running):
    """The centre pumps that are shut."""
    return set() if running else {"left centre pump", "right centre pump"}


CONFIGURATIONS = {
    "centre pumps override": {"crossfeed valve"},
    "wing pumps alone": {"crossfeed valve"} | centre(False),
    "crossfeed, right pumps off": {"right pump 1", "right pump 2"} | centre(False),
    "one centre pump through the crossfeed": {"left centre pump"},
    "one pump a side": {"left pump 1", "right pump 2", "crossfeed valve"} | centre(False),
    "gravity feed": {f"{s} pump {n}" for s in ("left", "right") for n in (1, 2)}
    | {"crossfeed valve"}
    | centre(False),
}


@pytest.mark.parametrize("configuration", CONFIGURATIONS)
def test_a_feed_network_agrees_in_each_configuration(configuration):
    """Who feeds whom, how much, and at what pressure, is what EPANET says too."""
    pressures = {"left tank": 9e3, "right tank": 7e3, "centre tank": 4e3}
    demands = {"engine 1": 0.9, "engine 2": 0.7}
    assert_agrees(feed_network(), pressures, demands, CONFIGURATIONS[configuration])


def assert_agrees(net, pressures, demands, shut):
    """Compare every flow, and the pressure of every node that has just one."""
    found = solve(net, pressures, demands, shut=shut)
    flows, heads = epanet_solution(net, pressures, demands, shut)
    largest = max(map(abs, found.flows.values()))
    assert flows == pytest.approx(found.flows, abs=CLOSE * largest)
    moving = determined(net, found)
    spread = max(found.pressures[n] for n in moving) - min(found.pressures[n] for n in moving)
    expected = {node: found.pressures[node] for node in moving}
    assert {n: heads[n] for n in moving} == pytest.approx(expected, abs=CLOSE * spread)


def determined(net, found):
    """Nodes joined to a source by flow or by open two-way links: elsewhere pressure is free."""
    small = 1e-4 * max(map(abs, found.flows.values()))
    joins = [
        {link.start, link.end}
        for link in net.links
        if link.name in found.passing and (not link.one_way or found.flows[link.name] > small)
    ]
    nodes, before = set(net.sources), 0
    while len(nodes) > before:
        before = len(nodes)
        nodes = nodes.union(*(pair for pair in joins if pair & nodes))
    return nodes


def random_network(chance):
    """Return a random network of 4 to 30 nodes with its pressures, demands and shut links."""
    tanks = [f"tank {i}" for i in range(chance.randint(1, 4))]
    nodes, links = list(tanks), []
    pumps = {"rise": 200e3, "one_way": True}
    kinds = [{}, {}, {}, {"one_way": True}, {"one_way": True}, pumps]

    def add(start, end, **law):
        more = {"exponent": chance.choice([2.0, 2.0, 2.0, 1.85, 1.0]), **law}
        resistance = 10.0 ** chance.uniform(4.0, 5.5)
        links.append(Link(f"link {len(links)}", start, end, resistance, **more, **FINE))

    for tank in tanks:  # a pump behind an inlet pipe is EPANET's own pump
        add(tank, f"{tank} inlet", exponent=2.0)
        rise = chance.choice([150e3, 200e3, 300e3])
        add(f"{tank} inlet", f"{tank} outlet", rise=rise, one_way=True, exponent=2.0)
        nodes.append(f"{tank} outlet")
    wanted = chance.randint(max(4, len(tanks) * 3), 30) - len(tanks) * 3
    for i in range(wanted):
        law = chance.choice(kinds[:5])
        nodes.append(f"node {i}")
        add(chance.choice(nodes[:-1]), nodes[-1], **law)
    for _ in range(chance.randint(1, 10)):
        start, end = chance.sample(nodes, 2)
        law = chance.choice(kinds)
        add(start, end, **(law if start in tanks or not law.get("rise") else {}))
    for _ in range(chance.choice([0, 0, 1, 2])):
        start, end = chance.sample(nodes, 2)
        add(start, end, opening=chance.choice([20e3, 60e3]), one_way=True, exponent=2.0)
    drawn = chance.sample(nodes[len(tanks) :], min(len(nodes) - len(tanks), chance.randint(1, 3)))
    demands = {node: chance.uniform(0.1, 0.9) for node in drawn}
    shut = {link.name for link in links if chance.random() < 0.08}
    pressures = {tank: chance.uniform(0.0, 20e3) for tank in tanks}
    return Network(tuple(links), tuple(tanks)), pressures, demands, shut


def test_random_networks_agree():
    """At least eighty random networks, all that EPANET settles without a warning, agree."""
    agreed, passed_over = [], []
    for seed in range(200):
        case = random_network(random.Random(seed))
        try:
            assert_agrees(*case)
        except NetworkError as error:
            assert error.unfed, f"network {seed}: {error}"
            passed_over.append(f"network {seed}: {error}")
        except NotSettled as error:
            passed_over.append(f"network {seed}: {error}")
        except AssertionError as error:
            raise AssertionError(f"network {seed}: {error}") from error
        else:
            agreed.append(case)
    print(f"{len(agreed)} networks agree; not counted:", *passed_over, sep="\n")
    assert len(agreed) >= 80
    sizes = [len(net.junctions) + len(net.sources) for net, *_ in agreed]
    assert min(sizes) <= 6 and max(sizes) >= 28
    for what, number in kinds_of_state(agreed).items():
        assert number >= 10, f"only {number} of the networks that agree have a {what}"


def kinds_of_state(cases):
    """How many cases have a link in each of the states that matter."""
    count = dict.fromkeys(
        ["closed check valve", "open check valve", "idle pump", "pump between junctions",
         "closed relief valve", "open relief valve", "shut link", "loss that is not quadratic"], 0
    )  # fmt: skip
    for net, pressures, demands, shut in cases:
        found, seen = solve(net, pressures, demands, shut=shut), set()
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


def test_the_comparison_would_notice_a_pump_that_is_a_tenth_weaker():
    """A network that differs from EPANET's in one resistance does not agree."""
    net, pressures = feed_network(), {"left tank": 9e3, "right tank": 7e3, "centre tank": 4e3}
    shut = CONFIGURATIONS["one pump a side"]
    flows, heads = epanet_solution(net, pressures, {"engine 1": 0.9}, shut)
    weaker = tuple(
        replace(link, resistance=1.1 * link.resistance) if link.name == "left pump 2" else link
        for link in net.links
    )
    found = solve(Network(weaker, net.sources), pressures, {"engine 1": 0.9}, shut=shut)
    spread = max(heads.values()) - min(heads.values())
    assert abs(heads["engine 1"] - found.pressures["engine 1"]) > CLOSE * spread
    assert flows["left shut-off valve"] == pytest.approx(0.9, rel=1e-6)
