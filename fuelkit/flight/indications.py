"""What the crew is shown at a moment of a computed flight. Reads a history and draws nothing."""

from dataclasses import dataclass
from functools import lru_cache

from fuelkit.flight.failures import PRESENT
from fuelkit.flight.history import AskedError
from fuelkit.physics.gauge import full_length_gauge, indicated_volume
from fuelkit.physics.sticks import Stick, StickKind, stick_reading, stick_state

_KINDS = {"magnetic": StickKind.MAGNETIC, "drip": StickKind.DRIP}
_VALVE = {"MOVING": "BETWEEN", "HALF OPEN": "BETWEEN"}  # neither end switch is made


@dataclass(frozen=True)
class StickReading:
    """What is read from one stick, the aircraft standing. Frozen.

    reading : float or None
        Depth of fuel above its foot, or how far a drip stick is pulled; None off its scale. [m]
    state : str
        "READS", "DRY" or "COVERED".
    """

    reading: float | None
    state: str


@dataclass(frozen=True)
class Indications:
    """Everything that is shown at one moment. Frozen.

    masses : dict of str to float
        What the gauge of each tank shows: usable fuel, by its probes. [kg]
    temperatures : dict of str to float or None
        What each temperature sensor shows; None while no fuel covers it. [K]
    pumps : dict of str to str
        "PRESSURE" or "NO PRESSURE": a pump that failed, one that runs dry and one that is off look
        alike. What was selected stands among the switches.
    valves : dict of str to str
        "SHUT", "OPEN", or "BETWEEN" for a motor valve at neither end, moving or stuck there.
    consumers : dict of str to str
        "RUNNING" or "STOPPED", whatever stopped it.
    switches, sensors, buses : dict of str to str
        Positions set; WET or DRY as shown; LIVE or DEAD.
    alerts : tuple of str
        Those that are shown, in the order of the aircraft's file.
    fuel_used : dict of str to float
        What each fuel-used counter shows, by consumer. [kg]
    sticks : dict of str to StickReading
        Empty while the aircraft moves through the air, when nobody can read them.
    """

    time: float
    phase: str
    masses: dict
    temperatures: dict
    pumps: dict
    valves: dict
    consumers: dict
    switches: dict
    sensors: dict
    buses: dict
    alerts: tuple
    fuel_used: dict
    sticks: dict

    @property
    def total(self):
        """Sum of the gauges [kg]."""
        return sum(self.masses.values())


def indications(history, time):
    """Return what the crew is shown at a moment of a flight.

    Parameters
    ----------
    history : History
    time : float
        [s]

    Returns
    -------
    Indications

    Raises
    ------
    AskedError
        If the time lies outside the flight.

    Notes
    -----
    That a pump is shown by a pressure switch and a motor valve by switches at its two ends is
    common practice, no source.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> shown = indications(fly(halbrook, load_sector("eastmere-port-ellery", halbrook)), 0.0)
    >>> shown.pumps["left centre pump"], shown.valves["crossfeed valve"]
    ('NO PRESSURE', 'SHUT')
    """
    aircraft, now = history.aircraft, history.state_at(time).positions
    gauged = [tank.name for tank in aircraft.tanks if tank.holds_fuel]
    bulbs = [sensor.name for sensor in aircraft.sensors if sensor.kind == "temperature"]
    return Indications(
        time=time,
        phase=history.phase(time),
        masses={name: gauge_reading(history, name, time) for name in gauged},
        temperatures={name: history.shown_temperature(name, time) for name in bulbs},
        pumps={p.name: _shown_pump(now[p.name]) for p in aircraft.pumps},
        valves={
            v.name: _VALVE.get(now[v.name], now[v.name])
            for v in (*aircraft.valves, *aircraft.returns)
        },
        consumers={c.name: _shown_consumer(now[c.name]) for c in aircraft.consumers},
        switches={s.name: now[s.name] for s in aircraft.switches},
        sensors={s.name: now[s.name] for s in aircraft.sensors if s.kind == "level"},
        buses={b.name: now[b.name] for b in aircraft.buses},
        alerts=tuple(a.name for a in aircraft.alerts if now[a.name] == "SHOWN"),
        fuel_used={
            c.consumer: history.fuel_used(c.consumer, time) for c in aircraft.counters
        },
        sticks=_stick_readings(history, time),
    )  # fmt: skip


