"""A sector for any aircraft: from stand to stand and refuelled, on nearly all the fuel it takes.

Which switch starts what is found from the aircraft's own rules, how much the engines burn from its
pumps, and how long it flies from its tanks. All figures are our own choice, the same for all.
"""

import math

from fuelkit.aircraft.conditions import StateFact
from fuelkit.flight.sector import Action, Phase, Sector
from fuelkit.physics.fuel import ZERO_CELSIUS, smooth_density
from fuelkit.physics.units import FOOT, HOUR
from fuelkit.survey.crew_switches import crew_switches
from fuelkit.survey.supply import Links

_DENSITY_15, _TEMPERATURE = 800.0, ZERO_CELSIUS + 15.0  # kg/m³, K
_FULL, _LEFT, _ORDER = 0.97, 0.04, 0.80  # shares of what the tanks take
_ALTITUDE, _MACH = 25_000.0 * FOOT, 0.6
_HEAD_AT_TAKE_OFF = 0.7  # of a pump's pressure at no flow; there the engine takes the most
_SHORTEST, _LONGEST = 0.5 * HOUR, 16.0 * HOUR  # of cruise, s

# Before and after the cruise: name, length [s], burn as a share of the cruise's, height, pitch [°].
_OUT = (
    ("stand", 1680.0, 0.25, 0.0, 0.0),
    ("taxi out", 720.0, 0.30, 0.0, 0.0),
    ("take-off", 120.0, 2.80, 0.0, 4.0),
    ("climb", 1380.0, 1.80, 0.5, 3.0),
)
_IN = (
    ("descent", 1080.0, 0.30, 0.5, -1.5),
    ("approach", 540.0, 0.65, 0.0, 2.0),
    ("taxi in", 420.0, 0.30, 0.0, 0.0),
    ("stand, after flight", 1140.0, 0.25, 0.0, 0.0),
)
_ENGINES_AT, _ENGINE_STEP = 1200.0, 60.0
_STARTING = 45.0  # s that a starter is held; an engine lights up within them


def standard_sector(aircraft, *, share=1.0):
    """Return the standard sector of an aircraft.

    Parameters
    ----------
    aircraft : Aircraft
    share : float
        How much is loaded, of what the standard load is. [-]

    Returns
    -------
    Sector
        Loaded in the aircraft's own order of filling and burned down to about 4 % of what the
        tanks take; then, if it can be refuelled, to 80 %.
    """
    density = smooth_density(_DENSITY_15, _TEMPERATURE)
    room = takes(aircraft, density)
    load = share * _FULL * room
    engines = max(1, sum(c.kind == "engine" for c in aircraft.consumers))
    burn, cruise = _burn_and_cruise(aircraft, max(0.3 * load, load - _LEFT * room), engines)
    phases, after = _phases(aircraft, burn, cruise)
    actions, end = _actions(aircraft, after, _ORDER * room)
    return Sector(
        name="Standard sector",
        identifier="standard-sector",
        aircraft=aircraft.identifier,
        departure="Eastmere (XEAM)",
        destination="Port Ellery (XPTL)",
        total=load,
        density_15=_DENSITY_15,
        temperature=_TEMPERATURE,
        burn_factor={},
        phases=phases,
        actions=tuple(sorted(actions, key=lambda a: a.time)),
        end=end,
    )


def takes(aircraft, density):
    """Return what all tanks are refuelled to [kg] with fuel of a density [kg/m³]."""
    names = [n for step in aircraft.loading_order for n in step]
    return sum(aircraft.tank(n).refuelled_volume for n in names) * density


def cruise_start(sector):
    """Return when the cruise of a standard sector begins [s]."""
    return next(p.start for p in sector.phases if p.name == "cruise")


# ------------------------------------------------------------------------------ burn and length
def _burn_and_cruise(aircraft, to_burn, engines):
    """Burn of an engine in the cruise [kg/s] and length of the cruise [s]."""
    running = _ENGINES_AT + 0.5 * _ENGINE_STEP * engines
    weighted = sum(length * burn for _, length, burn, _, _ in (*_OUT, *_IN[:-1]))
    weighted -= running * _OUT[0][2]
    burn = _pump_flow(aircraft) / _OUT[2][2]
    cruise = to_burn / (engines * burn) - weighted
    if not _SHORTEST <= cruise <= _LONGEST:
        cruise = min(max(cruise, _SHORTEST), _LONGEST)
        burn = min(burn, to_burn / (engines * (weighted + cruise)))
    return burn, cruise


