"""Whole lessons worked in a real browser by a learner from a script, who makes mistakes.

By default none; `FUELKIT_LESSONS=all` works all nine. `FUELKIT_PICTURES=folder` writes
pictures of everything that is shown, in two sizes, light, dark and grey, to be looked at.
"""

import json
import os
import shutil
import threading
from pathlib import Path

import pytest

from fuelkit.assess.teach import fresh_board
from fuelkit.show.lesson import open_lesson
from tests.browser.learner import PATIENCE, Learner, plain
from tests.browser.pictures import Pictures
from tests.notebooks.tidy import ROOT

SEED = 20
DEFAULT = ()  # each takes minutes
ON_THE_WALL = ()  # the class board has tests of its own; FUELKIT_LESSONS=06 opens this one
PICTURES = os.environ.get("FUELKIT_PICTURES", "")


def wanted(default):
    """The notebooks to work."""
    every = os.environ.get("FUELKIT_LESSONS", "")
    chosen = default if not every else [p for p in every.split(",") if p != "all"]
    paths = [p for p in sorted((ROOT / "lessons").glob("*.ipynb")) if p.name[:2] != "00"]
    return [p for p in paths if every == "all" or p.name[:2] in chosen]


def code_of(path):
    """The code cells of a notebook."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return ["".join(c["source"]) for c in cells if c["cell_type"] == "code"]


def identifier_of(path):
    """The lesson that a notebook opens."""
    return code_of(path)[0].split('open_lesson("')[1].split('"')[0]


def in_folder_of_its_own(lab, path, name, change=None):
    """Put a notebook where it keeps its answers for itself; return its place and folder."""
    folder = lab.root / name
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "lessons").mkdir(parents=True)
    text = path.read_text(encoding="utf-8")
    (folder / "lessons" / path.name).write_text(change(text) if change else text, encoding="utf-8")
    return f"{name}/lessons/{path.name}", folder


# Everything of ours that has to be scrolled within itself, and what the notebook puts around it.
INNER_SCROLL = """() => {
  const parts = [...document.querySelectorAll('.jp-OutputArea, .jp-OutputArea *')];
  return parts.filter(e => !e.matches('.unseen, .unseen *, svg *')).filter(e => {
    const style = getComputedStyle(e), can = (way) => ['auto', 'scroll'].includes(way);
    return (can(style.overflowX) && e.scrollWidth > e.clientWidth + 1)
      || (can(style.overflowY) && e.scrollHeight > e.clientHeight + 1);
  }).map(e => [e.tagName, e.className.baseVal ?? e.className, e.scrollWidth, e.clientWidth,
    e.scrollHeight, e.clientHeight, e.textContent.slice(0, 80)].join(' | '));
}"""
ERRORS = """() => [...document.querySelectorAll('.jp-OutputArea-output')]
  .filter(e => /error|stderr/.test(e.dataset.mimeType)).map(e => e.textContent.slice(0, 2000))"""


def audit(page):
    """Return what the axe accessibility rules find fault with in our outputs."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.wait_for_timeout(300)
    found = axe.run(page, context=".jp-OutputArea-output").response["violations"]
    return [(f["id"], [n["html"][:160] for n in f["nodes"][:4]], len(f["nodes"])) for f in found]


def open_and_run(lab, page, run_all, notebook):
    """Run a notebook; cells far from what is seen are drawn too, so that they can be judged."""
    page.goto(lab.address(notebook))
    run_all(page)
    page.add_style_tag(content=".jp-Notebook *{content-visibility:visible!important}")


def check_page(page):
    """Nothing is wrong, nothing is scrolled within itself, and axe finds no fault."""
    assert page.evaluate(ERRORS) == []
    assert page.locator(".fuelkit-board .error:visible").count() == 0
    assert page.evaluate(INNER_SCROLL) == []
    assert audit(page) == []


def board_of(page, title):
    """The lesson's own board of that title; those of practice bear other names."""
    return page.locator(f'section.fuelkit-board[aria-label="{title}"]')


