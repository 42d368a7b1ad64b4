"""Centroid below a plane: closed forms, polyhedra of scipy (qhull), splines of scipy, and laws."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, Delaunay, HalfspaceIntersection

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.moments import moment_table
from fuelkit.physics.solid import bay, lowest_point

UNIT_RIB = np.array([[0.0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]])


def box(length, span, height):
    """Bay of a box with one corner at the origin."""
    rib = UNIT_RIB * [length, 1.0, height]
    return bay(rib, rib + [0.0, span, 0.0])


def reference(corners):
    """Volume and centroid of a convex body: a fan of tetrahedra from inside to its hull."""
    hull = ConvexHull(corners, qhull_options="QJ Pp")
    inside = hull.points.mean(axis=0)
    triangles = hull.points[hull.simplices]
    sizes = np.abs(np.linalg.det(triangles - inside)) / 6.0
    centroids = (triangles.sum(axis=1) + inside) / 4.0
    return sizes.sum(), sizes @ centroids / sizes.sum()


def clipped(corners, up, level):
    """Corners of a convex body below a plane: scipy's HalfspaceIntersection."""
    faces = np.vstack([ConvexHull(corners).equations, [*up, -level]])
    norms = np.linalg.norm(faces[:, :-1], axis=1)
    roomiest = linprog(
        [0.0, 0.0, 0.0, -1.0],
        A_ub=np.column_stack([faces[:, :-1], norms]),
        b_ub=-faces[:, -1],
        bounds=[(None, None)] * 3 + [(0.0, None)],
    )
    return HalfspaceIntersection(faces, roomiest.x[:3]).intersections


def some_up(chance):
    """Up of a random attitude, pitch and roll."""
    return np.array(up_direction(*chance.uniform(-0.5, 0.5, 2)))


# --------------------------------------------------------------------------------- closed forms
@pytest.mark.parametrize("volume", [1e-9, 0.9, 4.5, 9.0])
def test_fuel_in_a_level_box_has_its_centroid_at_half_its_depth(volume):
    """A box of 2 m × 3 m: depth is volume / 6."""
    centroid = moment_table(box(2.0, 3.0, 1.5)).centroid_of(volume)
    assert centroid == pytest.approx((1.0, 1.5, volume / 12.0), rel=1e-13)


@pytest.mark.parametrize("angle", [0.01, 0.2, -0.3])
def test_fuel_in_a_pitched_box_moves_by_its_trapezium(angle):
    """While it wets floor and both walls, x̄ = l/2 + l²·tan θ / (12·d), d the mean depth."""
    depth, length = 0.75, 2.0
    x, y, z = moment_table(box(length, 3.0, 1.5), up_direction(pitch=angle)).centroid_of(6 * depth)
    slope = np.tan(angle)
    assert x == pytest.approx(length / 2.0 + length**2 * slope / (12.0 * depth), rel=1e-12)
    assert y == pytest.approx(1.5, rel=1e-13)
    assert z == pytest.approx(depth / 2.0 + length**2 * slope**2 / (24.0 * depth), rel=1e-12)


def test_fuel_in_a_rolled_box_lies_to_the_lower_side():
    """Right wing down: the same trapezium, across."""
    _, y, _ = moment_table(box(2.0, 3.0, 1.5), up_direction(roll=0.1)).centroid_of(4.5)
    assert y == pytest.approx(1.5 + 9.0 * np.tan(0.1) / (12.0 * 0.75), rel=1e-12)


@pytest.mark.parametrize("level", [1e-6, 1e-3, 0.3, 1.0])
def test_an_inverted_pyramid_has_its_centroid_at_three_quarters_of_its_depth(level):
    """Any cone, measured from its tip."""
    tetrahedron = np.array([[[0.0, 0, 0], [1, 0, 1], [0, 1, 1], [0, 0, 1]]])
    centroid = moment_table(tetrahedron).centroid_below(level)
    assert centroid == pytest.approx((level / 4.0, level / 4.0, 0.75 * level), rel=1e-12)


