"""The schematic: sound SVG, true to the computed moment, silent about what is asked."""

import re

import pytest

from fuelkit.aircraft.model import Pump
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import mass_text
from fuelkit.show.places import parts_of_network, plan
from fuelkit.show.routes import EMPTY, FLOWING, PRESSED, UNKNOWN, routes
from fuelkit.show.schematic import DrawingError, schematic
from fuelkit.show.words import answers_to, told
from tests.show.conftest import SVG
from tests.show.other_aircraft import made_up, short_sector

MOMENTS = (0.0, 300.0, 1281.0, 1500.0, 2000.0, 2700.0, 4950.0, 6000.0, 10100.0, 16726.0, 16760.0,
           18200.0, 19400.0, 20999.0)  # fmt: skip


@pytest.fixture(params=MOMENTS)
def moment(request, flight):
    """Moments with every kind of state in them."""
    return picture(flight, request.param)


def test_it_is_an_image_with_a_name_and_a_safety_line(halbrook, moment, parsed, words):
    """Well-formed, labelled, 1280 wide, and it says what it must not be used for."""
    root = parsed(schematic(halbrook, moment, title="At the stand"))

    assert root.tag == f"{SVG}svg"
    assert (root.get("role"), root.get("viewBox")) == ("img", "0 0 1280 720")
    assert "At the stand" in root.get("aria-label")
    assert "Training aid, not for operational use" in words(root)


def test_each_tank_shows_its_mass_and_level(halbrook, moment, parsed, part_of, words):
    """Mass in words, fill to the level of the picture."""
    root = parsed(schematic(halbrook, moment))
    shapes = plan(halbrook, moment).shapes
    for tank in halbrook.tanks:
        group = part_of(root, tank.name)
        assert mass_text(moment.masses[tank.name]) in words(group)
        fuel = [p for p in group.iter(f"{SVG}path") if p.get("data-level")]
        if moment.masses[tank.name] > 1.0:
            expected = shapes[tank.name].y(moment.levels[tank.name])
            assert float(fuel[0].get("data-level")) == pytest.approx(expected, abs=0.01)


def test_each_pump_and_valve_says_its_state_in_words(halbrook, moment, parsed, part_of, words):
    """The state stands beside the symbol as a word, whatever the colour."""
    root = parsed(schematic(halbrook, moment))
    drawn = [*halbrook.pumps, *(p for p in plan(halbrook, moment).lines if p.kind == "valve")]
    for part in drawn:
        group = part_of(root, part.name)
        assert moment.positions[part.name] in re.sub(r"\s+", " ", words(group)), part.name


def test_each_engine_says_what_it_is_fed_from(halbrook, flight, parsed, part_of, words):
    """Found from the pressures, shown in plain words."""
    root = parsed(schematic(halbrook, picture(flight, 10100.0)))

    text = re.sub(r"\s+", " ", words(part_of(root, "engine 1")))
    assert text == "Engine 1 FED FROM LEFT INBOARD"
    assert words(part_of(root, "APU")).endswith("OFF")


def test_two_feeding_tanks_are_both_named_with_their_shares(halbrook, flight):
    """A consumer fed from two tanks at once says how much comes from each."""
    from dataclasses import replace

    now = picture(flight, 6000.0)
    mixed = replace(now, feeding=now.feeding | {"engine 1": {"centre": 0.6, "left inboard": 0.4}})

    drawing = schematic(halbrook, mixed)

    assert "CENTRE 60 %" in drawing
    assert "LEFT INBOARD 40 %" in drawing


def test_lines_flow_where_fuel_flows(halbrook, flight):
    """What flows along each junction's bar is what comes in less what goes out."""
    now = picture(flight, 1500.0)
    runs, _ = routes(plan(halbrook, now), now)
    by_state = {state: [r for r in runs if r.state == state] for state in (FLOWING, PRESSED, EMPTY)}

    assert by_state[PRESSED]
    assert not any(run.state == UNKNOWN for run in runs)
    x, y = plan(halbrook, now).places["left inboard forward pump"]
    standing = next(r for r in by_state[PRESSED] if (x, y) in r.points)
    assert len(standing.points) == 2
    x, y = plan(halbrook, now).places["left centre pump"]
    assert next(r for r in by_state[FLOWING] if r.points[-1] == (x, y)).points[0][1] < y


