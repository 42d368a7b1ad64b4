"""Laws that hold on any pipe-and-pump network, searched for a network that breaks one."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.physics.lone_link import flow_through
from fuelkit.physics.network import Link, Network, NetworkError, solve, supply_shares


@st.composite
def cases(draw):
    """Any network: tree and loops of every kind of link, 1 to 3 tanks, demands, shut links."""
    kinds = {
        "pipe": {},
        "check valve": {"one_way": True},
        "pump": {"one_way": True, "rise": 200e3},
        "strong pump": {"one_way": True, "rise": 300e3},
        "two-way pump": {"rise": 50e3},
        "relief valve": {"one_way": True, "opening": 60e3},
    }
    tanks = [f"tank {i}" for i in range(draw(st.integers(1, 3)))]
    junctions = [f"node {i}" for i in range(draw(st.integers(1, 8)))]
    nodes, links = list(tanks), []

    def add(start, end):
        power = draw(st.one_of(st.floats(0.0, 9.0), st.floats(3.5, 5.5)))
        links.append(
            Link(
                f"link {len(links)}",
                start,
                end,
                resistance=10.0**power,
                exponent=draw(st.sampled_from([1.0, 1.85, 2.0])),
                friction=draw(st.sampled_from([1.0, 1e-3])),
                **kinds[draw(st.sampled_from(sorted(kinds)))],
            )
        )

    for junction in junctions:
        add(draw(st.sampled_from(nodes)), junction)
        nodes.append(junction)
    for _ in range(draw(st.integers(0, 8))):
        start = draw(st.sampled_from(nodes))
        add(start, draw(st.sampled_from([n for n in nodes if n != start])))
    demand = st.sampled_from([0.0, 0.0, 0.3, 1e-4, 2.0])
    return (
        Network(tuple(links), tuple(tanks)),
        {tank: draw(st.sampled_from([0.0, 5e3, 5.001e3, 2e4])) for tank in tanks},
        {junction: draw(demand) for junction in junctions},
        frozenset(link.name for link in links if draw(st.integers(0, 9)) == 0),
    )


def solved(case):
    """Solution of a case, or None where a demand cannot be fed."""
    net, pressures, demands, shut = case
    try:
        return solve(net, pressures, demands, shut=shut)
    except NetworkError as error:
        assert error.unfed, "only an unfed demand may stop a sound network"
        return None


def fall(link, flow):
    """Pressure fall along an open link, by the law in its docstring."""
    loss = link.resistance * abs(flow) ** (link.exponent - 1.0)
    return link.opening - link.rise + (link.friction + loss) * flow


any_network = settings(max_examples=150, deadline=None)


@any_network
@given(cases())
def test_fuel_is_conserved_at_every_junction(case):
    """What flows in flows out or is drawn, to 1e-9 kg/s (of a tonne a second, if that flows)."""
    net, _, demands, _ = case
    found = solved(case)
    if found is None:
        return
    close = 1e-9 * max(1.0, *(abs(flow) / 1e3 for flow in found.flows.values()))
    for junction in net.junctions:
        into = sum(found.flows[link.name] for link in net.links if link.end == junction)
        out = sum(found.flows[link.name] for link in net.links if link.start == junction)
        assert abs(into - out - demands[junction]) <= close


@any_network
@given(cases())
def test_pressure_falls_along_every_open_link_by_its_law(case):
    """The energy law holds where fuel may flow; a closed one-way link holds pressure back."""
    net, *_, shut = case
    found = solved(case)
    if found is None:
        return
    known = [abs(p) for p in found.pressures.values() if not math.isnan(p)]
    # Rounding of the pressures: a few units in the last place of the largest at rest.
    close = 1e-7 * max(1e5, *known)
    for link in net.links:
        start, end = found.pressures[link.start], found.pressures[link.end]
        flow = found.flows[link.name]
        if link.name in found.passing:
            assert abs(start - end - fall(link, flow)) <= close
        elif link.name not in shut and not math.isnan(start) and not math.isnan(end):
            assert link.one_way and start - end <= link.opening - link.rise + close


@any_network
@given(cases())
def test_a_closed_link_carries_exactly_nothing_and_a_one_way_link_nothing_backwards(case):
    """Not passing means a flow of 0.0, not a small one."""
    net, *_, shut = case
    found = solved(case)
    if found is None:
        return
    assert not found.passing & shut
    for link in net.links:
        if link.name not in found.passing:
            assert found.flows[link.name] == 0.0
        if link.one_way:
            assert found.flows[link.name] >= 0.0


@any_network
@given(cases(), st.randoms(use_true_random=False))
def test_the_order_of_the_links_does_not_matter(case, order):
    """Shuffled links give the same flows and pressures."""
    net, pressures, demands, shut = case
    found = solved(case)
    links = list(net.links)
    order.shuffle(links)
    again = solved((Network(tuple(links), net.sources), pressures, demands, shut))
    if found is None:
        assert again is None
        return
    # Where the law is nearly flat (friction 1e-3 Pa/(kg/s)) rounding of pressure moves flow.
    size = max(1.0, *map(abs, found.flows.values()))
    assert again.flows == pytest.approx(found.flows, abs=1e-6 * size)
    high = max(1e5, *(abs(p) for p in found.pressures.values() if not math.isnan(p)))
    assert again.pressures == pytest.approx(found.pressures, abs=1e-7 * high, nan_ok=True)


@any_network
@given(cases())
def test_supply_shares_of_a_node_sum_to_one(case):
    """All fuel in a fed node comes from the tanks; a node that nothing flows to has no share."""
    net, *_ = case
    found = solved(case)
    if found is None:
        return
    shares = supply_shares(net, found.flows)
    assert set(shares) == set(net.junctions)
    for node, by_source in shares.items():
        drawn = case[2][node] > 0.0
        assert not by_source or sum(by_source.values()) == pytest.approx(1.0, abs=1e-6)
        assert by_source or not drawn
        assert all(0.0 < share <= 1.0 + 1e-9 for share in by_source.values())


@given(
    st.floats(-3e5, 3e5),
    st.floats(0.0, 9.0),
    st.sampled_from([1.0, 1.85, 2.0]),
    st.booleans(),
    st.sampled_from([{}, {"rise": 5e4}]),
)
def test_a_lone_link_flows_as_in_a_network(drive, power, exponent, one_way, more):
    """The flow through one link obeys its law, both from `flow_through` and from `solve`."""
    link = Link("it", "a", "b", 10.0**power, exponent, one_way=one_way, **more)
    lone = flow_through(link, drive, 0.0)
    found = solve(Network((link,), ("a", "b")), {"a": drive, "b": 0.0}, {})
    assert lone == pytest.approx(found.flows["it"], rel=1e-9, abs=1e-9)
    if lone:
        assert fall(link, lone) == pytest.approx(drive, rel=1e-9, abs=1e-6)


def test_many_unlike_networks_settle():
    """A thousand networks with resistances from 1 to 1e9, many at rest: none is given up."""
    chance, settled = random.Random(1), 0
    kinds = [
        *({}, {}, {"one_way": True}),
        {"one_way": True, "rise": 200e3},
        {"one_way": True, "opening": 100e3},
    ]
    for _ in range(1000):
        count = chance.randint(1, 20)
        nodes, links = ["tank 1", "tank 2"], []
        for i in range(count + chance.randint(0, 15)):
            ends = (chance.choice(nodes), f"n{i}") if i < count else tuple(chance.sample(nodes, 2))
            nodes += [ends[1]] * (i < count)
            resistance = 10.0 ** chance.uniform(0.0, 9.0)
            links.append(Link(str(i), *ends, resistance, friction=1e-3, **chance.choice(kinds)))
        demands = {n: 0.3 for n in nodes[2:] if chance.random() < chance.choice([0.0, 0.1])}
        case = Network(tuple(links), ("tank 1", "tank 2")), {"tank 1": 0.0, "tank 2": 1e4}
        settled += solved((*case, demands, frozenset())) is not None
    assert settled > 750
