"""What happens at one instant of a flight: actions, failures, levels met, engines starved."""

import math

from fuelkit.aircraft import model
from fuelkit.aircraft.loading import distribution
from fuelkit.flight.automatics import Instant
from fuelkit.flight.failures import PRESENT, truth_of
from fuelkit.flight.movement import air_volume
from fuelkit.flight.state import PHASE, EndlessSwitchingError
from fuelkit.flight.suction import Suction
from fuelkit.physics.writing import mass_text


class Happenings:
    """Lets everything that is due at an instant happen, and settles what follows from it."""

    def __init__(self, run):
        self.run = run
        self.aircraft, self.sector = run.aircraft, run.sector
        self.hydraulics, self.watchman = run.hydraulics, run.watchman
        self.suction = Suction(run)
        self.failures = run.sector.failures
        self.fallible_sensors = tuple(
            f.part
            for f in self.failures
            if isinstance(self.aircraft.by_name.get(f.part), model.Sensor)
        )

    def begun(self, state):
        """Return the first state as the aircraft has stood for long, before anything is set.

        Rules that never come to rest leave it as it was.
        """
        run = self.run
        draft = Instant(
            self.aircraft, state, len(run.changes), run.quantities.names, self.failures, begins=True
        )
        for failure in self.failures:
            if failure.time == draft.time:
                self._fail(draft, failure)
        stance = run.stance_at(state.time)
        draft.recheck = lambda: self._recheck(draft, stance)
        try:
            draft.settle()
        except EndlessSwitchingError:
            return state
        run.changes += draft.changes
        return draft.state()

    def happen(self, state, due):
        """Return the state after everything that is due at its time, settled, and its movement."""
        run = self.run
        draft = Instant(self.aircraft, state, len(run.changes), run.quantities.names, self.failures)
        stance_before = run.stance_at(math.nextafter(state.time, -1.0)) if state.time else None
        self._scheduled(draft)
        for watch in due:
            self._met(draft, watch)
        stance = run.stance_at(state.time)
        if stance is not stance_before:
            self._tilted(draft, stance)
        draft.recheck = lambda: self._recheck(draft, stance)
        draft.settle()
        settled, movement = self._moving(draft)
        while self._starved(draft, settled, movement) or self._overflow_stops(draft, movement):
            draft.settle()
            settled, movement = self._moving(draft)
        run.changes += draft.changes
        return settled, movement

    def _moving(self, draft):
        """The state that a draft has become, and its movement: None if someone is unfed."""
        state = draft.state()
        draws = self.run.draws(state)
        unfed = any(
            drawer.start not in draws.reached and state.positions[drawer.name] in ("RUN", "OPEN")
            for drawer in (*self.aircraft.consumers, *self.aircraft.returns)
        )
        return state, None if unfed else self.run.movement(state, draws)

    # ------------------------------------------------------------------------- by the clock
    def _scheduled(self, draft):
        phase = self.sector.phase_at(draft.time)
        draft.change(PHASE, phase.name, f"the flight has come to the phase '{phase.name}'")
        for failure in self.failures:
            if failure.time == draft.time:
                self._fail(draft, failure)
        for action in self.sector.actions:
            if action.time == draft.time:
                for name, position in action.sets:
                    if not draft.is_stuck(name):
                        draft.change(name, position, "it was set by hand")
                if action.pressure is not None:
                    draft.coupling = action.pressure
                if action.order is not None:
                    self._place_order(draft, action.order)

    def _fail(self, draft, failure):
        draft.change(failure.name, PRESENT, "it failed at this moment")
        cause = [draft.latest[failure.name]]
        part = self.aircraft.by_name[failure.part]
        if failure.kind == "blocked":
            draft.trapped = {**draft.trapped, failure.part: self._trapped(draft, failure.part)}
        elif isinstance(part, model.Bus):
            draft.change(part.name, "DEAD", "it has failed", cause)
        elif failure.kind == "failed":
            draft.change(part.name, "FAIL", "it has failed", cause)
        elif isinstance(part, model.Switch | model.Sensor) and failure.state is not None:
            draft.change(part.name, failure.state, "it is stuck there", cause)
        elif isinstance(part, model.Line) and part.kind == "valve":
            draft.stick(part, failure.state, cause)

    def _trapped(self, draft, tank):
        index, count = self.run.quantities.index, self.run.quantities.count
        i = index[tank]
        density = self.hydraulics.fuel.density(float(draft.quantities[i - count]))
        volume = air_volume(self.aircraft.tanks[i], float(draft.quantities[i]) / density)
        return self.run.air_at(draft.time).pressure * volume

    def _place_order(self, draft, total):
        draft.order = distribution(self.aircraft, total, self.sector.density)
        draft.met = {(r, fact) for r, fact in draft.met if fact not in self.watchman.order_facts}

    # ---------------------------------------------------------------------------- by the fuel
    def _met(self, draft, watch):
        reason = watch.told(draft.quantities)
        if watch.after == "STARVED":
            consumer = self.aircraft.by_name[watch.name]
            movement = self.run.movement(draft.before, self.run.draws(draft.before))
            self._starve_by_suction(draft, consumer, movement)
        elif watch.fact is None:
            self._level_change(draft, watch.name, watch.after, reason)
        elif watch.after == "NOT MET":
            draft.met.discard((None, watch.fact))
            draft.note_fact(watch.name, "NOT MET", reason)
        else:
            draft.met.add((watch.rule, watch.fact))
            draft.note_fact(watch.name, "MET", reason)

    def _level_change(self, draft, name, after, reason, causes=()):
        if truth_of(name) in draft.positions:
            draft.change(truth_of(name), after, reason, causes)
            if draft.is_stuck(name):
                return
        draft.change(name, after, reason, causes)

    def _tilted(self, draft, stance):
        """At a new attitude the fuel stands elsewhere: what is wet and dry is looked at anew."""
        levels = self.watchman.level_states(stance, draft.quantities, draft.positions)
        cause = [draft.latest[PHASE]] if PHASE in draft.latest else []
        for point in stance.points:
            after = levels[point.name]
            goes = "covers" if after == "WET" else "has left"
            reason = (
                f"the aircraft is now {stance.in_words()} and the fuel in {point.tank} {goes} "
                f"{point.what}"
            )
            self._level_change(draft, point.name, after, reason, cause)

    def _recheck(self, draft, stance):
        """Look again at facts about measured and ordered quantities: gauges may have jumped."""
        state = draft.state()
        facts = self.watchman.facts_now(state, draft.quantities, stance)
        held = {(r, f) for r, f in draft.met if f in self.watchman.measure_facts}
        for key in sorted(facts - held, key=str):
            draft.met.add(key)
            draft.note_fact(str(key[1]), "MET", str(key[1]))
        for key in sorted(held - facts, key=str):
            draft.met.discard(key)
            draft.note_fact(str(key[1]), "NOT MET", f"no longer {key[1]}")
        for key in sorted(self.watchman.orders_now(state, draft.quantities), key=str):
            if key not in draft.met:
                draft.met.add(key)
                tank = self.run.quantities.index[key[1].name]
                reason = f"{key[1].name} holds {mass_text(float(draft.quantities[tank]))}"
                draft.note_fact(str(key[1]), "MET", reason)

    # ----------------------------------------------------------------------- who finds no fuel
    def _starved(self, draft, state, movement):
        """Stop the consumers and returns that no fuel reaches; return whether there were any."""
        if movement is not None:
            return self._sucked_dry(draft, state, movement)
        reached = self.hydraulics.reached(state)
        for drawer in (*self.aircraft.consumers, *self.aircraft.returns):
            if state.positions[drawer.name] in ("RUN", "OPEN") and drawer.start not in reached:
                causes = self._upstream_causes(draft)
                draft.starve(drawer, "no fuel reaches it", causes)
        return True

    def _upstream_causes(self, draft):
        """What has changed at this instant in the network: it cut the fuel off."""
        return [
            change.number
            for change in draft.changes
            if change.name in self.aircraft.by_name
            and isinstance(self.aircraft.by_name[change.name], model.Pump | model.Line)
            or change.name in self.hydraulics.plumbing.watched_ports
        ][-1:]

    def _sucked_dry(self, draft, state, movement):
        """Starve an engine at whose inlet fuel would turn to vapour, or is drawn too thin."""
        for consumer in self.aircraft.consumers:
            if state.positions[consumer.name] == "RUN":
                margin = self.suction.margin(consumer, movement)
                if margin is not None and margin < 0.0:
                    self._starve_by_suction(draft, consumer, movement)
                    return True
        return False

    def _starve_by_suction(self, draft, consumer, movement):
        reason = self.suction.told(consumer, movement)
        draft.starve(consumer, reason, self._suction_causes(draft, consumer))

    def _suction_causes(self, draft, consumer):
        """What lets the pressure at an inlet fall: a climb just now, pumps that give none."""
        part = self.hydraulics.parts[self.hydraulics.plumbing.part_of[consumer.start]]
        silent = [
            draft.latest[pump.name]
            for pump in self.aircraft.pumps
            if pump.end in part.junctions
            and draft.positions[pump.name] != "RUN"
            and pump.name in draft.latest
        ]
        climbed = [c.number for c in draft.changes if c.name == PHASE]
        return self._upstream_causes(draft) + silent + climbed

    def _overflow_stops(self, draft, movement):
        """Stop the first overflow into whose tank no more fuel comes than finds room."""
        running = [
            o for o in self.hydraulics.plumbing.overflow_order
            if draft.positions[o.name] == "RUNNING"
        ]  # fmt: skip
        for overflow in running:
            if movement.passed_on(overflow, draft.quantities) <= 0.0:
                draft.change(overflow.name, "STILL", f"nothing more runs into {overflow.start}")
                return True
        return False