def test_no_line_is_fuller_than_what_feeds_it(halbrook, moment):
    """On every junction drawn, as much flows out of its bar as into it."""
    drawing_plan = plan(halbrook, moment)
    for junction in halbrook.junctions:
        consumer = drawing_plan.consumer_at(junction.name)
        into = sum(
            moment.flows.get(p.name, 0.0) * ((p.end == junction.name) - (p.start == junction.name))
            for p in drawing_plan.parts
        )
        if consumer is None:
            assert into == pytest.approx(0.0, abs=1e-6), junction.name
        else:
            burns = moment.positions[consumer.name] == "RUN"
            assert (into > 1e-6) == burns, junction.name


def test_refuelling_lines_are_drawn_only_while_they_are_awake(halbrook, flight, parsed, part_of):
    """In flight they are left out; while a refuel valve is open they are there."""
    flying = parsed(schematic(halbrook, picture(flight, 6000.0)))
    refuelling = parsed(schematic(halbrook, picture(flight, 19400.0)))

    assert part_of(flying, "centre refuel valve") is None
    assert part_of(refuelling, "centre refuel valve").get("data-state") == "OPEN"
    assert part_of(refuelling, halbrook.coupling) is not None


def test_hot_return_and_overflow_are_drawn_while_they_run(halbrook, flight, parsed, part_of):
    """Nothing of them before the engines run."""
    before = parsed(schematic(halbrook, picture(flight, 300.0)))
    after = parsed(schematic(halbrook, picture(flight, 1500.0)))
    for name in ("engine 1 hot return", "left outboard overflow"):
        assert part_of(before, name) is None
        assert part_of(after, name) is not None


def test_the_crew_is_told_in_plain_words(halbrook, flight, parsed, words):
    """A caution stands on the drawing with its level as a word."""
    name = "Left centre pump has no pressure"
    shown = next(c.time for c in flight.changes_of(name) if c.after == "SHOWN")
    text = words(parsed(schematic(halbrook, picture(flight, shown + 1.0))))

    assert "CAUTION" in text
    assert name in re.sub(r"\s+", " ", text)


# ------------------------------------------------------------------------------- while predicting
HIDDEN = ("left centre pump", "right centre pump", "engine 1", "left transfer valve", "centre")


def test_what_is_hidden_is_a_question_with_every_answer_alike(halbrook, moment, parsed):
    """Every state of an asked part is in the drawing, and only the question is shown."""
    root = parsed(schematic(halbrook, moment, hidden=HIDDEN))
    groups = {g.get("data-component"): g for g in root.iter(f"{SVG}g") if g.get("data-component")}

    assert set(groups) == set(HIDDEN)
    for group in groups.values():
        variants = {g.get("data-variant"): g for g in group if g.get("data-variant")}
        assert [v for v, g in variants.items() if g.get("display") != "none"] == ["?"]
    pump = {g.get("data-variant") for g in groups["left centre pump"] if g.get("data-variant")}
    assert pump == {"?", "*", *halbrook.states_of("left centre pump")}


@pytest.mark.parametrize("name", ["left centre pump", "right inboard aft pump"])
def test_a_drawing_does_not_tell_a_hidden_state(halbrook, flight, name):
    """Three pictures that differ only in what is hidden give one and the same drawing."""
    from dataclasses import replace

    now = picture(flight, 6000.0)
    shapes = set()
    for state in halbrook.states_of(name):
        for share in (0.0, 0.5):
            flows = {n: q * share for n, q in now.flows.items()}
            other = replace(
                now,
                positions=now.positions | {name: state, "Centre tank in use": "OUT"},
                flows=flows | {"left transfer valve": 0.0, "right transfer valve": 0.0},
                pressures={n: p * share for n, p in now.pressures.items()},
                feeding=now.feeding | {"engine 1": {"left inboard": 1.0}},
            )
            shapes.add(schematic(halbrook, other, hidden=(name, "left centre pump")))

    assert len(shapes) == 1


