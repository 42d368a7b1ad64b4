"""An engine whose inlet pressure falls too low, at an instant or while levels move."""

from dataclasses import replace

import pytest

from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.physics.atmosphere import air
from fuelkit.physics.units import FOOT
from tests.physics.epanet import epanet_solution

NEED = 25_000.0  # Pa, as the aircraft's file says
CUT = 4000.0  # s


@pytest.fixture(scope="module")
def starved(halbrook, sector):
    """Both buses dead at 28 000 ft and one vent blocked: gravity feed, and less and less of it."""
    phases = tuple(
        replace(phase, altitude=28_000 * FOOT) if 3960.0 <= phase.start < 15_960.0 else phase
        for phase in sector.phases
    )
    failures = tuple(
        Failure(CUT, part, kind)
        for part, kind in (
            ("left bus", "failed"), ("right bus", "failed"), ("left inboard", "blocked"),
        )
    )  # fmt: skip
    return fly(halbrook, replace(sector, phases=phases, failures=failures, end=9000.0))


def inlet_pressure(flight, engine, time):
    """Absolute pressure at an engine's inlet [Pa], its network solved by EPANET."""
    movement = flight.movement(time)
    hydraulics, junction = flight.hydraulics, flight.aircraft.by_name[engine].start
    number = hydraulics.plumbing.part_of[junction]
    setting = movement.settings[number]
    ours = hydraulics.flow_afresh(setting, movement.first_heads())
    network = hydraulics.network(setting)
    potentials = {name: ours.pressures[name] for name in network.sources}
    _, pressures = epanet_solution(
        network, potentials, dict(setting.demands), setting.shut, flight.sector.density
    )
    height = flight.stance(time).height(flight.aircraft.by_name[junction].position)
    return pressures[junction] - hydraulics.weight * height + air(28_000 * FOOT).pressure


@pytest.mark.parametrize("engine", ["engine 1", "engine 2"])
def test_an_engine_stops_when_its_inlet_pressure_has_fallen_to_its_need(starved, engine):
    """Neither earlier nor later, though nothing else changes then; pressures by EPANET."""
    stop = next(c for c in starved.changes_of(engine) if c.after == "STARVED")
    assert stop.time > CUT + 10.0
    at_once = [c.number for c in starved.changes if abs(c.time - stop.time) < 1e-6]
    assert min(at_once) == stop.number  # nothing else has brought it about
    just_before = inlet_pressure(starved, engine, stop.time - 1e-3)
    assert just_before == pytest.approx(NEED, abs=50.0)
    assert inlet_pressure(starved, engine, stop.time - 10.0) > just_before
    assert "25.0 kPa, and it needs 25.0 kPa" in stop.reason


def test_with_its_vent_open_an_engine_runs_longer(starved, halbrook):
    """The blocked vent is what stops the left engine first."""
    sector = starved.sector
    vented = fly(halbrook, replace(sector, failures=sector.failures[:2]))
    first = next(c.time for c in starved.changes_of("engine 1") if c.after == "STARVED")
    later = [c.time for c in vented.changes_of("engine 1") if c.after == "STARVED"]
    assert not later or later[0] > first + 60.0
