"""Walks, sticks on a slope and water samples: the same by number, right by outside reckoning."""

from collections import Counter
from dataclasses import replace
from math import cos, radians, sin, tan
from pathlib import Path

import numpy as np
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.assess.course import Board
from fuelkit.assess.marking import mark_board
from fuelkit.assess.stand import stand_answer, stand_asks
from fuelkit.assess.stick_task import stick_task
from fuelkit.assess.walk_around import CAUTIONS, DECISIONS, stations, walk
from fuelkit.assess.water_task import WATER_DECISIONS, water_task
from fuelkit.physics.lots import Lot
from fuelkit.physics.sticks import StickKind, StickState

_ROOT = Path(__file__).resolve().parents[2]
STARTER = str(_ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml")
NO_WALK = str(_ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml")
STICKS = ("halbrook-40", "halbrook-180", "halbrook-300")
DRAWS = range(60)


@pytest.fixture(scope="module", params=[*STICKS, STARTER], ids=["40", "180", "300", "starter"])
def aircraft(request):
    """Each aircraft of the kit."""
    return load_aircraft(request.param)


@pytest.fixture(scope="module", params=STICKS)
def with_sticks(request):
    """Each aircraft that has sticks."""
    return load_aircraft(request.param)


# ---------------------------------------------------------------------------------------- lots
def test_a_lot_is_the_same_on_every_machine():
    """SHA-256 of the words "a|1|b": its first six bytes, reckoned with coreutils' sha256sum."""
    assert Lot("a", 1).share("b") == pytest.approx(0xA1BDD42948A5 / 2**48, abs=1e-12)


def test_a_lot_spreads_evenly():
    """Of 6000 dice each face comes up about 1000 times: within five standard deviations."""
    faces = Counter(Lot("dice", n).whole(1, 6, "face") for n in range(6000))
    assert set(faces) == {1, 2, 3, 4, 5, 6}
    assert all(abs(count - 1000) < 5 * np.sqrt(6000 * 5 / 36) for count in faces.values())


# ---------------------------------------------------------------------------------------- walk
def test_the_same_number_gives_the_same_walk_and_another_another(aircraft):
    """Computed twice, from an aircraft loaded twice."""
    assert walk(aircraft, 5) == walk(aircraft, 5)
    assert len({walk(aircraft, draw) for draw in range(12)}) > 6


def test_two_to_four_items_have_a_finding_and_one_asks_for_more_than_going_on(aircraft):
    """On every walk; every other item is in order."""
    able = sum(bool(entry.findings) for entry in aircraft.walk_around)
    counts = set()
    for draw in DRAWS:
        found = [sight for sight in walk(aircraft, draw) if not sight.is_normal]
        counts.add(len(found))
        assert 2 <= len(found) <= min(4, able)
        assert any(sight.decision != "go on" for sight in found)
    assert counts == set(range(2, min(4, able) + 1))


def test_every_finding_of_the_file_comes_up_and_with_its_own_decision(aircraft):
    """Over many walks, each finding at its item at least once."""
    wanted = {
        (e.station, e.item, f.sees): (f.decision, f.because)
        for e in aircraft.walk_around for f in e.findings
    }  # fmt: skip
    seen = {}
    for draw in range(700):
        for s in walk(aircraft, draw):
            if not s.is_normal:
                seen[s.station, s.item, s.sees] = (s.decision, s.reason)
    assert seen == wanted


def test_what_is_in_order_is_told_in_several_ways_and_gone_on_with(aircraft):
    """Always with what the file says is right."""
    words = set()
    for draw in DRAWS:
        for sight in walk(aircraft, draw):
            if sight.is_normal:
                assert sight.decision == "go on" and sight.look_for in sight.sees
                words.add(sight.sees.replace(sight.look_for, "-"))
    assert len(words) >= 4


def test_items_are_numbered_in_walking_order(aircraft):
    """By station and letter; every label once."""
    labels = [sight.label for sight in walk(aircraft, 1)]
    assert labels == [label for _, of in stations(aircraft) for label in of]
    assert len(set(labels)) == len(labels) == len(aircraft.walk_around)
    assert labels[0] == "1a"


def test_the_middle_of_an_item_is_among_its_places(aircraft):
    """The mean of x and of y."""
    for sight in walk(aircraft, 1):
        assert sight.at == pytest.approx(tuple(np.mean(sight.places, axis=0)))


def test_an_aircraft_without_a_walk_around_has_no_sights():
    """An instructor's file need not have one."""
    assert walk(load_aircraft(NO_WALK), 1) == ()


def marked(aircraft, draw, decide):
    """A walk as a board marks it, each sight decided by a function."""
    board = Board("walk", "Walk", scene="walk-around", draw=draw, state_marks=6.0)
    board = replace(board, asks=stand_asks(aircraft, board))
    found = tuple(stand_answer(aircraft, board, ask) for ask in board.asks)
    return mark_board(board, found, {a.ask.identifier: decide(a) for a in found})


def test_all_right_answers_are_marked_right_and_all_else_wrong(aircraft):
    """With the reason beside each."""
    right = marked(aircraft, 8, lambda answer: answer.value)
    assert right.marks == right.full > 0.0
    assert all(line.is_right and line.reason for line in right.lines)
    turned = marked(aircraft, 8, lambda a: DECISIONS[(DECISIONS.index(a.value) + 1) % 3])
    assert turned.marks == 0.0 and not any(line.is_right for line in turned.lines)
    assert not any(line.is_right for line in marked(aircraft, 8, lambda _: "").lines)


def test_going_on_with_everything_is_never_all_right(aircraft):
    """There is always something to find."""
    for draw in DRAWS:
        assert any(sight.decision != "go on" for sight in walk(aircraft, draw))


def test_an_answer_that_can_be_none_is_asked_for_in_words(aircraft):
    """A decision that is none earns nothing, and the reason says what would be one."""
    lines = marked(aircraft, 1, lambda _: "fly").lines
    assert not any(line.is_right for line in lines)
    assert all("one of go on, check again, call maintenance" in line.reason for line in lines)


def test_the_usual_cautions_are_there():
    """Ignition, leaks, spilled fuel, protection, who may drain, who decides."""
    words = " ".join(CAUTIONS)
    for word in ("ignition", "below a leak", "spilled", "gloves", "eye protection", "authorised",
                 "refuelling is stopped", "approved manual"):  # fmt: skip
        assert word in words


# -------------------------------------------------------------------------------------- sticks
def flooded(tank, up, level, count=400_000):
    """Volume of a tank below a tilted plane by throwing points at random [m³]: a second way."""
    rng, solid = np.random.default_rng(5), tank.solid
    volumes = np.abs(np.linalg.det(solid[:, 1:] - solid[:, :1])) / 6.0
    which = rng.choice(len(solid), size=count, p=volumes / volumes.sum())
    weights = rng.dirichlet((1.0, 1.0, 1.0, 1.0), size=count)
    points = np.einsum("nk,nkj->nj", weights, solid[which])
    return volumes.sum() * np.mean(points @ np.array(up) < level)


@pytest.mark.parametrize("draw", [1, 2, 3])
def test_the_answer_is_the_volume_below_the_tilted_surface_times_density(with_sticks, draw):
    """Points thrown into the tank, counted below the plane that the reading fixes."""
    task = stick_task(with_sticks, draw)
    part = with_sticks.by_name[task.stick]
    seen = next(s for s in task.readings if s.name == task.stick)
    x, y, z = part.foot
    drip = seen.kind is StickKind.DRIP
    surface = z + (part.length - seen.reading if drip else seen.reading)
    p, r = task.pitch, task.roll
    # Up in a pitched, rolled aircraft, x aft: derived by hand from two turns of the axes.
    up = (-sin(p), -sin(r) * cos(p), cos(r) * cos(p))
    level = x * up[0] + y * up[1] + surface * up[2]
    tank = with_sticks.tank(task.tank)

    volume = flooded(tank, up, level)

    assert task.answer == pytest.approx(volume * task.density, rel=0.012)


def test_a_slope_moves_the_surface_by_its_tangent(with_sticks):
    """Two sticks of one tank that both read: their surfaces differ as the slope says."""
    checked = 0
    for draw in range(80):
        task = stick_task(with_sticks, draw)
        read = [s for s in task.readings if s.reading is not None]
        for one in read:
            for other in read:
                if one.tank == other.tank and one.name < other.name:
                    heights = []
                    for s in (one, other):
                        part = with_sticks.by_name[s.name]
                        along = part.length - s.reading if s.kind is StickKind.DRIP else s.reading
                        heights.append((*part.foot[:2], part.foot[2] + along))
                    (x0, y0, z0), (x1, y1, z1) = heights
                    lean = tan(task.pitch) / cos(task.roll) * (x1 - x0)
                    lean += tan(task.roll) * (y1 - y0)
                    assert z1 - z0 == pytest.approx(lean, abs=0.0011)
                    checked += 1
    assert checked > 3


def test_the_task_can_be_worked_with_the_table_that_it_gives(with_sticks):
    """Straight between two rows, to the litre: within the tolerance; the slip well outside it."""
    for draw in range(25):
        task = stick_task(with_sticks, draw)
        seen = next(s for s in task.readings if s.name == task.stick)
        readings, sloped, flat = (np.array(c) for c in zip(*task.table, strict=True))
        assert readings[0] <= seen.reading <= readings[-1]

        mass = np.interp(seen.reading, readings, sloped) * task.density
        slip = np.interp(seen.reading, readings, flat) * task.density

        assert abs(mass - task.answer) <= task.tolerance
        assert abs(slip - task.slip_value) <= task.tolerance
        assert abs(task.slip_value - task.answer) >= 2.0 * task.tolerance


def test_masses_are_within_the_tanks_and_the_slope_within_a_stand(with_sticks):
    """Nothing beyond what a tank is refuelled to; at most 1.5° and 1.0°, never level."""
    asked = set()
    for draw in range(40):
        task = stick_task(with_sticks, draw)
        asked.add(task.stick)
        for tank in with_sticks.tanks:
            limit = tank.refuelled_volume if tank.holds_fuel else 0.0
            assert 0.0 <= task.masses[tank.name] <= limit * task.density + 1e-6
        assert abs(task.pitch) <= radians(1.5) and abs(task.roll) <= radians(1.0)
        assert task.pitch or task.roll
        assert 775.0 < task.density < 840.0
    assert len(asked) >= 0.7 * len(with_sticks.sticks)


def test_a_stick_that_finds_no_surface_says_so_and_on_which_side(with_sticks):
    """Dry or covered, in words; each kind of reading in its own words."""
    states = set()
    for draw in range(40):
        for seen in stick_task(with_sticks, draw).readings:
            states.add(seen.state)
            assert (seen.reading is None) is (seen.state is not StickState.READS)
            words = {"DRY": "below it", "COVERED": "above the end of its scale", "READS": "cm"}
            assert words[seen.state.name] in str(seen)
            if seen.reading is not None:
                kind = with_sticks.by_name[seen.name].kind
                assert str(seen).startswith({"drip": "drips", "magnetic": "reads"}[kind])
    assert StickState.READS in states and len(states) > 1


def test_the_steps_lead_from_the_reading_to_the_mass_and_name_the_slip(with_sticks):
    """Reading, volume at the attitude, times density, and what the slip gives."""
    task = stick_task(with_sticks, 4)
    reading, volume, mass, slip = task.steps
    assert task.stick in reading and "cm" in reading
    assert "attitude" in volume and "L" in volume
    assert f"{round(task.answer):,} kg".replace(",", " ") in mass
    assert "slope ignored" in slip
    assert f"{round(task.slip_value):,} kg".replace(",", " ") in slip
    assert task.caution


def test_the_same_number_gives_the_same_task(with_sticks):
    """And another number another one."""
    assert stick_task(with_sticks, 3) == stick_task(with_sticks, 3)
    assert len({stick_task(with_sticks, draw).question for draw in range(8)}) > 5


def test_an_aircraft_without_sticks_says_so():
    """A task that is false, with the reason in words and no figures."""
    task = stick_task(load_aircraft(STARTER), 1)
    assert not task
    assert "there is nothing to read" in task.question
    assert task.answer is None and task.readings == () and task.table == ()


# --------------------------------------------------------------------------------------- water
def samples(aircraft):
    """Many water tasks of an aircraft."""
    return [water_task(aircraft, draw) for draw in range(150)]


def test_every_look_and_every_decision_comes_up(aircraft):
    """Six looks, three decisions."""
    tasks = samples(aircraft)
    assert {t.decision for t in tasks} == set(WATER_DECISIONS)
    assert len({t.sees for t in tasks}) == 6


def test_only_a_clear_sample_is_gone_on_with(aircraft):
    """And a third sample that is not clear always goes to maintenance."""
    for task in samples(aircraft):
        clear = task.found == 0.0
        assert (task.decision == "go on") is clear
        if task.sample == 3 and not clear:
            assert task.decision == "call maintenance"
        if "nothing comes" in task.sees:
            assert task.decision == "call maintenance" and task.cold < 273.15
        assert task.reason and task.steps and "authorised" in task.caution


def test_what_cold_frees_is_a_millionth_for_each_degree_fahrenheit(aircraft):
    """The rule of thumb, reckoned by hand (common practice, no source): within half a per cent."""
    for task in samples(aircraft):
        warm, cold = (max(1.8 * (t - 273.15) + 32.0, 0.0) for t in (task.warm, task.cold))
        litres = task.volume * 1000.0 * (warm - cold) * 1e-6
        assert task.freed == pytest.approx(litres * 0.9991, rel=0.005)
        assert task.freed > 0.0


def test_much_water_is_drained_again_only_if_cold_can_explain_it(aircraft):
    """With a factor of two to spare on either side, since it is an order of magnitude."""
    for task in samples(aircraft):
        if task.found and task.found > 0.1 and task.sample < 3:
            assert not task.found / 2.0 < task.freed < task.found * 2.0
            expected = "drain again" if task.freed > task.found else "call maintenance"
            assert task.decision == expected


def test_the_tank_that_is_drained_is_one_that_the_walk_around_drains():
    """On the 180: inboard, outboard and centre tanks, never a surge tank."""
    aircraft = load_aircraft("halbrook-180")
    assert {t.tank for t in samples(aircraft)} == {
        "left inboard", "right inboard", "left outboard", "right outboard", "centre",
    }  # fmt: skip


def test_the_same_number_gives_the_same_sample(aircraft):
    """Every field of it."""
    assert water_task(aircraft, 9) == water_task(aircraft, 9)
