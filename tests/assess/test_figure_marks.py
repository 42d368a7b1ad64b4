"""Figure sheets marked: what a part earns alone, what follows, and which slips are named."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.load import load_aircraft
from fuelkit.assess.figure_marks import (
    DOES_NOT_FOLLOW,
    FOLLOWS,
    MISSING,
    NOT_READ,
    RIGHT,
    SLIP,
    VERDICTS,
    WRONG,
    ask_id,
    asked_steps,
    mark_sheet,
    unread,
)
from fuelkit.figures.catalogue import SHEETS as KIT
from fuelkit.figures.catalogue import draw_sheet, sheets_for
from fuelkit.figures.chain import Given, Sheet, Step
from fuelkit.figures.quantities import FigureError, unit_of
from tests.assess.small_sheets import block_sheet, uplift_sheet, written_right

SHEETS = (uplift_sheet(), block_sheet())
sheets = pytest.mark.parametrize("sheet", SHEETS, ids=[s.name for s in SHEETS])


def verdicts(sheet, written):
    """Return the verdict of each step by name."""
    return {line.step: line.verdict for line in mark_sheet(sheet, written).lines}


def with_slip(sheet, step, slip):
    """Return a whole sheet worked with one slip, as it would be written."""
    values = sheet.worked(slips={step.name: slip})
    return {s.name: s.written(values[s.name]) for s in sheet.steps if s.marks}


def every_slip():
    return [(s, step, slip) for s in SHEETS for step in s.steps for slip in step.slips]


# --------------------------------------------------------------------------- right and nothing
@sheets
def test_an_all_right_sheet_scores_full(sheet):
    """Each figure as the sheet itself writes it."""
    mark = mark_sheet(sheet, written_right(sheet))
    assert mark.marks == mark.full == sum(step.marks for step in sheet.steps)
    assert {line.verdict for line in mark.lines} == {RIGHT}
    assert all(line.is_right for line in mark.lines)


@sheets
def test_an_empty_sheet_scores_nothing(sheet):
    """Every part is missing, and the sentence says what was expected."""
    mark = mark_sheet(sheet, {})
    assert mark.marks == 0.0
    assert {line.verdict for line in mark.lines} == {MISSING}
    assert all("expected was" in line.sentence for line in mark.lines)


@sheets
def test_ids_of_asks_are_taken_too(sheet):
    """What a board kept under its ids marks as what is kept by step."""
    written = {ask_id(s, "b1"): written_right(sheet)[s.name] for s in asked_steps(sheet)}
    assert mark_sheet(sheet, written, "b1").marks == mark_sheet(sheet, {}).full
    assert mark_sheet(sheet, written, "other").marks == 0.0


def test_a_part_without_marks_is_not_asked():
    """It is worked by the kit, and what follows from it is marked."""
    whole = uplift_sheet()
    shown = replace(whole.step("needed"), marks=0.0)
    sheet = replace(whole, steps=(shown, *whole.steps[1:]))
    assert "needed" not in verdicts(sheet, {})
    assert verdicts(sheet, written_right(sheet))["volume"] == RIGHT


# ------------------------------------------------------------------------------ worked by hand
def test_what_follows_from_an_own_figure_earns_its_mark():
    """By hand: 10 % instead of 5 % of 8 000 kg is 800 kg; the sum is 11 700 kg; 11 500 kg in
    holding at 2 400 kg/h last 4 h 47.5 min. Only the first costs its mark."""  # fmt: skip
    written = written_right(block_sheet()) | {
        "share": "800", "contingency": "800", "block": "11 700", "time": "4:48",
    }  # fmt: skip
    mark = mark_sheet(block_sheet(), written)
    assert [line.verdict for line in mark.lines] == [RIGHT, SLIP, FOLLOWS, RIGHT, FOLLOWS, FOLLOWS]
    assert mark.marks == mark.full - 1.0
    assert mark.slips == ("ten per cent",)
    line = mark.line("block")
    assert not line.is_right and line.own_value == pytest.approx(11700.0)
    assert "own earlier figure for “Contingency fuel”" in line.sentence
    assert "it gives 11 700 kg" in line.reason


def test_a_right_figure_that_does_not_follow_is_told_apart():
    """It earns its mark and is flagged; what is worked from it is simply right."""
    written = written_right(block_sheet()) | {"share": "800"}
    mark = mark_sheet(block_sheet(), written)
    assert mark.line("contingency").verdict == DOES_NOT_FOLLOW
    assert mark.line("contingency").marks == 1.0 and mark.line("contingency").is_right
    assert mark.line("block").verdict == RIGHT


def test_a_figure_within_tolerance_of_both_is_not_flagged():
    """An own share of 394 kg is out by 6; 400 kg would be right, 396 kg is near both."""
    written = written_right(block_sheet()) | {"share": "394", "contingency": "396"}
    assert verdicts(block_sheet(), written)["share"] == WRONG
    assert verdicts(block_sheet(), written)["contingency"] == RIGHT


def test_rounding_that_adds_up_is_not_flagged():
    """Earlier figures right within their tolerance lead nowhere else, whatever they add up to."""
    written = written_right(block_sheet()) | {
        "contingency": "396", "reserve": "1 196", "block": "11 300",
    }  # fmt: skip
    assert verdicts(block_sheet(), written)["block"] == RIGHT
    carried = written | {"block": "11 292"}
    assert verdicts(block_sheet(), carried)["block"] == FOLLOWS
    assert "rounded" in mark_sheet(block_sheet(), carried).line("block").sentence


def test_what_was_worked_before_rounding_follows_too():
    """By hand: 1 000 kg at 61 kg/min last 16.39 min, written as 16. At 50 kg/min, 16.39 min are
    820 kg and 16 min are 800 kg: both follow from the wrong rate, 810 kg from neither."""
    steps = (
        Step("rate", "Rate", ("r",), "as given", "kg/min", lambda r: r, 0.1),
        Step("time", "Time", ("m", "rate"), "mass by rate", "min", lambda m, r: m / r, 1.0),
        Step("used", "Used", ("r", "time"), "rate times time", "kg", lambda r, t: r * t, 5.0),
    )
    givens = (Given("r", "Rate", 50.0 / 60.0, "kg/min"), Given("m", "Mass", 1000.0, "kg"))
    sheet = Sheet("s", "S", "", givens, steps)
    written = {"rate": "61", "time": "16"}
    found = [verdicts(sheet, written | {"used": text})["used"] for text in ("820", "800", "810")]
    assert found == [FOLLOWS, FOLLOWS, WRONG]
    line = mark_sheet(sheet, written | {"used": "820"}).line("used")
    assert "before you rounded" in line.sentence and line.marks == 1.0


def test_a_decision_follows_from_an_own_figure():
    """Old fuel left out: 6 088 kg are too little for 9 200 kg; to say so earns both marks."""
    written = written_right(uplift_sheet()) | {"on-board": "6 088", "decision": "Too little"}
    mark = mark_sheet(uplift_sheet(), written)
    assert mark.line("on-board").slips == ("old fuel left out",)
    assert mark.line("decision").verdict == FOLLOWS
    assert mark.marks == mark.full - 1.0
    kept = mark_sheet(uplift_sheet(), written | {"decision": "enough"})
    assert kept.line("decision").verdict == DOES_NOT_FOLLOW


def test_a_decision_against_all_figures_is_wrong():
    """Neither right nor what the own figures say."""
    written = written_right(uplift_sheet()) | {"decision": "too little"}
    assert verdicts(uplift_sheet(), written)["decision"] == WRONG


def test_what_cannot_be_read_is_told_with_what_was_expected():
    """Number, time and decision; `unread` says the same before anything is committed."""
    written = written_right(block_sheet()) | {"share": "some", "time": "4.6"}
    mark = mark_sheet(block_sheet(), written)
    assert mark.line("share").verdict == NOT_READ
    assert "a figure in kg, such as 12 500 kg" in mark.line("share").sentence
    assert "a time in hours and minutes, such as 3:25" in mark.line("time").sentence
    assert len(unread(block_sheet(), written)) == 2
    assert unread(block_sheet(), written_right(block_sheet())) == ()
    (sentence,) = unread(uplift_sheet(), {"x-decision": "perhaps"}, "x")
    assert "one of enough, too little" in sentence
    assert unread(block_sheet(), {}) == ()


def test_after_a_missing_part_the_sheet_goes_on_from_what_came_before_it():
    """Contingency is left open; the block fuel follows from the own share of 800 kg."""
    written = written_right(block_sheet()) | {"share": "800", "block": "11 700", "time": "4:48"}
    del written["contingency"]
    found = verdicts(block_sheet(), written)
    assert found["contingency"] == MISSING
    assert found["block"] == found["time"] == FOLLOWS


# ------------------------------------------------------------------------------------- slips
@pytest.mark.parametrize(
    ("sheet", "step", "slip"), every_slip(), ids=[f"{s.name}-{x.name}" for s, _, x in every_slip()]
)
def test_one_slip_costs_exactly_its_part_and_is_named(sheet, step, slip):
    """All later parts are consistent with it."""
    mark = mark_sheet(sheet, with_slip(sheet, step, slip))
    assert mark.marks == mark.full - step.marks
    assert mark.line(step.name).verdict == SLIP
    assert slip.name in mark.line(step.name).slips
    assert mark.slips == (slip.name,)


def test_a_slip_on_an_own_wrong_figure_is_named():
    """6 500 kg is wrong; multiplied by 0.801 it is 5 207 l, worked from the learner's own."""
    written = written_right(uplift_sheet()) | {"needed": "6 500", "volume": "5 207"}
    mark = mark_sheet(uplift_sheet(), written)
    assert mark.line("needed").verdict == WRONG
    assert mark.line("volume").slips == ("density inverted",)


