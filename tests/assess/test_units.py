"""Lessons and exercises as data: every question can be answered, and is worth asking."""

import copy
import re
from importlib import resources

import pytest

from fuelkit.aircraft.reading import DataFileError, read_toml
from fuelkit.assess.answers import answers
from fuelkit.assess.course import load_unit, unit_from, unit_names
from fuelkit.assess.flights import flight_of
from fuelkit.assess.moments import MomentError, moment

UNITS = unit_names()


def content_of(name):
    return read_toml(str(resources.files("fuelkit.assess") / "data" / f"{name}.toml"))


@pytest.mark.parametrize("name", UNITS)
def test_every_ask_has_a_computed_answer_with_a_reason(name):
    """Each ask of each unit is answered from the flight, in a form a learner can give."""
    unit = load_unit(name)
    flight = flight_of(unit.aircraft, unit.sector)
    for board in unit.boards:
        for answer in answers(flight, board):
            assert answer.text and len(answer.reason) > 20
            if answer.options:
                assert answer.value in answer.options


@pytest.mark.parametrize("name", UNITS)
def test_state_marks_stand_only_where_something_changes(name):
    """A board whose states carry marks has a change to foresee."""
    unit = load_unit(name)
    flight = flight_of(unit.aircraft, unit.sector)
    for board in unit.boards:
        if board.state_marks:
            assert any(a.changed and a.options for a in answers(flight, board)), board.name


@pytest.mark.parametrize("name", UNITS)
def test_no_question_tells_the_time_that_another_one_asks_for(name):
    """What the learner reads before committing holds no time that is itself an answer."""
    unit = load_unit(name)
    flight = flight_of(unit.aircraft, unit.sector)
    for board in unit.boards:
        computed = answers(flight, board)
        read = " ".join([board.title, board.lead, board.asked_as, *(a.text for a in computed)])
        if not board.asked_as:
            read += a_clock(moment(flight, board.asked))
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
def test_a_lesson_has_at_least_six_predictions(name):
    """Besides the starters, a lesson asks for at least six predictions of several kinds."""
    asks = [a for b in load_unit(name).boards if b.drawing for a in b.asks]
    assert len(asks) >= 6
    assert {"state", "feeding", "figure", "when"} <= {a.kind for a in asks}


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
        (lambda c: c.update(schema=9), "this kit reads version 1"),
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
