"""The planning page without a browser: its bars are what `fuel_plan` says, bad input is named."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

import fuelkit.aircraft
from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.limits import tank_capacity
from fuelkit.figures.performance import holding
from fuelkit.figures.plan import fuel_plan
from fuelkit.figures.policies import policies
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.writing import held, mass_text
from fuelkit.show.page import Page
from fuelkit.show.palette import COLOURS
from fuelkit.show.planner import planning_page
from fuelkit.show.planner_bar import spread
from fuelkit.show.planner_words import PARTS
from fuelkit.show.tilt import ExplorerError

STARTER = str(Path(fuelkit.aircraft.__file__).parent / "own" / "starter.toml")
AIRCRAFT = ["halbrook-40", "halbrook-180", "halbrook-300", STARTER]
_SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def planner(halbrook):
    """Open the page of the course's aircraft."""
    return planning_page(halbrook)


@pytest.fixture
def bars(parsed):
    """Give the function that returns the widths of a page's bars, by rule set and part [px]."""

    def found(page):
        root = parsed(page.drawing[page.drawing.index("<svg") :])
        return {
            group.get("data-rule"): {
                part.get("data-part"): float(part.find(f"{_SVG}rect").get("width"))
                for part in group.iter(f"{_SVG}g")
                if part.get("data-part")
            }
            for group in root.iter(f"{_SVG}g")
            if group.get("data-rule")
        }

    return found


def control(page, name):
    """Return one control of a page."""
    return next(c for c in page.controls if c["id"] == name)


@pytest.mark.parametrize("name", AIRCRAFT)
def test_the_page_begins_with_a_plan_of_every_aircraft(name, bars):
    """All words, every rule set a bar or a reason, and a full tank would be the full width."""
    aircraft = load_aircraft(name)
    page = planning_page(aircraft)
    assert page.said.startswith("Block fuel") and page.outcomes[0].plan is not None
    drawn = bars(page)
    assert list(drawn) == [o.policy.name for o in page.outcomes]
    assert set(drawn) == set(policies())
    plan, full = fuel_plan(aircraft, page.request), tank_capacity(aircraft, 800.0)
    widths = drawn["easa-uk"]
    scale = widths["trip"] / plan.trip
    assert full * scale == pytest.approx(714.0, rel=1e-3)
    for part in PARTS:
        assert widths.get(part, 0.0) == pytest.approx(getattr(plan, part) * scale, abs=0.01)


@pytest.mark.parametrize("name", AIRCRAFT)
def test_every_control_reaches_both_its_ends(name, parsed):
    """A plan or a sentence each time; also for every rule that can be chosen."""
    page = planning_page(load_aircraft(name))
    for slider in page.controls[1:]:
        for end in ("low", "high"):
            page.set(**{slider["id"]: slider[end]})
            assert control(page, slider["id"])["value"] == slider[end]
            assert control(page, slider["id"])["words"]
            assert page.said.startswith(("Block fuel", "No plan by"))
            parsed(page.drawing[page.drawing.index("<svg") :])
        page._heard(None, {"kind": "start"}, [])
    for option in page.controls[0]["options"]:
        page.set(rule=option["value"])
        first = page.outcomes[0]
        assert f"{first.policy.name} / {first.contingency.name}" == option["value"]
        assert len(page.outcomes) == len(policies())


@pytest.mark.parametrize(
    "change",
    [
        {"payload": 9000.0}, {"distance": 600.0}, {"wind": 60.0}, {"level": 31000.0},
        {"alternate": 250.0}, {"alternate": 0.0}, {"taxi": 25.0}, {"extra": 700.0},
        {"discretionary": 500.0}, {"rule": "faa-flag / basic"}, {"rule": "easa-uk / 20 minutes"},
    ],
)  # fmt: skip
def test_each_control_moves_the_plan_as_fuel_plan_says(planner, halbrook, words, parsed, change):
    """By every rule set: parts in the table, block beside the bar, and it differs from before."""
    before = planner.drawing
    planner.set(**change)
    assert planner.drawing != before
    written = words(parsed(planner.drawing[planner.drawing.index("<svg") :]))
    for outcome in planner.outcomes:
        asked = replace(
            planner.request, policy=outcome.policy.name, contingency=outcome.contingency.name
        )
        plan = fuel_plan(halbrook, asked)
        assert replace(outcome.plan, request=plan.request) == plan
        assert f"block {mass_text(plan.block)}" in written
        for part in PARTS:
            assert f"<td>{held(mass_text(getattr(plan, part)))}</td>" in planner.table
    shown = {n: getattr(planner.outcomes[0].plan, n) for n in PARTS}
    for name, mass in shown.items():
        assert (f"{PARTS[name]} " in written) == (mass > 0.0)
    assert mass_text(planner.outcomes[0].plan.bites.margin) in planner.said


