"""Descent and after landing: what the wording of these boards claims is true of their flights."""

import pytest

from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit
from fuelkit.assess.flights import flight_for
from fuelkit.assess.moments import moment
from fuelkit.flight.indications import indications
from fuelkit.physics.units import HOUR

HALF_AN_HOUR = 0.5 * HOUR  # s; ICAO Annex 6 Part I, 4.3.6, turbine engines (from memory)


def situation(unit_name, board_name):
    """The board, its flight, and the moments shown and asked for [s]."""
    unit = load_unit(unit_name)
    board = unit.board(board_name)
    flight = flight_for(unit, board)
    return board, flight, moment(flight, board.shown), moment(flight, board.asked)


def burn_of_both(flight, phase):
    """What both engines burn in a phase [kg/s]."""
    burn = next(p.burn for p in flight.sector.phases if p.name == phase)
    return sum(
        burn * flight.sector.burn_factor.get(c.name, 1.0)
        for c in flight.aircraft.consumers
        if c.kind == "engine"
    )


def shown_sensors(flight, time):
    """What each sensor shows."""
    return indications(flight, time).sensors


def test_the_hold_ends_below_final_reserve_and_begins_above_it():
    """MAYDAY FUEL is right: predicted at landing is less than thirty minutes of this hold."""
    board, flight, shown, asked = situation("exercise-descent", "hold")
    reserve = burn_of_both(flight, "holding over Tarn Hollow") * HALF_AN_HOUR
    assert flight.total(asked) + 40.0 < reserve < flight.total(shown)
    choice = next(a for a in answers(flight, board) if a.ask.kind == "choice")
    assert choice.value.startswith("MAYDAY FUEL, now")


def test_the_approach_of_the_lesson_is_well_above_final_reserve():
    """Only the supposed delays bring the lesson's flight near its final reserve."""
    _, flight, _, asked = situation("lesson-descent", "landing-fuel")
    assert flight.total(asked) > 2.0 * burn_of_both(flight, "approach") * HALF_AN_HOUR


def test_the_nose_up_of_the_go_around_alone_uncovers_the_low_sensors():
    """Level again, the same tank covers its sensor with less fuel than when it fell dry."""
    _, flight, shown, asked = situation("exercise-descent", "nose-up")
    assert not [c for c in flight.changes_of("outboard transfer") if c.time < shown]
    low = "left inboard low sensor"
    dry = next(c.time for c in flight.changes_of(low) if c.after == "DRY")
    wet = next(c.time for c in flight.changes_of(low) if c.after == "WET" and c.time > dry)
    assert flight.quantity("left inboard", wet) < flight.quantity("left inboard", dry)
    assert flight.position("left transfer valve", flight.sector.end - 3600.0) == "OPEN"


def test_the_rest_of_the_go_around_is_under_way_while_the_tank_holds_fuel():
    """High-lift surfaces in, fuel in the tank, switch on, nothing failed: and the pump is off."""
    _, flight, _, asked = situation("lesson-descent", "go-around")
    assert flight.position("high-lift surfaces", asked) == "in"
    assert flight.position("left centre pump switch", asked) == "on"
    assert flight.position("centre low sensor", asked) == "WET"
    assert flight.position("left centre rests", asked) == "ACTIVE"
    assert flight.position("left centre pump", asked) == "OFF"


def test_no_full_sensor_is_covered_where_the_bands_are_drawn():
    """The left side's rest does not take hold on that flight, as its lead says."""
    _, flight, shown, asked = situation("lesson-descent", "bands")
    changes = flight.changes_of("left inboard full sensor")
    assert not [c for c in changes if shown < c.time < asked]


def test_the_cells_were_opened_in_the_descent_where_the_temperature_goes_away():
    """The lead of the drawn flight holds: open since the descent, temperature still shown."""
    _, flight, shown, _ = situation("lesson-descent", "no-temperature")
    opened = next(c.time for c in flight.changes_of("outboard transfer") if c.after == "ACTIVE")
    assert flight.phase(opened) == "descent" and opened < shown
    bulb = "left outboard temperature bulb"
    assert indications(flight, shown).temperatures[bulb] is not None
    assert indications(flight, moment(flight, f"{bulb} is DRY")).temperatures[bulb] is None


@pytest.mark.parametrize(
    ("unit", "board", "tank", "sensor"),
    [
        ("lesson-after-landing", "discrepancy", "left inboard", "WET"),
        ("exercise-after-landing", "what-went", "right inboard", "DRY"),
    ],
)
def test_a_third_witness_tells_a_wrong_gauge_from_a_leak(unit, board, tank, sensor):
    """The gauge shows less than the low level; the low sensor agrees with a leak only."""
    _, flight, shown, _ = situation(unit, board)
    low = f"{tank} low sensor"
    dry, _ = flight.stance(shown).thresholds[low]
    level = dry * flight.hydraulics.fuel.density(flight.temperature(tank, shown))
    assert indications(flight, shown).masses[tank] < level - 60.0
    assert shown_sensors(flight, shown)[low] == sensor


@pytest.mark.parametrize(
    ("unit", "board"),
    [("lesson-after-landing", "counters"), ("exercise-after-landing", "next-start")],
)
def test_no_engine_is_started_while_the_refuel_panel_is_open(unit, board):
    """The panel is closed before the next crew starts an engine."""
    _, flight, shown, asked = situation(unit, board)
    assert flight.position("refuel panel", shown - 60.0) == "closed"
    assert flight.position("refuel panel", asked) == "closed"


@pytest.mark.parametrize(
    ("unit", "board"),
    [("lesson-descent", "stuck"), ("exercise-descent", "one-cell-only")],
)
def test_a_shut_cell_leaves_the_wings_in_balance(unit, board):
    """No alert of imbalance tells of it: the fuel is on its own side, only out of reach."""
    _, flight, shown, asked = situation(unit, board)
    for time in (shown, asked):
        assert "Wing fuel is out of balance" not in indications(flight, time).alerts
