"""Marks on the schematic: none on another, on a title, on an engine, or beyond the sheet."""

from itertools import combinations

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.model import Pump, states_of
from fuelkit.flight.failures import Failure
from fuelkit.flight.picture import picture
from fuelkit.show.layers import title_boxes
from fuelkit.show.places import plan
from fuelkit.show.room import Room
from fuelkit.show.schematic import schematic
from fuelkit.show.svg import wrapped
from fuelkit.show.symbols import BOX_HEIGHT, BOX_WIDTH
from fuelkit.show.views import view
from tests.show.conftest import SVG
from tests.show.other_aircraft import flown

REFUELLING, CRUISE = 19400.0, 6000.0  # s
CORNER = 60.0  # px²; a corner that touches covers no letter


def plates(root, *beginnings):
    """Return the grounds of the words that begin so: left, top, right, foot, by the words. [px]"""
    found = []
    for parent in root.iter():
        for ground, words in zip(parent, list(parent)[1:], strict=False):
            said = " ".join("".join(words.itertext()).split())
            is_plate = ground.tag == f"{SVG}rect" and words.tag == f"{SVG}text"
            if is_plate and said.startswith(beginnings):
                x, y, w, h = (float(ground.get(k)) for k in ("x", "y", "width", "height"))
                found.append((said, (x, y, x + w, y + h)))
    return found


def shared(a, b):
    """Return how much two rectangles have in common. [px²]"""
    return Room([a]).covered(b)


def longest_wrong(now, drawn):
    """Return a wrong answer for every pump and every valve above them, the longest there is."""
    parts = [p for p in drawn.parts if isinstance(p, Pump) or p.kind == "valve"]
    parts = [p for p in parts if drawn.places[p.name][1] < 400.0]
    return {
        p.name: max((s for s in states_of(p) if s != now.positions[p.name]), key=len) for p in parts
    }


@pytest.mark.parametrize("time", [CRUISE, REFUELLING])
def test_marks_of_neighbours_stand_apart_and_clear_of_titles(halbrook, flight, parsed, time):
    """With the longest wrong answer at every pump and valve at once: all can be read."""
    now = picture(flight, time)
    drawn = plan(halbrook, now)
    said = longest_wrong(now, drawn)
    found = plates(parsed(schematic(halbrook, now, predicted=said)), "✗ you")

    assert len(found) == len(said)
    boxes = [box for _, box in found]
    assert all(shared(a, b) == 0.0 for a, b in combinations(boxes, 2))
    assert all(shared(a, b) < CORNER for a in boxes for b in title_boxes(drawn))
    assert all(left >= 0.0 and right <= 1280.0 for left, _, right, _ in boxes)


def test_a_mark_at_a_shut_off_valve_is_not_hidden_by_its_engine(parsed):
    """On the aircraft whose engines stand close below their valves."""
    long_range = load_aircraft("halbrook-300")
    history = flown(long_range, "eastmere-sable-cay", (), 400.0)
    now = view(history, 390.0)
    drawn = plan(long_range, now)
    valves = [line.name for line in drawn.lines if line.name.endswith("shut-off valve")]
    root = parsed(schematic(long_range, now, predicted={v: now.positions[v] for v in valves}))
    engines = [drawn.places[c.name] for c in long_range.consumers]
    for _, box in plates(root, "✓ agrees"):
        for x, y in engines:
            half, tall = BOX_WIDTH / 2, BOX_HEIGHT / 2
            assert shared(box, (x - half, y - tall, x + half, y + tall)) == 0.0


def test_what_is_asked_of_every_overflow_stays_on_the_sheet(halbrook, flight, parsed):
    """While fuel is taken in: within the edges, and on no title."""
    now = picture(flight, REFUELLING)
    names = tuple(p.name for p in halbrook.overflows)
    found = plates(parsed(schematic(halbrook, now, asked=names)), "overflow, then RUNNING")

    assert len(found) == len(names)
    titles = title_boxes(plan(halbrook, now))
    for _, box in found:
        assert box[0] >= 0.0 and box[2] <= 1280.0
        assert all(shared(box, title) < CORNER for title in titles)


def test_the_word_for_a_blocked_vent_covers_no_other_word(halbrook, parsed):
    """Over a full outboard cell that runs over, where its sensor has its words."""
    failed = (Failure(1600.0, "right outboard", "blocked"),)
    history = flown(halbrook, "eastmere-port-ellery", failed, 2600.0)
    root = parsed(schematic(halbrook, view(history, 2500.0, truth=True)))
    (_, vent), *_ = plates(root, "vent blocked")
    others = plates(root, "high-level", "overflow")

    assert len(others) > 3
    assert all(shared(vent, box) == 0.0 for _, box in others)


def test_the_coupling_valve_says_its_state_clear_of_its_neighbour(
    halbrook, flight, parsed, part_of
):
    """Both words lie within the sheet, and neither can be taken for the other's."""
    now = picture(flight, REFUELLING)
    root = parsed(schematic(halbrook, now))
    place = plan(halbrook, now).places
    for name in ("coupling valve", "right outboard refuel valve"):
        word = next(t for t in part_of(root, name).iter(f"{SVG}text"))
        x, at = float(word.get("x")), word.get("text-anchor")
        middle = x + {"start": 25.0, "middle": 0.0, "end": -25.0}[at]
        other = "right outboard refuel valve" if name == "coupling valve" else "coupling valve"
        assert abs(middle - place[name][0]) < abs(middle - place[other][0])
        assert x + 90.0 * {"start": 1.0, "middle": 0.5, "end": 0.0}[at] < 1280.0


def test_a_number_is_never_broken_over_two_lines():
    """Thousands stay with what they are thousands of, and with their unit."""
    assert wrapped("misreading: shows 3 065 kg", 100.0) == ["misreading:", "shows", "3 065 kg"]
    assert wrapped("feed 2 switch auto", 50.0) == ["feed 2", "switch", "auto"]
