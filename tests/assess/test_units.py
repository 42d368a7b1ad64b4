"""Lessons and exercises as data: every question can be answered, and is worth asking."""

import copy
import re
from dataclasses import replace
from functools import cache
from importlib import resources

import pytest

from fuelkit.aircraft.reading import DataFileError, read_toml
from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit, unit_from, unit_names
from fuelkit.assess.flights import flight_for, flight_of
from fuelkit.assess.given import given_figures
from fuelkit.assess.marking import mark_board
from fuelkit.assess.moments import MomentError, moment
from fuelkit.assess.teach import unit_for

UNITS = unit_names()


def content_of(name):
    return read_toml(str(resources.files("fuelkit.assess") / "data" / "units" / f"{name}.toml"))


@cache
def answered(name):
    """Each board of a unit with its computed answers and the moment asked for; flown once."""
    unit, found = unit_for(name), []
    for board in unit.boards:
        flight = flight_for(unit, board)
        found.append((board, answers(flight, board), moment(flight, board.asked)))
    return tuple(found)


@pytest.mark.parametrize("name", UNITS)
def test_every_ask_has_a_computed_answer_with_a_reason(name):
    """Each ask of each unit is answered from the flight, in a form a learner can give."""
    for _, found, _ in answered(name):
        for answer in found:
            assert answer.text and len(answer.reason) > 20
            if answer.options:
                assert answer.value in answer.options


@pytest.mark.parametrize("name", UNITS)
def test_state_marks_stand_only_where_something_changes(name):
    """A board whose states carry marks has a change to foresee."""
    for board, found, _ in answered(name):
        if board.state_marks:
            assert any(a.changed and a.ask.is_marked_together for a in found), board.name


@pytest.mark.parametrize("name", UNITS)
def test_no_question_tells_the_time_that_another_one_asks_for(name):
    """What the learner reads before committing holds no time that is itself an answer."""
    for board, found, asked in answered(name):
        computed = [a for a in found if not a.ask.given]
        read = " ".join([board.title, board.lead, board.asked_as, *(a.text for a in computed)])
        if not board.asked_as:
            read += a_clock(asked)
        for answer in computed:
            if answer.unit == "h:mm:ss":
                near = [t for t in times_in(read) if abs(t - answer.value) <= 90.0]
                assert not near, f"{board.name}: {answer.text}"


def a_clock(seconds):
    return f" {int(seconds) // 3600}:{int(seconds) % 3600 // 60:02d}:{int(seconds) % 60:02d}"


def times_in(text):
    found = re.findall(r"(\d):(\d\d):(\d\d)", text)
    return [3600 * int(h) + 60 * int(m) + int(s) for h, m, s in found]


@pytest.mark.parametrize("name", [n for n in UNITS if n.startswith("lesson")])
def test_a_lesson_leads_from_memory_over_an_example_to_blank_boards(name):
    """Three to five starters without a drawing, one example, one half done, then blank ones."""
    boards = unit_for(name).boards
    forms = [board.form for board in boards]
    if name != "lesson-tanks":  # the first one has no earlier lesson
        (starter,) = [board for board in boards if board.form == "starter"]
        assert boards[0] is starter and not starter.drawing and 3 <= len(starter.asks) <= 5
    assert forms.count("worked") == 1 and forms.count("half") == 1
    assert forms.index("worked") < forms.index("half") < forms.index("blank")
    (half,) = [board for board in boards if board.form == "half"]
    assert 0 < sum(ask.given for ask in half.asks) < len(half.asks)
    assert sum(len(b.asks) for b in boards if b.form == "blank") >= 6


@pytest.mark.parametrize("name", [n for n in UNITS if n.startswith("exercise")])
def test_an_exercise_has_marks_on_every_board_and_gives_nothing(name):
    """Each board is worth marks, and none is set by the kit."""
    for board, found, _ in answered(name):
        assert board.form == "blank" and not any(ask.given for ask in board.asks)
        assert mark_board(board, found, {}).full > 0


