"""Rule sets: the numbers that the regulations give, their editions, and damaged files."""

import tomllib
from copy import deepcopy
from pathlib import Path

import pytest

import fuelkit.figures.policies as module
from fuelkit.aircraft.reading import DataFileError
from fuelkit.figures.policies import policies, policies_from, policy
from fuelkit.figures.quantities import FigureError
from tests.damages import NEVER_RIGHT, damaged, places

MINUTE = 60.0
CONTENT = tomllib.loads(
    (Path(module.__file__).parent / "data" / "policies.toml").read_text(encoding="utf-8")
)


def test_every_rule_set_names_its_edition_and_source():
    """No figure without where it comes from."""
    for rules in policies().values():
        assert len(rules.edition) > 15 and rules.source
        assert all(way.source for way in rules.contingencies)


@pytest.mark.parametrize("name", ["icao", "easa-uk"])
def test_icao_and_european_rules(name):
    """Annex 6 Part I, 4.3.6; CAT.OP.MPA.181 and its AMC: 5 %, 5 min, 30 min, 15 min, 2 h."""
    rules = policy(name)
    usual = rules.contingency(None)
    assert (usual.kind, usual.amount, usual.floor) == ("share of trip", 0.05, 5 * MINUTE)
    assert (rules.reserve_time, rules.reserve_at) == (30 * MINUTE, "holding")
    assert (rules.no_alternate, rules.isolated) == (15 * MINUTE, 120 * MINUTE)


def test_european_variations_of_contingency():
    """AMC6 CAT.OP.MPA.181 (c): 3 % with a fuel en-route alternate, 20 min, statistical; 5 min."""
    rules = policy("easa-uk")
    ways = {way.name: (way.kind, way.amount, way.floor) for way in rules.contingencies}
    assert ways["en-route alternate"] == ("share of trip", 0.03, 5 * MINUTE)
    assert ways["20 minutes"] == ("time of trip", 20 * MINUTE, 5 * MINUTE)
    assert ways["statistical"] == ("statistical", 0.0, 5 * MINUTE)


def test_american_rules():
    """14 CFR 121.639 and 91.167: 45 min at cruise; 121.645(b): 10 % of time, 30 min holding."""
    for name in ("faa-domestic", "faa-ifr"):
        rules = policy(name)
        assert (rules.reserve_time, rules.reserve_at) == (45 * MINUTE, "cruise")
        assert rules.contingency(None).kind == "none" and rules.isolated is None
    flag = policy("faa-flag")
    assert (flag.contingency(None).kind, flag.contingency(None).amount) == ("share of time", 0.1)
    assert (flag.reserve_time, flag.reserve_at) == (30 * MINUTE, "holding")
    assert (flag.isolated, flag.isolated_contingency) == (120 * MINUTE, False)  # 121.645(c)


def test_an_older_text_keeps_its_own_entry():
    """What it calls extra fuel is today's discretionary fuel: its note says so."""
    assert "discretionary" in policy("eu-2014").note
    assert policy("eu-2014").edition != policy("easa-uk").edition


def test_unknown_names_are_answered_with_the_known_ones():
    """Of rule sets and of contingencies."""
    with pytest.raises(FigureError, match=r"policy: it is 'easa'; .*Did you mean 'easa-uk'"):
        policy("easa")
    with pytest.raises(FigureError, match="contingency: it is '4 %'; 'icao' has 'basic'"):
        policy("icao").contingency("4 %")


def test_a_name_twice_is_refused():
    """Which one would be meant?"""
    content = deepcopy(CONTENT)
    content["policies"].append(content["policies"][0])
    with pytest.raises(DataFileError, match="'icao' stands twice"):
        policies_from(content)


@pytest.mark.parametrize("damage", NEVER_RIGHT)
def test_no_damaged_file_passes(damage):
    """Every field damaged in every way that is never right: a sentence, no other error."""
    for path in places(CONTENT):
        with pytest.raises(DataFileError) as refusal:
            policies_from(damaged(CONTENT, path, NEVER_RIGHT[damage]))
        assert all(refusal.value.faults)
