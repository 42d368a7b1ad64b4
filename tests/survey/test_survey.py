"""An aircraft is looked over: what in it can never happen is found, and nothing else is said."""

import tomllib
from copy import deepcopy
from pathlib import Path

import networkx
import pytest

from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.physics.solid import least_sump
from fuelkit.physics.units import US_GALLON
from fuelkit.survey.crew_switches import crew_switches, switches_for
from fuelkit.survey.possible import attainable, impossible_rules
from fuelkit.survey.standard_sector import standard_sector, takes
from fuelkit.survey.supply import Links, openings_of, supply_of, unreachable_tanks
from fuelkit.survey.survey import survey
from fuelkit.survey.tank_checks import tank_checks

_ROOT = Path(__file__).resolve().parents[2]
STARTER = _ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml"
THREE_ENGINES = _ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml"
_UNLIKE = (str(STARTER), str(THREE_ENGINES), "halbrook-180")


@pytest.fixture(scope="module")
def _starter():
    return tomllib.loads(STARTER.read_text(encoding="utf-8"))


@pytest.fixture
def starter(_starter):
    """The content of the starter file, to be changed by a test."""
    return deepcopy(_starter)


def part(content, section, name):
    """Return the table of a part."""
    return next(table for table in content[section] if table["name"] == name)


def rule(name, sets, **facts):
    """Return a rule for a trial."""
    return {"name": name, "set": sets, "because": "it is a trial", **facts}


def kinds(content):
    """Return what is impossible, as a dict from rule to kind."""
    return {x.rule: x.kind for x in impossible_rules(aircraft_from(content))}


# ------------------------------------------------------------------------- the standard sector
@pytest.mark.parametrize("name", _UNLIKE)
def test_the_standard_sector_flies_any_aircraft_on_nearly_all_its_fuel(name):
    """Every engine runs from start to stand, little is left, none is lost, and it is refuelled."""
    aircraft = load_aircraft(name)
    sector = standard_sector(aircraft)
    flight = fly(aircraft, sector)
    stand = sector.phases[-1].start

    for engine in (c.name for c in aircraft.consumers if c.kind == "engine"):
        states = [c.after for c in flight.changes_of(engine)]
        assert states == ["RUN", "OFF"], engine
    assert 0.0 < flight.total(stand) < 0.08 * flight.total(0.0)
    assert flight.total(sector.end) == pytest.approx(0.8 * takes(aircraft, 800.0), rel=0.02)
    assert abs(flight.conservation_error()) < 1e-3


def test_the_switches_that_start_things_are_found_from_the_rules(starter):
    """Also through a valve that must be open first, and through an automatic position."""
    part(starter, "switches", "left pump switch")["positions"] = ["off", "on", "auto"]
    starter["rules"].append(
        rule("left pump by itself", {"left pump": "RUN"},
             all=["left pump switch is auto", "engine 1 is RUN"])
    )  # fmt: skip
    aircraft = aircraft_from(starter)
    crew = crew_switches(aircraft)

    assert crew.engines == ({"engine 1 fuel lever": "run"}, {"engine 2 fuel lever": "run"})
    assert crew.pumps == {"left pump switch": "auto", "right pump switch": "on"}
    assert crew.refuelling == ({"filler caps": "open"},)
    assert switches_for(aircraft, "crossfeed valve", "OPEN") == {"crossfeed switch": "on"}


def test_tanks_that_are_filled_one_after_the_other_get_a_step_each(starter):
    """A hose that reaches one tank only."""
    part(starter, "switches", "filler caps")["positions"] = ["closed", "left", "right"]
    starter["rules"] = [r for r in starter["rules"] if r["name"] != "filling by hand"]
    for side in ("left", "right"):
        starter["rules"].append(
            rule(f"{side} filling", {f"{side} filler": "OPEN"}, all=[f"filler caps are {side}"])
        )

    found = crew_switches(aircraft_from(starter)).refuelling

    assert found == ({"filler caps": "left"}, {"filler caps": "right"})


