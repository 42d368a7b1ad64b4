"""Occasions worth asking about: what changes together in a flight, and what led to it."""

from dataclasses import dataclass

from fuelkit.aircraft.conditions import is_or_are
from fuelkit.assess.stages import told_parts
from fuelkit.flight.failures import PRESENT
from fuelkit.flight.reasons import chain
from fuelkit.flight.state import PHASE

_TOGETHER = 150.0  # s within which changes belong to one occasion
_MET = "MET"  # state of a condition that has come about
_AT_ONCE = 30.0  # s within which crew actions belong to one occasion


@dataclass(frozen=True)
class Occasion:
    """Changes that belong together. Frozen.

    begin, end : float
        Times of the first and the last change. [s]
    changes : tuple of Change
        Of the parts that a learner foresees.
    names : tuple of str
        These parts, each once, those that an automatic function changed first.
    by_crew : bool
        Whether a crew action in this very stretch began it.
    root : str
        What began it, in words: "high-lift surfaces are out".
    root_time : float
        [s]
    is_automatic : bool
        Whether anything changed that nobody has just set.
    """

    begin: float
    end: float
    changes: tuple
    names: tuple
    by_crew: bool
    root: str
    root_time: float
    is_automatic: bool


def occasions(history, start, end):
    """Return the occasions of a stretch of a flight, in order of time.

    Parameters
    ----------
    history : History
    start, end : float
        [s]
    """
    told = set(told_parts(history.aircraft))
    done = [action.time for action in history.sector.actions]
    found = []
    for change in history.changes:
        if change.name not in told or not start < change.time <= end or change.after == "MOVING":
            continue
        if found and _belongs(found[-1], change, done):
            found[-1].append(change)
        else:
            found.append([change])
    return tuple(_occasion(history, changes) for changes in found)


def _belongs(changes, change, done):
    """Whether a change goes with those before it: soon after, with no new crew action between."""
    last = changes[-1].time
    new = any(last < t <= change.time and t - changes[0].time > _AT_ONCE for t in done)
    return change.time - last <= _TOGETHER and not new


def _occasion(history, changes):
    root = _root(history, changes[0])
    switches = {switch.name for switch in history.aircraft.switches}
    by_crew = root.name in switches and changes[0].time - root.time <= _TOGETHER
    automatic = [c for c in changes if not _was_set(history, c, switches)]
    names = dict.fromkeys(c.name for c in (*automatic, *changes))
    return Occasion(
        begin=changes[0].time,
        end=changes[-1].time,
        changes=tuple(changes),
        names=tuple(n for n in names if _has_changed(history, n, changes)),
        by_crew=by_crew,
        root=_root_words(root),
        root_time=root.time,
        is_automatic=bool(automatic),
    )


def is_dated(history, change, since):
    """Return whether a change soon follows a switch that the crew sets after a moment [s].

    A learner who is told when it is set need only read when the change is.
    """
    root = _root(history, change)
    is_soon = change.time - root.time <= _TOGETHER and root.time > since
    return is_soon and any(switch.name == root.name for switch in history.aircraft.switches)


def _root(history, change):
    """The latest thing behind a change that nothing else led to."""
    roots = [c for c in chain(history, change) if not c.causes and c.before != c.after]
    return max(roots, key=lambda c: c.time, default=change)


def _root_words(root):
    """What began it, as it follows "after"."""
    if root.name == PHASE:
        return f"{root.after} begins"
    if root.after in (_MET, PRESENT):  # of a condition or a failure: its name says it all
        return root.name
    return f"{root.name} {is_or_are(root.name)} {root.after}"


def _was_set(history, change, switches):
    """Whether a change only does what its own switch has just been set to."""
    root = _root(history, change)
    if root.name not in switches or change.time - root.time > _TOGETHER:
        return False
    return change.name.split(" ")[0] in root.name and root.name.startswith(change.name[:12])


def _has_changed(history, name, changes):
    """Whether a part ends in another state than it began; on its way is neither."""
    own = [change for change in changes if change.name == name]
    earlier = [
        c.after for c in history.changes_of(name)
        if c.time < own[0].time and c.after != "MOVING"
    ]  # fmt: skip
    before = earlier[-1] if earlier else history.position(name, 0.0)
    return own[-1].after != before
