"""Flights drawn by lot: an aircraft, a sector of its own squeezed into an hour or so, any load,
any attitude, actions moved, left out and added, failures in combination. One seed, one flight."""

import math
import random
from dataclasses import replace

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure, failure_faults, stuck_states
from fuelkit.flight.sector import Action, load_sector
from fuelkit.physics.units import HOUR

SECTORS = {
    "halbrook-40": ("eastmere-tarn-hollow", "tarn-hollow-sable-cay"),
    "halbrook-180": ("eastmere-port-ellery", "port-ellery-eastmere"),
    "halbrook-300": ("eastmere-sable-cay", "karn-ness-return"),
}
LOADS = ((0.02, 0.12), (0.12, 0.5), (0.5, 1.0))  # of what the tanks take


def random_flight(seed):
    """Return an aircraft and a sector for a seed: each seed its own, the same every time."""
    chance = random.Random(seed)
    name = sorted(SECTORS)[seed % len(SECTORS)]
    aircraft = load_aircraft(name)
    base = load_sector(chance.choice(SECTORS[name]), aircraft)
    span = chance.uniform(1200.0, 5400.0)
    phases, moved = _phases(chance, aircraft, base, span)
    sector = replace(
        base,
        identifier=f"flight {seed}",
        density_15=chance.uniform(775.0, 840.0),
        temperature=273.15 + chance.uniform(-25.0, 45.0),
        deviation=chance.uniform(-15.0, 20.0),
        phases=phases,
        actions=_actions(chance, aircraft, base, moved, span),
        failures=_failures(chance, aircraft, span),
        end=span,
        burn_factor={
            c.name: chance.uniform(0.9, 1.1) for c in aircraft.consumers if c.burn is None
        },
    )
    room = sum(aircraft.tank(n).refuelled_volume for step in aircraft.loading_order for n in step)
    most = room * sector.density
    actions = (
        replace(a, order=None if a.order is None else min(a.order, 0.999 * most))
        for a in sector.actions
    )
    total = most * chance.uniform(*chance.choice(LOADS))
    return aircraft, _burning(
        chance, aircraft, replace(sector, total=total, actions=tuple(actions))
    )


def _phases(chance, aircraft, base, span):
    """The phases squeezed into a span, and the function that moves a time along with them."""
    starts = [p.start for p in base.phases] + [base.end]
    weights = [chance.uniform(0.3, 1.0) for _ in base.phases]
    after = [0.0]
    for weight in weights:
        after.append(after[-1] + span * weight / sum(weights))

    def moved(time):
        i = max(i for i, start in enumerate(starts[:-1]) if start <= time)
        share = (time - starts[i]) / (starts[i + 1] - starts[i])
        return after[i] + share * (after[i + 1] - after[i])

    phases = [
        replace(_flown(chance, aircraft, phase), start=start)
        for phase, start in zip(base.phases, after, strict=False)
    ]
    return tuple(phases), moved


def _flown(chance, aircraft, phase):
    """The phase at some attitude, now and then beyond the normal ones, and at some height."""
    limits, wide = aircraft.attitudes, chance.choice((1.0, 1.0, 1.0, 1.5))
    pitch = chance.uniform(*limits.pitch) * wide if chance.random() < 0.6 else phase.pitch
    roll = chance.uniform(*limits.roll) * wide if chance.random() < 0.4 else phase.roll
    altitude, mach = phase.altitude, phase.mach
    if chance.random() < 0.3:
        altitude, mach = chance.uniform(-100.0, 13_000.0), chance.uniform(0.0, 0.85)
    return replace(phase, pitch=pitch, roll=roll, altitude=altitude, mach=mach)


def _actions(chance, aircraft, base, moved, span):
    found = []
    for action in base.actions:
        if chance.random() < 0.08:
            continue
        time = min(max(moved(action.time) + chance.uniform(-15.0, 15.0), 1.0), span - 1.0)
        order = action.order and action.order * chance.uniform(0.5, 1.0)
        found.append(replace(action, time=time, order=order))
    for _ in range(chance.randrange(7)):
        switch = chance.choice(aircraft.switches)
        sets = ((switch.name, chance.choice(switch.positions)),)
        found.append(Action(chance.uniform(1.0, span - 1.0), sets))
    if chance.random() < 0.15:
        pressure = chance.uniform(-60e3, 350e3)
        found.append(Action(chance.uniform(1.0, span - 1.0), (), pressure=pressure))
    return tuple(sorted(found, key=lambda action: action.time))


def _burning(chance, aircraft, sector):
    """What the engines burn, so that a good part of the load is used up, or all of it."""
    engines = sum(c.burn is None for c in aircraft.consumers)
    ends = [p.start for p in sector.phases[1:]] + [sector.end]
    planned = sum(
        p.burn * (end - p.start) * engines for p, end in zip(sector.phases, ends, strict=True)
    )
    wanted = sector.total * chance.uniform(0.2, 1.3) / planned
    most = 1.3 * max(p.burn for p in sector.phases)
    burns = [min(p.burn * wanted, most) for p in sector.phases]
    phases = (replace(p, burn=burn) for p, burn in zip(sector.phases, burns, strict=True))
    return replace(sector, phases=tuple(phases))


# ------------------------------------------------------------------------------------ failures
def _failures(chance, aircraft, span):
    found = []
    for _ in range(chance.choices(range(6), (15, 25, 25, 20, 10, 5))[0]):
        make = chance.choice((_failed, _stuck, _stuck, _leaking, _misreading, _blocked))
        failure = make(chance, aircraft, chance.uniform(0.0, 0.9 * span))
        if not any(failure.name == other.name for other in found):
            found.append(failure)
    assert not list(failure_faults(found, aircraft))
    return tuple(sorted(found, key=lambda failure: failure.time))


def _failed(chance, aircraft, time):
    part = chance.choice((*aircraft.pumps, *aircraft.consumers, *aircraft.buses))
    return Failure(time, part.name, "failed")


def _stuck(chance, aircraft, time):
    parts = [p for p in aircraft.by_name.values() if stuck_states(p)]
    part = chance.choice(parts)
    states = list(stuck_states(part))
    if getattr(part, "kind", "") not in ("check valve", "relief valve"):
        states.append(None)
    return Failure(time, part.name, "stuck", state=chance.choice(states))


def _leaking(chance, aircraft, time):
    groups = (aircraft.tanks, aircraft.junctions, aircraft.consumers)
    part = chance.choice(chance.choice(groups))
    leak = math.exp(chance.uniform(math.log(20.0), math.log(4000.0))) / HOUR
    hole = None
    if part in aircraft.tanks and chance.random() < 0.6:
        heights = part.levels.heights
        low, high = float(heights[0]), float(heights[-1])
        corners = [corner for rib in part.ribs for corner in rib.corners]
        x, y = (sum(c[i] for c in corners) / len(corners) for i in (0, 1))
        hole = (x, y, low + (high - low) * chance.uniform(0.05, 0.95))
    return Failure(time, part.name, "leaking", leak=leak, hole=hole)


def _misreading(chance, aircraft, time):
    part = chance.choice([t for t in aircraft.tanks if t.holds_fuel])
    return Failure(
        time, part.name, "misreading",
        factor=chance.uniform(0.7, 1.3), offset=chance.uniform(-300.0, 300.0),
    )  # fmt: skip


def _blocked(chance, aircraft, time):
    return Failure(time, chance.choice(aircraft.tanks).name, "blocked")
