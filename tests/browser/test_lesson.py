"""A lesson worked in a real browser, from the keyboard alone: predict, commit, compare, reopen."""

import json
import urllib.request

import pytest

from fuelkit.assess.mark_folder import mark_folder
from fuelkit.assess.teach import unit_for
from tests.browser.hands import Keyboard
from tests.browser.learner import PATIENCE

LESSON = "lessons/04_start_the_engines.ipynb"
IDENTIFIER = "lesson-engine-start"


@pytest.fixture(scope="module")
def boards():
    """The first two boards of the lesson that a learner commits."""
    return [b for b in unit_for(IDENTIFIER).boards if b.is_committed_by_learner][:2]


def board(page, title):
    """The board of that title on the page."""
    return page.locator(f'section.fuelkit-board[aria-label="{title}"]')


def open_and_run(lab, page, run_all, notebook):
    """Open a notebook and run all of its cells."""
    page.set_default_timeout(PATIENCE)
    page.goto(lab.address(notebook))
    run_all(page)


def end_all_kernels(lab):
    """End every kernel of the lab, as closing and restarting it does."""
    head = {"Authorization": f"token {lab.token}"}
    address = f"http://localhost:{lab.port}/api/sessions"
    with urllib.request.urlopen(urllib.request.Request(address, headers=head)) as found:
        sessions = json.load(found)
    for session in sessions:
        one = f"{address}/{session['id']}"
        request = urllib.request.Request(one, headers=head, method="DELETE")
        urllib.request.urlopen(request).close()


def set_by_keyboard(page, place, options):
    """Set every ask of a board with Tab, Space, arrows and typing; returns what was set."""
    groups = place.locator(".panel:not(.comparing) .ask:not(.given)")
    given = []
    for number in range(groups.count()):
        group = groups.nth(number)
        if group.locator("input[type=radio]").count():
            group.locator("input[type=radio]").first.focus()
            page.keyboard.press("Space")
            if options[number % len(options)]:
                page.keyboard.press("ArrowRight")
            given.append(group.locator("input:checked").input_value())
        elif group.locator("select").count():
            group.locator("select").focus()
            page.keyboard.press("ArrowDown")
            given.append(group.locator("select").input_value())
        else:
            group.locator("input").focus()
            unit = group.inner_text()
            page.keyboard.type("0:09:00" if "h:mm:ss" in unit else "3 000")
            given.append(group.locator("input").input_value())
    return given


def commit_by_keyboard(page, place):
    """Set every ask of a board and commit it; returns what was set."""
    given = set_by_keyboard(page, place, (True, False))
    place.locator("button.commit").focus()
    page.keyboard.press("Enter")
    return given


def compare_by_keyboard(page, place, given):
    """Mark each row of the comparison as it is, and ask for the reasons; returns the marks."""
    keyboard, rows = Keyboard(page, place), place.locator(".comparing .ask")
    rows.first.wait_for()
    shown = [row.locator("strong").all_inner_texts() for row in rows.all()]
    assert [you for you, _ in shown] == given
    marks = ["same" if you == computed else "differs" for you, computed in shown]
    for row, mark in zip(rows.all(), marks, strict=True):
        keyboard.mark(row, mark)
    keyboard.press(place.locator(".comparing button.commit"))
    return marks


def test_a_prediction_is_made_committed_and_compared_from_the_keyboard(lab, page, run_all, boards):
    """Every ask by keyboard; the learner compares first, then the reasons show."""
    first, second = boards
    open_and_run(lab, page, run_all, LESSON)
    cells = page.locator(".jp-Cell").count()
    assert board(page, second.title).count() == 0
    commit_by_keyboard(page, board(page, first.title))
    place = board(page, second.title)
    place.wait_for()
    assert place.locator(".comparing, .result:visible").count() == 0

    given = commit_by_keyboard(page, place)
    marks = compare_by_keyboard(page, place, given)
    result = place.locator(".result table tbody tr")
    result.first.wait_for()

    assert [row.locator("td").first.inner_text() for row in result.all()] == given
    for row in result.all():
        assert row.locator(".verdict").inner_text() in ("✓ agrees", "✗ differs")
        assert len(row.locator("td").last.inner_text()) > 20
    assert page.locator(".jp-Cell").count() == cells

    sheet = json.loads((lab.root / "answers" / f"{IDENTIFIER}.HOME.json").read_text("utf-8"))
    kept = sheet["answers"][second.name]
    assert sorted(kept["given"].values()) == sorted(given)
    assert sorted(kept["compared"].values()) == sorted(marks)


def test_a_reopened_notebook_restores_the_answers(lab, page, run_all, boards):
    """Closed and opened again with a new kernel: the committed board is as it was left."""
    if not (lab.root / "answers" / f"{IDENTIFIER}.HOME.json").exists():
        test_a_prediction_is_made_committed_and_compared_from_the_keyboard(
            lab, page, run_all, boards
        )
    end_all_kernels(lab)
    open_and_run(lab, page, run_all, LESSON)
    place = board(page, boards[1].title)
    place.locator(".result table").wait_for()
    place.scroll_into_view_if_needed()

    place.get_by_text("Your committed prediction was restored.").wait_for()
    assert place.locator("button.commit").is_hidden()


def test_what_lies_ahead_stays_closed_when_all_cells_are_run(lab, page, run_all):
    """Run All gives nothing away: summary and ribbon wait for the predictions."""
    open_and_run(lab, page, run_all, "lessons/06_follow_the_cruise.ipynb")

    closed = page.get_by_text("This opens when you have committed your prediction")
    closed.nth(2).wait_for(state="attached")
    assert page.locator("svg", has_text="The whole flight").count() == 0


@pytest.fixture
def worked_exercise(lab, page, run_all):
    """The exercise on the cruise, signed in and opened."""
    open_and_run(lab, page, run_all, "exercises/06_follow_the_cruise.ipynb")
    sign_in = board(page, "Who are you?")
    sign_in.locator("input").focus()
    page.keyboard.type("b12")
    sign_in.locator("button.commit").focus()
    page.keyboard.press("Enter")
    sign_in.get_by_text("Signed in as B12").first.wait_for()
    return page


def test_an_exercise_is_handed_in_with_a_receipt_and_can_be_marked(lab, worked_exercise):
    """Signed in, three boards committed in order, handed in: the sheet is there and is marked."""
    page = worked_exercise
    titles = (
        "High-lift surfaces in, with one side at rest",
        "The right side fills first",
        "And comes back",
    )
    for number, title in enumerate(titles, start=1):
        place = board(page, f"{number} of 6 · {title}")
        place.wait_for()
        commit_by_keyboard(page, place)
        place.get_by_text("Committed and saved").first.wait_for()
        assert place.locator(".verdict").count() == 0

    hand_in = board(page, "Hand in")
    hand_in.get_by_text("3 of 6 boards are committed, for learner B12").wait_for()
    hand_in.locator("button.commit").focus()
    page.keyboard.press("Enter")
    hand_in.get_by_text("Your receipt:").first.wait_for()

    sheets = lab.root / "collected"
    sheets.mkdir()
    name = "exercise-cruise.B12.json"
    (sheets / name).write_bytes((lab.root / "answers" / name).read_bytes())
    (marked,), aside = mark_folder(sheets)
    assert marked.sheet.learner == "B12" and not aside
    assert marked.sheet.receipt in hand_in.inner_text()
