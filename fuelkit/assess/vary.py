"""A sector like another one: other load, other fuel, other day, other length. Drawn by a number.

The same number gives the same sector on every machine. What the crew does stays the course's
procedure; now and then a pump is forgotten and set on late, which the learner is told.
"""

from dataclasses import replace

from fuelkit.flight.sector import Action
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import MINUTE
from fuelkit.survey.standard_sector import takes

_LEFT_OFF = 0.35  # share of the draws in which a pump that feeds is left off
_LONGER, _SHORTER = 1.20, 0.80  # times as long as the sector
_LIGHTEST, _HEAVIEST = 775.0, 838.0  # kg/m³ at 15 °C: jet fuel
_AT_TOP = 0.85  # of the greatest altitude: cruise, with its steps
_FOUND_AFTER = 1800.0  # s into it at which a pump that was left off is found
_ROOM, _NEARLY_FULL = 0.98, 0.85  # of what the tanks take


def varied(sector, aircraft, draw):
    """Return a sector with other load, fuel, air, burn and length.

    Parameters
    ----------
    sector : Sector
    aircraft : Aircraft
    draw : int
        Number of the variation; 0 would be the sector itself.

    Returns
    -------
    Sector
        With times stretched or shortened in its longest phases, so that it stays a whole flight.
    """
    lot = Lot(sector.identifier, draw)
    engines = [c.name for c in aircraft.consumers if c.kind == "engine"]
    density = sector.density_15 + round(lot.between(-10.0, 10.0, "density"), 1)
    drawn = replace(
        sector,
        name=f"{sector.name}, flight {draw}",
        density_15=min(max(density, _LIGHTEST), _HEAVIEST),
        temperature=sector.temperature + round(lot.between(-8.0, 8.0, "fuel temperature")),
        deviation=float(round(lot.between(-8.0, 8.0, "air"))),
        burn_factor={n: round(lot.between(0.985, 1.03, f"burn {n}"), 3) for n in engines},
    )
    room = _ROOM * takes(aircraft, drawn.density)
    longest = _LONGER if sector.total < _NEARLY_FULL * room else 1.0
    drawn = _stretched(drawn, lot.between(_SHORTER, longest, "length"))
    left = left_off(sector, aircraft, draw)
    late = _late(drawn, left) if left else None
    actions = [a for a in (_amended(a, late, room) for a in drawn.actions) if a]
    actions += [late] if late else []
    return replace(
        drawn,
        total=_load(sector, drawn, lot, room),
        actions=tuple(sorted(actions, key=lambda a: a.time)),
    )


def left_off(sector, aircraft, draw):
    """Return the switch that the crew first leaves off in a variation, or nothing.

    Only that of an override pump: an engine always keeps a pump.
    """
    lot = Lot(sector.identifier, draw)
    if not draw or lot.share("left off") >= _LEFT_OFF:
        return ""
    boosted = [p.name for p in aircraft.pumps if p.kind == "override"]
    names = [name for action in sector.actions for name, _ in action.sets]
    found = [s for s in dict.fromkeys(names) if any(s.startswith(pump) for pump in boosted)]
    return lot.one_of(found, "which") if found else ""


def _late(sector, switch):
    """The forgotten switch, set on early in the highest part of the flight."""
    first = next(pair for a in sector.actions for pair in a.sets if pair[0] == switch)
    top = max(phase.altitude for phase in sector.phases)
    high = [p.start for p in sector.phases if p.altitude >= _AT_TOP * top]
    after = [p.start for p in sector.phases if p.start > high[-1]]
    room = (after[0] if after else sector.end) - high[0]
    return Action(high[0] + float(round(min(_FOUND_AFTER, 0.3 * room), -1)), (first,))


def _amended(action, late, room):
    """An action without what is done late instead, and with no more ordered than there is room.

    Nothing if nothing is left of it.
    """
    is_moved = late is not None and action.time < late.time
    sets = tuple(pair for pair in action.sets if not (is_moved and pair in late.sets))
    if not sets and action.order is None and action.pressure is None:
        return None
    order = None if action.order is None else min(action.order, room)
    return replace(action, sets=sets, order=order)


def _load(sector, drawn, lot, room):
    """As much more or less as the flight is longer or shorter, and a little by chance. [kg]"""
    engines = len(drawn.burn_factor)
    wanted = sector.total + engines * (_burn_of(drawn) - _burn_of(sector))
    wanted += lot.between(-0.02, 0.04, "load") * sector.total
    return 10.0 * int(min(max(wanted, 0.5 * sector.total), room) / 10.0)


def _burn_of(sector):
    ends = [*(p.start for p in sector.phases[1:]), sector.end]
    return sum(p.burn * (end - p.start) for p, end in zip(sector.phases, ends, strict=True))


def _stretched(sector, factor):
    """The same sector with its highest phases longer or shorter; all that follows moves along."""
    top = max(p.altitude for p in sector.phases)
    ends = [*(p.start for p in sector.phases[1:]), sector.end]
    spans = [
        (p.start, end, factor if top > 0 and p.altitude >= _AT_TOP * top else 1.0)
        for p, end in zip(sector.phases, ends, strict=True)
    ]

    def moved(time):
        new = 0.0
        for start, end, by in spans:
            new += by * (min(max(time, start), end) - start)
        return float(round(new / 10.0) * 10) if time >= MINUTE else time

    phases = tuple(replace(p, start=moved(p.start) if p.start else 0.0) for p in sector.phases)
    actions = tuple(replace(a, time=_near(moved(a.time), a.time)) for a in sector.actions)
    failures = tuple(replace(f, time=moved(f.time)) for f in sector.failures)
    end = moved(sector.end)
    return replace(sector, phases=phases, actions=actions, failures=failures, end=end)


def _near(new, old):
    """Keep the seconds between actions that follow at once on the ground."""
    return old if abs(new - old) <= 10.0 else new
