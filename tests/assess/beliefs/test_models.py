"""Beliefs as data and as models: what they must say, and what they make of aircraft and sheets."""

import tomllib
from copy import deepcopy
from dataclasses import replace

import pytest

from fuelkit.aircraft import checks, model
from fuelkit.aircraft.load import aircraft_file, aircraft_from, load_aircraft
from fuelkit.aircraft.reading import DataFileError, read_toml
from fuelkit.assess.beliefs import changes
from fuelkit.assess.beliefs.models import (
    belief_of,
    beliefs_from,
    believed,
    load_beliefs,
    slipped,
    slips_in,
)
from fuelkit.assess.beliefs.roles import roles_of
from fuelkit.figures.catalogue import draw_sheet, sheets_for
from fuelkit.physics.errors import FuelkitError
from tests.figures.fleet import STARTER

FLEET = ("halbrook-40", "halbrook-180", "halbrook-300", STARTER)
OF_AIRCRAFT = [b.name for b in load_beliefs() if not b.is_of_figures]
OF_FIGURES = [b.name for b in load_beliefs() if b.is_of_figures]


def content():
    """A file with one belief that is right."""
    return {
        "schema": 1,
        "source": "This test.",
        "beliefs": [
            {
                "name": "no-run-on", "learner": "a pump stops at once", "look_again": "the run-on",
                "instructor": "Teach the run-on again.", "objectives": ["run-on"],
                "changes": [{"do": "at once", "sets": "pump", "delayed": True}],
            }
        ],
    }  # fmt: skip


def test_there_are_as_many_beliefs_as_promised():
    """At least 34 by name, 18 of them of aircraft and 14 of figures."""
    assert len(OF_AIRCRAFT) >= 18 and len(OF_FIGURES) >= 14
    assert len(OF_AIRCRAFT) + len(OF_FIGURES) == len(set(OF_AIRCRAFT + OF_FIGURES)) >= 34


@pytest.mark.parametrize("belief", load_beliefs(), ids=lambda b: b.name)
def test_the_sentences_of_a_belief_read_on(belief):
    """No capital and no full stop where words of the feedback stand before; else whole."""
    for text in (belief.learner, belief.look_again):
        assert text == text.strip() and not text.endswith(".")
        assert text[0].islower() or text[:3] == "APU"
    assert belief.instructor.startswith("Teach again ") and belief.instructor.endswith(".")
    assert belief.name == belief.name.lower() and " " not in belief.name
    assert belief.feedback.count(".") == 2


def test_no_part_of_an_aircraft_is_named_in_the_data():
    """What is true of one aircraft alone would say nothing of an instructor's own."""
    text = str([(b.changes, b.learner) for b in load_beliefs()])
    for name in FLEET:
        aircraft = load_aircraft(name)
        for part in (*aircraft.pumps, *aircraft.tanks, *aircraft.rules, *aircraft.sensors):
            if len(part.name.split()) > 2:
                assert part.name not in text, part.name


@pytest.mark.parametrize("name", FLEET)
def test_a_believed_aircraft_is_another_one_and_sound(name):
    """A fingerprint of its own, and nothing that a data file could not hold."""
    aircraft = load_aircraft(name)
    found = [b for b in map(belief_of, OF_AIRCRAFT) if believed(b, aircraft) is not None]
    prints = {believed(b, aircraft).fingerprint for b in found} | {aircraft.fingerprint}
    assert len(prints) == len(found) + 1 and len(found) >= 8
    for belief in found:
        changed = believed(belief, aircraft)
        names = [part.name for part in changed.by_name.values()]
        assert not list(checks.faults(changed, names)), belief.name
        assert not {s.name for s in aircraft.switches} ^ {s.name for s in changed.switches}


@pytest.mark.parametrize("belief", OF_AIRCRAFT)
def test_every_belief_says_something_about_one_of_the_aircraft(belief):
    """A belief about no aircraft could never be found."""
    assert any(believed(belief_of(belief), load_aircraft(name)) for name in FLEET)


def test_the_same_belief_makes_the_same_aircraft_and_leaves_the_right_one_alone():
    """Nothing is written on the aircraft, and nothing is drawn."""
    aircraft = load_aircraft("halbrook-180")
    before = replace(aircraft)
    for name in OF_AIRCRAFT:
        once, again = (believed(belief_of(name), aircraft) for _ in range(2))
        assert once == again
    assert aircraft == before


def test_parts_are_found_by_what_they_do():
    """With pumps, valves, tanks and rules called otherwise, each belief changes as much."""
    aircraft = load_aircraft("halbrook-180")
    assert roles_of(aircraft).names("crossfeed") == {"crossfeed valve"}
    text = aircraft_file("halbrook-180").read_text(encoding="utf-8")
    for word, other in (
        ("crossfeed", "gate"), ("centre", "belly"), ("transfer", "sluice"), ("outboard", "tip"),
        ("shut-off", "last"), ("low sensor", "switch of level"), ("hot return", "cooler"),
    ):  # fmt: skip
        text = text.replace(word, other)
    renamed = aircraft_from(tomllib.loads(text))
    for belief in map(belief_of, OF_AIRCRAFT):
        one, two = believed(belief, aircraft), believed(belief, renamed)
        assert (one is None) == (two is None), belief.name
        if one is not None:
            counts = [len(x.rules) for x in (one, two)], [len(x.lines) for x in (one, two)]
            assert all(a == b for a, b in counts), belief.name


