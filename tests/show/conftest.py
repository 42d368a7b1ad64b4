"""The course's aircraft and flight, and what is needed to read a drawing."""

import xml.etree.ElementTree as ElementTree

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="session")
def halbrook():
    """The course's aircraft."""
    return load_aircraft("halbrook-180")


@pytest.fixture(scope="session")
def flight(halbrook):
    """The course's first flight."""
    return fly(halbrook, load_sector("eastmere-port-ellery", halbrook))


@pytest.fixture(scope="session")
def parsed():
    """Give the function that reads a drawing as XML."""
    return ElementTree.fromstring


@pytest.fixture(scope="session")
def words():
    """Give the function that returns all that is written on a drawing, in one line."""
    return lambda root: " ".join(" ".join(t.itertext()) for t in root.iter(f"{SVG}text"))


@pytest.fixture(scope="session")
def part_of():
    """Give the function that finds the group of a part on a drawing, or None."""

    def found(root, name):
        return next((g for g in root.iter(f"{SVG}g") if g.get("data-part") == name), None)

    return found
