"""What the browser tests share: the system's browser, a JupyterLab of their own, and its page.

Without a Chromium or Chrome on the machine these tests are skipped, with a line that says how to
get one; a browser is never downloaded.
"""

import contextlib
import re
import secrets
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

import nbformat
import pytest

from fuelkit.command import lab as lab_server
from fuelkit.command.browser import HOW_TO_GET, VARIABLE, find_browser

_PROJECT = Path(__file__).resolve().parents[2]
_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
_VIEWPORT = {"width": 1280, "height": 720}
_PATIENCE = 60_000  # ms; what is waited for comes sooner, on a busy machine too


@dataclass(frozen=True)
class Lab:
    """A running JupyterLab. Frozen.

    `root` is its folder, with copies of lessons/ and exercises/, which a test may change.
    """

    port: int
    token: str
    root: Path

    def address(self, page=""):
        """Return the address of a notebook, such as "lessons/06_cruise.ipynb".

        It opens alone: what an earlier test left open is not opened again beside it.
        """
        return f"{lab_server.address(self.port, self.token, page)}&reset"


@pytest.fixture(scope="session")
def browser_path():
    """Give the program of a browser that is on this machine, or skip."""
    found = find_browser()
    if found is None:
        pytest.skip(f"{VARIABLE} or a system browser is needed. {HOW_TO_GET}")
    return found


@pytest.fixture(scope="session")
def lab(browser_path, tmp_path_factory):
    """Start JupyterLab as a learner has it, on copies, with all of its own files apart."""
    root = tmp_path_factory.mktemp("course")
    for name in ("lessons", "exercises"):
        if (_PROJECT / name).is_dir():
            shutil.copytree(_PROJECT / name, root / name)
    with _running(root, tmp_path_factory.mktemp("jupyter")) as running:
        yield running


@pytest.fixture
def first_lab(browser_path, tmp_path):
    """Start a JupyterLab that nobody has used yet, on an empty folder."""
    (tmp_path / "course").mkdir()
    with _running(tmp_path / "course", tmp_path / "jupyter") as running:
        yield running


@contextlib.contextmanager
def _running(root, state):
    token = secrets.token_hex(16)
    port = lab_server.free_port(20_000 + secrets.randbelow(20_000))
    process = lab_server.start(
        sys.executable,
        root=root,
        state=state,
        port=port,
        token=token,
        more=[("PYTHONPATH", str(_PROJECT))],
    )
    try:
        lab_server.wait_until_ready(process, port=port, state=state)
        yield Lab(port, token, root)
    finally:
        lab_server.stop(process)


@pytest.fixture(scope="session")
def _browser(browser_path):
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=browser_path, args=_FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def page(_browser):
    """Give an empty page of 1280 by 720 in a profile of its own."""
    context = _browser.new_context(viewport=_VIEWPORT)
    context.set_default_timeout(_PATIENCE)
    yield context.new_page()
    context.close()


@pytest.fixture(scope="module")
def open_trial(lab, _browser):
    """Give the function `open_trial(name, cells)`: a notebook of these cells, open on a page.

    The page is one for all tests of a file; `run_afresh` makes it as it was.
    """
    context = _browser.new_context(viewport=_VIEWPORT)
    context.set_default_timeout(_PATIENCE)

    def opened(name, cells):
        content = nbformat.v4.new_notebook(
            cells=[nbformat.v4.new_code_cell(source.strip()) for source in cells]
        )
        content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
        place = lab.root / "trial" / f"{name}.ipynb"
        place.parent.mkdir(exist_ok=True)
        nbformat.write(content, place)
        page = context.new_page()
        page.goto(lab.address(f"trial/{name}.ipynb"))
        _wait_for_idle(page)
        return page

    yield opened
    context.close()


@pytest.fixture
def go_on(lab):
    """Give the function `go_on()`, which ends a cell `KEEP_BUSY` of a trial."""
    return (lab.root / "trial" / "go on").touch


@pytest.fixture
def run_afresh():
    """Give the function `run_afresh(page, board)`."""
    return _run_afresh


def _run_afresh(page, board):
    """Run the first cell of a trial, with nothing left of what was done before; give its board."""
    page.evaluate("document.fullscreenElement && document.exitFullscreen()")
    page.set_viewport_size(_VIEWPORT)
    _wait_for_idle(page)
    page.get_by_role("menuitem", name="Edit", exact=True).click()
    page.get_by_role("menuitem", name="Clear Outputs of All Cells", exact=True).click()
    page.locator(board).wait_for(state="detached")
    page.locator(".jp-CodeCell").first.locator(".jp-InputPrompt").click()
    page.keyboard.press("Control+Enter")
    page.locator(board).wait_for()
    page.wait_for_function(
        "/\\d/.test(document.querySelector('.jp-CodeCell .jp-InputPrompt').textContent)"
    )
    return page.locator(board)


@pytest.fixture
def wait_for_idle():
    """Give the function `wait_for_idle(page)`."""
    return _wait_for_idle


@pytest.fixture
def run_all():
    """Give the function `run_all(page)`."""
    return _run_all


def _wait_for_idle(page):
    """Return when the notebook's kernel is there and has nothing to do.

    The indicator in the notebook's toolbar says idle before there is a kernel; the status bar
    does not.
    """
    page.locator("#jp-bottom-panel").get_by_text(re.compile(r"\| Idle")).wait_for()


def _run_all(page):
    """Run all cells of the notebook on the page and return when they have ended."""
    _wait_for_idle(page)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(_ALL_HAVE_RUN)
    _wait_for_idle(page)


# True when no code cell waits ([*]) and each that has text has a number.
_ALL_HAVE_RUN = """() => {
  const notebook = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden)');
  const prompts = [...notebook.querySelectorAll('.jp-CodeCell')]
    .filter(cell => cell.querySelector('.cm-content')?.textContent.trim())
    .map(cell => cell.querySelector('.jp-InputPrompt').textContent);
  return prompts.length > 0 && prompts.every(prompt => /\\[\\d+\\]/.test(prompt));
}"""