# ---------------------------------------------------------- independent polyhedra and splines
@pytest.mark.parametrize("seed", range(40))
def test_a_clipped_tetrahedron_agrees_with_an_intersection_of_halfspaces(seed):
    """A random tetrahedron, tilted by pitch and roll, cut at random levels (scipy, qhull)."""
    chance = np.random.default_rng(seed)
    corners, up = chance.uniform(-1.0, 1.0, (4, 3)) + [20.0, -8.0, 1.0], some_up(chance)
    table = moment_table(corners[None], up)
    bottom, top = table.levels.heights[[0, -1]]
    for part in chance.uniform(0.1, 1.0, 4):
        level = bottom + part * (top - bottom)
        size, centroid = reference(clipped(corners, up, level))
        assert table.levels.volume_below(level) == pytest.approx(size, rel=1e-6)
        assert table.centroid_below(level) == pytest.approx(centroid, abs=1e-6)


@pytest.mark.parametrize("seed", range(10))
def test_a_convex_body_of_many_tetrahedra_agrees_with_its_clipped_hull(seed):
    """Twelve random points, divided by Delaunay's method, against their hull (scipy, qhull)."""
    chance = np.random.default_rng(seed)
    points, up = chance.uniform(0.0, [4.0, 3.0, 1.0], (12, 3)), some_up(chance)
    table = moment_table(points[Delaunay(points).simplices], up)
    bottom, top = table.levels.heights[[0, -1]]
    for part in chance.uniform(0.1, 1.0, 4):
        level = bottom + part * (top - bottom)
        size, centroid = reference(clipped(points, up, level))
        assert table.levels.volume_below(level) == pytest.approx(size, rel=1e-6)
        assert table.centroid_below(level) == pytest.approx(centroid, abs=1e-6)


@pytest.mark.parametrize("heights", [(0, 1, 2.5, 3), (0, 0, 1, 2), (0, 1, 1, 2), (0, 1, 2, 2)])
def test_the_share_of_a_corner_in_the_cut_is_a_cubic_spline(heights):
    """The theorem the table rests on, by scipy's B-spline: knots are the heights, one twice."""
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0]])
    corners[:, 2] = heights
    for index in range(1, 3):  # x is the share of corner 1, y that of corner 2
        knots = np.sort([*heights, heights[index]]).astype(float)
        density = BSpline.basis_element(knots, extrapolate=False)
        scale = 4.0 / (knots[-1] - knots[0])  # integral 1
        size = abs(np.linalg.det(corners[1:] - corners[0])) / 6.0
        table = moment_table(corners[None])
        for level in np.linspace(heights[0], heights[-1], 9)[1:-1]:
            below = density.integrate(knots[0], level) * scale * size / 4.0
            held = table.levels.volume_below(level)
            assert table.centroid_below(level)[index - 1] * held == pytest.approx(below, rel=1e-11)


def test_the_centroid_agrees_with_points_thrown_at_random():
    """A twisted tank of two bays, pitched and rolled: a million points, to three standard errors.

    Points are spread evenly in each tetrahedron by sorted uniform numbers.
    """
    chance = np.random.default_rng(3)
    ribs = [
        UNIT_RIB * s + chance.uniform(-0.1, 0.1, (4, 3)) + [0.3 * s, 3 - 3 * s, 0]
        for s in (1, 0.7, 0.5)
    ]
    tank, up = np.concatenate([bay(a, b) for a, b in itertools.pairwise(ribs)]), some_up(chance)
    sizes = np.abs(np.linalg.det(tank[:, 1:] - tank[:, :1])) / 6.0
    which = chance.choice(len(tank), 1_000_000, p=sizes / sizes.sum())
    cuts = np.sort(chance.random((len(which), 3)), axis=1)
    shares = np.diff(cuts, axis=1, prepend=0.0, append=1.0)
    points = np.einsum("ni,nij->nj", shares, tank[which])
    table = moment_table(tank, up)
    for part in (0.1, 0.5, 0.9):
        level = table.levels.level_of(part * table.levels.capacity)
        below = points[points @ up < level]
        error = below.std(axis=0) / np.sqrt(len(below))
        assert (np.abs(below.mean(axis=0) - table.centroid_below(level)) < 3.5 * error).all()


# ------------------------------------------------------------------------------------------ laws
offsets = st.floats(-0.2, 0.2)
parts = st.floats(0.0, 1.0)
any_tank = settings(max_examples=100, deadline=None)


