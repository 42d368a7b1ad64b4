"""Quantity on the stand: sticks at the slope of the stand, made into mass, against the gauges."""

from dataclasses import dataclass
from functools import partial
from math import radians

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_fair, rounded, scale_of, with_telling_slips
from fuelkit.figures.inputs import (
    COMMON_PRACTICE,
    TRAINING_AID,
    choice,
    fuel_density,
    fuel_temperature,
    number,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.tables import between_rows, density_15_step, row_text, volume_correction_step
from fuelkit.physics.attitude import up_direction
from fuelkit.physics.fuel import ZERO_CELSIUS, density, volume_correction_factor
from fuelkit.physics.hydrometer import density_15_from_reading, reading_of
from fuelkit.physics.solid import level_table, unusable_volume
from fuelkit.physics.sticks import CAUTIONS, Stick, StickKind, stick_reading, volume_of_reading
from fuelkit.physics.units import LITRE

GO, INVESTIGATE = "go", "investigate"
GAUGE_SHARE = 0.03
"""Difference between stick and gauge that is taken, as a share of what the gauge shows. Common
practice, no source; an operator's manual sets its own. [-]"""

_KINDS = {"magnetic": StickKind.MAGNETIC, "drip": StickKind.DRIP}
_ROW = 0.02  # m between rows of the stick table
_MILLIMETRE = 0.001


@dataclass(frozen=True)
class StickRead:
    """What one stick of the aircraft was read at, and what the gauge of its tank shows. Frozen.

    stick : str
        Its name in the aircraft's file.
    reading : float
        By its scale. [m]
    gauge : float
        Of its tank, usable fuel. [kg]
    """

    stick: str
    reading: float
    gauge: float


def stand_sheet(aircraft, reads, *, pitch, roll, hydrometer, sample_temperature, tank_temperature):
    """Return the sheet that turns stick readings into mass and compares them with the gauges.

    Parameters
    ----------
    aircraft : Aircraft
    reads : sequence of StickRead
        One for each tank that is checked.
    pitch, roll : float
        Attitude on the stand, nose up and right wing down positive. [rad]
    hydrometer : float
        Reading of a soda-glass hydrometer in a sample. [kg/m³]
    sample_temperature, tank_temperature : float
        Of the sample when it was read, and of the fuel in the tanks. [K]

    Returns
    -------
    Sheet

    Raises
    ------
    FigureError
        If an input is not one that a stand, a stick or a fuel can have.
    """
    _check(aircraft, reads, pitch, roll)
    fuel_density("hydrometer", hydrometer)
    fuel_temperature("sample_temperature", sample_temperature)
    fuel_temperature("tank_temperature", tank_temperature)
    up = up_direction(pitch, roll)
    density_15 = density_15_step("hydrometer", hydrometer, sample_temperature)
    correction = volume_correction_step(density_15.value, tank_temperature)
    givens = [
        Given("pitch", "Pitch on the stand, nose up positive", pitch, "°"),
        Given("roll", "Roll on the stand, right wing down positive", roll, "°"),
        Given("hydrometer", "Hydrometer reading", hydrometer, "kg/m³", "soda glass, 15 °C"),
        Given("sample", "Temperature of the sample", sample_temperature, "°C"),
        Given("fuel", "Temperature of the fuel in the tanks", tank_temperature, "°C"),
        *density_15.givens, *correction.givens,
        Given("share", "Difference from the gauge that is taken", GAUGE_SHARE, "%",
              COMMON_PRACTICE),
    ]  # fmt: skip
    steps = [density_15.step, correction.step, _density_step()]
    for index, read in enumerate(reads, start=1):
        more, work = _tank_part(aircraft, read, up, index)
        givens += more
        steps += work
    steps += [_total_step(len(reads)), _decision_step(len(reads))]
    sheet = Sheet(
        name="stand",
        title="Quantity on the stand",
        lead="Sticks are read on a stand that slopes. What mass do they tell, and do the gauges "
        "agree?",
        givens=tuple(givens),
        steps=tuple(steps),
        cautions=(TRAINING_AID, *_stick_cautions(aircraft, reads)),
        sources=(
            "ASTM D1250-80, Tables 53B and 54B (API MPMS 11.1, IP 200)",
            "14 CFR 25.1337(b): a gauge reads zero at unusable fuel in level flight",
        ),
        objectives=("sticks", "density", "quantity"),
    )
    return with_telling_slips(sheet)


def _check(aircraft, reads, pitch, roll):
    if not reads:
        raise FigureError("reads: there is none; give at least one stick that was read.")
    number("pitch", pitch, "°", low=radians(-10.0), high=radians(10.0), hint="Give radians.")
    number("roll", roll, "°", low=radians(-10.0), high=radians(10.0), hint="Give radians.")
    names = tuple(stick.name for stick in aircraft.sticks)
    tanks = []
    for read in reads:
        choice("stick", read.stick, names)
        number(f"gauge at {read.stick}", read.gauge, "kg", low=0.0)
        part = aircraft.by_name[read.stick]
        number(f"reading of {read.stick}", read.reading, "cm", low=0.0, high=part.length)
        tanks.append(part.tank)
    twice = next((tank for tank in tanks if tanks.count(tank) > 1), None)
    if twice:
        raise FigureError(f"reads: {twice} is there twice; read one stick for each tank.")


def _stick_cautions(aircraft, reads):
    kinds = dict.fromkeys(_KINDS[aircraft.by_name[read.stick].kind] for read in reads)
    return tuple(CAUTIONS[kind] for kind in kinds)


def stick_scale(part):
    """Return a stick of an aircraft as the physics room knows it."""
    x, y, base = part.foot
    return Stick(x, y, base, base + part.length, _KINDS[part.kind])


def unusable_in(aircraft, tank):
    """Return the volume below a tank's lowest opening in level flight: the gauge's zero. [m³]"""
    places = [position for _, position in aircraft.openings_of(tank.name)]
    if not places:
        return 0.0
    return unusable_volume(tank.solid, min(places, key=lambda at: at[2]), [(0.0, 0.0, 1.0)])


def _tank_part(aircraft, read, up, index):
    """Givens and steps of one stick."""
    part = aircraft.by_name[read.stick]
    tank, scale = aircraft.tank(part.tank), stick_scale(part)
    tilted = level_table(tank.solid, up)
    right = _rows(scale, tilted, read.reading)
    level = _rows(scale, tank.levels, read.reading)
    unusable = rounded(unusable_in(aircraft, tank), LITRE)
    title = tank.title.lower()
    givens = (
        Given(f"reading {index}", f"Reading of the {part.name}", read.reading, "cm",
              "depth of fuel" if part.kind == "magnetic" else "how far it was pulled"),
        Given(f"table {index}", f"Stick table, {part.name}, this attitude", row_text(right)),
        Given(f"level table {index}", "The same, aircraft level", row_text(level)),
        Given(f"unusable {index}", f"Unusable in the {title}", unusable, "l",
              "below its lowest opening; a stick reads it, a gauge does not"),
        Given(f"gauge {index}", f"Gauge of the {title}", read.gauge, "kg", "usable fuel"),
    )  # fmt: skip
    return givens, _tank_steps(index, title, right, level, tilted, scale, read)


def _tank_steps(index, title, right, level, tilted, scale, read):
    volume, mass = f"volume {index}", f"mass {index}"
    return (
        Step(
            volume, f"Volume in the {title}",
            (f"reading {index}", f"table {index}", f"level table {index}"),
            "between the two rows of the table of this attitude, in proportion to the reading",
            "l", lambda reading, *_: between_rows(right, reading), tolerance=8.0, relative=0.003,
            source="exact shape of the tank, to the litre",
            slips=(Slip("slope ignored", "The table of the level aircraft was used.",
                        lambda reading, *_: between_rows(level, reading)),),
        ),
        Step(
            mass, f"Usable mass in the {title}", (volume, f"unusable {index}", "density"),
            "(volume - unusable) × density in the tank", "kg",
            lambda litres, left, dense: (litres - left) * dense, tolerance=8.0, relative=0.002,
            source="14 CFR 25.1337(b) for the zero of the gauge",
            slips=(
                Slip("density inverted", "The volume was divided by the density.",
                     lambda litres, left, dense: (litres - left) / LITRE / (dense * LITRE)),
                Slip("litres read as kg", "The volume in litres was written as kilograms.",
                     lambda litres, left, _: (litres - left) / LITRE),
                Slip("unusable included", "What is unusable was not taken off.",
                     lambda litres, _, dense: litres * dense),
            ),
        ),
        Step(
            f"difference {index}", f"Gauge less stick, {title}", (f"gauge {index}", mass),
            "gauge - usable mass by stick", "kg", lambda gauge, own: gauge - own,
            tolerance=round(16.0 + 0.001 * read.gauge),
        ),
    )  # fmt: skip


def _density_step():
    return Step(
        "density", "Density in the tanks", ("density 15", "correction"),
        "density at 15 °C × volume correction factor", "kg/l", lambda base, factor: base * factor,
        tolerance=0.0008, source="ASTM D1250-80, Table 54B",
        slips=(Slip("correction with the wrong sense",
                    "The density was divided by the factor: cold fuel is denser, not lighter.",
                    lambda base, factor: base / factor),),
    )  # fmt: skip


def _total_step(count):
    return Step(
        "total", "Usable mass by sticks, tanks that were checked",
        tuple(f"mass {index}" for index in range(1, count + 1)), "sum of the masses", "kg",
        lambda *masses: sum(masses), tolerance=16.0, relative=0.002,
    )  # fmt: skip


def _decision_step(count):
    names = [f"{word} {index}" for word in ("difference", "gauge") for index in range(1, count + 1)]
    return Step(
        "decision", "Do the gauges agree?", (*names, "share"),
        "investigate if in any tank the difference is larger than the share of its gauge", "",
        partial(_decide, count), options=(GO, INVESTIGATE), source=COMMON_PRACTICE, marks=2.0,
    )  # fmt: skip


def _decide(count, *values):
    share = values[-1]
    pairs = zip(values[:count], values[count : 2 * count], strict=True)
    beyond = any(abs(difference) > share * gauge for difference, gauge in pairs)
    return INVESTIGATE if beyond else GO


def _rows(scale, table, reading):
    """The two rows of a stick table around a reading: (reading [m], volume [m³] to the litre)."""
    step = min(_ROW, scale.full_scale)
    low = min(step * int(reading / step + 1e-9), scale.full_scale - step)
    return tuple(
        (round(at, 4), rounded(volume_of_reading(scale, table, at), LITRE))
        for at in (low, low + step)
    )


# --------------------------------------------------------------------------------------- drawing
def without_sticks(aircraft):
    """Return a sentence if an aircraft has no sticks, or nothing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> without_sticks(load_aircraft("halbrook-180"))
    ''
    """
    if aircraft.sticks:
        return ""
    return (
        f"{aircraft.name}: sticks are missing, so there is nothing to read on the stand. Add "
        "[[sticks]] to the aircraft's file."
    )


def draw_stand(aircraft, draw):
    """Return a sheet of sticks on a sloping stand that follows from a number.

    Raises
    ------
    FigureError
        If the aircraft has no sticks.
    """
    if sentence := without_sticks(aircraft):
        raise FigureError(sentence)
    return first_fair(partial(_drawn, aircraft), "stand", aircraft.identifier, draw)


def _drawn(aircraft, lot):
    pitch = radians(lot.between(-1.5, 1.5, "pitch", step=0.25))
    roll = radians(lot.between(-1.0, 1.0, "roll", step=0.25))
    density_15 = lot.between(780.0, 826.0, "density")
    sample = ZERO_CELSIUS + lot.whole(2, 30, "sample")
    fuel = ZERO_CELSIUS + lot.whole(-8, 30, "fuel")
    hydrometer = rounded(reading_of(density_15, sample), 0.5)
    truth = density_15_from_reading(hydrometer, sample)
    reads = _drawn_reads(aircraft, lot, pitch, roll, density(truth, fuel))
    if reads is None or volume_correction_factor(truth, fuel) == 1.0:
        return None
    sheet = stand_sheet(
        aircraft, reads, pitch=pitch, roll=roll, hydrometer=hydrometer,
        sample_temperature=sample, tank_temperature=fuel,
    )  # fmt: skip
    trapped = all(step.slips for step in sheet.steps if step.name.startswith("volume "))
    return sheet if trapped else None  # a stand whose slope makes no difference teaches nothing


def _drawn_reads(aircraft, lot, pitch, roll, dense):
    """A stick of each of two tanks that lie on either side, or of one; None if one is not wet."""
    first = lot.one_of(aircraft.sticks, "stick")
    x, y, _ = first.foot
    alike = [s for s in aircraft.sticks if s.tank != first.tank
             and abs(s.foot[0] - x) < 1e-6 and abs(s.foot[1] + y) < 1e-6]  # fmt: skip
    fill, grain = lot.between(0.15, 0.9, "fill"), scale_of(aircraft).grain
    wrong = lot.one_of((first, *alike), "wrong") if lot.chance(0.5, "fault") else None
    reads = []
    for part in (first, *alike[:1]):
        tank, scale = aircraft.tank(part.tank), stick_scale(part)
        volume = fill * lot.between(0.97, 1.03, part.name) * tank.refuelled_volume
        tilted = level_table(tank.solid, up_direction(pitch, roll))
        reading = stick_reading(scale, tilted, volume)
        if reading is None or not 0.02 < reading < scale.full_scale - 0.02:
            return None
        error = lot.between(0.05, 0.15, "error") if part is wrong else 0.0
        sense = lot.one_of((-1.0, 1.0), "sense")
        small = lot.between(-0.008, 0.008, f"play of {part.name}")
        mass = (volume - unusable_in(aircraft, tank)) * dense * (1.0 + sense * error + small)
        reads.append(StickRead(part.name, rounded(reading, _MILLIMETRE), rounded(mass, grain)))
    return tuple(reads)
