"""The class board in a real JupyterLab: by keyboard alone, on a projector, and when things fail."""

import pytest

from tests.browser.trial import KEEP_BUSY

_MAKE = """
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.show.class_board import ClassBoard
from fuelkit.show.schematic import schematic, schematic_table_html

aircraft = load_aircraft("halbrook-180")
flight = fly(aircraft, load_sector("eastmere-port-ellery", aircraft))
before, after = picture(flight, 1750.0), picture(flight, 1830.0)
pump, valve = "left centre pump", "left transfer valve"
asks = [
    {"id": "pump", "text": "Left centre pump", "kind": "choice",
     "options": ["OFF", "RUN", "LOW PRESS", "FAIL"], "component": pump},
    {"id": "fed", "text": "Engine 1 is fed from", "kind": "choice", "component": "engine 1",
     "options": ["left inboard", "centre", "right inboard", "more than one tank", "no tank"]},
    {"id": "mass", "text": "How much fuel is in the centre tank then?", "kind": "number",
     "unit": "kg", "hint": "counts within 20 kg"},
    {"id": "why", "text": "Why does the pump do that?", "kind": "text"},
]
told, broken = [], []

def reveal(name):
    if broken:
        raise OSError(28, "No space left on device")
    right = {"pump": after.positions[pump], "fed": "left inboard", "mass": "6 800 kg",
             "why": "The high-lift surfaces are out"}[name]
    return {"right": right,
            "reason": "With the high-lift surfaces out each engine draws from its own wing. " * 3,
            "after_drawing": schematic(aircraft, after, title="The computed flight"),
            "after_table": schematic_table_html(aircraft, after)}

board = ClassBoard(
    title="Taxi out: the high-lift surfaces go out", lead="Both engines run. " * 6,
    when="Predict the state at take-off.",
    drawing=schematic(aircraft, before, title="What you see now", asked=(pump, "engine 1")),
    table=schematic_table_html(aircraft, before), figures="<p>Figures</p>", asks=asks,
    on_counts=lambda counts: told.append(counts), on_reveal=reveal,
)
board
"""
_CELLS = [
    _MAKE,
    "told[-1:], board.revealed",
    "broken.append(True)",
    KEEP_BUSY,
    "",
]
_BOARD = ".fuelkit-class"
_SIZES = [(1280, 720), (1920, 1080)]

# Boxes that hold more than they show, and boxes that reach beyond the screen.
_SPILLS = """() => [...document.querySelectorAll('.fuelkit-class, .fuelkit-class *')]
  .filter(e => !e.closest('svg') && !e.closest('.unseen') && e.getClientRects().length)
  .filter(e => {
    const box = e.getBoundingClientRect();
    const inside = getComputedStyle(e).display === 'inline' || e.matches('input')
      || (e.scrollHeight <= e.clientHeight + 1 && e.scrollWidth <= e.clientWidth + 1);
    return !inside || box.bottom > innerHeight + 1 || box.right > innerWidth + 1 || box.top < -1;
  }).map(e => e.outerHTML.slice(0, 120))"""

# The smallest letters on the board, the drawing apart. [px]
_SMALLEST = """() => Math.min(...[...document.querySelectorAll('.fuelkit-class *')]
  .filter(e => !e.closest('svg') && !e.closest('.unseen') && e.getClientRects().length)
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())
    || e.matches('input'))
  .map(e => parseFloat(getComputedStyle(e).fontSize)))"""


@pytest.fixture(scope="module")
def page(open_trial):
    """Give the page on which all of these tests work, one after the other."""
    return open_trial("class_board", _CELLS)


@pytest.fixture
def board(page, run_afresh):
    """Run the notebook's first cell afresh and give its board."""
    return run_afresh(page, _BOARD)


def run_cell(page, number):
    """Run one cell of the notebook by its number."""
    page.locator(".jp-CodeCell").nth(number).locator(".jp-InputPrompt").click()
    page.keyboard.press("Control+Enter")


def output_of(page, number):
    """Run a cell and return what it printed."""
    run_cell(page, number)
    output = page.locator(".jp-CodeCell").nth(number).locator(".jp-OutputArea-output")
    output.wait_for()
    return output.inner_text()


