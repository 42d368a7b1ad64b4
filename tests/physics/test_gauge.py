"""A gauge with probes: exact in level attitude, and wrong at another by what it cannot see."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.gauge import (
    Gauge,
    Probe,
    column,
    full_length_gauge,
    full_length_probe,
    indicated_volume,
    probe_heights,
)
from fuelkit.physics.solid import bay, level_table

UNIT_RIB = np.array([[0.0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]])


def box(length, span, height):
    """Bay of a box with one corner at the origin."""
    rib = UNIT_RIB * [length, 1.0, height]
    return bay(rib, rib + [0.0, span, 0.0])


def wing():
    """Two bays that taper and rise outboard: lowest at the root, highest at the tip."""
    ribs = [
        UNIT_RIB * [size, 1.0, 0.25 * size] + [0.3 * station, station, 0.15 * station]
        for size, station in ((3.0, 1.0), (2.2, 4.0), (1.2, 8.0))
    ]
    return np.concatenate([bay(a, b) for a, b in itertools.pairwise(ribs)])


BOX, WING = box(2.0, 3.0, 1.5), wing()
# From the root rib to the tip rib, so that together they see every level of the tank.
PLACES = [(0.5, 1.0), (2.0, 3.0), (2.0, 5.0), (3.0, 8.0)]
parts = st.floats(0.0, 1.0)
any_fill = settings(max_examples=100, deadline=None)


# ---------------------------------------------------------------------------- column of a tank
@pytest.mark.parametrize("seed", range(10))
def test_a_column_runs_from_face_to_face_of_the_hull(seed):
    """A bay with flat skins against the half-spaces of its hull (scipy, qhull)."""
    chance = np.random.default_rng(seed)
    outer = UNIT_RIB * [*chance.uniform(0.4, 0.9, 1), 1.0, 0.5] + [0.3, 4.0, 0.4]
    tank = bay(UNIT_RIB, outer)
    hull = ConvexHull(np.vstack([UNIT_RIB, outer]))
    for share in chance.dirichlet(np.ones(8), 5):
        x, y, _ = share @ hull.points
        rest = hull.equations[:, :2] @ [x, y] + hull.equations[:, 3]
        upright = np.abs(hull.equations[:, 2]) > 1e-12
        at = -rest[upright] / hull.equations[upright, 2]
        above = hull.equations[upright, 2] > 0.0
        assert column(tank, x, y) == pytest.approx((at[~above].max(), at[above].min()), abs=1e-12)


@pytest.mark.parametrize("x, y", [(0.0, 0.0), (2.0, 3.0), (1.0, 0.0), (2.0, 1.5), (1.0, 1.5)])
def test_a_column_may_stand_on_a_wall_a_corner_or_a_seam(x, y):
    """Rounding does not put it outside."""
    assert column(BOX, x, y) == pytest.approx((0.0, 1.5), abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_a_column_through_a_slanted_edge_is_found(seed):
    """Every point of every edge of a random tetrahedron, its outline from above included."""
    chance = np.random.default_rng(seed)
    corners = chance.uniform(-3.0, 3.0, (4, 3))
    for i, j in itertools.combinations(range(4), 2):
        for part in (0.0, 0.3, 0.77):
            x, y, z = corners[i] + part * (corners[j] - corners[i])
            bottom, top = column(corners[None], x, y)
            assert bottom - 1e-9 <= z <= top + 1e-9


def test_a_column_along_every_rib_of_a_wing_is_found():
    """Ribs are where bays meet, and where probes like to stand."""
    for size, station in ((3.0, 1.0), (2.2, 4.0), (1.2, 8.0)):
        for part in (0.0, 0.3, 1.0):
            found = column(WING, 0.3 * station + part * size, station)
            bottom = 0.15 * station
            assert found == pytest.approx((bottom, bottom + 0.25 * size), abs=1e-9)


def test_a_column_passes_over_a_gap():
    """Two boxes one above the other: the bottom of one, the top of the other."""
    assert column(np.concatenate([BOX, BOX + [0, 0, 4.0]]), 1.0, 1.0) == pytest.approx((0.0, 5.5))


@pytest.mark.parametrize("x, y", [(-0.01, 1.0), (1.0, 3.01), (np.nan, 1.0)])
def test_a_column_outside_is_refused(x, y):
    """The message names the place."""
    with pytest.raises(ValueError, match="gauge: the place x .* is outside the tank"):
        column(BOX, x, y)


# -------------------------------------------------------------------------------- level attitude
@any_fill
@given(parts, st.floats(0.0, 0.05))
def test_a_gauge_is_exact_in_level_attitude(part, share):
    """Any volume from unusable up to full, in a wing that rises and tapers."""
    table = level_table(WING)
    unusable = share * table.capacity
    gauge = full_length_gauge(WING, PLACES, unusable=unusable)
    assert gauge.seen_volumes == pytest.approx((0.0, table.capacity), abs=1e-11)
    volume = unusable + part * (table.capacity - unusable)
    assert indicated_volume(gauge, table, volume) == pytest.approx(volume - unusable, abs=1e-11)


@pytest.mark.parametrize("weights", [None, [1.0, 2.0, 2.0, 0.5]])
def test_a_gauge_reads_zero_at_unusable_fuel_and_below(weights):
    """14 CFR 25.1337(b): zero at unusable fuel in level flight; never negative."""
    gauge = full_length_gauge(WING, PLACES, unusable=0.05, weights=weights)
    assert indicated_volume(gauge, gauge.levels, 0.05) == pytest.approx(0.0, abs=1e-9)
    assert [indicated_volume(gauge, gauge.levels, v) for v in (0.0, 0.01, 0.049)] == [0.0] * 3
    assert indicated_volume(gauge, gauge.levels, 0.06) == pytest.approx(0.01, abs=1e-9)


def test_a_gauge_rests_where_its_probes_do_not_reach():
    """One probe from 0.2 m to 1.2 m of a box: zero below, no more than the 1.2 m above."""
    gauge = Gauge((Probe(1.0, 1.5, 0.2, 1.2),), level_table(BOX))
    assert gauge.seen_volumes == pytest.approx((1.2, 7.2))
    shown = [indicated_volume(gauge, gauge.levels, v) for v in (0.6, 1.19, 1.21, 7.1, 7.3, 8.9)]
    assert shown == pytest.approx([0.0, 0.0, 1.21, 7.1, 7.2, 7.2])


def test_between_probes_that_do_not_meet_the_lower_volume_is_shown():
    """Probes from 0 to 0.5 m and from 1.0 m to 1.5 m: at 0.7 m the gauge still shows 0.5 m."""
    probes = Probe(0.5, 1.5, 0.0, 0.5), Probe(1.5, 1.5, 1.0, 1.5)
    gauge = Gauge(probes, level_table(BOX))
    shown = [indicated_volume(gauge, gauge.levels, 6.0 * z) for z in (0.4, 0.7, 1.1)]
    assert shown == pytest.approx([2.4, 3.0, 6.6])


# -------------------------------------------------------------------------------- at an attitude
@pytest.mark.parametrize("angle", [0.05, -0.1])
def test_one_probe_is_off_by_its_distance_from_the_middle_times_the_slope(angle):
    """A box of 6 m²: the surface at the probe stands (x - l/2)·tan θ too high."""
    gauge = full_length_gauge(BOX, [(1.6, 1.5)], unusable=0.3)
    table = level_table(BOX, up_direction(pitch=angle))
    expected = 4.5 - 0.3 + 6.0 * 0.6 * np.tan(angle)
    assert indicated_volume(gauge, table, 4.5) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("angle", [0.05, -0.1])
def test_two_probes_either_side_of_the_middle_see_no_roll(angle):
    """What one has too much the other has too little."""
    gauge = full_length_gauge(BOX, [(1.0, 0.5), (1.0, 2.5)], unusable=0.3)
    table = level_table(BOX, up_direction(roll=angle))
    assert indicated_volume(gauge, table, 4.5) == pytest.approx(4.2, rel=1e-12)


def test_symmetric_probes_cancel_roll_to_first_order():
    """A centre tank with sloping sides: half the roll, a quarter of the error or less.

    A single probe off the middle keeps an error in proportion to the roll.
    """
    half = bay(UNIT_RIB * [2.0, 1.0, 1.0], UNIT_RIB * [2.0, 1.0, 0.5] + [0.0, 3.0, 0.5])
    tank = np.concatenate([half, half * [1.0, -1.0, 1.0]])
    volume = 0.5 * level_table(tank).capacity

    def error(places, roll):
        gauge = full_length_gauge(tank, places)
        return indicated_volume(gauge, level_table(tank, up_direction(roll=roll)), volume) - volume

    symmetric, single = [(1.0, -1.2), (1.0, 1.2)], [(1.0, 1.2)]
    for roll in (0.04, 0.02, 0.01):
        assert abs(error(symmetric, roll)) < 0.3 * abs(error(single, roll))
        assert error(symmetric, roll / 2.0) == pytest.approx(error(symmetric, roll) / 4.0, rel=0.1)
        assert error(single, roll / 2.0) == pytest.approx(error(single, roll) / 2.0, rel=0.1)
    assert abs(error(symmetric, 0.01)) < 0.03 * abs(error(single, 0.01))


def test_weights_move_the_middle_of_the_probes():
    """Two probes at 0.4 and 1.3 m from the front with weights 1 and 2 have their mean at 1 m."""
    table = level_table(BOX, up_direction(pitch=0.1))
    gauge = full_length_gauge(BOX, [(0.4, 1.5), (1.3, 1.5)], weights=[1.0, 2.0])
    assert indicated_volume(gauge, table, 4.5) == pytest.approx(4.5, rel=1e-12)


def test_wetted_lengths_agree_with_a_tank_of_small_cubes():
    """A pitched and rolled wing against 4 million small cubes: no table, no tetrahedra.

    The tank is told by its ribs alone: along the span each rib is a box of known size. The level
    is the height below which lies the wanted share of the cubes.
    """
    pitch, roll, share = 0.03, 0.05, 0.35
    up = np.array(up_direction(pitch, roll))
    y, u, v = np.meshgrid(*(((np.arange(n) + 0.5) / n) for n in (400, 100, 100)), indexing="ij")
    y = 1.0 + 7.0 * y
    size = np.interp(y, [1.0, 4.0, 8.0], [3.0, 2.2, 1.2])
    heights = (0.3 * y + u * size) * up[0] + y * up[1] + (0.15 * y + 0.25 * size * v) * up[2]
    order = np.argsort(heights, axis=None)
    filled = np.cumsum((size**2).ravel()[order])
    level = heights.ravel()[order][np.searchsorted(filled, share * filled[-1])]
    table = level_table(WING, up)
    assert table.level_of(share * table.capacity) == pytest.approx(level, abs=2e-3)
    wetted = probe_heights([full_length_probe(WING, *place) for place in PLACES], level, up)
    for (x, y), length in zip(PLACES, wetted, strict=True):
        bottom, thick = 0.15 * y, 0.25 * np.interp(y, [1.0, 4.0, 8.0], [3.0, 2.2, 1.2])
        surface = (level - up[0] * x - up[1] * y) / up[2]
        assert length == pytest.approx(np.clip(surface - bottom, 0.0, thick), abs=1e-9)


@any_fill
@given(parts, st.floats(-0.15, 0.15), st.floats(-0.15, 0.15))
def test_a_gauge_never_shows_less_than_nothing_or_more_than_the_tank(part, pitch, roll):
    """At any attitude and fill."""
    gauge = full_length_gauge(WING, PLACES, unusable=0.02)
    table = level_table(WING, up_direction(pitch, roll))
    shown = indicated_volume(gauge, table, part * table.capacity)
    assert 0.0 <= shown <= table.capacity - 0.02 + 1e-12


@any_fill
@given(parts, parts, st.floats(-0.15, 0.15), st.floats(-0.15, 0.15))
def test_more_fuel_is_never_shown_as_less(one, other, pitch, roll):
    """At one attitude."""
    gauge = full_length_gauge(WING, PLACES, unusable=0.02)
    table = level_table(WING, up_direction(pitch, roll))
    low, high = (indicated_volume(gauge, table, p * table.capacity) for p in sorted((one, other)))
    assert low <= high + 1e-9


# ------------------------------------------------------------------------------------ bad input
def test_a_gauge_needs_a_probe():
    """None would show nothing."""
    with pytest.raises(ValueError, match="gauge: the list of probes is empty"):
        full_length_gauge(BOX, [])


@pytest.mark.parametrize("unusable", [-0.1, 9.0, float("nan")])
def test_unusable_fuel_must_fit_the_tank(unusable):
    """At least none, less than all."""
    with pytest.raises(ValueError, match="gauge: unusable is .*at least 0 and less than"):
        full_length_gauge(BOX, [(1.0, 1.0)], unusable=unusable)


def test_weights_must_fit_the_probes():
    """As many, and each above 0."""
    with pytest.raises(ValueError, match="gauge: the number of weights is 2; there are 1 probes"):
        full_length_gauge(BOX, [(1.0, 1.0)], weights=[1.0, 2.0])
    with pytest.raises(ValueError, match="gauge: weight of the probe at x 1.0 m.* is 0.0"):
        full_length_gauge(BOX, [(1.0, 1.0)], weights=[0.0])


def test_a_probe_has_a_length():
    """Its top is above its bottom."""
    with pytest.raises(ValueError, match="gauge: top of the probe at x 1.0 m, y 2.0 m is 0.2 m"):
        Probe(1.0, 2.0, 0.2, 0.2)