# --------------------------------------------------------------------------- impossible rules
def test_the_kits_own_aircraft_have_no_rule_that_is_excluded():
    """Every rule of the course's aircraft, the starter and the example can come about."""
    for name in _UNLIKE:
        assert impossible_rules(load_aircraft(name)) == ()


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"all": ["left pump is RUN", "left pump is OFF"]}, "exclude each other"),
        ({"all": ["left pump is RUN", "left pump is not RUN"]}, "exclude each other"),
        (
            {"all": ["left tank holds less than 400 kg", "left tank holds more than 500 kg"]},
            "exclude each other",
        ),
        (
            {"all": ["crossfeed switch is on"],
             "any": ["crossfeed switch is off", "left tank holds more than 90000 kg"]},
            "exclude each other; “left tank holds more than 90000 kg” can never be",
        ),
        ({"all": ["all tanks hold less than 0 kg"]}, "less than nothing"),
        ({"all": ["late is ACTIVE"]}, "nothing ever meets the condition"),
        ({"all": ["left pump is RUN"], "until": ["left pump is RUN"]}, "what ends it"),
    ],
)  # fmt: skip
def test_a_rule_that_its_conditions_exclude_is_told_with_the_reason(starter, facts, words):
    """Facts that exclude each other, that cannot be, that wait for themselves."""
    starter["rules"].insert(0, rule("late", {"crossfeed valve": "OPEN"}, **facts))

    (found,) = impossible_rules(aircraft_from(starter))

    assert (found.rule, found.kind) == ("late", "cannot")
    assert words in found.reason


def test_rules_that_only_wait_for_each_other_never_begin(starter):
    """A circle of two rules is no beginning."""
    starter["rules"] += [
        rule("hen", {"crossfeed valve": "OPEN"}, all=["egg is ACTIVE"]),
        rule("egg", {"crossfeed valve": "OPEN"}, all=["hen is ACTIVE"]),
    ]

    assert kinds(starter) == {"hen": "cannot", "egg": "cannot"}


def test_a_state_that_no_rule_brings_about_is_told(starter):
    """Without the rule that opens it, the crossfeed valve opens by a failure only."""
    starter["rules"] = [r for r in starter["rules"] if r["name"] != "crossfeed selected"]
    starter["rules"].append(rule("late", {"left pump": "OFF"}, all=["crossfeed valve is OPEN"]))

    assert kinds(starter) == {"late": "failure only"}
    assert "OPEN" not in attainable(aircraft_from(starter), failures=False)["crossfeed valve"]


def test_a_sensor_above_the_highest_fill_is_told(starter):
    """It is WET in no flight; stuck it may be."""
    part(starter, "sensors", "left low sensor")["at"] = [9.9, -8.3, 0.012]
    starter["rules"].append(rule("late", {"left pump": "OFF"}, all=["left low sensor is WET"]))

    (found,) = impossible_rules(aircraft_from(starter))

    assert found.kind == "failure only"
    assert "higher than the tank is ever filled" in found.reason


def test_a_rule_that_never_has_a_say_is_told_and_one_that_sometimes_has_is_not(starter):
    """Outranked for all that it sets, whenever it holds; not if the higher rule asks for more."""
    above = rule("above", {"crossfeed valve": "OPEN"}, all=["crossfeed switch is on"])
    below = rule(
        "below", {"crossfeed valve": "SHUT"}, all=["crossfeed switch is on", "left pump is RUN"]
    )
    starter["rules"][0:0] = [above, below]
    assert kinds(starter) == {"below": "outranked", "crossfeed selected": "outranked"}

    above["all"].append("right pump is RUN")
    assert kinds(starter) == {}

    above["all"].pop()
    above["after_s"] = 30
    assert kinds(starter) == {}


# ------------------------------------------------------------------------------- what was flown
def test_a_rule_is_told_by_the_flight_in_which_it_first_took_hold(starter):
    """In the standard sector, or in a variant of it, which is named; a rare one in none."""
    starter["rules"] += [
        rule("pump lost", {"crossfeed valve": "OPEN"}, all=["left pump is FAIL"]),
        rule("both lost", {"crossfeed valve": "OPEN"}, all=["left pump is FAIL",
                                                            "right pump is FAIL"]),
    ]  # fmt: skip

    found = survey(aircraft_from(starter))

    assert found.first_held["left pump selected"] == ""
    assert "left pump failed" in found.first_held["pump lost"]
    assert found.never_seen == ("both lost",)
    assert found.impossible[0].kind == "failure only"
    assert found.flown > 20


