"""The page of a learner's progress in a real browser: answered, shown, left and found again."""

import shutil
from datetime import date

import pytest

from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.progress.record import ProgressRecord
from fuelkit.assess.progress.standing import standings
from fuelkit.show.progress import Progress
from tests.assess.progress.entries import tried
from tests.browser.hands import Keyboard
from tests.browser.learner import PATIENCE, plain
from tests.browser.test_every_lesson import check_page, open_and_run
from tests.browser.test_lesson import end_all_kernels
from tests.notebooks.tidy import ROOT

NOTEBOOK = "00_your_progress.ipynb"


@pytest.fixture
def place(lab):
    """A course of its own on the server, whose learner has begun two lessons."""
    folder = lab.root / "progress"
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "lessons").mkdir(parents=True)
    for name in (NOTEBOOK, "01_know_the_tanks.ipynb"):
        shutil.copyfile(ROOT / "lessons" / name, folder / "lessons" / name)
    record = ProgressRecord(folder / "answers", "HOME")
    record.add(tried("tanks", "balance", *[False] * 4), tried("walk-around", "sticks", True))
    return folder


def row_of(page, objective):
    """The words of an objective's row in the table."""
    row = page.locator("table tr", has=page.get_by_role("rowheader", name=objective.text))
    return plain(row.first.inner_text())


def test_a_question_is_answered_progress_follows_and_all_is_found_again(lab, page, run_all, place):
    """By keyboard: set, commit, compare, say how sure; the table changes; a new kernel finds it."""
    page.set_default_timeout(PATIENCE)
    open_and_run(lab, page, run_all, f"progress/lessons/{NOTEBOOK}")
    board = page.locator("section.fuelkit-board[aria-label^='Practice: 1 of 10']")
    board.wait_for()
    table = page.locator("table", has=page.get_by_text("Progress by objective"))
    weakest = table.locator("tbody tr").first
    assert "weak" in weakest.inner_text() and "0 of the last 4" in weakest.inner_text()
    check_page(page)

    mine = Progress(place / "answers", "halbrook-180", today=date.today)
    review = mine._review_of(date.today())
    question = review.question(1)
    before = {s.objective.name: s.count for s in standings(mine.record.entries(), date.today())}
    hand = Keyboard(page, board)
    groups = board.locator(".panel:not(.comparing) .asks > .ask")
    answers = review.computed(question.board)
    assert groups.count() == len(answers) + 1  # and how sure
    for number, answer in enumerate(answers):
        kind = "choice" if answer.options else "number"
        hand.set(groups.nth(number), kind, answer.written().removesuffix(answer.unit).strip())
    hand.set(groups.nth(len(answers)), "choice", "certain")
    hand.press(board.locator(".panel:not(.comparing) button.commit"))
    rows = board.locator(".comparing .ask")
    rows.first.wait_for()
    assert board.locator(".verdict").count() == 0
    for row in rows.all():
        hand.mark(row, "same")
    hand.press(board.locator(".comparing button.commit"))
    board.locator(".result table").wait_for()
    assert board.locator(".verdict", has_text="differs").count() == 0

    after = standings(mine.record.entries(), date.today())
    moved = [s for s in after if s.count > before[s.objective.name]]
    assert moved and {s.objective.name for s in moved} <= set(question.objectives)
    for standing in moved:
        text = f"{standing.late_right} of the last {standing.late_count}"
        page.wait_for_function(
            "words => [...document.querySelectorAll('table tr')].some(r =>"
            " words.every(w => r.textContent.includes(w)))",
            arg=[standing.objective.text, text],
        )
    sure = page.locator("table tr", has=page.get_by_role("rowheader", name="certain", exact=True))
    assert "too few to say" in sure.inner_text()
    hand.press(board.get_by_role("button", name="Next question"))
    page.locator("section.fuelkit-board[aria-label^='Practice: 2 of 10']").wait_for()
    check_page(page)

    end_all_kernels(lab)
    open_and_run(lab, page, run_all, f"progress/lessons/{NOTEBOOK}")
    page.locator("section.fuelkit-board[aria-label^='Practice: 2 of 10']").wait_for()
    objective = next(o for o in load_objectives() if o.name == moved[0].objective.name)
    assert f"{moved[0].late_right} of the last" in row_of(page, objective)
    page.get_by_role("link", name="1. Tanks and layout").first.click()
    page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) h1", has_text="Know the tanks").wait_for()
