"""From a flight's state to the flows in its networks, and what is remembered of them.

Each part of the network is solved by itself, and remembered for as long as its flows cannot
depend on any fuel level.
"""

from dataclasses import dataclass, field

from fuelkit.aircraft import model
from fuelkit.flight.failures import PRESENT
from fuelkit.flight.network_parts import Plumbing
from fuelkit.flight.stance import Fuel, Point, Stance
from fuelkit.physics.lone_link import flow_through
from fuelkit.physics.network import solve, supply_shares
from fuelkit.physics.units import STANDARD_GRAVITY

_DRIP = 1e-7  # kg/s; a flow below it is none: a gram in three hours


@dataclass(frozen=True)
class Flow:
    """A solved part of the network. Frozen.

    steady : bool
        Whether the flows stay as they are while levels move.
    """

    flows: dict
    pressures: dict
    steady: bool
    solution: object = field(default=None, repr=False)


@dataclass(frozen=True)
class Setting:
    """Everything that the flows of a part depend on, but for levels and trapped air. Frozen.

    part : int
        Place among the parts.
    shut, covered : frozenset of str
        Links that pass nothing; ports below the surface.
    demands : tuple of (str, float)
        Junctions and what is drawn there. [kg/s]
    altered : tuple of (str, str)
        Links that are HALF OPEN, let fuel BOTH WAYS, or only INTO THE TANK.
    coupling : float
        Pressure at the refuelling coupling. [Pa]
    stance : tuple
        The attitude.
    """

    part: int
    shut: frozenset
    covered: frozenset
    demands: tuple
    altered: tuple
    coupling: float
    stance: tuple


@dataclass(frozen=True)
class Heads:
    """What drives fuel out of the tanks at one moment. Frozen.

    levels : sequence of float
        Height of the surface in each tank. [m]
    air : dict of str to float
        Pressure of the air in a tank whose vent is blocked, against outside. [Pa]
    """

    levels: tuple
    air: dict = field(default_factory=dict)