def test_moments_are_read_in_words():
    """A moment is a time, or follows something that happens."""
    flight = flight_of("halbrook-180", "eastmere-port-ellery")
    high_lift = moment(flight, "high-lift surfaces are out")
    assert moment(flight, "30 s after high-lift surfaces are out") == high_lift + 30.0
    assert moment(flight, "30 s before high-lift surfaces are out") == high_lift - 30.0
    assert moment(flight, "high-lift surfaces are out (2)") > high_lift
    assert moment(flight, "1:02:03") == 3723.0


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("soon", "cannot be read"),
        ("9:00:00", "outside the flight"),
        ("left centre pump is RUN (9)", "asks for number 9"),
        ("nobody is RUN", "comes about 0 times"),
    ],
)
def test_a_moment_that_is_not_there_is_refused_in_words(words, message):
    """The error names the words and what is wrong with them."""
    with pytest.raises(MomentError, match=message):
        moment(flight_of("halbrook-180", "eastmere-port-ellery"), words)


@pytest.mark.parametrize(
    ("damage", "message"),
    [
        (lambda c: c.pop("title"), "title is missing"),
        (lambda c: c.update(kind="quiz"), "it must be 'lesson' or 'exercise'"),
        (lambda c: c["boards"][0].update(led="x"), "led is not a known field. Did you mean 'lead'"),
        (lambda c: c["boards"][0]["asks"][0].update(kind="guess"), "kind is 'guess'"),
        (lambda c: c["boards"][1].update(name=c["boards"][0]["name"]), "stands twice"),
        (lambda c: c.update(schema=9), "this kit reads version 2"),
    ],
)
def test_a_damaged_unit_file_is_refused_with_its_fault(damage, message):
    """Each fault names the field, the value and what would be right."""
    content = copy.deepcopy(content_of("exercise-cruise"))
    damage(content)
    with pytest.raises(DataFileError, match=re.escape(message)):
        unit_from(content)


def test_an_unknown_unit_names_the_nearest():
    """A slip of the pen is answered with the name that was meant."""
    with pytest.raises(DataFileError, match="Did you mean 'exercise-cruise'"):
        load_unit("exercise-cruse")


@pytest.mark.parametrize(
    ("name", "board", "told"),
    [
        ("lesson-cockpit-preparation", "gauge-low", " No alert tells of it."),
        ("lesson-after-landing", "discrepancy", " No alert tells of it."),
        (
            "exercise-after-landing",
            "what-went",
            " The crew is told: Right inboard fuel is low; Wing fuel is out of balance.",
        ),
    ],
)
def test_only_what_a_failure_has_lit_is_told_as_its_sign(name, board, told):
    """An alert that would have come up without the failure is no sign of it."""
    found = next(answers for b, answers, _ in answered(name) if b.name == board)
    (fault,) = (answer for answer in found if answer.ask.kind == "fault")
    assert fault.reason.endswith(told)


def given_on(name, board_name):
    """The figures that go with a board, by their labels."""
    unit = load_unit(name)
    board = unit.board(board_name)
    flight = flight_for(unit, board)
    return dict(given_figures(flight, moment(flight, board.shown), board))


def test_how_fast_each_tank_fills_is_given_where_it_is_asked_when():
    """While the course's aircraft is refuelled: each rate is what the tank gains in ten seconds."""
    unit = load_unit("lesson-cockpit-preparation")
    board = unit.board("pumps-selected")
    flight = flight_for(unit, board)
    opened = 30.0 + next(
        change.time for change in flight.changes_of("centre refuel valve") if change.after == "OPEN"
    )
    figures = dict(given_figures(flight, opened, replace(board, asks=(asked_when(board),))))
    before, after = flight.samples([opened, opened + 10.0])
    told = 0
    for tank, gained in zip(flight.aircraft.tanks, 6.0 * (after - before), strict=True):
        if gained > 1.0:
            rate = figures[f"{tank.name} refuel valve passes"].split(" kg/min")[0]
            assert float(rate) == pytest.approx(gained, abs=0.6, rel=0.02)
            told += 1
    assert told > 2
    assert not any(name.endswith("passes") for name in dict(given_figures(flight, opened, board)))


def asked_when(board):
    """The first ask of a board, as one for a time."""
    return replace(board.asks[0], kind="when")


def test_the_figures_of_a_board_hold_every_delay_and_order_that_it_turns_on():
    """The run-on of a centre pump that is asked for, and an order that is still to be placed."""
    figures = given_on("lesson-cockpit-preparation", "pumps-selected")
    assert figures["left centre run-on ended waits"] == "300 s"
    for board in ("another-night", "fuel-flows"):
        figures = given_on("lesson-cockpit-preparation", board)
        assert any(label.startswith("Ordered at") for label in figures), board
