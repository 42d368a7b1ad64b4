"""Every network that the course's sector has to solve, against another engine.

Source: the EPANET engine (US Environmental Protection Agency, public domain) through the PyPI
library wntr; see tests/physics/epanet.py for what stands for what.
"""

import math

import pytest

from tests.physics.epanet import epanet_solution

SHARE = 0.005  # of the largest flow, and of the largest pressure difference


@pytest.fixture(scope="module")
def configurations(flight):
    """Each distinct setting of a network with junctions, with the levels when it first occurs."""
    hydraulics, found = flight.hydraulics, {}
    for segment in flight.segments:
        movement = flight.movement(segment.state.time)
        heads = movement.heads(segment.state.quantities)
        for setting in movement.settings:
            part = hydraulics.parts[setting.part]
            open_links = {link.name for link in part.network.links} - setting.shut
            if not part.between_tanks and open_links:
                found.setdefault(setting, (segment.state.time, heads))
    return found


def test_the_sector_has_many_configurations_to_compare(configurations, flight):
    """With and without pumps, one tank and two, engines and APU, and refuelling."""
    names = {flight.hydraulics.parts[s.part].network.links[0].name for s in configurations}
    assert len(configurations) > 30 and len(names) == 2


def test_flows_and_pressures_of_every_configuration_agree_with_epanet(configurations, flight):
    """Within 0.5 % of the largest flow and of the largest pressure difference."""
    flow_errors, pressure_errors = [], []
    for setting, (_, heads) in configurations.items():
        network = flight.hydraulics.parts[setting.part].network
        ours = flight.hydraulics.flow_afresh(setting, heads)
        potentials = {name: ours.pressures[name] for name in network.sources}
        flows, pressures = epanet_solution(
            network, potentials, dict(setting.demands), setting.shut, flight.sector.density
        )
        largest = max([1e-3, *map(abs, flows.values())])
        flow_errors += [abs(flow - ours.flows[name]) / largest for name, flow in flows.items()]
        known = {n: p for n, p in ours.pressures.items() if not math.isnan(p)}
        span = max(known.values()) - min(known.values())
        pressure_errors += [abs(p - known[n]) / span for n, p in pressures.items() if n in known]
    print(f"largest flow error {max(flow_errors):.3%} of {len(flow_errors)}", end="; ")
    print(f"largest pressure error {max(pressure_errors):.3%} of {len(pressure_errors)}")
    assert max(flow_errors) < SHARE
    assert max(pressure_errors) < SHARE
    assert len(pressure_errors) > 500


def test_only_trapped_sections_have_no_pressure(configurations, flight):
    """EPANET's valves leak, so it has a pressure everywhere; here a shut-off section has none."""
    trapped = set()
    for setting, (_, heads) in configurations.items():
        network = flight.hydraulics.parts[setting.part].network
        pressures = flight.hydraulics.flow_afresh(setting, heads).pressures
        none = {node for node, p in pressures.items() if math.isnan(p)}
        for link in (x for x in network.links if x.name not in setting.shut):
            assert link.start in none or link.end not in none
            assert link.one_way or link.end in none or link.start not in none
        trapped |= none
    assert "left centre outlet" in trapped and "left manifold" not in trapped
