"""A lesson for any aircraft: made from its flight, complete, answerable, and always the same."""

import pytest

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.answers import answers
from fuelkit.assess.choice import VARIABLE, chosen_aircraft
from fuelkit.assess.course import unit_names
from fuelkit.assess.flights import aircraft_of, flight_for, flight_of, sectors_for
from fuelkit.assess.marking import mark_board
from fuelkit.assess.moments import moment
from fuelkit.assess.stages import stages
from fuelkit.assess.teach import fresh_board, unit_for
from tests.notebooks.tidy import ROOT

OWN = str(ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml")
OTHERS = ("halbrook-40", "halbrook-300", OWN)
COURSE = "halbrook-180"


@pytest.mark.parametrize("aircraft", ["halbrook-40", OWN], ids=["40", "own"])
@pytest.mark.parametrize("name", [n for n in unit_names() if n.startswith("lesson")])
def test_every_lesson_and_exercise_is_there_for_any_aircraft(name, aircraft):
    """Each board can be answered from this aircraft's flight, and names nothing of another one."""
    unit = unit_for(name, aircraft)
    parts = aircraft_of(aircraft).by_name
    names = [board.name for board in unit.boards]
    names += [ask.identifier for board in unit.boards for ask in board.asks]
    assert len(set(names)) == len(names)
    for board in unit.boards:
        found = answers(flight_for(unit, board), board)
        assert found and all(answer.text and answer.reason for answer in found)
        assert all(a.value in a.options for a in found if a.options)
        for ask in board.asks:
            if ask.kind in ("state", "feeding"):
                assert ask.about in parts


@pytest.mark.parametrize("aircraft", OTHERS, ids=["40", "300", "own"])
def test_every_stage_of_a_flight_has_boards_on_any_aircraft(aircraft):
    """Cockpit preparation to after landing: something is asked in each."""
    unit = unit_for("lesson-cruise", aircraft)
    for stage in stages(flight_of(unit.aircraft, unit.sector)):
        name = f"lesson-{stage}"
        if name in unit_names():  # abnormal is no stage
            assert [b for b in unit_for(name, aircraft).boards if b.form != "starter"], stage


@pytest.mark.parametrize("aircraft", [COURSE, OWN], ids=["180", "own"])
@pytest.mark.parametrize("name", [n for n in unit_names() if n.startswith("lesson")])
def test_practice_gives_a_fresh_situation_for_every_board(name, aircraft):
    """Another one like it: answerable, named after its number, the same each time it is drawn."""
    unit = unit_for(name, aircraft)
    for board in [b for b in unit.boards if b.form == "blank"][:1]:
        fresh = fresh_board(unit, board, 3)
        assert fresh == fresh_board(unit, board, 3)
        assert fresh.name == f"{board.name}~3" and fresh.asks
        assert not any(ask.given for ask in fresh.asks)
        flight = flight_for(unit, fresh)
        found = answers(flight, fresh)
        assert found and all(a.value in a.options for a in found if a.options)
        if fresh.scene == "flight":
            assert moment(flight, fresh.shown) < moment(flight, fresh.asked)


@pytest.mark.parametrize("name", [n for n in unit_names() if n.startswith("lesson")])
def test_the_asks_of_a_fresh_board_are_those_that_are_marked(name):
    """On the stand and on figure sheets too, what is asked is what the marking knows."""
    unit = unit_for(name)
    for board in [b for b in unit.boards if b.scene != "flight" and b.form == "blank"]:
        fresh = fresh_board(unit, board, 2)
        found = answers(flight_for(unit, fresh), fresh)
        marked = mark_board(fresh, found, {a.ask.identifier: a.written() for a in found})
        assert [n.identifier for n in marked.lines] == [a.identifier for a in fresh.asks]
        assert marked.marks == pytest.approx(marked.full)


def test_practice_does_not_repeat_its_figures():
    """Six draws of a board give at least five different sets of answers."""
    unit = unit_for("lesson-cruise")
    board = unit.board("rest-and-resume")
    seen = set()
    for draw in range(1, 7):
        fresh = fresh_board(unit, board, draw)
        seen.add(tuple(a.written() for a in answers(flight_for(unit, fresh), fresh)))
    assert len(seen) >= 5


def test_two_failures_are_not_practised_in_the_same_situation():
    """Whoever asks for another one like either of two boards sees two situations."""
    unit = unit_for("lesson-abnormal")
    boards = [board for board in unit.boards if board.scene == "flight"]
    fresh = [fresh_board(unit, board, 1) for board in (boards[0], boards[-1])]
    assert len({(b.sector, b.draw, b.more) for b in fresh}) == 2


def test_the_aircraft_is_chosen_in_one_place(tmp_path, monkeypatch):
    """A line in course.toml beside the lessons, found from the notebooks' folders too."""
    monkeypatch.delenv(VARIABLE, raising=False)
    for folder in ("lessons", "exercises", "solutions"):
        (tmp_path / folder).mkdir()
    assert chosen_aircraft(tmp_path / "exercises") == ""
    file = tmp_path / "lessons" / "course.toml"
    file.write_text('schema = 1\naircraft = "halbrook-40"\n', encoding="utf-8")
    for folder in (".", "lessons", "exercises", "solutions"):
        assert chosen_aircraft(tmp_path / folder) == "halbrook-40"
    file.write_text('schema = 1\naircraft = "mine.toml"\n', encoding="utf-8")
    assert chosen_aircraft(tmp_path) == str((tmp_path / "lessons" / "mine.toml").resolve())


@pytest.mark.parametrize(
    ("text", "message"),
    [("schema = 2\naircraft = 'x'", "schema 1"), ("schema = 1", "aircraft is missing"),
     ("schema = 1\naircraft = 'x'\nplane = 1", "plane is not a known field")],
)  # fmt: skip
def test_a_course_file_with_a_fault_is_refused_with_it(tmp_path, monkeypatch, text, message):
    """Field, value and what would be right."""
    monkeypatch.delenv(VARIABLE, raising=False)
    (tmp_path / "course.toml").write_text(text, encoding="utf-8")
    with pytest.raises(DataFileError, match=message):
        chosen_aircraft(tmp_path)


def test_the_sectors_of_an_aircraft_begin_with_its_own():
    """The kit's sectors for it, then the standard one; an own aircraft has that alone."""
    assert sectors_for(aircraft_of(COURSE))[0] == "eastmere-port-ellery"
    assert sectors_for(aircraft_of("halbrook-40"))[-1] == "standard"
    assert sectors_for(aircraft_of(OWN)) == ("standard",)