def press(board, name):
    """Press a button by its words."""
    board.get_by_role("button", name=name, exact=True).click()


def full_screen(board, page):
    """Fill the screen with the board."""
    press(board, "Full screen")
    board.get_by_role("button", name="Leave full screen").wait_for()
    page.wait_for_function("document.querySelector('.fuelkit-class').clientHeight >= innerHeight")


def tab_to(page, words):
    """Press Tab until the focus is on the element of the board that bears these words."""
    for _ in range(40):
        page.keyboard.press("Tab")
        label = page.evaluate("""() => {
          const e = document.activeElement;
          return e.closest('.fuelkit-class') ? e.getAttribute('aria-label') || e.textContent : '';
        }""")
        if label.startswith(words):
            return
    raise AssertionError(f"no Tab stop on the board begins with '{words}'")


def focused(page):
    """Return the words of what has the focus."""
    return page.evaluate("document.activeElement.textContent")


def revealed(board, words):
    """Wait until an answer is shown and return its words."""
    board.get_by_role("heading", name=words).wait_for()
    return board.locator(".answer").inner_text()


def test_a_board_is_run_by_keyboard_alone(board, page):
    """Hands by digits and arrows, revealed, next, values heard, all revealed, both drawings."""
    page.keyboard.press("Escape")
    tab_to(page, "Hands for OFF")
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    for key in ("ArrowUp", "ArrowUp", "ArrowUp", "ArrowDown"):
        page.keyboard.press(key)
    assert "14 hands in all" in board.inner_text().replace("\u00a0", " ")
    tab_to(page, "One hand more for RUN")
    page.keyboard.press("Enter")
    page.keyboard.press(" ")
    tab_to(page, "Reveal")
    page.keyboard.press("Enter")

    answer = revealed(board, "✓ Right: OFF").replace("\u00a0", " ")
    assert "12 of 16 hands had it, 75 %" in answer
    assert "each engine draws from its own wing" in answer
    page.wait_for_function("document.activeElement.tagName === 'H4'")
    assert focused(page) == "✓ Right: OFF"
    assert "Right: OFF. 12" in board.locator(".unseen[aria-live]").text_content()
    marked = board.locator(".line.right")
    assert marked.count() == 1 and "OFF" in marked.inner_text()
    assert "✓ computed" in marked.inner_text()

    tab_to(page, "Next")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    assert board.get_by_role("heading", name="3. How much fuel").is_visible()
    page.keyboard.press("Shift+Tab")
    tab_to_first(page)
    tab_to(page, "Value 1 heard")
    page.keyboard.type("6,800")
    page.keyboard.press("Enter")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    assert focused(page) == "Add a value"
    page.keyboard.press("Enter")
    page.keyboard.type("7 000")
    page.keyboard.press("Enter")
    page.keyboard.type("3")
    tab_to(page, "Reveal all")
    page.keyboard.press("Enter")
    answer = revealed(board, "✓ Right: 6 800 kg").replace("\u00a0", " ")
    assert "5 of 8 hands had it, 63 %" in answer
    page.wait_for_function("document.activeElement.tagName === 'H4'")  # before it is moved again

    tab_to_first(page)
    tab_to(page, "Side by side")
    page.keyboard.press("Enter")
    assert board.locator("figure:visible svg").count() == 2
    said = output_of(page, 1)
    assert "'pump': {'OFF': 12, 'RUN': 4}" in said
    assert "'mass': {'6,800': 5, '7 000': 3}" in said
    assert said.endswith("('pump', 'fed', 'mass', 'why'))")


def tab_to_first(page):
    """Put the focus where Tab goes on to the first stop of the board."""
    page.evaluate("document.querySelector('.fuelkit-class').focus()")


def test_a_projectors_remote_turns_the_questions(board, page):
    """Page down and page up in full screen."""
    full_screen(board, page)
    page.keyboard.press("PageDown")
    assert board.get_by_role("heading", name="2. Engine 1 is fed from").is_visible()
    page.keyboard.press("PageUp")
    assert board.get_by_role("heading", name="1. Left centre pump").is_visible()


