"""Every sheet of the catalogue, drawn for every aircraft: what all of them promise.

The crossover of the sump's two limits (62.5 US gal, 14 CFR 25.971) is tested with the solids, in
tests/physics/test_solid.py.
"""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

import fuelkit
from fuelkit.figures.catalogue import SHEETS, draw_sheet, left_out, sheets_for
from fuelkit.figures.inputs import TRAINING_AID
from fuelkit.figures.quantities import FigureError, read_figure, written
from fuelkit.figures.stand import StickRead, stand_sheet
from tests.figures.fleet import FLEET, STARTER, aircraft

CASES = [(name, own) for own in FLEET for name in sheets_for(aircraft(own))]
DRAWS = range(6)
each_sheet = pytest.mark.parametrize(
    "name, own", CASES, ids=[f"{name}, {Path(own).stem}" for name, own in CASES]
)


@each_sheet
def test_the_same_number_gives_the_same_sheet_and_another_another(name, own):
    """Practice can be repeated, and does not run out."""
    first, again = (draw_sheet(name, aircraft(own), 4) for _ in range(2))
    assert first.worked() == again.worked()
    figures = [str(draw_sheet(name, aircraft(own), draw).givens) for draw in DRAWS]
    assert len(set(figures)) == len(figures)


@each_sheet
def test_what_is_given_is_what_is_written(name, own):
    """No digit that is not shown is worked with: each given reads back as itself."""
    for draw in DRAWS:
        for given in draw_sheet(name, aircraft(own), draw).givens:
            if given.unit:
                read = read_figure(str(given), given.unit)
                assert read == pytest.approx(given.value, rel=1e-9, abs=1e-9), given


@each_sheet
def test_a_pencil_agrees_with_the_sheet(name, own):
    """Each step rounded as it is written, the next worked from that: all within tolerance."""
    for draw in DRAWS:
        sheet = draw_sheet(name, aircraft(own), draw)
        exact, pencil = sheet.worked(), {}
        for step in sheet.steps:
            value = sheet.worked(instead=pencil)[step.name]
            if not step.options:
                value = read_figure(written(value, step.unit), step.unit)
            pencil[step.name] = value
            assert step.agrees(value, exact[step.name]), (draw, step.name, value)


@each_sheet
def test_every_slip_can_be_told(name, own):
    """A slip gives something else than right work, beyond the tolerance, and says what it is."""
    for draw in DRAWS:
        sheet = draw_sheet(name, aircraft(own), draw)
        values = sheet.worked()
        for step in sheet.steps:
            assert len({slip.name for slip in step.slips}) == len(step.slips)
            for slip in step.slips:
                got = slip.work(*(values[given] for given in step.inputs))
                assert not step.agrees(got, values[step.name]), (draw, step.name, slip.name)
                assert slip.sentence.endswith(".")


@each_sheet
def test_every_answer_to_a_decision_comes_up(name, own):
    """Whoever always ticks the same box is sometimes wrong."""
    seen, options = {}, {}
    for draw in range(60):
        sheet = draw_sheet(name, aircraft(own), draw)
        values = sheet.worked()
        for step in sheet.steps:
            if step.options:
                options[step.name] = set(step.options)
                seen.setdefault(step.name, set()).add(values[step.name])
    assert seen == options


@each_sheet
def test_a_sheet_says_what_it_is(name, own):
    """Title of the catalogue, caution, formula in words, a tolerance, objectives that exist."""
    sheet = draw_sheet(name, aircraft(own), 0)
    assert (sheet.name, sheet.title) == (name, SHEETS[name].title)
    assert sheet.cautions[0] == TRAINING_AID and sheet.sources
    assert set(sheet.objectives) <= objectives() and sheet.objectives
    assert sum(step.marks for step in sheet.steps) >= 5.0
    for step in sheet.steps:
        assert step.words and step.label
        assert step.options or step.tolerance > 0.0 or step.relative > 0.0


