"""Masses against limits: which one bites, what is left of payload, and what is given up."""

from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.limits import Limit, PlanError, payload_limit, tank_capacity
from fuelkit.figures.limits_sheet import (
    AGREES,
    ENTER_AGAIN,
    GIVE_UP,
    LEAVES,
    Entered,
    computer_sheet,
    limits_sheet,
)
from fuelkit.figures.plan import PlanRequest, fuel_plan, plan_without_limits
from fuelkit.figures.plan_variants import cost_of_carrying, most_payload, payload_to_give_up
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, NAUTICAL_MILE

HALBROOK = load_aircraft("halbrook-180")
USUAL = PlanRequest(
    15_000.0,
    Route(1300.0 * NAUTICAL_MILE, 35_000.0 * FOOT, 10.0),
    Route(180.0 * NAUTICAL_MILE, 17_000.0 * FOOT),
)


def test_payload_limit_of_the_handbook():
    """FAA-H-8083-1B, chapter 9: 27 500 lb; the landing limit bites (figures in pounds)."""
    found = payload_limit(100_500, 138_000, 184_200, 142_000, 54_000, 40_000)
    assert found.payload == 27_500 and found.limit == "landing mass"
    assert found.by_limit == {
        "zero-fuel mass": 37_500, "take-off mass": 29_700, "landing mass": 27_500,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("trip", "limit", "payload"),
    [(42_300, "take-off mass", 29_700), (42_100, "landing mass", 29_600)],
)
def test_the_limit_that_bites_changes_with_the_trip(trip, limit, payload):
    """More burned on the way: the landing limit gives way to the take-off limit (same example)."""
    found = payload_limit(100_500, 138_000, 184_200, 142_000, 54_000, trip)
    assert (found.limit, found.payload) == (limit, payload)


def test_little_fuel_leaves_the_zero_fuel_limit():
    """Nearly all fuel burned on the way: only the structure counts (same masses, our own fuel)."""
    found = payload_limit(100_500, 138_000, 184_200, 142_000, 5_000, 3_000)
    assert (found.limit, found.payload) == ("zero-fuel mass", 37_500)


def test_no_payload_is_left_below_nothing():
    """A landing limit below the empty aircraft leaves 0 and says which limit."""
    found = payload_limit(100_500, 138_000, 184_200, 100_000, 54_000, 40_000)
    assert found.payload == 0.0 and found.limit == "landing mass"


def test_more_trip_than_fuel_is_refused():
    """Nobody burns what is not on board."""
    with pytest.raises(FigureError, match="trip: it is 60 000 kg; take-off fuel is only 54 000"):
        payload_limit(100_500, 138_000, 184_200, 142_000, 54_000, 60_000)


def test_margins_point_the_right_way():
    """Below a greatest mass and above a least fuel is positive."""
    assert Limit("a", 10.0, 8.0).margin == 2.0
    assert Limit("a", 10.0, 8.0, at_most=False).margin == -2.0


def test_every_limit_of_a_plan_is_held_against_its_figure():
    """Structural or today's, whichever is less; tanks without unusable fuel; least fuel."""
    plan = fuel_plan(HALBROOK, replace(USUAL, take_off_limit=75_000.0, landing_limit=90_000.0))
    own = HALBROOK.mass_limits
    found = {limit.name: (limit.allowed, limit.value) for limit in plan.limits}
    assert found["zero-fuel mass"] == (own.zero_fuel, plan.zero_fuel)
    assert found["take-off mass"] == (75_000.0, pytest.approx(plan.take_off))
    assert found["landing mass"] == (own.landing, pytest.approx(plan.landing))
    volume = sum(tank.refuelled_volume for tank in HALBROOK.tanks)
    assert found["tank capacity"] == (
        pytest.approx(volume * 800.0 - own.unusable), pytest.approx(plan.block)
    )  # fmt: skip
    assert found["minimum fuel for take-off"][0] == own.least_fuel


def test_heavier_fuel_fills_tanks_with_more_mass():
    """Capacity is a volume: mass goes with density, unusable fuel taken off."""
    own = HALBROOK.mass_limits.unusable
    light, heavy = tank_capacity(HALBROOK, 780.0), tank_capacity(HALBROOK, 820.0)
    assert (heavy + own) / (light + own) == pytest.approx(820.0 / 780.0)


