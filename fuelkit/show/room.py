"""Find room for words on a drawing: near what they name, and clear of what stands there already."""

import math

from fuelkit.show.svg import text_width


class Room:
    """What is taken on a drawing, as rectangles (left, top, right, bottom) [px]."""

    def __init__(self, taken=()):
        self.taken = list(taken)

    def take(self, box):
        """Mark a rectangle as taken."""
        self.taken.append(box)

    def best(self, places, further=None):
        """Return the place that costs least and mark it as taken.

        Parameters
        ----------
        places : iterable of (float, tuple, object)
            A cost, a rectangle and what to return with it; what the rectangle covers of what is
            taken is added to the cost, a pixel squared as much as a pixel of distance.
        further : callable, optional
            What a rectangle costs beside, never less than nothing: asked only of places that may
            still be the best.
        """
        least, kept = math.inf, None
        for cost, box, found in places:
            for more in (further, self.covered):
                if more is not None and cost < least:
                    cost += more(box)
            if cost < least:
                least, kept = cost, (box, found)
        box, found = kept
        self.take(box)
        return found

    def covered(self, box):
        """Return how much of a rectangle is taken [px²]."""
        left, top, right, bottom = box
        found = 0.0
        for start, over, end, under in self.taken:
            if start < right and left < end and over < bottom and top < under:
                width = min(right, end) - max(left, start)
                found += width * (min(bottom, under) - max(top, over))
        return found


def words_box(x, foot, words, *, size, anchor, bold=False):
    """Return the rectangle that a line of words takes. [px]"""
    width = text_width(words, size=size, bold=bold)
    left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
    return left - 3.0, foot - size + 2.0, left + width + 3.0, foot + 4.0
