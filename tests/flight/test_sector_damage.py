"""Every field of a sector's file damaged in every way: refused, or sound and then flown.

The damages are made by walking the parsed file. It has every kind of failure and of action, in
a short flight.
"""

import tomllib
from copy import deepcopy
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.reading import DataFileError
from fuelkit.flight.sector import Sector, sector_from
from fuelkit.physics.writing import clock, read_clock
from tests.damages import (
    ALL,
    NEVER_RIGHT,
    SELDOM_RIGHT,
    damaged,
    flown,
    places,
    some,
    tally,
    value_at,
)

__all__ = ["tally"]  # a fixture
END = 2700.0  # s
FAILURES = [
    {"part": "left inboard forward pump", "kind": "failed"},
    {"part": "engine 2", "kind": "failed"},
    {"part": "crossfeed valve", "kind": "stuck", "state": "HALF OPEN"},
    {"part": "centre low sensor", "kind": "stuck", "state": "WET"},
    {"part": "left inboard", "kind": "leaking", "leak_kg_h": 900, "hole": [17.0, -5.0, -0.7]},
    {"part": "engine 1", "kind": "leaking", "leak_kg_h": 200.0},
    {"part": "right inboard", "kind": "misreading", "factor": 1.2, "offset_kg": -50.0},
    {"part": "centre", "kind": "blocked"},
]


@pytest.fixture(scope="module")
def whole(halbrook):
    """The beginning of the course's first sector, with failures; never changed."""
    file = resources.files("fuelkit.flight") / "data" / "eastmere-port-ellery.toml"
    content = tomllib.loads(file.read_text(encoding="utf-8"))
    content["end"] = {"at": clock(END)}
    content["phases"] = [p for p in content["phases"] if read_clock(p["from"]) < END]
    actions = [a for a in content["actions"] if read_clock(a["at"]) < END]
    asked = {"at": "0:40:00", "set": {}, "order_kg": 9000, "coupling_kpa": 250.0}
    content["actions"] = [*actions, asked]
    content["atmosphere"] = {"deviation_c": -5.0}
    content["load"] = {**content["load"], "zero_fuel_kg": 60000}
    assert {failure["part"] for failure in FAILURES} <= set(halbrook.by_name)
    content["failures"] = [
        {"at": clock(1800.0 + 60.0 * number), **failure} for number, failure in enumerate(FAILURES)
    ]
    return content


def outcome(content, aircraft, tally):
    """Return the sector, or the faults; any other exception comes through."""
    try:
        sector = sector_from(content, aircraft, "damaged.toml")
    except DataFileError as refusal:
        assert refusal.faults and all(refusal.faults)
        tally["files refused"] += 1
        return refusal.faults
    assert isinstance(sector, Sector)
    tally["files sound"] += 1
    return sector


def all_places(content):
    """Every field, those of each failure too, as each kind has others."""
    found = dict.fromkeys(places(content))
    for number, failure in enumerate(content["failures"]):
        found.update(dict.fromkeys(places(failure, ("failures", number))))
    return list(found)


def fly_it(aircraft, sector, tally):
    """Fly a sector: a flight, or an error of the kit."""
    came = flown(aircraft, sector)
    tally["sectors flown" if came == "flown" else "flights refused with a reason"] += 1
    return came


def test_the_undamaged_sector_flies(halbrook, whole, tally):
    """Or else nothing here would say anything."""
    sector = outcome(whole, halbrook, tally)
    assert len(sector.failures) == len(FAILURES)
    assert fly_it(halbrook, sector, tally) == "flown"


@pytest.mark.parametrize("damage", NEVER_RIGHT)
def test_a_value_that_is_never_right_is_refused_everywhere(halbrook, whole, damage, tally):
    """At any place of the file."""
    paths = all_places(whole)
    assert len(paths) > 70
    for path in paths:
        found = outcome(damaged(whole, path, NEVER_RIGHT[damage]), halbrook, tally)
        assert isinstance(found, tuple), f"{path} may be {damage}"