def test_what_the_controls_say_is_what_is_asked(planner):
    """NM, kt, ft, min on the page are metres and seconds inside (1 NM 1852 m, 1 ft 0.3048 m)."""
    planner.set(distance=500, wind=-30, level=33000, alternate=180, taxi=12, payload=12000)
    route = planner.request.route
    assert route.distance == pytest.approx(926_000.0) and route.level == pytest.approx(10058.4)
    assert route.headwind == pytest.approx(-30 * 1852 / 3600)
    assert planner.request.alternate.distance == pytest.approx(180 * 1852.0)
    assert planner.request.taxi_time == 720.0 and planner.request.payload == 12000.0
    assert control(planner, "wind")["words"] == "30 kt tailwind"
    planner.set(wind=0, alternate=0)
    assert control(planner, "wind")["words"] == "calm"
    assert control(planner, "alternate")["words"] == "no alternate"
    assert planner.request.alternate is None


def test_the_floors_stand_below_the_bars(planner, halbrook):
    """Five minutes' holding at the landing mass; final reserve by each rule set's own minutes."""
    planner.set(distance=400)
    hold = holding(halbrook.performance)
    first = planner.outcomes[0]
    least = 300.0 * hold.at(first.plan.landing)
    assert first.plan.contingency >= least - 1e-6
    assert f"least contingency {mass_text(least)}: 5 min holding" in planner.drawing
    for outcome in planner.outcomes:
        reserve = mass_text(outcome.plan.final_reserve)
        minutes = f"{outcome.policy.reserve_time / 60:g} min {outcome.policy.reserve_at}"
        assert f"least final reserve {reserve}: {minutes}" in planner.drawing
    assert "Contingency fuel is at its floor, 5 min holding." in planner.said
    assert "no floor of contingency" in planner.drawing  # 14 CFR 121.639


def test_no_plan_is_told_with_the_limit_and_by_how_much(planner, halbrook, bars):
    """The masses stay, with what is too much; no bar is drawn where there is no plan."""
    planner.set(payload=23000)
    with pytest.raises(FigureError) as caught:
        fuel_plan(halbrook, planner.request)
    assert caught.value.limit in planner.said.lower()
    assert f"{mass_text(caught.value.excess)} too much" in planner.said
    assert planner.said.startswith("No plan by") and "verdict none" in planner.drawing
    assert all(not parts for parts in bars(planner).values())
    assert "No other rule set gives a plan either." in planner.said
    zero_fuel = mass_text(halbrook.mass_limits.dry_operating + 23000)
    assert f"{zero_fuel} of 62 500 kg: 1 500 kg too much" in planner.drawing


def test_every_limit_that_is_exceeded_is_told(planner):
    """The worst first, with the advice; then the others, each with its excess."""
    planner.set(payload=20500, distance=2000)
    over = [x for x in planner.outcomes[0].limits if x.at_most and x.margin < 0.0]
    over.sort(key=lambda x: x.margin)
    assert [x.name for x in over] == ["tank capacity", "take-off mass"]
    first, second = planner.said.split("Exceeded too: ")
    assert f"{mass_text(-over[0].margin)} too much" in first
    assert second.startswith(f"take-off mass, {mass_text(-over[1].margin)} too much.")


def test_rules_by_which_a_plan_can_still_be_made_keep_their_bars(planner, bars):
    """Somewhere along the distance the most asking rule set falls out first."""
    planner.set(rule="faa-flag / basic", payload=14000)
    slider = control(planner, "distance")
    for distance in range(1200, int(slider["high"]), 10):
        planner.set(distance=distance)
        if planner.outcomes[0].plan is None:
            break
    can = [o for o in planner.outcomes if o.plan is not None]
    assert can and "A plan can still be made by: " in planner.said
    drawn = bars(planner)
    assert drawn["faa-flag"] == {}
    for outcome in can:
        assert outcome.policy.title in planner.said and drawn[outcome.policy.name]["trip"] > 0.0


