"""One aircraft, one sector and one computed flight for all tests of this folder."""

import tomllib
from copy import deepcopy

import pytest

from fuelkit.aircraft.load import aircraft_file, load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector


@pytest.fixture(scope="session")
def halbrook():
    """The course's aircraft."""
    return load_aircraft("halbrook-180")


@pytest.fixture(scope="session")
def sector(halbrook):
    """The course's first sector."""
    return load_sector("eastmere-port-ellery", halbrook)


@pytest.fixture(scope="session")
def flight(halbrook, sector):
    """The course's first flight."""
    return fly(halbrook, sector)


@pytest.fixture(scope="session")
def halbrook_content():
    """The content of the aircraft's file, to be copied before it is changed."""
    return tomllib.loads(aircraft_file("halbrook-180").read_text(encoding="utf-8"))


@pytest.fixture
def content(halbrook_content):
    """The content of the aircraft's file, to be changed by a test."""
    return deepcopy(halbrook_content)
