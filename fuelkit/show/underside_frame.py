"""The shape of an aircraft from below: its wing to the scale of the tanks, the rest a scheme.

Nose up, seen from below: the left wing is on the right-hand side. Bare stretches of the fuselage
are shortened. Fuselage, tailplane and engines are our own scheme and belong to no real type.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.aircraft.walk_around import item_places, wing_ribs, wing_tanks

_AHEAD, _BEHIND, _BEYOND = 0.22, 0.45, 1.035  # edges about the box, in its chords; tip, in reach
_ROOT_SHARE, _TAIL_SHARE = 0.43, 0.875  # of the length: middle of the root, begin of the tailplane
_TAIL_REACH = 0.36  # of the wing's
_NEAR, _SPARE = 3.0, 0.7  # m: stretches nearer than this are one; room about what is shown
_NOSE, _CUT = 72.0, 42.0  # px of the nose, and of a stretch that is shortened


@dataclass(frozen=True)
class Frame:
    """From metres to the drawing, mirrored as from below. Frozen.

    along : tuple of (float, float)
        x [m] and where it is drawn [px], from nose to tail.
    cuts : tuple of float
        Middles of the shortened stretches. [px]
    body : float
        Half the fuselage's width. [m]
    """

    scale: float
    middle: float
    along: tuple
    cuts: tuple
    body: float
    length: float

    def at(self, x, y):
        """Return the place on the drawing of (x, y). [px]"""
        xs, ys = zip(*self.along, strict=True)
        return self.middle - self.scale * y, float(np.interp(x, xs, ys))

    @property
    def top(self):
        """Where the nose is. [px]"""
        return self.along[0][1]

    @property
    def foot(self):
        """Where the tail ends. [px]"""
        return self.along[-1][1]


def frame_for(aircraft, *, middle, half_width, top, tallest):
    """Return the frame in which an aircraft fits a part of the drawing [px]."""
    ribs = wing_ribs(aircraft)
    length = _length(aircraft, ribs)
    kept = _kept(aircraft, ribs, length)
    gaps = len(kept) - 1
    room = tallest - _NOSE - _CUT * gaps
    tall = sum(last - first for first, last in kept)
    scale = min(half_width / (_BEYOND * ribs[-1][0]), room / tall)
    top += 0.4 * (room - scale * tall)  # nearly in the middle of its part
    along, cuts, y = [(0.0, top)], [], top + _NOSE
    for number, (first, last) in enumerate(kept):
        if number:
            cuts.append(y + _CUT / 2)
            y += _CUT
        along += [(first, y), (last, y + scale * (last - first))]
        y = along[-1][1]
    return Frame(scale, middle, tuple(along), tuple(cuts), body_half_width(aircraft), length)


def _length(aircraft, ribs):
    known = [rib.rear[0] for tank in aircraft.tanks for rib in tank.ribs]
    known += [part.position[0] for part in (*aircraft.junctions, *aircraft.outlets)]
    known += [x for places in item_places(aircraft) for x, _ in places]
    return max(max(known) + 1.5, 0.5 * (ribs[0][1] + ribs[0][2]) / _ROOT_SHARE)


def _kept(aircraft, ribs, length):
    """Stretches along the aircraft that are drawn to scale, from the first to the last. [m]"""
    spans = [(front - _AHEAD * (rear - front), rear + _BEHIND * (rear - front))
             for _, front, rear in ribs]  # fmt: skip
    spans += [(r.front[0], r.rear[0]) for tank in aircraft.tanks for r in tank.ribs]
    spans += [(x, x) for places in item_places(aircraft) for x, _ in places]
    spans += [(x - 1.5, x + 1.5) for x, y in engines(aircraft)]
    spans.append((_TAIL_SHARE * length - _SPARE, length - _SPARE))
    found = []
    for first, last in sorted((a - _SPARE, b + _SPARE) for a, b in spans):
        if found and first - found[-1][1] < _NEAR:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return [(max(first, 0.5), last) for first, last in found]


def body_half_width(aircraft):
    """Return half the width of the fuselage: as far out as the first tank of a side begins. [m]"""
    inner = [min(abs(rib.y) for rib in tank.ribs) for tank in wing_tanks(aircraft)]
    beside = [y for y in inner if y > 0.0]
    return min(beside, default=0.12 * wing_ribs(aircraft)[-1][0])


def engines(aircraft):
    """Return where the engines are, by the junctions that they draw from: (x, y). [m]"""
    return tuple(
        aircraft.by_name[c.start].position[:2] for c in aircraft.consumers if c.kind == "engine"
    )


def edges(ribs):
    """Return the leading and the trailing edge about a box, from the middle outward.

    Returns
    -------
    tuple of (float, float, float)
        How far from the middle, x of the leading edge, x of the trailing edge. [m]
    """
    found = [(y, f - _AHEAD * (r - f), r + _BEHIND * (r - f)) for y, f, r in ribs]
    (y0, f0, r0), (y1, f1, r1) = found[-2:]
    beyond = y1 * _BEYOND
    share = (beyond - y1) / (y1 - y0)
    found.append((beyond, f1 + share * (f1 - f0) + 0.1 * (r1 - f1), r1 + share * (r1 - r0)))
    return tuple(found)


def wing_outline(ribs):
    """Return a whole wing's outline, from tip to tip and back: (x, y). [m]"""
    half = edges(ribs)
    if half[0][0] > 0.0:
        half = ((0.0, *half[0][1:]), *half)
    front = [(f, -y) for y, f, _ in half[::-1]] + [(f, y) for y, f, _ in half[1:]]
    return front + [(r, y) for y, _, r in half[::-1]] + [(r, -y) for y, _, r in half[1:]]


