"""What is watched for: sensors, inlets, overflows, orders, measured quantities at a value."""

from dataclasses import dataclass

from fuelkit.aircraft.conditions import ALL_TANKS, LossFact, MeasureFact, OrderFact
from fuelkit.flight.balance import centre_of_gravity, lateral_imbalance
from fuelkit.flight.failures import shown_mass, truth_of
from fuelkit.flight.state import ACTIVE
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text

# How far a measured quantity must go back before a fact about it is false again: what a gauge
# tells apart. Otherwise a rule that acts on the quantity itself would switch without end.
_PLAY = {"mass": 10.0, "temperature": 0.5, "balance": 0.05, "imbalance": 10.0}


@dataclass(frozen=True)
class Watch:
    """Something that changes when a gap closes. Frozen.

    gap : callable
        From the quantities, how far it is from happening; 0 or less once it has.
    name, after : str
        What changes, and to what.
    reason : str
        Why, with {mass} where the fuel in the tank is to be told.
    tank : int or None
        Place of the tank it is about.
    rule : str or None
        For a fact about what has gone from a tank, the rule that asks.
    fact : object
        The fact, or None for a component.
    volume, falls : float, bool
        For a level, the volume in the tank [m³], and whether it is met from above.
    """

    gap: object
    name: str
    after: str
    reason: str
    tank: int | None = None
    rule: str | None = None
    fact: object = None
    volume: float = 0.0
    falls: bool = False

    def told(self, quantities):
        """Return the reason, with the mass at which it happened."""
        mass = "" if self.tank is None else mass_text(quantities[self.tank])
        return self.reason.format(mass=mass)


