"""The summary sheet: everything is on it, what does not fit is refused, its file is whole."""

import re

import pytest

from fuelkit.show.charts import quantities_page
from fuelkit.show.page import Page, table_page
from fuelkit.show.palette import SAFETY
from fuelkit.show.summary_sheet import MOST_LINES, summary_sheet, write_sheet_file

GOALS, LINES = ["say which tank feeds"], ["The centre tank is used first."]


@pytest.fixture(scope="module")
def chart(flight):
    """A chart of the course's first flight."""
    return quantities_page(flight)


def test_everything_that_was_given_is_on_the_sheet_once(chart):
    """In the page and in the plain text, with the sentence that it is a training aid."""
    sheet = summary_sheet("Cruise", GOALS, LINES, [chart], ["Mind the vents."], ["14 CFR 25.1337"])

    for words in ("Cruise", *GOALS, *LINES, "Mind the vents.", "14 CFR 25.1337", SAFETY):
        assert words in sheet.html and words in sheet.text
    assert sheet.html.count('<p class="foot">') == 1
    assert sheet.html.count("<svg") == 1 and "<details" not in sheet.html


def test_what_is_written_is_shown_and_never_becomes_part_of_the_page():
    """Marks of HTML are text."""
    sheet = summary_sheet("A<b>", ["say <script>"], ["1 < 2 & 3"], (), ["<img>"], ["<i>"])

    inside = sheet.html.split("</style>")[-1]
    assert "<script>" not in inside and "<img>" not in inside and "<i>" not in inside
    assert "1 &lt; 2 &amp; 3" in inside
    assert "1 < 2 & 3" in sheet.text


def test_a_sheet_needs_no_other_file(chart):
    """No link, no picture from elsewhere, no script."""
    sheet = summary_sheet("Cruise", GOALS, LINES, [chart])

    assert not re.search(r"(?:src|href)=|url\(|<script|@import", sheet.html)


def test_sections_without_words_are_left_out():
    """No empty box for cautions, no heading for sources."""
    html = summary_sheet("Cruise", GOALS, LINES).html.split("</style>")[-1]

    assert "Cautions" not in html and "Sources" not in html and "<figure" not in html


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"title": " "}, "title has ' '"),
        ({"goals": []}, "goals is empty"),
        ({"lines": []}, "lines is empty"),
        ({"lines": ["x"] * (MOST_LINES + 1)}, "lines has 13 lines; a page takes 12"),
        ({"lines": ["good", ""]}, "lines has ''"),
        ({"cautions": [None]}, "cautions has None"),
        ({"pages": [Page("<p>no</p>", "no")]}, "pages has one without a drawing"),
        ({"pages": [table_page("t", ("a",), [("b",)])] * 2}, "pages has 2; one drawing"),
        ({"lines": ["many words " * 40] * 12}, r"its words take \d+ mm"),
    ],
)
def test_what_does_not_fit_is_refused(change, message):
    """With the field, what it holds, and what would be right."""
    given = {"title": "Cruise", "goals": GOALS, "lines": LINES, **change}
    with pytest.raises(ValueError, match=f"sheet: {message}"):
        summary_sheet(**given)


def test_a_drawing_leaves_less_room_for_words(chart):
    """Words that fit on a page alone are refused where a drawing would become too small."""
    lines = ["some words that say a thing worth keeping in mind " * 5] * 12
    summary_sheet("Cruise", GOALS * 5, lines)
    with pytest.raises(ValueError, match="Shorten or leave out some of"):
        summary_sheet("Cruise", GOALS * 5, lines, [chart])


def test_a_file_stands_alone_and_is_whole(tmp_path, chart):
    """A document with a title, in a folder that is made; nothing else is left beside it."""
    path = tmp_path / "answers" / "summary.html"
    sheet = summary_sheet("Cruise & more", GOALS, LINES, [chart])
    write_sheet_file(path, sheet)
    write_sheet_file(path, sheet)

    written = path.read_text(encoding="utf-8")
    assert written.startswith("<!doctype html>") and written.endswith("</html>\n")
    assert "<title>Summary: Cruise &amp; more</title>" in written
    assert sheet.html in written
    assert [p.name for p in path.parent.iterdir()] == ["summary.html"]


def test_a_file_that_cannot_be_right_is_refused(tmp_path):
    """Another ending, another page."""
    sheet = summary_sheet("Cruise", GOALS, LINES)
    with pytest.raises(ValueError, match="'summary.pdf'; it must end in .html"):
        write_sheet_file(tmp_path / "summary.pdf", sheet)
    with pytest.raises(ValueError, match="not a summary"):
        write_sheet_file(tmp_path / "summary.html", table_page("t", ("a",), [("b",)]))
    assert list(tmp_path.iterdir()) == []
