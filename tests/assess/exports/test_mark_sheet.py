"""The mark sheet: what it says, and that a spreadsheet finds no formula in it."""

import csv
import io
import re
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fuelkit.assess.exports.cells import csv_bytes, text_cell
from fuelkit.assess.exports.mark_sheet import mark_sheet
from fuelkit.assess.exports.records import MarkedPaper
from tests.assess.exports.papers import CHOICE, FIGURE, one, papers


def read(content):
    """The rows of CSV bytes."""
    return list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))


def test_the_mark_sheet_by_hand():
    """A column a question, then total, of, share, result, notes; by learner code."""
    rows = read(mark_sheet(papers(), 0.75, {"B2": "see me"}))
    heads = ["learner", "paper", "cruise, choice", "climb, order", "sheets, figure"]
    heads += ["cruise, when", "abnormal, reason", "climb, state"]
    assert rows[0] == [*heads, "total", "of", "share", "result", "notes"]
    assert rows[1][2:] == ["1", "2", "2", "1", "3", "1", "10", "10", "1", "pass", ""]
    assert rows[2][2:8] == ["0", "2", "2", "0", "1.5", "0.5"]
    assert rows[2][8:] == ["6", "10", "0.6", "not yet", "see me"]
    assert [row[:2] for row in rows[1:]] == [["A1", "paper-A1"], ["B2", "paper-B2"]]


def test_questions_of_one_line_are_numbered_and_missing_ones_empty():
    """An empty cell is no nought."""
    two = tuple(replace(CHOICE, identifier=f"q{i}", got=float(i)) for i in range(2))
    rows = read(mark_sheet([MarkedPaper("A1", "p", two), one(FIGURE, "B2")], 0.75))
    assert rows[0][2:5] == ["cruise, choice (1)", "cruise, choice (2)", "sheets, figure"]
    assert [row[2:5] for row in rows[1:]] == [["0", "1", ""], ["", "", "2"]]


def test_the_order_of_papers_is_no_matter():
    """Nor is a second export another."""
    assert mark_sheet(papers(), 0.75) == mark_sheet(papers()[::-1], 0.75)


def test_the_file_begins_with_a_letter_and_no_byte_order_mark():
    """And its lines end as RFC 4180 says."""
    content = mark_sheet(papers(), 0.75)
    assert content.startswith(b'"learner"') and content.count(b"\r\n") == 3


def test_a_note_to_nobody_is_named():
    """It would be lost otherwise."""
    with pytest.raises(ValueError, match="'C3' has no paper here"):
        mark_sheet(papers(), 0.75, {"C3": "see me"})


# OWASP, "CSV Injection", the two examples of the page (read at owasp.org's repository).
@pytest.mark.parametrize(
    ("text", "written"),
    [('=1+2";=1+2', b'"\'=1+2"";=1+2"'), ("=1+2'\" ;,=1+2", b'"\'=1+2\'"" ;,=1+2"')],
)
def test_the_examples_of_owasp_are_written_as_it_says(text, written):
    """Quoted, quotes doubled, a single quote in front."""
    assert csv_bytes([(text,)]) == written + b"\r\n"


def test_numbers_stay_numbers():
    """Negative ones too: unquoted, without a sign of text."""
    assert csv_bytes([(-1.5, 2.0, 0.1 + 0.2, -3)]) == b"-1.5,2,0.3,-3\r\n"


@given(st.text(max_size=30))
@example("=1+2")
@example("\t=1+2")
@example("\r\n=1+2")
@example(" \u00a0\u200b=1+2")
@example("\x00=1+2")
@example("\uff1dSUM(A1)")
@example('","=1+2')
def test_no_text_becomes_a_formula(text):
    """Whatever a note or a line says: one cell, quoted, that begins with no sign of a formula."""
    content = csv_bytes([(text, 1.0)])
    assert re.fullmatch(rb'"(?:[^"]|"")*",1\r\n', content)
    (cell, number), *rest = read(content)
    assert number == "1" and not rest
    assert cell[:1] not in set("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20") and "\x00" not in cell
    assert cell.lstrip()[:1] not in set("=+-@") or cell[:1] == "'"


@given(st.text(max_size=20))
def test_what_is_harmless_stays_as_it_is(text):
    """A text of letters behind a letter is not changed."""
    letters = "x" + "".join(sign for sign in text if sign.isalnum())
    assert text_cell(letters) == letters


def test_a_hostile_note_reaches_the_sheet_as_text():
    """Through the whole mark sheet."""
    rows = read(mark_sheet(papers(), 0.75, {"A1": "=HYPERLINK(1)", "B2": "a\nb"}))
    assert rows[1][-1] == "'=HYPERLINK(1)" and rows[2][-1] == "a\nb"
