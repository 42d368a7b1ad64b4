"""Sticks under a tank: depth at a place to volume and back, at any attitude."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.gauge import column
from fuelkit.physics.solid import bay, level_table
from fuelkit.physics.sticks import (
    CAUTIONS,
    Stick,
    StickKind,
    StickState,
    mass_of_reading,
    mass_resolution,
    readable_volumes,
    stick_reading,
    stick_state,
    volume_of_reading,
)

UNIT_RIB = np.array([[0.0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]])
KINDS = list(StickKind)


def box(length, span, height):
    """Bay of a box with one corner at the origin."""
    rib = UNIT_RIB * [length, 1.0, height]
    return bay(rib, rib + [0.0, span, 0.0])


def wing():
    """Two bays that taper and rise outboard."""
    ribs = [
        UNIT_RIB * [size, 1.0, 0.25 * size] + [0.3 * station, station, 0.08 * station]
        for size, station in ((3.0, 1.0), (2.2, 4.0), (1.2, 8.0))
    ]
    return np.concatenate([bay(a, b) for a, b in itertools.pairwise(ribs)])


TANK = wing()


# --------------------------------------------------------------------------------- closed forms
@pytest.mark.parametrize("x, y", [(0.2, 0.3), (1.0, 1.5), (1.9, 2.8)])
@pytest.mark.parametrize("pitch, roll", [(0.0, 0.0), (0.03, 0.0), (0.0, -0.02), (0.04, 0.05)])
def test_a_stick_in_a_box_reads_the_mean_depth_and_the_slope_of_the_surface(x, y, pitch, roll):
    """While floor and walls are wetted: V/(l·s) + (x - l/2)·tan θ + (y - s/2)·tan φ/cos θ."""
    table = level_table(box(2.0, 3.0, 1.5), up_direction(pitch, roll))
    depth = 0.75 + (x - 1.0) * np.tan(pitch) / np.cos(roll) + (y - 1.5) * np.tan(roll)
    assert stick_reading(Stick(x, y, 0.0, 1.5), table, 4.5) == pytest.approx(depth, rel=1e-12)
    drip = Stick(x, y, 0.0, 1.5, kind=StickKind.DRIP)
    assert stick_reading(drip, table, 4.5) == pytest.approx(1.5 - depth, rel=1e-12)


def test_the_scale_may_have_a_unit_of_its_own():
    """A scale in half inches reads the length over 12.7 mm."""
    table = level_table(box(2.0, 3.0, 1.5))
    metres, scale = Stick(1.0, 1.0, 0.1, 1.4), Stick(1.0, 1.0, 0.1, 1.4, unit=0.0127)
    expected = stick_reading(metres, table, 4.5) / 0.0127
    assert stick_reading(scale, table, 4.5) == pytest.approx(expected, rel=1e-14)
    assert volume_of_reading(scale, table, expected) == pytest.approx(4.5, rel=1e-13)


def test_a_reading_means_its_volume_times_density():
    """0.4 m above a base at 0.1 m, in 6 m²: 3 m³; of 800 kg/m³, 2400 kg."""
    table, stick = level_table(box(2.0, 3.0, 1.5)), Stick(1.0, 1.0, 0.1, 1.4)
    assert volume_of_reading(stick, table, 0.4) == pytest.approx(3.0, rel=1e-13)
    assert mass_of_reading(stick, table, 0.4, 800.0) == pytest.approx(2400.0, rel=1e-13)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("reading, unit", [(0.25, 1.0), (25.0, 0.01)])
def test_the_volume_of_a_reading_is_that_below_the_surface_by_integration(kind, reading, unit):
    """Areas of slices of a rolled wedge, integrated by scipy's quad along the span.

    The wedge's section is a triangle, 2 m wide at the floor and 1 m high; its span is 3 m.
    """
    rib = np.array([[0.0, 0, 0], [2.0, 0, 0], [0, 0, 1.0], [0, 0, 1.0]])
    roll = 0.06
    table = level_table(bay(rib, rib + [0.0, 3.0, 0.0]), up_direction(roll=roll))
    stick = Stick(0.3, 2.0, 0.1, 0.8, kind=kind, unit=unit)
    z = 0.1 + 0.25 if kind is StickKind.MAGNETIC else 0.8 - 0.25

    def slice_below(y):
        depth = z + (y - 2.0) * np.tan(roll)
        return 2.0 * depth - depth**2

    expected, _ = quad(slice_below, 0.0, 3.0)
    assert volume_of_reading(stick, table, reading) == pytest.approx(expected, rel=1e-12)


# ------------------------------------------------------------------------------------------ laws
angles = st.floats(-0.08, 0.08)
places = st.tuples(st.floats(0.0, 1.0), st.floats(1.0, 8.0))
any_stick = settings(max_examples=100, deadline=None)


@st.composite
def sticks(draw):
    """A stick through the whole height of the wing at a random place, and an attitude."""
    part, y = draw(places)
    front = 0.3 * y + 0.02
    x = front + part * (np.interp(y, [1.0, 4.0, 8.0], [3.0, 2.2, 1.2]) - 0.04)
    base, top = column(TANK, x, y)
    assume(top - base > 0.01)
    kind, unit = draw(st.sampled_from(KINDS)), draw(st.sampled_from([1.0, 0.01, 0.0254]))
    return Stick(x, y, base, top, kind=kind, unit=unit), level_table(
        TANK, up_direction(draw(angles), draw(angles))
    )


@any_stick
@given(sticks(), st.floats(0.0, 1.0))
def test_a_reading_gives_back_its_volume(pair, part):
    """Volume to reading to volume, and between the volumes that the stick can tell."""
    stick, table = pair
    volume = part * table.capacity
    reading, state = stick_reading(stick, table, volume), stick_state(stick, table, volume)
    least, most = readable_volumes(stick, table)
    if state is StickState.READS:
        if 1e-9 < reading < stick.full_scale - 1e-9:
            assert volume_of_reading(stick, table, reading) == pytest.approx(volume, abs=1e-10)
        assert least - 1e-10 <= volume <= most + 1e-10
    else:
        assert reading is None
        dry = state is StickState.DRY
        assert volume <= least + 1e-10 if dry else volume >= most - 1e-10


@any_stick
@given(sticks(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_fuel_is_read_as_more_depth_or_less_pull(pair, one, other):
    """Strictly in one sense for each kind."""
    stick, table = pair
    low, high = (
        stick_reading(stick, table, part * table.capacity) for part in sorted((one, other))
    )
    if low is not None and high is not None:
        assert low <= high + 1e-12 if stick.kind is StickKind.MAGNETIC else low >= high - 1e-12


@any_stick
@given(sticks(), st.floats(0.05, 0.95))
def test_both_kinds_tell_the_same_depth(pair, part):
    """Depth by one and pull of the other add up to the length of the stick."""
    stick, table = pair
    depth, pull = (
        stick_reading(Stick(stick.x, stick.y, stick.base, stick.top, kind), table, part)
        for kind in (StickKind.MAGNETIC, StickKind.DRIP)
    )
    assert (depth is None) == (pull is None)
    if depth is not None:
        assert depth + pull == pytest.approx(stick.top - stick.base, rel=1e-12)


@any_stick
@given(sticks(), st.floats(0.1, 0.9))
def test_the_resolution_is_the_slope_of_mass_over_reading(pair, part):
    """A small step of reading, by difference; the tilt of the surface is allowed for."""
    stick, table = pair
    middle, step = part * stick.full_scale, 1e-5 * stick.full_scale
    below, above = (mass_of_reading(stick, table, middle + s, 800.0) for s in (-step, step))
    per_step = mass_resolution(stick, table, middle, 800.0, resolution=step)
    assert per_step == pytest.approx(abs(above - below) / 2.0, rel=1e-3, abs=1e-6)


# ---------------------------------------------------------------------------- ends of the scale
@pytest.mark.parametrize("kind", KINDS)
def test_a_dry_stick_reads_nothing_and_bounds_the_fuel_from_above(kind):
    """Surface below the base: at most the least readable volume."""
    table, stick = level_table(box(2.0, 3.0, 1.5)), Stick(1.0, 1.0, 0.1, 1.4, kind=kind)
    assert stick_reading(stick, table, 0.5) is None
    assert stick_state(stick, table, 0.5) is StickState.DRY
    assert readable_volumes(stick, table) == pytest.approx((0.6, 8.4))


@pytest.mark.parametrize("kind", KINDS)
def test_a_covered_stick_reads_nothing_and_bounds_the_fuel_from_below(kind):
    """Surface above the top: at least the greatest readable volume."""
    table, stick = level_table(box(2.0, 3.0, 1.5)), Stick(1.0, 1.0, 0.1, 1.4, kind=kind)
    assert stick_reading(stick, table, 8.7) is None
    assert stick_state(stick, table, 8.7) is StickState.COVERED


def test_the_same_fuel_may_be_read_level_and_not_when_rolled():
    """A stick on the high side falls dry."""
    stick = Stick(1.0, 0.1, 0.1, 1.4)
    assert stick_state(stick, level_table(box(2.0, 3.0, 1.5)), 1.8) is StickState.READS
    rolled = level_table(box(2.0, 3.0, 1.5), up_direction(roll=0.2))
    assert stick_state(stick, rolled, 1.8) is StickState.DRY


def test_each_kind_has_its_caution():
    """Only the drip stick lets fuel out."""
    assert set(CAUTIONS) == set(StickKind)
    assert "Fuel runs out" in CAUTIONS[StickKind.DRIP]


# ------------------------------------------------------------------------------------ bad input
@pytest.mark.parametrize("reading", [-0.1, 1.4, float("nan"), float("inf")])
def test_a_reading_off_the_scale_is_refused(reading):
    """The message gives the scale."""
    table, stick = level_table(box(2.0, 3.0, 1.5)), Stick(1.0, 1.0, 0.1, 1.4)
    with pytest.raises(ValueError, match=r"stick: reading is .*from 0 to 1\.3\. Correct"):
        volume_of_reading(stick, table, reading)
    with pytest.raises(ValueError, match="stick: reading is"):
        mass_resolution(stick, table, reading, 800.0)


def test_a_full_scale_that_is_written_down_can_be_read_again():
    """-0.64 less -1.06 is not quite 0.42; what a table gives to the millimetre is on the scale."""
    stick = Stick(1.0, 1.0, -1.06, -1.06 + 0.42)
    assert stick.full_scale < 0.42
    table = level_table(box(2.0, 3.0, 1.5) - [0.0, 0.0, 1.2])
    assert volume_of_reading(stick, table, 0.42) == pytest.approx(2.0 * 3.0 * 0.56)


@pytest.mark.parametrize("density", [0.0, -800.0, float("nan"), float("inf")])
def test_a_density_that_is_none_is_refused(density):
    """Above zero and finite."""
    table, stick = level_table(box(2.0, 3.0, 1.5)), Stick(1.0, 1.0, 0.1, 1.4)
    with pytest.raises(ValueError, match="stick: density is .*above 0"):
        mass_of_reading(stick, table, 0.5, density)


@pytest.mark.parametrize(
    "fields, message",
    [
        ({"top": 0.1}, "stick: top is 0.1 m; it must be above the base"),
        ({"x": float("nan")}, "stick: x, y, base, top are nan"),
        ({"unit": 0.0}, "stick: unit is 0.0 m"),
        ({"unit": float("nan")}, "stick: unit is nan m"),
        ({"kind": "drip stick"}, "stick: kind is 'drip stick'; it must be StickKind.MAGNETIC or"),
    ],
)
def test_a_stick_that_cannot_be_is_refused(fields, message):
    """The message names the field and its value."""
    with pytest.raises(ValueError, match=message):
        Stick(**{"x": 1.0, "y": 1.0, "base": 0.1, "top": 1.4} | fields)
