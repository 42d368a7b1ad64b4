"""The plan view is to scale, names everything, and can be read without seeing it."""

import re
from itertools import combinations, pairwise
from math import hypot
from pathlib import Path

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.show.plan import outline, plan_marks, plan_table, plan_table_html, plan_view
from fuelkit.show.svg import text_width

_ROOT = Path(__file__).resolve().parents[2]
_ALL = (
    "halbrook-180",
    str(_ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml"),
    str(_ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml"),
)
SVG = "{http://www.w3.org/2000/svg}"


def corners(group):
    """Return the corners of the first closed shape of a group. [px]"""
    path = next(p.get("d") for p in group.iter(f"{SVG}path") if p.get("d").endswith("Z"))
    return [tuple(map(float, pair.split(","))) for pair in re.findall(r"[-\d.]+,[-\d.]+", path)]


@pytest.fixture(scope="module", params=_ALL, ids=["180", "starter", "three engines"])
def aircraft(request):
    """Aircraft unlike each other."""
    return load_aircraft(request.param)


@pytest.fixture(scope="module")
def root(aircraft, parsed):
    """Its plan."""
    return parsed(plan_view(aircraft))


def test_every_tank_is_drawn_to_one_scale_in_both_directions(aircraft, root):
    """Each edge of each outline, in metres and on the drawing: one ratio."""
    groups = {g.get("data-tank"): g for g in root.iter(f"{SVG}g") if g.get("data-tank")}
    assert list(groups) == [tank.name for tank in aircraft.tanks]
    ratios = []
    for tank in aircraft.tanks:
        drawn, true = corners(groups[tank.name]), outline(tank)
        for (a, b), (c, d) in zip(pairwise(drawn), pairwise(true), strict=True):
            ratios.append(hypot(a[0] - b[0], a[1] - b[1]) / hypot(c[0] - d[0], c[1] - d[1]))
    assert max(ratios) == pytest.approx(min(ratios), rel=0.01)


def test_the_scale_bar_is_as_long_as_it_says(aircraft, root):
    """Measured against the span of the outermost tanks."""
    label = next(t for t in root.iter(f"{SVG}text") if re.fullmatch(r"[\d.]+ m", t.text or ""))
    bar = float(label.get("x")) - 10.0 - 40.0
    xs = [x for g in root.iter(f"{SVG}g") if g.get("data-tank") for x, _ in corners(g)]
    span = max(y for t in aircraft.tanks for _, y in outline(t)) * 2.0

    assert bar / float(label.text[:-2]) == pytest.approx((max(xs) - min(xs)) / span, rel=0.01)


def test_right_is_right_and_the_nose_is_up(aircraft, root):
    """A tank at greater y stands further right, one at greater x lower."""
    groups = {g.get("data-tank"): corners(g) for g in root.iter(f"{SVG}g") if g.get("data-tank")}
    for one, other in combinations(aircraft.tanks, 2):
        for axis, drawn in ((1, 0), (0, 1)):
            first = sum(p[axis] for p in outline(one)) / len(outline(one))
            second = sum(p[axis] for p in outline(other)) / len(outline(other))
            a = sum(p[drawn] for p in groups[one.name]) / len(groups[one.name])
            b = sum(p[drawn] for p in groups[other.name]) / len(groups[other.name])
            if abs(first - second) > 0.5:
                assert (first < second) is (a < b)


def test_every_opening_sensor_stick_and_probe_is_numbered_and_named(aircraft, root, words):
    """On the drawing, in its key and in its table."""
    marks, written = plan_marks(aircraft), words(root)
    numbers = [t.text for t in root.iter(f"{SVG}text") if t.get("data-mark")]

    assert numbers == [str(mark.number) for mark in marks]
    assert len(marks) >= len(aircraft.pumps) + len(aircraft.sensors) + len(aircraft.sticks)
    rows = {row[1]: row for row in plan_table(aircraft)}
    for mark in marks:
        assert mark.name in written
        assert rows[str(mark.number)][2] == mark.kind


def test_no_number_covers_another_and_all_stay_on_the_sheet(root):
    """Rings 24 px wide."""
    rings = [t for t in root.iter(f"{SVG}text") if t.get("data-mark")]
    places = [(float(t.get("x")), float(t.get("y"))) for t in rings]
    height = float(root.get("viewBox").split()[3])

    for (a, b), (c, d) in combinations(places, 2):
        assert hypot(a - c, b - d) > 24.0
    assert all(10.0 < x < 1270.0 and 60.0 < y < height for x, y in places)


def test_no_number_covers_a_title(aircraft, root):
    """Every ring stands clear of the words over the tanks."""
    rings = [(float(c.get("cx")), float(c.get("cy"))) for c in root.iter(f"{SVG}circle")
             if c.get("r") == "12"]  # fmt: skip
    grounds = [g for g, t in pairwise(root) if g.get("rx") == "3" and t.tag == f"{SVG}text"]
    boxes = [tuple(float(g.get(k)) for k in ("x", "y", "width", "height")) for g in grounds]

    assert len(boxes) >= len(aircraft.tanks) and rings
    for cx, cy in rings:
        for x, y, width, height in boxes:
            near = min(max(cx, x), x + width), min(max(cy, y), y + height)
            assert hypot(cx - near[0], cy - near[1]) > 12.0


def test_the_key_can_be_read_from_the_back_of_a_room(aircraft, root):
    """On a board 816 px wide, as on a screen of 1280, names are 11 px high, and none is cut off."""
    keyed = {m.name for m in plan_marks(aircraft)}
    names = [t for t in root.iter(f"{SVG}text") if t.text in keyed]
    assert {t.text for t in names} == keyed
    for name in names:
        size = float(name.get("font-size"))
        assert size * 816 / 1280 > 10.8
        assert float(name.get("x")) + text_width(name.text, size=size) < 1272.0


def test_it_can_be_read_without_being_seen(aircraft, root):
    """A title, a description, a name for the image, and a table with headed rows and columns."""
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == root.get("aria-label")
    assert aircraft.tanks[0].title in root.find(f"{SVG}desc").text
    table = plan_table_html(aircraft)
    assert "<caption>" in table and 'scope="col"' in table and 'scope="row"' in table


def test_a_long_bare_fuselage_is_left_out_and_its_length_written(parsed, words):
    """The three-engine example's tail tank stands 15.9 m behind the wing's last corner."""
    example = load_aircraft(_ALL[2])

    assert "15.9 m without tanks left out" in words(parsed(plan_view(example)))
    assert "without tanks" not in words(parsed(plan_view(load_aircraft("halbrook-180"))))
    assert float(parsed(plan_view(example)).get("viewBox").split()[3]) < 1100.0


def test_names_are_shown_as_text_and_never_as_markup(parsed, words):
    """A title with a sharp bracket stays a title."""
    assert "A <b> title" in words(parsed(plan_view(load_aircraft(_ALL[1]), title="A <b> title")))
