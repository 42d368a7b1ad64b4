"""Centre of gravity and lateral imbalance in flight, against moments made independently.

The fuel in each tank is cut out of its tetrahedra by the tilted plane, and the centroid of the
pieces comes from scipy's convex hulls; the sum over the tanks is by hand.
"""

import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial import ConvexHull

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.balance import BalanceError
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action
from fuelkit.physics.units import HOUR
from tests.flight.situations import (
    INBOARD,
    changed,
    phase,
    sector_of,
    started,
    switched,
    without_returns,
)
from tests.flight.test_attitude import up_of


def pieces(tetrahedra, up, level):
    """Return volume [m³] and centroid [m] of a solid below a plane, hull by hull."""
    volumes, centroids = [], []
    for corners in tetrahedra:
        heights = corners @ up - level
        points = [c for c, h in zip(corners, heights, strict=True) if h <= 0.0]
        for i in range(4):
            for j in range(i):
                if heights[i] * heights[j] < 0.0:
                    share = heights[i] / (heights[i] - heights[j])
                    points.append(corners[i] + share * (corners[j] - corners[i]))
        if len(points) >= 4:
            points = np.array(points)
            faces, middle = points[ConvexHull(points, qhull_options="QJ").simplices], points.mean(0)
            volumes.append(np.abs(np.linalg.det(faces - middle)) / 6.0)
            centroids.append((faces.sum(axis=1) + middle) / 4.0)
    if not volumes:
        return 0.0, np.zeros(3)
    volumes, centroids = np.concatenate(volumes), np.concatenate(centroids)
    return volumes.sum(), volumes @ centroids / volumes.sum()


def fuel_moments(flight, time, up):
    """Return mass and moments of all fuel [kg], [kg·m], tank by tank."""
    mass, moments = 0.0, np.zeros(3)
    for tank in flight.aircraft.tanks:
        held = flight.quantity(tank.name, time)
        if held < 0.1:
            continue
        density = flight.hydraulics.fuel.density(flight.temperature(tank.name, time))
        corners = tank.solid.reshape(-1, 3) @ up
        level = brentq(
            lambda z, tank=tank, volume=held / density: pieces(tank.solid, up, z)[0] - volume,
            corners.min() + 1e-6, corners.max(), xtol=1e-7,
        )  # fmt: skip
        mass, moments = mass + held, moments + held * pieces(tank.solid, up, level)[1]
    return mass, moments


@pytest.mark.parametrize("seed", range(4))
def test_the_centre_of_gravity_is_that_of_the_fuel_where_it_lies(halbrook, seed):
    """Any load and attitude, in % of the mean aerodynamic chord, to a thousandth of it."""
    chance = random.Random(seed)
    pitch, roll = chance.uniform(-3.0, 8.0), chance.uniform(-3.0, 3.0)
    total = chance.uniform(1000.0, 15_000.0)
    tilted = phase(pitch=pitch, roll=roll)
    flight = fly(halbrook, sector_of(halbrook, total, end=10.0, phases=(tilted,)))
    mass, moments = fuel_moments(flight, 0.0, up_of(pitch, roll))
    found, masses = flight.balance(0.0), halbrook.masses
    x = (58_200.0 * 15.35 + moments[0]) / (58_200.0 + mass)
    assert found.mass == pytest.approx(58_200.0 + total)
    assert found.position == pytest.approx(x, abs=1e-5)
    assert found.percent == pytest.approx(100.0 * (x - 14.30) / 4.10, abs=1e-3)
    assert found.moment == pytest.approx(moments[1], abs=0.5)
    assert masses.zero_fuel == 58_200.0


def test_the_centre_of_gravity_moves_through_a_whole_flight(halbrook, flight):
    """At moments of the course's first flight, at the attitude and the temperatures of each."""
    percents = []
    for time in (0.0, 2500.0, 9000.0, 15_000.0, 17_000.0):
        pitch = np.degrees(flight.sector.phase_at(time).pitch)
        mass, moments = fuel_moments(flight, time, up_of(pitch, 0.0))
        x = (58_200.0 * 15.35 + moments[0]) / (58_200.0 + mass)
        percents.append(100.0 * (x - 14.30) / 4.10)
        assert flight.balance(time).percent == pytest.approx(percents[-1], abs=2e-3)
    assert max(percents) - min(percents) > 1.0


def test_another_zero_fuel_mass_counts_where_the_sector_gives_one(halbrook, sector):
    """Lighter, the same fuel moves the balance more."""
    flight = fly(halbrook, replace(sector, zero_fuel=50_000.0, actions=(), end=10.0))
    mass, moments = fuel_moments(flight, 0.0, up_of(-0.5, 0.0))
    expected = (50_000.0 * 15.35 + moments[0]) / (50_000.0 + mass)
    assert flight.balance(0.0).position == pytest.approx(expected, abs=1e-5)


def test_a_lateral_imbalance_is_right_less_left_and_the_middle_counts_for_none(halbrook):
    """One engine out: it grows by what the other one burns, minute by minute."""
    out = Failure(600.0, "engine 2", "failed")
    flight = fly(halbrook, sector_of(halbrook, 6500.0, started(*INBOARD), (out,), end=2400.0))
    for time in (600.0, 1200.0, 2400.0):
        by_hand = 1500.0 / HOUR * (time - 600.0)
        assert flight.balance(time).imbalance == pytest.approx(by_hand, abs=1e-3)
        wings = [
            sum(flight.quantity(f"{side} {tank}", time) for tank in ("outboard", "inboard"))
            for side in ("left", "right")
        ]
        assert flight.balance(time).imbalance == pytest.approx(wings[1] - wings[0], abs=1e-9)


def test_the_imbalance_alert_comes_and_goes_with_its_play(halbrook):
    """Above 700 kg it is shown; crossfeeding both engines from the full side ends it at 690 kg."""
    out = Failure(600.0, "engine 2", "failed")
    opened = (Action(2400.0, (*switched("on", "crossfeed"), *switched("off", *INBOARD[:2]))),)
    sector = sector_of(
        halbrook, 7000.0, (*started(*INBOARD), *opened), (out,), end=2 * HOUR
    )  # fmt: skip
    flight = fly(halbrook, sector)
    name = "Wing fuel is out of balance"
    shown, gone = changed(flight, name, "SHOWN"), changed(flight, name, "OUT")
    assert flight.balance(shown.time).imbalance == pytest.approx(700.0, abs=1e-3)
    assert flight.balance(gone.time).imbalance == pytest.approx(690.0, abs=1e-3)
    assert flight.feeding("engine 1", 3000.0) == {"right inboard": pytest.approx(1.0)}


def test_equal_burns_keep_the_wings_level(content):
    """With nothing wrong the imbalance stays within a gram."""
    aircraft = aircraft_from(without_returns(content))
    flight = fly(aircraft, sector_of(aircraft, 6000.0, started(*INBOARD), end=2 * HOUR))
    assert max(abs(flight.balance(t).imbalance) for t in np.arange(0.0, 7200.0, 300.0)) < 1e-3


def test_an_aircraft_without_masses_has_no_balance(content):
    """It is told what is missing from its file."""
    del content["masses"]
    content["alerts"] = [a for a in content["alerts"] if "balance" not in a["name"]]
    aircraft = aircraft_from(content)
    flight = fly(aircraft, sector_of(aircraft, 6000.0, end=10.0))
    with pytest.raises(BalanceError, match="masses is missing.*Add a section"):
        flight.balance(0.0)
