"""The feed network against another engine: EPANET (public domain) through the library wntr."""

from dataclasses import replace

import pytest

from fuelkit.physics.network import Link, Network, solve
from tests.physics.epanet import determined, epanet_solution

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


def every_kind_of_supply():
    """Pumps in series and in parallel, a jet pump's motive line, relief, crossfeed and gravity."""
    links = (
        Link("first pump", "tank A", "between", 60e3, rise=120e3, one_way=True, **FINE),
        Link("second pump", "between", "rail A", 50e3, rise=110e3, one_way=True, **FINE),
        Link("motive line", "rail A", "tank A", 2e7, one_way=True, **FINE),
        Link("parallel pump 1", "tank B", "rail B", 90e3, rise=200e3, one_way=True, **FINE),
        Link("parallel pump 2", "tank B", "rail B", 70e3, rise=190e3, one_way=True, **FINE),
        Link("relief valve", "rail B", "tank B", 30e3, opening=170e3, one_way=True, **FINE),
        Link("gravity line", "tank C", "rail B", 25e3, one_way=True, **FINE),
        Link("transfer relief", "rail A", "rail B", 40e3, opening=30e3, one_way=True, **FINE),
        Link("crossfeed valve", "rail A", "rail B", 12e3, **FINE),
        Link("feed 1", "rail A", "engine 1", 6e3, **FINE),
        Link("feed 2", "rail B", "engine 2", 6e3, **FINE),
    )
    return Network(links, ("tank A", "tank B", "tank C"))


SERIES, PARALLEL = {"first pump", "second pump"}, {"parallel pump 1", "parallel pump 2"}
# What is shut, what the engines draw, and which links then carry fuel.
SUPPLIES = {
    "all pumps, little drawn: the relief valve spills": (
        {"crossfeed valve"}, 0.05, SERIES | PARALLEL | {"motive line", "relief valve",
        "transfer relief"},
    ),
    "all pumps, much drawn: the relief valve is shut": (
        {"crossfeed valve"}, 1.42, SERIES | PARALLEL | {"motive line"},
    ),
    "pumps in series feed both through the crossfeed": (
        PARALLEL, 0.4, SERIES | {"motive line", "crossfeed valve"},
    ),
    "pumps in parallel feed both, and the motive line": (
        {"second pump"}, 0.6, PARALLEL | {"motive line", "crossfeed valve"},
    ),
    "one parallel pump against the relief valve": (
        SERIES | {"parallel pump 2"}, 0.0, {"parallel pump 1", "relief valve", "motive line",
        "crossfeed valve"},
    ),
    "gravity feeds both, from the higher tank, and hardly drives the jet": (
        SERIES | PARALLEL, 0.1, {"gravity line", "crossfeed valve", "motive line"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", SUPPLIES)
def test_every_kind_of_supply_agrees_in_one_network(case):
    """The links that carry fuel are those expected, with the flows of EPANET."""
    shut, drawn, running = SUPPLIES[case]
    pressures = {"tank A": 9e3, "tank B": 6e3, "tank C": 12e3}
    demands = {"engine 1": drawn, "engine 2": 0.8 * drawn}
    found = solve(every_kind_of_supply(), pressures, demands, shut=shut)
    feeds = {"feed 1", "feed 2"} if drawn else set()
    assert {name for name, flow in found.flows.items() if flow} == running | feeds
    assert_agrees(every_kind_of_supply(), pressures, demands, shut)


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
