"""Parts that the course's own aircraft lacks: jet pumps, flap valves, fillers, overboard."""

import re
from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.picture import picture
from fuelkit.show.layers import title_boxes, title_places
from fuelkit.show.places import plan
from fuelkit.show.room import Room, words_box
from fuelkit.show.routes import FLOWING, routes, suction_points
from fuelkit.show.schematic import schematic, schematic_table
from fuelkit.show.svg import text_width
from fuelkit.show.words import flow_text
from tests.figures.fleet import STARTER
from tests.show.other_aircraft import flown, many_tanks


@pytest.fixture(scope="module")
def turboprop():
    """A flight with jet pumps, up to its climb."""
    aircraft = load_aircraft("halbrook-40")
    return flown(aircraft, "eastmere-tarn-hollow", (), 2500.0)


@pytest.fixture(scope="module")
def long_haul():
    """A flight on which fuel is jettisoned, up to then."""
    return flown(load_aircraft("halbrook-300"), "karn-ness-return", (), 5100.0)


def rows_of(aircraft, now):
    return {row[0].casefold(): row for row in schematic_table(aircraft, now)}


def jet_pumps(aircraft):
    return [line for line in aircraft.lines if line.kind == "jet pump"]


def test_a_jet_pump_is_drawn_with_what_it_moves(turboprop, parsed, part_of, words):
    """RUN while fuel drives it, with its suction from the tank; its row says how much it moves."""
    aircraft, now = turboprop.aircraft, picture(turboprop, 2400.0)
    root, rows = parsed(schematic(aircraft, now)), rows_of(aircraft, now)
    drawn = plan(aircraft, now)
    flowing = [run.points for run in routes(drawn, now)[0] if run.state == FLOWING]

    assert jet_pumps(aircraft)
    for jet in jet_pumps(aircraft):
        assert now.flows[jet.name] > 0.0
        assert "RUN" in words(part_of(root, jet.name))
        kg_h = now.flows[jet.name] * jet.flow_ratio * 3600.0
        assert f"{kg_h:,.0f} kg/h".replace(",", " ") in rows[jet.name][3]
        assert tuple(suction_points(drawn, jet)) in flowing


def test_a_jet_pump_without_drive_or_suction_says_so(turboprop, parsed, part_of, words):
    """OFF, and NO SUCTION while its inlet is dry."""
    aircraft, now = turboprop.aircraft, picture(turboprop, 2400.0)
    jet = jet_pumps(aircraft)[0]
    still = replace(now, flows=now.flows | {jet.name: 0.0})
    dry = replace(now, positions=now.positions | {f"{jet.name} suction": "DRY"})

    assert "OFF" in words(part_of(parsed(schematic(aircraft, still)), jet.name))
    said = words(part_of(parsed(schematic(aircraft, dry)), jet.name))
    assert "NO SUCTION" in " ".join(said.split())
    assert rows_of(aircraft, dry)[jet.name][2] == "NO SUCTION"


def test_an_aircraft_without_refuelling_coupling_is_drawn(turboprop, parsed, words):
    """All its check valves between tanks too, each with its state."""
    aircraft, now = turboprop.aircraft, picture(turboprop, 2400.0)
    assert aircraft.coupling == ""
    rows = rows_of(aircraft, now)
    flaps = [x for x in aircraft.lines if x.kind == "check valve" and "flap" in x.name]

    assert flaps
    for flap in flaps:
        assert rows[flap.name][2] in ("OPEN", "SHUT")
    assert parsed(schematic(aircraft, now)) is not None


def test_a_filler_is_drawn_while_it_is_open(turboprop, parsed, part_of, words):
    """With what is filled in; shut, it is left out of the drawing and stands in the table."""
    aircraft, now = turboprop.aircraft, picture(turboprop, 2400.0)
    filler = aircraft.fillers[0]
    opened = replace(now, positions=now.positions | {filler.name: "OPEN"})

    assert part_of(parsed(schematic(aircraft, now)), filler.name) is None
    said = re.sub(r"\s+", " ", words(part_of(parsed(schematic(aircraft, opened)), filler.name)))
    assert said.startswith("filler OPEN") and "kg/h" in said
    assert rows_of(aircraft, now)[filler.name][2] == "SHUT"
    assert rows_of(aircraft, opened)[filler.name][2] == "OPEN"


