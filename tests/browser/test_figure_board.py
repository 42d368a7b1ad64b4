"""A figure sheet in a real JupyterLab, by keyboard alone; on paper, one side, nothing cut off."""

import re
from dataclasses import replace

import nbformat
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.catalogue import SHEETS, draw_sheet, sheets_for
from fuelkit.figures.chain import Given, Step
from fuelkit.show.figure_page import (
    MOST_ON_ONE_PAGE,
    paper_key,
    paper_sheet,
    worked_page,
)
from fuelkit.show.page import CAUTION
from tests.assess.small_sheets import block_sheet, uplift_sheet

_MAKE = """
from fuelkit.show.figure_board import figure_board
from tests.assess.small_sheets import uplift_sheet

drafts = []
board = figure_board(uplift_sheet(), "b", on_draft=lambda answers: drafts.append(dict(answers)))
board
"""
_BOARD = ".fuelkit-board"
# Size of paper less its margins of 10 mm, in CSS pixels (96 an inch).
PAPERS = {"A4": (718, 1046), "Letter": (740, 980)}
# What lies outside the form, or is wider than its own box.
_CLIPPED = """() => {
  const form = document.querySelector('.fuelkit-form').getBoundingClientRect();
  return [...document.querySelectorAll('.fuelkit-form :is(h1,h2,p,dt,dd,th,td,span)')]
    .filter(e => {
      const box = e.getBoundingClientRect();
      return box.width === 0 || box.left < form.left - 1 || box.right > form.right + 1
        || box.bottom > form.bottom + 1 || e.scrollWidth > e.clientWidth + 1
           && getComputedStyle(e).display !== 'inline';
    }).map(e => e.tagName + ' ' + e.textContent.slice(0, 40));
}"""
_BOXES = """() => [...document.querySelectorAll('.box')].map(e => {
  const box = e.getBoundingClientRect();
  return [box.width / 96 * 25.4, box.height / 96 * 25.4];
})"""


# ---------------------------------------------------------------------------------- the board
@pytest.fixture
def board(lab, page, wait_for_idle):
    """Open a notebook, run its cell and give the board on the page."""
    content = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(_MAKE.strip())])
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    place = lab.root / "trial" / "figures.ipynb"
    place.parent.mkdir(exist_ok=True)
    nbformat.write(content, place)
    page.goto(lab.address("trial/figures.ipynb"))
    wait_for_idle(page)
    page.locator(".jp-CodeCell .jp-InputPrompt").first.click()
    page.keyboard.press("Control+Enter")
    found = page.locator(_BOARD)
    found.wait_for()
    return found


def tab_to(page, words):
    """Press Tab until the focus is on what bears these words."""
    for _ in range(40):
        page.keyboard.press("Tab")
        label = page.evaluate("""() => {
          const e = document.activeElement;
          if (!e.closest('.fuelkit-board')) return '';
          const field = e.closest('fieldset')?.querySelector('legend') ?? e.labels?.[0];
          return field?.textContent || e.textContent;
        }""")
        if label.startswith(words):
            return
    raise AssertionError(f"no Tab stop on the board begins with '{words}'")


def write(page, **figures):
    """Type figures in the order of the sheet."""
    for label, text in figures.items():
        tab_to(page, label.replace("_", " "))
        page.keyboard.press("Control+A")
        page.keyboard.type(text)


def test_a_sheet_is_filled_in_compared_and_explained_by_keyboard_alone(board, page):
    """A slip is named, what follows from it earns its mark, and a figure that could mean two
    things is asked again before anything is committed."""
    page.keyboard.press("Escape")
    given = board.locator(".view.figures")
    assert given.is_visible() and "7 600 l" in given.inner_text().replace("\u00a0", " ")
    write(page, Fuel_to_be_uplifted="6.050", Volume_to_ask="7553", Mass_delivered="6,088",
          Fuel_on_board_after="6 088 kg")  # fmt: skip
    tab_to(page, "Is it enough?")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert board.locator("input[value=enough]").is_checked()
    page.keyboard.press("ArrowRight")
    tab_to(page, "Commit")
    page.keyboard.press("Enter")

    board.get_by_role("alert").get_by_text("'6.050' cannot be read (does the point").wait_for()
    assert board.locator(".result").is_hidden() and board.locator(".comparing").count() == 0
    page.keyboard.press("Shift+Tab")  # to the end of the form, and round to its beginning
    for _ in range(8):
        page.keyboard.press("Shift+Tab")
    write(page, Fuel_to_be_uplifted="6 050 kg")
    tab_to(page, "Commit")
    page.keyboard.press("Enter")

    board.get_by_role("heading", name="Compare").wait_for()
    assert "agrees with a slip" not in board.inner_text()
    for _ in range(5):
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
    tab_to(page, "Show the reasons")
    page.keyboard.press("Enter")

    board.get_by_role("heading", name="Your figures and the worked sheet").wait_for()
    rows = [
        text.replace("\u00a0", " ") for text in board.locator(".result tbody tr").all_inner_texts()
    ]
    assert "✓ agrees" in rows[0] and "9 200 kg" in rows[0]
    assert "It agrees with a slip: The fuel on board before was left out." in rows[3]
    assert "Right from your own earlier figure for “Fuel on board after”" in rows[4]
    assert "5 of 6 marks" in board.inner_text()
    assert page.locator(".jp-Notebook .jp-Cell").count() == 1


