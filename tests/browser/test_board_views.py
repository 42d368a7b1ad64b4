"""The board's front end by itself: what it shows in each state, in each size, in each theme.

No kernel runs here: the page holds the widget's state as Python made it, and keeps what the board
sends, so that a test can answer as Python would.
"""

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.assess.written import read_periods
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.show.board import PredictionBoard
from fuelkit.show.page import table_page
from fuelkit.show.palette import DARK, INK, PAPER
from fuelkit.show.schematic import schematic
from fuelkit.show.tables import schematic_table_html

NAMES = ("left centre pump", "right centre pump", "left transfer valve")
TANKS = ["left inboard", "right inboard", "centre", "left outboard", "right outboard", "not fed"]
LONG = [
    f"Because {words}, so that it is inhibited until that has come to an end again."
    for words in (
        "the high-lift surfaces are out",
        "its switch was set off by hand",
        "its tank is empty",
    )
]
SEVEN = [
    {"id": name, "text": name.capitalize(), "kind": "choice", "component": name,
     "options": ["OFF", "RUN"] if "pump" in name else ["SHUT", "OPEN"]} for name in NAMES
] + [
    {"id": f"fed{n}", "text": f"Engine {n} is fed from", "kind": "choice", "options": TANKS}
    for n in (1, 2)
] + [
    {"id": "mass", "text": "Fuel in the centre tank", "kind": "number", "unit": "kg",
     "hint": "counts within 100 kg"},
    {"id": "when", "text": "When does the left centre pump stop?", "kind": "time",
     "unit": "h:mm:ss", "hint": "for example 1:32:00; counts within 1.0 min"},
]  # fmt: skip
SET = dict(zip(NAMES, ("OFF", "RUN", "SHUT"), strict=True)) | {
    "fed1": "centre", "fed2": "centre", "mass": "6 800", "when": "0:29:30"}  # fmt: skip
BANDS = {"id": "runs", "text": "When does the left centre pump run?", "kind": "bands",
         "start": 1800.0, "end": 9000.0, "state": "RUN", "label": "Left centre pump",
         "ticks": [{"at": 1800, "words": "climb"}, {"at": 3600, "words": "cruise"}]}  # fmt: skip
MIXED = [SEVEN[0] | {"given": "RUN", "reason": "Its switch is on and its bus is LIVE."},
         {"id": "why", "text": "Why?", "kind": "choice", "long": True, "options": LONG},
         BANDS]  # fmt: skip

# A page that stands for the notebook: holds the state, keeps what is sent, can be answered.
_SHOW = """async ([state, width]) => {
  const style = document.createElement('style');
  style.textContent = state._css;
  document.head.append(style);
  const url = URL.createObjectURL(new Blob([state._esm], {type: 'text/javascript'}));
  const widget = (await import(url)).default;
  const heard = {}, hear = (name, value) => (heard[name] ?? []).forEach(act => act(value));
  window.sent = [];
  window.receive = (changes, message) => {
    Object.assign(state, changes);
    for (const name of Object.keys(changes)) hear(`change:${name}`);
    if (message) hear('msg:custom', message);
  };
  const el = document.createElement('div');
  el.style.width = width;
  document.body.replaceChildren(el);
  widget.render({el, model: {
    get: name => state[name], set: (name, value) => { state[name] = value; },
    on: (name, act) => { (heard[name] ??= []).push(act); }, off: () => {},
    save_changes: () => {}, send: message => window.sent.push(message),
  }});
  window.state = state;
}"""


@pytest.fixture(scope="module")
def drawings():
    """The situation and what the aircraft did, as drawings and tables."""
    aircraft = load_aircraft("halbrook-180")
    flight = fly(aircraft, load_sector("eastmere-port-ellery", aircraft))
    before, after = picture(flight, 1750.0), picture(flight, 1830.0)
    return {
        "drawing": schematic(aircraft, before, title="What you see now", asked=NAMES),
        "table": schematic_table_html(aircraft, before),
        "after_drawing": schematic(aircraft, after, title="The computed flight"),
        "after_table": schematic_table_html(aircraft, after),
    }


