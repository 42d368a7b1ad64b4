"""A paper sat in a real browser, from the keyboard alone: begin, answer, come back, hand in."""

import re
from dataclasses import replace

import pytest

from fuelkit.assess.integrity.commitment import commit
from fuelkit.assess.papers.marking import mark_paper
from fuelkit.assess.sheet import read_sheet
from fuelkit.show.papers.bundle import bundle
from fuelkit.show.papers.content import paper_content
from tests.browser.learner import PATIENCE
from tests.browser.test_lesson import board, end_all_kernels, open_and_run, set_by_keyboard
from tests.small_sitting import blueprint, short_key

FOLDER, KINDS = "a-paper", ("state", "figure", "reason")


@pytest.fixture(scope="module")
def key():
    """The key to a paper of three questions from one flight."""
    return short_key(KINDS)


@pytest.fixture
def paper(lab, key):
    """The paper in a folder of its own, and where its answers go."""
    return given_out(lab, key, FOLDER, blueprint())


def given_out(lab, key, name, plan):
    """Put a paper into a folder of the server; return its content, and where its answers go."""
    content = paper_content(key, commit(key.table()), plan)
    folder = lab.root / name
    folder.mkdir(exist_ok=True)
    for file, data in bundle(content).items():
        (folder / file).write_bytes(data)
    return content, folder / "answers"


def button(page, place):
    """Press the button of a board from the keyboard."""
    place.locator("button.commit").focus()
    page.keyboard.press("Enter")


def test_a_paper_is_sat_from_the_keyboard_and_marked(lab, page, run_all, key, paper):
    """Nothing opens before Begin and nothing is told; answers outlive the kernel; it is marked."""
    content, answers = paper
    titles = [
        f"{i} of 3 · {q['title']} · {q['marks']:g} marks"
        for i, q in enumerate(content["questions"], start=1)
    ]
    open_and_run(lab, page, run_all, f"{FOLDER}/paper.ipynb")
    first = board(page, titles[0])
    assert first.count() == 0
    button(page, board(page, f"{content['title']} · A07"))
    first.wait_for()
    assert first.get_by_role("timer").inner_text() == "Time left: 60 min"
    given = set_by_keyboard(page, first, (True, False))
    button(page, first)
    first.locator("p", has_text="Committed and saved").wait_for()
    assert page.locator(".verdict").count() == 0 and first.get_by_role("timer").count() == 0

    second = board(page, titles[1])
    page.locator(".jp-CodeCell .jp-InputPrompt").first.click()
    for press in ("0", "0"):  # restarts the kernel, once that is confirmed
        page.keyboard.press(press)
    page.locator(".jp-Dialog .jp-mod-accept").click()
    page.locator(".jp-Dialog").wait_for(state="detached")
    lost = second.get_by_text("This board has lost its kernel")
    for figure in range(60):
        second.locator("input").first.fill(f"{figure} kg")
        page.wait_for_timeout(500)
        if lost.count():
            break
    assert lost.is_visible()
    end_all_kernels(lab)
    open_and_run(lab, page, run_all, f"{FOLDER}/paper.ipynb?reset")
    board(page, titles[0]).locator("p", has_text="Committed and saved").wait_for(timeout=PATIENCE)
    third = board(page, titles[2])
    third.scroll_into_view_if_needed()
    button(page, third)
    third.get_by_text("Nothing is answered here yet.").wait_for()
    reason = third.locator("textarea")
    reason.fill("Because its tank is empty.\nAnd the pump would run dry.")
    assert reason.bounding_box()["height"] >= 80.0 and reason.bounding_box()["width"] >= 500.0
    button(page, third)
    third.locator("p", has_text="Committed and saved").wait_for()
    end = board(page, "Hand in")
    button(page, end)
    end.get_by_text("Questions still open, which would earn nothing: 2.").wait_for()
    button(page, end)
    end.locator("p", has_text="Your receipt, to read out").wait_for()

    (path,) = answers.glob("paper-*.json")
    sheet = read_sheet(path)
    assert list(sheet.answers["q01"]["given"].values()) == given
    marked = mark_paper(key, sheet, minutes=content["minutes"])
    assert marked.open_reasons == ("q03",) and not marked.late
    assert 0.0 <= marked.marks <= marked.full == key.marks


def test_what_is_set_when_the_time_is_up_is_handed_in_as_it_stood(lab, page, run_all, key):
    """Counted down in seconds; then nothing more counts, and what was ticked does."""
    content, answers = given_out(lab, key, "a-short-paper", replace(blueprint(), minutes=0.25))
    open_and_run(lab, page, run_all, "a-short-paper/paper.ipynb")
    button(page, board(page, f"{content['title']} · A07"))
    first = board(page, f"1 of 3 · {content['questions'][0]['title']} · "
                        f"{content['questions'][0]['marks']:g} marks")  # fmt: skip
    first.wait_for()
    assert re.fullmatch(r"Time left: 0:\d\d min", first.get_by_role("timer").inner_text())
    given = set_by_keyboard(page, first, (True, False))
    first.get_by_role("timer").get_by_text("The time is up.").wait_for(timeout=PATIENCE)
    assert first.locator("input[type=radio]:enabled").count() == 0
    assert not first.locator("button.commit").is_visible()
    end = board(page, "Hand in")
    button(page, end)
    end.locator("p", has_text="Your receipt, to read out").wait_for()
    (path,) = answers.glob("paper-*.json")
    sheet = read_sheet(path)
    assert list(sheet.answers["q01"]["given"].values()) == given and "q02" not in sheet.answers
    assert not mark_paper(key, sheet, minutes=content["minutes"]).late
