"""What the reference holds of fuel, air and tanks: density, levels, heat, all flows of a moment.

From the kit come only the aircraft record, the sector record, each tank's level and moment
tables, and the smooth density; air, vapour, mixing and warming are written here anew.
"""

import math
from functools import lru_cache

import numpy as np

from fuelkit.physics.fuel import smooth_density
from fuelkit.physics.moments import moment_table
from fuelkit.physics.solid import level_table
from tests.flight.reference_network import ReferenceNetwork

NOTHING = 1e-9  # kg/s; carries no heat
CLEARANCE, TRACE = 1e-3, 1e-6  # m over the lowest point; of a tank's volume


def still_air(altitude):
    """Return temperature [K] and pressure [Pa] of the standard atmosphere, up to 20 km.

    ISO 2533:1975, troposphere and lower stratosphere (from memory).
    """
    gravity, gas = 9.80665, 287.05287
    if altitude <= 11_000.0:
        warm = 288.15 - 0.0065 * altitude
        return warm, 101_325.0 * (warm / 288.15) ** (gravity / (0.0065 * gas))
    top = 101_325.0 * (216.65 / 288.15) ** (gravity / (0.0065 * gas))
    return 216.65, top * math.exp(-gravity * (altitude - 11_000.0) / (gas * 216.65))


def vapour(temperature):
    """Return the vapour pressure of jet kerosene [Pa] (US EPA, AP-42, table 7.1-2)."""
    return 6894.757293168361 * math.exp(12.390 - 8933.0 / (1.8 * temperature))


@lru_cache(maxsize=4096)
def tables(tank, pitch, roll):
    """Return the level and the moment table of a tank, and the direction of up."""
    up = (-math.sin(pitch), -math.sin(roll) * math.cos(pitch), math.cos(roll) * math.cos(pitch))
    return level_table(tank.solid, up), moment_table(tank.solid, up), up


class ReferenceFuel:
    """The fuel of one flight: `look(memory, phase)` gives its rates in one discrete state."""

    def __init__(self, aircraft, sector):
        self.aircraft, self.sector = aircraft, sector
        self.tanks = [tank.name for tank in aircraft.tanks]
        self.index = {name: i for i, name in enumerate(self.tanks)}
        self.n = len(self.tanks)
        self.consumers = [c.name for c in aircraft.consumers]
        # masses, burned, delivered, overboard, temperatures
        self.delivered = self.n + len(self.consumers)
        self.overboard = self.delivered + 1
        self.warm = self.overboard + 1
        self.size = self.warm + self.n
        self.loaded = smooth_density(sector.density_15, sector.temperature)
        self.network = ReferenceNetwork(aircraft, self.loaded)
        # smooth_density, written out: it is asked many million times
        a = math.log(smooth_density(sector.density_15, 288.15 + 50.0) / sector.density_15)
        x = (-1.0 + math.sqrt(1.0 - 3.2 * a)) / 1.6
        self.swelling = x / 50.0
        self.full = [t.levels.capacity for t in aircraft.tanks]
        self.brim = [t.levels.capacity * (1.0 - t.expansion_space) for t in aircraft.tanks]

    def density(self, temperature):
        """Return the density at a temperature [kg/m³]."""
        x = self.swelling * (temperature - 288.15)
        return self.sector.density_15 * math.exp(-x - 0.8 * x * x)

    def density_slope(self, temperature):
        """Return the change of density with temperature, by the law's own derivative."""
        x = self.swelling * (temperature - 288.15)
        return -self.density(temperature) * self.swelling * (1.0 + 1.6 * x)

    def volume(self, i, y):
        """Return the volume of the fuel in a tank [m³]."""
        return float(y[i]) / self.density(float(y[self.warm + i]))

    # -------------------------------------------------------------------------------- attitude
    def points(self, holes):
        """Return what is wet or dry: {name: (tank, position)}."""
        a, found = self.aircraft, {}
        for s in (*a.sensors, *a.vents):
            found[s.name] = s.tank, s.position
        for p in a.pumps:
            found[f"{p.name} inlet"] = p.start, p.inlet
        for line in a.lines:
            ends = line.start in self.tanks, line.end in self.tanks
            if line.kind == "jet pump":
                found[f"{line.name} suction"] = line.suction, line.inlet
            if ends == (True, True):
                continue
            if ends[0]:
                found[f"{line.name} inlet"] = line.start, line.inlet
            if ends[1]:
                found[f"{line.name} outlet"] = line.end, line.outlet
        for name, tank, hole in holes:
            if hole is None:
                corners = [c for rib in a.tank(tank).ribs for c in rib.corners]
                low = min(corners, key=lambda c: c[2])
                hole = (low[0], low[1], low[2] + 0.005)
            found[name] = tank, hole
        return found

    def thresholds(self, points, pitch, roll):
        """Return {name: (tank, volume when it falls dry, volume when it is wet again)}."""
        found = {}
        for name, (tank, position) in points.items():
            table, _, up = tables(self.aircraft.tank(tank), pitch, roll)
            at = float(np.dot(position, up))
            trace = TRACE * table.capacity
            dry = max(table.volume_below(at), trace)
            wet = table.volume_below(at + self.aircraft.attitudes.rewet_height)
            found[name] = tank, dry, max(wet, dry + trace)
        return found

    # ------------------------------------------------------------------------------ one moment
    def burn(self, consumer, phase):
        """Return what a running consumer burns [kg/s]."""
        if consumer.burn is not None:
            return consumer.burn
        return phase.burn * self.sector.burn_factor.get(consumer.name, 1.0)

    def air(self, phase):
        """Return total temperature [K] and static pressure [Pa] of the air."""
        still, pressure = still_air(phase.altitude)
        return (still + self.sector.deviation) * (1.0 + 0.2 * phase.mach**2), pressure

    def air_space(self, i, volume):
        """Return the room that the air in a tank has [m³]."""
        return max(self.full[i] - volume, 1e-3 * self.full[i])

    def look(self, m, phase, *, without=()):
        """Return the moment: rates, and what is known of it, for a memory in a phase."""
        return Moment(self, m, phase, without)

    def centre_of_gravity(self, y, phase):
        """Return the centre of gravity [% of the mean aerodynamic chord]."""
        masses = self.aircraft.masses
        weight = self.sector.zero_fuel or masses.zero_fuel
        turn = weight * masses.zero_fuel_x
        for i, tank in enumerate(self.aircraft.tanks):
            if y[i] > 0.0:
                _, moments, _ = tables(tank, phase.pitch, phase.roll)
                turn += float(y[i]) * moments.centroid_of(self.volume(i, y))[0]
                weight += float(y[i])
        return 100.0 * (turn / weight - masses.chord_start) / masses.chord

    def tilt(self, y):
        """Return the fuel of right tanks less that of left ones [kg]."""
        total = 0.0
        for i, tank in enumerate(self.aircraft.tanks):
            spans = [rib.y for rib in tank.ribs]
            if min(spans) >= 0.0:
                total += float(y[i])
            elif max(spans) <= 0.0:
                total -= float(y[i])
        return total


