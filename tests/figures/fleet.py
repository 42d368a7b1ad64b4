"""Aircraft that figure sheets are drawn for: those of the kit, and the one to begin from."""

import functools
from pathlib import Path

import fuelkit
from fuelkit.aircraft.load import load_aircraft

STARTER = str(Path(fuelkit.__file__).parent / "aircraft" / "own" / "starter.toml")
FLEET = ("halbrook-40", "halbrook-180", "halbrook-300", STARTER)


@functools.cache
def aircraft(name):
    """Return an aircraft, loaded once."""
    return load_aircraft(name)


def right(sheet, name):
    """Return what a step of a sheet comes to. SI."""
    return sheet.worked()[name]
