"""Drawings in a real browser: every word inside the frame, none on another, large enough."""

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.show.ribbon import ribbon
from fuelkit.show.schematic import schematic

MOMENTS = (300, 1281, 1500, 2000, 2700, 4950, 6000, 10100, 16726, 16760, 18200, 19400)
HIDDEN = ("left centre pump", "right centre pump", "crossfeed valve", "engine 1", "engine 2",
          "left inboard", "left transfer valve", "engine 1 hot return")  # fmt: skip
ASKED = ("left centre pump", "right centre pump", "crossfeed valve", "engine 1", "APU",
         "left transfer valve", "engine 1 hot return", "right inboard aft pump",
         "engine 2 shut-off valve")  # fmt: skip
SAID = {"left centre pump": "OFF", "right centre pump": "RUN", "crossfeed valve": "OPEN",
        "engine 1": "left inboard", "engine 2": "centre", "left transfer valve": "SHUT",
        "left inboard aft pump": "RUN", "engine 1 shut-off valve": "SHUT"}  # fmt: skip

# Boxes of all words that show, in units of the drawing: words, x, y, width, height, letter size.
_BOXES = """() => [...document.querySelectorAll('svg text')]
  .filter(text => text.getClientRects().length && !text.closest('[display=none]'))
  .map(text => {
    const box = text.getBBox(), frame = document.querySelector('svg').getCTM();
    const move = frame.inverse().multiply(text.getCTM());
    const corner = new DOMPoint(box.x, box.y).matrixTransform(move);
    return [text.textContent, corner.x, corner.y, box.width * move.a, box.height * move.d,
            parseFloat(text.getAttribute('font-size')) * move.d];
  })"""


@pytest.fixture(scope="module")
def flight():
    """The course's first flight."""
    aircraft = load_aircraft("halbrook-180")
    return fly(aircraft, load_sector("eastmere-port-ellery", aircraft))


def boxes(page, svg):
    """Return the boxes of all words of a drawing."""
    page.set_content(f'<div style="width:1280px">{svg}</div>')
    return page.evaluate(_BOXES)


def overlaps(found):
    """Return the pairs of words whose letters touch; the space between lines does not count."""
    pairs = []
    for i, (first, x0, y0, w0, h0, _) in enumerate(found):
        for second, x1, y1, w1, h1, _ in found[i + 1 :]:
            across = min(x0 + w0, x1 + w1) - max(x0, x1)
            down = min(y0 + 0.85 * h0, y1 + 0.85 * h1) - max(y0 + 0.15 * h0, y1 + 0.15 * h1)
            if across > 1.0 and down > 1.0:
                pairs.append((first, second))
    return pairs


def check(found, height):
    """Assert that words are inside, apart and large enough."""
    assert len(found) > 20
    assert overlaps(found) == []
    for words, x, y, width, high, size in found:
        assert x >= 0.0 and x + width <= 1280.0, f"{words} runs out of the drawing"
        assert y >= 0.0 and y + high <= height + 3.0, f"{words} runs out of the drawing"
        assert size >= 12.0, f"{words} is too small"


@pytest.mark.parametrize("time", MOMENTS)
def test_words_of_the_schematic_are_clear_of_each_other(page, flight, time):
    """At moments with every kind of state on the drawing."""
    svg = schematic(
        flight.aircraft, picture(flight, time), title="What the aircraft did",
        subtitle="Halbrook 180 · Eastmere to Port Ellery · 1:40:00, stand, after flight",
    )  # fmt: skip

    check(boxes(page, svg), 720.0)


@pytest.mark.parametrize(
    "more",
    [{"hidden": HIDDEN}, {"asked": ASKED}, {"predicted": SAID}],
    ids=["hidden", "asked", "said"],
)
@pytest.mark.parametrize("time", [1200, 6000, 10100, 16760])
def test_words_are_clear_while_predicting_and_after(page, flight, time, more):
    """With questions, with marks to set, and with the marks of a prediction."""
    svg = schematic(flight.aircraft, picture(flight, time), title="Predict", **more)

    check(boxes(page, svg), 720.0)


def test_words_of_the_ribbon_are_clear_of_each_other(page, flight):
    """Phases, quantities, bands, hours and the key."""
    svg = ribbon(flight)
    found = boxes(page, svg)

    check(found, float(svg.split('viewBox="0 0 1280 ')[1].split('"')[0]))
