"""Why a component is in its state: the chain of changes behind it, as sentences.

Every sentence is put together from the computed flight and the aircraft's own rules.
"""

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import StateFact, is_or_are
from fuelkit.flight.failures import PRESENT
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import clock


def why(history, name, time):
    """Return why a component is in its state at a time, as one or two sentences.

    Parameters
    ----------
    history : History
    name : str
        A pump, valve, consumer, sensor, switch, alert or rule.
    time : float
        [s]

    Returns
    -------
    str

    Raises
    ------
    AskedError
        If there is no such component, or the time lies outside the flight.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> why(flight, "engine 1 shut-off valve", 1400.0).split(". ")[0]
    'Engine 1 shut-off valve is OPEN since 0:22:32, because the fuel lever of engine 1 is at run'
    """
    state = history.position(name, time)
    change = latest_change(history, name, time)
    is_alert = isinstance(history.aircraft.by_name.get(name), model.Alert)
    subject = f"The alert “{name}”" if is_alert else name[:1].upper() + name[1:]
    verb = "is" if is_alert else is_or_are(name)
    stuck = _stuck_text(history, name, change, time)
    held = _held_text(history, name, state, change, time)
    if held:
        return f"{subject} {verb} {state} since {_since(change)}{held}"
    if change is None:
        asked = "" if stuck else f": {_unmoved_text(history, name, state, time)}"
        return f"{subject} {verb} {state} since the start{asked}.{stuck}"
    since = f"{subject} {verb} {state} since {_since(change)}"
    if is_alert and state == "SHOWN":
        return f"{since}, {_shown_text(history, name, change, time)}{stuck}"
    ended = "" if stuck else _ended_text(history, name, change, time)
    return f"{since}, because {change.reason}.{_behind(history, change)}{ended}{stuck}"


def _ended_text(history, name, change, time):
    """That what brought a component into its state is over, while nothing has moved it since."""
    rules = history.aircraft.rules_for.get(name, ())
    active = [rule for rule in rules if history.position(rule.name, time) == "ACTIVE"]
    behind = [rule for rule in rules if rule.because in change.reason]
    ends = [latest_change(history, rule.name, time) for rule in behind]
    if active or not behind or None in ends:
        return ""
    over = max(end.time for end in ends)
    return f" From {clock(over)} that is so no more, but nothing has called for another state."


def _shown_text(history, name, change, time):
    """Why an alert is shown: of what it looks at, only what is so at the time asked for."""
    facts = [
        fact
        for fact in history.aircraft.by_name[name].condition.facts
        if _is_true(history, fact, time)
    ]
    because = " and ".join(str(fact) for fact in facts)
    found = [latest_change(history, _named(fact), time) for fact in facts]
    now = "" if because == change.reason else "now "
    return f"{now}because {because}.{_behind(history, *filter(None, found), itself=True)}"


def _named(fact):
    """Under which name changes of a fact stand: that of its part, or its own words."""
    return fact.name if isinstance(fact, StateFact) else str(fact)


def _is_true(history, fact, time):
    """Whether a fact of an alert holds at a time; a measured one was met last, not lost."""
    if isinstance(fact, StateFact):
        return (history.position(fact.name, time) == fact.state) != fact.negated
    change = latest_change(history, str(fact), time)
    return change is not None and change.after == "MET"


def _unmoved_text(history, name, state, time):
    """Why a component has never moved: nobody asked, or it had no power to."""
    rules = history.aircraft.rules_for.get(name, ())
    active = [rule for rule in rules if history.position(rule.name, time) == "ACTIVE"]
    bus = getattr(history.aircraft.by_name.get(name), "bus", None)
    if active and bus and history.position(bus, time) == "DEAD":
        return f"{active[0].because}, but {bus} is DEAD and it cannot move"
    return "nothing has called for another state"


def _held_text(history, name, state, change, time):
    """By which rule a component is held in its state now, if that is not what put it there."""
    failures = history.sector.failures
    if any(f.kind == "stuck" and f.part == name and f.time <= time for f in failures):
        return ""
    rules = history.aircraft.rules_for.get(name, ())
    active = [rule for rule in rules if history.position(rule.name, time) == "ACTIVE"]
    if not active or dict(active[0].sets)[name] != state:
        return ""
    rule = active[0]
    if change is not None and rule.because in change.reason:
        return ""
    began = latest_change(history, rule.name, time)
    if began is None:
        return f", held there because {rule.because}."
    return f", held there from {_since(began)} because {rule.because}.{_behind(history, began)}"


def _since(change):
    """Since when, in words; what was so before anybody sat down is so since the start."""
    return clock(change.time) if change is not None and change.time else "the start"


def latest_change(history, name, time):
    """Return the last change of a component at or before a time, or None."""
    found = None
    for change in history.changes:
        if change.time > time:
            break
        if change.name == name:
            found = change
    return found


