"""How fast a flight is computed, against the EPANET engine stepping the same network at 1 s.

Run with ``python -m tests.benchmarks.flight_speed``. Both are timed in one run, by turns, and the
best of several is taken of each; what counts is the ratio. EPANET (public domain, through the PyPI
library wntr) is given for nothing what the kit has to find: it is told by the clock of our
computed flight which pumps run, which valves are open and what is drawn, so that it only has to
follow the fuel, at its own default accuracy, which is the quickest for it. Three times are taken:
of its hydraulic loop alone, without building, reading or writing a file and without its warnings;
of wntr's simulator, which steps the same engine with everything left as at the start and hands
over its results; and of our flight. All are times of the processor, so that other programs that
run meanwhile count for little.

EPANET knows no attitude and no temperature, so the sector is flown level, and at the end of the
cruise a tank that is full to its brim differs by what its fuel has warmed or cooled.
"""

import math
import subprocess
import sys
import tempfile
import time
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import wntr
from wntr.epanet.toolkit import ENepanet
from wntr.epanet.util import EN

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector

GRAVITY = 9.80665
STEP = 1  # s
ENLARGED = 1000.0  # flows and tanks; EPANET's own thresholds are not small in a fuel line
DIAMETER, LENGTH, ROUGHNESS = 10.0, 0.01, 150.0
MINOR_LOSS = 0.02517 / 0.3048 / DIAMETER**4  # see tests/physics/epanet.py
BELOW = -1e5  # m; junctions so low that no pressure is negative
# What the kit promises of the time of an event [s]; tests/flight/test_against_integration.py
# measures it, and finds some hundredths of this.
EVENT_TIME = 1e-3
TURNS = 7
PROGRAM = "import time, numpy; t = time.perf_counter(); import {0}; print(time.perf_counter() - t)"


class Model:
    """The aircraft's network with its tanks, as EPANET knows such things."""

    def __init__(self, flight):
        self.flight, self.aircraft = flight, flight.aircraft
        self.per_head = flight.sector.density * GRAVITY
        self.per_flow = flight.sector.density / ENLARGED
        self.water = wntr.network.WaterNetworkModel()
        options = self.water.options
        options.hydraulic.inpfile_units = "LPS"
        options.time.duration = int(flight.sector.end)
        options.time.hydraulic_timestep = options.time.report_timestep = STEP
        self.label = {}
        self._nodes()
        self._links()

    def _name(self, name, letter):
        return self.label.setdefault(name, f"{letter}{len(self.label)}")

    def _nodes(self):
        masses = self.flight.samples([0.0])[0]
        for tank, mass in zip(self.aircraft.tanks, masses, strict=True):
            if tank.holds_fuel:
                self._tank(tank, mass)
        for junction in self.aircraft.junctions:
            self.water.add_junction(self._name(junction.name, "N"), elevation=BELOW)
        head = self.aircraft.coupling_pressure / self.per_head
        self.water.add_reservoir(self._name(self.aircraft.coupling, "R"), base_head=head)

    def _tank(self, tank, mass):
        table, name = tank.levels, self._name(tank.name, "T")
        low, high = table.heights[[0, -1]]
        depths = np.linspace(0.0, high - low, 60)
        curve = [(float(d), table.volume_below(low + d) * ENLARGED) for d in depths]
        self.water.add_curve(name + "V", "VOLUME", curve)
        level = table.level_of(mass / self.flight.sector.density) - low
        opening = [x.inlet[2] for x in self.aircraft.lines if x.start == tank.name and x.outlet]
        self.water.add_tank(
            name, elevation=float(low), init_level=float(level),
            min_level=max([0.0, *(float(z - low) for z in opening)]),
            max_level=float(high - low), diameter=10.0, vol_curve=name + "V", overflow=True,
        )  # fmt: skip

    def _links(self):
        relief = {x.start: x.opening for x in self.aircraft.lines if x.kind == "relief valve"}
        for pump in self.aircraft.pumps:
            name, most = self._name(pump.name, "P"), (pump.rise / pump.resistance)
            flows = [0.0, *(most ** (1 / pump.exponent) * share for share in (0.5, 0.8))]
            held_back = relief.get(pump.end, 0.0)  # its sequence valve is taken off its pressure
            heads = [pump.rise - held_back - pump.resistance * q**pump.exponent for q in flows]
            curve = [
                (q / self.per_flow, p / self.per_head) for q, p in zip(flows, heads, strict=True)
            ]
            self.water.add_curve(name + "H", "HEAD", curve)
            ends = self.label[pump.start], self.label[pump.end]
            self.water.add_pump(name, *ends, pump_type="HEAD", pump_parameter=name + "H")
        for line in self.aircraft.lines:
            self.water.add_pipe(
                self._name(line.name, "L"), self.label[line.start], self.label[line.end],
                length=LENGTH, diameter=DIAMETER, roughness=ROUGHNESS,
                minor_loss=line.resistance * self.per_flow**2 / self.per_head / MINOR_LOSS,
                check_valve=line.one_way and line.kind != "valve",
            )  # fmt: skip
        into = {o.start: o.end for o in self.aircraft.overflows}
        for back in self.aircraft.returns:
            for tank in (back.end, into[back.end]):  # a tank can be given fuel only by a pipe
                node = self._name((back.name, tank), "N")
                self.water.add_junction(node, elevation=BELOW)
                self.water.add_pipe(
                    self._name((node, tank), "L"), node, self.label[tank],
                    length=LENGTH, diameter=DIAMETER, roughness=ROUGHNESS,
                )  # fmt: skip

    def schedule(self):
        """By whole second: what runs, is open and is drawn in our flight (label, value)."""
        found, last = {}, {}
        for segment in self.flight.segments:
            now = self._settings(segment.state)
            second = math.ceil(segment.state.time)
            changed = [(key, value) for key, value in now.items() if last.get(key) != value]
            found.setdefault(second, []).extend(changed)
            last = now
        return found

    def _settings(self, state):
        """Link statuses (0, 1) and junction demands [L/s] of a state."""
        found, a = {}, self.aircraft
        movement = self.flight.movement(state.time)
        burns = movement.burns
        shut = frozenset().union(*(setting.shut for setting in movement.settings))
        for part in (*a.pumps, *a.lines):
            if part.kind in ("boost", "override", "valve"):
                found["link", self.label[part.name]] = int(part.name not in shut)
        drawn = {c.start: burns.get(c.name, 0.0) for c in a.consumers}
        into = {o.start: o for o in a.overflows}
        for back in a.returns:
            flow = back.flow * (state.positions[back.name] == "OPEN")
            full = state.positions[into[back.end].name] == "RUNNING"
            drawn[back.start] += flow
            drawn[back.name, back.end] = -flow * (not full)
            drawn[back.name, into[back.end].end] = -flow * full
        for node, flow in drawn.items():
            found["node", self.label[node]] = flow / self.per_flow * 1000.0
        return found