def test_what_is_no_limit_is_told_too(planner):
    """An alternate too near, a level too high, a route too short; a rule set not for these."""
    planner.set(alternate=20)
    assert "Alternate: distance is 20 NM" in planner.said
    assert "Give an alternate farther away, or none." in planner.said
    planner.set(alternate=150, distance=60)
    assert "climb to 39 000 ft, descent and approach alone take" in planner.said
    small = planning_page(load_aircraft("halbrook-40"))
    assert "not for a turboprop" in small.drawing and "faa-flag" not in str(small.controls)


def test_an_aircraft_without_performance_gets_a_sentence(halbrook):
    """It names the aircraft and what its file lacks."""
    page = planning_page(replace(halbrook, performance=None))
    assert isinstance(page, Page)
    assert "Halbrook 180" in page.text and "[performance]" in page.text
    assert page.text in page.html


@pytest.mark.parametrize(
    "given, words",
    [
        ({"payloat": 1}, "no control 'payloat'. Did you mean 'payload'?"),
        ({"wind": 400}, "wind is 400 kt; it must lie between -100 and 120 kt"),
        ({"distance": float("nan")}, "distance is nan NM"),
        ({"payload": "much"}, "payload is 'much'; it must be a number [kg]"),
        ({"payload": True}, "payload is True"),
        ({"rule": "easa"}, "rule is 'easa'; it must be one of icao / basic"),
        ({"rule": ["icao"]}, "rule is ['icao']"),
        ({"payload": 9000, "wind": 400}, "wind is 400"),
    ],
)
def test_bad_input_is_named_and_changes_nothing(planner, given, words):
    """Also when one of two values is right."""
    before, request = planner.drawing, planner.request
    with pytest.raises(ExplorerError, match=re.escape(words)) as caught:
        planner.set(**given)
    assert isinstance(caught.value, FuelkitError)
    assert planner.drawing == before and planner.request == request


def test_an_error_on_the_page_is_told_and_goes_with_the_next_try(planner):
    """It stands on the page, since nobody sees what a callback raises; the button goes back."""
    start = planner.drawing
    planner._heard(None, {"kind": "set", "values": {"wind": 999}}, [])
    assert "wind is 999" in planner.error
    planner._heard(None, {"kind": "set", "values": {"wind": 20}}, [])
    assert planner.error == "" and planner.drawing != start
    planner._heard(None, {"kind": "start"}, [])
    assert planner.drawing == start


def test_colours_come_from_the_palette(planner):
    """As attributes, so that they change with the theme."""
    planner.set(payload=23000)
    full = planner.drawing
    planner.set(payload=10000, extra=300, discretionary=300)
    used = re.findall(r'(?:fill|stroke)="(?!none)([^"]*)"', full + planner.drawing)
    assert len(used) > 50 and set(used) <= set(COLOURS.values())


def test_labels_are_spread_until_none_touches_another():
    """In order, inside, with the gap between, and near the place if there is room."""
    places = spread([10.0, 12.0, 14.0, 300.0], [40.0, 30.0, 20.0, 50.0], 0.0, 320.0, 8.0)
    ends = [(p - w / 2, p + w / 2) for p, w in zip(places, (40, 30, 20, 50), strict=True)]
    assert ends[0][0] >= 0.0 and ends[-1][1] <= 320.0
    assert all(b[0] - a[1] >= 8.0 - 1e-9 for a, b in zip(ends, ends[1:], strict=False))
    assert spread([50.0, 200.0], [20.0, 20.0], 0.0, 300.0) == [50.0, 200.0]


def test_no_figure_of_the_table_is_broken_over_two_lines(planner):
    """How a figure stands to its limit is the longest cell of a narrow column."""
    cells = [c for c in re.findall(r"<td>(.*?)</td>", planner.table) if "to spare" in c]

    assert len(cells) > 5
    assert not any(re.search(r"\d \d|\d kg", cell) for cell in cells)