@pytest.fixture
def show(page, drawings):
    """Give the function that shows a board of some asks and returns it with its place."""

    def shown(asks=SEVEN, *, width="1100px", **more):
        results = {k: v for k, v in drawings.items() if k.startswith("after")}
        rows = [{"id": k, "text": k.capitalize(), "given": v, "right": "OFF"}
                for k, v in SET.items()]  # fmt: skip
        board = PredictionBoard(
            title="Taxi out: the high-lift surfaces go out", when="Predict at 0:30:30", asks=asks,
            lead="Both engines run, and the crew sets the high-lift surfaces for take-off.",
            drawing=drawings["drawing"], table=drawings["table"],
            figures=table_page("Figures you may use", ("what", "figure"), [("a", "1 kg")]).html,
            on_commit=lambda _: results | {"comparison": rows}, **more,
        )  # fmt: skip
        page.set_content("<!doctype html><html lang='en'><title>Board</title><body></body></html>")
        page.evaluate(_SHOW, [board.get_state(), width])
        return board, page.locator(".fuelkit-board")

    return shown


def answer(page, board, names):
    """Send the page what Python now holds, as it does after a call."""
    changes = {name: getattr(board, name) for name in names}
    page.evaluate(
        "([changes, done]) => receive(changes, {kind: 'answered', done})",
        [changes, not board.error],
    )


def commit(page, board):
    """Commit by the button; Python answers."""
    page.get_by_role("button", name="Commit").click()
    board.commit(page.evaluate("sent.at(-1).answers"))
    answer(page, board, ["answers", "comparison", "after_drawing", "after_table", "committed"])


