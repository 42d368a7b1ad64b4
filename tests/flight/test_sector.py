"""The sector's file: what is read, and how mistakes in it are told."""

import datetime
import tomllib
from copy import deepcopy
from importlib import resources

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.flight.sector import Sector, load_sector, sector_from

FOLDER = resources.files("fuelkit.flight") / "data"
OPTIONAL = ("altitude_ft", "mach", "pitch_deg")
SECTORS = sorted(path.name for path in FOLDER.iterdir() if path.name.endswith(".toml"))


def read(name="eastmere-port-ellery.toml"):
    """Return the content of one of the kit's sectors."""
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))


def faults_of(content, aircraft):
    """Return what is wrong with a sector."""
    with pytest.raises(DataFileError) as caught:
        sector_from(content, aircraft, "own.toml")
    return caught.value.faults


@pytest.mark.parametrize("name", SECTORS)
def test_every_sector_of_the_kit_loads(name):
    """And is flown with the aircraft that it names."""
    content = tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))
    aircraft = load_aircraft(content["aircraft"])
    sector = load_sector(name.removesuffix(".toml"), aircraft)
    assert sector.aircraft == aircraft.identifier
    assert 0.0 == sector.phases[0].start < sector.phases[-1].start < sector.end


def test_a_sector_that_the_kit_has_not_is_refused_with_the_nearest(halbrook):
    """With those that it has."""
    with pytest.raises(DataFileError, match="Did you mean 'eastmere-port-ellery'"):
        load_sector("eastmere-port-elery", halbrook)


def test_the_burn_of_a_phase_is_in_kg_per_hour_in_the_file(halbrook):
    """1500 kg/h are 0.41667 kg/s; the later phase holds from its own time on."""
    sector = load_sector("eastmere-port-ellery", halbrook)
    assert sector.phase_at(3960.0).burn == pytest.approx(1500.0 / 3600.0)
    assert sector.phase_at(3959.999).name == "climb"


MISTAKES = {
    "a switch that is not there": (
        lambda c: c["actions"][0].update(set={"left inboard forward pump swich": "on"}),
        "it must name a switch. Did you mean 'left inboard forward pump switch'?",
    ),
    "a position that it has not": (
        lambda c: c["actions"][0].update(set={"crossfeed switch": "open"}),
        "crossfeed switch is 'open'; it must be off or on.",
    ),
    "a time in words": (
        lambda c: c["actions"][0].update(at="four minutes"),
        "at is 'four minutes'; it must be a time h:mm:ss.",
    ),
    "a time with 70 seconds": (
        lambda c: c["actions"][0].update(at="0:00:70"),
        "at is '0:00:70'; it must be a time h:mm:ss.",
    ),
    "a first phase that starts late": (
        lambda c: c["phases"][0].update({"from": "0:01:00"}),
        "the first phase starts at 0:01:00; it must start at 0:00:00.",
    ),
    "phases out of order": (
        lambda c: c["phases"][2].update({"from": "0:10:00"}),
        "a phase starts at 0:10:00, not after the one before it.",
    ),
    "an end before the last action": (
        lambda c: c["end"].update(at="5:00:00"),
        "end is 5:00:00; it must come after the last phase and action.",
    ),
    "an engine that is not there": (
        lambda c: c["burn_factor"].update({"engine 3": 1.0}),
        "[burn_factor]: engine 3 is not a known field. Did you mean",
    ),
    "a negative load": (
        lambda c: c["load"].update(total_kg=-1),
        "[load]: total_kg is -1; it must be at least 0.",
    ),
    "a density in another unit": (
        lambda c: c["load"].update(density_15_kg_m3=0.8),
        "[load]: density_15_kg_m3 is 0.8; it must be at least 653.",
    ),
    "another version": (
        lambda c: c.update(schema=3),
        "schema is 3; this kit reads version 1.",
    ),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_named_with_its_value_and_what_would_be_right(halbrook, mistake):
    """The message says where, which field, which value, and what would be right."""
    damage, message = MISTAKES[mistake]
    content = read()
    damage(content)
    found = faults_of(content, halbrook)
    assert any(message in fault for fault in found), found


def test_all_mistakes_are_told_at_once(halbrook):
    """Those of single fields together."""
    content = read()
    told = ["a switch that is not there", "a time in words", "a negative load", "another version"]
    for mistake in told:
        MISTAKES[mistake][0](content)
    found = faults_of(content, halbrook)
    for mistake in told:
        assert any(MISTAKES[mistake][1] in fault for fault in found)


def fields(value, path=()):
    """Yield the path of every field, the first of each list."""
    inner = value.items() if isinstance(value, dict) else enumerate(value[:1])
    for key, inside in inner:
        yield (*path, key)
        if isinstance(inside, dict | list):
            yield from fields(inside, (*path, key))


@pytest.mark.parametrize(
    "junk", [None, True, -1.0, 1e300, float("nan"), "", "x", [], [1], {}, {"a": 1},
             datetime.time(1, 2, 3)], ids=repr,
)  # fmt: skip
def test_any_damage_is_refused_or_gives_a_sector(halbrook, junk):
    """Every field in turn; never another exception than a DataFileError."""
    whole, refused = read(), 0
    paths = list(fields(whole))
    for path in paths:
        content = deepcopy(whole)
        table = content
        for key in path[:-1]:
            table = table[key]
        table[path[-1]] = junk
        try:
            assert isinstance(sector_from(content, halbrook), Sector)
        except DataFileError as refusal:
            refused += 1
            assert refusal.faults
    assert refused > 0.5 * len(paths)


def test_every_field_missing_or_unknown_is_told(halbrook):
    """Missing ones that are needed, and unknown ones everywhere."""
    for path in fields(read()):
        content = read()
        table = content
        for key in path[:-1]:
            table = table[key]
        if isinstance(table, dict) and "set" not in path[:-1]:
            table["colour"] = "blue"
            found = faults_of(content, halbrook)
            assert any("colour is not a known field" in fault for fault in found), path
            del table["colour"], table[path[-1]]
            required = path[0] not in ("burn_factor", "actions") and path[-1] not in OPTIONAL
            if required or path[-1] in ("at", "set"):
                found = faults_of(content, halbrook)
                assert any(str(path[-1]) in fault for fault in found), (path, found)