class Hydraulics:
    """The networks of an aircraft filled with one fuel, and with some failures to come.

    Remembers flows that it has solved; what it returns depends only on what it is asked.
    """

    def __init__(self, aircraft, density_15, loaded_density, failures=()):
        self.aircraft = aircraft
        self.plumbing = Plumbing(aircraft)
        self.fuel = Fuel(density_15)
        self.weight = loaded_density * STANDARD_GRAVITY  # of the fuel that stands in the lines
        self.failures = failures
        self.parts = self.plumbing.parts
        self._memory, self._stances, self._altered = {}, {}, {}
        self._stuck = {f.part: f for f in failures if f.kind == "stuck"}
        self._leaks = tuple(f for f in failures if f.kind == "leaking")
        self.points = self._points()

    def _points(self):
        found = [Point(s.name, s.tank, s.position, "the sensor") for s in self.aircraft.sensors]
        found += [Point(v.name, v.tank, v.position, "the vent") for v in self.aircraft.vents]
        found += [
            Point(port.name, port.tank, port.position, "the opening")
            for port in self.plumbing.watched_ports.values()
        ]
        for leak in self._leaks:
            tank = self.aircraft.by_name[leak.part]
            if isinstance(tank, model.Tank):
                found.append(Point(leak.hole_name, tank.name, _hole(leak, tank), "the hole"))
        return tuple(found)

    def stance(self, pitch, roll):
        """Return the aircraft at an attitude [rad]."""
        key = (pitch, roll)
        if key not in self._stances:
            self._stances[key] = Stance(self.aircraft, self.points, pitch, roll)
        return self._stances[key]

    # ------------------------------------------------------------------------ what is asked
    def settings(self, state, draws, stance):
        """Return what is open, covered and drawn in each part: all but levels and trapped air.

        `draws` gives what is drawn at each junction [kg/s].
        """
        positions, found = state.positions, []
        for number, part in enumerate(self.parts):
            shut = frozenset(
                link.name for link in part.network.links if not self._passes(link, state)
            )
            covered = frozenset(n for n in part.ports if positions.get(n) != "DRY")
            demands = tuple((n, q) for n, q in draws.items() if n in part.junctions)
            coupled = self.aircraft.coupling in part.network.sources
            found.append(
                Setting(
                    number, shut, covered, demands, self._alterations(part, positions),
                    state.coupling if coupled else 0.0, stance.key,
                )
            )  # fmt: skip
        return found

    def _passes(self, link, state):
        name, positions = link.name, state.positions
        if positions.get(f"{name} inlet") == "DRY":
            return False
        part = self.aircraft.by_name[name]
        if isinstance(part, model.Pump):
            return positions[name] == "RUN"
        if part.kind != "valve":
            return self._stuck_now(name, positions) != "SHUT"
        passing = positions[name]
        if passing == "MOVING":
            passing = state.travels[name].before
        return passing in ("OPEN", "HALF OPEN")

    def _stuck_now(self, name, positions):
        failure = self._stuck.get(name)
        present = failure is not None and positions[failure.name] == PRESENT
        return failure.state if present else None

    def _alterations(self, part, positions):
        found = []
        for link in part.network.links:
            if positions.get(link.name) == "HALF OPEN":
                found.append((link.name, "HALF OPEN"))
            elif link.one_way and link.name not in positions and link.name in self._stuck:
                stuck_open = self._stuck_now(link.name, positions) == "OPEN"
                found += [(link.name, "BOTH WAYS")] if stuck_open else []
            bare = positions.get(f"{link.name} outlet") == "DRY"
            if bare and (not link.one_way or (link.name, "BOTH WAYS") in found):
                found.append((link.name, "INTO THE TANK"))
        return tuple(found)

    def network(self, setting):
        """Return the network of a part as it is in a setting."""
        if not setting.altered:
            return self.parts[setting.part].network
        key = (setting.part, setting.altered)
        if key not in self._altered:
            self._altered[key] = self.parts[setting.part].altered(setting.altered)
        return self._altered[key]

    def flow(self, setting, heads, guess=None):
        """Return the flow of one part, from memory where its flows do not depend on the levels.

        The pressures remembered are those of the levels at which it was first solved. `heads`
        may be a function that finds them; it is called only if they are needed. `guess` is a flow
        of the same part a little earlier, from which it is found more quickly.
        """
        flow = self._memory.get(setting)
        if flow is None:
            flow = self.flow_afresh(setting, heads() if callable(heads) else heads, guess)
            if flow.steady:
                self._memory[setting] = flow
        return flow

    def flow_afresh(self, setting, heads, guess=None):
        """Return the flow of one part, solved at these levels: its pressures follow them too."""
        part, shut, network = self.parts[setting.part], setting.shut, self.network(setting)
        potentials = self._potentials(part, heads, setting)
        if part.between_tanks:
            (link,) = network.links
            shut_off = link.name in shut
            flow = 0.0 if shut_off else self._between(link, potentials, heads, setting)
            return Flow({link.name: flow if abs(flow) > _DRIP else 0.0}, {}, shut_off)
        earlier = None if guess is None else guess.solution
        solution = solve(network, potentials, dict(setting.demands), shut=shut, guess=earlier)
        flows = {n: (q if abs(q) > _DRIP else 0.0) for n, q in solution.flows.items()}
        steady = not (part.tanks & heads.air.keys()) and self._is_steady(network, setting, solution)
        return Flow(flows, solution.pressures, steady, solution)

    def _between(self, link, potentials, heads, setting):
        """Flow through a line between tanks; it ends as the opening it is drawn through is bared.

        No more drives it than what stands over that opening, so that the flow ends without a jump.
        """
        drive = potentials[link.start] - potentials[link.end] + link.rise - link.opening
        port = self.plumbing.ports[link.start if drive > 0.0 else link.end]
        opening = self.stance(*setting.stance).opening_height(port.tank, port.position)
        covered = heads.levels[self.plumbing.tank_index[port.tank]] - opening
        limit = self.weight * max(covered, 0.0)
        drive = min(max(drive, -limit), limit)
        return flow_through(link, drive - link.rise + link.opening, 0.0)

    def _potentials(self, part, heads, setting):
        stance, potentials = self.stance(*setting.stance), {}
        for name in part.network.sources:
            if name in self.plumbing.ports:
                port = self.plumbing.ports[name]
                opening = stance.opening_height(port.tank, port.position)
                level = max(heads.levels[self.plumbing.tank_index[port.tank]], opening)
                potentials[name] = self.weight * level + heads.air.get(port.tank, 0.0)
            elif name in self.plumbing.outlets:
                potentials[name] = self.weight * stance.height(self.plumbing.outlets[name].position)
            else:
                potentials[name] = setting.coupling
        return potentials

    # ------------------------------------------------------------- what does not follow levels
    def _is_steady(self, network, setting, solution):
        """Whether the flows and every closed valve stay as they are, wherever the levels go.

        Flows depend on levels where open links join two tanks, or a tank and a place whose
        pressure is given. A closed one-way link could open only if the levels on its two sides
        moved by more than its margin.
        """
        islands = _islands(network, solution.passing)
        return all(
            len(self._tanks_in(island, setting)) + self._has_fixed(island, network, setting) < 2
            for island in islands
        ) and all(
            self._stays_closed(link, islands, setting, solution.pressures)
            for link in network.links
            if link.name not in setting.shut and link.name not in solution.passing
        )

    def _tanks_in(self, nodes, setting):
        return {self.plumbing.ports[n].tank for n in nodes & setting.covered}

    def _has_fixed(self, island, network, setting):
        return any(n in island and n not in setting.covered for n in network.sources)

    def _stays_closed(self, link, islands, setting, pressures):
        sides = [{node} for node in (link.start, link.end)]
        sides += [island for island in islands if link.start in island or link.end in island]
        tanks = {name for side in sides for name in self._tanks_in(side, setting)}
        swing = sum(self._swing(name, setting.stance) for name in tanks)
        margin = link.opening - (pressures[link.start] - pressures[link.end])
        return not margin <= swing  # nan, a trapped section, stays closed

    def _swing(self, tank, key):
        heights = self.stance(*key).tables[self.plumbing.tank_index[tank]].heights
        return self.weight * float(heights[-1] - heights[0])

    # ------------------------------------------------------------------------- who is reached
    def reached(self, state):
        """Return the junctions that fuel can get to from a tank with fuel, or from the coupling.

        By open links alone; whether the pressure suffices is another matter. A hose hangs at the
        coupling only while a motor valve of its part of the network is open.
        """
        reached = set()
        for part in self.parts:
            if not part.junctions:
                continue
            altered = set(self._alterations(part, state.positions))
            links = [x for x in part.network.links if self._passes(x, state)]
            found = set(part.network.sources) - set(self.plumbing.outlets)
            if not any(self.aircraft.by_name[x.name].kind == "valve" for x in links):
                found.discard(self.aircraft.coupling)  # nobody refuels: no hose hangs there
            ways = [(x.start, x.end) for x in links]
            ways += [
                (x.end, x.start)
                for x in links
                if (not x.one_way or (x.name, "BOTH WAYS") in altered)
                and (x.name, "INTO THE TANK") not in altered
            ]
            before = 0
            while len(found) > before:
                before = len(found)
                found.update(end for start, end in ways if start in found)
            reached |= found & part.junctions
        return reached

    def active_leaks(self, state, reached):
        """Return the leaks that run now: their hole is covered, or their line is fed."""
        return [
            leak
            for leak in self._leaks
            if state.positions[leak.name] == PRESENT
            and (
                state.positions[leak.hole_name] == "WET"
                if leak.hole_name in state.positions
                else leak_junction(leak, self.aircraft) in reached
            )
        ]

    def shares(self, settings, flows):
        """Return for every junction the share of its fuel that comes from each tank [-]."""
        found = {}
        for setting, flow in zip(settings, flows, strict=True):
            network = self.network(setting)
            for node, by_port in supply_shares(network, flow.flows).items():
                tanks = {}
                for port, share in by_port.items():
                    ports = self.plumbing.ports
                    tank = ports[port].tank if port in ports else port
                    tanks[tank] = tanks.get(tank, 0.0) + share
                found[node] = tanks
        return found


def leak_junction(leak, aircraft):
    """Return the junction at which a line or an engine leaks."""
    part = aircraft.by_name[leak.part]
    return part.start if isinstance(part, model.Consumer) else part.name


def _hole(leak, tank):
    if leak.hole is not None:
        return leak.hole
    lowest = min((corner for rib in tank.ribs for corner in rib.corners), key=lambda c: c[2])
    return (lowest[0], lowest[1], lowest[2] + 0.005)


def _islands(network, passing):
    """Sets of nodes that open links join."""
    islands = []
    for link in network.links:
        if link.name in passing:
            nodes = {link.start, link.end}
            touching = [i for i in islands if i & nodes]
            islands = [i for i in islands if not i & nodes] + [nodes.union(*touching)]
    return islands
