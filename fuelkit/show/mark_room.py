"""Where the marks of a prediction stand: by their part, clear of words, symbols and each other."""

from fuelkit.show.svg import plate_box

MARK_SIZE = 14
"""Height of the letters of a mark. [px]"""

_LEFT, _RIGHT = 8.0, 1272.0  # px; between what a mark stays
_HEAD = ((16.0, 12.0, 620.0, 60.0), (980.0, 12.0, 1264.0, 40.0))  # px: title, and fuel on board
_NOTES = ((14.0, 408.0, 170.0, 672.0), (1110.0, 408.0, 1266.0, 672.0))  # px
_STEP = 18.0  # px between lines of a label


def solid_boxes():
    """Return what every drawing has at its top and its sides, as rectangles. [px]"""
    return (*_HEAD, *_NOTES)


def label_box(at, anchor, width, lines):
    """Return the rectangle of a label from the foot of its first line. [px]"""
    x, foot = at
    left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
    return left - 2.0, foot - 13.0, left + width + 2.0, foot + _STEP * (lines - 1) + 4.0


def mark_spot(room, choices, spots):
    """Return where a mark stands: the place and the form that are clearest; it is then taken.

    Parameters
    ----------
    room : Room
    choices : list of list of list of str
        Ways to write the mark, the first one best. Each way has the lines of every variant that
        the mark may show: there is room for all.
    spots : iterable of (float, float, float, str)
        What a place costs, and x, foot of the first line and anchor there. [px]

    Returns
    -------
    (float, float), str, tuple, int
        x and foot, the anchor, the rectangle that is taken, within the sheet [px], and which way
        it is written.
    """
    spots = list(spots)
    return room.best(
        _placed(variants, spot, i) for i, variants in enumerate(choices) for spot in spots
    )


def _placed(variants, spot, way):
    cost, x, foot, anchor = spot
    more = {"size": MARK_SIZE, "bold": True, "anchor": anchor}
    boxes = [plate_box(x, foot, lines, **more) for lines in variants]
    left, right = min(b[0] for b in boxes), max(b[2] for b in boxes)
    shift = max(0.0, _LEFT - left) - max(0.0, right - _RIGHT)
    box = left + shift, boxes[0][1], right + shift, max(b[3] for b in boxes)
    return cost + 0.5 * abs(shift) + 6.0 * way, box, ((x + shift, foot), anchor, box, way)
