"""The three aircraft of the kit held against the rules of 14 CFR part 25 that their data must meet.

Source of each rule: 14 CFR part 25, as paraphrased beside it (read in public copies).
"""

from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector
from fuelkit.survey.tank_checks import tank_checks

SECTORS = {
    "halbrook-40": "eastmere-tarn-hollow",
    "halbrook-180": "eastmere-port-ellery",
    "halbrook-300": "karn-ness-return",
}
US_GALLON = 3.785411784e-3  # m³, NIST Handbook 44


@pytest.fixture(params=SECTORS)
def aircraft(request):
    """Each aircraft of the kit."""
    return load_aircraft(request.param)


def test_every_fuel_tank_keeps_two_percent_for_expansion(aircraft):
    """25.969."""
    for check in tank_checks(aircraft):
        assert check.expansion >= 0.02 * check.capacity


def test_every_fuel_tank_has_a_sump(aircraft):
    """25.971: the greater of 0.10 % of the capacity and 1/16 US gallon, in the ground attitude."""
    for check in tank_checks(aircraft):
        assert check.sump >= max(0.001 * check.capacity, US_GALLON / 16.0)


def test_shutting_one_engine_off_does_not_starve_the_other(aircraft):
    """25.1189: in flight, each engine's shut-off valve shut in turn; the other one runs on."""
    sector = load_sector(SECTORS[aircraft.identifier], aircraft)
    cruise = max(sector.phases, key=lambda phase: phase.altitude).start + 60.0
    engines = [c for c in aircraft.consumers if c.kind == "engine"]
    for engine in engines:
        (valve,) = (v for v in aircraft.valves if v.end == engine.start)
        shut = Failure(cruise, valve.name, "stuck", state="SHUT")
        flight = fly(aircraft, replace(sector, failures=(shut,), end=cruise + 900.0))
        assert flight.position(engine.name, cruise + 900.0) in ("STARVED", "OFF")
        others = [c.name for c in engines if c is not engine]
        assert all(flight.position(name, cruise + 900.0) == "RUN" for name in others)


def test_every_fuel_tank_has_a_gauge(aircraft):
    """25.1305: a quantity for each tank; here by probes that stand in it."""
    assert all(tank.probes for tank in aircraft.tanks if tank.holds_fuel)
