"""A plan's own profile, flown by the computed flight: it burns the plan's trip fuel.

Plan and flight share no code: one integrates over mass from tables, the other follows the fuel
through tanks, pumps and pipes. Both must agree on what leaves the tanks for the engines.
"""

import math
from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.plan import PlanRequest, fuel_plan
from fuelkit.figures.trip import Route
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Phase, load_sector
from fuelkit.physics.units import FOOT, NAUTICAL_MILE

# By aircraft: a sector of the kit whose crew starts and stops everything, and when it takes off.
CASES = {
    "halbrook-40": ("tarn-hollow-sable-cay", 3600.0, 330.0, 20_000.0),
    "halbrook-180": ("eastmere-port-ellery", 15_000.0, 1250.0, 35_000.0),
    "halbrook-300": ("eastmere-sable-cay", 26_000.0, 3300.0, 35_000.0),
}


def planned(name):
    """Return the aircraft and the plan of its case."""
    _, payload, miles, feet = CASES[name]
    aircraft = load_aircraft(name)
    request = PlanRequest(payload, Route(miles * NAUTICAL_MILE, feet * FOOT, 6.0))
    return aircraft, fuel_plan(aircraft, request)


def sector_of(aircraft, plan):
    """Return a sector with the plan's phases, each at its mean burn, and the take-off instant.

    What the crew does until ten minutes after take-off, high-lift surfaces in, is a sector's of
    the kit; what it does later is left out.
    """
    base = load_sector(CASES[aircraft.identifier][0], aircraft)
    start = next(phase.start for phase in base.phases if phase.name == "take-off")
    engines = sum(consumer.kind == "engine" for consumer in aircraft.consumers)
    phases = [phase for phase in base.phases if phase.start < start]
    heights = {"climb": 0.5, "cruise": 1.0, "descent": 0.5, "approach": 0.05}
    time = start
    for part in plan.flown.parts:
        altitude = heights[part.name] * plan.request.route.level
        burn = part.fuel / part.time / engines
        phases.append(Phase(part.name, time, burn, altitude, 0.5, math.radians(1.0)))
        time += part.time
    actions = tuple(action for action in base.actions if action.time < start + 600.0)
    sector = replace(
        base, phases=tuple(phases), actions=actions, end=time, burn_factor={}, failures=(),
        total=plan.block, zero_fuel=plan.zero_fuel,
    )  # fmt: skip
    return sector, start


@pytest.mark.parametrize("name", CASES)
def test_the_plan_flown_burns_the_plans_trip_fuel(name):
    """Within 0.1 %, by what the engines took and by what is gone from the tanks."""
    aircraft, plan = planned(name)
    sector, start = sector_of(aircraft, plan)
    flight = fly(aircraft, sector)
    assert abs(flight.conservation_error()) < 1e-3
    engines = [c.name for c in aircraft.consumers if c.kind == "engine"]
    used = sum(flight.fuel_used(e, sector.end) - flight.fuel_used(e, start) for e in engines)
    assert used == pytest.approx(plan.trip, rel=1e-3)
    assert all(flight.position(engine, sector.end) == "RUN" for engine in engines)
    gone = flight.total(start) - flight.total(sector.end)
    assert gone == pytest.approx(plan.trip, rel=1e-3)
    assert sector.end - start == pytest.approx(plan.time)
