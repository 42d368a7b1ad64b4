"""The summary sheet printed by a real browser: one page of A4 and of Letter, nothing cut off."""

import re

import pytest

from fuelkit.assess.flights import flight_of
from fuelkit.show.charts import quantities_page
from fuelkit.show.palette import DARK, INK, PAPER, SAFETY
from fuelkit.show.summary_sheet import summary_sheet, write_sheet_file
from fuelkit.show.viewer import Viewer

# Size of paper less its margins of 10 mm, in CSS pixels (96 an inch).
PAPERS = {"A4": (718, 1046), "Letter": (740, 980)}
MM = 96.0 / 25.4

LINE = (
    "The centre pumps feed both engines for as long as they run; they rest while the inboard "
    "tanks are full"
)
FULL = {
    "title": "Cruise: which tank feeds, when it changes, and what the crew is told of it",
    "goals": ["say which tank feeds each engine at any moment of the cruise, and why it does"] * 4,
    "lines": [f"{LINE} ({i})." for i in range(1, 13)],
    "cautions": [
        "A suspected leak: follow the approved manual at once, land as it says, and keep people "
        "and sources of ignition away after landing; the fire service is told beforehand.",
        "Fuel that runs out at a vent: have refuelling stopped at once and clear the area.",
    ],
    "sources": ["14 CFR 25.1337(b): fuel quantity indicator", "Invented aircraft and flight."],
}

# What is drawn outside its own box, or outside the sheet; and the size of drawing and sheet.
_CLIPPED = """() => {
  const sheet = document.querySelector('.fuelkit-sheet').getBoundingClientRect();
  const cut = [...document.querySelectorAll('.fuelkit-sheet :is(h1,h2,li,p,svg,svg text)')]
    .filter(e => {
      const box = e.getBoundingClientRect();
      return box.width === 0 || box.left < sheet.left - 1 || box.right > sheet.right + 1
        || box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1
        || (!(e instanceof SVGElement) && e.scrollWidth > e.clientWidth + 1);
    }).map(e => e.textContent.slice(0, 40));
  const drawing = document.querySelector('.fuelkit-sheet svg');
  const figure = drawing && drawing.getBoundingClientRect();
  return {cut, height: sheet.height, width: sheet.width, figure: figure && figure.height};
}"""
# Pairs of blocks of the sheet that lie on one another.
_OVERLAPS = """() => {
  const blocks = [...document.querySelector('.fuelkit-sheet').children]
    .map(e => e.getBoundingClientRect());
  return blocks.slice(1).filter((b, i) => b.top < blocks[i].bottom - 0.5).length;
}"""


@pytest.fixture(scope="module")
def flight():
    """The course's first flight."""
    return flight_of("halbrook-180", "eastmere-port-ellery")


def longest(pages):
    """Return the sheet with the most words that is not refused: its lines grow word by word."""
    words, sheet = 20, None
    while True:
        lines = [" ".join(f"word{'s' * (n % 5)}" for n in range(words + i % 3)) for i in range(12)]
        try:
            sheet = summary_sheet(FULL["title"], FULL["goals"], lines, pages, FULL["cautions"])
        except ValueError:
            return sheet
        words += 1


@pytest.fixture(
    scope="module",
    params=["chart", "drawing", "words alone", "little", "longest", "longest words"],
)
def sheet(request, flight):
    """A full sheet with a chart, a drawing or neither, one of few words, the longest ones."""
    chart = quantities_page(flight)
    if request.param.startswith("longest"):
        return longest([] if "words" in request.param else [chart])
    if request.param == "little":
        return summary_sheet("Start", ["say what runs"], ["Six pumps."], [chart])
    pages = {"chart": [chart], "drawing": [Viewer(flight).drawing_at("2:00:00")]}
    return summary_sheet(**FULL, pages=pages.get(request.param, ()))


def opened(page, sheet, tmp_path):
    """Write the sheet to a file and open it as a learner does."""
    path = tmp_path / "summary.html"
    write_sheet_file(path, sheet)
    page.goto(path.as_uri())


def pages_of(pdf):
    """Return how many pages a PDF has: its page objects, as Chromium writes them, uncompressed."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("paper", PAPERS)
def test_a_sheet_prints_on_exactly_one_page(page, sheet, tmp_path, paper):
    """In A4 and in Letter, whatever is on it."""
    opened(page, sheet, tmp_path)

    pdf = page.pdf(format=paper, prefer_css_page_size=False,
                   margin=dict.fromkeys(("top", "right", "bottom", "left"), "10mm"))  # fmt: skip
    assert pages_of(pdf) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_the_sheets_own_margins_give_one_page_too(page, sheet, tmp_path, paper):
    """Without a word from the one who prints."""
    opened(page, sheet, tmp_path)

    assert pages_of(page.pdf(format=paper)) == 1


def test_pages_are_counted_right(page):
    """Two sheets' height of words are two pages, so that the count can fail."""
    page.set_content("<p>one</p><p style='break-before:page'>two</p>")
    assert pages_of(page.pdf(format="A4")) == 2


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_of_a_printed_sheet_is_cut_off(page, sheet, tmp_path, paper):
    """All words lie on the paper, none on another, and the drawing is large enough to be read."""
    page.set_viewport_size(dict(zip(("width", "height"), PAPERS[paper], strict=True)))
    page.emulate_media(media="print")
    opened(page, sheet, tmp_path)
    found = page.evaluate(_CLIPPED)

    assert found["cut"] == []
    assert page.evaluate(_OVERLAPS) == 0
    assert found["height"] <= PAPERS[paper][1]
    assert found["width"] <= PAPERS[paper][0]
    assert found["figure"] is None or found["figure"] >= 70.0 * MM
    assert SAFETY in page.locator(".fuelkit-sheet").inner_text()
    assert not page.locator(".how").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_sheet_is_black_on_white_whatever_the_screen_is(page, sheet, tmp_path, scheme):
    """On a dark screen too, drawing and words."""
    page.emulate_media(color_scheme=scheme)
    opened(page, sheet, tmp_path)

    style = "e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]"
    for part in (".fuelkit-sheet", "body"):
        assert page.locator(part).evaluate(style) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    for ground in page.locator(".fuelkit-sheet svg > rect").all()[:1]:
        assert ground.evaluate("e => getComputedStyle(e).fill") == "rgb(255, 255, 255)"
    assert page.locator(".how").is_visible()


def test_in_a_dark_notebook_a_sheet_is_dark_and_prints_white(page, sheet, tmp_path):
    """No white patch on a dark screen; on paper it stays black on white."""
    opened(page, sheet, tmp_path)
    page.evaluate("document.body.setAttribute('data-jp-theme-light', 'false')")
    style = "e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]"
    dim = [f"rgb({', '.join(str(int(DARK[c][i : i + 2], 16)) for i in (1, 3, 5))})"
           for c in (INK, PAPER)]  # fmt: skip
    assert page.locator(".fuelkit-sheet").evaluate(style) == dim
    page.emulate_media(media="print")
    assert page.locator(".fuelkit-sheet").evaluate(style) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
