"""Boards on the stand: questions about tanks, and each scene's board for any aircraft."""

from dataclasses import replace

import pytest

from fuelkit.aircraft.loading import distribution
from fuelkit.assess.answers import answers
from fuelkit.assess.course import Board
from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.assess.marking import mark_board
from fuelkit.assess.stand import SCENES_ON_THE_STAND, stand_asks
from fuelkit.assess.tank_task import tank_figures, tank_questions, tank_situation
from fuelkit.physics.fuel import density
from fuelkit.physics.solid import level_table
from tests.notebooks.tidy import ROOT

OWN = str(ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml")
AIRCRAFT = {"180": "halbrook-180", "40": "halbrook-40", "300": "halbrook-300", "own": OWN}
every = pytest.mark.parametrize("name", AIRCRAFT.values(), ids=AIRCRAFT)


def question(aircraft, draw, key):
    """The question of one key, or None."""
    return next((q for q in tank_questions(aircraft, draw) if q.key == key), None)


@every
def test_shares_of_a_load_add_up_to_it(name):
    """Conservation: what is asked tank by tank is the load; and the asked tank has its share."""
    aircraft = aircraft_of(name)
    for draw in range(1, 30):
        fuel = tank_situation(aircraft, draw)
        masses = distribution(aircraft, fuel.total, fuel.density)
        assert sum(masses.values()) == pytest.approx(fuel.total, abs=1e-6)
        assert question(aircraft, draw, "share").value in masses.values()


def test_a_share_worked_by_hand():
    """Three steps by hand: inboard tanks full, then the cells, the rest in the centre.

    Own worked example: capacities from the exact solids, 96 % of each, times the density.
    """
    aircraft = aircraft_of("halbrook-180")
    draw = next(d for d in range(1, 99) if question(aircraft, d, "share").text.endswith("centre?"))
    fuel = tank_situation(aircraft, draw)
    wings = ("left inboard", "right inboard", "left outboard", "right outboard")
    filled = sum(0.96 * level_table(aircraft.tank(n).solid).capacity for n in wings)
    by_hand = fuel.total - filled * fuel.density
    asked = question(aircraft, draw, "share")
    assert asked.value == pytest.approx(by_hand, abs=1e-6)


@every
def test_what_runs_over_is_what_warm_fuel_has_no_room_for(name):
    """ASTM D1250, Table 54B, printed law with its rounding, against the question's smooth one."""
    aircraft = aircraft_of(name)
    for draw in range(1, 12):
        asked, fuel = question(aircraft, draw, "warmed"), tank_situation(aircraft, draw)
        tank = next(t for t in aircraft.tanks if asked.text.lower().startswith(t.name + " is"))
        cold, warm = (density(fuel.density_15, t) for t in (fuel.temperature, fuel.warmer))
        assert asked.value == pytest.approx(tank.highest_volume * (cold - warm), rel=0.02, abs=0.2)


@every
def test_a_tank_runs_over_where_the_computed_flight_says(name):
    """Question and flight read the same overflows."""
    aircraft = aircraft_of(name)
    ways = {o.start: o.end for o in aircraft.overflows}
    for draw in range(1, 12):
        asked = question(aircraft, draw, "runs-over")
        start = asked.text.removeprefix("Where does ").removesuffix(" run over to first?")
        assert asked.value == ways[start] and asked.options.count(asked.value) == 1


def test_relief_is_weight_times_arm():
    """A point load by hand: one tonne at the middle of a cell's volume, about the root. [kN·m]"""
    aircraft = aircraft_of("halbrook-180")
    asked = question(aircraft, 1, "relief")
    assert asked.value == "right outboard"
    told = float(asked.reason.split("right outboard ")[1].split(" kN")[0])
    root = max(abs(rib.y) for rib in aircraft.tank("centre").ribs)
    ribs = aircraft.tank("right outboard").ribs
    inner, outer = (abs(rib.y) - root for rib in (ribs[0], ribs[-1]))
    assert 9.80665 * inner < told < 9.80665 * 0.5 * (inner + outer)  # it tapers outboard


@every
@pytest.mark.parametrize("scene", SCENES_ON_THE_STAND)
def test_every_scene_has_a_board_that_can_be_answered_and_marked(name, scene):
    """All right scores full, nothing nothing; an aircraft without sticks has no such board."""
    aircraft = aircraft_of(name)
    sheet = "uplift" if scene == "sheet" else ""
    board = Board("trial", "Trial", scene=scene, sheet=sheet, draw=5, state_marks=4.0)
    asks = stand_asks(aircraft, board)
    if not asks:
        assert scene == "sticks" and not aircraft.sticks
        return
    board = replace(board, asks=asks)
    history = flight_of(name, sectors_for(aircraft)[0])
    found = answers(history, board)
    right = {answer.ask.identifier: answer.written() for answer in found}
    marked = mark_board(board, found, right)
    assert marked.full > 0 and marked.marks == pytest.approx(marked.full)
    assert mark_board(board, found, {}).marks == 0.0


def test_calling_maintenance_for_everything_earns_nothing():
    """On a walk-around false alarms count against what was found."""
    aircraft = aircraft_of("halbrook-180")
    board = Board("walk", "Walk", scene="walk-around", draw=14, state_marks=6.0)
    board = Board(**{**board.__dict__, "asks": stand_asks(aircraft, board)})
    found = answers(flight_of("halbrook-180", "eastmere-port-ellery"), board)
    alarm = {a.ask.identifier: "call maintenance" for a in found}
    calm = {a.ask.identifier: "go on" for a in found}
    assert mark_board(board, found, alarm).marks == 0.0
    assert mark_board(board, found, calm).marks == 0.0


@every
def test_the_figures_name_every_tank_that_a_question_may_ask(name):
    """Nothing is asked that cannot be worked from what stands beside it."""
    aircraft = aircraft_of(name)
    told = " ".join(label for label, _ in tank_figures(aircraft, 3))
    assert all(t.name in told for t in aircraft.tanks if t.holds_fuel)
