"""Lessons and exercises as a notebook opens them: nothing given away, everything kept."""

import json
import os

import pytest

from fuelkit.assess.course import unit_names
from fuelkit.show.exercise import open_exercise
from fuelkit.show.lesson import open_lesson

# Every kind of board stands in one of these; FUELKIT_UNITS=all takes all lessons and exercises.
FEW = ("lesson-walk-around", "lesson-cruise", "exercise-tanks", "exercise-descent")
UNITS = unit_names() if os.environ.get("FUELKIT_UNITS") == "all" else FEW
LESSONS = [name for name in UNITS if name.startswith("lesson")]
EXERCISES = [name for name in UNITS if name.startswith("exercise")]


@pytest.fixture(autouse=True)
def own_answers(tmp_path, monkeypatch):
    """Keep the answers of a test in its own folder."""
    monkeypatch.setenv("FUELKIT_ANSWERS", str(tmp_path / "answers"))
    return tmp_path / "answers"


def opened(name):
    return (open_lesson if name in LESSONS else open_exercise)(name)


def shown_by(widget):
    """All that the browser is given of a widget, as one text."""
    traits = widget.trait_names(sync=True)
    kept = {n: getattr(widget, n) for n in traits if n[0] != "_" and n not in ("layout", "comm")}
    return json.dumps(kept, default=str, ensure_ascii=False)


def filled(board):
    """Something readable for every ask of a board that the kit has not set."""
    written = {"number": "3000", "time": "1:00:00", "bands": "1:00:00-1:30:00"}
    return {
        a["id"]: a["options"][0] if a["options"] else written[a["kind"]]
        for a in board.asks
        if not a.get("given")
    }


def compared(board):
    """Every row of the comparison marked as the same."""
    return {row["id"]: "same" for row in board.comparison}


def predicted_on(workbook):
    """The boards on which a learner commits a prediction."""
    return [board for board in workbook.unit.boards if board.is_committed_by_learner]


@pytest.mark.parametrize("name", LESSONS + EXERCISES)
def test_no_figure_or_time_that_is_asked_for_reaches_the_browser_before_the_commit(name):
    """What a widget holds lies open in the browser; no answer is in it."""
    workbook = opened(name)
    for board in predicted_on(workbook):
        text = shown_by(workbook.make_board(board.name))
        for answer in workbook.computed(board):
            if answer.ask.given or not answer.unit or not answer.changed:
                continue
            if answer.unit == "periods" or abs(answer.value - (answer.shown_value or 0)) > 60:
                assert answer.written() not in text, (board.name, answer.text)


@pytest.mark.parametrize("name", EXERCISES)
def test_an_exercise_tells_nothing_after_the_commit_either(name):
    """Not before it is marked: neither the comparison nor the drawing of what followed."""
    exercise = opened(name)
    for board in exercise.unit.boards:
        widget = exercise.board(board.name)
        widget.commit(filled(widget))
        assert widget.committed and not widget.error
        assert widget.comparison == [] and widget.after_drawing == ""


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_gives_reasons_only_when_the_learner_has_compared(name):
    """First what was given beside what is right; then, one a row, a verdict with its reason."""
    lesson = opened(name)
    for board in predicted_on(lesson):
        widget = lesson.place(board.name)
        widget.commit(filled(widget))
        asked = [ask.identifier for ask in board.asks if not ask.given]
        assert widget.committed and [row["id"] for row in widget.comparison] == asked
        assert all(row["right"] and not row.get("reason") for row in widget.comparison)
        assert all("is_right" not in row or row["is_right"] is None for row in widget.comparison)
        if board.scene == "flight":
            assert bool(widget.after_drawing) == board.drawing
        widget.compare(compared(widget))
        assert not widget.error and all(row["reason"] for row in widget.comparison)
        assert all(isinstance(row["is_right"], bool) for row in widget.comparison)


def test_a_commit_is_on_disk_and_comes_back_in_a_new_lesson(own_answers):
    """A reopened notebook is restored from the file, not from the widget."""
    first = open_lesson("lesson-cruise").board("starters")
    given = filled(first)
    first.commit(given)
    again = open_lesson("lesson-cruise").board("starters")
    assert again.committed and again.answers == given and not again.comparison[0].get("reason")
    again.compare(compared(again))
    third = open_lesson("lesson-cruise").board("starters")
    assert third.committed and third.compared == compared(again)
    assert third.comparison == again.comparison and third.comparison[0]["reason"]
    assert (own_answers / "lesson-cruise.HOME.json").exists()


def test_a_draft_comes_back_without_being_committed():
    """What was set and not committed is there again, and still open."""
    first = open_lesson("lesson-cruise").board("starters")
    first.answers = {"starters-1": "OFF"}
    again = open_lesson("lesson-cruise").board("starters")
    assert again.answers == {"starters-1": "OFF"} and not again.committed


def test_what_lies_ahead_opens_only_with_the_last_prediction_before_it():
    """Closed at first; open, by itself, when every board is committed."""
    lesson = open_lesson("lesson-engine-start")
    pages = [lesson.summary(), lesson.ribbon()]
    early = lesson.drawing_at("0:00:10")
    assert early.is_open and not any(page.is_open for page in pages)
    assert all(page.html == "" for page in pages)
    for board in predicted_on(lesson):
        widget = lesson.place(board.name)
        widget.commit(filled(widget))
    assert all(page.is_open and page.html for page in pages)


