"""Boards made from a computed flight, for any aircraft: what changes, asked before it happens.

They are the lesson of an aircraft that has no lesson written for it, and the fresh situations of
"another one like this". Every name, moment and figure comes from the flight.
"""

from dataclasses import replace

from fuelkit.aircraft import model
from fuelkit.assess.course import Ask, Board
from fuelkit.assess.occasions import occasions
from fuelkit.assess.stages import stages, told_parts
from fuelkit.physics.units import MINUTE
from fuelkit.physics.writing import clock, mass_text

_MOST_PARTS, _MOST_FEEDING = 4, 2
_LEAD = 20.0  # s before a crew action at which the situation is shown
_EARLY = 900.0  # s at most before something happens by itself
_AFTER = 60.0  # s after the last change at which it is asked for
_LEAST_WAIT = 240.0  # s of waiting that make a time worth asking for


def composed_boards(history, stage, *, most=6, prefix=""):
    """Return boards for a stage of a flight, automatic functions before what the crew sets.

    Parameters
    ----------
    history : History
    stage : str
        Name of a lesson; see `stages`.
    most : int
        How many boards at most.
    prefix : str
        Put before the names of boards and asks, so that they stay apart from others.

    Returns
    -------
    tuple of Board
        In order of time; empty if the flight has no such stage.
    """
    span = stages(history).get(stage)
    if span is None:
        return ()
    found = [occasion for occasion in occasions(history, *span) if occasion.names]
    if not found:
        return (_quiet_board(history, span, f"{prefix}{stage}-quiet"),)
    chosen = sorted(_chosen(found, most), key=lambda occasion: occasion.begin)
    boards = []
    for number, occasion in enumerate(chosen, start=1):
        start = max(0.0, span[0] - 3.0 * _LEAD)
        before = max([start, *(o.end for o in found if o.end < occasion.begin)])
        after = min([history.sector.end, *(o.begin for o in found if o.begin > occasion.end)])
        name = f"{prefix}{stage}-{number}"
        boards.append(_board(history, occasion, before, after, name))
    return tuple(boards)


def _chosen(found, most):
    """The automatic ones first, each kind of occasion once before any comes again."""
    seen, first, second = set(), [], []
    for occasion in found:
        kind = frozenset((_sideless(c.name), c.after) for c in occasion.changes)
        (second if kind in seen else first).append(occasion)
        seen.add(kind)
    ranked = sorted(first, key=lambda o: not o.is_automatic)
    return (ranked + sorted(second, key=lambda o: not o.is_automatic))[:most]


def _sideless(name):
    return " ".join(w for w in name.split(" ") if w not in ("left", "right", "1", "2"))


def _board(history, occasion, before, after, name):
    shown = _shown(occasion, before)
    asked = min(occasion.end + _AFTER, 0.5 * (occasion.end + after))
    return Board(
        name=name,
        title=f"{_capital(history.phase(shown))}: what comes next?",
        lead=lead_words(history, shown, asked),
        shown=clock(shown),
        asked=clock(asked),
        asked_as=_asked_as(occasion, asked),
        after="",
        state_marks=4.0,
        asks=tuple(_asks(history, occasion, shown, name)),
    )


def _shown(occasion, before):
    if occasion.by_crew:
        return float(int(max(before, occasion.root_time - _LEAD)))
    wait = min(_EARLY, 0.6 * (occasion.begin - before))
    shown = max(occasion.begin - max(wait, 1.0), before)
    rounded = float(int(shown / MINUTE) * MINUTE)
    return rounded if rounded > before else float(int(shown))


def _asked_as(occasion, asked):
    if occasion.by_crew or occasion.root_time < occasion.begin - _AFTER:
        return ""
    return f"{_span(asked - occasion.root_time)} after {occasion.root}"


def _span(seconds):
    """A span of time in words: "1 min 5 s"."""
    minutes, rest = divmod(round(seconds), 60)
    return " ".join([f"{minutes} min"] * (minutes > 0) + [f"{rest} s"] * (rest > 0))


def lead_words(history, shown, asked):
    """Return the phase, and what the crew sets until the moment asked for [s], in words."""
    lead = f"The phase is “{history.phase(shown)}”."
    done = [a for a in history.sector.actions if shown < a.time <= asked]
    if not done:
        return f"{lead} The crew touches nothing until then."
    told = "; ".join(f"at {clock(a.time)} the crew sets {_sets(a)}" for a in done[:4])
    more = "; and so on" if len(done) > 4 else ""
    return f"{lead} Until then: {told}{more}."


def _sets(action):
    parts = [f"{name} to {position}" for name, position in action.sets[:3]]
    more = f" and {len(action.sets) - 3} more" if len(action.sets) > 3 else ""
    ordered = f", with {mass_text(action.order)} ordered" if action.order else ""
    return ", ".join(parts) + more + ordered


