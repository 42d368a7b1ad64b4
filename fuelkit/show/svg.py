"""Write SVG: elements, text that fits, lines with arrowheads. Knows nothing of fuel."""

import re
from functools import lru_cache
from html import escape
from itertools import pairwise
from math import hypot

from fuelkit.show.palette import FONT, INK, PAPER

SIZE = 16
"""Usual height of letters on a drawing 1280 wide. [px]"""

_NARROW, _SLIM, _WIDE = frozenset("ijl.,:;'|! "), frozenset("frtI()-/·"), frozenset("mwMW%✓✗")


_MARKUP = re.compile("[&<>\"']")
_BREAK = re.compile(r"(?<!\d)\s+|\s+(?!(?:\d{3}|kg|t|°C|s|min|m)\b)")  # not within "3 065 kg"


def number(value):
    """Return a number as short text, at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


@lru_cache(maxsize=256)
def _name(key):
    return key.rstrip("_").replace("_", "-")


def _attribute(value):
    if not isinstance(value, str):
        return number(value)
    return escape(value, quote=True) if _MARKUP.search(value) else value


def element(name, content="", **attributes):
    """Return an element; a trailing underscore falls away and the others become hyphens."""
    written = "".join([
        f' {_name(key)}="{_attribute(value)}"'
        for key, value in attributes.items() if value is not None
    ])  # fmt: skip
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def text(x, y, lines, *, size=SIZE, bold=False, fill=INK, anchor="start", step=None, **more):
    """Return text, one line or several, the first one's foot at (x, y)."""
    lines = [lines] if isinstance(lines, str) else list(lines)
    spans = [escape(lines[0])]
    for line in lines[1:]:
        spans.append(element("tspan", " ", font_size=0))  # parts the words where they are read
        spans.append(element("tspan", escape(line), x=float(x), dy=step or size + 2))
    return element(
        "text", "".join(spans), x=float(x), y=float(y), font_size=size,
        font_weight=700 if bold else 400, fill=fill, text_anchor=anchor, **more,
    )  # fmt: skip


@lru_cache(maxsize=8192)  # a drawing tries each word in many places
def text_width(line, *, size=SIZE, bold=False):
    """Return about how wide a line of text is drawn. [px]"""
    return size * (1.06 if bold else 1.0) * sum(map(_letter_width, line))


def _letter_width(letter):
    if letter in _NARROW:
        return 0.27
    if letter in _SLIM:
        return 0.34
    if letter in _WIDE:
        return 0.86
    return 0.69 if letter.isupper() else 0.556


def wrapped(line, width, *, size=SIZE, bold=False):
    """Return the lines into which a line of text is broken so as to fit a width. [px]

    A number stays whole, and with its unit.

    Examples
    --------
    >>> wrapped("the gauge shows 3 065 kg", 100.0)
    ['the gauge', 'shows', '3 065 kg']
    """
    lines = []
    for word in _BREAK.split(line.strip()):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size=size, bold=bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines or [""]


def plate(
    x, y, lines, *, size=SIZE, bold=False, anchor="middle", fill=INK, ground=PAPER, edge=None
):
    """Return text on a ground of its own, so that what lies behind does not disturb it."""
    lines = [lines] if isinstance(lines, str) else list(lines)
    left, top, right, foot = plate_box(x, y, lines, size=size, bold=bold, anchor=anchor)
    ground = element(
        "rect", x=left, y=top, width=right - left, height=foot - top, rx=3, fill=ground,
        fill_opacity=None if edge else 0.9, stroke=edge,
    )  # fmt: skip
    return ground + text(x, y, lines, size=size, bold=bold, anchor=anchor, fill=fill)


def plate_box(x, y, lines, *, size=SIZE, bold=False, anchor="middle"):
    """Return left, top, right and bottom of the ground of a plate. [px]"""
    width = max(text_width(line, size=size, bold=bold) for line in lines) + 8.0
    left = {"middle": x - width / 2, "start": x - 4.0, "end": x - width + 4.0}[anchor]
    top = y - size + 1.0
    return left, top, left + width, top + (size + 2.0) * len(lines) + 2.0


def polyline(points, *, stroke, width, **more):
    """Return an open line through points."""
    return element(
        "path", d=path_of(points), fill="none", stroke=stroke, stroke_width=width, **more
    )


def polygon(points, **attributes):
    """Return a closed shape."""
    return element("path", d=path_of(points) + " Z", **attributes)


def path_of(points):
    """Return the path through points."""
    return "M" + " L".join(f"{number(float(x))},{number(float(y))}" for x, y in points)


def arrowheads(points, *, fill, size=7.0, every=90.0):
    """Return solid arrowheads along a line, pointing from its first point to its last."""
    found = []
    for (x0, y0), (x1, y1) in pairwise(points):
        length = hypot(x1 - x0, y1 - y0)
        if length < 3.4 * size:
            continue
        count = max(1, int(length / every))
        for i in range(count):
            share = (i + 0.5) / count
            found.append(_arrowhead((x0, y0), (x1, y1), share, length, size))
    return element("path", d=" ".join(found), fill=fill) if found else ""


def _arrowhead(start, end, share, length, size):
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    x = start[0] + share * (end[0] - start[0]) + ux * size
    y = start[1] + share * (end[1] - start[1]) + uy * size
    back = (x - 2 * size * ux, y - 2 * size * uy)
    left = (back[0] - size * uy, back[1] + size * ux)
    right = (back[0] + size * uy, back[1] - size * ux)
    return path_of([(x, y), left, right]) + " Z"


def drawing(content, *, height, label, width=1280):
    """Return a whole drawing: an image with a name for those who do not see it."""
    body = (
        element("title", escape(label))
        + element("rect", width=width, height=height, fill=PAPER)
        + content
    )
    return element(
        "svg", body, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {width} {height}",
        width="100%", role="img", aria_label=label, font_family=FONT,
        style=f"max-width:{int(1.5 * width)}px;height:auto;display:block",
    )  # fmt: skip
