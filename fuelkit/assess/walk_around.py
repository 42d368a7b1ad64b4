"""A walk around any aircraft: what is seen at each item, what is decided on it, and why.

What is seen follows from a number, the draw: two to four items have a finding, the others are in
order. The sticks at the slope of the stand and the draining of water are tasks of their own.
"""

from dataclasses import dataclass
from functools import lru_cache

from fuelkit.aircraft.walk_around import DECISIONS, item_places
from fuelkit.physics.lots import Lot

__all__ = ["CAUTIONS", "DECISIONS", "LEAST", "MOST", "Sight", "stations", "walk"]

LEAST, MOST = 2, 4
"""How many items have a finding on one walk-around, as far as there are so many items."""

CAUTIONS = (
    "Wear what local rules ask for: gloves and eye protection near fuel, a high-visibility "
    "garment, hearing protection where engines run.",
    "No source of ignition near fuel or its vapour: no flame, no phone, no lamp that is not "
    "approved for it.",
    "Never stand below a leak. Fuel that is found leaking or spilled: refuelling is stopped, "
    "people are kept away, and the local rules for spilled fuel are followed.",
    "Water is drained and level indicators are pulled only by those who are authorised to.",
    "The approved manual, local rules and licensed maintenance decide, not this page.",
)
"""What to mind on any walk-around: common practice, no source. Local rules prevail."""

# What is in order is told as what one sees, not as a verdict: deciding is for the learner.
_IN_ORDER = (
    "{look_for}", "from near, {look_for}", "{look_for}, on a second look too",
    "{look_for}, as on the last walk-around", "with a lamp: {look_for}",
)  # fmt: skip


@dataclass(frozen=True)
class Sight:
    """What is seen at one item on one walk-around. Frozen.

    label : str
        Number of the station and a letter, in walking order: "3b".
    item, station, kind, look_for, caution : str
        From the aircraft's file.
    sees : str
        What the learner sees.
    decision, reason : str
        What is right, one of `DECISIONS`, and why, as the end of a sentence.
    is_normal : bool
        Whether the item is as the file says that it should be.
    at : tuple
        (x, y) of the middle of its places. [m]
    places : tuple
        (x, y) of each. [m]
    """

    label: str
    item: str
    station: str
    kind: str
    look_for: str
    caution: str
    sees: str
    decision: str
    reason: str
    is_normal: bool
    at: tuple
    places: tuple


@lru_cache(maxsize=64)
def walk(aircraft, draw):
    """Return what is seen on a walk around an aircraft, item by item in walking order.

    Parameters
    ----------
    aircraft : Aircraft
    draw : int
        The same number gives the same sights, always and on every machine.

    Returns
    -------
    tuple of Sight
        Empty if the aircraft's file has no walk-around.

    Notes
    -----
    At least one finding asks for more than going on, if the file has such a finding.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> sights = walk(load_aircraft("halbrook-180"), 1)
    >>> 2 <= sum(not sight.is_normal for sight in sights) <= 4
    True
    >>> sights[0].label, sights[0].item
    ('1a', 'refuel panel door')
    """
    lot = Lot("walk-around", aircraft.identifier, draw)
    found = _findings(aircraft.walk_around, lot)
    labels = [label for _, labels in stations(aircraft) for label in labels]
    places = item_places(aircraft)
    return tuple(
        _sight(label, entry, at, found.get(number), lot)
        for number, (label, entry, at) in enumerate(
            zip(labels, aircraft.walk_around, places, strict=True)
        )
    )


def stations(aircraft):
    """Return the stations in walking order, each with the labels of its items.

    Returns
    -------
    tuple of (str, tuple of str)

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> stations(load_aircraft("halbrook-180"))[1]
    ('right wing', ('2a', '2b'))
    """
    found = []
    for entry in aircraft.walk_around:
        if not found or found[-1][0] != entry.station:
            found.append((entry.station, []))
        found[-1][1].append(f"{len(found)}{_letters(len(found[-1][1]))}")
    return tuple((name, tuple(labels)) for name, labels in found)


# ------------------------------------------------------------------------------------- drawing
def _findings(entries, lot):
    """The finding of each item that has one on this walk-around, by the item's number."""
    able = [number for number, entry in enumerate(entries) if entry.findings]
    chosen = lot.some_of(able, lot.whole(LEAST, MOST, "how many"), "which items")
    found = {n: lot.one_of(entries[n].findings, f"finding {n}") for n in chosen}
    if all(finding.decision == DECISIONS[0] for finding in found.values()):
        for number in chosen:
            asking = [f for f in entries[number].findings if f.decision != DECISIONS[0]]
            if asking:
                found[number] = lot.one_of(asking, "one at least")
                break
    return found


def _sight(label, entry, places, finding, lot):
    sees = lot.one_of(_IN_ORDER, f"words {label}").format(look_for=entry.look_for)
    decision, reason = DECISIONS[0], f"this is how it should be: {entry.look_for}"
    if finding:
        sees, decision, reason = finding.sees, finding.decision, finding.because
    middle = tuple(sum(place[i] for place in places) / len(places) for i in (0, 1))
    return Sight(
        label, entry.item, entry.station, entry.kind, entry.look_for, entry.caution,
        sees, decision, reason, finding is None, middle, places,
    )  # fmt: skip


def _letters(number):
    """The letter of an item in its station: a to z, then aa, ab, ..."""
    letters = "abcdefghijklmnopqrstuvwxyz"
    return letters[number] if number < 26 else letters[number // 26 - 1] + letters[number % 26]
