"""Variants of a sector: other loads, each switch moved once, one failure at a time."""

from dataclasses import dataclass, replace

from fuelkit.aircraft import model
from fuelkit.flight.failures import Failure, stuck_states
from fuelkit.flight.sector import Action, Sector
from fuelkit.survey.crew_switches import switches_of_rule
from fuelkit.survey.standard_sector import cruise_start, standard_sector

_IN_CRUISE = 900.0  # s after its beginning
_LEAK_TIME = 3600.0  # s in which a leaking tank would lose all that it can hold


@dataclass(frozen=True)
class Variant:
    """A sector a little unlike the standard one. Frozen.

    words : str
        What is unlike: "left pump failed".
    touches : frozenset of str
        Names of the parts that it is about.
    """

    words: str
    sector: Sector
    touches: frozenset


def variants(aircraft, sector):
    """Return the variants of a standard sector, each with one thing changed.

    Parameters
    ----------
    aircraft : Aircraft
    sector : Sector
        The standard sector of this aircraft.

    Returns
    -------
    tuple of Variant
        Loads, air, attitude, switches, failures, in this order.
    """
    return (
        *_loads(aircraft),
        *_surroundings(aircraft, sector),
        *_rule_settings(aircraft, sector),
        *_switches(aircraft, sector),
        *_failures(aircraft, sector),
    )


def _loads(aircraft):
    tanks = frozenset(tank.name for tank in aircraft.tanks)
    for percent in (25, 60):
        sector = standard_sector(aircraft, share=percent / 100.0)
        yield Variant(f"{percent} % of the standard load", sector, tanks)


def _surroundings(aircraft, sector):
    tanks = frozenset(tank.name for tank in aircraft.tanks)
    for kelvin, words in ((-30.0, "air 30 °C colder than standard"), (30.0, "air 30 °C warmer")):
        yield Variant(words, replace(sector, deviation=kelvin), tanks)
    for roll, side in zip(aircraft.attitudes.roll, ("left", "right"), strict=True):
        phases = tuple(replace(p, roll=roll) if p.mach else p for p in sector.phases)
        words = f"flown with the {side} wing low"
        yield Variant(words, replace(sector, phases=phases), tanks)


def _moments(sector):
    """When things are tried: early and late in the cruise, and on the stand after the flight."""
    begun, ended = cruise_start(sector), sector.phases[-4].start
    return (
        (begun + _IN_CRUISE, "in the cruise"),
        (max(begun + _IN_CRUISE, ended - _IN_CRUISE), "late in the cruise"),
        (sector.phases[-1].start + 240.0, "on the stand after the flight"),
    )


def _rule_settings(aircraft, sector):
    """For each rule, all the switches that it asks for, where that is more than one switch."""
    for time, words in _moments(sector):
        now = _positions(aircraft, sector, time)
        for rule in aircraft.rules:
            asked = switches_of_rule(aircraft, rule)
            positions = {n: p for n, p in asked.items() if now[n] != p}
            if len(positions) > 1:
                yield _moved(
                    f"switches as “{rule.name}” asks {words}", sector, time, positions,
                    {rule.name, *positions},
                )  # fmt: skip


def _switches(aircraft, sector):
    """Each switch to each position that it does not have."""
    for time, words in _moments(sector):
        now = _positions(aircraft, sector, time)
        for switch in aircraft.switches:
            for position in switch.positions:
                if position != now[switch.name]:
                    yield _moved(
                        f"{switch.name} set to {position} {words}", sector, time,
                        {switch.name: position}, {switch.name},
                    )  # fmt: skip


def _moved(words, sector, time, positions, touches):
    action = Action(time, tuple(positions.items()))
    actions = tuple(sorted((*sector.actions, action), key=lambda a: a.time))
    return Variant(words, replace(sector, actions=actions), frozenset(touches))


def _positions(aircraft, sector, time):
    found = {switch.name: switch.positions[0] for switch in aircraft.switches}
    for action in sector.actions:
        if action.time <= time:
            found.update(action.sets)
    return found


def _failures(aircraft, sector):
    time = cruise_start(sector) + _IN_CRUISE
    failures = [f for part in aircraft.by_name.values() for f in _failures_of(part, time)]
    for blocked in (False, True):  # the vents come last: they seldom matter to a rule
        for failure in failures:
            if (failure.kind == "blocked") is not blocked:
                continue
            state = f" {failure.state}" if failure.state else ""
            yield Variant(
                f"{failure.name}{state}",
                replace(sector, failures=(failure,)),
                frozenset([failure.part]),
            )


def _failures_of(part, time):
    if isinstance(part, model.Pump | model.Consumer | model.Bus):
        yield Failure(time, part.name, "failed")
    elif isinstance(part, model.Tank):
        if part.holds_fuel:
            leak = part.levels.capacity * 800.0 / _LEAK_TIME
            yield Failure(time, part.name, "leaking", leak=leak)
            yield Failure(time, part.name, "blocked")
    elif isinstance(part, model.Line | model.Sensor):
        for state in stuck_states(part):
            yield Failure(time, part.name, "stuck", state=state)
