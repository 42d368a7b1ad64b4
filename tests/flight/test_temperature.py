"""Fuel temperature in flight, against closed forms and scipy's integration of the same law.

The law: each tank is well stirred, tends to total air temperature with a time constant that is
linear in its fill, and mixes with what flows in (common practice, no source). What is checked is
that a flight follows it. Total air temperature at 35 000 ft and Mach 0.78 by hand: 288.15 K less
6.5 K for each of 10.668 km, times 1 + 0.2 · 0.78².
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action
from fuelkit.physics.fuel import smooth_density
from fuelkit.physics.thermal import mixed_temperature
from fuelkit.physics.units import HOUR
from tests.flight.situations import (
    INBOARD,
    LEVERS,
    changed,
    loaded_first,
    phase,
    sector_of,
    started,
    without_returns,
)

CRUISE = {"feet": 35_000.0, "mach": 0.78}
OUTSIDE = (288.15 - 6.5 * 10.668) * (1.0 + 0.2 * 0.78**2)
EMPTY, FULL, STRUCTURE = 0.7 * HOUR, 3.0 * HOUR, 25.0  # as the aircraft's file says
START = 288.15
NEAR = 2e-3  # K; the flight keeps 1e-6 K in each of its steps


def constant(aircraft, tank, mass):
    """Return the time constant of a tank with a mass of fuel in it [s]."""
    return EMPTY + (FULL - EMPTY) * mass / (aircraft.tank(tank).levels.capacity * 800.0)


def cruising(aircraft, total, actions=(), failures=(), *, end, **more):
    """Return a flight that is in cruise from its start to its end."""
    flown = (phase(**CRUISE, burn=more.pop("burn", 1500.0)),)
    return fly(
        aircraft, sector_of(aircraft, total, actions, failures, end=end, phases=flown, **more)
    )


@pytest.fixture
def plain(content):
    """The aircraft without hot returns."""
    return aircraft_from(without_returns(content))


def test_a_tank_at_rest_cools_exponentially_to_total_air_temperature(plain):
    """By hand, for every tank of the aircraft, full or half full or empty."""
    flight = cruising(plain, 9000.0, end=6 * HOUR)
    for tank in ("left outboard", "left inboard", "centre", "right outboard"):
        tau = constant(plain, tank, flight.quantity(tank, 0.0))
        for time in (600.0, HOUR, 6 * HOUR):
            by_hand = OUTSIDE + (START - OUTSIDE) * math.exp(-time / tau)
            assert flight.temperature(tank, time) == pytest.approx(by_hand, abs=NEAR)
    assert pytest.approx(245.4, abs=0.1) == OUTSIDE


def test_a_tank_that_is_drawn_down_cools_by_a_power_of_what_it_still_holds(plain):
    """With mass m0 - r·t the time constant falls evenly: (T - A) ~ (tau/tau0)^(1/(b·r))."""
    flight = cruising(plain, 7000.0, started(*INBOARD), end=1.5 * HOUR)
    lit, rate = 22.0, 1500.0 / HOUR
    mass = flight.quantity("left inboard", lit)
    tau, slope = (
        constant(plain, "left inboard", mass),
        (constant(plain, "left inboard", 1.0) - constant(plain, "left inboard", 0.0)) * rate,
    )
    begun = OUTSIDE + (START - OUTSIDE) * math.exp(-lit / tau)
    for time in (HOUR, 1.2 * HOUR, 1.5 * HOUR):
        share = (1.0 - slope * (time - lit) / tau) ** (1.0 / slope)
        by_hand = OUTSIDE + (begun - OUTSIDE) * share
        assert flight.temperature("left inboard", time) == pytest.approx(by_hand, abs=NEAR)


def test_an_emptier_tank_cools_faster_than_a_fuller_one(plain):
    """And every tank is colder the longer it flies."""
    flight = cruising(plain, 8000.0, end=3 * HOUR)  # the cells hold half of what they take
    assert flight.quantity("left outboard", 0.0) < 600.0
    times = np.arange(0.0, 3 * HOUR, 600.0)
    cell, inner = (
        np.array([flight.temperature(name, float(t)) for t in times])
        for name in ("left outboard", "left inboard")
    )
    assert (np.diff(cell) < 0.0).all() and (np.diff(inner) < 0.0).all()
    assert (cell[1:] < inner[1:]).all() and cell[-1] > OUTSIDE


def test_the_hot_return_warms_the_cell_that_it_enters(halbrook):
    """480 kg/h at 65 °C into the cell, against scipy's integration; the other side too."""
    flight = cruising(halbrook, 7700.0, started(*INBOARD), end=HOUR)
    lit, warm, back = 22.0, 338.15, 480.0 / HOUR
    held = flight.quantity("left outboard", 0.0)
    assert held + 480.0 < 820.0  # it does not run over

    def rates(time, state):
        mass = held + back * max(0.0, time - lit)
        flow = back if time > lit else 0.0
        return [
            (OUTSIDE - state[0]) / constant(halbrook, "left outboard", mass)
            + flow * (warm - state[0]) / (mass + STRUCTURE)
        ]

    times = [60.0, 600.0, 1800.0, HOUR]
    found = solve_ivp(
        rates, (0.0, HOUR), [START], method="DOP853", t_eval=times, rtol=1e-10, atol=1e-9,
        max_step=10.0,
    ).y[0]  # fmt: skip
    shown = [flight.temperature("left outboard", t) for t in times]
    assert shown == pytest.approx(found, abs=NEAR)
    assert shown[-1] > START + 10.0
    assert flight.temperature("right outboard", HOUR) == pytest.approx(shown[-1], abs=1e-6)


