"""Relief of the wing's root bending moment by fuel: held against statics and hand-worked loads."""

import numpy as np
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.tank import Rib, Tank
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector
from fuelkit.show.relief import relief_page, relief_rows, relief_sentence
from fuelkit.survey import bending
from fuelkit.survey.bending import (
    BendingError,
    burned_in_order,
    moment_about,
    outermost_first,
    relief,
    relief_over,
    wing_of,
)

G = 9.80665  # m/s², the standard acceleration of free fall (ISO 80000-3)


@pytest.fixture(scope="module")
def halbrook():
    """The course's aircraft."""
    return load_aircraft("halbrook-180")


@pytest.fixture(scope="module")
def found(halbrook):
    """Give the relief over the course's first flight."""
    return relief_over(fly(halbrook, load_sector("eastmere-port-ellery", halbrook)), samples=25)


def test_point_loads_as_worked_by_hand():
    """By hand: g·(500·(8 - 2) + 1200·(4 - 2)) = g·5400 kg·m = 52 955.91 N·m; either side alike."""
    assert moment_about(2.0, [(500.0, 8.0), (1200.0, 4.0)]) == pytest.approx(52_955.91)
    assert moment_about(2.0, [(500.0, -8.0), (1200.0, -4.0)]) == pytest.approx(52_955.91)
    assert moment_about(2.0, [(900.0, 1.5)]) == 0.0


def test_a_uniform_block_is_half_its_load_times_its_length_squared():
    """Statics of a cantilever: a uniform load w over the length L gives w·L²/2 at the root."""

    def box(name, inner, outer):
        ends = [Rib(y, (10.0, 0.0, 0.5), (11.0, 0.0, 0.5)) for y in (inner, outer)]
        return Tank(name, name, tuple(ends), True, 0.02, 0.96)

    tanks = (box("left", -2.0, -8.0), box("right", 2.0, 8.0))
    stub = type("Plane", (), {
        "tanks": tanks, "name": "Box", "sides": np.array([-1.0, 1.0]),
        "tank": lambda self, name: {t.name: t for t in tanks}[name],
    })()  # fmt: skip
    full = 800.0 * 6.0 * 1.0 * 0.5  # kg in 6 m by 1 m by 0.5 m
    assert wing_of(stub).root == 2.0
    for share in (0.1, 1.0):
        load = share * full * G / 6.0  # N/m
        assert relief(stub, {"left": share * full, "right": share * full}, 800.0) == pytest.approx(
            (load * 6.0**2 / 2.0, load * 6.0**2 / 2.0)
        )


def test_which_tanks_load_which_wing():
    """A tail tank loads no wing, though it lies further out than the centre tank."""
    wing = wing_of(load_aircraft("halbrook-300"))
    assert (wing.root, wing.middle) == (3.2, ("centre",))
    assert wing.left == ("left reserve", "left inner")
    assert wing_of(load_aircraft("halbrook-40")).root == 1.8


def test_the_flight_starts_alike_and_the_reverse_order_never_relieves_more(found):
    """At the first moment nothing is burned; after that outboard fuel is worth the most."""
    assert found.flown[0] == pytest.approx(found.reversed[0])
    assert (found.flown >= found.reversed - 1.0).all() and (found.reversed >= 0.0).all()
    time, side, gap = found.largest
    gaps = found.flown - found.reversed
    assert gap == gaps.max() == gaps[list(found.times).index(time), side] > 0.0


def test_the_moment_of_a_flight_is_that_of_its_masses(found):
    """Again from the flight's own masses and centroids, about the root, at one moment."""
    i = 12
    time, history = float(found.times[i]), found.history
    left = 0.0
    for tank, table in zip(history.aircraft.tanks, history.stance(time).moments, strict=True):
        if tank.name in found.wing.left:
            mass = history.quantity(tank.name, time)
            density = history.hydraulics.fuel.density(history.temperature(tank.name, time))
            _, y, _ = table.centroid_of(mass / density)
            left += mass * G * (-y - found.wing.root)
    assert found.flown[i, 0] == pytest.approx(left)


def test_fuel_is_burned_step_by_step(halbrook):
    """Outermost first, in proportion within a step, the middle last; the total is right."""
    steps = outermost_first(halbrook)
    assert [sorted(step) for step in steps] == [
        ["left outboard", "right outboard"], ["left inboard", "right inboard"], ["centre"],
    ]  # fmt: skip
    masses = {"left outboard": 300.0, "right outboard": 100.0, "left inboard": 50.0,
              "right inboard": 50.0, "centre": 10.0}  # fmt: skip
    left = burned_in_order(masses, steps, 200.0)
    assert (left["left outboard"], left["right outboard"]) == pytest.approx((150.0, 50.0))
    assert sum(burned_in_order(masses, steps, 460.0).values()) == pytest.approx(50.0)
    assert sum(burned_in_order(masses, steps, 510.0).values()) == 0.0


def test_the_page_says_what_was_computed(found):
    """Rows and sentence come from the arrays; limits and caution stand on the page."""
    rows = relief_rows(found, 3)
    expected = [v for side in (0, 1) for v in (found.flown[0, side], found.reversed[0, side])]
    assert rows[0][3:] == tuple(f"{1e-3 * v:.1f}" for v in expected)
    assert f"{1e-3 * found.largest[2]:.0f} kN·m more relief" in relief_sentence(found)
    page = relief_page(found.history)
    assert bending.LIMITS in page.text and "Training aid" in page.html


@pytest.mark.parametrize(
    "masses, density, words",
    [
        ({"left inbord": 5.0}, 800.0, "mass in 'left inbord'"),
        ({"centre": -5.0}, 800.0, "-5.0 kg; it must be 0 or more"),
        ({"left inboard": 5.0}, 0.0, "density is 0.0 kg/m³"),
    ],
)
def test_bad_input_is_named(halbrook, masses, density, words):
    """The field, the value and what would be right."""
    with pytest.raises(BendingError, match=words):
        relief(halbrook, masses, density)
