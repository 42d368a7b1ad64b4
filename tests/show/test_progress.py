"""The page of a learner's progress, without a browser: what is kept, shown, asked and erased."""

import csv
import json
from datetime import date, datetime, timedelta
from html.parser import HTMLParser

import pytest

from fuelkit.assess.answer_file import AnswerFile, sign_in
from fuelkit.assess.mark_folder import mark_folder
from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.progress.lines import CERTAINTIES
from fuelkit.assess.progress.record import ProgressRecord
from fuelkit.show.board import PredictionBoard
from fuelkit.show.lesson import open_lesson
from fuelkit.show.progress import Progress, open_progress
from fuelkit.show.progress_page import NOTEBOOKS
from fuelkit.show.review import SURE
from tests.notebooks.tidy import ROOT

COURSE, LESSON, TODAY = "halbrook-180", "lesson-tanks", date(2026, 11, 26)
TOMORROW = TODAY + timedelta(days=1)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """An empty folder of answers, in which all is kept."""
    monkeypatch.setenv("FUELKIT_ANSWERS", str(tmp_path / "answers"))
    monkeypatch.delenv("FUELKIT_AIRCRAFT", raising=False)
    return tmp_path / "answers"


def right_answers(pages, board):
    """What is right for each ask of a board, as it is written."""
    return {a.ask.identifier: a.written() for a in pages.computed(board) if not a.ask.given}


def begin_lesson(count=2, wrong=False):
    """Commit the first boards of a lesson; return the lesson."""
    lesson = open_lesson(LESSON)
    boards = [b for b in lesson.unit.boards if b.is_committed_by_learner][:count]
    for board in boards:
        answers = right_answers(lesson, board)
        if wrong:
            answers = {
                a.ask.identifier: next(o for o in a.options if o != a.value)
                if a.options else "1" for a in lesson.computed(board) if not a.ask.given
            }  # fmt: skip
        widget = lesson.make_board(board.name)
        widget.commit(answers)
        assert widget.committed, widget.error
    return lesson


def progress_of(folder, day=TODAY):
    """The page on a day."""
    return Progress(folder, COURSE, today=lambda: day)


def work(place, review_of, sure=""):
    """Answer the question that is shown rightly and read the reasons; returns the board."""
    board = place.children[0]
    assert isinstance(board, PredictionBoard)
    question = review_of.question(int(board.title.split()[0]))
    answers = right_answers(review_of, question.board)
    board.commit(answers | ({SURE: sure} if sure else {}))
    assert board.committed, board.error
    board.compare({row["id"]: "same" for row in board.comparison})
    assert board.compared, board.error
    return board


def the_review(progress):
    """The review behind the page, as the page holds it."""
    return progress._review_of(progress._today())


# ------------------------------------------------------------------------------------ what is kept
def test_a_commit_in_a_lesson_stands_in_the_record(folder):
    """By objective, right or not, with the situation; the answer sheet is as it was."""
    begin_lesson(wrong=True)
    entries = ProgressRecord(folder, "HOME").entries()
    assert [e["unit"] for e in entries] == [LESSON] * 2
    assert all(e["situation"].startswith(COURSE) and e["tries"] for e in entries)
    assert not any(one["right"] for e in entries for one in e["tries"])
    sheet = json.loads((folder / f"{LESSON}.HOME.json").read_text("utf-8"))
    assert len(sheet["answers"]) == 2 and "tries" not in sheet


def test_practice_counts_and_exercises_do_not(folder):
    """A fresh situation is a first try too; an exercise tells nothing before it is marked."""
    boards = [b for b in open_lesson(LESSON).unit.boards if b.is_committed_by_learner]
    first = next(n for n, b in enumerate(boards, 1) if b.form == "blank")
    lesson = begin_lesson(count=first)
    place = lesson.another(1)
    board = place.children[0]
    answers = {a["id"]: (a["options"] or ["0"])[0] for a in board.asks}
    board.commit(answers)
    assert board.committed, board.error
    units = {e["unit"] for e in ProgressRecord(folder, "HOME").entries()}
    assert units == {LESSON, f"practice-{LESSON}"}