# --------------------------------------------------------------------------------------- asks
def _asks(history, occasion, shown, name):
    parts = list(occasion.names[:_MOST_PARTS])
    parts += _unchanged(history, occasion, parts)
    number = 0
    for part in parts:
        number += 1
        yield Ask(f"{name}-{number}", "state", part)
    for consumer in _fed(history, occasion)[:_MOST_FEEDING]:
        number += 1
        yield Ask(f"{name}-{number}", "feeding", consumer)
    if not occasion.by_crew and occasion.begin - shown >= _LEAST_WAIT:
        first = occasion.changes[0]
        number += 1
        tolerance = max(60.0, round(0.15 * (occasion.begin - shown), -1))
        yield Ask(
            f"{name}-{number}", "when", f"{first.name} is {first.after}",
            text=f"{_capital(first.name)}: when does it next change?",
            tolerance=tolerance, marks=2.0,
        )  # fmt: skip
        yield from _figure(history, occasion, shown, f"{name}-{number + 1}")


def _unchanged(history, occasion, parts):
    """Parts of the same kinds that stay as they are: foreseeing that is half of it."""
    aircraft = history.aircraft
    kinds = {type(aircraft.by_name[name]) for name in parts} or {model.Pump}
    changed = {change.name for change in occasion.changes}
    like = [n for n in told_parts(aircraft) if type(aircraft.by_name[n]) in kinds]
    still = [n for n in like if n not in changed]
    wanted = max(1, min(2, 5 - len(parts)))
    near = sorted(still, key=lambda n: _sideless(n) not in {_sideless(p) for p in parts})
    return near[:wanted]


def _fed(history, occasion):
    """The engines, and the APU where it runs: those whose feed changes first."""
    before, after = occasion.begin - 1.0, occasion.end + 1.0
    time = min(after, history.sector.end)

    def moved(name):
        return history.feeding(name, before).keys() != history.feeding(name, time).keys()

    names = [
        c.name
        for c in history.aircraft.consumers
        if "RUN" in (history.position(c.name, before), history.position(c.name, time))
    ]
    return sorted(names, key=lambda name: not moved(name))


def _figure(history, occasion, shown, name):
    """A mass on the way there, if a tank gains or loses enough to be worked out."""
    time = float(int((shown + 0.6 * (occasion.begin - shown)) / MINUTE) * MINUTE)
    tanks = [tank.name for tank in history.aircraft.tanks if tank.holds_fuel]
    moved = {t: abs(history.quantity(t, time) - history.quantity(t, shown)) for t in tanks}
    tank = max(moved, key=moved.get)
    if time > shown and moved[tank] >= 30.0:
        tolerance = max(10.0, round(0.15 * moved[tank], -1))
        yield Ask(name, "figure", tank, moment=clock(time), tolerance=tolerance, marks=2.0)


def _quiet_board(history, span, name):
    """Nothing changes in this stage: then it is arithmetic only."""
    begin, end = span[0], span[0] + 0.8 * (span[1] - span[0])
    shown, asked = (float(int(t / MINUTE) * MINUTE) for t in (begin + 59.0, end))
    tanks = [tank.name for tank in history.aircraft.tanks if tank.holds_fuel]
    moved = {t: abs(history.quantity(t, asked) - history.quantity(t, shown)) for t in tanks}
    wanted = sorted(moved, key=moved.get, reverse=True)[:2]
    moved["total"] = abs(history.total(asked) - history.total(shown))
    asks = [
        Ask(
            f"{name}-{i}", "figure", about,
            tolerance=max(20.0, round(0.1 * moved[about], -1)), marks=2.0,
        )
        for i, about in enumerate((*wanted, "total"), start=1)
    ]  # fmt: skip
    asks += [Ask(f"{name}-{c.name}", "feeding", c.name) for c in history.aircraft.consumers[:2]]
    return Board(
        name=name, title=f"{_capital(history.phase(shown))}: a quiet stretch",
        lead="No automatic function acts until then. Work it from flows and time.",
        shown=clock(shown), asked=clock(asked), asks=tuple(asks),
    )  # fmt: skip


def _capital(text):
    return text[:1].upper() + text[1:]


def with_form(boards, forms):
    """Return boards with the forms "worked" and "half" given to the first ones."""
    return tuple(
        replace(board, form=form, asks=half_given(board.asks) if form == "half" else board.asks)
        for board, form in zip(boards, [*forms, *["blank"] * len(boards)], strict=False)
    )


def half_given(asks):
    """Return asks of which the kit sets every second one."""
    return tuple(replace(ask, given=i % 2 == 0) for i, ask in enumerate(asks))
