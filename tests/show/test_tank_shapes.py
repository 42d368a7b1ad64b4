"""Tank shapes: the true front view, one scale, filled to the true level."""

import pytest

from fuelkit.flight.picture import picture
from fuelkit.show.tank_shapes import below, hatching, silhouette, tank_shapes
from tests.show.other_aircraft import made_up, many_tanks


def test_a_silhouette_is_the_front_view_of_the_ribs(halbrook):
    """Lowest bottom and highest top of both spars at each rib."""
    outline = silhouette(halbrook.tank("centre"))

    assert [p for p in outline if p[0] == 0.0] == [(0.0, -1.29), (0.0, -0.24)]
    assert (-1.95, -1.26) in outline


def test_all_tanks_have_one_scale_and_stand_in_order(halbrook):
    """One scale across and one upward; from left to right as in the aircraft."""
    shapes = tank_shapes(halbrook)

    assert len({(s.across, s.upward) for s in shapes.values()}) == 1
    ordered = sorted(shapes.values(), key=lambda s: s.left)
    assert all(a.right < b.left for a, b in zip(ordered, ordered[1:], strict=False))
    assert ordered[0].left == pytest.approx(40.0)
    assert ordered[-1].right == pytest.approx(1240.0)


@pytest.mark.parametrize("time", [0.0, 6000.0, 16760.0, 19400.0])
def test_fill_reaches_exactly_to_the_level(halbrook, flight, time):
    """The top of the fuel on the drawing, turned back into metres, is the computed level."""
    shapes, now = tank_shapes(halbrook), picture(flight, time)
    for name, shape in shapes.items():
        fuel = shape.filled(now.levels[name])
        if now.masses[name] > 1.0:
            top = min(y for _, y in fuel)
            assert (shape.origin[1] - top) / shape.upward == pytest.approx(now.levels[name])
            assert max(y for _, y in fuel) == pytest.approx(max(y for _, y in shape.outline))


def test_a_level_below_the_bottom_fills_nothing_and_one_above_the_top_all(halbrook):
    """The limits: an empty and a full tank."""
    shape = tank_shapes(halbrook)["left inboard"]

    assert shape.filled(-5.0) == []
    assert len(shape.filled(5.0)) == len(shape.outline)


def test_below_cuts_a_square_in_half():
    """Half a square, its corners in order."""
    square = [(0, 0), (10, 0), (10, 10), (0, 10)]

    assert below(square, 5.0) == [(10.0, 5.0), (10, 10), (0, 10), (0.0, 5.0)]


def test_hatching_stays_inside():
    """Both ends of each line lie on the edge of the shape."""
    for (x0, y0), (x1, y1) in hatching([(0, 0), (40, 10), (40, 60), (0, 30)]):
        for x, y in ((x0, y0), (x1, y1)):
            assert -1e-9 <= x <= 40 + 1e-9
            assert 0.25 * x - 1e-9 <= y <= 30 + 0.75 * x + 1e-9


def test_a_tank_behind_another_gets_a_row_of_its_own(halbrook):
    """Tanks that overlap in the front view are not drawn on top of each other."""

    class Both:
        tanks = (halbrook.tank("centre"), made_up(1, middle_tank=True).tanks[0])

    centre, middle = tank_shapes(Both).values()

    assert max(y for _, y in middle.outline) < min(y for _, y in centre.outline)
    assert centre.across == middle.across


def test_heights_are_never_smaller_than_widths():
    """A short tank is not stretched sideways to fill the page."""
    (shape,) = tank_shapes(made_up(1, middle_tank=True)).values()

    assert shape.across <= shape.upward


def test_many_tanks_do_not_stand_on_each_other():
    """Twelve tanks, four of them one behind the other: each has its own place, inside the frame."""
    boxes = [
        (s.left, min(y for _, y in s.outline), s.right, max(y for _, y in s.outline))
        for s in tank_shapes(many_tanks()).values()
    ]

    assert len(boxes) == 12
    for i, (left, top, right, foot) in enumerate(boxes):
        assert 40.0 - 1e-6 <= left < right <= 1240.0 + 1e-6
        assert 104.0 <= top < foot <= 300.0 + 1e-6
        for other in boxes[i + 1 :]:
            assert right < other[0] or other[2] < left or foot < other[1] or other[3] < top