@pytest.mark.parametrize("damage", SELDOM_RIGHT)
def test_any_other_value_is_refused_or_gives_a_sector_that_flies(halbrook, whole, damage, tally):
    """Never another exception; and mostly it is refused."""
    paths = all_places(whole)
    found = [outcome(damaged(whole, p, SELDOM_RIGHT[damage]), halbrook, tally) for p in paths]
    sound = [one for one in found if isinstance(one, Sector)]
    assert len(sound) < 0.5 * len(paths)
    for sector in some(sound, 5, list(SELDOM_RIGHT).index(damage)):
        fly_it(halbrook, sector, tally)


def test_a_failure_of_anything_in_any_way_is_refused_or_flies(halbrook, whole, tally):
    """Every part of the aircraft with every kind of failure and state, at its plainest."""
    sound = []
    for name in halbrook.by_name:
        for kind in ("failed", "stuck", "leaking", "misreading", "blocked"):
            for state in (None, "OPEN", "SHUT", "WET", "RUN", ""):
                failure = {"at": "0:30:00", "part": name, "kind": kind}
                failure |= {} if state is None else {"state": state}
                content = {**whole, "failures": [failure]}
                found = outcome(content, halbrook, tally)
                sound += [found] if isinstance(found, Sector) else []
    assert len(sound) > 60
    for sector in some(sound, 12):
        assert fly_it(halbrook, sector, tally) == "flown", sector.failures


def test_a_sector_without_phases_is_refused(halbrook, whole, tally):
    """As an empty list, which is no missing field."""
    found = outcome({**whole, "phases": []}, halbrook, tally)
    assert any("phases is []; a flight has at least one phase" in fault for fault in found)


def test_times_out_of_order_are_refused(halbrook, whole, tally):
    """A phase before the one before it; an end that comes too early; a failure may be too late."""
    for number in range(1, len(whole["phases"])):
        path = ("phases", number, "from")
        found = outcome(damaged(whole, path, "0:00:00"), halbrook, tally)
        assert any("not after the one before it" in fault for fault in found)
    found = outcome(damaged(whole, ("end", "at"), "0:20:00"), halbrook, tally)
    assert any("it must come after the last phase and action" in fault for fault in found)
    late = outcome(damaged(whole, ("failures", 0, "at"), "99:00:00"), halbrook, tally)
    assert fly_it(halbrook, late, tally) == "flown"


def test_random_damages_are_refused_or_fly(halbrook, whole, tally):
    """Some numbers made larger or smaller, times moved, and perhaps one field of junk."""
    paths = all_places(whole)
    tuned = [p for p in paths if isinstance(value_at(whole, p), int | float)]
    timed = [p for p in paths if p[-1] in ("at", "from") and p[0] != "end"]
    junk = st.one_of(st.none(), st.integers(), st.floats(), st.text(max_size=6), st.just([]))
    came = []

    @settings(max_examples=600 if ALL else 60, deadline=None, derandomize=True, database=None)
    @given(
        st.lists(st.tuples(st.sampled_from(paths), junk), max_size=1),
        st.lists(st.tuples(st.sampled_from(tuned), st.floats(0.3, 3.0)), max_size=4),
        st.lists(st.tuples(st.sampled_from(timed), st.integers(0, int(END) - 1)), max_size=3),
    )
    def check(damages, factors, times):
        content = deepcopy(whole)
        for path, factor in factors:
            content = damaged(content, path, value_at(content, path) * factor)
        for path, time in times:
            content = damaged(content, path, clock(float(time)))
        for path, value in damages:
            content = damaged(content, path, value)
        sector = outcome(content, halbrook, tally)
        if isinstance(sector, Sector):
            came.append(fly_it(halbrook, sector, tally))

    check()
    assert came.count("flown") > 10
