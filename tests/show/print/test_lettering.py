"""Words of a drawing, taken out to be set as text: all of them, once, and where they stood."""

import re
from html import unescape

from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.show.print.lettering import parted
from fuelkit.show.schematic import schematic
from fuelkit.show.svg import drawing, element, text
from fuelkit.show.views import view
from tests.figures.fleet import STARTER


def words_in(svg):
    """All words of an SVG, read with a pattern."""
    found = " ".join(re.findall(r"<t(?:ext|span)\b[^>]*>([^<]*)", svg))
    return sorted(unescape(found).split())


def test_every_word_of_a_schematic_is_taken_out_once():
    """What is left has no words, and what was taken has all of them."""
    flight = flight_of(STARTER, sectors_for(aircraft_of(STARTER))[0])
    svg = schematic(flight.aircraft, view(flight, 3600.0))
    rest, words, size = parted(svg)
    assert len(words_in(svg)) > 30 and words_in(rest) == []
    assert sorted(word for line in words for word in line.text.split()) == words_in(svg)
    assert size == (1280.0, 720.0)
    assert rest.count("<path") == svg.count("<path")


def test_lines_stand_one_below_the_other_with_their_look():
    """By hand: two lines 18 px apart, the second at the same x; bold; in the middle; a halo."""
    svg = drawing(
        text(40, 100, ["a & b", "c"], size=16, bold=True, anchor="middle", stroke="#ffffff"),
        height=200, label="x",
    )  # fmt: skip
    _, words, _ = parted(svg)
    assert [(w.text, w.x, w.foot) for w in words] == [("a & b", 40.0, 100.0), ("c", 40.0, 118.0)]
    assert {(w.size, w.bold, w.anchor, w.halo) for w in words} == {
        (16.0, True, "middle", "#ffffff")
    }


def test_words_that_are_turned_or_not_shown_stay_in_the_drawing():
    """The typesetter would set them level, or show them."""
    for more in ({"transform": "rotate(90)"}, {"display": "none"}):
        svg = drawing(element("g", text(1, 2, "kept"), **more), height=10, label="x")
        rest, words, _ = parted(svg)
        assert words == () and "kept" in rest