def all_open(page, path):
    """Check that each line that makes a page shows it by now."""
    assert page.locator(".fuelkit-page .closed").count() == 0
    cells = page.locator(".jp-CodeCell")
    for number, source in enumerate(code_of(path)):
        if number and not source.startswith(("lesson.board", "lesson.another", "lesson.contrast")):
            found = cells.nth(number).locator(".jp-OutputArea-output")
            shown = found.locator("svg, table, ul, section").count()
            assert shown and found.first.bounding_box()["height"] > 40, source


def practise(page, learner, board):
    """Work a fresh situation, ask for another one like it, and get one that is another."""
    place = page.locator('section.fuelkit-board[aria-label^="Practice:"]').first
    fresh, following = (fresh_board(learner.lesson.unit, board, draw) for draw in (1, 2))
    assert plain(place.locator(".lead").inner_text()) == plain(fresh.lead)
    given, marks = learner.work(fresh, place)
    learner.check_kept(fresh, given, marks, f"practice-{learner.lesson.unit.identifier}")
    place.get_by_role("button", name="Another one like this").click()
    place.locator("button.commit:visible").wait_for()
    assert plain(place.locator(".lead").inner_text()) == plain(following.lead)
    assert place.locator(".result").is_hidden()


def practised_first(lesson, path):
    """The board that the first line of practice is like."""
    line = next(c for c in code_of(path) if c.startswith("lesson.another("))
    return lesson.named(json.loads(line.split("(")[1].rstrip(")")))


@pytest.mark.parametrize("path", wanted(DEFAULT), ids=lambda p: p.stem)
def test_a_lesson_is_worked_from_top_to_bottom(lab, page, run_all, path, tmp_path, monkeypatch):
    """Mistakes and all: told what the marking says, nothing lost, and all of it open at the end."""
    monkeypatch.setenv("FUELKIT_ANSWERS", str(tmp_path))
    page.set_default_timeout(PATIENCE)
    notebook, folder = in_folder_of_its_own(lab, path, f"worked-{path.stem}")
    lesson = open_lesson(identifier_of(path))
    boards = [b for b in lesson.unit.boards if b.is_committed_by_learner]
    threading.Thread(target=lambda: [lesson.computed(b) for b in boards]).start()
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    open_and_run(lab, page, run_all, notebook)
    assert page.locator(".fuelkit-page .closed").count() > 0
    check_page(page)

    pictures = Pictures(page, Path(PICTURES) / path.stem) if PICTURES else None
    learner = Learner(page, lesson, folder / "answers", SEED, pictures and pictures.board)
    for number, board in enumerate(boards):
        board_of(page, board.title).wait_for()
        following = boards[number + 1 : number + 2]
        assert not any(board_of(page, b.title).count() for b in following)
        given, marks = learner.work(board, board_of(page, board.title))
        learner.check_kept(board, given, marks)
    practise(page, learner, practised_first(lesson, path))

    assert learner.wrong and learner.asked_again
    all_open(page, path)
    check_page(page)
    assert faults == []
    if pictures:
        pictures.cells()


@pytest.mark.parametrize("path", wanted(ON_THE_WALL), ids=lambda p: p.stem)
def test_a_lesson_opens_for_the_projector(lab, page, run_all, path):
    """Large boards with everything open, no error, nothing to scroll in, and no fault for axe."""

    def change(text):
        opened = f'open_lesson(\\"{identifier_of(path)}\\"'
        assert opened in text
        return text.replace(opened, f"{opened}, projector=True")

    page.set_default_timeout(PATIENCE)
    notebook, _ = in_folder_of_its_own(lab, path, f"projected-{path.stem}", change)
    open_and_run(lab, page, run_all, notebook)
    assert page.locator(".fuelkit-page .closed").count() == 0
    assert page.locator(".fuelkit-class-board, .fuelkit-board, section").count() > 3
    check_page(page)
    if PICTURES:
        Pictures(page, Path(PICTURES) / f"{path.stem}-projector").cells()