class Watchman:
    """Lists what is to be watched in a state, and tells what holds at once."""

    def __init__(self, aircraft, hydraulics, quantities, sector):
        self.aircraft, self.hydraulics, self.sector = aircraft, hydraulics, sector
        self.index, self.count = quantities.index, quantities.count
        self.fuel = hydraulics.fuel
        self._kept = {}
        self._latest_centre = None, None, 0.0
        self._gauge_faults = tuple(f for f in sector.failures if f.kind == "misreading")
        facts = [
            (rule, fact)
            for rule in aircraft.rules
            for fact in rule.condition.facts + (rule.until.facts if rule.until else ())
        ]
        self._loss_rules = tuple((r, f) for r, f in facts if isinstance(f, LossFact))
        facts = [fact for _, fact in facts]
        facts += [fact for alert in aircraft.alerts for fact in alert.condition.facts]
        facts += [fact for counter in aircraft.counters for fact in counter.zero_when.facts]
        self.order_facts = tuple(dict.fromkeys(f for f in facts if isinstance(f, OrderFact)))
        self.measure_facts = tuple(dict.fromkeys(f for f in facts if isinstance(f, MeasureFact)))
        self._thermometers = {s.tank: s.name for s in aircraft.sensors if s.kind == "temperature"}

    # -------------------------------------------------------------------------- level states
    def level_states(self, stance, quantities, positions=None):
        """Return WET or DRY for every sensor and opening; one that was DRY has its play."""
        found = {}
        for point in stance.points:
            dry, wet = stance.thresholds[point.name]
            was_dry = positions is not None and positions[self._shown(point, positions)] == "DRY"
            volume = self._volume(self.index[point.tank], quantities)
            is_dry = volume < wet if was_dry else volume <= dry
            found[point.name] = "DRY" if is_dry else "WET"
        return found

    def _shown(self, point, positions):
        truth = truth_of(point.name)
        return truth if truth in positions else point.name

    def _volume(self, tank, quantities):
        return quantities[tank] / self.fuel.density(float(quantities[tank - self.count]))

    # --------------------------------------------------------------------------- measurements
    def measured(self, fact, quantities, state, stance):
        """Return the quantity that a fact is about, as it is shown; nan if it is not shown."""
        if fact.measure == "mass":
            names = [t.name for t in self.aircraft.tanks] if fact.name == ALL_TANKS else [fact.name]
            return sum(self.shown_mass(name, quantities, state.positions) for name in names)
        if fact.measure == "temperature":
            sensor = self._thermometers.get(fact.name)
            if sensor is not None and state.positions[sensor] == "DRY":
                return float("nan")
            return float(quantities[self.index[fact.name] - self.count]) - ZERO_CELSIUS
        if fact.measure == "imbalance":
            return abs(lateral_imbalance(self.aircraft, quantities))
        return self._centre_of_gravity(quantities, stance)

    def _centre_of_gravity(self, quantities, stance):
        """The centre of gravity [%], found once for all facts that ask at the same moment."""
        of, at, centre = self._latest_centre
        if of is not quantities or at is not stance:
            zero_fuel = self.sector.zero_fuel or self.aircraft.masses.zero_fuel
            centre = centre_of_gravity(self.aircraft, self.fuel, stance, quantities, zero_fuel)
            self._latest_centre = quantities, stance, centre
        return centre

    def shown_mass(self, tank, quantities, positions):
        """Return the mass in a tank as its gauge shows it on level ground [kg]."""
        mass = float(quantities[self.index[tank]])
        return shown_mass(mass, tank, self._gauge_faults, positions)

    def facts_now(self, state, quantities, stance):
        """Return the facts about measured quantities that hold in a state."""
        found = set()
        for fact in self.measure_facts:
            play = _PLAY[fact.measure] if (None, fact) in state.met else 0.0
            if self._beyond(fact, quantities, state, stance) > -play:
                found.add((None, fact))
        return found

    def _beyond(self, fact, quantities, state, stance):
        value = self.measured(fact, quantities, state, stance)
        return value - fact.value if fact.above else fact.value - value

    def orders_now(self, state, quantities):
        """Return the facts about ordered quantities that hold in a state."""
        return {
            (None, fact)
            for fact in self.order_facts
            if state.order is not None
            and self.shown_mass(fact.name, quantities, state.positions) >= state.order[fact.name]
        }

    # ------------------------------------------------------------------------------- watches
    def watches(self, state, stance):
        """Return every watch that matters in a state."""
        found = [self._level_watch(point, state, stance) for point in stance.points]
        found += [
            self._brim_watch(o) for o in self.aircraft.overflows
            if state.positions[o.name] == "STILL"
        ]  # fmt: skip
        for rule, fact in self._loss_rules:
            if state.positions[rule.name] == ACTIVE and (rule.name, fact) not in state.met:
                found.append(self._loss_watch(rule, fact, state))
        if state.order is not None:
            found += [
                self._order_watch(fact, state)
                for fact in self.order_facts
                if (None, fact) not in state.met
            ]
        return found + [self._measure_watch(fact, state, stance) for fact in self.measure_facts]

    def _level_watch(self, point, state, stance):
        now = state.positions[self._shown(point, state.positions)]
        key = (point.name, now, stance.key)
        if key not in self._kept:
            self._kept[key] = self._made_level_watch(point, now, stance)
        return self._kept[key]

    def _made_level_watch(self, point, now, stance):
        dry, wet = stance.thresholds[point.name]
        tank = self.index[point.tank]
        if now == "WET":
            reason = f"the fuel in {point.tank} has fallen to {point.what}, at {{mass}}"
            return Watch(
                self._falls_to(tank, dry), point.name, "DRY", reason, tank, volume=dry, falls=True
            )
        reason = f"the fuel in {point.tank} has risen over {point.what}, at {{mass}}"
        return Watch(self._rises_to(tank, wet), point.name, "WET", reason, tank, volume=wet)

    def _falls_to(self, tank, volume):
        density, temperature = self.fuel.density, tank - self.count
        return lambda q: float(q[tank]) - volume * density(float(q[temperature]))

    def _rises_to(self, tank, volume):
        density, temperature = self.fuel.density, tank - self.count
        return lambda q: volume * density(float(q[temperature])) - float(q[tank])

    def _brim_watch(self, overflow):
        tank = self.index[overflow.start]
        brim = self.aircraft.tanks[tank].highest_volume
        reason = f"{overflow.start} is full to its overflow"
        return Watch(
            self._rises_to(tank, brim), overflow.name, "RUNNING", reason, tank, volume=brim
        )

    def _loss_watch(self, rule, fact, state):
        tank = self.index[fact.name]
        mass = state.memory[rule.name].masses[fact.name] - fact.mass
        reason = f"{fact.name} holds {mass_text(mass)}"
        return Watch(
            lambda q: float(q[tank]) - mass, str(fact), "MET", reason, tank, rule.name, fact
        )

    def _order_watch(self, fact, state):
        def gap(quantities):
            return state.order[fact.name] - self.shown_mass(fact.name, quantities, state.positions)

        tank = self.index[fact.name]
        return Watch(gap, str(fact), "MET", f"{fact.name} holds {{mass}}", tank, None, fact)

    def _measure_watch(self, fact, state, stance):
        held = (None, fact) in state.met
        play = _PLAY[fact.measure]

        def gap(quantities):
            beyond = self._beyond(fact, quantities, state, stance)
            return beyond + play if held else -beyond

        if fact.measure == "imbalance" and fact.above == held:
            gap = self._evening_out(state, fact.value - play * held)
        reason = str(fact) if not held else f"no longer {fact}"
        return Watch(gap, str(fact), "NOT MET" if held else "MET", reason, None, None, fact)

    def _evening_out(self, state, value):
        """How far the wings are from a smaller imbalance, counted from the heavier side.

        Without a kink where they are level, so that a step right across it is not missed.
        """
        heavier = 1.0 if lateral_imbalance(self.aircraft, state.quantities) > 0.0 else -1.0
        return lambda q: heavier * lateral_imbalance(self.aircraft, q) - value