def test_nothing_on_the_board_tells_an_answer_before_the_commit(board, page):
    """Neither formula nor result lies in the page, seen or unseen."""
    html = board.evaluate("e => e.innerHTML").replace("\u00a0", " ")
    sheet = uplift_sheet()
    values = sheet.worked()
    for step in sheet.steps:
        assert step.words not in html
        assert step.options or step.written(values[step.name]) not in html


# ------------------------------------------------------------------------------------ on paper
def longest_sheet():
    """As many steps as one side takes, with many givens and two cautions of several lines."""
    whole = block_sheet()
    givens = tuple(
        Given(f"g{i}", f"A further figure that is given for the work, number {i}", 1000.0 * i, "kg",
              "from the plan")
        for i in range(10)
    )  # fmt: skip
    label = "Estimated landing mass at the destination alternate"
    more = tuple(
        replace(
            uplift_sheet().steps[0], name=f"s{i}", label=f"{label} {i}", inputs=("trip", "taxi")
        )
        for i in range(MOST_ON_ONE_PAGE - 1 - len(whole.steps))
    )
    last = Step(
        "call", "What do you tell air traffic control?", ("block",), "by the fuel that is left", "",
        lambda block: "MINIMUM FUEL", options=("neither", "MINIMUM FUEL", "MAYDAY FUEL"),
    )  # fmt: skip
    caution = "Stop refuelling at once if fuel runs out at a vent, and have the area cleared. " * 2
    return replace(whole, givens=whole.givens + givens, steps=(*whole.steps, *more, last),
                   cautions=(caution, caution))  # fmt: skip


@pytest.fixture(scope="module", params=["uplift", "longest", *(f"kit {name}" for name in SHEETS)])
def sheet(request):
    """A small sheet, the longest one, and those of the kit that one side takes."""
    if request.param == "longest":
        return longest_sheet()
    if request.param == "uplift":
        return uplift_sheet()
    name = request.param.removeprefix("kit ")
    aircraft = load_aircraft("halbrook-180")
    if name not in sheets_for(aircraft):
        pytest.skip(f"{aircraft.name} has no sheet '{name}'")
    return draw_sheet(name, aircraft, 1)


def pages_of(pdf):
    """Return how many pages a PDF has: its page objects, as Chromium writes them, uncompressed."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


def test_a_form_and_its_key_print_on_one_side_with_nothing_cut_off(page, sheet):
    """On A4 and Letter; boxes are large enough to be written in with a pencil. What has more
    steps than one side takes goes on to a second."""
    page.emulate_media(media="print")
    for paper, (width, height) in PAPERS.items():
        page.set_viewport_size({"width": width, "height": height})
        for make in (paper_sheet, paper_key):
            page.set_content(make(sheet))
            sides = 1 if len(sheet.steps) <= MOST_ON_ONE_PAGE else 2
            assert pages_of(page.pdf(format=paper)) <= sides, (paper, make.__name__)
            assert page.evaluate(_CLIPPED) == [], (paper, make.__name__)
            assert CAUTION in page.locator(".fuelkit-form").inner_text()
            boxes = page.evaluate(_BOXES)
            assert make is paper_key or all(w >= 38.0 and h >= 8.5 for w, h in boxes)


def test_pages_are_counted_and_clipping_is_seen(page):
    """A form with far more steps takes two sides, and a word too long is found: both can fail."""
    whole = longest_sheet()
    more = tuple(replace(s, name=f"{s.name} again") for s in whole.steps)
    twice = replace(whole, steps=(*whole.steps, *more))
    page.set_content(paper_sheet(twice))
    assert pages_of(page.pdf(format="A4")) == 2
    page.locator(".box").first.evaluate("e => { e.style.whiteSpace = 'nowrap';"
                                        " e.textContent = 'wide '.repeat(40); }")  # fmt: skip
    assert len(page.evaluate(_CLIPPED)) == 1


def test_a_form_is_black_on_white_on_a_dark_screen(page):
    """Paper is paper, whatever the screen is."""
    page.emulate_media(color_scheme="dark")
    page.set_content(paper_sheet(uplift_sheet()))
    style = "e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]"
    for part in (".fuelkit-form", "body"):
        assert page.locator(part).evaluate(style) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]


def test_a_worked_page_prints_within_the_paper(page, sheet):
    """No table runs over the edge, and no row is broken between two pages."""
    page.emulate_media(media="print")
    page.set_content(worked_page(sheet).html)
    for width, height in PAPERS.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    broken = "[...document.querySelectorAll('tr')].map(e => getComputedStyle(e).breakInside)"
    assert set(page.evaluate(broken)) == {"avoid"}