def test_what_runs_overboard_is_drawn_and_told(long_haul, parsed, part_of, words):
    """STILL before the jettison, RUNNING with its flow during it."""
    aircraft = long_haul.aircraft
    opened = next(c.time for c in long_haul.changes_of("left jettison valve") if c.after == "OPEN")
    for time, state in ((600.0, "STILL"), (opened + 60.0, "RUNNING")):
        now = picture(long_haul, time)
        root, rows = parsed(schematic(aircraft, now)), rows_of(aircraft, now)
        assert aircraft.outlets
        for outlet in aircraft.outlets:
            assert state in words(part_of(root, outlet.name))
            assert rows[outlet.name][1:3] == ("opening overboard", state)
            assert ("kg/h" in rows[outlet.name][3]) == (state == "RUNNING")


def test_hidden_parts_hide_jet_pumps_and_outlets_too(turboprop, long_haul):
    """What hangs together with a hidden part is not told by them."""
    aircraft = turboprop.aircraft
    jet = jet_pumps(aircraft)[0]
    pump = next(p for p in aircraft.pumps if "left" in p.name)
    rows = schematic_table(aircraft, picture(turboprop, 2400.0), (pump.name,))
    assert next(row for row in rows if row[0].casefold() == jet.name)[2] == "?"

    aircraft = long_haul.aircraft
    rows = schematic_table(aircraft, picture(long_haul, 5000.0), ("left jettison valve",))
    outlet = next(line.end for line in aircraft.lines if line.name == "left jettison valve")
    assert next(row for row in rows if row[0].casefold() == outlet)[2] == "?"


@pytest.mark.parametrize("name", ["halbrook-40", "halbrook-180", "halbrook-300", "many"])
def test_titles_of_tanks_stand_clear_of_each_other(name, halbrook, flight):
    """No title covers another, however many tanks there are, and none leaves the drawing."""
    aircraft = many_tanks() if name == "many" else load_aircraft(name)
    drawn = plan(aircraft, picture(flight, 6000.0)) if name == "halbrook-180" else _asleep(aircraft)
    room = Room()
    for tank, (lines, foot, middle) in title_places(drawn).items():
        half = 0.5 * max(text_width(line, size=15, bold=True) for line in lines)
        box = (middle - half, foot - 12.0, middle + half, foot + 17.0 * (len(lines) - 1) + 3.0)
        assert room.covered(box) == 0.0, tank
        assert box[0] >= 0.0 and box[2] <= 1280.0 and box[1] >= 56.0
        room.take(box)


def test_no_title_stands_under_a_refuelling_line(halbrook, flight):
    """While fuel comes in, each line runs into its tank clear of every title."""
    now = picture(flight, 6000.0)
    valves = {v.name: "OPEN" for v in halbrook.valves if v.group == "refuelling"}
    drawn = plan(halbrook, replace(now, positions=now.positions | valves))
    lines = [line for line in drawn.lines if line.name in valves and drawn.is_tank(line.end)]
    assert len(lines) == len([v for v in valves if "refuel valve" in v]) > 2
    for line in lines:
        x, y = drawn.places[line.name]
        foot = drawn.shapes[line.end].top(x)
        assert Room(title_boxes(drawn)).covered((x - 2.0, y, x + 2.0, foot)) == 0.0, line.name


@pytest.mark.parametrize("name", ["halbrook-40", "starter"])
def test_no_title_stands_under_a_filler_and_its_words(name):
    """What a filler says of itself, its flow included, covers no title."""
    aircraft = load_aircraft(STARTER if name == "starter" else name)
    drawn = _asleep(aircraft)
    assert aircraft.fillers
    for filler in aircraft.fillers:
        x, y = drawn.places[filler.name]
        width = text_width(flow_text(filler.flow))
        words = (x + 18.0, y - 24.0, x + 18.0 + width, y + 28.0)
        assert Room(title_boxes(drawn)).covered(words) == 0.0, filler.name


def _asleep(aircraft):
    """The plan of an aircraft in which nothing runs."""

    class Nothing:
        flows, positions = {}, {}

    return plan(aircraft, Nothing)


def test_words_find_the_free_place():
    """The nearest place that is not taken; if all are, the least covered."""
    room = Room([(0.0, 0.0, 10.0, 10.0)])

    assert (
        room.best([(0.0, (5.0, 5.0, 8.0, 8.0), "taken"), (3.0, (20.0, 0, 25.0, 9.0), "free")])
        == "free"
    )
    assert room.covered((20.0, 0.0, 25.0, 9.0)) == 45.0
    assert words_box(10.0, 20.0, "mm", size=10, anchor="start")[0] == 7.0
