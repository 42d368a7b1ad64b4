"""Sticks at the slope of the stand: readings, the attitude, and the mass that they tell.

The situation follows from a number. The answer comes from the exact shape of the tank; a table of
the same shape, to the litre, is given to work with.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import degrees, radians

from fuelkit.physics.attitude import up_direction
from fuelkit.physics.lots import Lot
from fuelkit.physics.solid import level_table
from fuelkit.physics.sticks import (
    CAUTIONS,
    Stick,
    StickKind,
    StickState,
    mass_resolution,
    stick_reading,
    stick_state,
    volume_of_reading,
)
from fuelkit.physics.units import LITRE
from fuelkit.physics.writing import mass_text

SLOPE_IGNORED = "slope ignored"
"""The slip: the reading is looked up as if the aircraft stood level."""

_CENTIMETRE, _MILLIMETRE = 0.01, 0.001
_ROW = 2 * _CENTIMETRE  # between two rows of the table
# A stand slopes by up to 1 % (ICAO Annex 14, from memory); legs and tyres that are not alike add
# to it: common practice, no source. [deg]
_PITCHES, _ROLLS, _STEP = (-1.5, 1.5), (-1.0, 1.0), 0.25
_DENSITIES = (778.0, 828.0)  # kg/m³ in the tank
_TRIES = 200
_KINDS = {"magnetic": StickKind.MAGNETIC, "drip": StickKind.DRIP}


@dataclass(frozen=True)
class StickSeen:
    """What one stick shows. Frozen.

    state : StickState
    reading : float or None
        By its scale; None if it finds no surface. [m]
    """

    name: str
    tank: str
    kind: StickKind
    state: StickState
    reading: float | None

    def __str__(self):
        if self.reading is None:
            if self.state is StickState.DRY:
                return "finds no fuel: the surface is below it"
            return "shows nothing: the surface is above the end of its scale"
        how = "reads" if self.kind is StickKind.MAGNETIC else "drips when pulled down by"
        return f"{how} {self.reading / _CENTIMETRE:.1f} cm"


@dataclass(frozen=True)
class StickTask:
    """A tank's mass to be worked out from a stick on a sloping stand. Frozen.

    Without sticks `tank` is empty, `question` says so, and the task counts as false.

    pitch, roll : float
        Positive nose up, right wing down. [rad]
    density : float
        Of the fuel in the tanks. [kg/m³]
    masses : dict of str to float
        What is truly in each tank. [kg]
    readings : tuple of StickSeen
        Of every stick of the aircraft.
    table : tuple of (float, float, float)
        Reading [m], volume at this attitude and volume if level [m³], both to the litre.
    answer, tolerance : float
        [kg]
    steps : tuple of str
        The work, line by line.
    slip, slip_value : str, float
        A likely error, and the mass that it would give. [kg]
    """

    question: str
    tank: str = ""
    stick: str = ""
    pitch: float = 0.0
    roll: float = 0.0
    density: float = 0.0
    masses: dict | None = None
    readings: tuple = ()
    table: tuple = ()
    answer: float | None = None
    tolerance: float = 0.0
    steps: tuple = ()
    slip: str = ""
    slip_value: float | None = None
    caution: str = ""

    def __bool__(self):
        return bool(self.tank)


@lru_cache(maxsize=64)
def stick_task(aircraft, draw):
    """Return a task of reading sticks at the slope of a stand.

    Parameters
    ----------
    aircraft : Aircraft
    draw : int
        The same number gives the same task, always and on every machine.

    Returns
    -------
    StickTask
        One that is false and says why, if no stick of the aircraft can be read.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> task = stick_task(load_aircraft("halbrook-180"), 1)
    >>> abs(task.answer - task.masses[task.tank]) < 1e-6
    True
    >>> abs(task.answer - task.slip_value) > task.tolerance
    True
    """
    if not aircraft.sticks:
        return StickTask(
            f"{aircraft.name}: no level indicators and no drip sticks, so there is nothing to "
            "read. Its fuel is known from its gauges and from what was delivered."
        )
    for number in range(_TRIES):
        task = _tried(aircraft, Lot("sticks", aircraft.identifier, draw, number))
        if task:
            return task
    return StickTask(f"{aircraft.name}: no stick can be read on the slope of a stand.")


def _tried(aircraft, lot):
    """A task, or None if the draw puts the surface where no stick or no tank would have it."""
    part = lot.one_of(aircraft.sticks, "stick")
    tank, scale = aircraft.tank(part.tank), _scale(part)
    pitch = radians(lot.between(*_PITCHES, "pitch", step=_STEP))
    roll = radians(lot.between(*_ROLLS, "roll", step=_STEP))
    density = round(lot.between(*_DENSITIES, "density"), 1)
    reading = _MILLIMETRE * lot.whole(10, int(scale.full_scale / _MILLIMETRE) - 10, "reading")
    tilted = level_table(tank.solid, up_direction(pitch, roll))
    volume = volume_of_reading(scale, tilted, reading)
    flat = volume_of_reading(scale, tank.levels, reading)
    if not 0.08 * tank.levels.capacity < volume < tank.refuelled_volume:
        return None
    tolerance = _tolerance(scale, tilted, reading, density, volume)
    if abs(volume - flat) * density < 2.0 * tolerance:
        return None
    fill = volume / tank.levels.capacity
    masses = _masses(aircraft, tank, fill, density, lot) | {tank.name: volume * density}
    seen = tuple(_seen(aircraft, stick, masses, density, pitch, roll) for stick in aircraft.sticks)
    return StickTask(
        question=_question(aircraft, tank, part, pitch, roll, density),
        tank=tank.name, stick=part.name, pitch=pitch, roll=roll, density=density, masses=masses,
        readings=seen, table=_table(scale, tilted, tank.levels, reading),
        answer=volume * density, tolerance=tolerance,
        steps=_steps(part, seen, reading, volume, flat, density, (pitch, roll)),
        slip=SLOPE_IGNORED, slip_value=flat * density, caution=CAUTIONS[scale.kind],
    )  # fmt: skip


def _scale(part):
    x, y, base = part.foot
    return Stick(x, y, base, base + part.length, _KINDS[part.kind])


def _tolerance(scale, tilted, reading, density, volume):
    """Half a per cent, or 2 mm of reading if that is more. [kg]"""
    step = mass_resolution(scale, tilted, reading, density, resolution=2 * _MILLIMETRE)
    return max(0.005 * volume * density, step)


def _masses(aircraft, asked, fill, density, lot):
    """Masses in all tanks, left and right nearly alike. [kg]"""
    found = {}
    for tank in aircraft.tanks:
        pair = sorted({round(abs(rib.y), 3) for rib in tank.ribs})
        alike = pair == sorted({round(abs(rib.y), 3) for rib in asked.ribs})
        share = fill if alike else lot.between(0.2, 0.9, f"fill of {pair}")
        share *= lot.between(0.98, 1.02, f"fill of {tank.name}")
        volume = min(share * tank.levels.capacity, tank.refuelled_volume)
        found[tank.name] = volume * density if tank.holds_fuel else 0.0
    return found


def _seen(aircraft, part, masses, density, pitch, roll):
    tank, scale = aircraft.tank(part.tank), _scale(part)
    tilted = level_table(tank.solid, up_direction(pitch, roll))
    volume = masses[part.tank] / density
    reading = stick_reading(scale, tilted, volume)
    reading = None if reading is None else round(reading, 3)
    return StickSeen(part.name, part.tank, scale.kind, stick_state(scale, tilted, volume), reading)


def _table(scale, tilted, level, reading):
    """Rows of even readings around a reading, as a stick table of this attitude has them."""
    first = int(reading / _ROW + 1e-9) - 1
    readings = [round(_ROW * (first + i), 3) for i in range(4)]
    readings = [r for r in readings if 0.0 <= r <= scale.full_scale]
    if readings[-1] < reading:
        readings.append(round(scale.full_scale, 3))
    return tuple(
        (r, *(round(volume_of_reading(scale, t, r), 3) for t in (tilted, level))) for r in readings
    )


# --------------------------------------------------------------------------------------- words
def attitude_words(pitch, roll):
    """Return an attitude [rad] in words.

    Examples
    --------
    >>> attitude_words(radians(0.5), radians(-0.25))
    'nose up by 0.50°, left wing down by 0.25°'
    >>> attitude_words(0.0, 0.0)
    'level'
    """
    words = []
    if pitch:
        words.append(f"nose {'up' if pitch > 0 else 'down'} by {abs(degrees(pitch)):.2f}°")
    if roll:
        words.append(f"{'right' if roll > 0 else 'left'} wing down by {abs(degrees(roll)):.2f}°")
    return ", ".join(words) or "level"


def _question(aircraft, tank, part, pitch, roll, density):
    return (
        f"{aircraft.name} on its stand: {attitude_words(pitch, roll)}. The density of "
        f"its fuel is {density / 1000.0:.4f} kg/L. What mass of fuel is in the {tank.title.lower()}"
        f", by the {part.name}?"
    )


def _litres(volume):
    return round(volume / LITRE)


def _text(volume):
    return f"{_litres(volume):,} L".replace(",", " ")


def _steps(part, seen, reading, volume, flat, density, attitude):
    own = next(s for s in seen if s.name == part.name)
    others = [
        f"{s.name} {s}" for s in seen if s.tank == part.tank and s.name != part.name and s.reading
    ]
    also = f" (The {' and the '.join(others)}: a second way to the same mass.)" if others else ""
    wrong, error = flat * density, (flat - volume) * density
    return (
        f"The {part.name} {own}.{also}",
        f"The aircraft is not level ({attitude_words(*attitude)}), so the table of this attitude "
        f"is used: {reading / _CENTIMETRE:.1f} cm means {_text(volume)}.",
        f"{_text(volume)} × {density / 1000.0:.4f} kg/L = {mass_text(volume * density)}.",
        f"With the {SLOPE_IGNORED} the reading would mean {_text(flat)}, and {mass_text(wrong)}: "
        f"{mass_text(abs(error))} too {'much' if error > 0 else 'little'}.",
    )
