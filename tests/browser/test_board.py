"""The prediction board in a real JupyterLab: by keyboard alone, by mouse, and when things fail."""

import pytest

from fuelkit.assess.written import read_mass, read_time
from fuelkit.show.board import PredictionBoard
from fuelkit.show.palette import DARK, INK, PAPER
from tests.browser.trial import KEEP_BUSY

_BASE = (INK, PAPER)

_MAKE = """
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.show.board import PredictionBoard
from fuelkit.show.schematic import schematic, schematic_table_html

aircraft = load_aircraft("halbrook-180")
flight = fly(aircraft, load_sector("eastmere-port-ellery", aircraft))
before, after = picture(flight, 1750.0), picture(flight, 1830.0)
names = ("left centre pump", "left transfer valve")
tanks = [tank.name for tank in aircraft.tanks if tank.holds_fuel] + ["not fed"]
asks = [
    {"id": n, "text": n.capitalize(), "kind": "choice", "options": ["OFF", "RUN"]
     if "pump" in n else ["SHUT", "OPEN"], "component": n} for n in names
] + [
    {"id": "fed", "text": "Engine 1 is fed from", "kind": "choice", "options": tanks},
    {"id": "mass", "text": "Fuel in the centre tank", "kind": "number", "unit": "kg"},
    {"id": "when", "text": "When does the left centre pump stop?", "kind": "time"},
]
drafts = []

def committed(answers):
    if answers["mass"] == "1":
        raise OSError(28, "No space left on device")
    right = {n: after.positions[n] for n in names} | {"fed": "left inboard", "mass": "", "when": ""}
    rows = [
        {"id": k, "text": ask["text"], "given": answers[k], "right": right[k],
         "is_right": answers[k] == right[k], "reason": "the reason"}
        for ask in asks for k in [ask["id"]]
    ]
    return {
        "comparison": rows, "note": f"{sum(r['is_right'] for r in rows)} of 5 as predicted.",
        "after_drawing": schematic(aircraft, after, title="The computed flight", predicted=answers),
        "after_table": schematic_table_html(aircraft, after),
    }

board = PredictionBoard(
    title="Taxi out: the high-lift surfaces go out", lead="Both engines run.", when="Predict.",
    drawing=schematic(aircraft, before, title="What you see now", asked=names),
    table=schematic_table_html(aircraft, before), figures="<p>Figures</p>", asks=asks,
    on_draft=lambda answers: drafts.append(dict(answers)), on_commit=committed,
)
board
"""
_CELLS = [
    _MAKE,
    KEEP_BUSY,
    "drafts[-1:], board.answers, board.committed",
    KEEP_BUSY,
    "",
]
_BOARD = ".fuelkit-board"


@pytest.fixture(scope="module")
def page(open_trial):
    """Give the page on which all of these tests work, one after the other."""
    return open_trial("board", _CELLS)


@pytest.fixture
def board(page, run_afresh):
    """Run the notebook's first cell afresh and give its board."""
    return run_afresh(page, _BOARD)


def run_cell(page, number):
    """Run one cell of the notebook by its number."""
    page.locator(".jp-CodeCell").nth(number).locator(".jp-InputPrompt").click()
    page.keyboard.press("Control+Enter")


def cells(page):
    """Return how many cells there are and which one is active."""
    return page.evaluate("""() => {
      const all = [...document.querySelectorAll('.jp-Notebook .jp-Cell')];
      return [all.length, all.findIndex(cell => cell.classList.contains('jp-mod-active')),
              all.map(cell => cell.querySelector('.jp-InputPrompt').textContent).join()];
    }""")


def shown(page, component):
    """Return the variant that shows on the drawing for a component."""
    return page.locator(f'[data-component="{component}"] > [data-variant]:not([display])')


def tab_to(page, board, words):
    """Press Tab until the focus is on the element of the board that bears these words."""
    for _ in range(40):
        page.keyboard.press("Tab")
        label = page.evaluate("""() => {
          const e = document.activeElement;
          if (!e.closest('.fuelkit-board')) return '';
          const field = e.closest('fieldset')?.querySelector('legend') ?? e.labels?.[0];
          return e.getAttribute('aria-label') || field?.textContent || e.textContent;
        }""")
        if label.startswith(words):
            return
    raise AssertionError(f"no Tab stop on the board begins with '{words}'")


