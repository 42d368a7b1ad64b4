"""Fuel at rest in the tanks of any aircraft, tilted and warmed: levels, wet and dry, overflows.

Nothing flows but what runs over: no flight is computed here.
"""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

from fuelkit.aircraft import model
from fuelkit.aircraft.reading import nearest
from fuelkit.flight.stance import Fuel, tilted_levels
from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.gauge import full_length_gauge, indicated_volume
from fuelkit.physics.sticks import Stick, StickKind, stick_reading, stick_state
from fuelkit.survey.supply import openings_of
from fuelkit.survey.tank_checks import tank_checks

_KINDS = {"magnetic": StickKind.MAGNETIC, "drip": StickKind.DRIP}
_COLDEST, _HOTTEST = -60.0 + ZERO_CELSIUS, 60.0 + ZERO_CELSIUS
_STEEPEST = math.radians(45.0)


class TankStateError(FuelkitError, ValueError):
    """Fuel, attitude or temperature that no tank of the aircraft can have."""


@dataclass(frozen=True)
class Spill:
    """What runs over through one overflow. Frozen. [kg], [m³]"""

    overflow: str
    start: str
    end: str
    mass: float
    volume: float


@dataclass(frozen=True)
class Spot:
    """An inlet, opening, sensor, vent opening or stick foot, and whether fuel covers it. Frozen.

    kind : str
        "pump inlet", "opening", "level sensor", "temperature sensor", "vent opening",
        "magnetic stick" or "drip stick".
    reading : float or None
        Of a stick, None while it finds no surface. [m]
    found : str
        Of a stick, "READS", "DRY" or "COVERED"; "" of all else.
    length : float
        How far a stick reads from its foot. [m]
    """

    name: str
    kind: str
    tank: str
    position: tuple
    is_wet: bool
    reading: float | None = None
    found: str = ""
    length: float = 0.0

    @property
    def state(self):
        """WET or DRY."""
        return "WET" if self.is_wet else "DRY"


@dataclass(frozen=True)
class TankState:
    """One tank with fuel at rest, at one attitude. Frozen.

    loaded, mass : float
        What was put in, and what is in it once all has run over. [kg]
    came_in, ran_over : float
        What ran into it out of other tanks, and what ran over out of it. [kg]
    density : float
        [kg/m³]
    table : LevelTable
        Volume over level at the attitude.
    unusable, unusable_defined : float or None
        What its lowest opening cannot reach at this attitude, and in the most adverse attitude
        of normal flight; None for a tank from which nothing draws. [m³]
    shown : float or None
        Usable mass that its gauge shows; None without probes. [kg]
    usable : float
        Usable mass that a gauge ought to show: all but what is unusable in level flight. [kg]
    runs_over_at : float or None
        Temperature at which what was put in reaches the highest fill, if it is within
        -60 to 60 °C. [K]
    spots : tuple of Spot
    """

    tank: object
    loaded: float
    mass: float
    came_in: float
    ran_over: float
    density: float
    table: object
    unusable: float | None
    unusable_defined: float | None
    shown: float | None
    usable: float
    runs_over_at: float | None
    spots: tuple

    @property
    def volume(self):
        """Of the fuel [m³]."""
        return self.mass / self.density

    @property
    def capacity(self):
        """Of the whole tank [m³]."""
        return self.table.capacity

    @cached_property
    def level(self):
        """Height of the surface along up [m]."""
        return self.table.level_of(self.volume)

    @cached_property
    def highest_level(self):
        """Height of the surface at the highest fill, along up [m]."""
        return self.table.level_of(self.tank.highest_volume)

    @cached_property
    def unusable_level(self):
        """Height below which fuel is unusable at this attitude, along up [m]; None without one."""
        return None if self.unusable is None else self.table.level_of(self.unusable)

    @property
    def depth(self):
        """Of the fuel at its deepest, square to the surface [m]."""
        return self.level - float(self.table.heights[0]) if self.mass > 0.0 else 0.0

    @property
    def space_left(self):
        """Space above the fuel, in percent of the capacity."""
        return 100.0 * (1.0 - self.volume / self.capacity)


