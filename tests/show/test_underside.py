"""The aircraft from below: mirrored, to scale, every item marked alike, and readable unseen."""

import re
from dataclasses import replace
from itertools import combinations, pairwise
from math import hypot
from pathlib import Path
from types import SimpleNamespace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.walk_around import KINDS, item_places
from fuelkit.assess.walk_around import DECISIONS, stations, walk
from fuelkit.show import palette
from fuelkit.show.plan import outline
from fuelkit.show.stand_views import stand_drawing
from fuelkit.show.svg import text_width
from fuelkit.show.underside import underside, underside_table, underside_table_html
from fuelkit.show.underside_marks import mark_symbol

_ROOT = Path(__file__).resolve().parents[2]
_STARTER = str(_ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml")
_NO_WALK = str(_ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(
    scope="module",
    params=["halbrook-40", "halbrook-180", "halbrook-300", _STARTER],
    ids=["40", "180", "300", "starter"],
)
def aircraft(request):
    """Each aircraft of the kit."""
    return load_aircraft(request.param)


@pytest.fixture(scope="module")
def root(aircraft, parsed):
    """Its underside, without sights."""
    return parsed(underside(aircraft))


def told(root, attribute):
    """Return the texts that carry an attribute, as (its value, x, y), in order."""
    return [
        (t.get(attribute), float(t.get("x")), float(t.get("y")))
        for t in root.iter(f"{SVG}text") if t.get(attribute)
    ]  # fmt: skip


def corners(path):
    """Return the corners of a path. [px]"""
    return [tuple(map(float, p.split(","))) for p in re.findall(r"[-\d.]+,[-\d.]+", path)]


def tanks_of(root):
    """Return the corners of each tank. [px]"""
    return {p.get("data-tank"): corners(p.get("d")) for p in root.iter(f"{SVG}path")
            if p.get("data-tank")}  # fmt: skip


def boxes(root):
    """Return (words, left, top, right, foot) of every line of text, by the kit's letter widths."""
    found = []
    for t in root.iter(f"{SVG}text"):
        size, bold = float(t.get("font-size")), t.get("font-weight") == "700"
        x, y = float(t.get("x")), float(t.get("y"))
        for line in [t.text, *(s.text for s in t if s.get("dy"))]:
            y += 0.0 if line is t.text else 16.0
            width = text_width(line, size=size, bold=bold)
            left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[t.get("text-anchor")] * width
            found.append((line, left, y - 0.72 * size, left + width, y + 0.2 * size))
    return found


def test_tanks_are_to_one_scale_in_both_directions(aircraft, root):
    """Each edge of each tank, in metres and on the drawing: one ratio."""
    ratios, drawn = [], tanks_of(root)
    assert list(drawn) == [tank.name for tank in aircraft.tanks]
    for tank in aircraft.tanks:
        for (a, b), (c, d) in zip(pairwise(drawn[tank.name]), pairwise(outline(tank)), strict=True):
            ratios.append(hypot(a[0] - b[0], a[1] - b[1]) / hypot(c[0] - d[0], c[1] - d[1]))
    assert max(ratios) == pytest.approx(min(ratios), rel=0.01)


def test_left_is_on_the_right_and_the_nose_is_up(aircraft, root, words):
    """As seen from below: a tank at smaller y stands further right, one at greater x lower."""
    drawn = tanks_of(root)
    for one, other in combinations(aircraft.tanks, 2):
        (x0, y0), (x1, y1) = (outline(tank)[0] for tank in (one, other))
        (a0, b0), (a1, b1) = drawn[one.name][0], drawn[other.name][0]
        assert (y0 < y1) is (a0 > a1) or y0 == y1
        assert (x0 < x1) is (b0 < b1) or x0 == x1
    assert "seen from below" in words(root)
    texts = {t.text: float(t.get("x")) for t in root.iter(f"{SVG}text")}
    assert texts["left wing"] > texts["nose"] > texts["right wing"]


def test_each_item_is_labelled_at_each_of_its_places_and_on_its_side(aircraft, root):
    """As many labels as places, near them, the left ones on the right."""
    labels = [label for _, of in stations(aircraft) for label in of]
    wanted = [
        (label, place)
        for label, places in zip(labels, item_places(aircraft), strict=True) for place in places
    ]  # fmt: skip
    found = told(root, "data-item")
    assert [label for label, _, _ in found] == [label for label, _ in wanted]
    middle = next(float(t.get("x")) for t in root.iter(f"{SVG}text") if t.text == "nose")
    for (_, x, _), (_, (_, y)) in zip(found, wanted, strict=True):
        if abs(y) > 2.5:
            assert (x > middle) is (y < 0.0)


def test_stations_are_numbered_in_walking_order_and_the_way_leads_through_them(aircraft, root):
    """The discs on the drawing, then the same in the key, and a dashed line from disc to disc."""
    count = len(stations(aircraft))
    discs = told(root, "data-station")
    numbers = [int(number) for number, _, _ in discs]
    assert numbers == [*range(1, count + 1)] * 2
    way = next(p for p in root.iter(f"{SVG}path") if p.get("stroke-dasharray") == "7 5")
    for (x, y), (_, a, b) in zip(corners(way.get("d")), discs[:count], strict=True):
        assert x == pytest.approx(a, abs=0.1) and y == pytest.approx(b - 5.2, abs=0.1)
    for (_, a, b), (_, c, d) in combinations(discs[:count], 2):
        assert hypot(a - c, b - d) > 25.0


def test_no_mark_tells_what_is_found_at_it(aircraft, parsed):
    """Marks, labels and stations of two walks are the same; only the key's words are not."""

    def marks(draw):
        whole = underside(aircraft, walk(aircraft, draw))
        return parsed(whole), re.findall(r"<g data-kind.*?</g>", whole), whole

    (one, first, text_one), (other, second, text_other) = marks(1), marks(2)
    assert text_one != text_other
    shapes = [re.sub(r"[-\d.]+,[-\d.]+|c[xy]=\"[-\d.]+\"", "", shape) for shape in first]
    assert shapes == [re.sub(r"[-\d.]+,[-\d.]+|c[xy]=\"[-\d.]+\"", "", shape) for shape in second]
    assert told(one, "data-item") == told(other, "data-item")


def test_what_is_seen_is_written_and_what_is_right_is_not(aircraft, parsed, words):
    """No decision and no reason before the learner has decided."""
    sights = walk(aircraft, 4)
    written = words(parsed(underside(aircraft, sights)))
    for sight in sights:
        assert f"{sight.item[1:]}: {sight.sees}" in re.sub(r"\s+", " ", written)
        assert sight.is_normal or sight.reason not in written
    for decision in DECISIONS:
        assert decision not in written


def test_a_decision_is_a_word_beside_its_item_and_marks_stay_alike(aircraft, parsed):
    """Whatever is decided, right or wrong."""
    sights = walk(aircraft, 4)
    decided = {s.label: DECISIONS[i % 3] for i, s in enumerate(sights)}
    root = parsed(underside(aircraft, sights, decided=decided))
    found = {t.get("data-decided"): t.text for t in root.iter(f"{SVG}text")
             if t.get("data-decided")}  # fmt: skip
    assert found == decided
    plain = parsed(underside(aircraft, sights))
    assert told(root, "data-item") == told(plain, "data-item")


def test_a_decision_that_is_none_is_refused(aircraft):
    """With the value and what would be right."""
    with pytest.raises(ValueError, match="'1a' is decided as 'fly'; it must be go on or"):
        underside(aircraft, decided={"1a": "fly"})
    with pytest.raises(ValueError, match="'99z' is decided; the items are 1a"):
        underside(aircraft, decided={"99z": "go on"})


def test_each_kind_has_a_shape_of_its_own():
    """Told apart without colour."""
    shapes = {re.sub(r' data-kind="[^"]*"', "", mark_symbol(kind, 0.0, 0.0)) for kind in KINDS}
    assert len(shapes) == len(KINDS)


@pytest.mark.parametrize("draw", [None, 1, 2, 7])
def test_words_are_inside_apart_and_large_enough(aircraft, parsed, draw):
    """With and without sights and decisions, by the widths of letters that the kit reckons with."""
    sights = () if draw is None else walk(aircraft, draw)
    decided = {s.label: s.decision for s in sights} if draw == 7 else None
    root = parsed(underside(aircraft, sights, decided=decided))
    height = float(root.get("viewBox").split()[3])
    assert 720.0 <= height <= (1000.0 if decided else 900.0)
    assert min(float(t.get("font-size")) for t in root.iter(f"{SVG}text")) >= 15.0
    found = boxes(root)
    for words, left, top, right, foot in found:
        assert left >= 0.0 and right <= 1280.0 and top >= 0.0 and foot <= height, words
    for (one, a0, b0, a1, b1), (other, c0, d0, c1, d1) in combinations(found, 2):
        across, down = min(a1, c1) - max(a0, c0), min(b1, d1) - max(b0, d0)
        assert across <= 1.0 or down <= 1.0, (one, other)


def test_only_colours_of_the_palette_are_used(aircraft):
    """So that a dark theme can change every one."""
    known = {value for name, value in vars(palette).items()
             if name.isupper() and isinstance(value, str) and value.startswith("#")}  # fmt: skip
    used = set(re.findall(r"#[0-9a-fA-F]{6}", underside(aircraft, walk(aircraft, 1))))
    assert used and used <= known


def test_it_can_be_read_without_being_seen(aircraft, root):
    """A title, a description that names the stations, and a table with headed rows and columns."""
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == root.get("aria-label")
    for name, _ in stations(aircraft):
        assert name in root.find(f"{SVG}desc").text
    table = underside_table_html(aircraft)
    assert "<caption>" in table and 'scope="col"' in table and 'scope="row"' in table


def test_the_table_says_the_same_as_the_drawing(aircraft):
    """An item a row: its number, station, what is right, where; what is seen and decided."""
    sights = walk(aircraft, 1)
    rows = underside_table(aircraft, sights, {"1a": "go on"})
    assert [row[1] for row in rows] == [sight.label for sight in sights]
    for row, sight in zip(rows, sights, strict=True):
        assert row[2:4] == (sight.station, sight.look_for)
        assert row[5:] == (sight.sees, "go on" if sight.label == "1a" else "not decided")
        side = " left" if sight.at[1] < -0.05 else " right" if sight.at[1] > 0.05 else "the middle"
        assert side in row[4]
    assert underside_table_html(aircraft, sights, decided={"1a": "go on"}).count("<th scope") == (
        7 + len(rows)
    )


def test_an_aircraft_without_a_walk_around_is_drawn_and_says_so(parsed, words):
    """An instructor's file need not have one."""
    root = parsed(underside(load_aircraft(_NO_WALK)))
    assert "has no walk-around" in words(root)
    assert len(tanks_of(root)) > 2 and told(root, "data-station") == []


def test_names_are_shown_as_text_and_never_as_markup(parsed, words):
    """A sharp bracket in a title, a station or an item stays one."""
    aircraft = load_aircraft(_STARTER)
    entry = replace(aircraft.walk_around[0], station="a <b> wing", item="a <i> valve")
    changed = replace(aircraft, walk_around=(entry, *aircraft.walk_around[1:]))
    written = words(parsed(underside(changed, title="A <b> title")))
    for words_of in ("A <b> title", "A <b> wing", "A <i> valve"):
        assert words_of in written


def test_a_committed_walk_is_headed_as_what_the_learner_decided(aircraft, parsed, words):
    """Its words are the learner's, right or wrong; nothing says that the aircraft did them."""
    if not aircraft.walk_around:
        pytest.skip("no walk-around")
    board = SimpleNamespace(scene="walk-around", draw=4, name="walk")
    sights = walk(aircraft, 4)
    given = {f"walk-{s.label}": DECISIONS[0] for s in sights}
    before = words(parsed(stand_drawing(aircraft, board, title="What you see now")))
    after = words(parsed(stand_drawing(aircraft, board, title="The computed flight", given=given)))

    assert "What you see now" in before and "What you decided" not in before
    assert "What you decided" in after and "The computed flight" not in after