def test_a_prediction_is_made_and_compared_by_keyboard_alone(board, page):
    """From the notebook by Tab into the board, every control set, committed, compared."""
    page.keyboard.press("Escape")
    tab_to(page, board, "Left centre pump")
    page.keyboard.press("Enter")
    assert shown(page, "left centre pump").text_content() == "then OFF"
    tab_to(page, board, "Left transfer valve")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press(" ")
    assert shown(page, "left transfer valve").text_content() == "then SHUT"
    tab_to(page, board, "Engine 1 is fed from")
    page.keyboard.type("left in")
    tab_to(page, board, "Fuel in the centre tank")
    page.keyboard.type("6,800")
    tab_to(page, board, "When does")
    page.keyboard.type("0:29:30")
    tab_to(page, board, "Commit")
    page.keyboard.press("Enter")

    heading = board.get_by_role("heading", name="Your prediction and the computed flight")
    heading.wait_for()
    page.wait_for_function("document.activeElement.tagName === 'H4'")
    assert page.evaluate("document.activeElement.textContent") == heading.text_content()
    rows = board.locator(".result tbody tr").all_inner_texts()
    assert rows[0].split("\t") == ["Left centre pump", "OFF", "OFF", "✓ agrees", "the reason"]
    assert "3 of 5 as predicted." in board.inner_text()
    board.get_by_role("button", name="What the aircraft did").wait_for()
    assert board.locator(".panel").is_hidden()
    assert "3 of 5" in board.locator("[aria-live]").text_content()
    board.get_by_role("button", name="Side by side").click()
    assert board.locator(".stage svg:visible").count() == 2


def test_who_has_gone_on_to_another_board_is_not_pulled_back(board, page):
    """The result takes the focus only from its own board."""
    fill(board)
    page.evaluate("""() => {
      const next = document.createElement("section");
      next.className = "fuelkit-board";
      next.innerHTML = "<button id=elsewhere>next board</button>";
      document.querySelector(".fuelkit-board").after(next);
      window.wasPulled = false;
      next.firstChild.addEventListener("blur", () => { window.wasPulled = true; });
    }""")
    page.evaluate("""() => {
      const all = [...document.querySelectorAll(".fuelkit-board button")];
      all.find((b) => b.textContent.startsWith("Commit")).click();
      document.getElementById("elsewhere").focus();
    }""")
    board.get_by_role("heading", name="Your prediction and the computed flight").wait_for()
    page.wait_for_timeout(1000)
    assert not page.evaluate("window.wasPulled")


def test_what_is_open_is_said_and_nothing_is_committed(board, page):
    """The button stays off, with a sentence that names what is missing or cannot be read."""
    commit = board.get_by_role("button", name="Commit")

    assert commit.get_attribute("aria-disabled") == "true"
    described = page.locator(f"#{commit.get_attribute('aria-describedby')}")
    assert described.text_content().startswith(
        "Still to answer: Left centre pump; Left transfer valve; Engine 1 is fed from; 2 more."
    )
    fill(board, when="at noon")
    assert described.text_content() == (
        "When does the left centre pump stop: write a time such as 1:32:00."
    )
    commit.click(force=True)
    page.wait_for_timeout(500)
    assert board.locator(".result").is_hidden()


def fill(board, *, mass="6 800", when="0:29:30"):
    """Set every control of the panel."""
    board.get_by_role("radio", name="OFF").check(force=True)
    board.get_by_role("radio", name="SHUT").check(force=True)
    board.get_by_label("Engine 1 is fed from").select_option("left inboard")
    board.get_by_label("Fuel in the centre tank").fill(mass)
    board.get_by_label("When does").fill(when)


def test_no_key_on_the_board_reaches_the_notebook(board, page):
    """Each element that takes the focus: no cell is added, deleted, moved, changed or run."""
    first = cells(page)
    count = page.evaluate("""() => {
      window.stops = [...document.querySelectorAll(
        '.fuelkit-board button, .fuelkit-board input, .fuelkit-board select, '
        + '.fuelkit-board summary, .fuelkit-board [tabindex]')]
        .filter(e => e.getClientRects().length);
      return window.stops.length;
    }""")
    assert count >= 10
    for number in range(count):
        page.evaluate("number => window.stops[number].focus()", number)
        acts = page.evaluate("document.activeElement.matches('.commit, .larger')")
        keys = ["b", "a", "d", "d", "x", "z", "m", "y", "c", "v", "ArrowDown", "ArrowUp"]
        for key in keys + ([] if acts else ["Enter"]):
            page.keyboard.press(key)
        assert cells(page) == first, page.evaluate("document.activeElement.outerHTML")
    marked = page.evaluate(
        "window.stops.every(e => e.getAttribute('data-lm-suppress-shortcuts') === 'true')"
    )
    assert marked


