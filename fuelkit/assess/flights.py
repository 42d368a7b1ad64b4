"""The computed flight that belongs to a lesson or exercise, computed once and remembered."""

from functools import lru_cache

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector


@lru_cache(maxsize=8)
def flight_of(aircraft_name, sector_name):
    """Return the computed flight of an aircraft over a sector, both named as in the kit.

    A flight is frozen, so that all who ask may share it.
    """
    aircraft = load_aircraft(aircraft_name)
    return fly(aircraft, load_sector(sector_name, aircraft))