@pytest.mark.parametrize("size", _SIZES)
def test_everything_is_seen_at_once_in_large_type(board, page, size):
    """Every question and view: nothing scrolls or runs out; letters of 22 px at 720, 33 at 1080."""
    width, height = size
    page.set_viewport_size({"width": width, "height": height})
    full_screen(board, page)

    def check(what):
        assert page.evaluate(_SPILLS) == [], what
        assert page.evaluate(_SMALLEST) >= 22.0 * height / 720.0 - 0.01, what

    for number in (1, 2, 3, 4):
        check(f"question {number}")
        if number < 4:
            press(board, "Next ▶")
    press(board, "◀ Previous")
    for number in range(6):
        if number:
            press(board, "Add a value")
        board.get_by_label(f"Value {number + 1} heard").fill(f"6 {number}00 kg")
        board.get_by_role("spinbutton").nth(number).fill("100")
    check("six values heard")
    press(board, "Reveal all")
    revealed(board, "✓ Right: 6 800 kg")
    for number in (4, 3, 2, 1):
        page.locator(f"{_BOARD} nav button").nth(number - 1).click()
        check(f"question {number} revealed")
    for view in ("What the aircraft did", "Side by side", "Table", "Figures", "All questions"):
        press(board, view)
        check(view)
    press(board, "Enlarge drawing")
    check("the drawing alone")
    assert board.locator("figure:visible svg").bounding_box()["height"] > 0.75 * height


def test_a_long_table_is_turned_over_in_leaves(board, page):
    """All its rows come up once, none is cut off, nothing scrolls."""
    full_screen(board, page)
    press(board, "Table")
    count = board.locator(".sheet tbody tr").count()
    seen = []
    for _ in range(count):
        rows = board.locator(".sheet tbody tr:visible")
        seen += rows.all_inner_texts()
        assert page.evaluate(_SPILLS) == []
        later = board.get_by_role("button", name="▼ Rows after")
        if later.get_attribute("aria-disabled") == "true":
            break
        later.click()
    assert len(seen) == count > 20
    assert len(set(seen)) == len(set(board.locator(".sheet tbody tr").all_text_contents()))


def test_nothing_tells_the_answer_before_it_is_revealed(board, page):
    """No mark, no answer and no second drawing on the page; the symbol shows what is asked."""
    shown = page.locator('[data-component="left centre pump"] > [data-variant]:not([display])')
    assert shown.text_content() == "then ?"
    assert board.locator(".line.right").count() == 0
    assert board.get_by_role("button", name="What the aircraft did").count() == 0
    assert "each engine draws" not in board.evaluate("board => board.outerHTML")

    press(board, "Reveal")
    revealed(board, "✓ Right: OFF")
    assert shown.text_content() == "then OFF"
    assert "each engine draws" in board.evaluate("board => board.outerHTML")
    assert board.get_by_role("button", name="What the aircraft did").count() == 0


def test_starting_again_takes_two_steps_and_clears_all(board, page):
    """Escape and No keep everything; Yes hides the answers and sets the counts to nought."""
    board.get_by_role("spinbutton").first.fill("7")
    press(board, "Reveal all")
    revealed(board, "✓ Right: OFF")

    press(board, "Hide again")
    assert "Start again for another class?" in board.inner_text()
    assert focused(page) == "No, keep them"
    page.keyboard.press("Escape")
    assert focused(page) == "Hide again"
    assert board.locator(".answer").is_visible()
    press(board, "Hide again")
    press(board, "Yes, start again")

    board.locator(".answer").wait_for(state="hidden")
    assert board.get_by_role("spinbutton").first.input_value() == "0"
    assert board.get_by_role("button", name="Side by side").count() == 0
    assert output_of(page, 1) == "([{}], ())"


def test_what_cannot_be_counted_is_told(board, page):
    """Too many hands, a value that is no figure, a value twice: said, and not counted."""
    field = board.get_by_role("spinbutton").first
    field.fill("501")
    alert = board.get_by_role("alert")
    assert "Hands is 501; it must be a whole number from 0 to 500." in alert.inner_text()
    assert field.input_value() == "0"
    field.fill("3x")
    assert field.input_value() == "3"
    assert alert.is_hidden()

    page.locator(f"{_BOARD} nav button").nth(2).click()
    value = board.get_by_label("Value 1 heard")
    value.fill("about 6")
    value.press("Enter")
    assert "Value is “about 6”; it must be a figure such as 3 250 kg." in alert.inner_text()
    value.fill("6 800")
    value.press("Enter")
    assert alert.is_hidden()
    press(board, "Add a value")
    board.get_by_label("Value 2 heard").fill("6 800")
    board.get_by_label("Value 2 heard").press("Enter")
    assert "“6 800” is in the list already" in alert.inner_text()