@pytest.mark.parametrize("name", LESSONS + EXERCISES)
def test_a_board_opens_by_itself_when_the_one_before_it_is_committed(name):
    """A later board shows what an earlier one asks for, so none opens before its turn."""
    workbook = opened(name)
    first, *later = predicted_on(workbook)
    places = [workbook.board(board.name) for board in later]
    widget = workbook.board(first.name)
    for place in places:
        assert not place.is_open
        widget.commit(filled(widget))
        assert place.is_open
        (widget,) = place.children
    assert widget.title.endswith(later[-1].title)


def test_practice_opens_with_its_board_goes_on_and_is_kept_apart(own_answers):
    """Closed until its board is committed; then one situation after the other, kept apart."""
    lesson = open_lesson("lesson-cruise")
    holder = lesson.another(1)
    assert not hasattr(holder.children[0], "asks")
    for board in predicted_on(lesson):
        widget = lesson.place(board.name)
        widget.commit(filled(widget))
    (first,) = holder.children
    first.commit(filled(first))
    first.compare(compared(first))
    assert not first.error and first.another_label
    first.another()
    (second,) = holder.children
    assert second is not first and not second.committed
    sheet = json.loads((own_answers / "lesson-cruise.HOME.json").read_text(encoding="utf-8"))
    assert not [name for name in sheet["answers"] if "~" in name]
    again = open_lesson("lesson-cruise").another(1)
    assert again.children[0].title == second.title and not again.children[0].committed


@pytest.mark.parametrize("name", LESSONS)
def test_for_the_projector_nothing_is_closed_and_nothing_is_told_before_the_reveal(name):
    """Every board opens at once; a revealed ask tells its answer and its reason."""
    lesson = open_lesson(name, projector=True)
    for board in predicted_on(lesson):
        widget = lesson.place(board.name)
        text = shown_by(widget)
        told = {answer.reason for answer in lesson.computed(board) if answer.ask.given}
        for answer in lesson.computed(board):
            assert answer.reason in told or answer.reason not in text
        first = next(ask for ask in board.asks if not ask.given)
        widget.reveal(first.identifier)
        assert not widget.error
        assert lesson.computed(board)[board.asks.index(first)].reason in shown_by(widget)


def test_two_learners_at_one_machine_keep_their_own_sheets(own_answers):
    """Signing in changes whose sheet is written."""
    for code in ("A01", "A02"):
        exercise = open_exercise("exercise-cruise")
        exercise.sign_in().commit({"code": code})
        board = exercise.board("in-again")
        board.commit(filled(board))
    assert {p.name for p in own_answers.glob("exercise-*.json")} == {
        "exercise-cruise.A01.json",
        "exercise-cruise.A02.json",
    }


def test_a_code_that_is_none_is_refused_on_the_board():
    """The sentence says what a code looks like; nobody is signed in."""
    board = open_exercise("exercise-cruise").sign_in()
    board.commit({"code": "my name is"})
    assert not board.committed and "1 to 20 letters and digits" in board.error


def test_at_home_no_code_is_needed(own_answers):
    """An empty code keeps the sheet under the code of those at home."""
    exercise = open_exercise("exercise-cruise")
    board = exercise.sign_in()
    board.commit({"code": ""})
    assert board.committed and "HOME" in board.note


def test_handing_in_needs_an_answer_and_gives_a_receipt_once():
    """Empty sheets are refused; the receipt stays the same when it is asked for again."""
    exercise = open_exercise("exercise-cruise")
    empty = exercise.hand_in()
    empty.commit({})
    assert not empty.committed and "nothing to hand in" in empty.error
    board = exercise.board("in-again")
    board.commit(filled(board))
    hand_in = exercise.hand_in()
    hand_in.commit({})
    receipt = exercise.answer_file.sheet.receipt
    assert receipt and receipt in hand_in.note
    assert receipt in open_exercise("exercise-cruise").hand_in().note
    late = exercise.board("right-rests")
    late.commit(filled(late))
    assert "handed in" in late.error


def test_all_cells_run_before_signing_in_hand_in_the_sheet_of_who_signs_in(own_answers):
    """Run All opens every board first; what is handed in is the sheet of the code given later."""
    exercise = open_exercise("exercise-cruise")
    sign_in, board, hand_in = exercise.sign_in(), exercise.board("in-again"), exercise.hand_in()
    sign_in.commit({"code": "B12"})
    board.commit(filled(board))
    hand_in.commit({})
    assert hand_in.committed, hand_in.error
    assert exercise.answer_file.sheet.learner == "B12" and exercise.answer_file.sheet.handed_in


def test_a_board_on_another_draw_closes_nothing_of_this_flight():
    """The picture of a lesson does not wait for a board about another day, cells below it."""
    lesson = open_lesson("lesson-after-landing")
    other = [b.title for b in lesson.unit.boards if b.draw]
    assert other
    for closed in (lesson.picture().closed, lesson.summary().closed, lesson.ribbon().closed):
        assert not any(title in closed for title in other)
