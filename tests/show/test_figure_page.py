"""A figure sheet as a page, as asks and rows of a board, and as a form on paper with its key."""

import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.assess.figure_marks import asked_steps, tolerance_words
from fuelkit.figures.catalogue import SHEETS, draw_sheet, sheets_for
from fuelkit.figures.chain import Given
from fuelkit.figures.quantities import FigureError
from fuelkit.show.board import BoardError
from fuelkit.show.figure_board import figure_board, sheet_asks, sheet_rows
from fuelkit.show.figure_page import figures_html, paper_key, paper_sheet, worked_page
from fuelkit.show.page import CAUTION
from tests.assess.small_sheets import block_sheet, uplift_sheet, written_right

SMALL = {"small uplift": uplift_sheet, "small block": block_sheet}


@pytest.fixture(scope="module", params=[*SMALL, *SHEETS])
def sheet(request):
    """A small sheet of the tests' own, or one of the kit."""
    if request.param in SMALL:
        return SMALL[request.param]()
    aircraft = load_aircraft("halbrook-300")
    if request.param not in sheets_for(aircraft):
        pytest.skip(f"{aircraft.name} has no sheet '{request.param}'")
    return draw_sheet(request.param, aircraft, 1)


def words(html):
    """Return all that is written on a page, without its style sheet, spaces made plain."""
    bare = re.sub(r"<(style|title)>.*?</\1>", " ", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", bare)).split())


class Balanced(HTMLParser):
    """Raises if an element is closed that is not open."""

    def __init__(self):
        super().__init__()
        self.open = []

    def handle_starttag(self, tag, attrs):  # noqa: D102
        if tag not in ("meta", "col"):
            self.open.append(tag)

    def handle_endtag(self, tag):  # noqa: D102
        assert self.open.pop() == tag


# ------------------------------------------------------------------------------ a worked page
def test_a_worked_page_shows_every_step_with_its_numbers(sheet):
    """Givens, formula in words, numbers put in, result, source, cautions; also in plain text."""
    page, values = worked_page(sheet), sheet.worked()
    for text in (words(page.html), " ".join(page.text.split())):
        for given in sheet.givens:
            assert given.label in text and str(given) in text
        for step in sheet.steps:
            for part in (step.label, step.words, step.written(values[step.name]), step.source):
                assert part in text
        assert CAUTION in text
    assert all(text in words(page.html) for text in sheet.sources)


def test_numbers_that_are_put_in_are_those_of_the_chain():
    """The block fuel of the small sheet, by hand: 200, 8 000, 400, 1 500, 1 200: 11 300 kg."""
    text = words(worked_page(block_sheet()).html)
    assert "trip fuel = 8 000 kg; contingency fuel = 400 kg; destination alternate" in text
    other = words(worked_page(block_sheet(trip=9000.0)).html)
    assert "trip fuel = 9 000 kg; contingency fuel = 450 kg" in other and "12 350 kg" in other


def test_what_is_given_stands_in_a_table():
    """With where it comes from, and nothing that is asked."""
    text = words(figures_html(uplift_sheet()))
    assert "Density 801.0 kg/m³ hydrometer, at tank temperature" in text
    assert not any(step.label in text for step in uplift_sheet().steps)


def test_words_of_a_sheet_are_never_taken_for_html():
    """A label with signs of HTML shows as it is written."""
    sheet = replace(block_sheet(), title="<b>A & B</b>", lead="1 < 2")
    sheet = replace(sheet, givens=(*sheet.givens, Given("x", "<i>x</i>", "<script>")))
    for html in (worked_page(sheet).html, paper_sheet(sheet), paper_key(sheet)):
        assert "<script>" not in html and "<i>x" not in html and "<b>A" not in html


# -------------------------------------------------------------------------------- on a board
def test_asks_tell_neither_formula_nor_answer(sheet):
    """What is asked, its unit, the form expected and the tolerance: no more."""
    values = sheet.worked()
    asks = sheet_asks(sheet, "b")
    assert [ask["text"] for ask in asks] == [step.label for step in asked_steps(sheet)]
    for ask, step in zip(asks, asked_steps(sheet), strict=True):
        told = ask["hint"] + ask["id"]
        assert len(step.words) < 4 or step.words not in told
        answer = re.escape(step.written(values[step.name]))
        assert step.options or not re.search(rf"(?<![\d ]){answer}|as {answer}", told)
        assert re.fullmatch(r"b-[a-z0-9-]+", ask["id"])
        assert ask["kind"] == ("choice" if step.options else
                               "time" if step.unit == "h:mm" else "number")  # fmt: skip


def test_the_hint_says_form_and_tolerance():
    """With its unit, which may be written or left out."""
    hints = {ask["id"]: ask["hint"] for ask in sheet_asks(uplift_sheet())}
    assert hints["needed"] == "with a minus if below zero; counts within 10 kg"
    assert hints["volume"].startswith("with a minus") and hints["volume"].endswith("within 20 l")
    assert hints["decision"] == ""
    times = {ask["id"]: ask["hint"] for ask in sheet_asks(block_sheet())}
    assert times["time"] == "such as 3:25; counts within 2 min"


def test_two_steps_with_one_id_are_named():
    """Names that differ only in signs would be mixed up."""
    sheet = block_sheet()
    twin = replace(sheet.steps[0], name="Least!")
    with pytest.raises(FigureError, match="two steps have the id 'least'"):
        sheet_asks(replace(sheet, steps=(*sheet.steps, twin)))


def test_rows_of_a_right_sheet_all_agree(sheet):
    """Each with its formula in words and the numbers put in."""
    rows = sheet_rows(sheet, written_right(sheet))
    for row, step in zip(rows, asked_steps(sheet), strict=True):
        assert row["is_right"] and row["given"] == row["right"].partition(" ± ")[0]
        assert (" ± " in row["right"]) == bool(step.tolerance or step.relative)
        assert step.words[1:].rstrip(".") in row["reason"]


def test_a_board_holds_verdicts_back_until_it_is_compared():
    """After the commit the figures; after the comparison the reasons and the marks."""
    sheet, kept = block_sheet(), []
    board = figure_board(sheet, "b", on_commit=kept.append, on_compare=kept.append)
    written = {f"b-{name}": text for name, text in written_right(sheet).items()}
    written |= {"b-share": "800"}
    board.commit(written)
    assert board.committed and not board.error and kept == [written]
    assert board.note == "" and not any("is_right" in row for row in board.comparison)
    board.compare({ask["id"]: "same" for ask in board.asks})
    assert board.note.startswith("5 of 6 marks")
    assert "does not follow" in board.comparison[2]["reason"] and len(kept) == 2


def test_what_cannot_be_read_is_asked_again_with_its_unit():
    """Nothing is committed, and nothing is kept."""
    sheet, kept = block_sheet(), []
    board = figure_board(sheet, on_commit=kept.append)
    board.commit(written_right(sheet) | {"share": "12.500", "time": "at noon"})
    assert not board.committed and kept == []
    assert "“Contingency by share”: '12.500' cannot be read (does the point" in board.error
    assert "“Endurance in holding”: 'at noon' cannot be read; write a time" in board.error


def test_a_board_is_restored_as_it_was():
    """Committed and compared, or committed alone."""
    written = written_right(block_sheet())
    marks = dict.fromkeys(written, "same")
    again = figure_board(block_sheet(), answers=written, committed=True, compared=marks)
    assert again.note.startswith("6 of 6 marks") and again.comparison[0]["is_right"]
    open_yet = figure_board(block_sheet(), answers=written, committed=True)
    assert open_yet.note == "" and "is_right" not in open_yet.comparison[0]
    with pytest.raises(BoardError):
        figure_board(block_sheet(), compared=marks)


# ---------------------------------------------------------------------------------- on paper
def test_a_form_on_paper_has_a_box_for_each_part_and_no_answer(sheet):
    """Labels and units, but no formula, no source and no figure that is asked."""
    form, values = paper_sheet(sheet), sheet.worked()
    text = words(form)
    assert (
        form.count('class="box"')
        == len(asked_steps(sheet))
        == text.count("✕") + len(asked_steps(sheet))
    )
    assert CAUTION in text
    given = {str(g) for g in sheet.givens}
    for step in asked_steps(sheet):
        assert step.label in text
        if step.options:
            assert all(option in text for option in step.options)
        elif step.written(values[step.name]) not in given:
            assert f" {step.written(values[step.name])} " not in text
    assert 'class="answer"' not in form


def test_the_key_fills_in_every_box(sheet):
    """The same chain, with its work, how near a figure must be, and what is decided."""
    key, values = paper_key(sheet), sheet.worked()
    text = words(key)
    for step in sheet.steps:
        assert step.words in text and step.written(values[step.name]) in text
    assert key.count('class="answer"') == len(sheet.steps)
    assert "own earlier figures" in text and CAUTION in text


def test_pages_on_paper_are_whole(sheet):
    """Every element that is opened is closed."""
    for html in (paper_sheet(sheet), paper_key(sheet)):
        parser = Balanced()
        parser.feed(html)
        assert parser.open == []


def test_the_key_says_how_near_a_figure_must_be():
    """In the unit of the step."""
    assert "4:38 ± 2 min" in words(paper_key(block_sheet()))
    assert "6 050 kg ± 10 kg" in words(paper_key(uplift_sheet()))


def test_the_blank_form_says_how_near_a_figure_must_be():
    """Paper tells what the board tells: within so much, for every step that has room."""
    sheet = block_sheet()
    form = paper_sheet(sheet)
    assert any(step.tolerance for step in asked_steps(sheet))
    for step in asked_steps(sheet):
        assert tolerance_words(step) in form