def tail_outline(aircraft, frame):
    """Return the tailplane's outline: about its tanks, or a scheme if there are none. [m]"""
    wing = wing_tanks(aircraft)
    ribs = {abs(r.y): (r.front[0], r.rear[0]) for t in aircraft.tanks if t not in wing
            for r in t.ribs}  # fmt: skip
    if len(ribs) > 1:
        return wing_outline([(y, *ribs[y]) for y in sorted(ribs)])
    reach, length = _TAIL_REACH * wing_ribs(aircraft)[-1][0], frame.length
    near, far = (_TAIL_SHARE * length, 0.935 * length), (0.925 * length, 0.955 * length)
    return wing_outline([(0.0, *near), (reach, *far)])


def fuselage_path(frame):
    """Return the path of the fuselage: round nose, straight sides, narrow tail. [px]"""
    half, middle = frame.scale * frame.body, frame.middle
    top, foot = frame.top, frame.foot
    shoulder = top + min(_NOSE, 2.2 * half)
    begin = max(frame.at(0.9 * _TAIL_SHARE * frame.length, 0.0)[1], *(y + _CUT for y in frame.cuts))
    waist = begin + 0.45 * (foot - begin)
    right = [
        ((0.6, top), (1.0, top + 0.4 * (shoulder - top)), (1.0, shoulder)),
        ((1.0, shoulder), (1.0, begin), (1.0, begin)),
        ((1.0, waist), (0.34, waist), (0.2, foot - 10.0)),
        ((0.16, foot), (0.05, foot), (0.0, foot)),
    ]
    path = f"M{middle:.1f},{top:.1f}"
    for curve in right:
        path += _curve(curve, middle, half)
    ends = [(0.0, top), *(curve[2] for curve in right)]
    for (first, second, _), end in zip(right[::-1], ends[-2::-1], strict=True):
        path += _curve((second, first, end), middle, -half)
    return path + " Z"


def _curve(points, middle, half):
    return " C" + " ".join(f"{middle + share * half:.1f},{y:.1f}" for share, y in points)
