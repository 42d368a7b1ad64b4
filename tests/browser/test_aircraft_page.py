"""The page about an aircraft in a real browser: readable, reachable, nothing runs off its side."""

from itertools import combinations
from pathlib import Path

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.show.aircraft_page import aircraft_page
from fuelkit.show.findings import findings
from fuelkit.show.plan import plan_view
from fuelkit.survey.survey import survey
from fuelkit.survey.tank_checks import tank_checks

_ROOT = Path(__file__).resolve().parents[2]
_ALL = (
    "halbrook-40",
    "halbrook-180",
    "halbrook-300",
    str(_ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml"),
    str(_ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml"),
)
_OPEN = "document.querySelectorAll('details').forEach(part => part.open = true)"
_WIDTHS = "[document.documentElement.scrollWidth, window.innerWidth]"
_BOXES = (
    "() => [...document.querySelectorAll('svg text')].map(text => {"
    "const box = text.getBBox(); return [text.textContent, box.x, box.y, box.width, box.height,"
    "parseFloat(text.getAttribute('font-size'))]; })"
)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The page of the three-engine example."""
    aircraft = load_aircraft(_ROOT / "tests" / "aircraft" / "data" / "three-engine-example.toml")
    found, checks = survey(aircraft, most=2), tank_checks(aircraft)
    path = tmp_path_factory.mktemp("page") / "three.html"
    path.write_text(aircraft_page(found, checks, findings(found, checks)), encoding="utf-8")
    return path


@pytest.fixture
def opened(page, written):
    """The page, with every table open."""
    page.goto(written.as_uri())
    page.evaluate(_OPEN)
    return page


def test_axe_finds_no_fault(opened):
    """The axe-core rules, with every table open."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    faults = axe.run(opened).response["violations"]
    assert [(f["id"], [n["html"][:200] for n in f["nodes"]]) for f in faults] == []


@pytest.mark.parametrize("width", [320, 1280])
def test_nothing_runs_off_the_side(opened, width):
    """On a narrow window too; wide tables scroll in their own frame (WCAG 2.2, 1.4.10)."""
    opened.set_viewport_size({"width": width, "height": 800})
    wide, window = opened.evaluate(_WIDTHS)
    assert wide <= window


@pytest.mark.parametrize("name", _ALL)
def test_every_word_of_the_plan_can_be_read(page, name):
    """Inside the frame, at least 13 px high, and no name on another."""
    drawing = plan_view(load_aircraft(name))
    page.set_content(f'<div style="width:1280px">{drawing}</div>')
    boxes = page.evaluate(_BOXES)
    height = float(drawing.split('viewBox="0 0 1280 ')[1].split('"')[0])

    assert len(boxes) > 20
    for words, x, y, wide, high, size in boxes:
        assert x >= 0 and x + wide <= 1280 and y >= 0 and y + high <= height, words
        assert size >= 13, words
    for (a, ax, ay, aw, _, _), (b, bx, by, bw, _, _) in combinations(boxes, 2):
        apart = ax + aw <= bx or bx + bw <= ax or abs(ay - by) >= 11
        assert apart, (a, b)


def test_the_links_at_the_top_lead_to_the_sections(opened):
    """From the keyboard: a link takes one to its heading."""
    link = opened.get_by_role("navigation").get_by_role("link", name="The rules as sentences")
    link.focus()
    opened.keyboard.press("Enter")
    assert opened.url.endswith("#rules")
    assert opened.get_by_role("heading", name="The rules as sentences").is_visible()
