"""Every field of the aircraft's file damaged in every way: the loader refuses or the file is sound.

The damages are made by walking the parsed file, so that a new field is covered without a word
here. In the repeated sections the first and the last table stand for all.
"""

import copy
import datetime
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.load import aircraft_from
from fuelkit.aircraft.model import Aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.flight.fly import fly
from fuelkit.flight.history import History
from fuelkit.flight.sector import load_sector
from fuelkit.physics.errors import FuelkitError

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


def outcome(content):
    """Return the aircraft, or the faults; any other exception comes through."""
    try:
        aircraft = aircraft_from(content, "damaged.toml")
    except DataFileError as refusal:
        assert refusal.faults and all(refusal.faults)
        return refusal.faults
    assert isinstance(aircraft, Aircraft)
    return aircraft


@pytest.mark.parametrize("damage", NEVER_RIGHT)
def test_a_value_that_is_never_right_is_refused_everywhere(content, damage):
    """At any place of the file, with a message that is about that place or its section."""
    paths = list(places(content))
    assert len(paths) > 200
    for path in paths:
        found = outcome(damaged(content, path, NEVER_RIGHT[damage]))
        assert isinstance(found, tuple), f"{path} may be {damage}"
        assert any(str(path[0]) in f or _name(content, path) in f for f in found), (path, found)


def _name(content, path):
    """The name of the part that a path is in."""
    inner = content[path[0]]
    inner = inner[path[1]] if isinstance(inner, list) and len(path) > 1 else inner
    return inner["name"] if isinstance(inner, dict) and "name" in inner else str(path[-1])


@pytest.mark.parametrize("damage", SELDOM_RIGHT)
def test_any_other_value_is_refused_or_gives_a_sound_aircraft(content, damage):
    """Never another exception; and mostly it is refused."""
    found = [outcome(damaged(content, path, SELDOM_RIGHT[damage])) for path in places(content)]
    assert sum(isinstance(one, tuple) for one in found) > 0.5 * len(found)


def test_every_table_refuses_a_field_that_it_does_not_know(content):
    """Most often a slip of the pen, which would otherwise go unnoticed."""
    tables = [(), *(p for p in places(content) if isinstance(_at(content, p), dict))]
    for path in tables:
        if path and path[-1] == "set":
            continue  # its fields are the names of parts
        if path:
            damage = damaged(content, path, {**_at(content, path), "colour": "blue"})
        else:
            damage = {**content, "colour": "blue"}
        assert any("colour is not a known field" in fault for fault in outcome(damage)), path


def _at(content, path):
    for key in path:
        content = content[key]
    return content


def test_every_name_doubled_is_refused(content):
    """A section with its first table twice has a name that is given twice."""
    for section, tables in content.items():
        if isinstance(tables, list) and "name" in tables[0]:
            found = outcome({**content, section: [*tables, tables[0]]})
            assert any("is the name of 2 parts" in fault for fault in found), section


def test_every_reference_to_nothing_is_refused(content):
    """Whatever names another part may not name one that is not there."""
    names = {t["name"] for s in content.values() if isinstance(s, list) for t in s if "name" in t}
    names |= {"overboard"}
    texts = [p for p in places(content) if isinstance(_at(content, p), str)]
    references = [p for p in texts if p[-1] != "name" and _at(content, p) in names]
    assert len(references) > 30
    for path in references:
        found = outcome(damaged(content, path, "nothing of this name"))
        assert isinstance(found, tuple) and any("nothing of this name" in f for f in found), path


# ------------------------------------------------------------------- any damage, and flown after
junk = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["centre", "left manifold", "centre low sensor is DRY", "overboard", "OPEN"])
    | st.floats(-5.0, 50.0),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)  # fmt: skip


def test_what_the_loader_lets_through_can_be_flown(halbrook, _content):
    """A few random damages at once: refused, or a flight, or a flight refused with reasons."""
    sector = load_sector("eastmere-port-ellery", halbrook)
    short = replace(
        sector, end=2700.0, phases=sector.phases[:4], total=9000.0,
        actions=tuple(a for a in sector.actions if a.time < 2700.0),
    )  # fmt: skip
    paths = list(places(_content))
    tuned = [p for p in paths if isinstance(_at(_content, p), int | float)]
    flown = []

    @settings(max_examples=120, deadline=None, derandomize=True, database=None)
    @given(
        st.lists(st.tuples(st.sampled_from(paths), junk), max_size=1),
        st.lists(st.tuples(st.sampled_from(tuned), st.floats(0.5, 1.5)), max_size=4),
    )
    def check(damages, factors):
        content = _content
        for path, factor in factors:
            content = damaged(content, path, _at(content, path) * factor)
        for path, value in damages:
            content = damaged(content, path, value)
        aircraft = outcome(content)
        if isinstance(aircraft, Aircraft) and aircraft.switches == halbrook.switches:
            try:
                flown.append(isinstance(fly(aircraft, short), History))
            except FuelkitError as refusal:
                assert str(refusal)

    check()
    assert sum(flown) > 20