def written(model, path):
    """Write the input file of a model, without a report of every warning."""
    wntr.network.write_inpfile(model.water, path + ".inp", units="LPS")
    text = Path(path + ".inp").read_text(encoding="utf-8")
    quiet = text.replace("[END]", "[REPORT]\nMESSAGES NO\n[END]")
    Path(path + ".inp").write_text(quiet, encoding="utf-8")


def engine_run(model, path, stop=math.inf):
    """Return what EPANET's hydraulic loop takes [s], its steps, and the masses at its end [kg]."""
    engine = ENepanet()
    engine.ENopen(path + ".inp", path + ".rpt", path + ".bin")
    schedule = {
        second: [
            (engine.ENsetlinkvalue, engine.ENgetlinkindex(label), EN.STATUS, value)
            if kind == "link"
            else (engine.ENsetnodevalue, engine.ENgetnodeindex(label), EN.BASEDEMAND, value)
            for (kind, label), value in changes
        ]
        for second, changes in model.schedule().items()
    }
    engine.ENopenH()
    begun = time.process_time()
    engine.ENinitH(0)
    steps, ahead, now = 0, 1, 0
    while ahead and now < stop:
        for change, *what in schedule.pop(now, ()):
            change(*what)
        engine.ENrunH()
        ahead = engine.ENnextH()
        now += ahead
        steps += 1
    took = time.process_time() - begun
    volumes = [
        engine.ENgetnodevalue(engine.ENgetnodeindex(model.label[t.name]), EN.TANKVOLUME)
        for t in model.aircraft.tanks
        if t.holds_fuel
    ]
    engine.ENclose()
    return took, steps, np.array(volumes) / ENLARGED * model.flight.sector.density


def levelled(sector):
    """Return a sector flown level: EPANET knows no attitude."""
    return replace(sector, phases=tuple(replace(p, pitch=0.0, roll=0.0) for p in sector.phases))


def timed(action):
    """Return how long an action takes [s]."""
    begun = time.process_time()
    action()
    return time.process_time() - begun


def import_time(name):
    """Return how long a new interpreter takes to import something after numpy [s]."""
    program = [sys.executable, "-c", PROGRAM.format(name)]
    return min(
        float(subprocess.run(program, capture_output=True, text=True, check=True).stdout)
        for _ in range(5)
    )


def main():
    """Time both by turns and print the ratios."""
    warnings.simplefilter("ignore")
    halbrook = load_aircraft("halbrook-180")
    sector = levelled(load_sector("eastmere-port-ellery", halbrook))
    flight = fly(halbrook, sector)
    model = Model(flight)
    ours, loop, whole = [], [], []
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "network")
        written(model, path)
        for _ in range(TURNS):
            ours.append(timed(lambda: fly(halbrook, sector)))
            took, steps, _ = engine_run(model, path)
            loop.append(took)
        for _ in range(2):
            simulator = wntr.sim.EpanetSimulator(model.water)
            whole.append(timed(lambda s=simulator: s.run_sim(file_prefix=path + "s")))
        # The transfers come after this; EPANET lets them feel the inboard level, the kit does not.
        descent = next(p.start for p in sector.phases if p.name == "descent")
        _, _, masses = engine_run(model, path, descent)
    mine = flight.samples([descent])[0][[t.holds_fuel for t in halbrook.tanks]]
    apart = float(np.abs(masses - mine).max())
    print(f"one flight of {sector.end / 3600:.1f} h, {len(flight.changes)} changes")
    print(f"  fuelkit.fly                       {min(ours) * 1e3:8.1f} ms")
    print(
        f"  EPANET, hydraulic loop alone      {min(loop) * 1e3:8.1f} ms, {steps} steps of {STEP} s"
    )
    print(f"  EPANET through wntr's simulator   {min(whole) * 1e3:8.1f} ms")
    print(f"  furthest apart at the end of cruise, in any tank: {apart:.2f} kg")
    print(f"  all tanks together: {abs(masses.sum() - mine.sum()):.2f} kg apart")
    print(f"ratio to the loop alone: {min(loop) / min(ours):.1f}")
    print(f"ratio to wntr's simulator: {min(whole) / min(ours):.1f}")
    finer = STEP / EVENT_TIME
    print(f"ratio of time resolution: {finer:.0f}, our events being right to {EVENT_TIME} s")
    kit, flying = import_time("fuelkit"), import_time("fuelkit.flight.fly")
    print(f"import beyond numpy: fuelkit {kit:.3f} s, fuelkit.flight.fly {flying:.3f} s")


if __name__ == "__main__":
    main()
