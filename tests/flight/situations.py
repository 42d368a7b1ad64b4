"""Short flights put together by hand: an aircraft, a load, a phase or two, and what is done."""

import math

from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action, Phase, Sector
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.units import FOOT, HOUR

LEFT = ("left inboard forward pump", "left inboard aft pump")
RIGHT = ("right inboard forward pump", "right inboard aft pump")
INBOARD = LEFT + RIGHT
CENTRE = ("left centre pump", "right centre pump")
LEVERS = (("engine 1 fuel lever", "run"), ("engine 2 fuel lever", "run"))


def switched(position, *names):
    """Return a `set` of the switches of some parts put to one position."""
    return tuple((f"{name} switch", position) for name in names)


def started(*pumps, time=1.0):
    """Return the actions that switch pumps on and start both engines a second later."""
    return (Action(time, switched("on", *pumps)), Action(time + 1.0, LEVERS))


def phase(start=0.0, burn=1500.0, name="", *, feet=0.0, mach=0.0, pitch=0.0, roll=0.0):
    """Return a phase from a time [s], with burn [kg/h], height [ft] and attitude [deg]."""
    return Phase(
        name or f"from {start:g} s", start, burn / HOUR, altitude=feet * FOOT, mach=mach,
        pitch=math.radians(pitch), roll=math.radians(roll),
    )  # fmt: skip


def sector_of(
    aircraft, total, actions=(), failures=(), *, end, phases=(), celsius=15.0, density_15=800.0,
    deviation=0.0, burn=1500.0,
):  # fmt: skip
    """Return a sector: level on standard ground, in air as warm as its fuel, if not told else."""
    return Sector(
        name="Made by hand", identifier="by-hand", aircraft=aircraft.identifier,
        departure="Eastmere (XEAM)", destination="Eastmere (XEAM)",
        total=total, density_15=density_15, temperature=celsius + ZERO_CELSIUS, burn_factor={},
        phases=tuple(phases) or (phase(burn=burn),),
        actions=tuple(sorted(actions, key=lambda action: action.time)), end=end,
        deviation=deviation, failures=tuple(sorted(failures, key=lambda f: f.time)),
    )  # fmt: skip


def flown(aircraft, *failures, total=6000.0, pumps=INBOARD, actions=(), end=3600.0, **more):
    """Return a flight with both engines running, on the ground if not told else."""
    done = (*started(*pumps), *actions)
    return fly(aircraft, sector_of(aircraft, total, done, failures, end=end, **more))


def without_returns(content):
    """Return the content of an aircraft's file without its hot returns and what opens them."""
    names = {back["name"] for back in content.pop("returns")}
    content["rules"] = [rule for rule in content["rules"] if not names & rule["set"].keys()]
    return content


def loaded_first(content, *first):
    """Return the content of the aircraft's file with some tanks loaded before all others."""
    order = content["loading"]["order"]
    chosen = [step for step in order if step[0] in first]
    content["loading"]["order"] = chosen + [step for step in order if step not in chosen]
    return content


def unaccounted(flight, time):
    """Return loaded and delivered fuel less what is in tanks, burned and overboard [kg]."""
    burned = sum(flight.quantity(f"burned by {c.name}", time) for c in flight.aircraft.consumers)
    put_in = flight.total(0.0) + flight.quantity("delivered", time)
    return put_in - flight.total(time) - burned - flight.quantity("overboard", time)


def changed(flight, name, after):
    """Return the first change of a component into a state."""
    return next(c for c in flight.changes_of(name) if c.after == after)