def test_alerts_that_would_tell_are_held_back_shown_or_not(halbrook, flight):
    """What looks at a hidden part is not told, and that something is held back is said."""
    for time in (6000.0, 300.0, 10100.0):
        shown, held = told(
            halbrook, picture(flight, time), ("left centre pump", "right centre pump")
        )
        assert held
        assert not any("entre" in alert.name for alert in shown)


def test_hidden_reaches_all_that_hangs_together_and_no_further(halbrook):
    """A centre pump tells about the whole feed network, not about a transfer valve."""
    reached = parts_of_network(halbrook, ("left centre pump",))

    assert {"engine 1", "engine 2", "APU", "crossfeed valve", "right centre pump"} <= reached
    assert "left transfer valve" not in reached
    assert parts_of_network(halbrook, ("left transfer valve",)) == {"left transfer valve"}


def test_what_is_asked_about_later_shows_its_state_now_and_a_mark_to_set(halbrook, flight, parsed,
                                                                       part_of):  # fmt: skip
    """The present is shown; the mark holds every state alike."""
    now = picture(flight, _runs_at(flight, "left centre pump"))
    root = parsed(schematic(halbrook, now, asked=("left centre pump", "engine 1 hot return")))
    groups = {g.get("data-component"): g for g in root.iter(f"{SVG}g") if g.get("data-component")}

    assert part_of(root, "left centre pump").get("data-state") == "RUN"
    assert set(groups) == {"left centre pump", "engine 1 hot return"}
    marks = {v.get("data-variant") for v in groups["left centre pump"] if v.get("data-variant")}
    assert marks == {"?", "*", "OFF", "RUN", "LOW PRESS", "FAIL"}


def _runs_at(flight, pump):
    """A moment at which a pump has just begun to run."""
    return next(c.time for c in flight.changes_of(pump) if c.after == "RUN") + 1.0


def test_a_prediction_is_marked_in_words(halbrook, flight, words, parsed):
    """Right and wrong with a sign and a word, never by colour alone."""
    said = {"left centre pump": "OFF", "right centre pump": "RUN", "engine 2": "centre"}
    text = words(parsed(schematic(halbrook, picture(flight, 6000.0), predicted=said)))

    assert "✗ you: OFF" in text
    assert text.count("✓ agrees") == 2


def test_answers_to_an_engine_are_its_state_or_its_tank(halbrook, flight):
    """By name or by title, in any case."""
    now = picture(flight, 6000.0)

    assert answers_to(halbrook, now, "engine 1") == {"run", "centre", "centre tank"}
    assert answers_to(halbrook, now, "left centre pump") == {"run"}


def test_an_unknown_part_is_refused_with_a_hint(halbrook, flight):
    """A misspelt name is told, with the nearest known one."""
    with pytest.raises(DrawingError, match="no such part. Did you mean 'left centre pump'"):
        schematic(halbrook, picture(flight, 0.0), hidden=("left center pump",))


# ------------------------------------------------------------------------------ other aircraft
@pytest.mark.parametrize(
    ("engines", "more"),
    [(1, {"middle_tank": True}), (2, {}), (3, {}), (4, {"apu": True})],
)
def test_any_aircraft_is_drawn(engines, more, parsed, part_of, words):
    """One to four engines, with and without an APU, with and without a tank in the middle."""
    aircraft = made_up(engines, **more)
    now = picture(fly(aircraft, short_sector(aircraft)), 300.0)
    root = parsed(schematic(aircraft, now))

    for consumer in aircraft.consumers:
        assert "FED FROM" in words(part_of(root, consumer.name))
    for part in aircraft.by_name.values():
        if isinstance(part, Pump):
            assert part_of(root, part.name).get("data-state") == "RUN"
    assert "Halbrook" not in words(root)
