"""The words of a drawing, taken out of it and set by the typesetter in their places.

A typesetter draws the words of an SVG as outlines, letter by letter: a paper of fifteen drawings
then takes five times as many bytes and twice the time, and none of its words can be searched for.
"""

from dataclasses import dataclass
from xml.etree import ElementTree

_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Words:
    """A line of words on a drawing. Frozen.

    x, foot : float
        [px]
    size : float
        Height of the letters. [px]
    anchor : str
        Which end of the line stands at x: "start", "middle" or "end".
    fill, halo : str
        Colours; the halo, which keeps lines off the letters, may be empty.
    """

    text: str
    x: float
    foot: float
    size: float
    bold: bool
    anchor: str
    fill: str
    halo: str


def parted(svg):
    """Return a drawing of `show.svg` without its words, the words, and its size.

    Words in a group that is turned, moved or not shown stay where they are.

    Parameters
    ----------
    svg : str

    Returns
    -------
    (str, tuple of Words, (float, float))
        Width and height. [px]
    """
    ElementTree.register_namespace("", _SVG[1:-1])
    root, found = ElementTree.fromstring(svg), []
    _take(root, found)
    width, height = (float(number) for number in root.get("viewBox").split()[2:])
    return ElementTree.tostring(root, encoding="unicode"), tuple(found), (width, height)


def _take(element, found):
    """Take all words out of an element, and out of what it holds."""
    for part in list(element):
        if part.get("transform") or part.get("display") == "none":
            continue
        if part.tag == f"{_SVG}text":
            found += _lines(part)
            element.remove(part)
        else:
            _take(part, found)


def _lines(part):
    """The lines of a piece of text; a span without a step only parts them where they are read."""
    x, foot = float(part.get("x")), float(part.get("y"))
    lines = [(x, foot, part.text or "")]
    for span in part:
        if span.get("dy"):
            foot += float(span.get("dy"))
            lines.append((float(span.get("x", x)), foot, span.text or ""))
    return [
        Words(
            text, at, below, float(part.get("font-size")), part.get("font-weight") == "700",
            part.get("text-anchor"), part.get("fill"), part.get("stroke", ""),
        )
        for at, below, text in lines if text.strip()
    ]  # fmt: skip
