"""Abnormal operation: what the crew is shown leads to one failure, and what is claimed is flown."""

import json
import os
import re

import pytest

from fuelkit.assess.abnormal import told_apart
from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit
from fuelkit.assess.faults import failure_sentence
from fuelkit.assess.flights import flight_for, flight_of
from fuelkit.assess.moments import moment
from fuelkit.flight.amend import canonical
from fuelkit.flight.indications import indications
from fuelkit.physics.units import HOUR

ALL = os.environ.get("FUELKIT_UNITS") == "all"  # else every second failure
UNITS = ("lesson-abnormal", "exercise-abnormal")
_LEAK = 1200.0  # kg/h, where the right option gives no size to compare with
_SENTENCES = (
    (r"(?P<part>.+) has failed", "failed"),
    (r"fuel leaks from (?P<part>.+)", "leaking"),
    (r"the gauge of (?P<part>.+) is wrong", "misreading"),
    (r"the vent of (?P<part>.+) is blocked", "blocked"),
    (r"(?P<part>.+) is stuck (?P<state>.+)", "stuck"),
)


def fault_asks():
    """Each question of what has failed, with its unit and board."""
    for name in UNITS:
        for board in load_unit(name).boards:
            for ask in board.asks:
                if ask.kind == "fault":
                    yield pytest.param(name, board.name, ask, id=ask.identifier)


def fields_of(sentence, at, leak, **size):
    """A failure in plain words as a table of a data file."""
    for pattern, kind in _SENTENCES:
        if found := re.fullmatch(pattern, sentence):
            named = {key: value for key, value in found.groupdict().items() if value}
            extra = {"leaking": {"leak_kg_h": leak}, "misreading": size or {"factor": 0.8}}
            return {"at": at, "kind": kind, **named, **extra.get(kind, {})}
    raise AssertionError(f"no failure is written '{sentence}'")


def boards_right_failure(unit, board, ask):
    """The table of the failure that is right, and all the others of the board's own flight."""
    flight = flight_for(unit, board)
    right = next(a.value for a in answers(flight, board) if a.ask == ask)
    more = json.loads(board.more)
    told = {
        failure_sentence(failure): index
        for index, table in enumerate(more["failures"])
        for failure in flight.sector.failures
        if (failure.part, failure.kind) == (table["part"], table["kind"])
    }
    table = more["failures"].pop(told[right])
    return right, table, more


def flown_with(unit, board, more, table, until=None):
    """The board's flight with another failure in place of the right one, flown so far [s]."""
    failures = [*more.get("failures", []), table]
    return flight_of(
        board.aircraft or unit.aircraft,
        board.sector or unit.sector,
        board.draw,
        canonical(failures, more.get("actions", [])),
        until,
    )


def crew_sees(flight, time):
    """All that is shown at a moment, but for quantities and temperatures."""
    shown = indications(flight, time)
    return (shown.pumps, shown.valves, shown.consumers, shown.sensors, shown.buses, shown.alerts)


def masses_differ(first, second, time):
    """Whether a gauge or a counter differs by more than a needle's breadth, 40 kg."""
    a, b = indications(first, time), indications(second, time)
    pairs = [(a.masses[tank], b.masses[tank]) for tank in a.masses]
    pairs += [(a.fuel_used[engine], b.fuel_used[engine]) for engine in a.fuel_used]
    return any(abs(one - other) > 40.0 for one, other in pairs)


@pytest.mark.parametrize(("name", "board_name", "ask"), list(fault_asks())[:: 1 if ALL else 2])
def test_each_wrong_failure_would_have_shown_something_else(name, board_name, ask):
    """Flown instead of the right one, it shows another picture at the moment that is shown."""
    unit = load_unit(name)
    board = unit.board(board_name)
    flight = flight_for(unit, board)
    shown = moment(flight, board.shown)
    right, table, more = boards_right_failure(unit, board, ask)
    for option in ask.options:
        if option == right:
            continue
        other = fields_of(option, table["at"], table.get("leak_kg_h", _LEAK))
        suspect = flown_with(unit, board, more, other, shown + 1.0)
        assert told_apart(flight, suspect, shown), option
        differs = crew_sees(flight, shown) != crew_sees(suspect, shown)
        assert differs or masses_differ(flight, suspect, shown), option


