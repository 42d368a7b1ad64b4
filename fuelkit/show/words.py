"""The words that stand beside a symbol or in a table: short names, states, what a part does."""

from fuelkit.aircraft.conditions import StateFact
from fuelkit.aircraft.model import Consumer, Pump, Sensor, settable_states
from fuelkit.physics.units import HOUR
from fuelkit.show.routes import TRICKLE
from fuelkit.show.svg import SIZE, wrapped

NOT_SHOWN = "not shown while you predict"
_KIND_WORDS = ("pump", "valve", "sensor", "overflow")
_SEVERITY = ("warning", "caution", "advisory")


def short_name(aircraft, part):
    """Return a part's name without what its place on the drawing says already.

    A pump drops the words of its tank, a line those of both of its ends.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> short_name(halbrook, halbrook.by_name["left inboard forward pump"])
    'forward'
    >>> short_name(halbrook, halbrook.by_name["engine 1 shut-off valve"])
    'shut-off'
    """
    tanks = [node for node in _ends(part) if node in {tank.name for tank in aircraft.tanks}]
    for nodes in (_ends(part), tanks):
        said = {word for node in nodes for word in node.split()} | set(_KIND_WORDS)
        if rest := [word for word in part.name.split() if word not in said]:
            return " ".join(rest)
    return part.name


def _ends(part):
    if isinstance(part, Sensor):
        return (part.tank,)
    return (part.start,) if isinstance(part, Pump) else (part.start, part.end)


def flow_text(flow):
    """Return a flow [kg/s] in the unit of the flight deck.

    Examples
    --------
    >>> flow_text(0.55)
    '1 980 kg/h'
    """
    return f"{flow * HOUR:,.0f} kg/h".replace(",", " ")


def title_case(name):
    """Return a name with a capital at its start.

    Examples
    --------
    >>> title_case("left centre pump"), title_case("APU")
    ('Left centre pump', 'APU')
    """
    return name[:1].upper() + name[1:]


def line_state(line, picture):
    """Return the state of a line: a motor valve's own, else whether a check valve passes fuel.

    A jet pump is OFF, in RUN, or has NO SUCTION while fuel drives it and none covers its inlet.
    """
    if line.kind == "valve":
        return picture.positions[line.name]
    if line.kind == "jet pump":
        if picture.flows.get(line.name, 0.0) <= TRICKLE:
            return "OFF"
        return "RUN" if picture.positions[f"{line.name} suction"] == "WET" else "NO SUCTION"
    return "OPEN" if abs(picture.flows.get(line.name, 0.0)) > TRICKLE else "SHUT"


def fed_text(consumer, picture):
    """Return what an engine or the APU is fed from, in capitals, or its state when it is off."""
    if picture.positions[consumer.name] != "RUN":
        return picture.positions[consumer.name]
    feeding = picture.feeding[consumer.name]
    if len(feeding) == 1:
        return f"FED FROM {next(iter(feeding)).upper()}"
    shares = sorted(feeding.items(), key=lambda item: -item[1])
    return "FED FROM " + ", ".join(f"{tank.upper()} {100 * s:.0f} %" for tank, s in shares)


def fed_lines(words, width):
    """Return the lines of what a consumer is fed from, one for each tank where there is room."""
    start, _, rest = words.partition("FED FROM ")
    if not rest:
        return wrapped(start, width, bold=True)
    tanks = rest.split(", ")
    size = SIZE if len(tanks) == 1 else 13
    lines = [line for tank in tanks for line in wrapped(tank, width, size=size, bold=True)]
    return ["FED FROM", *lines]


def own_switch(aircraft, part):
    """Return the switch by which a part is selected, or None; found from the aircraft's rules."""
    active = settable_states(part)[1:]
    for rule in aircraft.rules_for.get(part.name, ()):
        if any(name == part.name and state in active for name, state in rule.sets):
            for fact in rule.condition.facts:
                named = (switch for switch in aircraft.switches if switch.name == fact.name)
                if isinstance(fact, StateFact) and (found := next(named, None)):
                    return found
    return None


def switch_words(part, switch, picture):
    """Return a switch and its position without the words of the part that it belongs to."""
    rest = [word for word in switch.name.split() if word not in part.name.split()]
    return f"{' '.join(rest) or switch.name} {picture.positions[switch.name]}"


def free_switches(aircraft, parts):
    """Return the switches that no drawn part shows beside itself."""
    shown = {switch.name for part in parts if (switch := own_switch(aircraft, part))}
    return [switch for switch in aircraft.switches if switch.name not in shown]


def alarm_of(aircraft, picture, name):
    """Return the highest level at which the crew is told of a part's state, or nothing."""
    levels = {
        alert.level
        for alert in aircraft.alerts
        if picture.positions[alert.name] == "SHOWN"
        and any(fact.name == name for fact in alert.condition.facts)
    }
    return next((level for level in _SEVERITY[:2] if level in levels), "")


def told(aircraft, picture, hidden=()):
    """Return what the crew is told, the gravest first, and whether some of it is held back.

    Nothing that looks at a hidden component is told, shown or not: its absence would tell too.

    Returns
    -------
    list of Alert, bool
    """
    covered = set(hidden)
    covered |= {sensor.name for sensor in aircraft.sensors if sensor.tank in covered}
    held = [a for a in aircraft.alerts if covered & {f.name for f in a.condition.facts}]
    shown = [a for a in aircraft.alerts if a not in held and picture.positions[a.name] == "SHOWN"]
    return sorted(shown, key=lambda alert: _SEVERITY.index(alert.level)), bool(held)


def answers_to(aircraft, picture, name):
    """Return every way in which a learner may rightly name a component's state.

    For an engine or the APU that runs, its state or the tank that feeds it.
    """
    part = aircraft.by_name[name]
    right = {picture.positions.get(name, "")}
    if isinstance(part, Consumer) and picture.feeding.get(name):
        tanks = [aircraft.tank(tank) for tank in picture.feeding[name]]
        right |= {" and ".join(getattr(t, field) for t in tanks) for field in ("name", "title")}
    return {answer.casefold() for answer in right if answer}
