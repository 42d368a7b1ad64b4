"""The changes that are worth words on a chart: when a pump, a valve or an engine changed."""

from collections import Counter
from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.show.ribbon import ribbon_names, shown_changes
from fuelkit.show.svg import text_width

_ON_THE_WAY = ("MOVING", "BETWEEN")
_TOGETHER = 60.0  # s; changes within this time share their words
_MOST = 12  # events with words
_WIDEST = 560.0  # px; longer words count parts and name none


@dataclass(frozen=True)
class KeyEvent:
    """A moment with its words. Frozen. [s]"""

    time: float
    words: str


def key_events(history, start, end, *, hides=False):
    """Return when pumps, feed valves and engines change, and the moments that have words.

    A part that comes to a state for the first time in the stretch has words; when it does so
    again it has only its tick. Moments that lie close are one, closer the more there are.

    Parameters
    ----------
    history : History
    start, end : float
        [s]
    hides : bool
        True for what lights and gauges show, where something fails.

    Returns
    -------
    (tuple of float, tuple of KeyEvent)
        Times of every change, and the moments with words, twelve at most. [s]
    """
    changes = [c for c in _changes(history, hides) if start <= c[0] <= end]
    seen, first = set(), []
    for time, name, state in changes:
        if (name, state) not in seen:
            seen.add((name, state))
            first.append((time, name, state))
    groups, together = _grouped(first, _TOGETHER), _TOGETHER
    while len(groups) > _MOST:
        together *= 1.5
        groups = _grouped(first, together)
    ticks = tuple(dict.fromkeys(time for time, _, _ in changes))
    return ticks, tuple(KeyEvent(g[0][0], _words(history.aircraft, g)) for g in groups)


def _changes(history, hides):
    """(time [s], part, new state) in order of time; a valve on its way is left out."""
    names = set(ribbon_names(history.aircraft))
    if hides:
        rows = [(row[0], row[1], row[3]) for row in shown_changes(history, names)]
    else:
        rows = [(c.time, c.name, c.after) for c in history.changes if c.name in names]
    return [row for row in rows if row[2] not in _ON_THE_WAY]


def _grouped(changes, together):
    groups = []
    for change in changes:
        if groups and change[0] - groups[-1][0][0] <= together:
            groups[-1].append(change)
        else:
            groups.append([change])
    return groups


def _words(aircraft, group):
    """One moment in words, such as "2 pumps OFF; crossfeed valve OPEN, then SHUT"."""
    states, by_states = {}, {}
    for _, name, state in group:
        states.setdefault(name, []).append(state)
    own = {c.start for c in aircraft.consumers if c.name in states}
    for name, came in states.items():
        if getattr(aircraft.by_name[name], "end", None) not in own:  # an engine speaks for its own
            by_states.setdefault(", then ".join(came), []).append(name)
    words = _written(aircraft, by_states, 2)
    return words if text_width(words) <= _WIDEST else _written(aircraft, by_states, 1)


def _written(aircraft, by_states, most):
    """States with the parts that came to them: by name up to so many, else counted."""
    return "; ".join(
        f"{_several(aircraft, names, most)} {came}" for came, names in by_states.items()
    )


def _several(aircraft, names, most):
    if len(names) == 2 <= most:
        return _folded(*names)
    if len(names) == 1:
        return names[0]
    kinds = Counter(_kind(aircraft.by_name[name]) for name in names)
    words = [kind if kind == "APU" else f"{n} {kind}{'s' if n > 1 else ''}"
             for kind, n in kinds.items()]  # fmt: skip
    return " and ".join([", ".join(words[:-1]), words[-1]] if words[1:] else words)


def _folded(one, other):
    """Two names that differ in one word, as one: "left and right centre pumps"."""
    (first, *rest), (second, *same) = one.split(), other.split()
    if rest == same and rest:
        many = "s" if rest[-1] in ("pump", "valve") else ""
        return f"{first} and {second} {' '.join(rest)}{many}"
    (*rest, first), (*same, second) = one.split(), other.split()
    if rest == same and rest:
        return f"{' '.join(rest)}{'s' if rest == ['engine'] else ''} {first} and {second}"
    return f"{one} and {other}"


def _kind(part):
    if isinstance(part, model.Pump):
        return "pump"
    return part.kind if isinstance(part, model.Consumer) else "valve"
