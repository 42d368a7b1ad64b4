"""How many flights a second, on one core and on two, and what it takes to hand them over.

Run with ``python -m tests.benchmarks.many_flights``. All in one run; what counts is the ratio. It
says little while other programs keep the cores busy.
"""

import os
import time
from dataclasses import replace

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.many import fly_many
from fuelkit.flight.sector import load_sector

FLIGHTS, TURNS = 96, 2
FLOWN = (
    ("halbrook-180", "eastmere-port-ellery"),
    ("halbrook-40", "eastmere-tarn-hollow"),
)


def figures(flight):
    """What a paper would ask of each flight: fuel left, changes and the last change of each."""
    return flight.total(flight.sector.end), len(flight.changes)


def timed(aircraft, sectors, **how):
    """Return the best time of some turns [s], and the results."""
    best = float("inf")
    for _ in range(TURNS):
        begun = time.perf_counter()
        found = fly_many(aircraft, sectors, **how)
        best = min(best, time.perf_counter() - begun)
    return best, found


def main():
    """Print a table for each aircraft."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(f"{os.cpu_count()} cores, load {load:.1f} before the start")
    for name, sector_name in FLOWN:
        aircraft = load_aircraft(name)
        sector = load_sector(sector_name, aircraft)
        loads = [sector.total * (0.9 + 0.1 * i / FLIGHTS) for i in range(FLIGHTS)]
        sectors = [replace(sector, total=total) for total in loads]
        one, alone = timed(aircraft, sectors, keep=figures, cores=1)
        two, both = timed(aircraft, sectors, keep=figures, cores=2)
        whole, _ = timed(aircraft, sectors, cores=2)
        assert alone == both
        print(f"{sector_name}: {FLIGHTS} flights")
        print(f"  one core                      {FLIGHTS / one:7.1f} flights a second")
        print(
            f"  two cores                     {FLIGHTS / two:7.1f} flights a second, "
            f"x {one / two:.2f}"
        )
        print(
            f"  two cores, whole flights back {FLIGHTS / whole:7.1f} flights a second, "
            f"x {one / whole:.2f}"
        )


if __name__ == "__main__":
    main()
