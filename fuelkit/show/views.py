"""A moment as the crew is shown it, and as it truly is: gauges, sensors and lights may mislead.

The crew is shown what gauges, sensors and lights say. Nothing shows a failure as such; only that
a valve does not stand where it is called for can be seen, whatever the cause.
"""

from dataclasses import dataclass, field, replace

from fuelkit.aircraft.model import Consumer, Line, Pump
from fuelkit.flight.failures import truth_of
from fuelkit.flight.indications import present_failures
from fuelkit.flight.picture import Picture, picture
from fuelkit.physics.attitude import surface_height
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text

BETWEEN, STOPPED = "BETWEEN", "STOPPED"
"""A valve at neither end, and an engine that does not run, as the crew is shown them."""


@dataclass(frozen=True)
class View(Picture):
    """A picture with what is to be said of failures. Frozen.

    failures : tuple of Failure
        Those that are marked: present, where the truth is told.
    readings : dict of str to str
        What a gauge, sensor or light shows, where the truth is told and is another one.
    leaks : dict of str to bool
        For each leak that is marked, whether fuel runs out there now.
    astray : tuple of str
        Motor valves that the crew can see are not where they are called for.
    guarded : bool
        Whether something has failed or may fail in this flight and the truth is not told: what no
        gauge shows is then left unsaid.
    """

    failures: tuple = ()
    readings: dict = field(default_factory=dict)
    leaks: dict = field(default_factory=dict)
    astray: tuple = ()
    guarded: bool = False

    def failure_of(self, name, kind):
        """Return the marked failure of a part, or None."""
        return next((f for f in self.failures if (f.part, f.kind) == (name, kind)), None)


def as_view(now):
    """Return a picture as a view; a plain one has no failures."""
    return now if isinstance(now, View) else View(**vars(now))


def view(history, time, *, truth=False):
    """Return a moment of a flight as the crew is shown it, or as it truly is.

    Parameters
    ----------
    history : History
    time : float
        [s]
    truth : bool
        Whether to return the true state, with every failure and what is shown wrongly.

    Returns
    -------
    View

    Raises
    ------
    AskedError
        If the time lies outside the flight.
    """
    now = as_view(picture(history, time))
    if not history.sector.failures:
        return now
    return _true(history, now) if truth else _shown(history, now)


def _shown(history, now):
    """Masses and levels as the gauges show them, states as lights and sensors show them."""
    aircraft, time = history.aircraft, now.time
    masses = {name: history.shown_mass(name, time) for name in now.masses}
    levels = now.levels if masses == now.masses else _levels_of(history, time, masses)
    positions = {name: light(aircraft, now.positions, name) for name in now.positions}
    astray = tuple(v.name for v in aircraft.valves if _is_astray(v, aircraft, now.positions))
    return replace(
        now, masses=masses, levels=levels, positions=positions, astray=astray, guarded=True
    )


def _true(history, now):
    positions, readings = dict(now.positions), {}
    for sensor in history.aircraft.sensors:
        shown = now.positions[sensor.name]
        true = now.positions.get(truth_of(sensor.name), shown)
        if true != shown:
            positions[sensor.name], readings[sensor.name] = true, shown
    for name, mass in now.masses.items():
        shown = history.shown_mass(name, now.time)
        if shown != mass:
            readings[name] = mass_text(shown)
    for name in history.aircraft.by_name:
        if now.positions.get(name) in ("FAIL", "STARVED", "HALF OPEN"):
            readings[name] = light(history.aircraft, now.positions, name)
    failures = tuple(present_failures(history, now.time))
    leaks = _running_leaks(history, now, failures)
    return replace(now, positions=positions, readings=readings, failures=failures, leaks=leaks)


def called_for(aircraft, positions, name):
    """Return the state that the rules call for: of the first that is active, else the resting."""
    for rule in aircraft.rules_for.get(name, ()):
        if positions[rule.name] == "ACTIVE":
            return dict(rule.sets)[name]
    return aircraft.states_of(name)[0]


def sensor_words(part, now):
    """Return what a sensor says: WET or DRY; a temperature sensor its reading while it is WET."""
    state = now.positions[part.name]
    if part.kind == "temperature" and state == "WET":
        return temperature_text(now.temperatures[part.tank])
    return state


def temperature_text(kelvin):
    """Return a temperature [K] in whole degrees Celsius.

    Examples
    --------
    >>> temperature_text(258.15)
    '−15 °C'
    """
    return f"{round(kelvin - ZERO_CELSIUS):d} °C".replace("-", "−")


def light(aircraft, positions, name):
    """Return what lights, or the gauges of an engine, show of a part.

    A pump that gives no pressure is shown so only while it is called for and has power; an engine
    has STOPPED only while it is called for. A valve at neither end is BETWEEN.
    """
    part, state = aircraft.by_name.get(name), positions[name]
    if isinstance(part, Pump) and state == "FAIL":
        powered = part.bus is None or positions[part.bus] == "LIVE"
        wanted = called_for(aircraft, positions, name) == "RUN"
        return "LOW PRESS" if wanted and powered else "OFF"
    if isinstance(part, Consumer) and state in ("FAIL", "STARVED"):
        return STOPPED if called_for(aircraft, positions, name) == "RUN" else "OFF"
    if isinstance(part, Line) and state in ("MOVING", "HALF OPEN"):
        return BETWEEN
    return state


def _is_astray(valve, aircraft, positions):
    """Whether a valve stands, and not where it is called for: stuck, or without power."""
    wanted = called_for(aircraft, positions, valve.name)
    return positions[valve.name] not in (wanted, "MOVING")


def _running_leaks(history, now, failures):
    state, hydraulics = history.state_at(now.time), history.hydraulics
    active = {f.name for f in hydraulics.active_leaks(state, hydraulics.reached(state))}
    return {f.name: f.name in active for f in failures if f.kind == "leaking"}


def _levels_of(history, time, masses):
    """Height of each surface over the middle of its tank if it held other masses [m]."""
    stance, density = history.stance(time), history.hydraulics.fuel.density
    found = {}
    for tank, table in zip(history.aircraft.tanks, stance.tables, strict=True):
        volume = masses[tank.name] / density(history.temperature(tank.name, time))
        level = table.level_of(min(volume, table.capacity))
        xs = [x for rib in tank.ribs for x, _, _ in rib.corners]
        ys = [rib.y for rib in tank.ribs]
        middle = 0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys))
        low, high = (float(h) for h in tank.levels.heights[[0, -1]])
        found[tank.name] = min(max(surface_height(level, *middle, stance.up), low), high)
    return found