def test_dropping_a_rule_drops_what_could_only_follow_from_it():
    """No rule, alert or counter is left that asks for a rule that is gone."""
    aircraft = believed(belief_of("trim-only-by-hand"), load_aircraft("halbrook-300"))
    names = set(aircraft.by_name)
    conditions = [r.condition for r in aircraft.rules] + [a.condition for a in aircraft.alerts]
    asked = {f.name for c in conditions for f in c.facts if isinstance(f.name, str)}
    assert not {n for n in asked if "transfer" in n and n.endswith("balance")} & asked - names
    assert len(aircraft.rules) < len(load_aircraft("halbrook-300").rules)
    assert not any("balance" in r.name for r in aircraft.rules)


def test_transfer_by_side_opens_each_valve_for_its_own_side():
    """The rule that opened both becomes two, each with its own fact and its own valve."""
    aircraft = believed(belief_of("only-the-low-side-opens"), load_aircraft("halbrook-180"))
    rules = [r for r in aircraft.rules if ("left transfer valve", "OPEN") in r.sets]
    assert [len(r.sets) for r in rules] == [1]
    assert [f.name for f in rules[0].condition.facts] == ["left inboard low sensor"]


def test_a_belief_of_figures_changes_no_aircraft():
    """And one of aircraft works no sheet."""
    aircraft = load_aircraft("halbrook-180")
    assert believed(belief_of("litres-are-kilograms"), aircraft) is None
    sheet = draw_sheet("uplift", aircraft, 1)
    assert slipped(belief_of("no-run-on"), "uplift", sheet) is None


# ------------------------------------------------------------------------------------------ sheets
@pytest.mark.parametrize("name", OF_FIGURES)
def test_every_belief_of_figures_makes_a_figure_wrong(name):
    """In some drawn sheet of each kind that it names, of some aircraft of the kit."""
    belief = belief_of(name)
    for sheet_name in dict.fromkeys(sheet for sheet, _ in belief.slips):
        fleet = [a for a in map(load_aircraft, FLEET[:3]) if sheet_name in sheets_for(a)]
        drawn = [draw_sheet(sheet_name, a, n) for a in fleet for n in range(8)]
        assert any(slips_in(belief, sheet_name, sheet) for sheet in drawn), sheet_name
        assert any(slipped(belief, sheet_name, sheet) for sheet in drawn), sheet_name


def test_every_slip_that_a_belief_names_exists():
    """In a sheet of that name, for some aircraft and some draw."""
    for sheet_name in {sheet for b in load_beliefs() for sheet, _ in b.slips}:
        fleet = [a for a in map(load_aircraft, FLEET[:3]) if sheet_name in sheets_for(a)]
        drawn = [draw_sheet(sheet_name, a, n) for a in fleet for n in range(4)]
        known = {s.name for d in drawn for step in d.steps for s in step.slips}
        named = {slip for b in load_beliefs() for sheet, slip in b.slips if sheet == sheet_name}
        assert named <= known, sheet_name


def test_what_follows_from_a_slip_follows_on():
    """By hand: so many litres as kilograms, too much by litres times (1 - density in kg/l)."""
    belief, aircraft = belief_of("litres-are-kilograms"), load_aircraft("halbrook-180")
    sheet = draw_sheet("uplift", aircraft, 0)
    given = {g.name: g.value for g in sheet.givens}
    right, values = sheet.worked(), slipped(belief, "uplift", sheet)
    litres = given["volume"] * 1000.0
    assert right["mass"] == pytest.approx(litres * given["density"] / 1000.0)
    assert values["mass"] == pytest.approx(litres)
    too_much = litres * (1.0 - given["density"] / 1000.0)
    assert values["expected"] - right["expected"] == pytest.approx(too_much)


# ----------------------------------------------------------------------------------------- bad data
def test_a_good_file_is_read():
    """The file that the next tests spoil."""
    (belief,) = beliefs_from(content())
    assert belief.changes[0].which.sets == "pump" and not belief.is_of_figures


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda b: b.update(changes=[{"do": "at onc", "sets": "pump"}]), "do is 'at onc'"),
        (lambda b: b.update(changes=[{"do": "drop"}]), "selects no rules"),
        (lambda b: b.update(changes=[{"do": "drop", "sets": "pumpe"}]), "sets is 'pumpe'"),
        (lambda b: b.update(changes=[]), "either changes or slips"),
        (lambda b: b.update(objectives=["runon"]), "Did you mean 'run-on'"),
        (lambda b: b.update(slips=[{"sheet": "plans", "slip": "x"}]), "sheet is 'plans'"),
        (lambda b: b.pop("learner"), "learner is missing"),
        (lambda b: b.update(colour="red"), "colour is not a known field"),
        (lambda b: b.update(changes=[{"do": "turn round", "sets": "pump"}]), "fact is missing"),
    ],
)
def test_a_fault_of_the_file_is_named(spoil, told):
    """Field, value and what would be right."""
    data = deepcopy(content())
    spoil(data["beliefs"][0])
    with pytest.raises(DataFileError, match=told):
        beliefs_from(data)


def test_a_belief_that_stands_twice_is_a_fault():
    """Names are what reports count by."""
    data = content()
    data["beliefs"] *= 2
    with pytest.raises(DataFileError, match="stands twice"):
        beliefs_from(data)


def test_an_unknown_name_gets_a_hint():
    """The error names what would be right."""
    with pytest.raises(FuelkitError, match="no-run-on"):
        belief_of("no-runon")


def test_every_operator_is_used():
    """What no belief uses is not kept."""
    used = {c.do for b in load_beliefs() for c in b.changes}
    assert used == set(changes.ON_RULES) | set(changes.ON_PARTS)


def test_states_that_changes_name_are_states_of_parts():
    """A word that no part knows would select nothing."""
    known = {s for states in model._STATES.values() for s in states} | {"SHUT", "OPEN"}
    assert set(changes.STATES) <= known
    assert read_toml(aircraft_file("halbrook-180"))["schema"]