@dataclass(frozen=True)
class FuelAtRest:
    """All tanks of an aircraft with fuel at rest. Frozen.

    states : dict of str to TankState
        By tank, in the order of the aircraft.
    spills : tuple of Spill
        What ran over, each before what it made run over.
    overboard : float
        What left the aircraft. [kg]
    """

    aircraft: object
    pitch: float
    roll: float
    temperature: float
    density_15: float
    states: dict
    spills: tuple
    overboard: float

    @property
    def up(self):
        """Direction of up in the aircraft's axes."""
        return up_direction(self.pitch, self.roll)


def fuel_at_rest(
    aircraft, masses, *, pitch=0.0, roll=0.0, temperature=ZERO_CELSIUS + 15.0, density_15=800.0
):
    """Return the tanks of an aircraft with fuel at rest, tilted and at one temperature.

    Parameters
    ----------
    aircraft : Aircraft
    masses : dict of str to float
        What is put into each tank; a tank that is not named is empty. [kg]
    pitch, roll : float
        Nose up and right wing down are positive. [rad]
    temperature : float
        Of all fuel, -60 to 60 °C. [K]
    density_15 : float
        [kg/m³]

    Returns
    -------
    FuelAtRest

    Raises
    ------
    TankStateError
        If a tank is not known, a mass is below 0, or attitude or temperature is out of range.
    ValueError
        If the density is outside the table.

    Notes
    -----
    As in a flight, a tank runs over at its highest fill, whatever the attitude.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> warm = fuel_at_rest(load_aircraft("halbrook-180"), {"left inboard": 3590.0},
    ...     temperature=ZERO_CELSIUS + 40.0)
    >>> [(s.start, s.end) for s in warm.spills], warm.overboard
    ([('left inboard', 'left surge')], 0.0)
    """
    _check(aircraft, masses, pitch, roll, temperature)
    fuel = Fuel(density_15)
    density = float(fuel.density(temperature))
    loaded = {tank.name: float(masses.get(tank.name, 0.0)) for tank in aircraft.tanks}
    spills, overboard = _run_over(aircraft, loaded, density)
    fixed = _fixed(aircraft)
    states = {
        tank.name: _state(
            aircraft,
            tank,
            fixed[tank.name],
            loaded[tank.name],
            spills,
            fuel,
            density,
            (pitch, roll),
        )
        for tank in aircraft.tanks
    }
    return FuelAtRest(
        aircraft, pitch, roll, temperature, density_15, states, spills, overboard
    )  # fmt: skip


def _check(aircraft, masses, pitch, roll, temperature):
    known = {tank.name: tank for tank in aircraft.tanks}
    for name, mass in masses.items():
        if name not in known:
            raise TankStateError(
                f"tanks: masses names '{name}'; {aircraft.name} has no such tank."
                f"{nearest(name, known)}"
            )
        if not 0.0 <= mass < math.inf:
            raise TankStateError(
                f"tanks: mass in '{name}' is {mass} kg; it must be 0 or more. Give a mass in kg."
            )
    for field, angle in (("pitch", pitch), ("roll", roll)):
        if not abs(angle) <= _STEEPEST:
            raise TankStateError(
                f"tanks: {field} is {math.degrees(angle):.1f}°; it must lie between -45° and 45°. "
                "Give a smaller angle, in radians."
            )
    if not _COLDEST - 1e-9 <= temperature <= _HOTTEST + 1e-9:
        raise TankStateError(
            f"tanks: temperature is {temperature - ZERO_CELSIUS:.1f} °C; it must lie between -60 "
            "and 60 °C. Give it in kelvin."
        )


def _run_over(aircraft, loaded, density):
    """What ran over, and what left the aircraft [kg]."""
    held, spills, overboard = dict(loaded), [], 0.0
    for overflow in overflows_in_order(aircraft):
        keeps = aircraft.tank(overflow.start).highest_volume * density
        over = held[overflow.start] - keeps
        if over <= 1e-9 * max(1.0, keeps):
            continue
        held[overflow.start] = keeps
        if overflow.end == model.OVERBOARD:
            overboard += over
        else:
            held[overflow.end] += over
        spills.append(Spill(overflow.name, overflow.start, overflow.end, over, over / density))
    for name, mass in held.items():
        capacity = aircraft.tank(name).levels.capacity
        if mass > capacity * density * (1.0 + 1e-9):
            raise TankStateError(
                f"tanks: mass in '{name}' is {mass:.0f} kg; it has no overflow and takes at most "
                f"{capacity * density:.0f} kg. Give less."
            )
    return tuple(spills), overboard


