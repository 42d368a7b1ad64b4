"""Volume below a plane: closed forms, independent polyhedra of scipy (qhull), and laws."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, Delaunay, HalfspaceIntersection

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.solid import (
    bay,
    least_expansion_space,
    least_sump,
    level_table,
    lowest_point,
    unusable_volume,
    volume,
)
from fuelkit.physics.units import LITRE, US_GALLON

UNIT_RIB = np.array([[0.0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]])


def box(length, span, height):
    """Bay of a box with one corner at the origin."""
    rib = UNIT_RIB * [length, 1.0, height]
    return bay(rib, rib + [0.0, span, 0.0])


def wedge(length, span, height):
    """Bay whose section is a triangle: wide at the bottom, an edge at the top."""
    rib = np.array([[0.0, 0, 0], [length, 0, 0], [0, 0, height], [0, 0, height]])
    return bay(rib, rib + [0.0, span, 0.0])


def frustum(base, top, height):
    """Bay stood on end: a rectangle at the bottom, another above it as its outer rib."""
    square = np.array([[-0.5, -0.5, 0], [0.5, -0.5, 0], [0.5, 0.5, 0], [-0.5, 0.5, 0]])
    return bay(square * [*base, 0.0], square * [*top, 0.0] + [0.0, 0.0, height])


# --------------------------------------------------------------------------------- closed forms
@pytest.mark.parametrize("level", [-1.0, 0.0, 0.3, 0.75, 1.5, 2.0])
def test_a_box_fills_in_proportion_to_its_height(level):
    """Length × span × level, nothing below the floor, no more than the box above the roof."""
    table = level_table(box(2.0, 3.0, 1.5))
    assert table.volume_below(level) == pytest.approx(6.0 * min(max(level, 0.0), 1.5), rel=1e-13)
    assert table.capacity == pytest.approx(9.0) == volume(box(2.0, 3.0, 1.5))


@pytest.mark.parametrize("level", [0.01, 0.2, 0.5, 0.99])
def test_a_wedge_fills_by_its_triangle(level):
    """A triangle cut at z from its base of width w: w·z - w·z²/(2h), times the span."""
    table = level_table(wedge(2.0, 3.0, 1.0))
    assert table.volume_below(level) == pytest.approx(3.0 * (2.0 * level - level**2), rel=1e-13)


@pytest.mark.parametrize("level", [1e-3, 0.2, 0.5, 0.999])
def test_a_pyramid_leaves_the_cube_of_its_rest(level):
    """Apex up: V·(1 - (1 - z/h)³). Apex down: V·(z/h)³."""
    upright = level_table(frustum((2.0, 3.0), (0.0, 0.0), 1.0))
    assert upright.capacity == pytest.approx(2.0)
    assert upright.volume_below(level) == pytest.approx(2.0 * (1.0 - (1.0 - level) ** 3))
    inverted = level_table(frustum((0.0, 0.0), (2.0, 3.0), 1.0))
    assert inverted.volume_below(level) == pytest.approx(2.0 * level**3, rel=1e-11)


@pytest.mark.parametrize("top", [(1.0, 0.5), (2.0, 0.1), (5.0, 4.0)])
@pytest.mark.parametrize("level", [0.1, 0.8, 1.6])
def test_a_frustum_obeys_the_prismatoid_formula(top, level):
    """h/6·(A0 + 4·A½ + A1), exact for any prismatoid, here for the part below the level."""
    base, height = (2.0, 3.0), 1.6

    def area(z):
        return np.prod([b + (t - b) * z / height for b, t in zip(base, top, strict=True)])

    expected = level / 6.0 * (area(0.0) + 4.0 * area(level / 2.0) + area(level))
    table = level_table(frustum(base, top, height))
    assert table.volume_below(level) == pytest.approx(expected, rel=1e-12)
    assert table.area_at(0.999 * level) == pytest.approx(area(0.999 * level), rel=1e-11)


@pytest.mark.parametrize("up", [(0.3, 0.2, 0.9), (0.05, 0.4, 1.0), (1.0, 1.0, 1.0)])
def test_a_tilted_box_first_fills_one_corner(up):
    """Up to the second corner the fuel is a tetrahedron: h³/(6·nx·ny·nz)."""
    normal = np.array(up) / np.linalg.norm(up)
    height = 0.9 * (normal * [2.0, 3.0, 1.5]).min()
    table = level_table(box(2.0, 3.0, 1.5), up)
    assert table.volume_below(height) == pytest.approx(height**3 / (6.0 * normal.prod()))


def test_a_box_tilted_about_its_span_leans_its_surface():
    """At half full the surface passes through the middle of the box, whatever the tilt."""
    for slope in (0.0, 0.02, -0.1, 0.7):
        up = np.array([slope, 0.0, 1.0])
        level = level_table(box(2.0, 3.0, 1.5), up).level_of(4.5)
        assert level == pytest.approx(np.array([1.0, 1.5, 0.75]) @ up / np.linalg.norm(up))


# ---------------------------------------------------------------- independent polyhedra (qhull)
def clipped_by_halfspaces(points, normal, level):
    """Volume of a convex body below a plane: scipy's HalfspaceIntersection of all its faces."""
    faces = np.vstack([ConvexHull(points).equations, [*normal, -level]])
    norms = np.linalg.norm(faces[:, :-1], axis=1)
    roomiest = linprog(
        [0.0, 0.0, 0.0, -1.0],
        A_ub=np.column_stack([faces[:, :-1], norms]),
        b_ub=-faces[:, -1],
        bounds=[(None, None)] * 3 + [(0.0, None)],
    )
    corners = HalfspaceIntersection(faces, roomiest.x[:3]).intersections
    return ConvexHull(corners).volume


