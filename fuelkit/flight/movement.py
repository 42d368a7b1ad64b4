"""How every quantity of a flight moves at one moment: masses by flows, temperatures by heat.

A movement is made for a state between two events; it is then a function of the quantities alone.
"""

import numpy as np

from fuelkit.aircraft import model
from fuelkit.flight.hydraulics import Heads, leak_junction


class Quantities:
    """Names and places of the quantities of a state: tanks first, their temperatures last."""

    def __init__(self, aircraft):
        self.tanks = tuple(tank.name for tank in aircraft.tanks)
        burned = tuple(f"burned by {c.name}" for c in aircraft.consumers)
        self.masses = (*self.tanks, *burned, "delivered", model.OVERBOARD)
        self.names = (*self.masses, *(f"temperature of {name}" for name in self.tanks))
        self.index = {name: i for i, name in enumerate(self.names)}
        self.count = len(self.tanks)


class Air:
    """The air around an aircraft in a phase, and what is trapped in tanks with blocked vents."""

    def __init__(self, sector, phase, aircraft):
        self.temperature = sector.air_temperature(phase)
        self.pressure = sector.air_pressure(phase)
        self.aircraft = aircraft

    def in_tanks(self, trapped, volumes):
        """Return the pressure of trapped air against outside, between what opens a vent [Pa]."""
        venting, found = self.aircraft.venting, {}
        for i, tank in enumerate(self.aircraft.tanks):
            if tank.name in trapped:
                inside = trapped[tank.name] / air_volume(tank, volumes[i])
                found[tank.name] = min(max(inside - self.pressure, venting.lowest), venting.highest)
        return found


def air_volume(tank, fuel_volume):
    """Return the volume of the air in a tank [m³]; never less than a trace."""
    return max(tank.levels.capacity - fuel_volume, 1e-3 * tank.levels.capacity)


class Inflows:
    """What comes into each tank, and how warm it is.

    from_tanks : ndarray, shape (n, n)
        Flow into each tank (row) from each other one (column). [kg/s]
    gain, heat : ndarray, shape (n,)
        All that comes in [kg/s]; flow times temperature of what comes from outside [kg·K/s].
    """

    def __init__(self, count):
        self.from_tanks = np.zeros((count, count))
        self.gain, self.heat = np.zeros(count), np.zeros(count)

    def copy(self):
        """Return a copy that can be added to."""
        found = Inflows(0)
        found.from_tanks = self.from_tanks.copy()
        found.gain, found.heat = self.gain.copy(), self.heat.copy()
        return found

    def from_tank(self, end, start, flow):
        """Add a flow from one tank to another."""
        self.from_tanks[end, start] += flow
        self.gain[end] += flow

    def from_outside(self, end, flow, temperature):
        """Add a flow whose temperature is given."""
        self.gain[end] += flow
        self.heat[end] += flow * temperature

    def warming(self, temperatures):
        """Return by how much mixing warms each tank, times its mass [kg·K/s]."""
        return self.from_tanks @ temperatures + self.heat - self.gain * temperatures