def test_two_slips_together_are_found_where_earlier_parts_are_not_written():
    """Taxi left out and 10 % taken: 11 500 kg; what follows still earns its mark."""
    mark = mark_sheet(block_sheet(), {"block": "11 500", "time": "4:42"})
    assert set(mark.line("block").slips) == {"taxi left out", "ten per cent"}
    assert "two slips together" in mark.line("block").sentence
    assert "it gives 11 700 kg" in mark.line("block").reason
    assert mark.line("time").verdict == FOLLOWS
    assert mark.marks == 1.0


def test_a_slip_in_an_unwritten_part_costs_once():
    """The reserve of 45 min is not written; it shows in the block fuel, then it is their own."""
    written = {"contingency": "400", "block": "11 900", "time": "4:53"}
    mark = mark_sheet(block_sheet(), written)
    assert mark.line("block").slips == ("45 minutes",)
    assert mark.line("time").verdict == FOLLOWS


def test_three_slips_are_not_guessed():
    """Taxi left out, 10 %, 45 min: 12 100 kg is wrong, not explained by everything at once."""
    assert verdicts(block_sheet(), {"block": "12 100"})["block"] == WRONG


def test_two_slips_that_look_alike_are_both_told():
    """What cannot be told apart is not claimed."""
    step = block_sheet().step("block")
    twin = replace(step.slips[0], name="twin", sentence="something else came to the same.")
    steps = tuple(replace(s, slips=(*s.slips, twin)) if s is step else s for s in (step,))
    values = block_sheet().worked()
    givens = tuple(Given(n, n.capitalize(), values[n], "kg") for n in step.inputs)
    line = mark_sheet(Sheet("s", "S", "", givens, steps), {"block": "11 100"}).line("block")
    assert "It could also be: Something else came to the same." in line.sentence