def objectives():
    """Names of the course's objectives."""
    file = Path(fuelkit.__file__).parent / "assess" / "data" / "objectives.toml"
    return {row["name"] for row in tomllib.loads(file.read_text(encoding="utf-8"))["objectives"]}


def test_what_an_aircraft_lacks_is_left_out_and_said():
    """Only the 300 has nozzles; the one to begin from has neither sticks nor counters."""
    assert [own for own in FLEET if "jettison" in sheets_for(aircraft(own))] == ["halbrook-300"]
    assert set(left_out(aircraft(STARTER))) >= {"stand", "in-flight", "leak", "after-flight"}
    for own in FLEET:
        for name, sentence in left_out(aircraft(own)).items():
            assert name not in sheets_for(aircraft(own))
            with pytest.raises(FigureError, match=re.escape(sentence)):
                draw_sheet(name, aircraft(own), 0)
            with pytest.raises(FigureError, match=re.escape(sentence)):
                SHEETS[name].draw(aircraft(own), 0)


def changed(name):
    """An aircraft that someone might describe, and the sheet that it cannot have, or can."""
    h180, h300 = aircraft("halbrook-180"), aircraft("halbrook-300")
    counter = replace(h180.counters[0], name="APU fuel used", consumer="APU")
    centre_only = tuple(tank for tank in h180.tanks if tank.name == "centre")
    hungry = tuple(replace(c, least_pressure=95_000.0) for c in h180.consumers)
    return {
        "an APU counter only": replace(h180, counters=(counter,)),
        "an APU counter too": replace(h180, counters=(*h180.counters, counter)),
        "a centre tank only": replace(h180, tanks=centre_only, loading_order=(("centre",),)),
        "no pumps": replace(h300, pumps=()),
        "no masses": replace(h300, masses=None),
        "an engine that needs much": replace(h180, consumers=hungry),
        "short sticks": replace(
            h180, sticks=tuple(replace(stick, length=0.015) for stick in h180.sticks)
        ),
    }[name]


@pytest.mark.parametrize(
    "name, sheet, told",
    [
        ("an APU counter only", "in-flight", "counters of the engines are missing"),
        ("a centre tank only", "distribution", "no tanks on both sides"),
        ("no pumps", "jettison", "no pump delivers to its outlets"),
        ("no masses", "jettison", "masses is missing"),
    ],
)
def test_an_odd_aircraft_is_told_what_it_lacks(name, sheet, told):
    """A sentence, not a search for a situation that cannot be."""
    assert told in left_out(changed(name))[sheet]


@pytest.mark.parametrize(
    "name, sheet",
    [
        ("an APU counter too", "in-flight"), ("an APU counter too", "after-flight"),
        ("an engine that needs much", "gravity-feed"), ("no masses", "distribution"),
    ],
)  # fmt: skip
def test_an_odd_aircraft_gets_the_sheets_that_it_can_have(name, sheet):
    """Counters of engines only are asked; a need that no air could meet is replaced."""
    found = draw_sheet(sheet, changed(name), 2)
    assert sum(given.name.startswith("used ") for given in found.givens) in (0, 2)
    assert found.worked()


def test_a_stick_shorter_than_a_row_of_its_table_is_read():
    """Two centimetres are the rows of a stick table; this one is one and a half long."""
    own = changed("short sticks")
    read = StickRead("left inner indicator", 0.009, 500.0)
    conditions = {"pitch": 0.0, "roll": 0.0, "hydrometer": 800.0}
    sheet = stand_sheet(
        own, [read], sample_temperature=288.15, tank_temperature=288.15, **conditions
    )
    assert sheet.worked()["volume 1"] > 0.0


def test_a_wrong_name_or_number_is_told():
    """The nearest name, and what a number must be."""
    with pytest.raises(FigureError, match="Did you mean 'uplift'"):
        draw_sheet("uplifts", aircraft("halbrook-180"), 0)
    for wrong in (-1, 1.5, True, "3", None):
        with pytest.raises(FigureError, match="draw: it is .* whole number, 0 or more"):
            draw_sheet("uplift", aircraft("halbrook-180"), wrong)