def chain(history, change):
    """Return every change that led to a change, the nearest first, each once."""
    found, waiting = {}, list(reversed(change.causes))
    while waiting:
        number = waiting.pop(0)
        if number not in found:
            found[number] = history.changes[number]
            waiting += reversed(history.changes[number].causes)
    return tuple(found.values())


def _behind(history, *changes, itself=False):
    """The roots of changes: crew actions, levels and phases, in order of time.

    Only what still held when the change came about; what was undone before is no reason for it.
    """
    roots = {
        c.number: c
        for change in changes
        for c in (*((change,) if itself else ()), *chain(history, change))
        if not c.causes and c.before != c.after and latest_change(history, c.name, change.time) is c
    }
    if not roots:
        return ""
    latest = sorted(roots.values(), key=lambda c: c.time)[-2:]
    return " Behind it: " + "; ".join(_root_text(history, c) for c in latest) + "."


def _stuck_text(history, name, change, time):
    """That a component can move no more, where the change behind its state does not say so."""
    for failure in history.sector.failures:
        happened = failure.kind == "stuck" and failure.part == name and failure.time <= time
        if happened and (change is None or change.time < failure.time):
            return f" It is stuck there since {clock(failure.time)}."
    return ""


def _root_text(history, change):
    part = history.aircraft.by_name.get(change.name)
    if change.after == PRESENT:
        return f"{change.name} at {clock(change.time)}"
    if isinstance(part, model.Switch):
        return f"{change.name} {change.after}, set by hand at {clock(change.time)}"
    return f"{change.reason}, at {clock(change.time)}"


def why_fed(history, consumer, time):
    """Return why an engine or the APU is fed from where it is: the pressures that decide.

    Parameters
    ----------
    history : History
    consumer : str
    time : float
        [s]

    Returns
    -------
    str
    """
    subject = consumer[:1].upper() + consumer[1:]
    feeding = history.feeding(consumer, time)
    if not feeding:
        return why(history, consumer, time)
    told = _competitors(history, picture(history, time), consumer)
    return f"{subject} is fed from {fed_text(feeding)}: {told}."


def fed_text(feeding):
    """Return the tanks that feed, in words: "centre", or "centre and left inboard"."""
    names = [name for name, share in feeding.items() if share > 0.01]
    return " and ".join(names) if names else "no tank"


def _competitors(history, now, consumer):
    """What delivers to a consumer and what is held back, each at its own manifold, in words."""
    aircraft = history.aircraft
    reached = _upstream(aircraft, now, aircraft.by_name[consumer].start)
    pumps = [p for p in aircraft.pumps if now.positions[p.name] == "RUN"]
    feeding = [p for p in pumps if now.flows[p.name] > 0.0 and p.end in reached]
    lines = {line.start: line for line in aircraft.lines}
    held = [p for p in pumps if not now.flows[p.name] and lines[p.end].end in reached]
    if not feeding:
        return "no pump delivers, so it draws by gravity through the gravity feed valve"
    return "; ".join(
        _at_manifold(
            now,
            manifold,
            [p for p in feeding if lines[p.end].end == manifold],
            [(p, lines[p.end].opening) for p in held if lines[p.end].end == manifold],
        )
        for manifold in dict.fromkeys(lines[p.end].end for p in (*feeding, *held))
    )


def _at_manifold(now, manifold, feeding, held):
    """What the pumps of one manifold give there, and could give; `held` with what holds each."""
    pressure = f"{now.pressures[manifold] / 1000.0:.0f} kPa"
    gives = "give" if len(feeding) > 1 else "gives"
    delivers = f"{_list(feeding)} {gives} {pressure} at the {manifold}" if feeding else ""
    if not held:
        return delivers
    best = max((now.pressures[p.end] - opening) / 1000.0 for p, opening in held)
    names, are = _list([p for p, _ in held]), "are" if len(held) > 1 else "is"
    if not feeding:
        where = f"at the {manifold}, where {pressure} stands, {names}"
        return f"{where} could give only {best:.0f} kPa and {are} held back"
    return f"{delivers}; {names} could give only {best:.0f} kPa there and {are} held back"


def _upstream(aircraft, now, node):
    """Junctions from which fuel flows to a node at this moment, without crossing a tank.

    A pump that transfers into a tank does not feed what draws on that tank.
    """
    tanks, reached = {tank.name for tank in aircraft.tanks}, {node}
    for _ in aircraft.lines:
        reached |= {x.start for x in aircraft.lines if x.end in reached and now.flows[x.name] > 0.0}
        reached |= {x.end for x in aircraft.lines if x.start in reached and now.flows[x.name] < 0.0}
        reached -= tanks
    return reached


def _list(parts):
    names = [part.name for part in parts]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
