"""The frozen record of an aircraft's fuel system. Holds what is, never what changes.

Masses in kg, lengths in m, pressures in Pa, flows in kg/s, times in s.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fuelkit.aircraft.characteristics import Attitudes, Masses, Venting, Warming
from fuelkit.aircraft.conditions import Condition
from fuelkit.aircraft.performance import MassLimits, Performance
from fuelkit.aircraft.tank import Rib, Tank  # noqa: F401 (all records are found here)
from fuelkit.aircraft.walk_around import Finding, WalkAroundItem  # noqa: F401

OVERBOARD = "overboard"
"""Name of the place where an overflow may end outside the aircraft."""


@dataclass(frozen=True)
class Junction:
    """A meeting point of lines: its position (x, y, z) [m] and its place on the drawing."""

    name: str
    position: tuple
    at: tuple


@dataclass(frozen=True)
class Outlet:
    """An opening overboard, such as a jettison nozzle: its position [m], place on the drawing."""

    name: str
    position: tuple
    at: tuple


@dataclass(frozen=True)
class Bus:
    """An electrical bus: LIVE unless it has failed. What hangs on it names it."""

    name: str


@dataclass(frozen=True)
class Pump:
    """An electric pump in a tank. Frozen.

    kind : str
        "boost" or "override".
    start, end : str
        Tank it stands in, junction it delivers to.
    inlet : tuple
        Position of its inlet (x, y, z). [m]
    rise, resistance, exponent : float
        Head curve: rise - resistance · flow^exponent. [Pa], [Pa/(kg/s)^exponent], [-]
    bus : str or None
        The electrical bus that drives it.
    """

    name: str
    kind: str
    start: str
    end: str
    inlet: tuple
    rise: float
    resistance: float
    exponent: float
    at: tuple
    bus: str | None = None


@dataclass(frozen=True)
class Line:
    """A pipe, check valve, relief valve, motor valve or jet pump between two nodes. Frozen.

    kind : str
        "pipe", "check valve", "relief valve", "valve" or "jet pump".
    start, end : str
        A tank, a junction, the refuelling coupling or an outlet.
    inlet, outlet : tuple or None
        Position of the opening in the tank where it starts or ends (x, y, z). [m]
    resistance : float
        Pressure loss at 1 kg/s. [Pa/(kg/s)²]
    opening : float
        Pressure difference at which a relief valve opens. [Pa]
    travel : float
        Time that a motor valve takes from end to end. [s]
    group : str
        "feed", or "refuelling" for lines that the flight drawing leaves out.
    bus : str or None
        The electrical bus that moves a motor valve.
    suction, flow_ratio : str, float
        For a jet pump, the tank that it sucks from (at `inlet`), and the fuel that it moves for
        each kilogram of motive fuel. [-]
    """

    name: str
    kind: str
    start: str
    end: str
    inlet: tuple | None
    outlet: tuple | None
    resistance: float
    opening: float
    one_way: bool
    travel: float
    group: str
    at: tuple | None
    bus: str | None = None
    suction: str = ""
    flow_ratio: float = 0.0


@dataclass(frozen=True)
class Consumer:
    """An engine or the APU: the junction it draws from and, for an APU, what it burns [kg/s].

    least_pressure : float
        Absolute pressure that it needs at its inlet, above the fuel's vapour pressure. [Pa]
    """

    name: str
    kind: str
    start: str
    burn: float | None
    at: tuple
    least_pressure: float = 0.0


@dataclass(frozen=True)
class Return:
    """Hot fuel from an oil cooler, drawn at a junction and returned to a tank [kg/s], [K]."""

    name: str
    start: str
    end: str
    flow: float
    temperature: float
    at: tuple


@dataclass(frozen=True)
class Filler:
    """An opening on top of a tank, through which it is filled by hand at a steady rate [kg/s]."""

    name: str
    end: str
    flow: float
    at: tuple


@dataclass(frozen=True)
class Overflow:
    """Where a tank runs over once it holds its highest volume: another tank, or overboard."""

    name: str
    start: str
    end: str


@dataclass(frozen=True)
class Sensor:
    """A sensor at a position in a tank (x, y, z): WET or DRY [m]. Frozen.

    kind : str
        "level"; or "temperature", which shows the fuel's temperature while it is WET.
    """

    name: str
    tank: str
    position: tuple
    kind: str = "level"


@dataclass(frozen=True)
class Vent:
    """The opening through which a tank breathes, (x, y, z): WET while fuel covers it [m]."""

    name: str
    tank: str
    position: tuple


@dataclass(frozen=True)
class Stick:
    """A magnetic level indicator or drip stick: reads the depth of fuel from its foot. Frozen.

    kind : str
        "magnetic" or "drip".
    foot : tuple
        (x, y, z) of the reading 0. [m]
    length : float
        How far it reads. [m]
    """

    name: str
    tank: str
    kind: str
    foot: tuple
    length: float


@dataclass(frozen=True)
class Switch:
    """A control that the crew or ground staff set; the first position is where it rests."""

    name: str
    positions: tuple


@dataclass(frozen=True)
class Rule:
    """An automatic function. Frozen.

    condition : Condition
        What must hold, for `delay` seconds without a break, for the rule to take hold.
    until : Condition or None
        What ends it, once it has taken hold; without it the rule ends with its condition.
    sets : tuple of (str, str)
        Components and the states it puts them in. The rule that stands first in the file wins.
    because : str
        The reason, as the end of a sentence.
    """

    name: str
    condition: Condition
    until: Condition | None
    delay: float
    sets: tuple
    because: str


@dataclass(frozen=True)
class Counter:
    """Fuel used by a consumer; set to zero when a condition becomes true."""

    name: str
    consumer: str
    zero_when: Condition
    because: str


@dataclass(frozen=True)
class Alert:
    """A plain sentence shown to the crew while a condition holds: "advisory", "caution", ..."""

    name: str
    level: str
    condition: Condition


@dataclass(frozen=True)
class Aircraft:
    """A fuel system, whole. Frozen: a flight reads it and never writes on it."""

    name: str
    identifier: str
    summary: str
    attitudes: Attitudes
    warming: Warming
    venting: Venting
    masses: Masses | None
    tanks: tuple
    overflows: tuple
    junctions: tuple
    outlets: tuple
    buses: tuple
    pumps: tuple
    lines: tuple
    consumers: tuple
    returns: tuple
    fillers: tuple
    coupling: str
    coupling_pressure: float
    coupling_at: tuple
    sensors: tuple
    vents: tuple
    sticks: tuple
    switches: tuple
    rules: tuple
    counters: tuple
    alerts: tuple
    walk_around: tuple
    loading_order: tuple
    fingerprint: str = field(repr=False)
    mass_limits: MassLimits | None = None
    performance: Performance | None = field(default=None, repr=False)

    @cached_property
    def by_name(self):
        """Every named part of the aircraft."""
        groups = (
            self.tanks, self.overflows, self.junctions, self.outlets, self.buses, self.pumps,
            self.lines, self.consumers, self.returns, self.fillers, self.sensors, self.vents,
            self.sticks, self.switches,
            self.rules, self.counters, self.alerts,
        )  # fmt: skip
        return {part.name: part for group in groups for part in group}

    def tank(self, name):
        """Return the tank of that name."""
        return self.by_name[name]

    def openings_of(self, tank):
        """Return (part, position) of each opening through which fuel can leave a tank."""
        found = [(p.name, p.inlet) for p in self.pumps if p.start == tank]
        for line in self.lines:
            if tank in (line.start, line.suction) and line.inlet is not None:
                found.append((line.name, line.inlet))
            elif tank == line.end and not line.one_way and line.outlet is not None:
                found.append((line.name, line.outlet))
        return tuple(found)

    @property
    def valves(self):
        """The motor valves, in the order of the file."""
        return tuple(line for line in self.lines if line.kind == "valve")

    @cached_property
    def rules_for(self):
        """For every component that rules set, these rules in order of priority."""
        found = {}
        for rule in self.rules:
            for name, _ in rule.sets:
                found.setdefault(name, []).append(rule)
        return found

    @cached_property
    def sides(self):
        """For each tank -1 if it lies left of the middle, +1 right of it, 0 on both sides."""
        spans = [[rib.y for rib in tank.ribs] for tank in self.tanks]
        return np.array([1.0 if min(y) >= 0 else -1.0 if max(y) <= 0 else 0.0 for y in spans])

    def states_of(self, name):
        """Return the states that a component can be in, the resting one first."""
        return states_of(self.by_name[name])

    @cached_property
    def resting_states(self):
        """Every component that has states, in the first of them: an aircraft asleep."""
        return {n: states_of(p)[0] for n, p in self.by_name.items() if states_of(p)}


_STATES = {
    Pump: ("OFF", "RUN", "LOW PRESS", "FAIL"),
    Consumer: ("OFF", "RUN", "STARVED", "FAIL"),
    Bus: ("LIVE", "DEAD"),
    Return: ("SHUT", "OPEN"),
    Filler: ("SHUT", "OPEN"),
    Sensor: ("DRY", "WET"),
    Vent: ("DRY", "WET"),
    Overflow: ("STILL", "RUNNING"),
    Alert: ("OUT", "SHOWN"),
    Rule: ("AT REST", "ACTIVE"),
}


def states_of(part):
    """Return the states that a part can be in, the resting one first; none if it has no states."""
    if isinstance(part, Switch):
        return part.positions
    if isinstance(part, Line):
        return ("SHUT", "OPEN", "MOVING", "HALF OPEN") if part.kind == "valve" else ()
    return _STATES.get(type(part), ())


def settable_states(part):
    """Return the states that a rule may put a part in."""
    if isinstance(part, Pump | Consumer | Return | Filler) or (
        isinstance(part, Line) and part.kind == "valve"
    ):
        return states_of(part)[:2]
    return ()
