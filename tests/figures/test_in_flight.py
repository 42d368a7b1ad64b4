"""In-flight fuel check, and when MINIMUM FUEL and MAYDAY FUEL are due (ICAO Annex 6, 4.3.7)."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.in_flight import (
    CALLS,
    MAYDAY,
    MINIMUM,
    NONE,
    REASONS,
    Check,
    call_due,
    in_flight_sheet,
)
from fuelkit.figures.quantities import FigureError

CHECK = Check(12_000.0, (3000.0, 3100.0), 60.0, 5800.0, 6000.0, 3000.0)
LANDING = {"to_nearest": 3000.0, "change": 600.0, "final_reserve": 1200.0, "committed": True}
MASS = st.floats(0.0, 1e5)


def worked(check=CHECK, **changed):
    """The values of a check."""
    return in_flight_sheet(check, **(LANDING | changed)).worked()


def test_a_check_by_hand():
    """12 000 - 6 160 = 5 840, gauges 5 800: reckoned with 5 800; burn 102.67 % of 3 000 = 3 080."""
    values = worked()
    assert values["used"] == 6160.0
    assert values["by counters"] == 5840.0
    assert values["gap"] == -40.0
    assert values["remaining"] == 5800.0
    assert values["factor"] == pytest.approx(1.026667, abs=1e-6)
    assert values["at destination"] == pytest.approx(2720.0)
    assert values["margin"] == pytest.approx(1520.0)
    assert (values["call"], values["reason"]) == (NONE, REASONS["enough"])


def test_what_was_saved_is_not_counted_on():
    """Less burned than planned so far: the planned burn still counts for the rest."""
    values = worked(replace(CHECK, planned_used=7000.0))
    assert values["factor"] == 1.0
    assert values["at destination"] == 2800.0


@given(MASS, MASS, MASS)
def test_mass_is_conserved(first, second, rest):
    """Used and remaining by counters are what was on board."""
    start = first + second + rest + 1.0
    values = worked(Check(start, (first, second), rest, 500.0, 400.0, 3000.0))
    assert values["used"] + values["by counters"] == pytest.approx(start, abs=1e-6)


# --------------------------------------------------------------------------------------- the calls
@pytest.mark.parametrize(
    "left, committed, call, reason",
    [
        (1800.0, True, NONE, "enough"),  # 600 kg of change leave final reserve exactly
        (1799.9, True, MINIMUM, "change"),  # ... and now a little less
        (1799.9, False, NONE, "open"),  # not committed: another aerodrome can be chosen
        (1200.0, True, MINIMUM, "change"),  # final reserve exactly is not yet less than it
        (1199.9, True, MAYDAY, "reserve"),
        (1199.9, False, MAYDAY, "reserve"),  # no aerodrome can be reached with final reserve
        (-50.0, True, MAYDAY, "reserve"),
    ],
)
def test_the_calls_on_both_sides_of_their_limits(left, committed, call, reason):
    """ICAO Annex 6, Part I, 4.3.7, paraphrased: check-values of the course."""
    assert call_due(left, left, 600.0, 1200.0, committed) == (call, reason)


def test_an_aerodrome_nearer_than_the_destination_counts_for_mayday():
    """With final reserve at the nearest aerodrome nobody declares MAYDAY FUEL for another."""
    assert call_due(1000.0, 1500.0, 600.0, 1200.0, False) == (NONE, "open")
    assert call_due(1000.0, 1199.0, 600.0, 1200.0, False) == (MAYDAY, "reserve")


@given(MASS, st.floats(0, 5000), st.floats(0, 5000), st.floats(100, 5000), st.booleans())
def test_less_fuel_never_makes_a_call_milder(left, less, change, reserve, committed):
    """None, MINIMUM, MAYDAY: in this order as fuel goes down."""
    more = call_due(left, left, change, reserve, committed)[0]
    fewer = call_due(left - less, left - less, change, reserve, committed)[0]
    assert CALLS.index(fewer) >= CALLS.index(more)


@given(MASS, st.floats(0, 5000), st.floats(100, 5000))
def test_minimum_fuel_is_only_for_the_committed(left, change, reserve):
    """Whoever can still go elsewhere has not reached it."""
    assert call_due(left, left, change, reserve, False)[0] != MINIMUM


def test_the_sheet_and_the_function_agree():
    """The figures of the sheet go into the decision, with its reason."""
    values = worked(replace(CHECK, gauges=4500.0))
    assert values["at destination"] == pytest.approx(1420.0)
    assert (values["call"], values["reason"]) == (MINIMUM, REASONS["change"])
    values = worked(replace(CHECK, gauges=4200.0))
    assert (values["call"], values["reason"]) == (MAYDAY, REASONS["reserve"])


def test_slips_give_what_they_say():
    """Reserve taken twice, the higher figure, one engine only."""
    work = in_flight_sheet(CHECK, **LANDING)
    slips = {slip.name: slip for step in work.steps for slip in step.slips}
    assert slips["reserve counted twice"].work(2720.0, 1200.0) == 320.0
    assert slips["the higher figure"].work(5800.0, 5840.0) == 5840.0
    assert slips["one engine only"].work(3000.0, 3100.0, 60.0) == 3000.0


# -------------------------------------------------------------------------------------- bad input
@pytest.mark.parametrize(
    "check, changed, told",
    [
        (replace(CHECK, used=(7000.0, 7000.0)), {}, "used: it is 14060 kg together"),
        (replace(CHECK, used=()), {}, "used: there is no counter"),
        (replace(CHECK, used=(math.nan, 1.0)), {}, "used 1: it is nan"),
        (replace(CHECK, gauges=-1.0), {}, "gauges: it is -1 kg; it must be at least 0 kg"),
        (replace(CHECK, start="12 t"), {}, "start: it is '12 t'; it must be a number"),
        (replace(CHECK, planned_used=0.0), {}, "planned_used: it is 0 kg; it must be more than 0"),
        (CHECK, {"final_reserve": 0.0}, "final_reserve: it is 0 kg; it must be more than 0 kg"),
        (CHECK, {"change": math.inf}, "change: it is inf"),
        (CHECK, {"to_nearest": 3001.0}, "to_nearest: it is 3001 kg; it must be at most"),
        (CHECK, {"committed": "yes"}, "committed: it is 'yes'; it must be True or False"),
    ],
)
def test_what_cannot_be_is_told(check, changed, told):
    """More used than there was, no counter, no number, negative, text, nothing planned."""
    with pytest.raises(FigureError, match=told):
        in_flight_sheet(check, **(LANDING | changed))