def test_a_cell_that_exchanges_no_heat_mixes_to_the_exact_temperature(content):
    """With time constants of 100 h, in air as warm as the fuel; the structure mixes in too."""
    content["warming"].update(empty_h=100, full_h=100)
    aircraft = aircraft_from(content)
    flight = fly(aircraft, sector_of(aircraft, 7700.0, started(*INBOARD), end=HOUR))
    held = flight.quantity("left outboard", 0.0)
    exact = mixed_temperature(START, held + STRUCTURE, 338.15, 480.0 / HOUR, 0.0, HOUR - 22.0)
    lost = flight.temperature("left outboard", HOUR) - exact
    assert exact > START + 20.0
    assert -0.01 * (exact - START) < lost < 0.0  # an hour is 1 % of the time constant


def test_warm_fuel_from_a_cell_warms_the_tank_that_it_runs_into(content):
    """After an hour of hot return the transfer valves open; both tanks against scipy."""
    aircraft = aircraft_from(content)
    opened = Failure(HOUR, "left transfer valve", "stuck", state="OPEN")
    off = (Action(HOUR - 60.0, tuple((name, "cut-off") for name, _ in LEVERS)),)
    flight = cruising(aircraft, 7700.0, (*started(*INBOARD), *off), (opened,), end=1.2 * HOUR)
    names = ("left outboard", "left inboard")
    start = [flight.temperature(name, HOUR) for name in names]
    assert start[0] > start[1] + 10.0

    def rates(time, state):
        outer, inner = (flight.quantity(name, time) for name in names)
        flow = sum(f.flows.get("left transfer valve", 0.0) for f in flight.flows(time))
        cooling = [
            (OUTSIDE - t) / constant(aircraft, name, mass)
            for t, name, mass in zip(state, names, (outer, inner), strict=True)
        ]
        mixing = flow * (state[0] - state[1]) / (inner + STRUCTURE)
        return [cooling[0], cooling[1] + mixing]

    found = solve_ivp(
        rates, (HOUR, 1.2 * HOUR), start, method="RK45", rtol=1e-8, atol=1e-8, max_step=20.0
    ).y[:, -1]
    end = [flight.temperature(name, 1.2 * HOUR) for name in names]
    assert flight.quantity("left outboard", 1.2 * HOUR) < 500.0
    assert end == pytest.approx(found, abs=NEAR)


def test_a_bulb_shows_nothing_once_the_fuel_has_left_it(content):
    """The fuel still has a temperature, and the bulb shows it again when it is covered."""
    aircraft = aircraft_from(loaded_first(content, "left outboard"))
    bulb = aircraft.by_name["left outboard temperature bulb"]
    opened = Failure(60.0, "left transfer valve", "stuck", state="OPEN")
    flight = cruising(aircraft, 2600.0, started(*INBOARD), (opened,), end=HOUR)
    dry = changed(flight, bulb.name, "DRY")
    assert flight.shown_temperature(bulb.name, dry.time - 1.0) == pytest.approx(
        flight.temperature("left outboard", dry.time - 1.0)
    )
    assert flight.shown_temperature(bulb.name, dry.time) is None
    assert flight.temperature("left outboard", dry.time) > 200.0
    below = aircraft.tank("left outboard").levels.volume_below(bulb.position[2])
    density = smooth_density(800.0, flight.temperature("left outboard", dry.time))
    assert flight.quantity("left outboard", dry.time) == pytest.approx(below * density, abs=0.01)


def test_an_alert_of_cold_fuel_comes_when_the_exponential_says(plain):
    """On a cold day: -42 °C is reached after tau · ln((T0 - A)/(231.15 - A))."""
    flight = cruising(plain, 8700.0, end=6 * HOUR, deviation=-25.0)
    colder = (288.15 - 6.5 * 10.668 - 25.0) * (1.0 + 0.2 * 0.78**2)
    tau = constant(plain, "left outboard", flight.quantity("left outboard", 0.0))
    time = tau * math.log((START - colder) / (231.15 - colder))
    alert = changed(flight, "Left outboard fuel is near freezing", "SHOWN")
    assert alert.time == pytest.approx(time, abs=0.2)
    assert alert.reason == "left outboard is colder than -42 C"


def test_fuel_that_cools_shrinks_below_a_sensor(plain):
    """The mass stays; when mass/density has fallen to the sensor's volume it is DRY."""
    sensor = plain.by_name["left inboard low sensor"]
    table = plain.tank("left inboard").levels
    volume = table.volume_below(sensor.position[2])
    flight = cruising(plain, 2.0 * 1.01 * volume * 800.0, end=6 * HOUR)
    mass = flight.quantity("left inboard", 0.0)
    assert flight.position(sensor.name, 0.0) == "WET" and mass / 800.0 > volume
    cold = brentq(lambda t: mass / smooth_density(800.0, t) - volume, 230.0, 290.0)
    tau = constant(plain, "left inboard", mass)
    time = tau * math.log((START - OUTSIDE) / (cold - OUTSIDE))
    assert changed(flight, sensor.name, "DRY").time == pytest.approx(time, abs=0.05)
    assert flight.quantity("left inboard", 6 * HOUR) == mass