def test_a_record_that_cannot_be_written_keeps_no_answer_from_being_saved(folder, monkeypatch):
    """The board says so, and the answer is on the sheet; later it is taken over."""

    def fail(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(ProgressRecord, "add", fail)
        lesson = open_lesson(LESSON)
        board = next(b for b in lesson.unit.boards if b.is_committed_by_learner)
        widget = lesson.make_board(board.name)
        widget.commit(right_answers(lesson, board))
        assert widget.committed and "your progress is not" in widget.note
    assert ProgressRecord(folder, "HOME").entries() == ()
    page = progress_of(folder).page()
    assert "1 boards that you answered earlier were taken over" in page.text
    (entry,) = ProgressRecord(folder, "HOME").entries()
    assert entry["board"] == board.name and all(one["right"] for one in entry["tries"])
    progress_of(folder)
    assert len(ProgressRecord(folder, "HOME").entries()) == 1  # once


# ------------------------------------------------------------------------------------ what is shown
class Table(HTMLParser):
    """Collects rows and links of the page."""

    def __init__(self, html):
        super().__init__()
        self.links, self.heads = [], 0
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        """Count a row, keep a link."""
        attributes = dict(attributes)
        self.links += [attributes["href"]] if tag == "a" else []
        self.heads += attributes.get("scope") == "row"


def test_the_page_names_weak_objectives_first_with_their_lessons(folder):
    """Words and bars; each link leads to a notebook that is there."""
    begin_lesson(count=3, wrong=True)
    page = progress_of(folder).page()
    rows = [line.split(" | ") for line in page.text.splitlines()[2:]]
    words = [row[1] for row in rows]
    assert words[0] == "weak" and words[-1] == "not met"
    assert words.index("not met") == len([w for w in words if w != "not met"])
    table = Table(page.html)
    assert table.heads == len(rows)
    assert set(table.links) == {f"{name}.ipynb" for name in NOTEBOOKS.values()}
    assert all((ROOT / "lessons" / link).exists() for link in table.links)
    assert 'aria-hidden="true"' in page.html  # what a bar says stands beside it in words


def test_without_anything_the_page_says_what_to_do(folder):
    """Nothing met, no review yet, and no file is made by looking."""
    progress = open_progress()
    text = progress.page().text
    assert f"{len(load_objectives())} not met" in text
    assert "Commit a board in any lesson" in progress.review().text
    assert not folder.exists()


# ------------------------------------------------------------------------------------- the review
def test_a_review_goes_from_question_to_question_and_comes_back(folder):
    """Answered ones stay, a draft comes back, the rest of the ten is the same; then it is done."""
    begin_lesson()
    progress = progress_of(folder)
    review = the_review(progress)
    place = review.place()
    work(place, review, sure="certain")
    assert place.children[0].another_label == "Next question"
    place.children[0].another()
    second = place.children[0]
    first_ask = second.asks[0]
    second.answers = {first_ask["id"]: (first_ask["options"] or ["12"])[0]}

    again = the_review(progress_of(folder))
    assert again.names == review.names
    place = again.place()
    assert place.children[0].title == second.title
    assert place.children[0].answers == second.answers
    for _ in range(len(again.names) - 1):
        label = work(place, again).another_label
        place.children[0].another()
    assert label == "Finish today's review"
    assert "10 of 10 questions right throughout" in place.children[0].html
    tomorrow = the_review(progress_of(folder, TOMORROW))
    assert tomorrow.names[0].startswith("2026-11-27") and tomorrow.question(1) is not None
    assert "10 questions" in progress.review(11).text


def test_nothing_of_the_answer_is_on_the_board_before_the_commit(folder):
    """Neither the belief, nor the reason, nor the right value as a field of its own."""
    begin_lesson()
    review = the_review(progress_of(folder))
    board = review.place().children[0]
    state = json.dumps({k: board.get_state()[k] for k in ("comparison", "after_drawing", "note")})
    assert state == json.dumps({"comparison": [], "after_drawing": "", "note": ""})


def test_certainty_is_optional_kept_and_no_part_of_the_marks(folder):
    """Left open it is nothing; said, it stands in the record; the sheet is practice, not marked."""
    begin_lesson()
    progress = progress_of(folder)
    review = the_review(progress)
    place = review.place()
    assert [a for a in place.children[0].asks if a["id"] == SURE][0]["options"] == [*CERTAINTIES]
    work(place, review)
    place.children[0].another()
    work(place, review, sure="guess")
    entries = [e for e in progress.record.entries() if e.get("unit") == "practice-review"]
    assert [e["certainty"] for e in entries] == ["", "guess"]
    marked, aside = mark_folder(folder)
    assert marked == () and not any(item.is_fault for item in aside)
    assert {item.file for item in aside} == {"lesson-tanks.HOME.json", "practice-review.HOME.json"}


def test_a_wrong_certainty_is_refused(folder):
    """As any other option that is none."""
    begin_lesson()
    review = the_review(progress_of(folder))
    board = review.place().children[0]
    question = review.question(1)
    board.commit(right_answers(review, question.board) | {SURE: "very"})
    assert not board.committed and "must be one of guess" in board.error


def test_the_record_is_of_whoever_is_signed_in(folder):
    """Another learner at this machine has another one."""
    begin_lesson()
    sign_in(folder, "a07")
    assert "Commit a board in any lesson" in progress_of(folder).review().text
    begin_lesson(count=1)
    assert len(ProgressRecord(folder, "A07").entries()) == 1
    assert len(ProgressRecord(folder, "HOME").entries()) == 2


# ------------------------------------------------------------------------------- export and erasing
def test_the_export_is_a_table_of_all_objectives(folder):
    """One line each, no cell that a spreadsheet would work out."""
    begin_lesson()
    board = progress_of(folder).export()
    board.commit({})
    assert "progress.HOME.csv" in board.note and "progress.HOME.jsonl" in board.note
    rows = list(csv.DictReader((folder / "progress.HOME.csv").open(encoding="utf-8", newline="")))
    assert len(rows) > 30 and {row["standing"] for row in rows} >= {"not met"}
    tried = [row for row in rows if row["tries"] != "0"]
    assert tried and all(datetime.fromisoformat(row["last day"]) for row in tried)


def test_erasing_asks_twice_and_leaves_nothing(folder):
    """A wrong word erases nothing; after the right one lessons are as they were."""
    begin_lesson()
    progress = progress_of(folder)
    review = the_review(progress)
    work(review.place(), review, sure="certain")
    shown = progress.review()
    progress.export().commit({})
    place = progress.erase()
    (first,) = place.children
    assert "What goes, for good" in first.lead and "What stays" in first.lead
    first.commit({})
    second = place.children[1]
    second.commit({"word": "yes"})
    assert not second.committed and "Nothing was erased" in second.error
    assert len(progress.record.entries()) > 3
    second.commit({"word": "erase"})
    assert second.committed, second.error
    (told,) = shown.children
    assert not isinstance(told, PredictionBoard)
    assert [e["event"] for e in progress.record.entries()] == ["erased"]
    left = {path.name for path in folder.iterdir() if path.suffix != ".lock"}
    assert left == {"lesson-tanks.HOME.json", "progress.HOME.jsonl"}
    fresh = progress_of(folder)  # what was erased does not come back from the lessons' sheets
    assert [e["event"] for e in fresh.record.entries()] == ["erased"]
    assert AnswerFile(folder, LESSON, "HOME", open_lesson(LESSON).flight.aircraft.fingerprint
                      ).sheet.answers  # fmt: skip
