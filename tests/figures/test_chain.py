"""A figure sheet as a chain: worked in order, from other values, with slips; faults are named."""

from dataclasses import FrozenInstanceError, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.quantities import FigureError

DOUBLE = Step(
    "double", "Twice the fuel", ("fuel",), "fuel times two", "kg", lambda f: 2.0 * f, 10.0,
    slips=(Slip("halved", "it was halved.", lambda f: f / 2.0),),
)  # fmt: skip
SUM = Step("sum", "Sum", ("fuel", "double"), "added", "kg", lambda f, d: f + d, relative=0.01)
ENOUGH = Step(
    "enough", "Enough?", ("sum",), "if at least 300 kg", "",
    lambda s: "yes" if s >= 300.0 else "no", options=("yes", "no"),
)  # fmt: skip
SHEET = Sheet(
    "small", "Small", "", (Given("fuel", "Fuel", 100.0, "kg"), Given("day", "Day", "Monday")),
    (DOUBLE, SUM, ENOUGH),
)  # fmt: skip


def test_a_sheet_is_worked_step_by_step():
    """By hand: 100, 200, 300: enough."""
    assert SHEET.worked() == {
        "fuel": 100.0, "day": "Monday", "double": 200.0, "sum": 300.0, "enough": "yes",
    }  # fmt: skip


def test_a_sheet_is_worked_from_other_values():
    """What stands instead of a step goes into all that follow, and nothing else."""
    assert SHEET.worked(instead={"double": 150.0})["enough"] == "no"
    assert SHEET.worked(instead={"sum": 299.0})["double"] == 200.0


def test_a_sheet_is_worked_with_a_slip():
    """By hand: halved is 50, with 100 that is 150."""
    values = SHEET.worked(slips={"double": DOUBLE.slips[0]})
    assert (values["double"], values["sum"], values["enough"]) == (50.0, 150.0, "no")


def test_a_value_that_stands_instead_goes_before_a_slip():
    """What was written is what was written."""
    values = SHEET.worked(instead={"double": 7.0}, slips={"double": DOUBLE.slips[0]})
    assert values["double"] == 7.0


@pytest.mark.parametrize(
    ("step", "value", "right", "agrees"),
    [
        (DOUBLE, 210.0, 200.0, True), (DOUBLE, 210.1, 200.0, False), (DOUBLE, 190.0, 200.0, True),
        (SUM, 303.0, 300.0, True), (SUM, 303.1, 300.0, False), (SUM, -303.0, -300.0, True),
        (ENOUGH, "yes", "yes", True), (ENOUGH, "no", "yes", False),
    ],
)  # fmt: skip
def test_a_value_agrees_up_to_its_tolerance_and_not_beyond(step, value, right, agrees):
    """A tolerance in the unit of the step, and a share of the right value."""
    assert step.agrees(value, right) is agrees


def test_a_tolerance_is_in_the_unit_of_the_step():
    """2 min on a time in hours and minutes are 120 s; 1 K on a temperature carries no offset."""
    time = Step("t", "T", (), "", "h:mm", lambda: 0.0, 2.0)
    warm = Step("w", "W", (), "", "°C", lambda: 0.0, 1.0)
    assert time.agrees(3720.0, 3600.0) and not time.agrees(3721.0, 3600.0)
    assert warm.agrees(231.15, 232.15) and not warm.agrees(231.15, 232.25)


def test_values_are_written_as_people_do():
    """Givens and steps, numbers and words."""
    assert [str(g) for g in SHEET.givens] == ["100 kg", "Monday"]
    assert (DOUBLE.written(12500.0), ENOUGH.written("yes")) == ("12 500 kg", "yes")


def test_an_input_that_is_not_known_yet_is_named():
    """A later step is no input either."""
    with pytest.raises(FigureError, match="step 'sum': inputs has 'double', which is no given"):
        replace(SHEET, steps=(SUM, DOUBLE))


def test_a_name_stands_once():
    """Two steps, or a step and a given."""
    with pytest.raises(FigureError, match="the name 'double' stands twice"):
        replace(SHEET, steps=(DOUBLE, DOUBLE))
    with pytest.raises(FigureError, match="the name 'fuel' stands twice"):
        replace(SHEET, steps=(replace(DOUBLE, name="fuel"),))
    with pytest.raises(FigureError, match="the name 'day' stands twice"):
        replace(SHEET, givens=(*SHEET.givens, Given("day", "Day", "Tuesday")))


def test_a_step_that_is_not_there_is_named_with_those_that_are():
    """An error lists them."""
    with pytest.raises(FigureError, match="no step 'tripple'; it has double, sum, enough"):
        SHEET.step("tripple")


def test_a_step_without_unit_must_be_a_decision():
    """And a unit must be known; options must be two or more, and no tolerance negative."""
    for wrong, words in (
        ({"unit": ""}, "unit"), ({"unit": "stone"}, "unit"), ({"tolerance": -1.0}, "tolerance"),
        ({"relative": float("nan")}, "relative"), ({"marks": -1.0}, "marks"),
        ({"options": ("yes",), "unit": ""}, "options"),
    ):  # fmt: skip
        with pytest.raises(FigureError, match=f"step 'double': {words}"):
            replace(SHEET, steps=(replace(DOUBLE, **wrong),))


def test_slips_of_a_step_have_names_of_their_own():
    """They are counted by their names."""
    twice = replace(DOUBLE, slips=DOUBLE.slips * 2)
    with pytest.raises(FigureError, match="step 'double': the slip 'halved' stands twice"):
        replace(SHEET, steps=(twice,))


def test_a_given_that_is_not_a_number_is_refused():
    """Not a number, without end, or a number without a unit that is known."""
    for value, unit in ((float("nan"), "kg"), (float("inf"), "kg"), ("x", "kg"), (1.0, "stone")):
        with pytest.raises(FigureError, match="given 'fuel'"):
            replace(SHEET, givens=(Given("fuel", "Fuel", value, unit),), steps=())


def test_following_gives_nothing_where_nothing_can_be_worked():
    """A division by nothing, a figure that is refused, or no number at all."""

    def refuses(fuel):
        raise FigureError("fuel: too much.")

    for work in (lambda f: f / 0.0, refuses, lambda f: float("nan"), lambda f: f**0.5 % 1j):
        step = replace(DOUBLE, work=work)
        assert SHEET.follow(step, {"fuel": 1.0}) is None
    assert SHEET.follow(DOUBLE, {"fuel": 3.0}) == 6.0


@given(st.floats(-1e9, 1e9), st.floats(-1e9, 1e9))
def test_working_again_changes_nothing(first, second):
    """A sheet keeps nothing of an earlier working."""
    before = SHEET.worked()
    SHEET.worked(instead={"double": first, "sum": second})
    assert SHEET.worked() == before


def test_a_sheet_is_frozen():
    """Nothing is ever stored on it."""
    with pytest.raises(FrozenInstanceError):
        SHEET.title = "Other"