def clipped_piecewise(tetrahedra, normal, level):
    """Volume below a plane: the convex hull of what is left of each tetrahedron, summed."""
    total = 0.0
    for corners in tetrahedra:
        heights = corners @ normal - level
        kept = [c for c, h in zip(corners, heights, strict=True) if h <= 0.0]
        for i, j in itertools.combinations(range(4), 2):
            if heights[i] * heights[j] < 0.0:
                part = heights[i] / (heights[i] - heights[j])
                kept.append(corners[i] + part * (corners[j] - corners[i]))
        if len(kept) >= 4:
            total += ConvexHull(np.array(kept), qhull_options="QJ Pp").volume
    return total


def tapered(chance):
    """Ribs of a random bay with flat skins: a scaled quadrilateral, turned and sheared."""
    rib = UNIT_RIB + [[a, 0.0, b] for a, b in chance.uniform(-0.25, 0.25, (4, 2))]
    apex = np.array([chance.uniform(-1, 2), chance.uniform(2, 6), chance.uniform(-1, 2)])
    outer = rib + chance.uniform(0.2, 0.45) * (apex - rib)
    shear = np.eye(3) + chance.uniform(-0.3, 0.3, (3, 3))
    return rib @ shear * [3.0, 1.0, 0.8], outer @ shear * [3.0, 1.0, 0.8]


def some_normal(chance):
    """A random unit vector that points up."""
    normal = np.array([*chance.uniform(-0.3, 0.3, 2), 1.0])
    return normal / np.linalg.norm(normal)


