"""The stages of a computed flight that the lessons take one by one, found from the flight."""

from fuelkit.aircraft import model
from fuelkit.flight.reasons import chain

_OFF_THE_GROUND = 30.0  # m
_AT_CRUISE = 0.85  # of the greatest altitude: step climbs count as cruise


def stages(history):
    """Return when each stage of a flight begins and ends, by the name of its lesson. [s]

    A stage that the flight does not have is left out: a sector that stays on the ground has no
    cruise.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> flight = fly(halbrook, load_sector("eastmere-port-ellery", halbrook))
    >>> stages(flight)["cruise"]
    (3960.0, 15960.0)
    """
    sector = history.sector
    phases, end = sector.phases, sector.end
    flown = _flown(phases)
    lever = _first_lever(history)
    take_off = phases[flown[0]].start if flown else end
    found = {}
    if lever is not None:
        found["cockpit-preparation"] = (0.0, lever)
        found["engine-start"] = (lever, take_off)
    if flown:
        top = max(phases[i].altitude for i in flown)
        high = [i for i in flown if phases[i].altitude >= _AT_CRUISE * top]
        begin, over = phases[high[0]].start, _end(phases, high[-1], end)
        landed = _end(phases, flown[-1], end)
        found |= {
            "climb": (take_off, begin),
            "cruise": (begin, over),
            "descent": (over, landed),
            "after-landing": (landed, end),
        }
    return {name: span for name, span in found.items() if span[1] > span[0]}


def _flown(phases):
    """Which phases are in the air: those with a speed, or with a height if none has a speed."""
    if any(phase.mach > 0.0 for phase in phases):
        return [i for i, phase in enumerate(phases) if phase.mach > 0.0]
    ground = phases[0].altitude
    return [i for i, phase in enumerate(phases) if phase.altitude > ground + _OFF_THE_GROUND]


def _end(phases, index, end):
    return phases[index + 1].start if index + 1 < len(phases) else end


def _first_lever(history):
    """When the crew sets what the first engine starts by [s]; None if none starts."""
    aircraft = history.aircraft
    engines = {c.name for c in aircraft.consumers if c.kind == "engine"}
    start = next((c for c in history.changes if c.name in engines and c.after == "RUN"), None)
    if start is None:
        return None
    switches = {switch.name for switch in aircraft.switches}
    times = [c.time for c in chain(history, start) if c.name in switches]
    return max(times, default=start.time)


def told_parts(aircraft):
    """Return the names of the parts whose states a learner foresees, in the order of the file."""
    kinds = model.Pump | model.Consumer | model.Return | model.Overflow | model.Filler
    return tuple(
        name
        for name, part in aircraft.by_name.items()
        if isinstance(part, kinds) or getattr(part, "kind", "") == "valve"
    )