def _shown_pump(state):
    return "PRESSURE" if state == "RUN" else "NO PRESSURE"


def _shown_consumer(state):
    return "RUNNING" if state == "RUN" else "STOPPED"


# ------------------------------------------------------------------------------------- gauges
def gauge_reading(history, tank, time):
    """Return what the gauge of a tank shows: usable fuel as its probes tell it at the attitude.

    Parameters
    ----------
    history : History
    tank : str
        A tank that holds fuel. Without probes its gauge is taken to tell its whole mass.
    time : float
        [s]

    Returns
    -------
    float
        Never below 0. [kg]

    Raises
    ------
    AskedError
        If there is no such gauge, or the time lies outside the flight.

    Notes
    -----
    The gauge is set to the true density of the fuel in its tank. What misreads does so after it.

    References
    ----------
    14 CFR 25.1337(b): zero at unusable fuel in level flight.
    """
    place = history.quantities.tanks.index(tank) if tank in history.quantities.tanks else None
    if place is None or not history.aircraft.tank(tank).holds_fuel:
        raise AskedError(f"flight: tank is '{tank}'; it must name a tank with a gauge.")
    part, mass = history.aircraft.tank(tank), history.quantity(tank, time)
    if part.probes:
        density = history.hydraulics.fuel.density(history.temperature(tank, time))
        table = history.stance(time).tables[place]
        gauge = _gauge(part, _unusable(history.aircraft, part))
        mass = density * indicated_volume(gauge, table, min(mass / density, table.capacity))
    for failure in present_failures(history, time):
        if failure.kind == "misreading" and failure.part == tank:
            mass = max(0.0, failure.factor * mass + failure.offset)
    return mass


def usable_mass(history, tank, time):
    """Return the fuel in a tank that its gauge ought to show: all but unusable fuel [kg]."""
    part, mass = history.aircraft.tank(tank), history.quantity(tank, time)
    if not part.probes:
        return mass
    density = history.hydraulics.fuel.density(history.temperature(tank, time))
    return max(0.0, mass - density * _unusable(history.aircraft, part))


@lru_cache(maxsize=64)
def _gauge(tank, unusable):
    return full_length_gauge(tank.solid, tank.probes, unusable=unusable)


def _unusable(aircraft, tank):
    """Volume below the lowest opening of a tank in level attitude; none if it has none [m³]."""
    heights = [position[2] for _, position in aircraft.openings_of(tank.name)]
    return tank.levels.volume_below(min(heights)) if heights else 0.0


# ------------------------------------------------------------------------------------- sticks
def _stick_readings(history, time):
    if history.sector.phase_at(time).mach > 0.0:
        return {}
    return {s.name: _stick_reading(history, s, time) for s in history.aircraft.sticks}


def _stick_reading(history, stick, time):
    x, y, base = stick.foot
    scale = Stick(x, y, base, base + stick.length, _KINDS[stick.kind])
    tank = history.quantities.tanks.index(stick.tank)
    table = history.stance(time).tables[tank]
    density = history.hydraulics.fuel.density(history.temperature(stick.tank, time))
    volume = min(history.quantity(stick.tank, time) / density, table.capacity)
    state = stick_state(scale, table, volume)
    return StickReading(stick_reading(scale, table, volume), state.name)


def present_failures(history, time):
    """Return the failures that have happened by a time [s]."""
    now = history.state_at(time).positions
    return [f for f in history.sector.failures if now[f.name] == PRESENT]