def test_every_board_with_a_failure_shows_it_after_it_has_happened():
    """What the learner is to recognise has happened when the picture is taken."""
    for name in UNITS:
        unit = load_unit(name)
        for board in unit.boards:
            if board.more:
                flight = flight_for(unit, board)
                first = min(f.time for f in flight.sector.failures)
                assert first < moment(flight, board.shown), board.name


@pytest.mark.parametrize(
    ("name", "board_name", "leaking"),
    [
        ("lesson-abnormal", "leak", "left inboard"),
        ("lesson-abnormal", "gauge", "right inboard"),
        ("exercise-abnormal", "not-equal", "left inboard"),
    ],
)
def test_a_leak_and_a_gauge_that_show_the_same_now_differed_on_the_way(name, board_name, leaking):
    """A gauge fault, or a leak, sized to show just this mass is told apart by earlier looks."""
    unit = load_unit(name)
    board = unit.board(board_name)
    flight, more = flight_for(unit, board), json.loads(board.more)
    plain = flight_of(unit.aircraft, unit.sector)
    (table,) = more.pop("failures")
    (failure,) = flight.sector.failures
    shown = moment(flight, board.shown)
    missing = plain.shown_mass(leaking, shown) - flight.shown_mass(leaking, shown)
    if table["kind"] == "leaking":
        other = {**table, "kind": "misreading", "offset_kg": -missing}
        del other["leak_kg_h"]
    else:
        rate = missing / (shown - failure.time) * HOUR
        other = {"at": table["at"], "kind": "leaking", "part": leaking, "leak_kg_h": rate}
    suspect = flown_with(unit, board, more, other)
    early = failure.time + 0.1 * (shown - failure.time)
    assert masses_differ(flight, suspect, early)


@pytest.mark.parametrize(
    ("name", "board_name"), [("lesson-abnormal", "leak"), ("exercise-abnormal", "where-it-goes")]
)
def test_the_loss_that_a_board_tells_is_the_size_of_its_leak(name, board_name):
    """A learner works with the rate that the situation names: it is the one that is flown."""
    unit = load_unit(name)
    board = unit.board(board_name)
    (failure,) = flight_for(unit, board).sector.failures
    told = re.search(r"about (\d[\d ]*) kg an hour", board.lead)[1].replace(" ", "")
    assert float(told) == pytest.approx(failure.leak * HOUR)


def test_the_mass_at_which_jettison_is_said_to_stop_is_where_it_stops():
    """The question names the aircraft's own figure: the valve begins to shut when it is reached."""
    flight, board = lesson_flight("jettison")
    (ask,) = [ask for ask in board.asks if ask.kind == "when"]
    told = re.search(r"hold (\d[\d ]*) kg", ask.text)[1].replace(" ", "")
    reached = moment(flight, "jettison down to the landing mass is ACTIVE")
    assert flight.total(reached) == pytest.approx(float(told), abs=1.0)


# ------------------------------------------------------------------- what the lesson claims
def lesson_flight(board_name, unit_name="lesson-abnormal"):
    unit = load_unit(unit_name)
    board = unit.board(board_name)
    return flight_for(unit, board), board


def missing(flight, start, time):
    """Fuel at a time before the engines start, less gauges and counters later [kg].

    What the APU burned after that time is in it: less than 15 kg.
    """
    used = sum(flight.fuel_used(engine, time) for engine in ("engine 1", "engine 2"))
    tanks = [tank.name for tank in flight.aircraft.tanks if tank.holds_fuel]
    return flight.total(start) - used - sum(flight.shown_mass(tank, time) for tank in tanks)


def test_the_gap_of_a_leak_grows_and_that_of_a_gauge_stays():
    """Ten minutes later a leak leaves more missing in the same fuel check, a gauge as much."""
    leak, gauge = lesson_flight("leak")[0], lesson_flight("gauge")[0]
    start, leaked, read = 1200.0, 5160.0, 11700.0
    assert missing(leak, start, leaked) > 250.0
    assert missing(leak, start, leaked + 600.0) - missing(leak, start, leaked) > 150.0
    assert missing(gauge, start, read) > 700.0
    assert abs(missing(gauge, start, read + 600.0) - missing(gauge, start, read)) < 1.0