def test_what_is_flown_is_told_along_the_way(starter):
    """The standard sector, then flight after flight up to the number that is announced."""
    starter["rules"].append(
        rule("both lost", {"left pump": "OFF"}, all=["left pump is FAIL", "right pump is FAIL"])
    )
    told = []

    found = survey(aircraft_from(starter), most=5, tell=lambda *counts: told.append(counts))

    assert told == [(0, 1), (1, 6), (2, 6), (3, 6), (4, 6), (5, 6), (6, 6)]
    assert found.flown == 5
    assert found.left_out > 0


def test_a_sector_that_cannot_be_flown_is_told(starter):
    """Two rules that undo each other: no flight, the reason, and the rest all the same."""
    starter["rules"][0:0] = [
        rule("shut it", {"crossfeed valve": "SHUT"}, all=["crossfeed valve is OPEN"]),
        rule("open it", {"crossfeed valve": "OPEN"}, all=["left pump is RUN"]),
    ]
    part(starter, "valves", "crossfeed valve")["travel_s"] = 0

    found = survey(aircraft_from(starter), most=0)

    assert found.flight is None
    assert "undo each other" in found.failed
    assert len(found.supplies) == 2


# ------------------------------------------------------------------------------- fuel and engines
def test_a_tank_without_a_way_out_is_told(starter):
    """Neither pump nor line; or a valve only that no rule opens."""
    centre = {
        **part(starter, "tanks", "left tank"), "name": "centre", "title": "Centre",
        "ribs": [
            {"y": -0.9, "front": [9.0, -0.6, -0.1], "rear": [10.4, -0.6, -0.1]},
            {"y": 0.9, "front": [9.0, -0.6, -0.1], "rear": [10.4, -0.6, -0.1]},
        ], "probes": [],
    }  # fmt: skip
    starter["tanks"].append(centre)
    starter["loading"]["order"].append(["centre"])
    starter["overflows"].append({"name": "centre over", "from": "centre", "to": "overboard"})
    assert unreachable_tanks(aircraft_from(starter)) == ("centre",)

    starter["valves"].append({
        "name": "centre valve", "from": "centre", "to": "left manifold", "loss_kpa": 5,
        "loss_at_kg_h": 900, "travel_s": 2, "inlet": [9.7, 0.0, -0.58],
    })  # fmt: skip
    assert unreachable_tanks(aircraft_from(starter)) == ("centre",)

    starter["rules"].append(rule("open", {"centre valve": "OPEN"}, all=["crossfeed switch is on"]))
    aircraft = aircraft_from(starter)
    assert unreachable_tanks(aircraft) == ()
    found = survey(aircraft, most=0)
    assert [name for name, _, _ in found.undrained] == ["centre"]


def test_an_engine_with_one_source_is_told(starter):
    """Its one pump, and the tank; with gravity feed it is the tank; with a crossfeed nothing."""
    whole = aircraft_from(starter)
    assert survey(whole, most=0).one_source == ()

    starter["rules"] = [r for r in starter["rules"] if r["name"] != "crossfeed selected"]
    supply = supply_of(aircraft_from(starter), whole.by_name["engine 1"])
    assert [loss.part for loss in supply.single_sources] == ["left tank"]
    assert [loss.part for loss in supply.losses if loss.left] == ["left pump"]

    starter["check_valves"] = []
    supply = supply_of(aircraft_from(starter), whole.by_name["engine 1"])
    assert [loss.part for loss in supply.single_sources] == ["left pump", "left tank"]


def test_a_bus_that_drives_every_pump_is_a_single_source(starter):
    """Both pumps hang on it and there is no gravity feed."""
    starter["buses"] = [{"name": "only bus"}]
    starter["check_valves"] = []
    for pump in starter["pumps"]:
        pump["bus"] = "only bus"
    aircraft = aircraft_from(starter)

    supply = supply_of(aircraft, aircraft.by_name["engine 1"])

    assert [loss.part for loss in supply.single_sources] == ["only bus"]


