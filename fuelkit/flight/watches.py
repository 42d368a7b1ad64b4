"""The fuel quantities at which something happens next: sensors, inlets, overflows, orders."""

from dataclasses import dataclass

from fuelkit.aircraft.conditions import LossFact, OrderFact
from fuelkit.flight.state import ACTIVE


@dataclass(frozen=True)
class Watch:
    """A mass in a tank at which a name changes its state. Frozen.

    index : int
        Place of the tank among the quantities.
    mass : float
        The threshold. [kg]
    rising : bool
        Whether it is met from below; otherwise from above.
    name, after : str
        What changes, and to what; a fact about a quantity becomes "met".
    rule : str or None
        For a fact about what has gone from a tank, the rule that asks.
    fact : object
        The fact, or None for a component.
    reason : str
    """

    index: int
    mass: float
    rising: bool
    name: str
    after: str
    reason: str
    rule: str | None = None
    fact: object = None

    def distance(self, quantities):
        """Return how far the tank is from the threshold, 0 or less once it is met [kg]."""
        gap = self.mass - quantities[self.index]
        return float(gap if self.rising else -gap)


class Watchman:
    """Lists what is to be watched in a state. Thresholds are turned into masses once."""

    def __init__(self, aircraft, hydraulics):
        self.aircraft = aircraft
        self.index = {name: i for i, name in enumerate(hydraulics.quantity_names)}
        self._density = hydraulics.density
        points = [(s.name, s.tank, s.position[2], "the sensor") for s in aircraft.sensors]
        points += [(p.name, p.tank, p.z, "the opening") for p in hydraulics.watched_ports.values()]
        self._levels = {name: self._level_watches(*rest, name) for name, *rest in points}
        self._overflows = tuple(
            (o.name, o.start, aircraft.tank(o.start).highest_volume * self._density)
            for o in aircraft.overflows
        )
        self._loss_rules = tuple(
            (rule, fact)
            for rule in aircraft.rules
            for fact in (rule.until.facts if rule.until else ())
            if isinstance(fact, LossFact)
        )
        self.order_facts = tuple(
            dict.fromkeys(
                fact
                for rule in aircraft.rules
                for fact in rule.condition.facts + (rule.until.facts if rule.until else ())
                if isinstance(fact, OrderFact)
            )
        )

    def _level_watches(self, tank, z, what, name):
        """The two watches of a level sensor or opening: falling dry, and wet again."""
        table, index = self.aircraft.tank(tank).levels, self.index[tank]
        dry = table.volume_below(z) * self._density
        wet = table.volume_below(z + self.aircraft.rewet_height) * self._density
        falling = f"the fuel in {tank} has fallen to {what}, at {dry:.0f} kg"
        rising = f"the fuel in {tank} has risen over {what}, at {wet:.0f} kg"
        return {
            "WET": Watch(index, dry, False, name, "DRY", falling),
            "DRY": Watch(index, wet, True, name, "WET", rising),
        }

    def initial_level_states(self, quantities):
        """Return WET or DRY for every sensor and opening at given quantities."""
        return {
            name: "DRY" if pair["WET"].distance(quantities) <= 0.0 else "WET"
            for name, pair in self._levels.items()
        }

    def watches(self, state):
        """Return every watch that matters in a state."""
        found = [pair[state.positions[name]] for name, pair in self._levels.items()]
        found += [
            Watch(self.index[tank], mass, True, name, "RUNNING", f"{tank} is full to its overflow")
            for name, tank, mass in self._overflows
            if state.positions[name] == "STILL"
        ]
        for rule, fact in self._loss_rules:
            if state.positions[rule.name] == ACTIVE and (rule.name, fact) not in state.met:
                mass = state.memory[rule.name].masses[fact.name] - fact.mass
                found.append(self._fact_watch(fact, mass, False, rule.name))
        if state.order is not None:
            found += [
                self._fact_watch(fact, state.order[fact.name], True, None)
                for fact in self.order_facts
                if (None, fact) not in state.met
            ]
        return found

    def _fact_watch(self, fact, mass, rising, rule):
        reason = f"{fact.name} holds {mass:.0f} kg"
        return Watch(self.index[fact.name], mass, rising, str(fact), "MET", reason, rule, fact)
