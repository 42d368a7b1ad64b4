"""Sharing a load out over the tanks."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.loading import LoadError, distribution

HALBROOK = load_aircraft("halbrook-180")
densities = st.floats(760.0, 860.0)
shares = st.floats(0.0, 1.0)


def most(density):
    """What the tanks are refuelled to, altogether [kg]."""
    return sum(tank.refuelled_volume for tank in HALBROOK.tanks) * density


@given(shares, densities)
def test_a_load_is_shared_out_whole_and_fits(share, density):
    """The masses add up to the load; none is negative or more than its tank is refuelled to."""
    masses = distribution(HALBROOK, share * most(density), density)
    assert math.fsum(masses.values()) == pytest.approx(share * most(density), abs=1e-6)
    assert list(masses) == [tank.name for tank in HALBROOK.tanks]
    for tank in HALBROOK.tanks:
        assert 0.0 <= masses[tank.name] <= tank.refuelled_volume * density * (1.0 + 1e-12)


@given(shares, densities)
def test_both_sides_are_level(share, density):
    """Left and right hold the same."""
    masses = distribution(HALBROOK, share * most(density), density)
    for name in ("outboard", "inboard", "surge"):
        assert masses[f"left {name}"] == masses[f"right {name}"]


@given(shares, densities)
def test_a_step_of_the_order_begins_when_the_one_before_is_full(share, density):
    """Inboard, then outboard, then centre: the order of the aircraft's file.

    Wings before centre: common practice, no source.
    """
    masses = distribution(HALBROOK, share * most(density), density)
    for before, after in zip(HALBROOK.loading_order, HALBROOK.loading_order[1:], strict=False):
        if any(masses[name] > 1e-6 for name in after):
            for name in before:
                full = HALBROOK.tank(name).refuelled_volume * density
                assert masses[name] == pytest.approx(full)


@given(shares, shares, densities)
def test_more_fuel_never_lowers_a_tank(share, other, density):
    """A larger load puts at least as much in every tank."""
    less, more = (
        distribution(HALBROOK, part * most(density), density) for part in sorted((share, other))
    )
    assert all(more[name] >= less[name] - 1e-9 for name in less)


@pytest.mark.parametrize("total", [-1.0, math.nan, math.inf, -math.inf])
def test_a_load_that_is_no_mass_is_refused(total):
    """Negative, infinite or not a number."""
    with pytest.raises(LoadError, match=f"load: total is {total} kg; it must be 0 or more"):
        distribution(HALBROOK, total, 800.0)


@given(st.floats(1.0, 1e6), densities)
def test_a_load_too_large_is_refused_with_what_fits(surplus, density):
    """The message says how much the tanks take at this density."""
    with pytest.raises(LoadError, match=f"at most {most(density):.0f} kg at {density:.1f} kg/m³"):
        distribution(HALBROOK, most(density) + surplus, density)


def test_an_empty_and_a_full_aircraft_are_the_limits():
    """Nothing, and exactly what the tanks are refuelled to."""
    assert set(distribution(HALBROOK, 0.0, 800.0).values()) == {0.0}
    full = distribution(HALBROOK, most(800.0), 800.0)
    assert full["centre"] == pytest.approx(HALBROOK.tank("centre").refuelled_volume * 800.0)
