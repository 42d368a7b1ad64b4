"""The course's aircraft and the content of its file, for all tests of this folder."""

import tomllib
from copy import deepcopy

import pytest

from fuelkit.aircraft.load import aircraft_file, load_aircraft


@pytest.fixture(scope="session")
def halbrook():
    """The course's aircraft."""
    return load_aircraft("halbrook-180")


@pytest.fixture(scope="session")
def _content():
    return tomllib.loads(aircraft_file("halbrook-180").read_text(encoding="utf-8"))


@pytest.fixture
def content(_content):
    """The content of the aircraft's file, to be changed by a test."""
    return deepcopy(_content)
