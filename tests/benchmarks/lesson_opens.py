"""How long from a ready kernel to the first board of a lesson, against a bare widget.

Run `python -m tests.benchmarks.lesson_opens` in the course's environment, with a browser on the
machine; `python -m tests.benchmarks.lesson_opens 09` for another lesson. Both are run in one
JupyterLab in turns, each time with a new kernel, from the press of Run All to the frame in which
the first board, or the bare widget, is drawn; what counts is the ratio. The aim is a first board
within three seconds.
"""

import json
import secrets
import statistics
import sys
import tempfile
import urllib.request
from pathlib import Path

import nbformat

from fuelkit.command import lab as lab_server
from fuelkit.command.browser import HOW_TO_GET, find_browser
from tests.browser.conftest import _FLAGS, _wait_for_idle

_PROJECT = Path(__file__).resolve().parents[2]
_TURNS = 3
_BARE_CELL = 'import ipywidgets\nipywidgets.HTML("<span class=bare-widget>here</span>")'
_AIM = 3.0  # s
_PATIENCE = 60_000  # ms
_TALL = {"width": 1280, "height": 4000}  # JupyterLab draws no output that is out of sight

# Keeps the time from the press on the menu until an element is drawn, in ms.
_TIMER = """place => {
  let start;
  // The menu makes no mouse event of a press on it.
  window.addEventListener('pointerup', () => { start = performance.now(); },
    {capture: true, once: true});
  const drawn = () => document.querySelector(place)?.getClientRects().length > 0;
  const watcher = new MutationObserver(() => {
    if (start === undefined || !drawn()) return;
    watcher.disconnect();
    requestAnimationFrame(() => setTimeout(() => {
      window.fuelkitTook = performance.now() - start;
    }, 0));
  });
  watcher.observe(document.body, {subtree: true, childList: true, attributes: true});
}"""


def main(lesson="06"):
    """Start JupyterLab and the browser, time both in turns, print seconds and the ratio."""
    browser = find_browser()
    if browser is None:
        sys.exit(f"The benchmark needs a browser. {HOW_TO_GET}")
    (path,) = (_PROJECT / "lessons").glob(f"{lesson}_*.ipynb")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        root, state = Path(folder) / "course", Path(folder) / "state"
        _write_notebooks(root / "lessons", path)
        token = secrets.token_hex(16)
        port = lab_server.free_port(20_000 + secrets.randbelow(20_000))
        process = lab_server.start(
            sys.executable, root=root, state=state, port=port, token=token,
            more=[("PYTHONPATH", str(_PROJECT))],
        )  # fmt: skip
        try:
            lab_server.wait_until_ready(process, port=port, state=state)
            _report(path.stem, _measure(browser, port, token))
        finally:
            lab_server.stop(process)


def _write_notebooks(folder, path):
    folder.mkdir(parents=True)
    (folder / "lesson.ipynb").write_bytes(path.read_bytes())
    content = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(_BARE_CELL)])
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    nbformat.write(content, folder / "bare.ipynb")


def _measure(browser, port, token):
    """Return the times of each notebook, with a new kernel each time. [s]"""
    from playwright.sync_api import sync_playwright

    places = {"bare": ".bare-widget", "lesson": "section.fuelkit-board"}
    times = {name: [] for name in places}
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=browser, args=_FLAGS)
        for turn in range(1 + _TURNS):  # the first turn warms the machine up
            for name, place in places.items():
                page = chromium.new_page(viewport=_TALL)
                page.set_default_timeout(_PATIENCE)
                address = lab_server.address(port, token, f"lessons/{name}.ipynb")
                found = _one_run(page, f"{address}&reset", place)
                page.close()
                _end_kernels(port, token)
                if turn:
                    times[name].append(found)
    return times


def _one_run(page, address, place):
    page.goto(address)
    _wait_for_idle(page)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.evaluate(_TIMER, place)
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function("() => window.fuelkitTook")
    return page.evaluate("() => window.fuelkitTook") / 1000.0


def _end_kernels(port, token):
    head = {"Authorization": f"token {token}"}
    address = f"http://localhost:{port}/api/sessions"
    with urllib.request.urlopen(urllib.request.Request(address, headers=head)) as found:
        sessions = json.load(found)
    for session in sessions:
        one = urllib.request.Request(f"{address}/{session['id']}", headers=head, method="DELETE")
        urllib.request.urlopen(one).close()


def _report(name, times):
    bare, lesson = (statistics.median(times[key]) for key in ("bare", "lesson"))
    print(f"from Run All with a ready kernel, median (and all) of {_TURNS}, in seconds")
    for words, key in (("a bare widget", "bare"), (f"first board of {name}", "lesson")):
        every = " ".join(f"{time:.2f}" for time in times[key])
        print(f"  {words:40} {statistics.median(times[key]):6.2f}   ({every})")
    print(f"  ratio x {lesson / bare:.1f}; the aim, {_AIM:.0f} s: ", end="")
    print("met" if lesson <= _AIM else "not met", "in this run")


if __name__ == "__main__":
    main(*sys.argv[1:])
