"""The planning page in a real JupyterLab: by keyboard, for what it draws and what it tells."""

import nbformat
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.physics.writing import mass_text
from fuelkit.show.planner import planning_page

_MAKE = """
from fuelkit.aircraft.load import load_aircraft
from fuelkit.show.planner import planning_page

planner = planning_page(load_aircraft("halbrook-180"))
planner
"""
_ROOT = ".fuelkit-planner"
# What scrolls by itself, runs out of the page or is cut off.
_OVERFLOWING = """() => {
  const root = document.querySelector('.fuelkit-planner'), edge = root.getBoundingClientRect();
  return [root, ...root.querySelectorAll('*')].filter(e => e.getClientRects().length
    && !e.closest('.unseen') && !e.closest('svg') && !e.closest('select')).filter(e => {
      const style = getComputedStyle(e), box = e.getBoundingClientRect();
      return /auto|scroll/.test(style.overflowX + style.overflowY)
        || (e.scrollWidth > e.clientWidth + 1 && style.display !== 'inline')
        || box.right > edge.right + 1;
    }).map(e => e.outerHTML.slice(0, 120));
}"""
# Pairs of texts of the drawing that touch, and texts that run out of it.
_TOUCHING = """() => {
  const svg = document.querySelector('svg'), frame = svg.viewBox.baseVal;
  const boxes = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBBox()]);
  const found = boxes.filter(([, b]) => b.x < -0.5 || b.x + b.width > frame.width + 0.5
    || b.y < 0 || b.y + b.height > frame.height).map(([words]) => words);
  boxes.forEach(([words, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
    if (Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x) > 1
      && Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y) > 4)
      found.push(words + ' / ' + other);
  }));
  return found;
}"""


@pytest.fixture
def planner(lab, page, wait_for_idle):
    """Open a notebook, run its cell and give the planning page in it."""
    content = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(_MAKE.strip())])
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    place = lab.root / "trial" / "planner.ipynb"
    place.parent.mkdir(exist_ok=True)
    nbformat.write(content, place)
    page.goto(lab.address("trial/planner.ipynb"))
    wait_for_idle(page)
    page.locator(".jp-CodeCell").first.locator(".jp-InputPrompt").click()
    page.keyboard.press("Control+Enter")
    found = page.locator(_ROOT)
    found.wait_for()
    wait_for_idle(page)
    return found


def press(page, field, *keys):
    """Focus a control and press keys."""
    field.focus()
    for key in keys:
        page.keyboard.press(key)


def test_a_slider_moved_by_keyboard_draws_the_plan_that_fuel_plan_gives(planner, page):
    """Payload, wind, rules; a sentence where no plan is possible; back; nothing scrolls; axe."""
    same = planning_page(load_aircraft("halbrook-180"))
    step = next(c for c in same.controls if c["id"] == "payload")
    press(page, planner.get_by_label("Payload"), "ArrowRight", "ArrowRight")
    press(page, planner.get_by_label("Wind along the route"), "ArrowRight", "ArrowRight")
    same.set(payload=step["value"] + 2 * step["step"], wind=10)
    block = f"block {mass_text(same.outcomes[0].plan.block)}"
    chosen = planner.locator("svg g[data-rule]").first
    chosen.locator("text", has_text=block).wait_for()
    planner.locator("output", has_text="10 kt headwind").wait_for()
    planner.locator("[aria-live]", has_text=block[6:]).wait_for(state="attached")

    planner.get_by_label("Rules for reserve fuel").select_option("faa-domestic / basic")
    same.set(rule="faa-domestic / basic")
    block = f"block {mass_text(same.outcomes[0].plan.block)}"
    chosen.locator("text", has_text=block).wait_for()
    assert chosen.get_attribute("data-rule") == "faa-domestic"

    press(page, planner.get_by_label("Payload"), "End")
    planner.locator(".verdict.none", has_text="No plan by FAA domestic").wait_for()
    planner.locator("svg", has_text="too much").wait_for()
    assert page.evaluate(_OVERFLOWING) == []
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    found = axe.run(page, context=_ROOT).response["violations"]
    assert [(f["id"], [n["html"][:200] for n in f["nodes"]]) for f in found] == []

    count = "document.querySelectorAll('.jp-Notebook .jp-Cell').length"
    press(page, planner.get_by_label("Distance"), "b", "a", "d", "d", "x")
    assert page.evaluate(count) == 1
    planner.get_by_role("button", name="Back to the start").press("Enter")
    planner.locator(".verdict", has_text="Block fuel").wait_for()
    assert page.evaluate(_OVERFLOWING) == []


@pytest.mark.parametrize("name", ["halbrook-40", "halbrook-180", "halbrook-300"])
def test_no_words_of_the_drawing_touch(page, name):
    """With every part in the plan, with none of the smaller ones, and without a plan."""
    planner = planning_page(load_aircraft(name))
    high = {c["id"]: c["high"] for c in planner.controls if "high" in c}
    some = {"extra": 0.5 * high["extra"], "discretionary": 0.5 * high["discretionary"]}
    for change in ({}, some, {"alternate": 0.0}, {"payload": high["payload"]}, {"distance": 50.0}):
        planner._heard(None, {"kind": "start"}, [])
        planner.set(**change)
        page.set_content(f'<div style="width:960px">{planner.drawing}</div>')
        assert page.evaluate(_TOUCHING) == [], change