def test_own_figures_that_cannot_be_worked_on_do_no_harm():
    """A division by an own zero gives nothing; the right figure still counts, with a flag."""
    steps = (
        Step("flow", "Flow", ("mass",), "half", "kg/h", lambda m: m / 7200.0),
        Step("time", "Time", ("mass", "flow"), "mass by flow", "min", lambda m, f: m / f, 1.0),
    )
    sheet = Sheet("s", "S", "", (Given("mass", "Mass", 100.0, "kg"),), steps)
    assert verdicts(sheet, {"flow": "0", "time": "120"}) == {"flow": WRONG, "time": DOES_NOT_FOLLOW}
    assert verdicts(sheet, {"flow": "0", "time": "7"}) == {"flow": WRONG, "time": WRONG}


def test_a_step_that_is_not_asked_for_is_named():
    """An error says which."""
    with pytest.raises(FigureError, match="no step 'fuel' is asked"):
        mark_sheet(block_sheet(), {}).line("fuel")


# ------------------------------------------------------------------------- sheets of the kit
@pytest.mark.parametrize("aircraft", ["halbrook-40", "halbrook-180", "halbrook-300"])
@pytest.mark.parametrize("name", KIT)
def test_every_sheet_of_the_kit_is_marked_fairly(name, aircraft):
    """Written as people do, a right sheet scores full, and one slip costs its part and no other,
    however figures are rounded on the way."""
    aircraft = load_aircraft(aircraft)
    if name not in sheets_for(aircraft):
        pytest.skip(f"{aircraft.name} has no sheet '{name}'")
    for draw in (1, 2):
        sheet = draw_sheet(name, aircraft, draw)
        right = mark_sheet(sheet, written_right(sheet))
        assert right.marks == right.full and {line.verdict for line in right.lines} == {RIGHT}
        assert mark_sheet(sheet, {}).marks == 0.0
        for step in sheet.steps:
            for slip in step.slips:
                costs_its_part(sheet, step, slip)


