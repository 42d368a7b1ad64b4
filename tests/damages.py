"""Files damaged in every way that a field can be, and what came of them. Shared by the tests.

Set the environment variable FUELKIT_DAMAGED_FILES to "all" to try every damage at every place of
every file; otherwise a part of them is tried, the same one each time.
"""

import copy
import datetime
import os
from collections import Counter
from dataclasses import replace

import pytest

from fuelkit.flight.fly import fly
from fuelkit.flight.history import History
from fuelkit.physics.errors import FuelkitError

ALL = os.environ.get("FUELKIT_DAMAGED_FILES") == "all"
GONE = object()
NEVER_RIGHT = {
    "a datetime": datetime.date(2026, 1, 1),
    "none": None,
    "nan": float("nan"),
    "infinite": float("inf"),
    "huge": 1e300,
    "a huge whole number": 10**400,
    "a list in a list": [[[]]],
    "an empty text": "",
    "a control character": "a\x07b",
}
SELDOM_RIGHT = {
    "gone": GONE,
    "negative": -1.0,
    "zero": 0,
    "tiny": 1e-300,
    "true": True,
    "a text": "some other text",
    "an empty list": [],
    "a list of numbers": [1.0, 2.0, 3.0],
    "an empty table": {},
    "a table": {"name": "x"},
    "a thousand": 1000.0,
}


def places(value, path=()):
    """Yield the path of every field: of the first and last of tables, the first of numbers."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from places(inner, (*path, key))
    elif isinstance(value, list):
        last = len(value) - 1 if isinstance(value[-1], dict) else 0
        for index in sorted({0, last}):
            yield from places(value[index], (*path, index))


def value_at(content, path):
    """Return what stands at a place."""
    for key in path:
        content = content[key]
    return content


def damaged(content, path, value):
    """Return a copy of a content with one place changed, copying only the way to it."""
    changed = copy.copy(content)
    if len(path) > 1:
        changed[path[0]] = damaged(content[path[0]], path[1:], value)
    elif value is GONE:
        del changed[path[0]]
    else:
        changed[path[0]] = value
    return changed


def some(things, share, number=0):
    """Return every `share`-th of some things, another part for each number; or all of them."""
    things = list(things)
    return things if ALL else things[number % share :: share]


def short(sector, end):
    """Return the first part of a sector, up to a time [s]."""
    return replace(
        sector, end=end, phases=tuple(p for p in sector.phases if p.start < end),
        actions=tuple(a for a in sector.actions if a.time < end),
        failures=tuple(f for f in sector.failures if f.time < end),
    )  # fmt: skip


def flown(aircraft, sector):
    """Return "flown", or "refused" with a named error; any other exception comes through."""
    try:
        flight = fly(aircraft, sector)
    except FuelkitError as refusal:
        assert str(refusal)
        return "refused"
    assert isinstance(flight, History) and flight.final.time == sector.end
    assert abs(flight.conservation_error()) < 1e-3
    return "flown"


class Tally(Counter):
    """How many files were tried, refused, sound; and flown with what came of it."""

    def __str__(self):
        return ", ".join(f"{count} {what}" for what, count in sorted(self.items()))


@pytest.fixture(scope="module")
def tally(request):
    """Count what came of every damaged file; tell it after the last one (seen with -s)."""
    found = Tally()
    yield found
    print(f"\n{request.module.__name__}: {found}")
