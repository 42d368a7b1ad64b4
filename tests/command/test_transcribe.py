"""Answer sheets that were written on paper, typed in and marked like all others."""

import builtins

import pytest

from fuelkit.assess.integrity.keeping import VARIABLE, instructor_folder
from fuelkit.assess.papers.issue import keep_sitting, secret_of
from fuelkit.assess.papers.mark_sitting import mark_sitting
from fuelkit.assess.papers.typed import LETTERS, TypedError, read_row, rows_of
from fuelkit.assess.sheet import read_sheet, sheet_path
from fuelkit.assess.written import WORDS
from fuelkit.command.main import main
from tests.small_sitting import blueprint, issued

CODE = "A01"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """The small sitting in an instructor's folder; the folder for the sheets."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "instructor"))
    folder = instructor_folder()
    secret_of(folder, blueprint().sitting)
    keep_sitting(folder, blueprint(), issued())
    return tmp_path / "sheets"


@pytest.fixture
def key():
    """The key of the first learner."""
    return issued()[0].key


def as_on_paper(row):
    """What a learner who knows all writes in a row: the letter in capitals, or the figure."""
    answer = row.answer
    if answer.options:
        return f"{LETTERS[answer.options.index(answer.value)].upper()}."
    return "The tank is empty" if answer.unit == WORDS else answer.written()


def typed(monkeypatch, place, *lines):
    """Run the command with these lines typed; the input ends after them."""
    waiting = iter(lines)

    def read(_=""):
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr(builtins, "input", read)
    return main(["transcribe", blueprint().sitting, str(place)])


def test_a_paper_all_right_by_its_printed_letters_earns_all_but_the_reasons(
    place, key, monkeypatch, capsys
):
    """Typed by letter and figure, handed in, marked: full marks, nothing late or set aside."""
    rows = rows_of(key)
    assert typed(monkeypatch, place, CODE.lower(), *map(as_on_paper, rows), "y", "") == 0
    assert "1 sheet typed in" in capsys.readouterr().out
    found = mark_sitting(instructor_folder(), blueprint().sitting, place, work=map)
    (paper,) = found.papers
    assert not found.set_aside and not paper.late
    for question, board in zip(key.questions, paper.boards, strict=True):
        assert question.kind == "reason" or board.marks == pytest.approx(board.full)


def test_what_stands_nowhere_earns_nothing_and_hinders_nothing(place, key, monkeypatch):
    """Enter alone in every row but the first: one question earns marks."""
    rows = rows_of(key)
    nothing = [""] * (len(rows) - 1)
    assert typed(monkeypatch, place, CODE, as_on_paper(rows[0]), *nothing, "y", "") == 0
    sheet = read_sheet(sheet_path(place, key.paper, CODE))
    assert sheet.handed_in and set(sheet.answers) == {"begin", rows[0].question}


def test_typing_goes_on_where_it_stopped_and_one_row_back_mends_a_slip(
    place, key, monkeypatch, capsys
):
    """Stopped after two rows; the third is asked next; `<` asks the second again."""
    rows = rows_of(key)
    typed(monkeypatch, place, CODE, "a", "a", "q")
    path = sheet_path(place, key.paper, CODE)
    assert sum(map(len, read_sheet(path).drafts.values())) == 2
    assert not read_sheet(path).handed_in
    capsys.readouterr()
    typed(monkeypatch, place, CODE, "<", "b", "q")
    shown = capsys.readouterr().out
    assert shown.index(f"  {rows[2].name} ") < shown.index(f"  {rows[1].name} ")
    second = rows[1]
    kept = read_sheet(path).drafts[second.question][second.answer.ask.identifier]
    assert kept == second.lettered["b"]


def test_a_letter_or_figure_that_cannot_be_is_asked_again(place, key, monkeypatch, capsys):
    """The sentence names the row and what would be right; nothing is kept of it."""
    typed(monkeypatch, place, CODE, "z", "q")
    assert "row 1.1: it is 'z'; it must be a letter, a to" in capsys.readouterr().out
    figure = next(row for row in rows_of(key) if not row.answer.options and row.answer.unit == "kg")
    with pytest.raises(TypedError, match="cannot be read; it must be a"):
        read_row(figure, "much")
    assert read_row(figure, " 3 250 kg ") == "3 250 kg"


def test_an_unknown_code_and_a_sheet_that_is_there_are_told(place, key, monkeypatch, capsys):
    """Neither stops the command; the sheet that is there stays as it is."""
    typed(monkeypatch, place, "Z99", CODE, *[""] * len(rows_of(key)), "y", CODE, "")
    shown = capsys.readouterr().out
    assert "it is 'Z99'; it must be one of 6" in shown
    assert "is there already, from A01" in shown