def _told(page, words):
    """Whether the kernel comes to tell, within seconds, that so much is predicted.

    A draft may reach it just after what is run at once when it has become idle.
    """
    output = page.locator(".jp-CodeCell").nth(2).locator(".jp-OutputArea-output")
    for _ in range(20):
        run_cell(page, 2)
        page.locator("#jp-bottom-panel").get_by_text("| Idle").wait_for()
        output.wait_for()
        if output.inner_text().startswith(words):
            return True
        page.wait_for_timeout(250)
    return False


def test_a_click_is_drawn_while_the_kernel_is_busy(board, page, go_on):
    """The symbol changes in the browser, without waiting for Python; the draft follows."""
    run_cell(page, 1)
    page.locator("#jp-bottom-panel").get_by_text("| Busy").wait_for()

    page.locator('[data-component="left centre pump"]').click()
    page.locator('[data-component="left centre pump"]').click()

    assert shown(page, "left centre pump").text_content() == "then RUN"
    assert page.locator("#jp-bottom-panel").get_by_text("| Busy").count() == 1
    group = page.get_by_role("button", name="Left centre pump: your prediction RUN.")
    assert group.get_attribute("aria-label").endswith("Press Enter to change.")
    assert board.get_by_role("radio", name="RUN").is_checked()
    go_on()
    page.locator("#jp-bottom-panel").get_by_text("| Idle").wait_for()
    assert _told(page, "([{'left centre pump': 'RUN'}],")


def test_an_error_in_python_is_told_and_the_next_try_succeeds(board, page):
    """In plain words, as an alert; what was set is still there."""
    fill(board, mass="1")
    board.get_by_role("button", name="Commit").click()

    alert = board.get_by_role("alert")
    alert.wait_for()
    assert "Your prediction is not committed." in alert.inner_text()
    assert "No space left on device" in alert.inner_text()
    assert board.get_by_label("When does").input_value() == "0:29:30"
    board.get_by_label("Fuel in the centre tank").fill("6 800")
    board.get_by_role("button", name="Commit").click()
    board.locator(".result").wait_for()
    alert.wait_for(state="hidden")


def test_a_commit_that_must_wait_is_said_and_then_goes_through(board, page, go_on):
    """While the notebook computes something else, the learner is told why nothing happens."""
    fill(board)
    run_cell(page, 3)
    page.locator("#jp-bottom-panel").get_by_text("| Busy").wait_for()
    board.get_by_role("button", name="Commit").click()

    alert = board.get_by_role("alert")
    alert.wait_for()
    assert "No answer has come yet" in alert.inner_text()
    assert board.locator(".result").is_hidden()
    go_on()
    board.locator(".result").wait_for()
    alert.wait_for(state="hidden")


def test_after_the_commit_nothing_can_be_changed(board, page):
    """Symbols are locked; the widget in Python holds what was committed."""
    fill(board)
    board.get_by_role("button", name="Commit").click()
    board.locator(".result").wait_for()
    board.get_by_role("button", name="Before").click()

    symbol = page.locator('[data-component="left centre pump"]')
    symbol.click(force=True)
    symbol.press("Enter")

    assert symbol.get_attribute("aria-disabled") == "true"
    assert shown(page, "left centre pump").text_content() == "then OFF"
    run_cell(page, 2)
    output = page.locator(".jp-CodeCell").nth(2).locator(".jp-OutputArea-output")
    output.wait_for()
    assert "'left centre pump': 'OFF'" in output.inner_text()
    assert output.inner_text().endswith("True)")


def test_drawing_and_table_take_turns(board):
    """Every drawing has its table, one press away."""
    assert board.locator(".stage table").is_hidden()
    board.get_by_role("button", name="As a table").click()

    assert board.get_by_role("row", name="Left centre pump override pump").is_visible()
    assert board.locator(".stage svg").is_hidden()


