"""How long from a click on the board to the redrawn board, against a bare text update.

Run `python -m tests.benchmarks.board_click` in the course's environment, with a browser on the
machine. Both are timed in one run of one browser, from the click to the next frame after the page
has changed; what counts is the ratio.
"""

import secrets
import statistics
import sys
import tempfile
from pathlib import Path

import nbformat

from fuelkit.command import lab as lab_server
from fuelkit.command.browser import HOW_TO_GET, find_browser
from tests.browser.conftest import _FLAGS, _run_all

_PROJECT = Path(__file__).resolve().parents[2]
_CLICKS, _BOARDS = 60, 8
_CELL = """
import ipywidgets
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.show.board import PredictionBoard
from fuelkit.show.schematic import schematic, schematic_table_html

aircraft = load_aircraft("halbrook-180")
flight = fly(aircraft, load_sector("eastmere-port-ellery", aircraft))
before, after = picture(flight, 1750.0), picture(flight, 1830.0)
asks = [{{"id": p.name, "text": p.name, "kind": "choice", "options": ["OFF", "RUN"],
         "component": p.name}} for p in aircraft.pumps]

def committed(answers):
    rows = [{{"id": a["id"], "text": a["text"], "given": answers[a["id"]], "right":
             after.positions[a["id"]], "is_right": True, "reason": "because"}} for a in asks]
    return {{"comparison": rows, "note": "done",
            "after_drawing": schematic(aircraft, after, predicted=answers),
            "after_table": schematic_table_html(aircraft, after)}}

def board():
    return PredictionBoard(
        title="Board", asks=asks, answers={{a["id"]: "RUN" for a in asks}}, on_commit=committed,
        drawing=schematic(aircraft, before, asked=tuple(a["id"] for a in asks)),
        table=schematic_table_html(aircraft, before))

count, text = 0, ipywidgets.HTML("0")
text.add_class("bare-text")
button = ipywidgets.Button(description="Count")
button.add_class("bare-button")

def clicked(_):
    global count
    count += 1
    text.value = str(count)

button.on_click(clicked)
ipywidgets.VBox([button, text, *[board() for _ in range({boards})]])
"""

# Times from a click to the frame after the change that it brings, in ms.
_TIMER = """
const frame = () => new Promise(done => requestAnimationFrame(() => setTimeout(done, 0)));
const settled = (watched, happened) => new Promise(done => {
  if (happened()) return done();
  const watcher = new MutationObserver(() => {
    if (happened()) { watcher.disconnect(); done(); }
  });
  watcher.observe(watched, {subtree: true, childList: true, characterData: true, attributes: true});
});
const timed = async (click, watched, happened) => {
  await frame();
  const start = performance.now();
  click();
  await settled(watched, happened);
  const changed = performance.now();
  await frame();
  return [changed - start, performance.now() - start];
};
const pause = ms => new Promise(done => setTimeout(done, ms));
"""
_TEXT = """async clicks => {
  %s
  const button = document.querySelector('.bare-button');
  const text = document.querySelector('.bare-text');
  const times = [];
  for (let i = 0; i < clicks; i++) {
    const before = text.textContent;
    times.push(await timed(() => button.click(), text, () => text.textContent !== before));
    await pause(60);
  }
  return times;
}"""
_SYMBOL = """async clicks => {
  %s
  const board = document.querySelector('.fuelkit-board');
  const symbol = board.querySelector('[data-component="left centre pump"]');
  const shown = () => symbol.querySelector('[data-variant]:not([display])').textContent;
  const times = [];
  for (let i = 0; i < clicks; i++) {
    const before = shown();
    times.push(await timed(
      () => symbol.dispatchEvent(new MouseEvent('click', {bubbles: true})), symbol,
      () => shown() !== before));
    await pause(60);
  }
  await pause(600);
  return times;
}"""
_COMMIT = """async () => {
  %s
  const times = [];
  for (const board of document.querySelectorAll('.fuelkit-board')) {
    const button = board.querySelector('.commit');
    times.push(await timed(() => button.click(), board,
      () => board.querySelector('.result tbody tr') && board.querySelector('.stage svg')));
    await pause(200);
  }
  return times;
}"""


def main():
    """Start JupyterLab and the browser, time all three, print the ratios."""
    browser = find_browser()
    if browser is None:
        sys.exit(f"The benchmark needs a browser. {HOW_TO_GET}")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        root, state = Path(folder) / "course", Path(folder) / "state"
        root.mkdir()
        _write_notebook(root / "clicks.ipynb")
        token, port = (
            secrets.token_hex(16),
            lab_server.free_port(20_000 + secrets.randbelow(20_000)),
        )
        process = lab_server.start(
            sys.executable, root=root, state=state, port=port, token=token,
            more=[("PYTHONPATH", str(_PROJECT))],
        )  # fmt: skip
        try:
            lab_server.wait_until_ready(process, port=port, state=state)
            _report(_measure(browser, lab_server.address(port, token, "clicks.ipynb")))
        finally:
            lab_server.stop(process)


def _write_notebook(path):
    cell = nbformat.v4.new_code_cell(_CELL.format(boards=_BOARDS).strip())
    content = nbformat.v4.new_notebook(cells=[cell])
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    nbformat.write(content, path)


def _measure(browser, address):
    """Return the times of each kind of click. [ms]."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=browser, args=_FLAGS)
        page = chromium.new_page(viewport={"width": 1280, "height": 720})
        page.goto(address)
        _run_all(page)
        page.locator(".fuelkit-board").nth(_BOARDS - 1).wait_for()
        page.evaluate(_TEXT % _TIMER, 5)  # the first clicks warm everything up
        return {
            "a bare text update": page.evaluate(_TEXT % _TIMER, _CLICKS),
            "a click on the board's drawing": page.evaluate(_SYMBOL % _TIMER, _CLICKS),
            "a bare text update, again": page.evaluate(_TEXT % _TIMER, _CLICKS),
            "a commit, with comparison and new drawing": page.evaluate(_COMMIT % _TIMER),
        }


def _report(times):
    medians = {k: [statistics.median(column) for column in zip(*v, strict=True)]
               for k, v in times.items()}  # fmt: skip
    bare = [statistics.mean(pair) for pair in zip(medians["a bare text update"],
            medians["a bare text update, again"], strict=True)]  # fmt: skip
    print("median of each, in ms: until the page has changed; until the next frame; ratio of each")
    for name, (changed, framed) in medians.items():
        print(
            f"  {name:45} {changed:7.1f} {framed:7.1f}   x {changed / bare[0]:.2f}  "
            f"x {framed / bare[1]:.2f}"
        )


if __name__ == "__main__":
    main()
