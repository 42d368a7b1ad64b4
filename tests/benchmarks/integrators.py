"""How fast a flight is computed, against scipy's integrator with every threshold as its event.

Run with ``python -m tests.benchmarks.integrators``. Three ways to the same flight are timed in one
run, by turns, in time of the processor; what counts is the ratio.

* The kit: one step reaches to what happens next, by the parabola of each gap.
* The kit's own rates and gaps, followed by ``scipy.integrate.solve_ivp`` with each gap as a
  terminal event function, at the same tolerance. What happens at an event is the kit's in both.
* The reference that the tests hold the kit against: written apart from it, with a tight tolerance
  and the network solved afresh at every level. It is made to be right, not quick.
"""

import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.fly import _Run, fly
from fuelkit.flight.sector import load_sector
from fuelkit.physics.steps import Step
from tests.flight.reference import Reference

LONGEST_STEP = 150.0  # s; with a longer one scipy steps over thresholds met twice within it
JUST_PAST = 1e-7  # s
TURNS = 5
FLIGHTS = (
    ("halbrook-180", "eastmere-port-ellery"),
    ("halbrook-40", "eastmere-tarn-hollow"),
    ("halbrook-300", "eastmere-sable-cay"),
)


class Integrated(_Run):
    """A flight of the kit in which scipy follows the fuel between events."""

    def _advance(self, state, movement):
        """Follow the fuel to the next event; return the state there and what happens."""
        watches = self.watchman.watches(state, self.stance_at(state.time))
        armed = [w for w in watches if w.gap(state.quantities) > 0.0]
        running = [o for o in self.aircraft.overflows if state.positions[o.name] == "RUNNING"]
        functions = [_event(watch.gap) for watch in armed]
        functions += [_event(lambda q, o=o: movement.passed_on(o, q)) for o in running]
        limit = self._next_time(state)
        found = solve_ivp(
            lambda _, q: movement(q), (state.time, limit), state.quantities,
            rtol=1e-12, atol=self._tolerance, max_step=LONGEST_STEP, events=functions,
        )  # fmt: skip
        end = float(found.t[-1])
        due = [w for w, t in zip(armed, found.t_events, strict=False) if len(t)]
        after = found.y[:, -1].copy()
        if end < limit:  # just past it, as a root may lie on either side
            after, end = after + JUST_PAST * movement(after), end + JUST_PAST
        straight = (after - state.quantities)[:, None]
        step = Step(state.time, max(end - state.time, 1e-9), state.quantities, straight, 0.0)
        state = self._closed_segment(state, step, end, moving=bool(movement.moving))
        return state, due


def _event(gap):
    def function(_, quantities):
        return gap(quantities)

    function.terminal, function.direction = True, -1.0
    return function


def timed(action):
    """Return how long an action takes the processor [s], and what it returns."""
    begun = time.process_time()
    found = action()
    return time.process_time() - begun, found


def compare(aircraft, sector):
    """Time all three by turns; return the best times and the furthest masses apart."""
    ours, plain = [], []
    for _ in range(TURNS):
        took, flight = timed(lambda: fly(aircraft, sector))
        ours.append(took)
        took, other = timed(lambda: Integrated(aircraft, sector).history())
        plain.append(took)
    apart, reference = timed(lambda: Reference(aircraft, sector))
    tanks = len(aircraft.tanks)
    final = flight.final.quantities[:tanks]
    gaps = [
        float(np.abs(masses - final).max())
        for masses in (other.final.quantities[:tanks], reference.masses(sector.end))
    ]
    return min(ours), min(plain), apart, gaps, len(flight.changes)


def main():
    """Print times and ratios for one sector of each aircraft."""
    print("time of the processor, ms            kit   solve_ivp   ratio   reference    ratio")
    for name, sector_name in FLIGHTS:
        aircraft = load_aircraft(name)
        sector = load_sector(sector_name, aircraft)
        try:
            ours, plain, apart, gaps, changes = compare(aircraft, sector)
        except (AssertionError, ValueError, RuntimeError) as problem:
            print(f"{sector_name}: {problem}", file=sys.stderr)
            continue
        print(
            f"{sector_name:30} {ours * 1e3:9.1f} {plain * 1e3:11.1f} {plain / ours:7.1f} "
            f"{apart * 1e3:11.1f} {apart / ours:8.1f}"
        )
        print(
            f"  {changes} changes; furthest apart at the end, in any tank: "
            f"{gaps[0]:.4f} kg and {gaps[1]:.4f} kg"
        )


if __name__ == "__main__":
    main()