class Movement:
    """Rates of change of every quantity in one discrete state.

    Flows that do not depend on the levels are solved once, at the start.
    """

    def __init__(self, hydraulics, quantities, state, draws, burns, stance, air, *, loaded):
        self.hydraulics, self.quantities, self.state = hydraulics, quantities, state
        self.stance, self.air, self.loaded = stance, air, loaded
        self.draws, self.burns, self._kept_heads = draws, burns, None
        aircraft = hydraulics.aircraft
        tanks, count = aircraft.tanks, quantities.count
        self._structure = aircraft.warming.structure
        full = np.array([tank.levels.capacity for tank in tanks]) * hydraulics.fuel.density_15
        self._slowness = (aircraft.warming.full - aircraft.warming.empty) / full
        self._quickest = aircraft.warming.empty
        self._rates = np.zeros(len(quantities.names))
        self._inflows = Inflows(count)
        self._given()
        self.settings = hydraulics.settings(state, draws, stance)
        self.flows = [hydraulics.flow(setting, self.first_heads) for setting in self.settings]
        self.moving, self._latest = [], {}
        for setting, flow in zip(self.settings, self.flows, strict=True):
            if flow.steady:
                self._add(setting, flow, self._rates, self._inflows)
            else:
                self.moving.append(setting)
                self._latest[setting.part] = flow
        self._running = [
            o for o in hydraulics.plumbing.overflow_order
            if state.positions[o.name] == "RUNNING"
        ]  # fmt: skip
        self._wanted = (
            frozenset().union(*(hydraulics.parts[s.part].tanks for s in self.moving))
            | state.trapped.keys()
        )

    def _given(self):
        """What no pressure decides: burns, returns, leaks, filling by hand."""
        index, rates, positions = self.quantities.index, self._rates, self.state.positions
        for name, burn in self.burns.items():
            rates[index[f"burned by {name}"]] = burn
        for back in self.hydraulics.aircraft.returns:
            if positions[back.name] == "OPEN":
                self._bring(index[back.end], back.flow, back.temperature)
        for filler in self.hydraulics.aircraft.fillers:
            if positions[filler.name] == "OPEN":
                self._bring(index[filler.end], filler.flow, self.loaded)
                rates[index["delivered"]] += filler.flow
        for leak in self.hydraulics.active_leaks(self.state, self.draws.reached):
            rates[index[model.OVERBOARD]] += leak.leak
            if leak.hole_name in positions:
                rates[index[leak.part]] -= leak.leak

    def _bring(self, tank, flow, temperature):
        self._rates[tank] += flow
        self._inflows.from_outside(tank, flow, temperature)

    def first_heads(self):
        """Return what drives fuel out of the tanks at the start."""
        if self._kept_heads is None:
            self._kept_heads = self.heads(self.state.quantities)
        return self._kept_heads

    def heads(self, quantities, *, only=None):
        """Return what drives fuel out of the tanks [m], [Pa]; with `only`, out of these."""
        count, density = self.quantities.count, self.hydraulics.fuel.density
        values, tables = quantities.tolist(), self.stance.tables
        volumes, levels = [0.0] * count, [0.0] * count
        for i, tank in enumerate(self.quantities.tanks):
            if only is None or tank in only:
                # a density of 0 only where a trial step went far astray
                volumes[i] = values[i] / (density(values[i - count]) or 1.0)
                levels[i] = tables[i].level_of(volumes[i])
        trapped = self.state.trapped
        return Heads(tuple(levels), self.air.in_tanks(trapped, volumes) if trapped else {})

    def _add(self, setting, flow, rates, inflows):
        """Add what a part's links take from tanks and bring to them."""
        plumbing, index = self.hydraulics.plumbing, self.quantities.index
        ports, brought, givers = plumbing.ports, [], set()
        for link in self.hydraulics.parts[setting.part].network.links:
            q = flow.flows[link.name]
            if not q:
                continue
            for node, gain, origin in ((link.start, -q, link.end), (link.end, q, link.start)):
                if node in ports:
                    tank = index[ports[node].tank]
                    rates[tank] += gain
                    if gain > 0.0:
                        brought.append((tank, gain, origin))
                    else:
                        givers.add(ports[node].tank)
                elif node in plumbing.outlets:
                    rates[index[model.OVERBOARD]] += gain
                elif node == self.hydraulics.aircraft.coupling:
                    rates[index["delivered"]] -= gain
                    givers.add(node)
            if q > 0.0 and link.name in plumbing.jet_pumps:
                self._suck(plumbing.jet_pumps[link.name], q, rates, inflows)
        if brought:
            self._mix(setting, flow, brought, givers, inflows)

    def _suck(self, jet, motive, rates, inflows):
        """What a jet pump moves besides its motive fuel, while its suction is covered."""
        if self.state.positions[f"{jet.name} suction"] == "DRY":
            return
        index = self.quantities.index
        start, end, moved = index[jet.suction], index[jet.end], jet.flow_ratio * motive
        rates[start] -= moved
        rates[end] += moved
        inflows.from_tank(end, start, moved)

    def _mix(self, setting, flow, brought, givers, inflows):
        """Where the fuel that comes into a tank has been before: it brings its temperature."""
        ports, index = self.hydraulics.plumbing.ports, self.quantities.index
        lone = {giver: 1.0 for giver in givers} if len(givers) == 1 else None
        shares = None
        for tank, gain, origin in brought:
            if origin in ports:
                inflows.from_tank(tank, index[ports[origin].tank], gain)
                continue
            if lone is None and shares is None:
                shares = self.hydraulics.shares([setting], [flow])
            for source, share in (lone or shares.get(origin, {origin: 1.0})).items():
                if source in index:
                    inflows.from_tank(tank, index[source], gain * share)
                else:
                    inflows.from_outside(tank, gain * share, self.loaded)

    def __call__(self, quantities):
        """Return the rate of change of every quantity [kg/s], [K/s]."""
        return self.rates(quantities, self._running)

    def rates(self, quantities, running, over=None):
        """Return the rates while these overflows run; `over` takes what each passes on."""
        count = self.quantities.count
        masses, temperatures = quantities[:count], quantities[-count:]
        rates, inflows = self._rates.copy(), self._inflows
        if self.moving:
            inflows = inflows.copy()
            heads = self.heads(quantities, only=self._wanted)
            for setting in self.moving:
                flow = self.hydraulics.flow(setting, heads, self._latest[setting.part])
                self._latest[setting.part] = flow
                self._add(setting, flow, rates, inflows)
        warming = inflows.warming(temperatures) / (masses + self._structure)
        warming += (self.air.temperature - temperatures) / (
            self._quickest + self._slowness * masses
        )
        rates[-count:] = warming
        for overflow in running:
            passed = self._run_over(overflow, masses, temperatures, rates)
            if over is not None:
                over[overflow.name] = passed
        return rates

    def passed_on(self, overflow, quantities):
        """Return what an overflow passes on; below 0 if its tank has room for more [kg/s]."""
        over = {}
        self.rates(quantities, self._running, over)
        return over[overflow.name]

    def _run_over(self, overflow, masses, temperatures, rates):
        """Pass on what does not find room in a full tank; a full tank that warms swells."""
        index, count = self.quantities.index, self.quantities.count
        start, end = index[overflow.start], index[overflow.end]
        tank = self.hydraulics.aircraft.tanks[start]
        slope = self.hydraulics.fuel.density_slope(float(temperatures[start]))
        room = tank.highest_volume * slope * float(rates[start - count])
        over = rates[start] - room
        rates[start] = room
        rates[end] += over
        if end < count and over > 0.0:
            gap = float(temperatures[start] - temperatures[end])
            rates[end - count] += over * gap / (masses[end] + self._structure)
        return over


class Draws(dict):
    """What is drawn at each junction [kg/s], and the junctions that fuel can get to."""

    def __init__(self, hydraulics, state, burns):
        super().__init__()
        self.reached = hydraulics.reached(state)
        aircraft = hydraulics.aircraft
        for consumer in aircraft.consumers:
            self._draw(consumer.start, burns.get(consumer.name, 0.0))
        for back in aircraft.returns:
            self._draw(back.start, back.flow * (state.positions[back.name] == "OPEN"))
        for leak in hydraulics.active_leaks(state, self.reached):
            if leak.hole_name not in state.positions:
                self._draw(leak_junction(leak, aircraft), leak.leak)

    def _draw(self, junction, flow):
        if flow:
            self[junction] = self.get(junction, 0.0) + flow


def burns_of(aircraft, sector, state):
    """Return what each consumer that runs burns in a state [kg/s]."""
    phase = sector.phase_at(state.time)
    return {
        c.name: phase.burn * sector.burn_factor.get(c.name, 1.0) if c.burn is None else c.burn
        for c in aircraft.consumers
        if state.positions[c.name] == "RUN"
    }
