"""Distribution and balance: every kilogram in some tank, sides, and the centre of gravity."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.loading import distribution
from fuelkit.figures.distribution_sheet import MOVE, WITHIN, distribution_sheet
from fuelkit.figures.quantities import FigureError
from tests.figures.fleet import FLEET, STARTER, aircraft

H180 = "halbrook-180"


def tanks(own):
    """Names of the tanks that are loaded."""
    return [name for group in own.loading_order for name in group]


def sheet(own, block=8000.0, dense=800.0, gauges=None, limit=200.0):
    """A sheet, with gauges that show what was planned if none are given."""
    planned = {k: v for k, v in distribution(own, block, dense).items() if k in tanks(own)}
    return distribution_sheet(own, block, dense, gauges or planned, imbalance_limit=limit)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(FLEET), st.floats(0.02, 0.95), st.floats(775.0, 840.0))
def test_every_kilogram_of_the_block_fuel_is_in_some_tank(name, share, dense):
    """Tanks add up to the block fuel, and are those that the aircraft's own order gives."""
    own = aircraft(name)
    block = share * dense * sum(tank.refuelled_volume for tank in own.tanks)
    work = sheet(own, block, dense)
    values = work.worked()
    assert sum(values[f"to {name}"] for name in tanks(own)) == pytest.approx(block, abs=1e-6)
    planned = distribution(own, block, dense)
    for tank in tanks(own):
        assert work.step(f"to {tank}").agrees(values[f"to {tank}"], planned[tank])


@pytest.mark.parametrize("name", FLEET)
def test_what_is_planned_is_alike_on_both_sides(name):
    """Our aircraft are the same left and right, so the difference of the sides is nothing."""
    values = sheet(aircraft(name), 2000.0).worked()
    assert values["imbalance"] == pytest.approx(0.0, abs=1e-9)
    assert values["short"] == pytest.approx(0.0, abs=1e-9)
    assert values["decision"] == WITHIN


@pytest.mark.parametrize("side", [-1.0, 1.0])
@pytest.mark.parametrize("over, told", [(-0.5, WITHIN), (0.0, WITHIN), (0.5, MOVE)])
def test_the_limit_of_the_sides_counts_to_either_side(side, over, told):
    """By hand: 200 kg, and half a kilogram on either side of it."""
    off = 0.5 * side * (200.0 + over)
    gauges = {"left tank": 1000.0 - off, "right tank": 1000.0 + off}
    values = sheet(aircraft(STARTER), 2000.0, gauges=gauges).worked()
    assert values["imbalance"] == pytest.approx(2.0 * off)
    assert values["decision"] == told


def test_the_centre_of_gravity_of_full_tanks_is_the_mean_of_all_masses():
    """Against the mean of the tetrahedra that fill each tank, weighed by their volumes."""
    own, moment, mass = aircraft(H180), 0.0, 0.0
    gauges = {}
    for name in tanks(own):
        corners = own.tank(name).solid
        sizes = np.abs(np.linalg.det(corners[:, 1:] - corners[:, :1])) / 6.0
        gauges[name] = 800.0 * sizes.sum()
        moment += 800.0 * (sizes * corners[..., 0].mean(axis=1)).sum()
        mass += gauges[name]
    work = sheet(own, 8000.0, gauges=gauges)
    masses = own.masses
    place = (masses.zero_fuel * masses.zero_fuel_x + moment) / (masses.zero_fuel + mass)
    assert work.step("place").agrees(work.worked()["place"], place)
    percent = (place - masses.chord_start) / masses.chord
    assert work.step("percent").agrees(work.worked()["percent"], percent)


def test_an_empty_aircraft_balances_where_its_file_says():
    """No fuel shown: the centre of gravity is that of the zero-fuel mass, 25.6 % by hand."""
    own = aircraft(H180)
    values = sheet(own, 8000.0, gauges=dict.fromkeys(tanks(own), 0.0)).worked()
    assert values["place"] == pytest.approx(15.35)
    assert values["percent"] == pytest.approx((15.35 - 14.30) / 4.10)


def test_without_masses_there_is_no_centre_of_gravity_to_ask():
    """The rest of the sheet stands."""
    names = [step.name for step in sheet(aircraft(STARTER), 2000.0).steps]
    assert "decision" in names and "percent" not in names


def test_fuel_in_a_tail_moves_the_centre_aft():
    """1 000 kg from the centre tank to the trim tank of the long-range aircraft."""
    own = aircraft("halbrook-300")
    gauges = {name: 2000.0 for name in tanks(own)}
    moved = gauges | {"centre": 1000.0, "trim": 3000.0}
    before, after = (sheet(own, 12_000.0, gauges=g).worked()["percent"] for g in (gauges, moved))
    assert after > before + 0.005


def test_a_wrong_density_shows_where_a_tank_is_full():
    """The slip belongs to a group that is filled to its limit, and to no other."""
    work = sheet(aircraft(H180), 8200.0)
    assert [slip.name for slip in work.step("group 1").slips] == ["density inverted"]
    assert work.step("group 3").slips == ()


@pytest.mark.parametrize(
    "arguments, told",
    [
        ({"block": 0.0}, "block: it is 0 kg; it must be more than 0 kg"),
        ({"block": math.nan}, "block: it is nan"),
        ({"block": 90_000.0}, "the tanks take at most"),
        ({"dense": 0.8}, "0.8 kg/l is 800 kg/m³"),
        ({"imbalance_limit": -1.0}, "imbalance_limit: it is -1 kg"),
        ({"gauges": {"centre": 0.0}}, "gauges: left inboard is missing"),
        ({"gauges": {"tail": 0.0}}, "'tail' is no tank"),
        ({"gauges": {"centre": -1.0}}, "gauge of centre: it is -1 kg"),
        ({"gauges": {"centre": "2 t"}}, "gauge of centre: it is '2 t'"),
    ],
)
def test_what_cannot_be_is_told(arguments, told):
    """Nothing, no number, too much, another unit, a missing, unknown or negative gauge."""
    own = aircraft(H180)
    full = dict.fromkeys(tanks(own), 1000.0)
    given_ = {"block": 8000.0, "dense": 800.0, "gauges": full, "imbalance_limit": 200.0}
    if arguments.get("gauges", {}).keys() - {"centre"} or arguments.get("gauges") in (
        {"centre": -1.0}, {"centre": "2 t"},
    ):  # fmt: skip
        arguments = {"gauges": full | arguments["gauges"]}
    with pytest.raises(FigureError, match=told):
        distribution_sheet(own, **(given_ | arguments))
