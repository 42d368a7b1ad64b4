"""Name the phases of a flight over the ribbon, however short they are, without overlaps."""

from fuelkit.show.palette import IDLE, SHADE
from fuelkit.show.svg import element, polyline, text, text_width

_UPPER, _LOWER, _FOOT = 84.0, 108.0, 124.0
_SIZE = 14
_GAP = 10.0


def phases_drawn(history, axis_x, foot, limits):
    """Return the phases as shaded stripes with their names above.

    Parameters
    ----------
    history : History
    axis_x : callable
        Place of a time [s] on the drawing. [px]
    foot : float
        Where the stripes end. [px]
    limits : (float, float)
        What the names must stay between. [px]
    """
    phases = history.sector.phases
    ends = [*(phase.start for phase in phases[1:]), history.sector.end]
    spans = [(p.name, axis_x(p.start), axis_x(e)) for p, e in zip(phases, ends, strict=True)]
    stripes = "".join(
        element("rect", x=left, y=_UPPER - 17, width=right - left, height=foot - _UPPER + 21,
                fill=SHADE)
        for _, left, right in spans[1::2]
    )  # fmt: skip
    return stripes + _names(spans, limits)


def _names(spans, limits):
    """A name over its phase if it fits, else in the lower row with a leader to its phase."""
    drawn, narrow = [], []
    for name, left, right in spans:
        middle = 0.5 * (left + right)
        if text_width(name, size=_SIZE) <= right - left:
            drawn.append(text(middle, _UPPER, name, size=_SIZE, anchor="middle"))
        else:
            narrow.append((name, middle))
    widths = [text_width(name, size=_SIZE) for name, _ in narrow]
    places = spread([middle for _, middle in narrow], widths, limits)
    for (name, middle), place, width in zip(narrow, places, widths, strict=True):
        near = min(max(middle, place - width / 2), place + width / 2)
        drawn.append(polyline([(near, _LOWER + 4), (middle, _FOOT)], stroke=IDLE, width=1))
        drawn.append(text(place, _LOWER, name, size=_SIZE, anchor="middle"))
    return "".join(drawn)


def spread(wanted, widths, limits, *, gap=_GAP):
    """Return middles for labels in one row, near where they are wanted and clear of each other.

    Labels that would touch are set side by side around the mean of where they are wanted; their
    order stays, so leaders never cross.

    Parameters
    ----------
    wanted, widths : list of float
        In rising order of `wanted`. [px]
    limits : (float, float)
        [px]
    gap : float
        Least distance between neighbours. [px]

    Examples
    --------
    >>> spread([100.0, 104.0], [20.0, 20.0], (0.0, 200.0), gap=4.0)
    [90.0, 114.0]
    """
    groups = []
    for place, width in zip(wanted, widths, strict=True):
        groups.append([(place, width)])
        while len(groups) > 1 and _start(groups[-1], gap, limits) < (
            _start(groups[-2], gap, limits) + _length(groups[-2], gap) + gap
        ):
            groups[-2:] = [groups[-2] + groups[-1]]
    found = []
    for group in groups:
        start = _start(group, gap, limits)
        for _, width in group:
            found.append(start + width / 2)
            start += width + gap
    return found


def _length(group, gap):
    return sum(width for _, width in group) + gap * (len(group) - 1)


def _start(group, gap, limits):
    """Left end of a group whose middle is the mean of what its labels want, within limits."""
    middle, length = sum(place for place, _ in group) / len(group), _length(group, gap)
    return min(max(middle - length / 2, limits[0]), limits[1] - length)