def costs_its_part(sheet, step, slip):
    """Assert that a slip that makes a difference costs its part alone, and is named."""
    mark = mark_sheet(sheet, with_slip(sheet, step, slip))
    line = mark.line(step.name)
    if step.agrees(line.value, sheet.worked()[step.name]):
        assert mark.marks == mark.full
    else:
        assert mark.marks == mark.full - step.marks, (step.name, slip.name)
        assert slip.name in line.slips or "It could also be" in line.sentence


# --------------------------------------------------------------------------------- properties
FIGURES = st.one_of(
    st.sampled_from(("", "some", "0", "-5", "1e9", "99999999", "nan", "3:99")),
    st.integers(-100, 20000).map(str),
    st.sampled_from(("200", "400", "800", "1 200", "1 800", "11 300", "11 100", "4:38", "12,5 t")),
)
FILLED = st.fixed_dictionaries({step.name: FIGURES for step in block_sheet().steps})


@settings(max_examples=150)
@given(FILLED, st.randoms(use_true_random=False))
def test_never_more_than_full_marks_and_in_any_order(filled, random):
    """Whatever is written, in whatever order it was filled in."""
    mark = mark_sheet(block_sheet(), filled)
    names = list(filled)
    random.shuffle(names)
    assert mark == mark_sheet(block_sheet(), {name: filled[name] for name in names})
    assert 0.0 <= mark.marks <= mark.full
    for line in mark.lines:
        assert line.verdict in VERDICTS and line.sentence
        assert line.marks in (0.0, line.full) and len(line.slips) <= 2
        assert bool(line.slips) == (line.verdict == SLIP)


@settings(max_examples=150)
@given(FILLED)
def test_no_mark_for_a_step_whose_own_work_is_wrong(filled):
    """A mark stands only where the figure is right, or what the own earlier figures give, as near
    as they were written: worked here a second time, from the texts alone. Each step of this sheet
    rises or falls steadily with each input, so that the ends of each span are enough."""
    sheet, mark = block_sheet(), mark_sheet(block_sheet(), filled)
    right = sheet.worked()
    own = {line.step: line.value for line in mark.lines if line.value is not None}
    for line in mark.lines:
        step = sheet.step(line.step)
        if line.marks and not step.agrees(line.value, right[step.name]):
            known = [own[n] if n in own else line_value(mark, n, right) for n in step.inputs]
            near = [span_of(sheet, n) for n in step.inputs]
            ends = product(*((v - d, v + d) for v, d in zip(known, near, strict=True)))
            worked = [step.work(*values) for values in ends]
            allowed = span_of(sheet, step.name) + 1e-6
            assert min(worked) - allowed <= line.value <= max(worked) + allowed


def span_of(sheet, name):
    """Return how far a figure may be from the one it stands for: nothing for a given. SI."""
    steps = {step.name: step for step in sheet.steps}
    return unit_of(steps[name].unit).span(steps[name].tolerance) if name in steps else 0.0


def line_value(mark, name, right):
    """What stands for an input that was not written: a given, or what came out before it."""
    asked = {line.step: line for line in mark.lines}
    return asked[name].own_value if name in asked else right[name]


@settings(max_examples=60)
@given(
    st.floats(6000.0, 12000.0), st.floats(500.0, 4000.0), st.floats(775.0, 840.0),
    st.floats(4.0, 9.0), st.sampled_from([(s.name, x.name) for s in SHEETS[0].steps
                                          for x in s.slips]),
)  # fmt: skip
def test_one_slip_costs_one_part_for_any_figures(wanted, there, density, delivered, which):
    """Whatever is given; a slip that makes no difference costs nothing."""
    sheet = uplift_sheet(wanted, there, density, delivered)
    step = sheet.step(which[0])
    slip = next(x for x in step.slips if x.name == which[1])
    mark = mark_sheet(sheet, with_slip(sheet, step, slip))
    differs = not step.agrees(mark.line(step.name).value, sheet.worked()[step.name])
    assert mark.marks == mark.full - (step.marks if differs else 0.0)


@settings(max_examples=60)
@given(st.sampled_from(("share", "contingency", "reserve", "block")), st.integers(0, 15000))
def test_one_wrong_figure_costs_one_part_if_the_rest_follows(name, number):
    """Any figure instead of a right one, and all later ones worked from it."""
    sheet = block_sheet()
    values = sheet.worked(instead={name: float(number)})
    written = {s.name: s.written(values[s.name]) for s in sheet.steps}
    mark = mark_sheet(sheet, written)
    wrong = not sheet.step(name).agrees(float(number), sheet.worked()[name])
    follows = mark.line(name).verdict == FOLLOWS
    assert mark.marks == mark.full - float(wrong and not follows)