@st.composite
def tanks(draw):
    """A random bay or two, some with corners of equal height, and an attitude, some level."""
    same = draw(st.booleans())

    def rib(station):
        size = [draw(st.floats(0.5, 4.0)), 1.0, draw(st.floats(0.2, 1.5))]
        moved = [[draw(offsets), 0.0, 0.0 if same else draw(offsets)] for _ in range(4)]
        return (UNIT_RIB + moved) * size + [12.0 + 0.1 * station, station, -1.0]

    ribs = [rib(2.0 * i) for i in range(draw(st.integers(2, 3)))]
    bays = []
    for inner, outer in itertools.pairwise(ribs):
        try:
            bays.append(bay(inner, outer))
        except ValueError:
            bays.append(box(2.0, 3.0, 1.5))
    tilted = draw(st.booleans())
    angles = st.floats(-0.4, 0.4)
    up = up_direction(draw(angles), draw(angles)) if tilted else up_direction()
    return np.concatenate(bays), up


@any_tank
@given(tanks())
def test_a_full_tank_has_the_mean_of_its_tetrahedra(tank):
    """Each tetrahedron's centroid is the mean of its corners, weighted by its size."""
    tetrahedra, up = tank
    sizes = np.abs(np.linalg.det(tetrahedra[:, 1:] - tetrahedra[:, :1]))
    expected = sizes @ tetrahedra.mean(axis=1) / sizes.sum()
    table = moment_table(tetrahedra, up)
    for centroid in (table.centroid_of(table.levels.capacity), table.centroid_below(1e9)):
        assert centroid == pytest.approx(expected, abs=1e-11)


@any_tank
@given(tanks(), parts, st.floats(0.01, 0.2))
def test_more_fuel_moves_the_moment_by_fuel_laid_at_the_surface(tank, part, more):
    """Height along up of what is added lies between the two levels, and so tells dM/dV."""
    tetrahedra, up = tank
    table = moment_table(tetrahedra, up)
    capacity = table.levels.capacity
    low, high = part * capacity, min(part + more, 1.0) * capacity
    if high - low > 1e-3 * capacity:
        below, above = (np.dot(up, table.centroid_of(v)) * v for v in (low, high))
        added = (above - below) / (high - low)
        assert table.levels.level_of(low) - 1e-9 <= added <= table.levels.level_of(high) + 1e-9


@any_tank
@given(tanks(), parts)
def test_the_moment_grows_by_the_centroid_of_the_free_surface(tank, part):
    """The slope dM/dV, by a five-point difference exact for the quartic, is the cut's own centroid.

    The cut is made here from the crossings of the edges, one convex polygon per tetrahedron.
    """
    tetrahedra, up = tank
    table = moment_table(tetrahedra, up)
    heights = table.levels.heights
    level = heights[0] + part * (heights[-1] - heights[0])
    step = 0.4 * min(np.abs(heights - level).min(), 1e-2)
    if step < 1e-4:
        return
    moments = [
        np.array([1.0, *table.centroid_below(z)]) * table.levels.volume_below(z)
        for z in (level + k * step for k in (2, 1, -1, -2))
    ]
    slope = (8.0 * (moments[1] - moments[2]) - (moments[0] - moments[3])) / (12.0 * step)
    assert slope == pytest.approx(surface(tetrahedra, np.array(up), level), rel=1e-7, abs=1e-6)


def surface(tetrahedra, up, level):
    """Area and first moment of a cut: each polygon as a fan of triangles, corners by angle."""
    total = np.zeros(4)
    across = np.linalg.svd(up[None])[2][1:]
    for corners in tetrahedra:
        heights = corners @ up - level
        pairs = [(i, j) for i, j in itertools.combinations(range(4), 2)]
        crossed = [(i, j) for i, j in pairs if heights[i] * heights[j] < 0.0]
        if len(crossed) < 3:
            continue
        share = [heights[i] / (heights[i] - heights[j]) for i, j in crossed]
        points = np.array(
            [
                corners[i] + s * (corners[j] - corners[i])
                for s, (i, j) in zip(share, crossed, strict=True)
            ]
        )
        flat = (points - points.mean(axis=0)) @ across.T
        points = points[np.argsort(np.arctan2(flat[:, 1], flat[:, 0]))]
        for b, c in itertools.pairwise(points[1:]):
            area = np.linalg.norm(np.cross(b - points[0], c - points[0])) / 2.0
            total += area * np.array([1.0, *(points[0] + b + c) / 3.0])
    return total


