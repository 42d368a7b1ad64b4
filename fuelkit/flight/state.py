"""The small records that a flight is made of: a state, a change, an error."""

from dataclasses import dataclass, field

import numpy as np

from fuelkit.physics.errors import FuelkitError

PHASE = "phase"
"""Name under which the phase of flight stands among the states."""

INACTIVE, ACTIVE = "AT REST", "ACTIVE"


class FlightError(FuelkitError, RuntimeError):
    """A flight cannot be computed further; the message says when and why."""


class EndlessSwitchingError(FlightError):
    """Two rules undo each other at one instant. `names` lists what keeps changing."""

    def __init__(self, time_text, names):
        self.names = tuple(names)
        super().__init__(
            f"flight at {time_text}: {', '.join(self.names)} change back and forth without end; "
            "two rules undo each other. Give one of them an until = [...] or another condition."
        )


@dataclass(frozen=True)
class RuleMemory:
    """What a rule remembers. Frozen.

    since : float or None
        Since when its condition has held, for its delay. [s]
    masses : dict of str to float
        Mass of each tank when it took hold, for facts about what has gone since. [kg]
    """

    since: float | None = None
    masses: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Travel:
    """A motor valve on its way. Frozen. Until it arrives it passes fuel as it did before."""

    start: float
    arrival: float
    before: str
    target: str
    reason: str


@dataclass(frozen=True)
class State:
    """Everything that changes in a flight, at one time. Frozen; a step returns the next one.

    time : float
        Since the start of the sector. [s]
    quantities : ndarray, shape (n,)
        Fuel in each tank, burned by each consumer, delivered and gone overboard [kg], then the
        temperature in each tank [K].
    positions : dict of str to str
        State of every component, switch, sensor, inlet, overflow, rule and alert.
    memory : dict of str to RuleMemory
    travels : dict of str to Travel
        Motor valves that are moving.
    met : frozenset
        Facts about quantities that hold: (rule, fact) or (None, fact).
    starved : frozenset of str
        Consumers and returns that found no fuel and were not asked to stop since.
    coupling : float
        Pressure at the refuelling coupling. [Pa]
    trapped : dict of str to float
        For each tank with a blocked vent, pressure times volume of the air in it. [J]
    order : dict of str to float or None
        What the refuelling order gives each tank. [kg]
    zeros : dict of str to float
        What each fuel-used counter had counted when it was last set to zero. [kg]
    latest : dict of str to int
        For every component, the number of the change that gave it its state.
    """

    time: float
    quantities: np.ndarray
    positions: dict
    memory: dict
    travels: dict
    met: frozenset
    order: dict | None
    zeros: dict
    latest: dict
    starved: frozenset = frozenset()
    coupling: float = 0.0
    trapped: dict = field(default_factory=dict)

    def __post_init__(self):
        self.quantities.setflags(write=False)  # whoever is handed a state cannot change it


@dataclass(frozen=True)
class Change:
    """One change of one component, with what brought it about. Frozen.

    number : int
        Place in the list of changes of its flight.
    time : float
        [s]
    name, before, after : str
    reason : str
        Why, as the end of a sentence that begins "... because".
    causes : tuple of int
        Numbers of the earlier changes that led to it.
    rule : str
        The rule that decided, if one did.
    """

    number: int
    time: float
    name: str
    before: str
    after: str
    reason: str
    causes: tuple = ()
    rule: str = ""
