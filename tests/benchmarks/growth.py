"""What a flight costs against its length, its failures and the number of tanks.

Run with ``python -m tests.benchmarks.growth``. All times are of the processor, the best of some,
in one run; what counts is how they grow: with the number of events, hardly with the hours flown.
"""

import time
from dataclasses import replace

from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, Phase, Sector, load_sector
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.units import HOUR

TURNS = 3
CRUISE = 9000.0  # s; when failures begin, half a minute apart
FAILURES = (
    ("left inboard low sensor", "stuck"), ("left inboard", "misreading"),
    ("right inboard aft pump", "failed"), ("left centre pump", "failed"),
    ("right inboard", "leaking"), ("left outboard", "blocked"),
    ("right transfer valve", "stuck"), ("left bus", "failed"),
    ("centre low sensor", "stuck"), ("right inboard", "misreading"),
    ("engine 2", "leaking"), ("right centre pump", "failed"),
    ("left transfer valve", "stuck"), ("right outboard", "blocked"),
    ("crossfeed valve", "stuck"), ("engine 2", "failed"),
)  # fmt: skip


def timed(aircraft, sector):
    """Return the best time of a flight [s], and the flight."""
    best = float("inf")
    for _ in range(TURNS):
        begun = time.process_time()
        flight = fly(aircraft, sector)
        best = min(best, time.process_time() - begun)
    return best, flight


def row(label, first, took, flight):
    """Print a line of a table."""
    changes = len(flight.changes)
    instants = len({change.time for change in flight.changes})
    print(
        f"  {label:>8} {changes:8} {instants:8} {len(flight.segments):8} {took * 1e3:9.1f} "
        f"{took / first:7.2f} {took / instants * 1e3:11.3f}"
    )


def table(title, flights):
    """Print a table of (label, aircraft, sector)."""
    print(f"{title}\n           changes instants    steps        ms   ratio  ms/instant")
    first = None
    for label, aircraft, sector in flights:
        took, flight = timed(aircraft, sector)
        first = first or took
        row(label, first, took, flight)


def stretched(sector, hours):
    """Return a sector whose cruise lasts some hours, on the same fuel in all."""
    number = next(i for i, p in enumerate(sector.phases) if p.name.startswith("cruise"))
    begun, ended = sector.phases[number].start, sector.phases[number + 1].start
    length = hours * HOUR

    def moved(time):
        if time <= begun:
            return time
        if time >= ended:
            return time + length - (ended - begun)
        return begun + (time - begun) * length / (ended - begun)

    slower = (ended - begun) / length
    phases = tuple(
        replace(p, start=moved(p.start), burn=p.burn * (slower if i == number else 1.0))
        for i, p in enumerate(sector.phases)
    )
    actions = tuple(replace(a, time=moved(a.time)) for a in sector.actions)
    return replace(sector, phases=phases, actions=actions, end=moved(sector.end))


def failing(sector, count):
    """Return a sector with the first so many failures."""
    found = []
    for number, (part, kind) in enumerate(FAILURES[:count]):
        found.append(
            Failure(
                CRUISE + 30.0 * number, part, kind, leak=0.2 if kind == "leaking" else 0.0,
                factor=1.1 if kind == "misreading" else 1.0,
            )
        )  # fmt: skip
    return replace(sector, failures=tuple(found))


# ------------------------------------------------------------------ an aircraft of many tanks
def many_tanks(count):
    """Return an aircraft of boxes in a row, each with its pump, engine, sensor and rules."""
    parts = {
        name: []
        for name in (
            "tanks", "overflows", "junctions", "pumps", "check_valves", "valves", "consumers",
            "sensors", "switches", "rules", "counters", "alerts",
        )
    }  # fmt: skip
    for number in range(1, count + 1):
        for section, tables in _box(number).items():
            parts[section].extend(tables)
    content = {
        "schema": 2, "name": f"{count} boxes", "identifier": "boxes", "source": "Invented.",
        "summary": "Boxes in a row.", "attitude": {"rewet_height_m": 0.02},
        "loading": {"order": [[f"tank {i + 1}" for i in range(count)]]}, **parts,
    }  # fmt: skip
    return aircraft_from(content)


