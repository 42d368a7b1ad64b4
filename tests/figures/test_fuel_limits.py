"""Ceiling for gravity feed and margin to the freezing point, against the standards they name."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fuelkit.figures.fuel_limits import (
    ACT,
    DESCEND,
    GO_ON,
    STAY,
    freezing_sheet,
    gravity_feed_sheet,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.thermal import temperature_rates
from fuelkit.physics.units import FOOT, HOUR
from fuelkit.physics.volatility import gravity_ceiling, vapour_pressure

FEED = {"dense": 800.0, "fuel": 288.15}
CRUISE = {"time": 3.0 * HOUR, "constant": 3.0 * HOUR}


def gravity(altitude=20_000.0, head=0.5, loss=10e3, need=25e3, **more):
    """A sheet of gravity feed, its altitude in feet."""
    return gravity_feed_sheet(altitude * FOOT, head, loss, need, **(FEED | more))


def freezing(before="Jet A-1", added="Jet A-1", fuel=263.15, outside=216.65, mach=0.8, **more):
    """A sheet of the margin to the freezing point."""
    return freezing_sheet(before, added, fuel, outside, mach, **(CRUISE | more))


# ---------------------------------------------------------------------------------- gravity feed
@pytest.mark.parametrize(
    "pressure, feet",
    [(22_632.0, 36_089.24), (79_501.4, 6559.6), (101_325.0 * 0.9999, 3.0)],
)
def test_the_ceiling_is_the_altitude_of_the_pressure_that_is_needed(pressure, feet):
    """ICAO Doc 7488/3, 1993: 226.32 hPa at 11 000 m (36 089 ft); 1 013.25 hPa at sea level.

    795.014 hPa stand at 2 000 m geometric, which is 1 999.37 m geopotential: 6 559.6 ft.
    """
    work = gravity(head=0.0, loss=0.0, need=pressure)
    assert work.step("ceiling").agrees(work.worked()["ceiling"], feet * FOOT)


@given(
    st.floats(0.0, 1.2), st.floats(0.0, 20e3), st.floats(22e3, 55e3), st.floats(250.0, 310.0),
    st.booleans(),
)  # fmt: skip
def test_the_sheet_is_the_law_within_its_tolerance(head, loss, need, fuel, wide_cut):
    """Against the formulas of ICAO Doc 7488/3, solved by halving; two rows stand for the curve."""
    work = gravity(head=head, loss=loss, need=need, fuel=fuel, wide_cut=wide_cut)
    needed = max(need, vapour_pressure(fuel, wide_cut=wide_cut))
    low, high = -1000.0, 20_000.0
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        outside = _standard(middle) + 800.0 * 9.80665 * head - loss
        low, high = (middle, high) if outside > needed else (low, middle)
    assert work.step("ceiling").agrees(work.worked()["ceiling"], low)


def _standard(height):
    """Pressure of the standard atmosphere up to 20 km, ICAO Doc 7488/3. [Pa]"""
    if height <= 11_000.0:
        return 101_325.0 * (1.0 - 0.0065 * height / 288.15) ** 5.255880
    return 22_632.0 * math.exp(-9.80665 / 287.05287 * (height - 11_000.0) / 216.65)


def test_a_ceiling_by_hand():
    """25 + 10 - 0.5 × 800 × 9.80665 / 1 000 = 31.08 kPa: between 28 000 and 30 000 ft."""
    values = gravity().worked()
    assert 29_000.0 < values["ceiling"] / FOOT < 29_500.0
    assert values["level"] / FOOT == pytest.approx(29_000.0)


def test_the_vapour_pressure_counts_where_it_is_more_than_the_need():
    """A hot wide-cut fuel, and an engine whose need is not known."""
    cold = gravity(loss=20e3, need=0.0, fuel=270.0, wide_cut=True).worked()["ceiling"]
    hot = gravity(loss=20e3, need=0.0, fuel=310.0, wide_cut=True).worked()["ceiling"]
    assert hot < cold
    assert hot == pytest.approx(
        gravity_ceiling(800.0 * 9.80665 * 0.5 - 20e3, 310.0, wide_cut=True), abs=80.0
    )


@pytest.mark.parametrize("altitude, told", [(29_000.0, STAY), (29_001.0, DESCEND)])
def test_at_the_highest_altitude_one_may_stay(altitude, told):
    """Both sides of 29 000 ft."""
    assert gravity(altitude).worked()["decision"] == told


def test_the_head_helps_and_the_loss_does_not():
    """The slips that have it otherwise give a lower and a higher ceiling."""
    work = gravity()
    slips = {slip.name: slip for slip in work.step("ceiling").slips}
    rest = ("", "", "", 0.5, 800.0, "")
    assert slips["head added"].work(*rest) < work.worked()["ceiling"]
    assert slips["loss left out"].work(*rest) > work.worked()["ceiling"]


@pytest.mark.parametrize(
    "arguments, told",
    [
        ({"need": 25.0, "loss": 0.0, "head": 3.0}, "there is no ceiling"),
        ({"need": 200e3}, "there is no ceiling between 0 and 60 000 ft"),
        ({"loss": -1.0}, "loss: it is -1.0 Pa"),
        ({"need": math.nan}, "need: it is nan Pa"),
        ({"head": math.inf}, "head: it is inf"),
        ({"altitude": -1.0}, "altitude: it is -1 ft"),
        ({"dense": 6.7}, "0.8 kg/l is 800 kg/m³"),
        ({"fuel": 15.0}, "15 °C is 288.15 K"),
    ],
)
def test_gravity_feed_that_cannot_be_is_told(arguments, told):
    """Kilopascals for pascals, more than the air has, negative, no number, other units."""
    with pytest.raises(FigureError, match=told):
        gravity(**arguments)


# -------------------------------------------------------------------------------------- freezing
def test_total_air_temperature_of_the_books():
    """SAT × (1 + 0.2 × M²): 216.65 K at Mach 0.8 gives 244.38 K (check-values of the course)."""
    values = freezing().worked()
    assert values["total"] == pytest.approx(216.65 * 1.128, abs=1e-9)
    assert values["total"] == pytest.approx(244.38, abs=0.01)


@pytest.mark.parametrize(
    "before, added, celsius",
    [("Jet A-1", "Jet A-1", -47.0), ("Jet A-1", "Jet A", -40.0), ("Jet A", "Jet A-1", -40.0)],
)
def test_a_mixture_counts_as_the_one_that_freezes_first(before, added, celsius):
    """ASTM D1655: Jet A-1 -47 °C, Jet A -40 °C; common practice, no source, for the mixture."""
    values = freezing(before, added).worked()
    assert values["freezing"] == pytest.approx(273.15 + celsius)


@pytest.mark.parametrize("hours", [0.5, 3.0, 8.0])
def test_the_tank_cools_as_the_differential_equation_says(hours):
    """Integrated by scipy from the rates of the physics room, which know no exponential."""
    values = freezing(time=hours * HOUR).worked()

    def rate(_, temperature):
        return temperature_rates(
            temperature, [1000.0], ambient=values["total"], time_constants=[3.0 * HOUR],
            structure=0.0,
        )  # fmt: skip

    found = solve_ivp(rate, (0.0, hours * HOUR), [263.15], rtol=1e-10, atol=1e-10)
    assert values["coldest"] == pytest.approx(found.y[0, -1], abs=1e-6)


@given(st.floats(230.0, 290.0), st.floats(190.0, 260.0), st.floats(0.3, 0.85), st.floats(0.1, 15.0))
def test_fuel_is_never_colder_than_the_air_brought_to_rest(fuel, outside, mach, hours):
    """It lies between what it was and the total air temperature."""
    values = freezing(fuel=fuel, outside=outside, mach=mach, time=hours * HOUR).worked()
    low, high = sorted((fuel, values["total"]))
    assert low - 1e-9 <= values["coldest"] <= high + 1e-9


@pytest.mark.parametrize("margin, told", [(3.0, GO_ON), (2.99, ACT)])
def test_the_margin_that_is_kept_is_three_kelvin(margin, told):
    """Common practice, no source: both sides of it."""
    work = freezing()
    assert work.step("decision").work(margin, 3.0) == told


def test_celsius_is_no_kelvin():
    """The slip puts the factor on degrees Celsius, and the air gets colder by its own speed."""
    (slip,) = (s for s in freezing().step("total").slips if s.name == "worked in °C")
    assert slip.work(216.65, "") == pytest.approx(273.15 - 56.5 * 1.128)


@pytest.mark.parametrize(
    "arguments, told",
    [
        ({"before": "Jet A1"}, "grade_before: .*Did you mean 'Jet A-1'"),
        ({"added": "diesel"}, "grade_added: .*known are Jet A-1"),
        ({"fuel": -10.0}, "15 °C is 288.15 K"),
        ({"outside": -56.5}, "outside: .*Give kelvin"),
        ({"mach": 1.2}, "mach: it is 1.2; it must be a number from 0 to below 1"),
        ({"mach": math.nan}, "mach: it is nan"),
        ({"time": 0.0}, "time: it is 0:00; it must be more than 0:00"),
        ({"constant": -1.0}, "constant: it is 0:00; it must be more than 0:00"),
    ],
)
def test_a_cruise_that_cannot_be_is_told(arguments, told):
    """Unknown grades, Celsius for kelvin, faster than sound, no time."""
    with pytest.raises(FigureError, match=told):
        freezing(**arguments)
