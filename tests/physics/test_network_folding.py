"""Promises of the quick way through a network: folded up, from a guess, from memory.

It is held against the slow way, the descent over the whole network, which cannot fail.
"""

import random

import pytest
from hypothesis import given, settings

from fuelkit.physics.chain import Chain
from fuelkit.physics.network import Link, Network, NetworkError, solve
from fuelkit.physics.skeleton import Skeleton
from tests.physics.test_network_laws import cases
from tests.physics.test_network_random_epanet import random_network


def feeds(count):
    """Tanks with two pumps and check valves each, that feed engines, joined by a crossfeed."""
    links = []
    for side in range(count):
        for number in (1, 2):
            out = f"outlet {side}.{number}"
            links += [
                Link(f"pump {side}.{number}", f"tank {side}", out, 90e3, rise=150e3 + side * 5e3),
                Link(f"flap {side}.{number}", out, f"rail {side}", 8e3, one_way=True),
            ]
        links.append(Link(f"feed {side}", f"rail {side}", f"engine {side}", 6e3))
        if side:
            links.append(Link(f"crossfeed {side}", f"rail {side - 1}", f"rail {side}", 12e3))
    return Network(tuple(links), tuple(f"tank {side}" for side in range(count)))


def state(count, level=9e3, drawn=0.5):
    """Pressures and demands of `feeds`."""
    return ({f"tank {side}": level + 100.0 * side for side in range(count)},
            {f"engine {side}": drawn for side in range(count)})  # fmt: skip


def test_pumps_with_their_valves_and_dead_ends_fold_away():
    """Of four junctions a side the core keeps one, and of five links a side two chains."""
    net = feeds(2)
    skeleton = net.skeleton(frozenset(), state(2)[1])
    assert set(skeleton.nodes) == {"rail 0", "rail 1"}
    assert len(skeleton.chains) == 5 and len(skeleton.leaves) == 2
    cut = net.skeleton({"crossfeed 1", "pump 0.1", "pump 1.2"}, state(2)[1])
    assert cut.nodes == () and cut.chains == () and len(cut.leaves) == 6


def test_a_chain_adds_laws_up_whichever_way_its_links_run():
    """Offsets change sign with the direction; the losses do not."""
    one = Chain.of(Link("a", "1", "2", 5.0, rise=7.0, friction=2.0))
    back = Chain.of(Link("b", "3", "2", 11.0, exponent=1.85, rise=3.0))
    both = one.joined(back.reversed())
    assert (both.start, both.end, both.offset, both.friction) == ("1", "3", -4.0, 3.0)
    assert both.quadratic == 5.0 and both.others == ((11.0, pytest.approx(0.85)),)
    assert [(link.name, sign, node) for link, sign, node in both.steps] == [
        ("a", 1, "2"), ("b", -1, "3"),
    ]  # fmt: skip


def test_random_networks_are_the_same_folded_up_and_whole(monkeypatch):
    """The quick way gives the flows and pressures of the slow way, and nearly always gives some."""
    quick, slow, folded = [], [], 0
    chances = [random_network(random.Random(seed)) for seed in range(1000, 1200)]
    for net, pressures, demands, shut in chances:
        try:
            folded += net.skeleton(frozenset(shut), demands).solved(pressures, demands) is not None
            quick.append(solve(net, pressures, demands, shut=shut))
        except NetworkError:
            quick.append(None)
    monkeypatch.setattr(Skeleton, "solved", lambda *_: None)
    for net, pressures, demands, shut in chances:
        try:
            slow.append(solve(net, pressures, demands, shut=shut))
        except NetworkError:
            slow.append(None)
    assert [found is None for found in quick] == [found is None for found in slow]
    assert folded >= 0.9 * sum(found is not None for found in quick) > 100
    for one, other in zip(quick, slow, strict=True):
        if one is not None:
            assert one.passing == other.passing
            # Where friction is 1e-3 Pa/(kg/s) rounding of a pressure moves a flow near 0 by 1e-8.
            assert one.flows == pytest.approx(other.flows, abs=1e-8)
            assert one.pressures == pytest.approx(other.pressures, abs=1e-3, nan_ok=True)


@settings(max_examples=100, deadline=None)
@given(cases())
def test_a_guess_changes_nothing_but_the_way(case):
    """From a solution at other pressures, demands and valves: the same solution."""
    net, pressures, demands, shut = case
    try:
        found = solve(net, pressures, demands, shut=shut)
        other = solve(net, {n: p + 500.0 for n, p in pressures.items()}, {})
    except NetworkError:
        return
    again = solve(net, pressures, demands, shut=shut, guess=other)
    size = max(1.0, *map(abs, found.flows.values()))
    assert again.flows == pytest.approx(found.flows, abs=1e-6 * size)
    known = [abs(p) for p in found.pressures.values() if p == p]
    assert again.pressures == pytest.approx(found.pressures, abs=1e-7 * max(known), nan_ok=True)


@pytest.mark.parametrize("count", [1, 2, 4, 8])
def test_a_guess_from_nearby_gives_the_same_to_rounding(count):
    """Levels that have moved by a hand's breadth: flows to 1e-12 of those found without it."""
    net = feeds(count)
    before = solve(net, *state(count, level=9e3))
    cold, warm = solve(net, *state(count, 8e3)), solve(net, *state(count, 8e3), guess=before)
    assert warm.flows == pytest.approx(cold.flows, rel=1e-12, abs=1e-12)
    assert warm.passing == cold.passing


def test_a_guess_of_another_network_does_no_harm():
    """Names that it lacks are begun anew."""
    small = solve(feeds(1), *state(1))
    found = solve(feeds(3), *state(3), guess=small)
    assert found.flows == pytest.approx(solve(feeds(3), *state(3)).flows, rel=1e-12, abs=1e-12)


def test_a_row_of_closed_valves_holds_back_at_the_last():
    """Two pumps in a row against a higher line: each line has what the pumps before it give."""
    links = (
        Link("1", "low", "a", 1e4, rise=50e3, one_way=True),
        Link("pipe 1", "a", "b", 1e4), Link("2", "b", "c", 1e4, rise=20e3, one_way=True),
        Link("pipe 2", "rail", "c", 1e4), Link("feed", "high", "rail", 1e4),
        Link("other", "high", "rail", 1e4),
    )  # fmt: skip
    net = Network(links, ("low", "high"))
    found = solve(net, {"low": 0.0, "high": 90e3}, {"rail": 0.2})
    rail = 90e3 - 1e4 * 0.1**2 - 0.1
    expected = {"a": 50e3, "b": 50e3, "c": rail, "rail": rail, "low": 0.0, "high": 90e3}
    assert found.pressures == pytest.approx(expected, abs=1e-6)
    assert found.flows["1"] == 0.0 and found.passing == {"1", "pipe 1", "pipe 2", "feed", "other"}


def test_what_was_solved_before_does_not_change_a_bit():
    """The same arguments give the same bits, from memory or not, after anything else."""
    fresh, used = feeds(3), feeds(3)
    for shut in ({"pump 0.1"}, {"pump 1.1", "crossfeed 1"}, frozenset()):
        solve(used, *state(3, level=2e3, drawn=0.2), shut=shut)
    found, again = solve(fresh, *state(3)), solve(used, *state(3))
    assert found.flows == again.flows and found.pressures == again.pressures
