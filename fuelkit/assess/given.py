"""The figures that a learner is given with a board: burns, returns, and what each sensor means.

What an automatic function does is not given: that is what is learned.
"""

from fuelkit.assess.figure_slips import listed
from fuelkit.assess.moments import moment
from fuelkit.flight.picture import picture
from fuelkit.physics.units import HOUR, KILOPASCAL, MINUTE
from fuelkit.physics.writing import clock, mass_text

_MOST_ACTIONS = 14
_DRIP = 0.01  # kg/s; less is no flow
_SETTLED = 30.0  # s after a valve has opened: others that open with it are open too


def given_figures(history, time, board=None):
    """Return what a learner may look up at a moment, as pairs of words.

    Parameters
    ----------
    history : History
    time : float
        The moment shown. [s]
    board : Board, optional
        What it names comes first.

    Returns
    -------
    tuple of (str, str)
        A label and a value with its unit, all computed from the aircraft and the sector.
    """
    until = _latest(history, board, time)
    rows = (
        *_next_actions(history, time, until),
        *_ordered(history, time, until),
        *_filling(history, time, board),
        *_starts(history.aircraft),
        *_delays(history.aircraft, board),
        *_burns(history, time),
        *_steady_flows(history.aircraft),
        *_used(history, time),
        *_thresholds(history, time, until),
        *_pressures(history.aircraft),
    )
    asked = {ask.about for ask in board.asks} if board else set()
    asked |= {o.start for o in history.aircraft.overflows if o.name in asked}
    near = sorted(rows, key=lambda row: not any(name and name in row[0] for name in asked))
    return (("Time and phase", f"{clock(time)}, {history.phase(time)}"), *near)


def aircraft_figures(aircraft):
    """Return those of `given_figures` that are the same in every flight, as pairs of words."""
    return (*_starts(aircraft), *_steady_flows(aircraft), *_pressures(aircraft))


def alike_together(rows):
    """Return rows of what is given with those in one that end alike and have the same figure.

    Examples
    --------
    >>> alike_together([("left pump gives", "9 kPa"), ("gauge", "8 kg"), ("pump gives", "9 kPa")])
    (('each of left pump and pump gives', '9 kPa'), ('gauge', '8 kg'))
    """
    alike = {}
    for what, figure in rows:
        alike.setdefault((what.split()[-1], figure), []).append(what.split())
    return tuple((_each_of(whats), figure) for (_, figure), whats in alike.items())


def _each_of(whats):
    """What several rows are of, as lists of words of which at least the last is the same."""
    if len(whats) == 1:
        return " ".join(whats[0])
    longest = min(map(len, whats)) - 1  # a name keeps a word of its own
    same = next((n for n in range(longest) if len({w[-1 - n] for w in whats}) > 1), longest)
    names = listed(" ".join(what[: len(what) - same]) for what in whats)
    return f"each of {names} {' '.join(whats[0][len(whats[0]) - same :])}".strip()


def _used(history, time):
    """What each fuel-used counter shows."""
    for counter in history.aircraft.counters:
        yield f"{counter.name} so far", mass_text(history.fuel_used(counter.consumer, time))


def _pressures(aircraft):
    """What each pump gives without flow, and what holds a relief valve shut."""
    for pump in aircraft.pumps:
        yield f"{pump.name} gives", f"{pump.rise / KILOPASCAL:.0f} kPa while nothing flows"
    for line in aircraft.lines:
        if line.kind == "relief valve":
            yield f"{line.name} opens at", f"{line.opening / KILOPASCAL:.0f} kPa across it"


def _next_actions(history, time, until):
    """What the crew sets: all of it until the moment asked for, at least the next two."""
    ahead = [action for action in history.sector.actions if action.time > time]
    count = max(2, sum(action.time <= until for action in ahead))
    for action in ahead[: min(count, _MOST_ACTIONS)]:
        names = ", ".join(f"{name} {position}" for name, position in action.sets)
        if names:
            yield f"Set by hand at {clock(action.time)}", names


def _ordered(history, time, until):
    """What is ordered: while it may be being filled in, as the next step, and till it is asked."""
    actions = history.sector.actions
    ahead = [action.time for action in actions if action.time > time][:2]
    until = max([time, until, *ahead])
    orders = [a for a in actions if a.order is not None and time - HOUR < a.time <= until]
    for action in orders:
        yield f"Ordered at {clock(action.time)}", f"{mass_text(action.order)}, all on board"


