"""Symbols that a learner sets: every state drawn, one of them shown; the board switches over.

The page holds all states alike, so nothing in it tells which of them is right.
"""

from fuelkit.show.palette import INK
from fuelkit.show.svg import element
from fuelkit.show.symbols import QUESTION

ANY = "*"
"""The variant in which the board writes the learner's own words."""


def asked(name, area, states, any_words):
    """Return a symbol to be set by the learner.

    Parameters
    ----------
    name : str
        The component.
    area : (float, float, float, float)
        Left, top, width and height of what may be clicked. [px]
    states : dict of str to str
        SVG for each state it may take.
    any_words : callable
        Given words, returns SVG; drawn for the question and for words not among the states.
    """
    left, top, width, height = map(float, area)
    frame = element(
        "rect", x=left, y=top, width=width, height=height, rx=6, fill=INK, fill_opacity=0,
        stroke=INK, stroke_width=1.5, stroke_dasharray="4 4", class_="asked-area",
    )  # fmt: skip
    drawn = [_variant(QUESTION, any_words(QUESTION), shown=True), _variant(ANY, any_words(ANY))]
    drawn += [_variant(state, content) for state, content in states.items()]
    return element("g", frame + "".join(drawn), data_component=name, class_="asked")


def _variant(state, content, *, shown=False):
    return element("g", content, data_variant=state, display=None if shown else "none")
