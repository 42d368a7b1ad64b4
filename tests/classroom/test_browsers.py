"""Learners in real browsers, several at once: sign in, work a lesson, hand an exercise in."""

import json
import os
import re
from pathlib import Path

import pytest

from fuelkit.command.browser import HOW_TO_GET, find_browser
from fuelkit.show.exercise import open_exercise
from fuelkit.show.lesson import open_lesson
from tests.browser.hands import Mouse
from tests.browser.learner import Learner

LEARNERS = ("A07", "B12", "C3", "D-4", "E55")
WANTED = LEARNERS if os.environ.get("FUELKIT_CLASSROOM") == "all" else LEARNERS[:2]
PICTURES = os.environ.get("FUELKIT_PICTURES", "")
PATIENCE = 180_000  # ms
NOTEBOOK = "01_know_the_tanks.ipynb"
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]


@pytest.fixture(scope="module")
def browsers(rig):
    """Give a page for each learner and one for the instructor, each in a browser of its own."""
    playwright = pytest.importorskip("playwright.sync_api")
    if find_browser() is None:
        pytest.skip(HOW_TO_GET)
    with playwright.sync_playwright() as driver:
        pages = {}
        for code in (*WANTED, "INSTRUCTOR"):
            browser = driver.chromium.launch(executable_path=find_browser(), args=FLAGS)
            pages[code] = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
            pages[code].set_default_timeout(PATIENCE)
        yield pages
        for page in pages.values():
            page.context.browser.close()


def sign_in(rig, page, code, path=""):
    """Sign in by the form, with the keyboard alone."""
    page.goto(f"{rig.address}/{path}")
    page.get_by_label("Your code:").wait_for()
    page.keyboard.type(code.lower())  # the first field has the focus
    page.keyboard.press("Tab")
    page.keyboard.type(rig.words[code])
    page.keyboard.press("Enter")


def opened(rig, page, code, folder):
    """Open a notebook, alone."""
    page.goto(f"{rig.address}/user/{code.lower()}/lab/tree/{folder}/{NOTEBOOK}?reset")


def run_all(page):
    """Run all cells, once there is a kernel."""
    page.locator("#jp-bottom-panel").get_by_text(re.compile(r"\| Idle")).wait_for()
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()


def board_of(page, title):
    """Return the place of a board whose title ends so."""
    return page.locator(f'section.fuelkit-board[aria-label$="{title}"]')


def kept(rig, code, unit):
    """Return the answers that stand in a learner's file."""
    path = rig.home(code) / f"answers/{unit}.{code}.json"
    return json.loads(path.read_text())["answers"] if path.exists() else {}


def picture(page, name):
    """Keep a picture, if that is asked for."""
    if PICTURES:
        page.screenshot(path=Path(PICTURES) / f"classroom-{name}.png")


def test_learners_work_a_lesson_and_hand_in(rig, browsers, monkeypatch, tmp_path):
    """Each works a board of the lesson and the exercise, hands in and is on the instructor's page.

    All of them do each step before any does the next one, so that all are at work at once.
    """
    monkeypatch.setenv("FUELKIT_ANSWERS", str(tmp_path))
    lesson, exercise = open_lesson("lesson-tanks"), open_exercise("exercise-tanks")
    first = next(b for b in lesson.unit.boards if b.is_committed_by_learner)
    learners = {code: browsers[code] for code in WANTED}
    for code, page in learners.items():
        picture(page, f"{code}-nothing")
        sign_in(rig, page, code)
    for page in learners.values():
        page.locator(".jp-NotebookPanel").wait_for()
    for code, page in learners.items():
        opened(rig, page, code, "lessons")
    for page in learners.values():
        run_all(page)
    for number, (code, page) in enumerate(learners.items()):
        learner = Learner(page, lesson, None, seed=number, asked_again="nothing")
        learner._sheet = lambda unit="", code=code: {}
        given, _ = learner.work(first, board_of(page, first.title))
        assert kept(rig, code, "lesson-tanks")[first.name]["given"] == given
        picture(page, f"{code}-lesson")
    for code, page in learners.items():
        opened(rig, page, code, "exercises")
    for page in learners.values():
        run_all(page)
    for board in exercise.unit.boards:
        for number, (code, page) in enumerate(learners.items()):
            learner = Learner(page, exercise, None, seed=number, asked_again="nothing")
            place = board_of(page, board.title)
            place.locator(".ask").first.wait_for()
            given = learner._predict(board, exercise.computed(board), place, Mouse())
            place.locator("button.commit").click()
            place.get_by_text("Committed and saved").first.wait_for()
            assert kept(rig, code, "exercise-tanks")[board.name]["given"] == given
    for page in learners.values():
        board_of(page, "Hand in").locator("button.commit").click()
    for code, page in learners.items():
        said = board_of(page, "Hand in").get_by_text("Your instructor's desk has it.").first
        said.wait_for()
        picture(page, f"{code}-handed-in")
        sheet = json.loads((rig.classroom.handed_in / f"exercise-tanks.{code}.json").read_text())
        assert sheet["answers"] == kept(rig, code, "exercise-tanks")
        assert sheet["receipt"] in said.inner_text()


def test_the_instructor_signs_in_to_the_list(rig, browsers):
    """The instructor lands on who has handed in; the page passes the accessibility rules."""
    page = browsers["INSTRUCTOR"]
    sign_in(rig, page, "INSTRUCTOR")
    page.get_by_role("heading", name="Who has handed in").wait_for()
    for code in WANTED:
        assert page.get_by_role("rowheader", name=code, exact=True).count() >= 1
    picture(page, "instructor")
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    assert [found["id"] for found in axe.run(page).response["violations"]] == []