def overflows_in_order(aircraft):
    """Return the overflows of an aircraft, each before the one that it runs into."""
    left, order = list(aircraft.overflows), []
    while left:
        ends = {o.end for o in left}
        order += [o for o in left if o.start not in ends]
        left = [o for o in left if o.start in ends]
    return tuple(order)


def _state(aircraft, tank, fixed, loaded, spills, fuel, density, attitude):
    came_in = sum(s.mass for s in spills if s.end == tank.name)
    ran_over = sum(s.mass for s in spills if s.start == tank.name)
    mass = loaded + came_in - ran_over
    table, volume = tilted_levels(tank, *attitude), mass / density
    level = table.level_of(volume)
    inlets = [height(at, table.up) for _, at in fixed.openings]
    scale = fixed.gauge
    blind = scale.unusable if scale else 0.0
    return TankState(
        tank=tank,
        loaded=loaded,
        mass=mass,
        came_in=came_in,
        ran_over=ran_over,
        density=density,
        table=table,
        unusable=table.volume_below(min(inlets)) if inlets else None,
        unusable_defined=fixed.unusable_defined,
        shown=density * indicated_volume(scale, table, volume) if scale else None,
        usable=density * max(0.0, volume - blind),
        runs_over_at=_runs_over_at(fuel, loaded, tank) if tank.holds_fuel else None,
        spots=tuple(
            _spots(aircraft, tank, fixed, table, level if mass > 0.0 else -math.inf, volume)
        ),
    )


@dataclass(frozen=True)
class _Fixed:
    """What no fuel and no attitude changes: openings, worst unusable volume [m³], gauge."""

    openings: tuple
    unusable_defined: float | None
    gauge: object


@lru_cache(maxsize=8)
def _fixed(aircraft):
    """What is fixed of each tank, by name."""
    worst = {check.tank.name: check.unusable for check in tank_checks(aircraft)}
    found = {}
    for tank in aircraft.tanks:
        openings = openings_of(aircraft, tank.name)
        defined = worst.get(tank.name) if openings else None
        found[tank.name] = _Fixed(openings, defined, _gauge_of(aircraft, tank))
    return found


def _gauge_of(aircraft, tank):
    """The gauge of a tank, which reads zero at what is unusable in level flight, or None."""
    if not (tank.probes and tank.holds_fuel):
        return None
    heights = [at[2] for _, at in aircraft.openings_of(tank.name)]
    unusable = tank.levels.volume_below(min(heights)) if heights else 0.0
    return full_length_gauge(tank.solid, tank.probes, unusable=unusable)


def _runs_over_at(fuel, mass, tank):
    """Temperature at which a mass fills a tank to its highest fill [K], by halving."""
    low, high = _COLDEST, _HOTTEST
    target = mass / tank.highest_volume
    if not fuel.density(high) < target < fuel.density(low):
        return None
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fuel.density(middle) > target else (low, middle)
    return 0.5 * (low + high)


def _spots(aircraft, tank, fixed, table, level, volume):
    """Everything in a tank that can be wet or dry."""
    pumps = {pump.name for pump in aircraft.pumps}
    found = [
        (name, "pump inlet" if name in pumps else "opening", at) for name, at in fixed.openings
    ]
    found += [
        (s.name, f"{s.kind} sensor", s.position) for s in aircraft.sensors if s.tank == tank.name
    ]
    found += [(v.name, "vent opening", v.position) for v in aircraft.vents if v.tank == tank.name]
    for name, kind, at in found:
        yield Spot(name, kind, tank.name, at, height(at, table.up) < level)
    for stick in aircraft.sticks:
        if stick.tank == tank.name:
            yield _stick(stick, table, level, volume)


def _stick(stick, table, level, volume):
    x, y, base = stick.foot
    scale = Stick(x, y, base, base + stick.length, _KINDS[stick.kind])
    state = stick_state(scale, table, volume)
    return Spot(
        stick.name, f"{stick.kind} stick", stick.tank, stick.foot,
        height(stick.foot, table.up) < level, stick_reading(scale, table, volume), state.name,
        stick.length,
    )  # fmt: skip
