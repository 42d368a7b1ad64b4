"""An instructor's own aircraft: the starter file, the guide, and what was made from the guide."""

import re
import tomllib
from copy import deepcopy
from pathlib import Path

import pytest

from fuelkit.aircraft.conditions import read_fact
from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.aircraft.sentences import fact_words

_ROOT = Path(__file__).resolve().parents[2]
_OWN = _ROOT / "fuelkit" / "aircraft" / "own"
_STARTER = _OWN / "starter.toml"
_GUIDE = (_OWN / "describe_your_aircraft.md").read_text(encoding="utf-8")
_THREE_ENGINES = _ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml"


@pytest.fixture
def starter():
    """The content of the starter file, to be changed by a test."""
    return deepcopy(tomllib.loads(_STARTER.read_text(encoding="utf-8")))


def named(content, section, name):
    """Return the table of a part."""
    return next(table for table in content[section] if table["name"] == name)


def blocks(language):
    """Return the blocks of a language in the guide."""
    return re.findall(rf"```{language}\n(.*?)```", _GUIDE, re.DOTALL)


def test_the_starter_is_small_and_sound():
    """A twin with two tanks, with a note in every section, short enough to be read in one go."""
    aircraft = load_aircraft(_STARTER)
    lines = _STARTER.read_text(encoding="utf-8").splitlines()

    assert len([t for t in aircraft.tanks if t.holds_fuel]) == 2
    assert len([c for c in aircraft.consumers if c.kind == "engine"]) == 2
    assert len(lines) < 300
    assert sum("#" in line for line in lines) > 25


def test_every_piece_of_a_file_in_the_guide_can_be_read():
    """No block of the guide has a slip of the pen."""
    found = blocks("toml")
    assert len(found) > 6
    for text in found:
        assert tomllib.loads(text)


def test_the_guide_repeats_the_tank_of_the_starter(starter):
    """What it explains is what the reader has before them."""
    (shown,) = tomllib.loads(next(b for b in blocks("toml") if "[[tanks]]" in b))["tanks"]
    tank = named(starter, "tanks", "left tank")

    assert shown["ribs"] == tank["ribs"]
    assert shown["expansion_space_percent"] == tank["expansion_space_percent"]


def _facts_of_the_guide():
    table = _GUIDE.split("| a fact | speaks of |")[1].split("\n\n")[0]
    return re.findall(r"^\| `([^`]+)` \|", table, re.MULTILINE)


def test_every_fact_in_the_guide_is_a_fact(starter):
    """Each example is read, names a part, and can be used in a rule of the starter."""
    facts = _facts_of_the_guide()
    assert len(facts) > 12
    starter["buses"] = [{"name": "left bus"}]
    starter["masses"] = {
        "zero_fuel_kg": 9000, "zero_fuel_x_m": 9.8, "chord_start_x_m": 9.2, "chord_m": 1.9,
    }  # fmt: skip
    tail = {**named(starter, "tanks", "left tank"), "name": "tail tank", "title": "Tail tank"}
    starter["tanks"].append(tail)
    starter["overflows"].append({"name": "tail over", "from": "tail tank", "to": "overboard"})
    base = {"set": {"left pump": "RUN"}, "because": "it is a trial"}
    starter["rules"].append({"name": "tail transfer", "all": ["left pump switch is on"], **base})
    for number, fact in enumerate(facts):
        field = {"until": [fact], "all": ["left pump switch is on"]}
        starter["rules"].append(
            {
                "name": f"trial {number}",
                **(field if "has lost" in fact else {"all": [fact]}),
                **base,
            }
        )

    aircraft = aircraft_from(starter)

    for fact in facts:
        assert fact_words(aircraft, read_fact(fact))


_SLIPS = {
    "is missing; add it": lambda c: named(c, "pumps", "left pump").pop("curve"),
    "is not a known field": lambda c: c["tanks"][1].update(mirrorof=c["tanks"][1].pop("mirror_of")),
    "it must name a junction. Did you mean 'left manifold'?": lambda c: named(
        c, "pumps", "left pump"
    ).update(to="left manifld"),
    "at is [9.7, -1.6, -0.92]; at this place": lambda c: named(
        c, "sensors", "left low sensor"
    ).update(at=[9.7, -1.6, -0.92]),
    "can never be": lambda c: named(c, "alerts", "Left fuel is low").update(
        all=["left low sensor is EMPTY"]
    ),
    "overflows: 0 of them are from": lambda c: c["overflows"].pop(0),
}


@pytest.mark.parametrize("words", _SLIPS)
def test_a_slip_gives_the_message_that_the_guide_explains(starter, words):
    """The table of faults in the guide is what the kit really says."""
    assert words.split(" Did")[0] in _GUIDE
    _SLIPS[words](starter)

    with pytest.raises(DataFileError) as caught:
        aircraft_from(starter)

    assert words.split(" Did")[0] in str(caught.value)


def test_every_field_in_the_guide_is_one_that_the_reader_knows():
    """Each back-ticked field of the guide's tables stands in the reader of aircraft files."""
    reader = "".join(
        path.read_text(encoding="utf-8") for path in (_ROOT / "fuelkit" / "aircraft").glob("*.py")
    )
    table = _GUIDE.split("| section | what it is |")[1].split("\n\n")[0]
    sections = re.findall(r"`\[\[(\w+)\]\]`", _GUIDE)
    fields = re.findall(r"`([a-z_0-9]+)`", table)
    assert len(sections) > 12 and len(fields) > 12
    for name in [*sections, *fields]:
        singular = name.removesuffix("s").replace("_", " ")
        assert f'"{name}"' in reader or f'"{singular}"' in reader, name


def test_the_example_made_from_the_guide_is_sound():
    """Three engines, and a tail tank whose fuel goes to the centre."""
    aircraft = load_aircraft(_THREE_ENGINES)

    assert len([c for c in aircraft.consumers if c.kind == "engine"]) == 3
    assert aircraft.by_name["tail transfer pump"].start == "tail tank"
