"""Every field of an aircraft's file damaged in every way: refused, or sound and then flown.

The damages are made by walking the parsed file, so that a new field is covered without a word
here. In the repeated sections the first and the last table stand for all.
"""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.load import aircraft_file, aircraft_from
from fuelkit.aircraft.model import Aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.survey.standard_sector import standard_sector
from tests.damages import (
    ALL,
    NEVER_RIGHT,
    SELDOM_RIGHT,
    damaged,
    flown,
    places,
    short,
    some,
    tally,
    value_at,
)

__all__ = ["tally"]  # a fixture
FIRST_PART = 2700.0  # s of the standard sector: engines and APU started, take-off, climb
AIRCRAFT = ("halbrook-40", "halbrook-180", "halbrook-300") if ALL else ("halbrook-180",)


@pytest.fixture(scope="module", params=AIRCRAFT)
def whole(request):
    """The content of an aircraft's file; never changed."""
    return tomllib.loads(aircraft_file(request.param).read_text(encoding="utf-8"))


def outcome(content, tally):
    """Return the aircraft, or the faults; any other exception comes through."""
    try:
        aircraft = aircraft_from(content, "damaged.toml")
    except DataFileError as refusal:
        assert refusal.faults and all(refusal.faults)
        tally["files refused"] += 1
        return refusal.faults
    assert isinstance(aircraft, Aircraft)
    tally["files sound"] += 1
    return aircraft


def fly_it(aircraft, tally):
    """Fly the first part of the standard sector: a flight, or an error of the kit."""
    came = flown(aircraft, short(standard_sector(aircraft), FIRST_PART))
    tally[f"aircraft {came}" if came == "flown" else "flights refused with a reason"] += 1
    return came


@pytest.mark.parametrize("damage", NEVER_RIGHT)
def test_a_value_that_is_never_right_is_refused_everywhere(whole, damage, tally):
    """At any place of the file, with a message that is about that place or its section."""
    paths = list(places(whole))
    assert len(paths) > 200
    for path in some(paths, 9, list(NEVER_RIGHT).index(damage)):
        found = outcome(damaged(whole, path, NEVER_RIGHT[damage]), tally)
        assert isinstance(found, tuple), f"{path} may be {damage}"
        assert any(str(path[0]) in f or _name(whole, path) in f for f in found), (path, found)


def _name(content, path):
    """The name of the part that a path is in."""
    inner = content[path[0]]
    inner = inner[path[1]] if isinstance(inner, list) and len(path) > 1 else inner
    return inner["name"] if isinstance(inner, dict) and "name" in inner else str(path[-1])


@pytest.mark.parametrize("damage", SELDOM_RIGHT)
def test_any_other_value_is_refused_or_gives_an_aircraft_that_flies(whole, damage, tally):
    """Never another exception; and mostly it is refused."""
    sound, paths = [], some(places(whole), 7, list(SELDOM_RIGHT).index(damage))
    for path in paths:
        found = outcome(damaged(whole, path, SELDOM_RIGHT[damage]), tally)
        if isinstance(found, Aircraft):
            sound.append(found)
    assert len(sound) < 0.5 * len(paths)
    for aircraft in some(sound, 3):
        fly_it(aircraft, tally)


def test_every_table_refuses_a_field_that_it_does_not_know(whole, tally):
    """Most often a slip of the pen, which would otherwise go unnoticed."""
    tables = [(), *(p for p in places(whole) if isinstance(value_at(whole, p), dict))]
    for path in tables:
        if path and path[-1] == "set":
            continue  # its fields are the names of parts
        if path:
            damage = damaged(whole, path, {**value_at(whole, path), "colour": "blue"})
        else:
            damage = {**whole, "colour": "blue"}
        found = outcome(damage, tally)
        assert any("colour is not a known field" in fault for fault in found), path


def test_every_name_doubled_is_refused(whole, tally):
    """A section with its first table twice has a name that is given twice."""
    for section, tables in whole.items():
        if isinstance(tables, list) and "name" in tables[0]:
            found = outcome({**whole, section: [*tables, tables[0]]}, tally)
            assert any("is the name of 2 parts" in fault for fault in found), section