def test_an_error_in_python_is_told_and_nothing_is_revealed(board, page):
    """In plain words, as an alert, also with the board in full screen."""
    run_cell(page, 2)
    board.get_by_role("button", name="Reveal", exact=True).click()
    alert = board.get_by_role("alert")
    alert.wait_for()
    assert "The answer is not revealed." in alert.inner_text()
    assert "No space left on device" in alert.inner_text()
    assert board.locator(".answer").is_hidden()
    assert audit(page) == []


def test_a_reveal_that_must_wait_is_said_and_then_comes(board, page, go_on):
    """While the notebook computes something else, one is told why nothing happens."""
    run_cell(page, 3)
    page.locator("#jp-bottom-panel").get_by_text("| Busy").wait_for()
    press(board, "Reveal")
    alert = board.get_by_role("alert")
    alert.wait_for()
    assert "No answer has come yet" in alert.inner_text()
    go_on()
    revealed(board, "✓ Right: OFF")
    alert.wait_for(state="hidden")


def test_no_key_on_the_board_reaches_the_notebook(board, page):
    """Each element that takes the focus, and the ground of the board itself."""
    page.locator(f"{_BOARD} nav button").nth(2).click()
    cells = "[...document.querySelectorAll('.jp-Notebook .jp-Cell')].map(c => c.className).join()"
    count = page.evaluate("""() => {
      window.stops = [...document.querySelectorAll(
        '.fuelkit-class button, .fuelkit-class input, .fuelkit-class [tabindex], .fuelkit-class')]
        .filter(e => e.getClientRects().length);
      return window.stops.length;
    }""")
    assert count >= 15
    assert page.evaluate(
        "window.stops.every(e => e.getAttribute('data-lm-suppress-shortcuts') === 'true')"
    )
    page.evaluate("window.stops[0].focus()")
    first = page.evaluate(cells)
    for number in range(count):
        page.evaluate("number => window.stops[number].focus()", number)
        for key in ("b", "a", "d", "d", "x", "m", "y", "ArrowDown", "ArrowUp"):
            page.keyboard.press(key)
        assert page.evaluate(cells) == first, number
    board.locator("h4").first.click()
    page.keyboard.press("b")
    assert page.evaluate(cells) == first


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_axe_finds_no_fault(board, page, theme):
    """The axe-core rules in each state of the board, in the light theme and in the dark."""
    try:
        choose(page, theme)
        assert audit(page) == []
        board.get_by_role("spinbutton").first.fill("7")
        press(board, "Reveal all")
        revealed(board, "✓ Right: OFF")
        assert audit(page) == []
        for view in ("Side by side", "Table", "All questions"):
            press(board, view)
            assert audit(page) == []
        page.locator(f"{_BOARD} nav button").nth(2).click()
        assert audit(page) == []
        press(board, "Hide again")
        assert audit(page) == []
    finally:
        choose(page, "JupyterLab Light")


def choose(page, theme):
    """Choose a theme of JupyterLab by its menu."""
    page.get_by_role("menuitem", name="Settings", exact=True).click()
    page.locator(".lm-Menu-item", has_text="Theme").first.hover()
    page.locator(".lm-Menu-itemLabel").get_by_text(theme, exact=True).click()
    dark = "false" if theme.endswith("Dark") else "true"
    page.wait_for_selector(f'body[data-jp-theme-light="{dark}"]', state="attached")


def audit(page):
    """Return what the axe accessibility rules find fault with on the board."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.wait_for_timeout(300)  # colours and bars take a fifth of a second to change
    found = axe.run(page, context=_BOARD).response["violations"]
    return [(fault["id"], [node["html"][:200] for node in fault["nodes"]]) for fault in found]