def audit(page):
    """Return what the axe accessibility rules find fault with on the board."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    found = axe.run(page, context=".fuelkit-board").response["violations"]
    return [(fault["id"], [node["html"][:200] for node in fault["nodes"]]) for fault in found]


def overflowing(page):
    """Return what on the board scrolls by itself, runs out of it or has letters cut off."""
    return page.evaluate("""() => {
      const board = document.querySelector('.fuelkit-board'), edge = board.getBoundingClientRect();
      return [...board.querySelectorAll('*')].filter(e => e.getClientRects().length
        && !e.closest('.unseen') && !e.closest('svg')).filter(e => {
          const style = getComputedStyle(e), box = e.getBoundingClientRect();
          return /auto|scroll/.test(style.overflowX + style.overflowY)
            || (e.scrollWidth > e.clientWidth + 1 && style.display !== 'inline')
            || box.right > edge.right + 1;
        }).map(e => e.outerHTML.slice(0, 120));
    }""")


def colours(page):
    """Return ink and ground of the board and of its drawing, as numbers."""
    return page.evaluate("""() => {
      const board = document.querySelector('.fuelkit-board'), of = getComputedStyle(board);
      const drawn = place => getComputedStyle(board.querySelector(place)).fill;
      return [[of.color, drawn('svg text')], [of.backgroundColor, drawn('svg > rect')]];
    }""")


def rgb(colour):
    """A colour of the palette as a browser writes it."""
    return f"rgb({', '.join(str(part) for part in bytes.fromhex(colour[1:]))})"


def test_the_learner_compares_before_reasons_show(page, show):
    """Both side by side, each marked same or differs; then verdicts, reasons, own marking."""
    reasons = [{"id": k, "is_right": k != "mass", "reason": f"reason of {k}"} for k in SET]
    board, place = show(
        answers=SET, another_label="Another one like this",
        on_compare=lambda marks: {"reasons": reasons, "note": "6 of 7 as predicted."},
    )  # fmt: skip
    commit(page, board)
    another = place.get_by_role("button", name="Another one like this")

    assert "agrees" not in place.inner_text() and "reason of" not in place.inner_text()
    assert place.get_by_role("button", name="Side by side").is_visible() and another.is_hidden()
    assert audit(page) == []
    button = place.get_by_role("button", name="Show the reasons")
    for row, mark in zip(place.locator(".comparing fieldset").all(), "sdssdss", strict=True):
        assert button.get_attribute("aria-disabled") == "true"
        row.get_by_role("radio", name={"s": "same", "d": "differs"}[mark]).focus()
        page.keyboard.press("Space")
    button.press("Enter")
    board.compare(page.evaluate("sent.at(-1).marks"))
    answer(page, board, ["comparison", "note", "compared"])

    rows = place.locator(".result tbody tr").all_inner_texts()
    assert rows[0].split("\t")[3:] == [
        "✓ agrees", "same: you saw it", "reason of left centre pump"]  # fmt: skip
    assert rows[1].split("\t")[4] == "differs: look again"
    assert rows[5].split("\t")[3:5] == ["✗ differs", "same: look again"]
    assert page.evaluate("document.activeElement.tagName") == "H4"
    another.press("Enter")
    assert page.evaluate("sent.at(-1)") == {"kind": "another"}
    assert audit(page) == []


def test_an_error_while_comparing_is_told_and_the_marking_stays(page, show):
    """As an alert; the same marking can be sent again."""

    def fails(_):
        raise OSError(28, "No space left on device")

    board, place = show(answers=SET, on_compare=fails)
    commit(page, board)
    for row in place.locator(".comparing fieldset").all():
        row.get_by_role("radio", name="same").check(force=True)
    place.get_by_role("button", name="Show the reasons").click()
    board.compare(page.evaluate("sent.at(-1).marks"))
    answer(page, board, ["error"])

    assert "No space left on device" in place.get_by_role("alert").inner_text()
    button = place.get_by_role("button", name="Show the reasons")
    assert button.get_attribute("aria-disabled") == "false"
    assert place.locator(".comparing input:checked").count() == len(SET)


def test_what_the_course_has_set_is_shown_and_not_asked(page, show):
    """Locked, with its reason, also on the drawing; the answers that are sent do not hold it."""
    board, place = show(MIXED, answers={"why": LONG[0], "runs": "never"})

    given = place.locator(".given")
    assert "RUN" in given.inner_text() and "its bus is LIVE" in given.inner_text()
    assert given.locator("input, select, button").count() == 0
    assert place.get_by_role("img", name="Left centre pump: RUN, set for you.").count() == 1
    place.get_by_role("button", name="Commit").click()
    assert page.evaluate("sent.at(-1).answers") == {"why": LONG[0], "runs": "never"}


@pytest.mark.parametrize("asks", [SEVEN, MIXED], ids=["seven", "mixed"])
def test_every_stop_keeps_the_notebooks_keys_away(page, show, asks):
    """Each element that takes the focus bears the mark by which JupyterLab leaves it alone."""
    unmarked = """() => [...document.querySelectorAll(
      '.fuelkit-board :is(button, input, select, summary, [tabindex])')]
      .filter(e => e.getAttribute('data-lm-suppress-shortcuts') !== 'true').map(e => e.outerHTML)"""
    answers = SET | {"why": LONG[0], "runs": "0:40:00-1:00:00"}
    board, _ = show(asks, answers=answers, on_compare=lambda _: {}, another_label="Another")

    assert page.evaluate(unmarked) == []
    commit(page, board)
    assert page.evaluate(unmarked) == []


def bands(page):
    """Return the answer to the question of bands as the board holds it."""
    page.wait_for_timeout(400)
    return page.evaluate("state.answers.runs")


def test_bands_are_typed_and_moved_by_key(page, show):
    """Fields and edges stay in step; an hour that cannot be read is said."""
    _, place = show([BANDS])
    place.get_by_role("button", name="Add a band").press("Enter")
    page.keyboard.type("0h44m30")
    page.keyboard.press("Tab")
    page.keyboard.type("1:16:20")
    assert bands(page) == "0:44:30-1:16:20"

    edge = place.get_by_role("slider", name="Band 1, edge where it ends")
    for key in ("ArrowRight", "Shift+ArrowLeft", "PageUp", "ArrowDown"):
        edge.press(key)
    assert bands(page) == "0:44:30-1:26:10"
    assert place.get_by_label("Band 1 ends").input_value() == "1:26:10"
    assert edge.get_attribute("aria-valuetext") == "1:26:10"
    place.get_by_role("slider", name="Band 1, edge where it begins").press("Home")
    assert bands(page) == "0:30:00-1:26:10"

    place.get_by_role("button", name="Add a band").click()
    place.get_by_label("Band 2 begins").fill("1:00:00")
    place.get_by_label("Band 2 ends").fill("2:00:00")
    assert "two bands overlap" in place.inner_text()
    place.get_by_label("Band 2 begins").fill("noon")
    assert "write when each band begins and ends" in place.inner_text()
    place.get_by_role("button", name="Remove band 2").click()
    assert audit(page) == []
    place.get_by_label("Not at all in this stretch").press("Space")
    assert bands(page) == "never" and place.locator(".band").count() == 0


WRITTEN = [
    "never", "0:44:30-1:16:20", "0:44-1:16, 1:31:00-2:40:00", "1:00-1:30, 1:30-2:00", "", "-",
    "1:00-", "2:00-1:00", "1:00-1:00", "1:00-2:00, 1:30-3:00", "noon-1:00", "1:00-2:00-3:00",
    "1:75-2:00", ", ".join(f"{n}:00:00-{n}:30:00" for n in range(40)),
]  # fmt: skip


def test_the_board_reads_bands_as_the_marking_does(page, show):
    """What the board lets through, the marking can read, and the other way round."""
    board, _ = show([BANDS])
    found = page.evaluate(
        """async ([source, written]) => {
          const url = URL.createObjectURL(new Blob([source], {type: 'text/javascript'}));
          const { readable } = await import(url);
          return written.map(text => readable('bands', text));
        }""",
        [board._esm, WRITTEN],
    )
    for text, is_read in zip(WRITTEN, found, strict=True):
        assert is_read == (read_periods(text) is not None), text


def test_bands_may_reach_the_ends_of_a_stretch_that_is_no_whole_second(page, show):
    """The ends count as they are written on the axis."""
    _, place = show([BANDS | {"start": 1800.4, "end": 8999.6}])
    place.get_by_role("button", name="Add a band").click()
    place.get_by_label("Band 1 begins").fill("0:30:00")
    place.get_by_label("Band 1 ends").fill("2:30:00")

    assert place.get_by_role("button", name="Commit").get_attribute("aria-disabled") == "false"


def test_bands_are_drawn_and_dragged_with_the_mouse(page, show):
    """A press on the track makes a band, a drag stretches it; neighbours stop it; order is kept."""
    _, place = show([BANDS], answers={"runs": "2:00:00-2:10:00"})
    place.locator(".track").scroll_into_view_if_needed()
    box = place.locator(".track .ground").bounding_box()

    def at(minutes):
        return box["x"] + box["width"] * minutes / 120.0, box["y"] + box["height"] / 2

    page.mouse.move(*at(20))
    page.mouse.down()
    page.mouse.move(*at(50), steps=5)
    page.mouse.up()
    assert bands(page) == "0:50:00-1:20:00, 2:00:00-2:10:00"

    page.mouse.move(*at(50))
    page.mouse.down()
    page.mouse.move(*at(115), steps=5)
    page.mouse.up()
    assert bands(page) == "0:50:00-2:00:00, 2:00:00-2:10:00"


def test_long_options_are_read_in_full(page, show):
    """Each on lines of its own, wrapped and never cut off, in the narrowest place too."""
    _, place = show(MIXED, width="420px")
    tops = [choice.bounding_box()["y"] for choice in place.locator(".stacked .choice").all()]

    assert tops == sorted(set(tops)) and len(tops) == 3
    assert overflowing(page) == []


# Words of the comparison that stand on two lines.
_BROKEN = """() => [...document.querySelectorAll('.pair strong')].flatMap(place => {
  const walker = document.createTreeWalker(place, NodeFilter.SHOW_TEXT), found = [];
  while (walker.nextNode()) for (const word of walker.currentNode.data.matchAll(/[^ ]+/g)) {
    const range = document.createRange();
    range.setStart(walker.currentNode, word.index);
    range.setEnd(walker.currentNode, word.index + word[0].length);
    if (new Set([...range.getClientRects()].map(r => r.top)).size > 1) found.push(word[0]);
  }
  return found;
})"""


@pytest.mark.parametrize("width", [500, 880, 1420])
def test_no_word_and_no_figure_is_broken_in_the_comparison(page, show, width):
    """Below the drawing and in the narrow column beside it; figures may begin with a minus."""
    board, place = show(answers=SET, width=f"{width}px", on_compare=lambda _: {})
    place.get_by_role("button", name="Commit").click()
    board.commit(page.evaluate("sent.at(-1).answers"))
    values = ["call maintenance", "investigate", "-97 kg ± 17 kg", "0.7888 kg/l ± 0.0008 kg/l",
              "1:50:00-1:52:00, 2:03:00-2:09:30 ± 1.2 min", "1 500 ft above it"]  # fmt: skip
    board.comparison = [{"id": str(n), "text": "Asked", "given": v, "right": v}
                        for n, v in enumerate(values)]  # fmt: skip
    answer(page, board, ["answers", "comparison", "after_drawing", "after_table", "committed"])
    assert place.locator(".comparing .ask").count() == len(values)
    assert page.evaluate(_BROKEN) == []
    for pair in place.locator(".pair").all():  # what is marked stands in one column, to the right
        outer, choice = pair.bounding_box(), pair.locator(".choices").bounding_box()
        assert abs(outer["x"] + outer["width"] - choice["x"] - choice["width"]) < 1.0
    assert overflowing(page) == []


@pytest.mark.parametrize("width", [900, 1000, 1200, 1420])
def test_nothing_scrolls_by_itself_in_a_notebook(page, show, width):
    """In each view, before and after the commit, with letters of the drawing at 9 px or more."""
    board, place = show(answers=SET, width=f"{width}px", on_compare=lambda _: {})
    for name in ("As a table", "Figures you may use", "Drawing"):
        place.get_by_role("button", name=name).click()
        assert overflowing(page) == []
    beside = place.locator(".panel").bounding_box()["x"] > place.bounding_box()["x"] + width / 2
    scale = place.locator("svg").first.bounding_box()["width"] / 1280.0
    assert beside == (width >= 1336)
    assert not beside or 12.0 * scale >= 9.0
    commit(page, board)
    for name in ("Side by side", "As a table", "What the aircraft did"):
        place.get_by_role("button", name=name, exact=True).click()
        assert overflowing(page) == []


@pytest.mark.parametrize(("width", "height"), [(1280, 720), (1920, 1080)])
@pytest.mark.parametrize("large", [False, True], ids=["usual", "large"])
def test_full_screen_shows_all_at_once(page, show, width, height, large):
    """Title, drawing, seven asks and the button; then the comparison: nothing to scroll for."""
    page.set_viewport_size({"width": width, "height": height})
    board, place = show(answers=SET, large=large, on_compare=lambda _: {})
    place.get_by_role("button", name="Full screen").click()
    page.wait_for_function("document.fullscreenElement && innerHeight === screen.height || true")

    def fits(name):
        button = place.get_by_role("button", name=name).bounding_box()
        drawing = place.locator(".stage svg:visible").first.bounding_box()
        assert button["y"] + button["height"] <= height
        assert drawing["y"] + drawing["height"] <= height
        assert drawing["width"] >= 0.6 * width
        assert overflowing(page) == []

    fits("Commit")
    commit(page, board)
    fits("Show the reasons")


def test_projector_type_is_large(page, show):
    """Letters of the panel are 20 px or more."""
    board, place = show(answers=SET, large=True, on_compare=lambda _: {})
    sizes = """() => [...document.querySelectorAll('.panel *')]
      .filter(e => e.getClientRects().length && e.textContent.trim() && !e.closest('svg'))
      .map(e => parseFloat(getComputedStyle(e).fontSize))"""

    assert min(page.evaluate(sizes)) >= 20.0
    commit(page, board)
    assert min(page.evaluate(sizes)) >= 20.0


def test_dark_follows_the_notebook_and_else_the_machine(page, show):
    """JupyterLab's own choice counts before the machine's; what is printed is light."""
    board, place = show(answers=SET, on_compare=lambda _: {})
    light, dark = ([[rgb(c)] * 2 for c in pair] for pair in
                   ((INK, PAPER), (DARK[INK], DARK[PAPER])))  # fmt: skip

    assert colours(page) == light
    page.emulate_media(color_scheme="dark")
    assert colours(page) == dark
    page.emulate_media(color_scheme="dark", media="print")
    assert colours(page) == light
    page.emulate_media(color_scheme="dark", media="screen")
    page.evaluate("document.body.dataset.jpThemeLight = 'true'")
    assert colours(page) == light
    page.evaluate("document.body.dataset.jpThemeLight = 'false'")
    assert colours(page) == dark
    assert audit(page) == []
    commit(page, board)
    assert audit(page) == []


def test_a_page_follows_the_theme_too(page):
    """A table that stands alone is dark where the machine is, and light in print."""
    made = table_page("A table", ("what", "figure"), [("fuel", "13 kg")])
    page.set_content(f"<!doctype html><html lang='en'><title>A</title><body>{made.html}")
    ground = "getComputedStyle(document.querySelector('td')).backgroundColor"

    assert page.evaluate(ground) == rgb(PAPER)
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(ground) == rgb(DARK[PAPER])
    page.emulate_media(color_scheme="dark", media="print")
    assert page.evaluate(ground) == rgb(PAPER)


def test_headings_are_those_it_is_given(page, show):
    """A board that signs somebody in does not speak of a prediction."""
    asks = [{"id": "code", "text": "Learner code", "kind": "text"}]
    _, place = show(asks, panel_heading="Your code", commit_label="Sign in")

    assert place.get_by_role("heading", name="Your code").is_visible()
    assert "prediction" not in place.locator(".panel").inner_text()