@any_tank
@given(tanks())
def test_the_centroid_does_not_jump_at_a_corner(tank):
    """Just below and just above each height at which the quartic changes."""
    tetrahedra, up = tank
    table = moment_table(tetrahedra, up)
    for height in table.levels.heights[1:]:
        if table.levels.volume_below(height) > 1e-3:
            below, above = (table.centroid_below(height + s) for s in (-1e-11, 1e-11))
            assert below == pytest.approx(above, abs=1e-7)


@any_tank
@given(tanks(), parts)
def test_the_centroid_lies_among_the_fuel(tank, part):
    """Between the least and the greatest x, y, z of the tank, and below the level."""
    tetrahedra, up = tank
    table = moment_table(tetrahedra, up)
    centroid = np.array(table.centroid_of(part * table.levels.capacity))
    corners = tetrahedra.reshape(-1, 3)
    assert (corners.min(axis=0) - 1e-12 <= centroid).all()
    assert (centroid <= corners.max(axis=0) + 1e-12).all()
    assert centroid @ up <= table.levels.level_of(part * table.levels.capacity) + 1e-11


@any_tank
@given(tanks(), parts)
def test_a_mirrored_tank_has_the_mirrored_centroid(tank, part):
    """The other wing, rolled the other way."""
    tetrahedra, up = tank
    mirror = np.array([1.0, -1.0, 1.0])
    here = moment_table(tetrahedra, up)
    there = moment_table(tetrahedra * mirror, up * mirror)
    volume = part * here.levels.capacity
    if volume > 1e-6:  # less than a millilitre: which of two equal corners is lowest may differ
        assert there.centroid_of(volume) == pytest.approx(here.centroid_of(volume) * mirror)


# ---------------------------------------------------------------------------- degenerate shapes
def test_an_empty_tank_has_the_limit_of_a_trace_of_fuel():
    """Tilted: the lowest corner. Rolled: the middle of the lowest edge. Level: of the floor."""
    tank = box(2.0, 3.0, 1.5)
    tilted = moment_table(tank, up_direction(0.1, 0.1))
    assert tilted.centroid_of(0.0) == pytest.approx((2.0, 3.0, 0.0), abs=1e-15)
    assert tilted.centroid_of(0.0) == pytest.approx(lowest_point(tank, up_direction(0.1, 0.1)))
    assert moment_table(tank, up_direction(roll=0.1)).centroid_of(0.0) == pytest.approx(
        (1.0, 3.0, 0.0)
    )
    assert moment_table(tank).centroid_below(-5.0) == pytest.approx((1.0, 1.5, 0.0))
    for up in (up_direction(0.1, 0.1), up_direction(roll=0.1), up_direction()):
        table = moment_table(tank, up)
        assert table.centroid_of(1e-18) == pytest.approx(table.centroid_of(0.0), abs=1e-5)


@pytest.mark.parametrize("gap", [0.0, 1e-14, 5e-13, 2e-12, 1e-9, 1e-6])
def test_corners_close_together_keep_the_centroid(gap):
    """A floor z = g·x of one metre square: x̄ = 1/2 - g/(12·V), z̄ = (L² - g²/3)/(2·V).

    A rise of less than a picometre counts as none, which a depth of 1 mm shows as 0.1 nm.
    """
    rib = UNIT_RIB + [[0, 0, 0], [0, 0, gap], [0, 0, 0], [0, 0, 0]]
    table = moment_table(bay(rib, rib + [0.0, 1.0, 0.0]))
    for volume in (0.001, 0.5, 0.999):
        level = volume + gap / 2.0
        expected = 0.5 - gap / (12.0 * volume), 0.5, (level**2 - gap**2 / 3.0) / (2.0 * volume)
        assert table.centroid_of(volume) == pytest.approx(expected, abs=1e-10)


def test_a_gap_in_height_between_bays_keeps_the_centroid_of_the_lower():
    """Between two boxes one above the other no level holds more."""
    table = moment_table(np.concatenate([box(1.0, 1.0, 1.0), box(1.0, 1.0, 1.0) + [2, 0, 3.0]]))
    assert table.centroid_below(2.0) == pytest.approx((0.5, 0.5, 0.5))
    assert table.centroid_of(2.0) == pytest.approx((1.5, 0.5, 2.0))


def test_a_tank_without_volume_is_refused():
    """As by the table of levels."""
    with pytest.raises(ValueError, match="solid: volume is 0.0"):
        moment_table(bay(UNIT_RIB, UNIT_RIB))