class Moment:
    """Everything steady in one discrete state, and the rates as a function of the quantities."""

    def __init__(self, fuel, m, phase, without):
        self.fuel, self.m, self.phase = fuel, m, phase
        self.air_temperature, self.air_pressure = fuel.air(phase)
        a, n = fuel.aircraft, fuel.n
        views = [tables(tank, phase.pitch, phase.roll) for tank in a.tanks]
        self.tables, self.up = [v[0] for v in views], views[0][2]
        self.how = m.passing()
        self.drawn, self.fixed = {}, np.zeros(fuel.size)
        self.brought = []  # (tank, flow, temperature) from outside
        for i, c in enumerate(a.consumers):
            if m.position[c.name] == "RUN":
                self.fixed[n + i] = fuel.burn(c, phase)
                self._draw(c.start, self.fixed[n + i])
        for back in a.returns:
            if m.position[back.name] == "OPEN":
                self._draw(back.start, back.flow)
                self._bring(back.end, back.flow, back.temperature)
        for filler in a.fillers:
            if m.position[filler.name] == "OPEN":
                self._bring(filler.end, filler.flow, fuel.sector.temperature)
                self.fixed[fuel.delivered] += filler.flow
        for leak, tank, junction in m.leaks():
            self.fixed[fuel.overboard] += leak
            if tank is not None:
                self.fixed[fuel.index[tank]] -= leak
            else:
                self._draw(junction, leak)
        self.over = [
            o for o in a.overflows if m.position[o.name] == "RUNNING" and o.name not in without
        ]
        self.heights = {}
        for b in fuel.network.branches:
            for which, point, node in ((0, b.inlet, b.start), (1, b.outlet, b.end)):
                if point is not None:
                    i = fuel.index[node]
                    lowest = float(self.tables[i].heights[0]) + CLEARANCE
                    self.heights[b.name, which] = max(float(np.dot(point, self.up)), lowest)
        self.outlets = {
            o.name: fuel.network.weight * float(np.dot(o.position, self.up)) for o in a.outlets
        }

    def _draw(self, junction, flow):
        self.drawn[junction] = self.drawn.get(junction, 0.0) + flow

    def _bring(self, tank, flow, temperature):
        self.fixed[self.fuel.index[tank]] += flow
        self.brought.append((self.fuel.index[tank], flow, temperature))

    def _surfaces(self, y):
        """By tank, height of the surface [m] and pressure of trapped air [Pa], when asked."""
        fuel, known, venting = self.fuel, {}, self.fuel.aircraft.venting

        def surface(name):
            if name not in known:
                i = fuel.index[name]
                volume, air = fuel.volume(i, y), 0.0
                if name in self.m.trapped:
                    inside = self.m.trapped[name] / fuel.air_space(i, volume)
                    air = min(max(inside - self.air_pressure, venting.lowest), venting.highest)
                known[name] = self.tables[i].level_of(volume), air
            return known[name]

        return surface

    def solved(self, y):
        """Return (branch, flow) of all branches that pass, and the pressures of junctions."""
        fuel, surface = self.fuel, self._surfaces(y)
        network = fuel.network

        def potential(b, which):
            node = (b.start, b.end)[which]
            if node in fuel.index:
                level, air = surface(node)
                return network.weight * max(level, self.heights[b.name, which]) + air
            return self.outlets.get(node, self.m.coupling)

        found, pressures = network.solved(self.how, self.drawn, potential)
        for b in network.lone:
            if b.name in self.how:
                ends = []
                for which, node in ((0, b.start), (1, b.end)):
                    level, air = surface(node)
                    ends.append((level, self.heights[b.name, which], air))
                found.append((b, network.between(b, self.how[b.name], *ends)))
        return found, pressures

    def _mixed(self, flows, temperatures):
        """Temperature at every junction that fuel comes to, all mixed where it meets."""
        junctions = self.fuel.network.junctions
        streams = [(b.start, b.end, q) if q > 0 else (b.end, b.start, -q) for b, q in flows]
        streams = [s for s in streams if s[2] > NOTHING]
        fed = {n for s in streams for n in s[:2]} - set(junctions)
        for _ in junctions:
            fed |= {end for start, end, _ in streams if start in fed}
        row = {j: i for i, j in enumerate(j for j in junctions if j in fed)}
        matrix, right = np.zeros((len(row), len(row))), np.zeros(len(row))
        for start, end, q in streams:
            if end in row and start in fed:
                matrix[row[end], row[end]] += q
                if start in row:
                    matrix[row[end], row[start]] -= q
                else:
                    right[row[end]] += q * self._outside(start, temperatures)
        found = np.linalg.solve(matrix, right) if row else right
        return {j: float(found[i]) for j, i in row.items()}

    def _outside(self, node, temperatures):
        if node in self.fuel.index:
            return float(temperatures[self.fuel.index[node]])
        return self.fuel.sector.temperature

    def rates(self, _, y):
        """Return the rate of change of every quantity [kg/s], [K/s]."""
        return self.both(y)[0]

    def both(self, y):
        """Return the rates, and what each overflow passes on."""
        fuel, n, w = self.fuel, self.fuel.n, self.fuel.warm
        found, temperatures = self.fixed.copy(), y[w:]
        heat = np.zeros(n)  # kg·K/s that inflows bring over the tank's own temperature
        for i, flow, temperature in self.brought:
            heat[i] += flow * (temperature - temperatures[i])
        flows, _ = self.solved(y)
        into = [
            (b, q)
            for b, q in flows
            if (q > 0.0 and b.end in fuel.index) or (q < 0.0 and b.start in fuel.index)
        ]
        mixed = None
        for b, q in flows:
            for node, gain in ((b.start, -q), (b.end, q)):
                if node in fuel.index:
                    found[fuel.index[node]] += gain
                elif node in self.outlets:
                    found[fuel.overboard] += gain
                elif node == fuel.aircraft.coupling:
                    found[fuel.delivered] -= gain
            if b.suction and q > 0.0 and self.m.position[f"{b.name} suction"] == "WET":
                moved, start, end = q * b.flow_ratio, fuel.index[b.suction], fuel.index[b.end]
                found[start] -= moved
                found[end] += moved
                heat[end] += moved * (temperatures[start] - temperatures[end])
        for b, q in into:
            end, start = (b.end, b.start) if q > 0.0 else (b.start, b.end)
            i = fuel.index[end]
            if start in fuel.network.junctions:
                if mixed is None:
                    mixed = self._mixed(flows, temperatures)
                comes = mixed.get(start, float(temperatures[i]))
            else:
                comes = self._outside(start, temperatures)
            heat[i] += abs(q) * (comes - temperatures[i])
        warming = fuel.aircraft.warming
        for i in range(n):
            inertia = y[i] + warming.structure
            share = y[i] / (self.fuel.full[i] * fuel.sector.density_15)
            slowness = warming.empty + (warming.full - warming.empty) * share
            found[w + i] = heat[i] / inertia + (self.air_temperature - temperatures[i]) / slowness
        passed, left = {}, list(self.over)
        while left:  # the highest ones first
            first = next(o for o in left if all(o.start != other.end for other in left))
            left.remove(first)
            i = fuel.index[first.start]
            room = fuel.brim[i] * fuel.density_slope(float(temperatures[i])) * found[w + i]
            over = found[i] - room
            found[i], passed[first.name] = room, over
            if first.end == "overboard":
                found[fuel.overboard] += over
                continue
            j = fuel.index[first.end]
            found[j] += over
            if over > 0.0:
                inertia = y[j] + warming.structure
                found[w + j] += over * (temperatures[i] - temperatures[j]) / inertia
        return found, passed