def test_nothing_is_missing_when_only_the_wings_are_unequal():
    """The crossfeed board says that the fuel check was good: it was."""
    flight, board = lesson_flight("crossfeed-open")
    shown = moment(flight, board.shown)
    assert abs(missing(flight, 1200.0, shown)) < 20.0
    assert abs(flight.balance(shown).imbalance) > 700.0


def test_an_open_crossfeed_does_not_level_the_wings():
    """Twenty minutes after it was opened the imbalance is what it was, within 20 kg."""
    flight, board = lesson_flight("crossfeed-open")
    opened = moment(flight, board.asked)
    before, after = (flight.balance(t).imbalance for t in (opened, opened + 1200.0))
    assert abs(after - before) < 20.0


def test_gravity_feeds_low_down_and_fails_high_up():
    """Both inboard pumps lost: the engine runs on in the descent and starves in the cruise."""
    low, board = lesson_flight("gravity-low")
    assert low.position("engine 1", moment(low, board.asked)) == "RUN"
    high, board = lesson_flight("gravity-high")
    assert high.position("engine 2", moment(high, board.asked)) == "STARVED"


def test_with_the_crossfeed_shut_the_second_loss_of_the_exercise_stops_the_engine():
    """The exercise asks what would have happened: it is flown."""
    unit = load_unit("exercise-abnormal")
    board = unit.board("one-then-another")
    more = json.loads(board.more)
    shut = flight_of(unit.aircraft, unit.sector, 0, canonical(more["failures"]))
    asked = moment(flight_for(unit, board), board.asked)
    assert shut.position("engine 2", asked) == "STARVED"


def test_a_blocked_vent_keeps_the_fuel_in_its_cell_and_the_inboard_tank_tells_it():
    """With both transfer valves open one inboard tank rises and the other falls."""
    flight, board = lesson_flight("vent")
    shown, asked = moment(flight, board.shown), moment(flight, board.asked)
    assert flight.position("right transfer valve", shown) == "OPEN"
    assert flight.shown_mass("left inboard", asked) > flight.shown_mass("left inboard", shown)
    assert flight.shown_mass("right inboard", asked) < flight.shown_mass("right inboard", shown)


def test_fuel_stuck_in_the_tail_keeps_the_centre_of_gravity_aft():
    """Ten minutes into the descent it lies further aft than in the flight without the failure."""
    flight, board = lesson_flight("trim-stuck")
    asked = moment(flight, board.asked)
    normal = flight_of(board.aircraft, board.sector)
    assert flight.balance(asked).percent > normal.balance(asked).percent + 1.0


def test_a_lost_centre_pump_makes_its_own_wing_the_light_one():
    """The exercise says so: from the picture shown on the right wing loses against the left."""
    flight, board = lesson_flight("late-caution", "exercise-abnormal")
    shown = moment(flight, board.shown)
    assert flight.balance(shown + 3600.0).imbalance < flight.balance(shown).imbalance - 300.0


def test_the_leak_at_an_engine_empties_what_feeds_it():
    """Before the right side rested the centre tank lost what leaked, beside what was burned."""
    flight, _ = lesson_flight("where-it-goes", "exercise-abnormal")
    (failure,) = flight.sector.failures
    plain = flight_of("halbrook-180", "port-ellery-eastmere")
    rest = moment(flight, "right centre rests is ACTIVE")
    gone = plain.quantity("centre", rest) - flight.quantity("centre", rest)
    assert gone == pytest.approx(failure.leak * (rest - failure.time), rel=0.02)


@pytest.mark.parametrize("name", UNITS)
def test_what_is_decided_is_left_to_the_approved_manual(name):
    """Every lesson and exercise names it among the right answers, and gives no procedure."""
    right = [ask.options[0] for board in load_unit(name).boards for ask in board.asks
             if ask.kind == "choice"]  # fmt: skip
    assert sum("approved manual" in option for option in right) >= 1