def test_payload_given_up_is_just_enough():
    """With it the plan is made; with 10 kg more it is not. Less fuel is burned, so it is less."""
    request = replace(USUAL, take_off_limit=68_000.0)
    given_up = payload_to_give_up(HALBROOK, request)
    with pytest.raises(PlanError) as caught:
        fuel_plan(HALBROOK, request)
    assert 0.0 < given_up < caught.value.excess
    fuel_plan(HALBROOK, replace(request, payload=request.payload - given_up))
    with pytest.raises(PlanError):
        fuel_plan(HALBROOK, replace(request, payload=request.payload - given_up + 10.0))
    assert payload_to_give_up(HALBROOK, USUAL) == 0.0


def test_an_empty_aircraft_that_does_not_go_says_so():
    """No payload at all meets a landing limit below the empty aircraft."""
    with pytest.raises(PlanError, match="landing mass"):
        most_payload(HALBROOK, replace(USUAL, landing_limit=40_000.0))


def test_the_sheet_finds_the_limit_and_the_overload():
    """The same as the plan: which limit bites and, above it, what must be given up."""
    light = limits_sheet(HALBROOK, fuel_plan(HALBROOK, USUAL)).worked()
    assert light["verdict"] == LEAVES and light["give up"] == 0.0
    heavy_plan = plan_without_limits(HALBROOK, replace(USUAL, take_off_limit=68_000.0))
    heavy = limits_sheet(HALBROOK, heavy_plan).worked()
    assert heavy["verdict"] == GIVE_UP and heavy["bites"] == "take-off mass"
    assert heavy["give up"] == pytest.approx(-heavy_plan.bites.margin, abs=2.0)


def check(**changes):
    """Return the computer check of the usual plan, entered as planned but for some changes."""
    plan = fuel_plan(HALBROOK, USUAL)
    carrying = cost_of_carrying(HALBROOK, USUAL)
    change = changes.pop("last_minute", 0.0)
    fields = {
        "zero_fuel": plan.zero_fuel + change, "trip": plan.trip + carrying * change,
        "at_destination": plan.fuel_at_destination - carrying * change, **changes,
    }  # fmt: skip
    sheet = computer_sheet(
        HALBROOK, plan, plan.zero_fuel, change, Entered(**fields), carrying=carrying
    )
    return plan, sheet, sheet.worked()


@pytest.mark.parametrize("change", [0.0, 1200.0, -1200.0])
def test_a_last_minute_change_that_was_entered_agrees(change):
    """Zero-fuel mass adjusted by the change; trip fuel by what carrying it costs."""
    plan, _, values = check(last_minute=change)
    assert values["adjusted"] == pytest.approx(plan.zero_fuel + change)
    assert {values["entry"], values["trip verdict"], values["fuel verdict"]} == {AGREES}
    real = fuel_plan(HALBROOK, replace(USUAL, payload=USUAL.payload + change))
    assert values["expected trip"] == pytest.approx(real.trip, rel=2e-3)


def test_a_change_that_was_not_entered_is_found():
    """The computer still has the load sheet's mass."""
    plan = fuel_plan(HALBROOK, USUAL)
    _, _, values = check(last_minute=1200.0, zero_fuel=plan.zero_fuel)
    assert values["entry"] == ENTER_AGAIN
    assert values["entry difference"] == pytest.approx(-1200.0)


def test_a_prediction_off_the_plan_is_found():
    """Another wind in the computer: trip fuel and fuel after landing both disagree."""
    plan = fuel_plan(HALBROOK, USUAL)
    _, _, values = check(trip=1.06 * plan.trip, at_destination=plan.fuel_at_destination - 600.0)
    assert values["entry"] == AGREES
    assert values["trip verdict"] == values["fuel verdict"] == ENTER_AGAIN


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"zero_fuel": -1.0}, "entered zero_fuel: it is -1 kg"),
        ({"trip": float("nan")}, "entered trip: it is nan"),
        ({"at_destination": "3 t"}, "entered at_destination: it is '3 t'"),
    ],
)
def test_what_cannot_have_been_entered_is_named(changes, words):
    """Field, value, and what would be right."""
    with pytest.raises(FigureError, match=words):
        check(**changes)