@pytest.mark.parametrize("name", [*_UNLIKE, "halbrook-40", "halbrook-300"])
def test_what_a_loss_leaves_agrees_with_networkx(name):
    """Reachability with each part taken out, against the paths of an independent graph library."""
    aircraft = load_aircraft(name)
    links = Links(aircraft)
    tanks = {t.name for t in aircraft.tanks if t.holds_fuel}
    lost_parts = [p.name for p in (*aircraft.pumps, *aircraft.lines)] + sorted(tanks)
    for consumer in aircraft.consumers:
        cut = {loss.part for loss in supply_of(aircraft, consumer).cut_by}
        for lost in lost_parts:
            graph = networkx.DiGraph()
            graph.add_node(consumer.start)
            for start, end, step in links.steps():
                if lost not in (step.name, start, end) and end not in links.tanks:
                    graph.add_edge(start, end)
            fed = bool(networkx.ancestors(graph, consumer.start) & tanks)
            assert fed is (lost not in cut), (consumer.name, lost)


# ----------------------------------------------------------------------------------- tank checks
def test_a_box_tank_is_checked_as_by_hand(starter):
    """A box 2 m long, 3 m wide and 0.5 m high, its inlet 10 mm above the floor.

    Sump: 6 m² · 0.010 m = 60 L, against 0.10 % of 3 m³ = 3 L (14 CFR 25.971). Expansion: 2.5 %
    of 3 m³ = 75 L against 2 % = 60 L (14 CFR 25.969).
    """
    tank = part(starter, "tanks", "left tank")
    tank["probes"] = [[10.0, -2.0]]
    tank["ribs"] = [
        {"y": y, "front": [9.0, -0.6, -0.1], "rear": [11.0, -0.6, -0.1]} for y in (-1.0, -4.0)
    ]
    for name, section in (("left pump", "pumps"), ("left gravity feed valve", "check_valves")):
        part(starter, section, name)["inlet"] = [10.0, -2.5, -0.59]
    for name, section in (("right pump", "pumps"), ("right gravity feed valve", "check_valves")):
        part(starter, section, name)["inlet"] = [10.0, 2.5, -0.59]
    starter["attitude"] = {"rewet_height_m": 0.01, "pitch_deg": [-1.0, 0.0], "roll_deg": [0.0, 1.0]}

    left, right = tank_checks(aircraft_from(starter))

    assert left.capacity == pytest.approx(3.0, rel=1e-12)
    assert left.sump == pytest.approx(0.060, rel=1e-9)
    assert left.least_sump == pytest.approx(0.003, rel=1e-12)
    assert left.expansion == pytest.approx(0.075, rel=1e-9)
    assert left.least_expansion == pytest.approx(0.060, rel=1e-12)
    assert left.sump_is_met and left.expansion_is_met
    assert left.unusable == pytest.approx(right.unusable, rel=0.5)
    assert left.unusable >= left.unusable_level


def test_a_sump_that_is_too_small_is_told(starter):
    """An inlet at the very bottom; the least sump of a tiny tank is 1/16 US gallon."""
    for section in ("pumps", "check_valves"):
        for table in starter[section]:
            if table["from"] == "left tank":
                table["inlet"] = [9.02, -1.01, -0.5985]
    left, right = tank_checks(aircraft_from(starter))
    assert not left.sump_is_met and right.sump_is_met

    assert least_sump(0.1) == pytest.approx(US_GALLON / 16.0)


def test_openings_are_those_through_which_fuel_leaves():
    """A tank's refuel valve is no way out; its transfer valve and its pumps are."""
    halbrook = load_aircraft("halbrook-180")

    assert [n for n, _ in openings_of(halbrook, "left outboard")] == ["left transfer valve"]


def test_a_starter_is_let_go_of_and_the_engine_goes_on():
    """What holds an engine in start is none of what keeps it running; a fuel lever stays."""
    turboprop = load_aircraft("halbrook-40")
    flight = fly(turboprop, standard_sector(turboprop))
    for engine in ("engine 1", "engine 2"):
        lit = next(c.time for c in flight.changes_of(engine) if c.after == "RUN")
        off = next(c.time for c in flight.changes_of(f"{engine} starter") if c.after == "off")
        assert lit < off < lit + 60.0
        assert flight.position(engine, off + 600.0) == "RUN"
    jet = load_aircraft("halbrook-180")
    moves = [
        dict(action.sets).get("engine 1 fuel lever") for action in standard_sector(jet).actions
    ]
    assert [move for move in moves if move] == ["run", "cut-off"]
