"""Step-mass integration against closed forms and an independent integrator; trips worked back."""

import math
from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.performance import at_level
from fuelkit.figures.plan import PlanRequest, fuel_plan
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.trip import STEPS, Route, Way, euler, mass_after, midpoint
from fuelkit.physics.units import FOOT, HOUR, NAUTICAL_MILE

# Weight-proportional burn: dW/dt = -k W has the solution W0 exp(-k t) (analytic).
K, START, TIME = (0.6 / 3600.0) / 17.0, 70_000.0, 4.0 * HOUR


def burn(steps, rule):
    """Burn in proportion to the mass, in so many steps [kg]."""
    return START - mass_after(lambda mass: K * mass, START, TIME, steps=steps, rule=rule)


def test_weight_proportional_burn():
    """9 216.476 kg (analytic); in 4 steps Euler 9 371.371, midpoint 9 214.646 (by hand)."""
    assert START * (1.0 - math.exp(-K * TIME)) == pytest.approx(9216.476, abs=5e-4)
    assert burn(4, euler) == pytest.approx(9371.371, abs=5e-4)
    assert burn(4, midpoint) == pytest.approx(9214.646, abs=5e-4)


@pytest.mark.parametrize(("rule", "order"), [(euler, 1.0), (midpoint, 2.0)])
def test_observed_order_of_convergence(rule, order):
    """Twice the steps divide the error by 2 for Euler, by 4 for the midpoint rule (analytic)."""
    exact = START * (1.0 - math.exp(-K * TIME))
    errors = [abs(burn(steps, rule) - exact) for steps in (8, 16, 32, 64)]
    observed = [math.log2(a / b) for a, b in zip(errors, errors[1:], strict=False)]
    assert observed == pytest.approx([order] * 3, abs=0.05)


def test_steps_of_the_kit_are_right_to_a_ten_thousandth():
    """The step that plans are made with: 0.01 % of the burn, with a third of the mass burned."""
    for hours in (1.0, 4.0, 11.0):
        exact = START * (1.0 - math.exp(-K * hours * HOUR))
        found = START - mass_after(lambda mass: K * mass, START, hours * HOUR)
        assert found == pytest.approx(exact, rel=1e-4)


def test_there_and_back_again():
    """Negative time undoes positive time, to the accuracy of the rule."""
    end = mass_after(lambda mass: K * mass, START, TIME, steps=200)
    assert mass_after(lambda mass: K * mass, end, -TIME, steps=200) == pytest.approx(
        START, rel=1e-7
    )


@pytest.fixture(scope="module")
def halbrook():
    """The course's aircraft."""
    return load_aircraft("halbrook-180")


def proportional(tables):
    """Return tables whose cruise burns k for each kilogram, and nothing else costs or takes."""
    none = (1e-12,) * len(tables.levels)
    row = (1e-12,) * len(tables.masses)
    return replace(
        tables,
        approach_time=1e-12, approach_distance=1e-12, approach_fuel=1e-12,
        descent_time=none, descent_distance=none, descent_fuel=none,
        climb_time=(row,) * len(none), climb_distance=(row,) * len(none),
        climb_fuel=(row,) * len(none),
        cruise=((tuple(K * mass for mass in tables.masses),) * len(none),) * 3,
    )  # fmt: skip


def test_breguet_range(halbrook):
    """Distance = speed / k · ln(W0 / W1): Breguet's range for a burn in proportion to mass."""
    tables = proportional(halbrook.performance)
    at = at_level(tables, 35_000.0 * FOOT)
    first, last = 74_000.0, 60_000.0
    distance = at.speed / K * math.log(first / last)
    way = Way("route", Route(distance, 35_000.0 * FOOT), tables, at)
    found = way.take_off_mass(last, last)
    assert found - last == pytest.approx(first - last, rel=1e-4)


def test_breguet_range_in_wind(halbrook):
    """Over the ground, range goes with ground speed: k stays, speed less headwind."""
    tables = proportional(halbrook.performance)
    at = at_level(tables, 35_000.0 * FOOT)
    distance = (at.speed - 30.0) / K * math.log(74.0 / 60.0)
    way = Way("route", Route(distance, 35_000.0 * FOOT, 30.0), tables, at)
    assert way.take_off_mass(60_000.0, 60_000.0) == pytest.approx(74_000.0, rel=2e-5)


@pytest.mark.parametrize(
    ("name", "payload", "miles", "feet"),
    [("halbrook-40", 3500.0, 600.0, 22_000.0), ("halbrook-180", 15_000.0, 1700.0, 35_500.0),
     ("halbrook-300", 28_000.0, 5200.0, 34_000.0)],
)  # fmt: skip
def test_cruise_agrees_with_an_independent_integrator(name, payload, miles, feet):
    """Scipy's solve_ivp at 1e-10, down the cruise of a long flight: burn to 0.01 %."""
    aircraft = load_aircraft(name)
    request = PlanRequest(payload, Route(miles * NAUTICAL_MILE, feet * FOOT, 10.0, 5.0))
    flown = fuel_plan(aircraft, request).flown
    flow = at_level(aircraft.performance, feet * FOOT, 5.0).cruise.at
    top, cruise = flown.take_off - flown.part("climb").fuel, flown.part("cruise")
    fine = solve_ivp(lambda _, m: [-flow(m[0])], (0.0, cruise.time), [top], rtol=1e-10, atol=1e-6)
    assert top - fine.y[0, -1] == pytest.approx(cruise.fuel, rel=1e-4)


def test_a_trip_closes(halbrook):
    """Parts add up to the fuel between both masses, and to the distance of the route."""
    request = PlanRequest(15_000.0, Route(1200.0 * NAUTICAL_MILE, 35_000.0 * FOOT, -12.0))
    flown = fuel_plan(halbrook, request).flown
    assert sum(part.fuel for part in flown.parts) == pytest.approx(flown.fuel, abs=1e-3)
    assert sum(part.distance for part in flown.parts) == pytest.approx(1200.0 * NAUTICAL_MILE)
    assert sum(part.time for part in flown.parts) == pytest.approx(flown.time)
    top = flown.take_off - flown.part("climb").fuel
    at = at_level(halbrook.performance, 35_000.0 * FOOT)
    assert flown.part("climb").fuel == pytest.approx(at.climb_fuel.at(flown.take_off), abs=1e-3)
    end = mass_after(at.cruise.at, top, flown.part("cruise").time, steps=10 * STEPS)
    assert end == pytest.approx(flown.cruise_end, rel=1e-5)


def test_a_route_too_short_for_its_level_is_refused(halbrook):
    """It says how far climb, descent and approach reach."""
    request = PlanRequest(15_000.0, Route(150.0 * NAUTICAL_MILE, 35_000.0 * FOOT))
    with pytest.raises(FigureError, match="route: distance is 150 NM; climb to 35 000 ft.*lower"):
        fuel_plan(halbrook, request)


def test_a_level_above_the_ceiling_is_refused(halbrook):
    """It says at what mass, and how high the aircraft reaches."""
    request = PlanRequest(17_000.0, Route(1800.0 * NAUTICAL_MILE, 39_000.0 * FOOT))
    with pytest.raises(FigureError, match="level is 39 000 ft; at .* reaches .* ft at most"):
        fuel_plan(halbrook, request)
