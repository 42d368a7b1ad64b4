"""How tanks breathe, for any aircraft: every overflow is drawn, and pressures are the model's."""

from pathlib import Path

import pytest

import fuelkit.aircraft
from fuelkit.aircraft.load import load_aircraft
from fuelkit.show.vent_page import pressure_sentences, vent_page, vent_rows, way_out

STARTER = str(Path(fuelkit.aircraft.__file__).parent / "own" / "starter.toml")


@pytest.mark.parametrize("name", ["halbrook-40", "halbrook-180", "halbrook-300", STARTER])
def test_every_tank_and_its_way_out_is_told(name):
    """Each tank ends overboard; the drawing and the text name it; what is lacking is left out."""
    aircraft = load_aircraft(name)
    page, rows = vent_page(aircraft), vent_rows(aircraft)
    assert len(rows) == len(aircraft.tanks)
    for tank in aircraft.tanks:
        assert way_out(aircraft, tank.name)[-1] == "overboard"
        assert page.html.count(tank.title) >= 2 and tank.title in page.text
    assert ("Vent opening" in page.text) == bool(aircraft.vents)
    assert ("surge" in page.text) == any(not tank.holds_fuel for tank in aircraft.tanks)


def test_pressures_are_the_aircrafts_own():
    """28 kPa over outside is 3.57 m of fuel of 800 kg/m³ (p = rho·g·h, by hand).

    101.325 - 28 = 73.325 kPa is the standard pressure at 2 646 m, 8 700 ft in round hundreds: the
    formula of ICAO Doc 7488/3 solved for the height, 44 331 m · (1 - 0.72366^0.190263), by hand
    (its constants from memory).
    """
    burst, inlet, _ = pressure_sentences(load_aircraft("halbrook-180"))
    assert "28.0 kPa" in burst and "3.6 m" in burst and "8 700 ft" in burst
    assert "9.0 kPa" in inlet and "1.1 m" in inlet
