"""Up in the axes of the aircraft: which way fuel runs, against scipy's rotations."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fuelkit.physics.attitude import height, surface_height, up_direction

angles = st.floats(-1.2, 1.2)


def test_level_flight_is_up_along_z():
    """No pitch, no roll; and zeros without a minus sign."""
    assert up_direction() == (0.0, 0.0, 1.0)
    assert [math.copysign(1.0, part) for part in up_direction()] == [1.0] * 3


def test_nose_up_lets_fuel_run_aft():
    """The aft end lies lower, and over it the same surface stands higher in the tank."""
    up = up_direction(pitch=0.05)
    assert height((10.0, 0.0, 0.0), up) < height((0.0, 0.0, 0.0), up)
    assert surface_height(0.5, 10.0, 0.0, up) > surface_height(0.5, 0.0, 0.0, up)


def test_right_wing_down_lets_fuel_run_to_the_right():
    """The right tip lies lower, and over it the same surface stands higher in the tank."""
    up = up_direction(roll=0.05)
    assert height((0.0, 10.0, 0.0), up) < height((0.0, -10.0, 0.0), up)
    assert surface_height(0.5, 0.0, 10.0, up) > surface_height(0.5, 0.0, -10.0, up)


@given(angles, angles)
def test_up_is_the_earths_up_turned_into_the_aircraft(pitch, roll):
    """Heading, pitch, roll in that order (scipy, axes forward, right, down), any heading."""
    to_earth = Rotation.from_euler("ZYX", [0.7, pitch, roll])
    forward, right, down = to_earth.inv().apply([0.0, 0.0, -1.0])  # the earth's up is -down
    assert up_direction(pitch, roll) == pytest.approx((-forward, right, -down), abs=1e-14)
    assert np.linalg.norm(up_direction(pitch, roll)) == pytest.approx(1.0, rel=1e-15)


@given(angles, angles, st.floats(-5, 5), st.floats(-5, 5), st.floats(-5, 5))
def test_a_point_of_the_surface_has_its_level(pitch, roll, level, x, y):
    """What `surface_height` finds lies at that height along up."""
    up = up_direction(pitch, roll)
    assert height((x, y, surface_height(level, x, y, up)), up) == pytest.approx(level, abs=1e-12)


def test_the_slope_of_the_surface_is_the_tangent_of_the_angle():
    """Seen from the aircraft the surface leans by the pitch, or by the roll."""
    for angle in (0.01, 0.3, -0.4):
        aft = surface_height(0.0, 1.0, 0.0, up_direction(pitch=angle))
        right = surface_height(0.0, 0.0, 1.0, up_direction(roll=angle))
        assert (aft, right) == pytest.approx((math.tan(angle), math.tan(angle)))


@pytest.mark.parametrize("pitch, roll", [(0.0, math.pi), (2.0, 0.0)])
def test_depth_along_z_has_no_meaning_upside_down(pitch, roll):
    """A named error instead of a depth with the wrong sign."""
    with pytest.raises(ValueError, match="attitude: up is .*third part must be above 0"):
        surface_height(0.0, 1.0, 1.0, up_direction(pitch, roll))