def test_it_can_be_read_in_the_dark_theme(board, page):
    """Light letters on a dark ground, the drawing's own colours too, and no fault for axe."""

    def choose(theme):
        page.get_by_role("menuitem", name="Settings", exact=True).click()
        page.locator(".lm-Menu-item", has_text="Theme").first.hover()
        page.locator(".lm-Menu-itemLabel").get_by_text(theme, exact=True).click()
        dark = "false" if theme.endswith("Dark") else "true"
        page.wait_for_selector(f'body[data-jp-theme-light="{dark}"]', state="attached")

    try:
        choose("JupyterLab Dark")
        colours = board.evaluate("""root =>
          [root, ...root.querySelectorAll('h3, p, td, button, input')]
          .map(e => getComputedStyle(e)).map(s => [s.color, s.backgroundColor].join(' on '))""")
        ink, paper = (f"rgb({', '.join(map(str, bytes.fromhex(DARK[c][1:])))})" for c in _BASE)
        assert colours[0] == f"{ink} on {paper}"
        assert not any(c.startswith("rgb(17, 17, 17)") for c in colours)
        assert drawn(page, "svg > rect") == paper and drawn(page, "svg text") == ink
        assert audit(page) == []
    finally:
        choose("JupyterLab Light")


def drawn(page, place):
    """Return the colour in which the first such shape of the drawing is filled."""
    return page.evaluate(
        "place => getComputedStyle(document.querySelector(`.fuelkit-board ${place}`)).fill", place
    )


def test_targets_are_large_enough(board, page):
    """24 by 24 pixels at least (WCAG 2.2, success criterion 2.5.8), symbols included."""
    sizes = page.evaluate("""() => [...document.querySelectorAll(
      '.fuelkit-board button, .fuelkit-board .choice, .fuelkit-board select, '
      + '.fuelkit-board input[type=text], .fuelkit-board summary, .fuelkit-board .asked-area')]
      .map(e => e.getBoundingClientRect()).filter(r => r.width).map(r => [r.width, r.height])""")

    assert len(sizes) > 10
    assert all(width >= 24.0 and height >= 24.0 for width, height in sizes)


def audit(page):
    """Return what the axe accessibility rules find fault with on the board."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    found = axe.run(page, context=_BOARD).response["violations"]
    return [(fault["id"], [node["html"][:200] for node in fault["nodes"]]) for fault in found]


def test_axe_finds_no_fault(board, page):
    """The axe-core rules, before, with a table, with an error, and after the commit."""
    assert audit(page) == []
    board.get_by_role("button", name="As a table").click()
    assert audit(page) == []
    fill(board, mass="1")
    board.get_by_role("button", name="Commit").click()
    board.get_by_role("alert").wait_for()
    assert audit(page) == []
    board.get_by_label("Fuel in the centre tank").fill("6 800")
    board.get_by_role("button", name="Commit").click()
    board.locator(".result").wait_for()
    assert audit(page) == []


WRITTEN = [
    "12 500", "12,500", "12500", "12.5 t", "12,5 t", "12,500 kg", "7000lb", "-3", "+3", "3.", ".5",
    "1e9", "about 3000", "12 50 0", "1,23,456", "1,234.5", "", "kg", "12\u00a0500", "1" * 21,
    "1:32:05", "1:32", "1h32", "1 h 32 min", "1h32m05s", "92", "1:75", "1:32:75", "123:00", "1:2",
    "0:29:30", "1:32:", "noon", "92 min", "92min", "12345 min",
]  # fmt: skip


def test_the_board_reads_figures_and_times_as_the_marking_does(page):
    """What the board lets through, the marking can read, and the other way round."""
    source = PredictionBoard._esm
    found = page.evaluate(
        """async ([source, written]) => {
          const url = URL.createObjectURL(new Blob([source], {type: 'text/javascript'}));
          const { readable } = await import(url);
          return written.map(text => [readable('number', text), readable('time', text)]);
        }""",
        [source, WRITTEN],
    )
    for text, (number, time) in zip(WRITTEN, found, strict=True):
        assert number == (read_mass(text) is not None), text
        assert time == (read_time(text) is not None), text