def _box(i):
    low, high = 3.0 * i, 3.0 * i + 2.0
    lever = f"engine {i} lever"
    ribs = [{"y": y, "front": [10.0, 0.0, 1.0], "rear": [12.0, 0.0, 1.0]} for y in (low, high)]
    return {
        "tanks": [
            {
                "name": f"tank {i}", "title": f"Tank {i}", "expansion_space_percent": 3.0,
                "refuel_limit_percent": 95.0, "ribs": ribs,
            }
        ],
        "overflows": [{"name": f"tank {i} overflow", "from": f"tank {i}", "to": "overboard"}],
        "junctions": [
            {"name": f"{what} {i}", "position": [13.0, low, 0.5], "at": [300, 200]}
            for what in ("outlet", "inlet")
        ],
        "pumps": [
            {
                "name": f"pump {i}", "kind": "boost", "from": f"tank {i}", "to": f"outlet {i}",
                "inlet": [11.0, low + 1.0, 0.03], "at": [300, 200],
                "curve": [[0, 200], [2000, 190], [4000, 160]],
            }
        ],
        "valves": [
            {
                "name": f"valve {i}", "from": f"outlet {i}", "to": f"inlet {i}", "loss_kpa": 20,
                "loss_at_kg_h": 3000, "travel_s": 2, "at": [300, 200],
            }
        ],
        "consumers": [
            {"name": f"engine {i}", "kind": "engine", "from": f"inlet {i}", "at": [300, 200]}
        ],
        "sensors": [
            {"name": f"low sensor {i}", "tank": f"tank {i}", "at": [11.0, low + 1.0, 0.2]}
        ],
        "switches": [{"name": lever, "positions": ["cut-off", "run"]}],
        "rules": [
            {
                "name": f"engine {i} runs", "all": [f"{lever} is run"], "because": "its lever is",
                "set": {f"engine {i}": "RUN", f"valve {i}": "OPEN", f"pump {i}": "RUN"},
            }
        ],
        "counters": [],
        "alerts": [
            {"name": f"Low {i}", "level": "caution", "all": [f"low sensor {i} is DRY"]}
        ],
    }  # fmt: skip


def boxes_sector(aircraft):
    """Return four hours of level flight in which every tank comes to its low sensor."""
    levers = [s.name for s in aircraft.switches]
    mass = sum(tank.refuelled_volume for tank in aircraft.tanks) * 800.0
    each = mass / len(levers)
    return Sector(
        name="Boxes", identifier="boxes", aircraft=aircraft.identifier, departure="XEAM",
        destination="XPTL", total=0.9 * mass, density_15=800.0, temperature=ZERO_CELSIUS + 15.0,
        burn_factor={}, phases=(Phase("cruise", 0.0, 0.85 * each / (4 * HOUR)),),
        actions=tuple(
            Action(60.0 + 7.0 * i, ((lever, "run"),)) for i, lever in enumerate(levers)
        ),
        end=4 * HOUR,
    )  # fmt: skip


def main():
    """Print the three tables."""
    halbrook = load_aircraft("halbrook-180")
    sector = load_sector("eastmere-port-ellery", halbrook)
    lengths = (1, 2, 4, 8, 16)
    table(
        "hours of cruise, the same fuel",
        [(f"{h} h", halbrook, stretched(sector, h)) for h in lengths],
    )
    table("failures", [(str(n), halbrook, failing(sector, n)) for n in (0, 1, 2, 4, 8, 12, 16)])
    boxes = [many_tanks(n) for n in (1, 2, 4, 8, 16, 32)]
    table("tanks", [(str(len(a.tanks)), a, boxes_sector(a)) for a in boxes])


if __name__ == "__main__":
    main()