@pytest.mark.parametrize("seed", range(40))
def test_a_tapered_bay_agrees_with_an_intersection_of_halfspaces(seed):
    """The whole bay as one convex body, cut by a tilted plane (scipy, qhull)."""
    chance = np.random.default_rng(seed)
    inner, outer = tapered(chance)
    normal = some_normal(chance)
    table = level_table(bay(inner, outer), normal)
    points = np.vstack([inner, outer])
    assert table.capacity == pytest.approx(ConvexHull(points).volume, rel=1e-9)
    for part in chance.uniform(0.02, 0.98, 4):
        level = table.heights[0] + part * (table.heights[-1] - table.heights[0])
        expected = clipped_by_halfspaces(points, normal, level)
        assert table.volume_below(level) == pytest.approx(expected, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_a_twisted_bay_agrees_with_the_hulls_of_its_clipped_pieces(seed):
    """Skins that are not flat: each tetrahedron is clipped by itself (scipy, qhull)."""
    chance = np.random.default_rng(seed)
    inner = UNIT_RIB + chance.uniform(-0.15, 0.15, (4, 3))
    outer = UNIT_RIB + [0.4, 2.0, 0.3] + chance.uniform(-0.15, 0.15, (4, 3))
    tetrahedra, normal = bay(inner, outer), some_normal(chance)
    table = level_table(tetrahedra, normal)
    for level in chance.uniform(table.heights[0], table.heights[-1], 4):
        expected = clipped_piecewise(tetrahedra, normal, level)
        assert table.volume_below(level) == pytest.approx(expected, rel=1e-6, abs=1e-7)


def test_the_tetrahedra_of_a_twisted_bay_fill_its_skin():
    """Their volume is that inside the twelve triangles of the skin (divergence theorem)."""
    chance = np.random.default_rng(5)
    corners = np.vstack([UNIT_RIB, UNIT_RIB + [0.4, 2.0, 0.3]]) + chance.uniform(-0.2, 0.2, (8, 3))
    # Each face as a loop that starts at the corner its crease leaves from, seen from outside.
    loops = [(0, 1, 2, 3), (6, 5, 4, 7), (0, 4, 5, 1), (6, 2, 1, 5), (6, 7, 3, 2), (0, 3, 7, 4)]
    triangles = [(a, b, c) for a, b, c, _ in loops] + [(a, c, d) for a, _, c, d in loops]
    inside = sum(np.linalg.det(corners[list(t)]) for t in triangles) / 6.0
    assert volume(bay(corners[:4], corners[4:])) == pytest.approx(abs(inside), rel=1e-12)


def below_by_its_skin(tetrahedra, up, level):
    """Volume below a plane out of the skin alone, by the divergence theorem.

    The field (z - level, cut off above the level)·up has divergence 1 below the level and 0 above.
    """
    faces = {}
    for corners in tetrahedra:
        for skipped in range(4):
            face = np.delete(corners, skipped, axis=0)
            faces.setdefault(tuple(sorted(map(tuple, face))), []).append((face, corners[skipped]))
    total = 0.0
    for (face, inside), *others in faces.values():
        if others:
            continue  # shared by two tetrahedra
        normal = np.cross(face[1] - face[0], face[2] - face[0])
        normal = normal if normal @ (face[0] - inside) > 0.0 else -normal
        depths = level - face @ up
        total -= mean_of_the_positive_part(depths) * 0.5 * normal @ up
    return total


def mean_of_the_positive_part(values):
    """Mean over a triangle of max(0, f), f linear with these values at its corners."""
    low, middle, high = np.sort(values)
    if high <= 0.0 or low >= 0.0:
        return max(0.0, (low + middle + high) / 3.0)
    if middle <= 0.0:
        return high**3 / ((high - low) * (high - middle)) / 3.0
    # f + max(0, -f), and -f is positive only near the corner of the lowest value.
    return (low + middle + high) / 3.0 - low**3 / ((middle - low) * (high - low)) / 3.0


@pytest.mark.parametrize("seed", range(10))
def test_any_mesh_agrees_with_the_volume_inside_its_skin(seed):
    """Tetrahedra of random points, a third of them taken out so that holes and hollows are left.

    Pitched and rolled; the reference never looks inside (divergence theorem).
    """
    chance = np.random.default_rng(seed)
    points = chance.uniform(0.0, [4.0, 3.0, 1.0], (20, 3))
    mesh = points[Delaunay(points).simplices]
    mesh = mesh[chance.random(len(mesh)) < 0.67]
    up = np.array(up_direction(*chance.uniform(-0.6, 0.6, 2)))
    table = level_table(mesh, up)
    assert table.up == pytest.approx(tuple(up), abs=1e-15)
    for part in np.append(chance.uniform(0.02, 0.98, 6), 1.0):
        level = table.heights[0] + part * (table.heights[-1] - table.heights[0])
        expected = below_by_its_skin(mesh, up, level)
        assert table.volume_below(level) == pytest.approx(expected, rel=1e-10, abs=1e-11)


# ------------------------------------------------------------------------ laws of any bay, tilt
offsets = st.floats(-0.2, 0.2)
slopes = st.floats(-0.6, 0.6)


@st.composite
def tanks(draw):
    """One to three random bays, twisted or not, end to end, and a tilted up direction."""
    same = draw(st.booleans())  # several corners of equal height

    def rib(station):
        size = [draw(st.floats(0.5, 4.0)), 1.0, draw(st.floats(0.2, 1.5))]
        moved = [[draw(offsets), 0.0, 0.0 if same else draw(offsets)] for _ in range(4)]
        return (UNIT_RIB + moved) * size + [0.1 * station, station, 0.0]

    ribs = [rib(2.0 * i) for i in range(draw(st.integers(2, 4)))]
    bays = [
        bay(inner, outer) for inner, outer in itertools.pairwise(ribs) if is_sound(inner, outer)
    ]
    up = draw(st.sampled_from([(0.0, 0.0), None])) or (draw(slopes), draw(slopes))
    return bays or [box(2.0, 3.0, 1.5)], (*up, 1.0)


def is_sound(inner, outer):
    """Whether two ribs make a bay at all."""
    try:
        bay(inner, outer)
    except ValueError:
        return False
    return True


any_tank = settings(max_examples=100, deadline=None)
parts = st.floats(0.0, 1.0)


@any_tank
@given(tanks(), parts)
def test_a_level_gives_back_its_volume(tank, part):
    """Volume to level to volume, to rounding error of the capacity."""
    bays, up = tank
    table = level_table(np.concatenate(bays), up)
    wanted = part * table.capacity
    assert table.volume_below(table.level_of(wanted)) == pytest.approx(
        wanted, rel=1e-11, abs=1e-14 * table.capacity
    )


@any_tank
@given(tanks(), parts)
def test_a_volume_gives_back_its_level(tank, part):
    """Level to volume to level, as sharply as the surface there allows."""
    bays, up = tank
    table = level_table(np.concatenate(bays), up)
    level = table.heights[0] + part * (table.heights[-1] - table.heights[0])
    back = table.level_of(table.volume_below(level))
    surface = min(table.area_at(level), table.area_at(back))
    if surface > 1e-3:
        assert back == pytest.approx(level, abs=1e-12 * table.capacity / surface + 1e-13)


@any_tank
@given(tanks(), parts)
def test_bays_add_up(tank, part):
    """A tank of several bays holds what its bays hold, at every level."""
    bays, up = tank
    table = level_table(np.concatenate(bays), up)
    level = table.heights[0] + part * (table.heights[-1] - table.heights[0])
    each = [level_table(one, up) for one in bays]
    assert table.capacity == pytest.approx(sum(volume(one) for one in bays), rel=1e-11)
    assert table.volume_below(level) == pytest.approx(
        sum(one.volume_below(level) for one in each), rel=1e-10, abs=1e-12
    )
    if np.abs(table.heights - level).min() > 1e-9:  # at a flat face the surface jumps
        surface = sum(one.area_at(level) for one in each)
        assert table.area_at(level) == pytest.approx(surface, rel=1e-6, abs=1e-9)


@any_tank
@given(tanks(), parts)
def test_a_mirrored_tank_holds_the_same(tank, part):
    """The right wing, given as the mirrored ribs of the left, rolls the other way."""
    bays, up = tank
    mirror = np.array([1.0, -1.0, 1.0])
    left = level_table(np.concatenate(bays), up)
    right = level_table(np.concatenate(bays) * mirror, np.array(up) * mirror)
    level = left.heights[0] + part * (left.heights[-1] - left.heights[0])
    assert right.volume_below(level) == pytest.approx(left.volume_below(level), rel=1e-10)


def test_mirrored_ribs_make_the_mirrored_bay():
    """`bay` itself divides mirrored ribs into the mirrored tetrahedra, turned skins and all."""
    chance = np.random.default_rng(2)
    inner = UNIT_RIB + chance.uniform(-0.15, 0.15, (4, 3))
    outer = UNIT_RIB + [0.4, 2.0, 0.3] + chance.uniform(-0.15, 0.15, (4, 3))
    mirror = np.array([1.0, -1.0, 1.0])
    assert np.array_equal(bay(inner * mirror, outer * mirror), bay(inner, outer) * mirror)


@any_tank
@given(tanks(), parts)
def test_the_surface_is_the_slope_of_volume_over_level(tank, part):
    """A five-point difference, exact for a cubic, of the volume between two corners' heights."""
    bays, up = tank
    table = level_table(np.concatenate(bays), up)
    level = table.heights[0] + part * (table.heights[-1] - table.heights[0])
    step = 0.4 * min(np.abs(table.heights - level).min(), 1e-2)
    if step > 1e-5:
        two, one, less, least = (table.volume_below(level + k * step) for k in (2, 1, -1, -2))
        slope = (8.0 * (one - less) - (two - least)) / (12.0 * step)
        assert table.area_at(level) == pytest.approx(slope, rel=1e-8, abs=1e-8)


@any_tank
@given(tanks(), parts, parts)
def test_more_level_is_never_less_fuel(tank, one, other):
    """Volume rises with level, level with volume, and both stay inside the tank."""
    bays, up = tank
    table = level_table(np.concatenate(bays), up)
    low, high = sorted((one, other))
    bottom, height = table.heights[0], table.heights[-1] - table.heights[0]
    below = [table.volume_below(bottom + part * height) for part in (low, high)]
    assert 0.0 <= below[0] <= below[1] + 1e-12 and below[1] <= table.capacity
    levels = [table.level_of(part * table.capacity) for part in (low, high)]
    assert bottom <= levels[0] <= levels[1] + 1e-12 and levels[1] <= table.heights[-1]


@any_tank
@given(tanks(), st.floats(0.0, 6.28), parts)
def test_turning_the_tank_and_up_together_changes_nothing(tank, angle, part):
    """Volume depends on the tank's attitude to up, not on the axes."""
    bays, up = tank
    sine, cosine = np.sin(angle), np.cos(angle)
    turn = np.array([[cosine, 0.0, sine], [0.0, 1.0, 0.0], [-sine, 0.0, cosine]])
    here = level_table(np.concatenate(bays), up)
    there = level_table(np.concatenate(bays) @ turn.T, turn @ up)
    level = here.heights[0] + part * (here.heights[-1] - here.heights[0])
    assert there.volume_below(level) == pytest.approx(
        here.volume_below(level), abs=1e-12 * here.capacity
    )


# ---------------------------------------------------------------------------- degenerate shapes
def test_flat_faces_begin_and_end_the_surface_at_once():
    """A box has its whole surface from its floor to just below its roof, and none outside."""
    table = level_table(box(2.0, 3.0, 1.5))
    assert list(table.heights) == [0.0, 1.5]
    assert [table.area_at(z) for z in (0.0, 0.7, 1.4999)] == pytest.approx([6.0] * 3)
    assert [table.area_at(z) for z in (-0.1, 1.5, 2.0)] == [0.0] * 3


def test_a_step_in_height_between_flat_bays_is_followed():
    """Two boxes, floors at 0 and 1: 6 m² of surface below the step, 12 m² above it."""
    table = level_table(np.concatenate([box(2.0, 3.0, 2.0), box(2.0, 3.0, 1.0) + [0, 3.0, 1.0]]))
    assert [table.area_at(z) for z in (0.5, 1.0, 1.5)] == pytest.approx([6.0, 12.0, 12.0])
    assert table.volume_below(1.5) == pytest.approx(6.0 * 1.5 + 6.0 * 0.5)
    assert table.level_of(12.0) == pytest.approx(1.5)


def test_a_gap_in_height_between_bays_is_crossed():
    """Between two boxes one above the other no level holds more, and the upper one fills next."""
    table = level_table(np.concatenate([box(1.0, 1.0, 1.0), box(1.0, 1.0, 1.0) + [0, 0, 3.0]]))
    assert table.volume_below(2.0) == pytest.approx(1.0) and table.area_at(2.0) == 0.0
    assert table.level_of(0.5) == pytest.approx(0.5) and table.level_of(1.5) == pytest.approx(3.5)


def test_corners_a_hair_apart_count_as_one():
    """A floor that is flat but for rounding is flat."""
    rib = UNIT_RIB + [[0, 0, 0], [0, 0, 1e-14], [0, 0, -1e-14], [0, 0, 0]]
    table = level_table(bay(rib, UNIT_RIB + [0.0, 1.0, 0.0]))
    assert len(table.heights) == 2
    assert table.level_of(0.25) == pytest.approx(0.25) and table.capacity == pytest.approx(1.0)


@pytest.mark.parametrize("gap", [2e-12, 1e-9, 1e-6, 1e-3])
def test_corners_close_together_keep_the_volume_exact(gap):
    """A floor that rises by picometres still fills as it should."""
    rib = UNIT_RIB + [[0, 0, 0], [0, 0, gap], [0, 0, 0], [0, 0, 0]]
    table = level_table(bay(rib, rib + [0.0, 1.0, 0.0]))
    assert table.volume_below(0.5) == pytest.approx(0.5 - gap / 2.0, rel=1e-13)


def test_empty_and_full_have_the_lowest_and_highest_level():
    """Volumes outside the tank are clipped to its ends."""
    table = level_table(wedge(2.0, 3.0, 1.0))
    assert [table.level_of(v) for v in (-1.0, 0.0, 3.0, 4.0)] == [0.0, 0.0, 1.0, 1.0]


def test_a_trace_of_fuel_in_a_pointed_tank_has_its_exact_level():
    """One cubic millimetre in an inverted pyramid of 2 m³: the cube root, to eleven digits."""
    table = level_table(frustum((0.0, 0.0), (2.0, 3.0), 1.0))
    for held in (1e-9, 1e-6, 1e-3):
        assert table.level_of(held) == pytest.approx((held / 2.0) ** (1.0 / 3.0), rel=1e-11)


# ------------------------------------------------------------------- what an opening leaves behind
def test_the_lowest_point_follows_the_attitude():
    """Nose up it is at the back, right wing down at the right."""
    tank = box(2.0, 3.0, 1.5)
    assert lowest_point(tank, up_direction(0.1, 0.1)).tolist() == [2.0, 3.0, 0.0]
    assert lowest_point(tank, up_direction(-0.1, -0.1)).tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("pitch", [0.0, 0.05, 0.1, -0.1])
def test_fuel_below_an_opening_is_unusable(pitch):
    """Box, opening 0.2 m up in the middle: 0.2 m × 6 m², whatever the pitch, by its trapezium."""
    left = unusable_volume(box(2.0, 3.0, 1.5), (1.0, 1.5, 0.2), [up_direction(pitch)])
    assert left == pytest.approx(1.2, rel=1e-12)


def test_the_most_adverse_attitude_sets_the_unusable_volume():
    """14 CFR 25.959. Opening at the rear floor: nose down by θ leaves a wedge, l²·tan θ/2·span."""
    tank, rear = box(2.0, 3.0, 1.5), (2.0, 1.5, 0.0)
    ups = [up_direction(pitch) for pitch in (0.1, 0.0, -0.05, -0.2)]
    expected = 2.0**2 * np.tan(0.2) / 2.0 * 3.0
    assert unusable_volume(tank, rear, ups) == pytest.approx(expected, rel=1e-12)
    assert unusable_volume(tank, rear, ups[:2]) == pytest.approx(0.0, abs=1e-15)


def test_unusable_fuel_needs_an_attitude():
    """The message says why."""
    with pytest.raises(ValueError, match="list of attitudes is empty.*at least one"):
        unusable_volume(box(1.0, 1.0, 1.0), (0.5, 0.5, 0.0), [])


def test_the_limits_of_the_sump_cross_at_62_and_a_half_gallons():
    """14 CFR 25.971: 1/16 US gal is 0.10 % of 62.5 US gal; below the first counts, above the other.

    1/16 US gal is 0.2366 L (exact gallon of NIST Handbook 44, appendix C).
    """
    crossing = 62.5 * US_GALLON
    assert 0.001 * crossing == pytest.approx(US_GALLON / 16.0, rel=1e-15)
    for capacity in (0.1 * crossing, 0.5 * crossing, crossing):
        assert least_sump(capacity) == pytest.approx(0.2365882365 * LITRE, rel=1e-12)
    assert least_sump(2.0 * crossing) == pytest.approx(2.0 * least_sump(crossing))


def test_the_expansion_space_is_two_per_cent():
    """14 CFR 25.969."""
    assert least_expansion_space(12.5) == pytest.approx(0.25)


# ------------------------------------------------------------------------------------ bad input
def test_crossed_or_disordered_ribs_are_refused():
    """The message gives the order that is wanted."""
    disordered = UNIT_RIB[[1, 0, 2, 3]] + [0.0, 1.0, 0.0]
    with pytest.raises(ValueError, match="bay: the two ribs cross.*front bottom, rear bottom"):
        bay(UNIT_RIB, disordered)
    crossing = UNIT_RIB + [[0, -1.0, 0], [0, 1.0, 0], [0, 1.0, 0], [0, -1.0, 0]]
    with pytest.raises(ValueError, match="bay: the two ribs cross"):
        bay(UNIT_RIB, crossing)


@pytest.mark.parametrize("rib", [UNIT_RIB[:3], UNIT_RIB[:, :2], UNIT_RIB * np.nan])
def test_a_rib_that_is_not_four_points_is_refused(rib):
    """The message names the rib."""
    with pytest.raises(ValueError, match="bay: outer rib is .*four points of three numbers"):
        bay(UNIT_RIB, rib)


def test_a_tank_without_volume_is_refused():
    """Ribs that coincide hold nothing."""
    with pytest.raises(ValueError, match="solid: volume is 0.0; .*apart and not flat"):
        level_table(bay(UNIT_RIB, UNIT_RIB))


@pytest.mark.parametrize("up", [(0, 0, 0), (0, 0, np.nan), (0, 0, np.inf), (0, 1)])
def test_an_up_without_a_direction_is_refused(up):
    """Three finite numbers, not all zero."""
    with pytest.raises(ValueError, match="solid: up is .*three numbers that point somewhere"):
        level_table(box(1.0, 1.0, 1.0), up)
