"""The plan as a sheet: the plan's own figures, by pencil too, and slips that are told."""

from dataclasses import replace

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.limits_sheet import draw_computer_sheet, draw_limits_sheet
from fuelkit.figures.plan import PlanRequest, fuel_plan
from fuelkit.figures.plan_sheet import draw_plan_sheet, plan_sheet
from fuelkit.figures.policies import policies
from fuelkit.figures.quantities import FigureError, read_figure, written
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, NAUTICAL_MILE
from tests.figures.fleet import FLEET, aircraft

HALBROOK = load_aircraft("halbrook-180")
USUAL = PlanRequest(
    15_000.0,
    Route(1300.0 * NAUTICAL_MILE, 35_000.0 * FOOT, 10.0),
    Route(180.0 * NAUTICAL_MILE, 17_000.0 * FOOT),
    statistical=390.0,
    discretionary=200.0,
)
DRAWERS = (draw_plan_sheet, draw_limits_sheet, draw_computer_sheet)
drawn = pytest.mark.parametrize("draw_sheet", DRAWERS, ids=lambda f: f.__name__)
everyone = pytest.mark.parametrize("name", FLEET)


def requests():
    """Yield the usual request by every rule set, every contingency, with and without alternate."""
    for rules in policies().values():
        for way in rules.contingencies:
            one = replace(USUAL, policy=rules.name, contingency=way.name)
            yield one
            yield replace(one, alternate=None)
            if rules.isolated:
                yield replace(one, alternate=None, isolated=True)


@pytest.mark.parametrize("request_", list(requests()), ids=lambda r: f"{r.policy} {r.contingency}")
def test_the_sheet_comes_to_the_plan(request_):
    """By every rule set, each part but for the rounding of what is given: 0.3 % or 8 kg."""
    plan = fuel_plan(HALBROOK, request_)
    values = plan_sheet(HALBROOK, plan).worked()
    pairs = {
        "trip": plan.trip, "contingency": plan.contingency, "alternate": plan.alternate,
        "final reserve": plan.final_reserve, "additional": plan.additional, "taxi": plan.taxi,
        "block": plan.block, "take-off fuel": plan.take_off_fuel, "take-off mass": plan.take_off,
        "landing mass": plan.landing, "at destination": plan.fuel_at_destination,
    }  # fmt: skip
    for name, value in pairs.items():
        assert values[name] == pytest.approx(value, rel=3e-3, abs=8.0), name


def test_slips_cost_what_the_trade_says():
    """Taxi left out, reserve twice, contingency on block, wind reversed, litres and kilograms."""
    plan = fuel_plan(HALBROOK, USUAL)
    sheet = plan_sheet(HALBROOK, plan)
    right = sheet.worked()
    slips = {slip.name: (step, slip) for step in sheet.steps for slip in step.slips}

    def wrong(name):
        step, slip = slips[name]
        return sheet.worked(slips={step.name: slip})

    assert wrong("taxi left out")["block"] == right["block"] - right["taxi"]
    assert wrong("reserve counted twice")["block"] == right["block"] + right["final reserve"]
    assert wrong("contingency on block instead of trip")["contingency"] > right["contingency"]
    assert wrong("wind with the wrong sense")["trip"] < right["trip"]
    assert wrong("litre and kg")["volume"] == pytest.approx(0.001 * right["block"])
    assert wrong("unusable included")["room"] == pytest.approx(
        right["room"] + HALBROOK.mass_limits.unusable
    )


def test_a_later_part_is_followed_from_an_own_figure():
    """Whoever has the wrong trip fuel still has the right sums."""
    sheet = plan_sheet(HALBROOK, fuel_plan(HALBROOK, USUAL))
    own = sheet.worked(instead={"trip": 9000.0})
    step = sheet.step("contingency by rule")
    assert sheet.follow(step, own) == pytest.approx(450.0)


def test_every_rule_of_a_sheet_has_its_edition():
    """Regulation and edition stand in the sources, and on the steps that follow from it."""
    for request in requests():
        plan = fuel_plan(HALBROOK, request)
        sheet = plan_sheet(HALBROOK, plan)
        assert any(plan.policy.edition in source for source in sheet.sources)
        assert plan.policy.edition in sheet.step("final reserve").source


def test_a_sheet_without_performance_is_refused():
    """An aircraft of one's own may leave the tables out."""
    bare = replace(HALBROOK, performance=None)
    for draw_sheet in DRAWERS:
        with pytest.raises(FigureError, match="no performance tables"):
            draw_sheet(bare, 1)


@drawn
@everyone
def test_the_same_number_gives_the_same_sheet_and_another_another(draw_sheet, name):
    """Practice can be repeated, and does not run out."""
    sheets = [draw_sheet(aircraft(name), number) for number in range(5)]
    assert sheets[3].worked() == draw_sheet(aircraft(name), 3).worked()
    assert len({str(sheet.givens) for sheet in sheets}) == len(sheets)


@drawn
@everyone
def test_what_is_given_is_what_is_written(draw_sheet, name):
    """No digit that is not shown is worked with: each given reads back as itself."""
    for number in range(5):
        for given in draw_sheet(aircraft(name), number).givens:
            read = read_figure(str(given), given.unit)
            assert read == pytest.approx(given.value, rel=1e-9, abs=1e-9), given


@drawn
@everyone
def test_a_pencil_agrees_with_the_sheet(draw_sheet, name):
    """Each step rounded as it is written, the next worked from that: all within tolerance."""
    for number in range(8):
        sheet = draw_sheet(aircraft(name), number)
        exact, pencil = sheet.worked(), {}
        for step in sheet.steps:
            value = sheet.worked(instead=pencil)[step.name]
            if not step.options:
                value = read_figure(written(value, step.unit), step.unit)
            pencil[step.name] = value
            assert step.agrees(value, exact[step.name]), (number, step.name, value)


@drawn
@everyone
def test_every_answer_to_a_decision_comes_up(draw_sheet, name):
    """Whoever always ticks the same box is sometimes wrong."""
    seen, options = {}, {}
    for number in range(60):
        sheet = draw_sheet(aircraft(name), number)
        values = sheet.worked()
        for step in sheet.steps:
            if step.options:
                options[step.name] = set(step.options)
                seen.setdefault(step.name, set()).add(values[step.name])
    assert seen == options