def _pump_flow(aircraft):
    """Flow that the weakest pump that feeds an engine gives at a good pressure [kg/s]."""
    links = Links(aircraft)
    feeding = {
        s.part
        for c in aircraft.consumers
        if c.kind == "engine"
        for s in links.sources_of(c.start)
        if s.pumped
    }
    pumps = [p for p in aircraft.pumps if p.name in feeding] or list(aircraft.pumps)
    lost = 1.0 - _HEAD_AT_TAKE_OFF
    return min((lost * p.rise / p.resistance) ** (1.0 / p.exponent) for p in pumps)


def _phases(aircraft, burn, cruise):
    """The phases, and when the stand after the flight begins [s]."""
    low, high = aircraft.attitudes.pitch
    rows = [*_OUT, ("cruise", cruise, 1.0, 1.0, 0.0), *_IN]
    found, start = [], 0.0
    for name, length, factor, altitude, pitch in rows:
        found.append(
            Phase(
                name, start, burn * factor, altitude=_ALTITUDE * altitude, mach=_MACH * altitude,
                pitch=min(max(math.radians(pitch), low), high),
            )
        )  # fmt: skip
        start = float(round(start + length))
    return tuple(found), found[-1].start


# -------------------------------------------------------------------------------------- actions
def _actions(aircraft, after, order):
    """What the crew does, and when the sector ends [s]."""
    found, resting = [], {s.name: s.positions[0] for s in aircraft.switches}
    crew = crew_switches(aircraft)

    def set_at(time, positions):
        found.extend([Action(time, tuple(positions.items()))] if positions else [])

    def rest_at(time, names):
        set_at(time, {name: resting[name] for name in names})

    for number, (name, position) in enumerate(crew.pumps.items()):
        set_at(240.0 + 3.0 * number, {name: position})
    for number, positions in enumerate(crew.engines):
        set_at(_ENGINES_AT + _ENGINE_STEP * number, positions)
        alight = _ENGINES_AT + _ENGINE_STEP * number + _STARTING
        rest_at(alight, [name for name in positions if _is_of_the_start(aircraft, name)])
    set_at(480.0, crew.apu)
    rest_at(1560.0, crew.apu)
    for out, back in ((1770.0, 2640.0), (after - 900.0, after - 300.0)):
        set_at(out, crew.high_lift)
        rest_at(back, crew.high_lift)
    rest_at(after + 60.0, [name for positions in crew.engines for name in positions])
    rest_at(after + 180.0, crew.pumps)
    time = after + 600.0
    for number, positions in enumerate(crew.refuelling):
        found.append(Action(time, tuple(positions.items()), None if number else order))
        time += _refuelling_time(aircraft)
        rest_at(time, positions)
        time += 60.0
    return found, time + 600.0


def _is_of_the_start(aircraft, switch):
    """Whether a switch is let go of once an engine is alight, such as that of a starter.

    What it began then goes on until something else ends it, and besides it asks for pumps alone.
    """
    asking = [rule for rule in aircraft.rules if _names(rule.condition, switch)]
    latched = [rule for rule in asking if rule.until and not _names(rule.until, switch)]
    pumps = {pump.name for pump in aircraft.pumps}
    others = [rule for rule in asking if rule not in latched]
    return bool(latched) and all({part for part, _ in rule.sets} <= pumps for rule in others)


def _names(condition, switch):
    return any(isinstance(f, StateFact) and f.name == switch for f in condition.facts)


def _refuelling_time(aircraft):
    """Long enough to fill every tank that is filled by hand; an hour at a coupling. [s]"""
    by_hand = [aircraft.tank(f.end).refuelled_volume * 800.0 / f.flow for f in aircraft.fillers]
    return float(math.ceil(max([3600.0 if aircraft.coupling else 600.0, *by_hand]) / 60.0) * 60.0)