def _filling(history, time, board):
    """How fast each tank fills, where it is asked when or in which order something changes.

    No rule of the aircraft tells it: it comes of the pressure at the coupling and of the lines.
    """
    if board is None or not any(ask.kind in ("when", "order") for ask in board.asks):
        return
    tanks = {tank.name for tank in history.aircraft.tanks}
    flows, until = picture(history, time).flows, moment(history, board.asked)
    for valve in history.aircraft.valves:
        if valve.end not in tanks or valve.start in tanks:
            continue
        flow, when = flows.get(valve.name, 0.0), "at the moment shown"
        if flow <= _DRIP:
            flow, when = _first_flow(history, valve.name, time, until), "once it is open"
        if flow > _DRIP:
            yield f"{valve.name} passes", f"{mass_text(flow * MINUTE)}/min {when}"


def _first_flow(history, valve, time, until):
    """What a valve passes a little after it has first opened, between two moments. [kg/s]"""
    opened = [c.time for c in history.changes_of(valve) if c.after == "OPEN"]
    later = [t + _SETTLED for t in opened if time < t and t + _SETTLED < until]
    return picture(history, later[0]).flows.get(valve, 0.0) if later else 0.0


def _starts(aircraft):
    """How long each valve to a consumer travels, and each consumer takes to light up."""
    for consumer in aircraft.consumers:
        for valve in aircraft.valves:
            if valve.end == consumer.start:
                yield f"{valve.name} takes", f"{valve.travel:g} s to open or shut"
        for rule in aircraft.rules_for.get(consumer.name, ()):
            yield f"{consumer.name} lights up", f"{rule.delay:g} s after its valve is open"


def _delays(aircraft, board):
    """How long each function on a part that is asked for waits; what it does is not told."""
    asked = {ask.about.split(" is ")[0] for ask in board.asks} if board else set()
    consumers = {consumer.name for consumer in aircraft.consumers}
    for rule in aircraft.rules:
        if rule.delay and (asked - consumers) & {name for name, _ in rule.sets}:
            yield f"{rule.name} waits", f"{rule.delay:g} s"


def _burns(history, time):
    phases = history.sector.phases
    ends = [*(phase.start for phase in phases[1:]), history.sector.end]
    ahead = [(p, end) for p, end in zip(phases, ends, strict=True) if end > time][:3]
    for consumer in history.aircraft.consumers:
        if consumer.burn is not None:
            continue  # the same in every phase
        factor = history.sector.burn_factor.get(consumer.name, 1.0) * HOUR
        parts = (f"{mass_text(p.burn * factor)}/h until {clock(end)}" for p, end in ahead)
        yield f"{consumer.name} burns, when it runs", ", then ".join(parts)


def _steady_flows(aircraft):
    """What burns, or is led back, at a rate that is the same in every phase."""
    for consumer in aircraft.consumers:
        if consumer.burn is not None:
            yield f"{consumer.name} burns", f"{mass_text(consumer.burn * HOUR)}/h while it runs"
    for line in aircraft.returns:
        yield line.name, f"{mass_text(line.flow * HOUR)}/h while open"


def _thresholds(history, time, until):
    """At which mass each sensor changes and each tank runs over, when it next does so.

    A mass depends on the attitude and on the temperature: those of its next change are taken, or
    of the moment shown if it does not change until the moment asked for. A tank that does not run
    over is told at the temperature at which its sensor changes: the two are held beside each other.
    """
    aircraft, fuel = history.aircraft, history.hydraulics.fuel
    changes = {}
    for sensor in aircraft.sensors:
        when = _next_change(history, sensor.name, time, until)
        changes[sensor.tank] = max(when, changes.get(sensor.tank, time))
        dry, wet = history.stance(when).thresholds[sensor.name]
        density = fuel.density(history.temperature(sensor.tank, when))
        falling, rising = mass_text(dry * density), mass_text(wet * density)
        yield sensor.name, f"DRY at {falling} falling, WET at {rising} rising"
    for overflow in aircraft.overflows:
        tank = aircraft.tank(overflow.start)
        if tank.holds_fuel:
            when = _next_change(history, overflow.name, time, until, changes.get(tank.name))
            density = fuel.density(history.temperature(tank.name, when))
            yield f"{tank.name} runs over at", mass_text(tank.highest_volume * density)


def _next_change(history, name, time, until, otherwise=None):
    """When something changes next, or else another moment, by default the one shown."""
    other = time if otherwise is None else otherwise
    return next((c.time for c in history.changes_of(name) if time < c.time <= until), other)


def _latest(history, board, time):
    """The last moment that a board asks for. [s]"""
    if board is None:
        return time
    words = [board.asked, *(ask.moment for ask in board.asks if ask.moment)]
    return max([time, *(moment(history, w) for w in words)])
