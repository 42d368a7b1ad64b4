"""The walk-around of an aircraft: what is looked at, where, and what may be found there.

Records, their reading from the aircraft's file, what only the whole aircraft shows to be wrong,
and where on the aircraft each item is. Lengths in m.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.aircraft.reading import nearest

DECISIONS = ("go on", "check again", "call maintenance")
"""What can be decided on what is seen: three words, no more."""

KINDS = (
    "level indicator", "water drain", "drain mast", "vent", "burst disc", "door", "cap", "nozzle",
    "other",
)  # fmt: skip
"""Kinds of items, each with a mark of its own on a drawing."""

_WORDS = (
    ("mast", "drain mast"), ("drain", "water drain"), ("disc", "burst disc"), ("vent", "vent"),
    ("nozzle", "nozzle"), ("cap", "cap"), ("coupling", "cap"), ("door", "door"),
    ("panel", "door"), ("indicator", "level indicator"), ("stick", "level indicator"),
)  # fmt: skip
_SAME_WING = 3.0  # m between the tanks of one wing along the aircraft, at most
_APART = 0.5  # m between items of one station whose places nobody has given


@dataclass(frozen=True)
class Finding:
    """Something that may be seen at an item, what is decided on it, and why. Frozen.

    decision : str
        One of `DECISIONS`.
    because : str
        The reason, as the end of a sentence.
    """

    sees: str
    decision: str
    because: str


@dataclass(frozen=True)
class WalkAroundItem:
    """One thing to look at on the walk-around, what is right, and what to do if it is not. Frozen.

    kind : str
        One of `KINDS`.
    parts : tuple of str
        The parts of the fuel system that it belongs to.
    at : tuple
        Where it is, (x, y) of each of its places; empty if its parts or its station tell. [m]
    findings : tuple of Finding
    caution : str
        What may hurt whoever looks at it, and what to do against that.
    """

    station: str
    item: str
    look_for: str
    if_not: str
    kind: str = "other"
    parts: tuple = ()
    at: tuple = ()
    findings: tuple = ()
    caution: str = ""


# ------------------------------------------------------------------------------------- reading
def read(section):
    """Return the items of the walk-around in the order of the file, which is the way walked."""
    found = []
    for table in section.tables("walk_around"):
        found.append(_item(table))
        table.finish()
    return tuple(found)


def _item(table):
    item = table.text("item")
    return WalkAroundItem(
        station=table.text("station"),
        item=item,
        look_for=table.text("look_for"),
        if_not=table.text("if_not"),
        kind=table.choice("kind", KINDS, kind_of(item)),
        parts=table.texts("parts", ()),
        at=_places_given(table),
        findings=tuple(_finding(t) for t in table.tables("findings")),
        caution=table.text("caution", ""),
    )


def _places_given(table):
    first, more = table.numbers("at", 2, None), table.points("also_at", 2, ())
    if more and first is None and "at" not in table:
        table.fault("also_at", list(map(list, more)), "the first place stands in at = [x, y]")
    return () if first is None else (first, *more)


def _finding(table):
    finding = Finding(
        table.text("sees"), table.choice("decision", DECISIONS), table.text("because")
    )
    table.finish()
    return finding


def kind_of(item):
    """Return the kind of an item by the words that it is called.

    Examples
    --------
    >>> kind_of("three magnetic level indicators"), kind_of("drain mast"), kind_of("tyre")
    ('level indicator', 'drain mast', 'other')
    """
    return next((kind for word, kind in _WORDS if word in item.lower()), "other")


# -------------------------------------------------------------------------------------- checks
def faults(aircraft):
    """Yield what only the whole aircraft shows: parts that it has not, places far outside it."""
    parts = {name: p for name, p in aircraft.by_name.items() if _position(aircraft, p)}
    ribs = [rib for tank in aircraft.tanks for rib in tank.ribs]
    furthest = 1.5 * max(abs(rib.y) for rib in ribs)
    last = 2.5 * max(abs(rib.rear[0]) for rib in ribs)
    seen = set()
    for entry in aircraft.walk_around:
        where = f"walk_around '{entry.item}' at '{entry.station}'"
        if (entry.station, entry.item) in seen:
            yield f"{where}: it stands in the file twice; name each item of a station apart."
        seen.add((entry.station, entry.item))
        for name in entry.parts:
            if name not in parts:
                hint = nearest(name, parts)
                yield f"{where}: parts has '{name}'; it must name a part with a place.{hint}"
        for x, y in entry.at:
            if not (0.0 <= x <= last and abs(y) <= furthest):
                yield (
                    f"{where}: at is [{x:g}, {y:g}]; that is not on the aircraft. Give x from 0 "
                    f"to {last:.0f} m aft of the nose and y from {-furthest:.0f} to "
                    f"{furthest:.0f} m."
                )


# -------------------------------------------------------------------------------------- places
def item_places(aircraft):
    """Return where each item of the walk-around is: given, or by its parts, or by its station.

    Returns
    -------
    tuple of tuple of (float, float)
        For each item its places (x, y), at least one. [m]

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> items = [entry.item for entry in halbrook.walk_around]
    >>> item_places(halbrook)[items.index("three magnetic level indicators")][0]
    (15.4, 2.6)
    """
    found, spread = [], {}
    for entry in aircraft.walk_around:
        places = entry.at or tuple(_position(aircraft, aircraft.by_name[n]) for n in entry.parts)
        if not places:
            count = spread[entry.station] = spread.get(entry.station, -1) + 1
            x, y = _station_place(aircraft, entry.station.lower())
            places = ((x + _APART * count, y),)
        found.append(places)
    return tuple(found)


def _position(aircraft, part):
    """Where a part is, (x, y), or None if it is nowhere. [m]"""
    if hasattr(part, "ribs"):
        corners = [(x, rib.y) for rib in part.ribs for x in (rib.front[0], rib.rear[0])]
        return tuple(float(v) for v in np.mean(corners, axis=0))
    for name in ("foot", "position", "inlet", "outlet"):
        if getattr(part, name, None):
            return getattr(part, name)[:2]
    for name in ("end", "start"):  # a filler is on its tank, an engine at its inlet
        other = aircraft.by_name.get(getattr(part, name, None))
        if hasattr(other, "ribs") or hasattr(other, "position"):
            return _position(aircraft, other)
    return None


def wing_ribs(aircraft):
    """Return the wing's box from the middle outward, by the ribs of its tanks.

    Returns
    -------
    tuple of (float, float, float)
        How far from the middle, x of the front spar, x of the rear spar. [m]

    Notes
    -----
    The wing is the widest tank and all that lie near it along the aircraft; a tail tank is not
    of it. A leading edge that would jump forward on its way outward (a short cell at the root)
    is drawn straight.
    """
    ribs = {}
    for tank in wing_tanks(aircraft):
        for rib in tank.ribs:
            front, rear = ribs.get(abs(rib.y), (rib.front[0], rib.rear[0]))
            ribs[abs(rib.y)] = (min(front, rib.front[0]), max(rear, rib.rear[0]))
    found, ahead = [], float("inf")
    for y in sorted(ribs, reverse=True):
        ahead = min(ahead, ribs[y][0])
        found.append((y, ahead, ribs[y][1]))
    return tuple(reversed(found))


def wing_tanks(aircraft):
    """Return the widest tank and all that lie near it along the aircraft."""

    def extent(tank):
        return [x for rib in tank.ribs for x in (rib.front[0], rib.rear[0])]

    wing = [max(aircraft.tanks, key=lambda t: max(abs(rib.y) for rib in t.ribs))]
    rest = [t for t in aircraft.tanks if t not in wing]
    while near := [
        t for t in rest
        if any(
            max(min(extent(t)), min(extent(w))) - min(max(extent(t)), max(extent(w))) <= _SAME_WING
            for w in wing
        )
    ]:  # fmt: skip
        wing += near
        rest = [t for t in rest if t not in near]
    return wing


def _station_place(aircraft, station):
    """About where a station is, by what it is called. [m]"""
    ribs = wing_ribs(aircraft)
    side = -1.0 if "left" in station else 1.0 if "right" in station else 0.0
    reach, last = ribs[-1][0], max(rib.rear[0] for t in aircraft.tanks for rib in t.ribs)
    if "tail" in station:
        return max(last, 2.0 * ribs[0][1]), 0.0
    if "nose" in station:
        return 0.25 * ribs[0][1], 0.0
    share = 0.95 if "tip" in station else 0.2 if "root" in station else 0.5
    if "engine" in station or "nacelle" in station:
        share = 0.35
    y = share * reach if side else 0.0
    front, rear = (np.interp(y, [r[0] for r in ribs], [r[i] for r in ribs]) for i in (1, 2))
    return float(0.5 * (front + rear)), side * y
