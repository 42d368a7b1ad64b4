"""The Halbrook 300 and its sectors, for the tests that ask about them."""

from dataclasses import replace
from functools import lru_cache

from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector

AIRCRAFT = load_aircraft("halbrook-300")
LONG, RETURN = "eastmere-sable-cay", "karn-ness-return"
SECTORS = (LONG, RETURN)
SIDES = ("left", "right")
FUEL_TANKS = tuple(tank.name for tank in AIRCRAFT.tanks if tank.holds_fuel)


@lru_cache(maxsize=2)
def flight(name):
    """Return a sector of this aircraft as it is in the kit, computed once."""
    return fly(AIRCRAFT, load_sector(name, AIRCRAFT))


def flown(name, *failures, end=None, actions=None, add=()):
    """Return a sector with failures, an earlier end or other actions."""
    sector = load_sector(name, AIRCRAFT)
    kept = sector.actions if actions is None else actions
    kept = tuple(sorted((*kept, *add), key=lambda action: action.time))
    end = sector.end if end is None else end
    return fly(
        AIRCRAFT,
        replace(
            sector,
            failures=(*sector.failures, *failures),
            end=end,
            actions=tuple(a for a in kept if a.time < end),
            phases=tuple(p for p in sector.phases if p.start < end),
        ),
    )


def times(history, name, after):
    """Return when a component came into a state."""
    return [change.time for change in history.changes_of(name) if change.after == after]


def held(history, tank, time):
    """Return the mass in a tank [kg]."""
    return history.quantity(tank, time)


def overboard(history, time):
    """Return what has gone overboard [kg]."""
    return float(history.state_at(time).quantities[history.quantities.index["overboard"]])


def total(history, time):
    """Return all fuel on board [kg]."""
    return float(history.samples([time]).sum())


def is_scripted(history, time):
    """Whether the sector's file has this time: a phase, an action or a failure."""
    sector = history.sector
    written = [x.time for x in (*sector.actions, *sector.failures)]
    written += [phase.start for phase in sector.phases]
    return any(abs(time - t) < 1e-6 for t in written)


def gauge(side):
    """Return the failure of a gauge that shows twice the mass in an inner tank."""
    return Failure(0.0, f"{side} inner", "misreading", factor=2.0)


def leak(side):
    """Return a leak of 2 kg/s in an inner tank, from 2:30:00."""
    return Failure(9_000.0, f"{side} inner", "leaking", leak=2.0)


@lru_cache(maxsize=1)
def full_without_trim_transfer():
    """Return the long sector with full tanks, and a trim selector that nobody touches."""
    sector = load_sector(LONG, AIRCRAFT)
    untouched = tuple(a for a in sector.actions if "trim selector" not in dict(a.sets))
    end = 30_000.0
    return fly(
        AIRCRAFT,
        replace(
            sector,
            total=101_000.0,
            end=end,
            actions=tuple(a for a in untouched if a.time < end),
            phases=tuple(p for p in sector.phases if p.start < end),
        ),
    )
