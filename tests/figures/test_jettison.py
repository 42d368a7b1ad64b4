"""Jettison: amount, time, what is left, the quarter of an hour, and the system that does it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.draws import scale_of
from fuelkit.figures.jettison import (
    NO,
    YES,
    draw_jettison,
    jettison_flow,
    jettison_sheet,
    protected_fuel,
    without_jettison,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector
from fuelkit.physics.units import MINUTE
from tests.figures.fleet import FLEET, aircraft

RATES = {"flow": 1000.0 / MINUTE, "burn": 100.0 / MINUTE, "protected": 20_000.0}


def worked(fuel=60_000.0, zero_fuel=140_000.0, most=184_000.0, **changed):
    """The values of a jettison."""
    return jettison_sheet(fuel, zero_fuel, most, **(RATES | changed)).worked()


def test_a_jettison_by_hand():
    """200 000 - 184 000 = 16 000 kg; ÷ 1 100 kg/min = 14.545 min; 1 454.5 kg of it are burned."""
    values = worked()
    assert values["mass"] == 200_000.0
    assert values["amount"] == 16_000.0
    assert values["time"] / MINUTE == pytest.approx(14.545454, abs=1e-6)
    assert values["burned"] == pytest.approx(1454.5454, abs=1e-3)
    assert values["jettisoned"] == pytest.approx(14_545.4545, abs=1e-3)
    assert values["left"] == 44_000.0
    assert values["landing"] == 184_000.0
    assert values["within"] == YES


@given(st.floats(1000.0, 40_000.0), st.floats(300.0, 2000.0), st.floats(0.0, 200.0))
def test_mass_is_conserved(over, flow, burn):
    """What is lost is jettisoned or burned; what is left lands at the mass that was asked."""
    values = worked(44_000.0 + over, flow=flow / MINUTE, burn=burn / MINUTE)
    assert values["jettisoned"] + values["burned"] == pytest.approx(over, rel=1e-9)
    assert values["jettisoned"] == pytest.approx(flow / MINUTE * values["time"], rel=1e-9)
    assert values["landing"] == pytest.approx(184_000.0)


@pytest.mark.parametrize("over, told", [(16_500.0, YES), (16_501.0, NO)])
def test_a_quarter_of_an_hour_on_both_sides(over, told):
    """14 CFR 25.1001(b): 15 minutes; 1 100 kg/min make 16 500 kg."""
    values = worked(44_000.0 + over)
    assert values["quarter"] == pytest.approx(16_500.0)
    assert values["within"] == told


def test_the_burn_helps():
    """The slip takes it off."""
    (slip,) = jettison_sheet(60_000.0, 140_000.0, 184_000.0, **RATES).step("rate").slips
    assert slip.work(1000.0, 100.0) == 900.0


# ------------------------------------------------------------------------------------- the system
@pytest.fixture(scope="module")
def flight():
    """A computed flight that returns and jettisons, twice: to a landing mass, and all it may."""
    own = aircraft("halbrook-300")
    return fly(own, load_sector("karn-ness-return", own))


def test_the_flow_of_the_nozzles_is_that_of_a_computed_flight(flight):
    """The flight's tail pump helps too, through a valve that the network here keeps shut."""
    opened = next(c.time for c in flight.changes_of("left jettison valve") if c.after == "OPEN")
    engines = ("engine 1", "engine 2")

    def gone(time):
        return sum(flight.fuel_used(engine, time) for engine in engines) + flight.total(time)

    flown = gone(opened + 60.0) - gone(opened + 120.0)
    assert 0.9 * flown < 60.0 * jettison_flow(aircraft("halbrook-300")) < flown


def test_what_is_protected_is_what_a_computed_flight_is_left_with(flight):
    """The second jettison goes on until nothing more is let out."""
    shut = [c.time for c in flight.changes_of("left jettison valve") if c.after == "SHUT"][-1]
    left = protected_fuel(aircraft("halbrook-300"), 80_000.0)
    assert flight.total(shut) == pytest.approx(left, rel=0.02)


def test_a_fuller_tank_lets_out_a_little_more():
    """A head of metres on pumps of 300 kPa: more, but not by much."""
    own = aircraft("halbrook-300")
    low, high = jettison_flow(own, 0.2), jettison_flow(own, 0.9)
    assert low < high < 1.05 * low


@pytest.mark.parametrize("name", [name for name in FLEET if not aircraft(name).outlets])
def test_without_outlets_a_sentence_says_what_is_done_instead(name):
    """No sheet, no number: a hold, or an overweight landing by the approved procedure."""
    sentence = without_jettison(aircraft(name))
    assert "no outlets" in sentence and "approved procedure" in sentence
    assert jettison_flow(aircraft(name)) == 0.0
    with pytest.raises(FigureError, match="no outlets"):
        draw_jettison(aircraft(name), 1)


@pytest.mark.parametrize("draw", range(5))
def test_a_drawn_jettison_is_one_of_the_aircraft(draw):
    """The mass to be reached is its largest for landing; the fuel fits, and it could take off."""
    own = aircraft("halbrook-300")
    values = draw_jettison(own, draw).worked()
    assert values["most"] == own.mass_limits.landing
    assert values["mass"] <= own.mass_limits.take_off
    assert values["fuel"] <= scale_of(own).full
    assert values["left"] >= values["protected"]


@pytest.mark.parametrize(
    "changed, told",
    [
        ({"fuel": 40_000.0}, "fuel: it is 40 000 kg; the aircraft is light enough"),
        ({"most": 130_000.0}, "most: it is 130 000 kg; it must be more than the zero-fuel mass"),
        ({"protected": 50_000.0}, "protected: it is 50 000 kg; it must be at most"),
        ({"flow": 0.0}, "flow: it is 0.0 kg/min; it must be more than 0.0 kg/min"),
        ({"burn": -1.0}, "burn: it is -60.0 kg/min"),
        ({"fuel": math.nan}, "fuel: it is nan"),
        ({"zero_fuel": "140 t"}, "zero_fuel: it is '140 t'"),
    ],
)
def test_what_cannot_be_is_told(changed, told):
    """Light enough, nothing that can be reached, no flow, negative, no number, text."""
    with pytest.raises(FigureError, match=told):
        worked(**changed)
