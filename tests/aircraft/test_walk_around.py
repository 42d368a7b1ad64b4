"""The walk-around in an aircraft's file: read, checked, and put where it is on the aircraft."""

import re
from collections import Counter
from pathlib import Path

import pytest

from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.aircraft.walk_around import DECISIONS, KINDS, item_places, wing_ribs

STARTER = str(Path(__file__).resolve().parents[2] / "fuelkit" / "aircraft" / "own" / "starter.toml")
ALL = ("halbrook-40", "halbrook-180", "halbrook-300", STARTER)


@pytest.fixture(params=ALL, ids=["40", "180", "300", "starter"])
def aircraft(request):
    """Each aircraft of the kit."""
    return load_aircraft(request.param)


def test_every_item_of_the_kit_has_findings_of_more_than_one_decision(aircraft):
    """Else what is seen would not have to be read."""
    assert len(aircraft.walk_around) >= 3
    for entry in aircraft.walk_around:
        decisions = {finding.decision for finding in entry.findings}
        assert len(decisions) >= 2, entry.item
        assert len({f.sees for f in entry.findings}) == len(entry.findings)


def test_each_decision_is_right_often_enough_to_be_worth_choosing(aircraft):
    """No decision is nearly never right among the findings, none nearly always."""
    found = Counter(f.decision for entry in aircraft.walk_around for f in entry.findings)
    assert set(found) == set(DECISIONS)
    for count in found.values():
        assert 0.15 < count / found.total() < 0.6


def test_fuel_that_leaks_or_a_vent_that_is_closed_is_never_gone_on_with(aircraft):
    """Conservative: common practice, no source. The approved manual decides."""
    alarming = re.compile(r"\bfuel (drips|runs|weeps)|drips steadily|tape|torn|bulg|missing|ice\b")
    met = 0
    for entry in aircraft.walk_around:
        for finding in entry.findings:
            if alarming.search(finding.sees):
                met += 1
                assert finding.decision == "call maintenance", finding.sees
    assert met >= 2


def test_places_are_on_the_aircraft_and_on_the_side_of_their_station(aircraft):
    """Left is negative, right positive; nothing lies beyond the wing tips."""
    reach = wing_ribs(aircraft)[-1][0]
    for entry, places in zip(aircraft.walk_around, item_places(aircraft), strict=True):
        assert places
        for x, y in places:
            assert x > 0.0 and abs(y) <= 1.1 * reach
            if "left" in entry.station:
                assert y < 0.0, entry
            if "right" in entry.station:
                assert y > 0.0, entry


def test_as_many_places_as_the_item_says():
    """Four water drain valves are at four places, three indicators at three."""
    numbers = {"two": 2, "three": 3, "four": 4, "five": 5}
    told = 0
    for name in ALL[:3]:
        aircraft = load_aircraft(name)
        for entry, places in zip(aircraft.walk_around, item_places(aircraft), strict=True):
            word = entry.item.split()[0]
            if word in numbers:
                told += 1
                assert len(places) == numbers[word], entry.item
    assert told > 10


def test_the_kinds_of_the_kit_are_known_by_their_words(aircraft):
    """None is a mere "other"."""
    kinds = {entry.kind for entry in aircraft.walk_around}
    assert kinds <= set(KINDS) - {"other"}


def test_a_file_of_old_still_loads(content):
    """Four fields are enough; places then follow from the stations."""
    content["walk_around"] = [
        {"station": station, "item": "a thing", "look_for": "it", "if_not": "call maintenance"}
        for station in ("left wing tip", "right wing root", "belly", "tail", "nose", "left engine")
    ]
    aircraft = aircraft_from(content)

    tip, root, belly, tail, nose, engine = (places[0] for places in item_places(aircraft))
    assert tip[1] < -10.0 < engine[1] < 0.0 < root[1] < 4.0
    assert nose[0] < belly[0] < tail[0] and belly[1] == tail[1] == nose[1] == 0.0
    assert all(entry.findings == () and entry.kind == "other" for entry in aircraft.walk_around)


def test_items_of_one_station_without_places_are_spread(content):
    """None lies on another one."""
    content["walk_around"] = [
        {"station": "belly", "item": f"thing {n}", "look_for": "it", "if_not": "call"}
        for n in range(3)
    ]
    places = item_places(aircraft_from(content))
    assert len(set(places)) == 3


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"parts": ["left innr indicator"]}, "Did you mean 'left inner indicator'?"),
        ({"parts": ["refuel selected"]}, "it must name a part with a place"),
        ({"at": [15.0, 200.0]}, "that is not on the aircraft"),
        ({"at": [15.0]}, "it must be a list of 2 numbers"),
        ({"also_at": [[15.0, 2.0]]}, "the first place stands in at = [x, y]"),
        ({"kind": "drains"}, "it must be 'level indicator' or"),
        ({"findings": [{"sees": "a drip", "decision": "wait", "because": "it is"}]},
         "decision is 'wait'; it must be 'go on' or 'check again' or 'call maintenance'"),
        ({"findings": [{"sees": "a drip", "decision": "go on"}]}, "because is missing; add it"),
        ({"findings": [{"sees": "a", "decision": "go on", "because": "b", "why": "c"}]},
         "why is not a known field"),
        ({"findings": "a drip"}, "it must be repeated sections"),
        ({"colour": "blue"}, "colour is not a known field"),
    ],
)  # fmt: skip
def test_each_slip_is_named(content, change, words):
    """The item, the field, the value, and what would be right."""
    item = {"station": "belly", "item": "thing", "look_for": "it", "if_not": "call", **change}
    content["walk_around"] = [item]

    with pytest.raises(DataFileError) as caught:
        aircraft_from(content)

    assert words in str(caught.value)
    assert "walk_around" in str(caught.value)


def test_an_item_that_stands_twice_in_a_station_is_refused(content):
    """Its two rows could not be told apart."""
    content["walk_around"] += content["walk_around"][:1]
    with pytest.raises(DataFileError, match="it stands in the file twice"):
        aircraft_from(content)


def test_a_tail_tank_is_not_of_the_wing():
    """The trim tank of the 300 lies 22 m behind the wing's last corner."""
    ribs = wing_ribs(load_aircraft("halbrook-300"))
    assert max(rear for _, _, rear in ribs) < 40.0
    assert [y for y, _, _ in ribs] == sorted(y for y, _, _ in ribs)