def _references(content):
    """Where the name of another part stands."""
    tables = [t for s in content.values() if isinstance(s, list) for t in s]
    names = {t["name"] for t in tables if "name" in t} | {"overboard"}
    texts = [p for p in places(content) if isinstance(value_at(content, p), str)]
    return [p for p in texts if p[-1] != "name" and value_at(content, p) in names], names


def test_every_reference_to_nothing_is_refused(whole, tally):
    """Whatever names another part may not name one that is not there."""
    references, _ = _references(whole)
    assert len(references) > 25
    for path in references:
        found = outcome(damaged(whole, path, "nothing of this name"), tally)
        assert isinstance(found, tuple) and any("nothing of this name" in f for f in found), path


def test_every_fact_about_nothing_is_refused(whole, tally):
    """A rule, alert or counter whose condition names no part, or a state that it cannot have."""
    facts = list(_facts(whole))
    assert len(facts) > 60
    for path in some(facts, 2):
        for fact in ("nothing is RUN", "nothing holds less than 400 kg", "nothing at all"):
            found = outcome(damaged(whole, path, fact), tally)
            assert isinstance(found, tuple) and any("nothing" in f for f in found), path


def _facts(content):
    """Where the facts of all conditions stand, of every rule, alert and counter."""
    for section in ("rules", "alerts", "counters"):
        for number, table in enumerate(content.get(section, [])):
            for field in ("all", "any", "until", "zero_when"):
                for place, _ in enumerate(table.get(field, [])):
                    yield section, number, field, place


def test_every_reference_to_another_part_is_refused_or_flies(whole, tally):
    """Tanks that run over in circles, lines from a place to itself, pumps that feed each other."""
    references, names = _references(whole)
    sound, tried = [], 0
    pairs = [(path, name) for path in references for name in sorted(names)]
    for path, name in some(pairs, 61):
        if name != value_at(whole, path):
            tried += 1
            found = outcome(damaged(whole, path, name), tally)
            if isinstance(found, Aircraft):
                sound.append(found)
    assert 0 < len(sound) < 0.5 * tried
    for aircraft in some(sound, 8):
        fly_it(aircraft, tally)


def test_every_circle_of_overflows_is_refused(whole, tally):
    """Two tanks that run over into each other, and one into itself."""
    overflows = whole["overflows"]
    circles = 0
    for number, overflow in enumerate(overflows):
        for other in overflows:
            if other["to"] == overflow["from"] or other is overflow:
                content = damaged(whole, ("overflows", number, "to"), other["from"])
                found = outcome(content, tally)
                assert isinstance(found, tuple), (overflow["name"], other["from"])
                circles += 1
    assert circles >= len(overflows)


# ------------------------------------------------------------------- any damage, and flown after
junk = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["centre", "left manifold", "centre low sensor is DRY", "overboard", "OPEN"])
    | st.floats(-5.0, 50.0),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)  # fmt: skip


def test_what_the_loader_lets_through_can_be_flown(whole, tally):
    """A few random damages at once: refused, or a flight, or a flight refused with reasons."""
    paths = list(places(whole))
    tuned = [p for p in paths if isinstance(value_at(whole, p), int | float)]
    came = []

    @settings(max_examples=1000 if ALL else 30, deadline=None, derandomize=True, database=None)
    @given(
        st.lists(st.tuples(st.sampled_from(paths), junk), max_size=1),
        st.lists(st.tuples(st.sampled_from(tuned), st.floats(0.5, 1.5)), max_size=4),
    )
    def check(damages, factors):
        content = whole
        for path, factor in factors:
            content = damaged(content, path, value_at(content, path) * factor)
        for path, value in damages:
            content = damaged(content, path, value)
        aircraft = outcome(content, tally)
        if isinstance(aircraft, Aircraft):
            came.append(fly_it(aircraft, tally))

    check()
    assert came.count("flown") > (10 if ALL else 3)
