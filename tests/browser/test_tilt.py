"""The tank explorer in a real JupyterLab: by keyboard, for what it draws and what it tells."""

import nbformat
import pytest

_MAKE = """
from fuelkit.aircraft.load import load_aircraft
from fuelkit.show.tilt import tank_explorer

explorer = tank_explorer(load_aircraft("halbrook-180"))
explorer
"""
_ROOT = ".fuelkit-tilt"


@pytest.fixture(scope="module")
def notebook(lab):
    """Write a notebook with an explorer and give its place in the lab's folder."""
    cells = [nbformat.v4.new_code_cell(_MAKE.strip()), nbformat.v4.new_code_cell("explorer.rest")]
    content = nbformat.v4.new_notebook(cells=cells)
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    place = lab.root / "trial" / "tilt.ipynb"
    place.parent.mkdir(exist_ok=True)
    nbformat.write(content, place)
    return "trial/tilt.ipynb"


@pytest.fixture
def explorer(lab, page, notebook, wait_for_idle):
    """Open the notebook, run its first cell and give the explorer on the page."""
    page.goto(lab.address(notebook))
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


def test_every_control_is_set_by_keyboard_and_all_is_drawn_again(explorer, page):
    """Tank, fill, pitch, roll, temperature, density, cut: told beside it, drawn, and computed."""
    press(page, explorer.get_by_label("Fuel put in at 15 °C"), "End")
    explorer.get_by_text("100 % of the highest fill").wait_for()
    press(page, explorer.get_by_label("Pitch"), "ArrowRight", "ArrowRight")
    explorer.locator("output", has_text="1° nose up").wait_for()
    press(page, explorer.get_by_label("Roll"), "ArrowLeft", "ArrowLeft")
    explorer.locator("output", has_text="0.5° left wing down").wait_for()
    press(page, explorer.get_by_label("Temperature of the fuel"), "End")
    explorer.locator("output", has_text="55 °C").wait_for()
    press(page, explorer.get_by_label("Density at 15 °C"), "Home")
    explorer.locator("output", has_text="775 kg/m³").wait_for()
    press(page, explorer.get_by_label("Side view cuts at"), "ArrowLeft")
    explorer.locator("output", has_text="2.15 m left").wait_for()

    explorer.locator(".tables p", has_text="it runs over into the left vent surge tank").wait_for()
    svg = explorer.locator("svg")
    assert "1° nose up, 0.5° left wing down; fuel at 55 °C" in svg.text_content()
    assert "cut 2.15 m left of the middle" in svg.text_content()
    live = explorer.locator("[aria-live]", has_text="1° nose up")
    live.wait_for(state="attached")

    press(page, explorer.get_by_label("Tank", exact=True), *"cent")
    explorer.locator("svg", has_text="Centre tank, cut").wait_for()
    explorer.locator("output", has_text="70 % of the highest fill").wait_for()
    explorer.get_by_role("button", name="Back to the start").press("Enter")
    explorer.locator("svg", has_text="Left inboard tank, cut 2.10 m").wait_for()
    assert explorer.get_by_label("Pitch").input_value() == "0"


def test_no_key_reaches_the_notebook_and_axe_finds_no_fault(explorer, page):
    """No cell is added, deleted or left; names, contrast and roles pass the axe-core rules."""
    count = "document.querySelectorAll('.jp-Notebook .jp-Cell').length"
    before = page.evaluate(count)
    fields = explorer.locator("input, select, button")
    assert fields.count() == 8
    for field in fields.all():
        press(page, field, "b", "a", "d", "d", "x", "ArrowDown", "ArrowUp")
        assert page.evaluate(count) == before
        assert field.get_attribute("data-lm-suppress-shortcuts") == "true"
        assert field.evaluate("e => e === document.activeElement")
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    found = axe.run(page, context=_ROOT).response["violations"]
    assert [(f["id"], [n["html"][:200] for n in f["nodes"]]) for f in found] == []
