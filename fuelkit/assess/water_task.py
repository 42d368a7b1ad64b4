"""Draining water: a sample out of a tank, the night it had, and what is decided on it.

The situation follows from a number. What cold can free from solution is computed, an order of
magnitude; what is decided is common practice, and the approved manual prevails over it.
"""

from dataclasses import dataclass
from functools import lru_cache

from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import LITRE
from fuelkit.physics.water import WATER_DENSITY, dissolved_water, settled_water

WATER_DECISIONS = ("go on", "drain again", "call maintenance")
"""What can be decided on a sample."""

SAMPLES = 3
"""Samples with water from one drain, after which maintenance is called. Our own number; common
practice, no source: the approved manual says how often."""

SAMPLE_VOLUME = 1.0 * LITRE
"""What is drawn for one sample: our own. [m³]"""

CAUTION = (
    "Only those who are authorised drain water, never while the aircraft is refuelled. Gloves and "
    "eye protection, no source of ignition near, the container bonded as local rules ask; the "
    "sample is disposed of as they say, never poured on the ground."
)
"""What to mind: common practice, no source. Local rules prevail."""

# How it looks, and the share of the sample that is water; None if that cannot be seen.
_LOOKS = {
    "clear": ("clear and bright, one liquid, no drops at the bottom", 0.0),
    "bead": ("clear, with a bead of water rolling on the bottom", 0.005),
    "cloudy": ("cloudy, and still cloudy after it has stood for a minute", None),
    "half": ("two liquids with a sharp line between them, half and half", 0.5),
    "all water": ("clear and without any line, and the water detector changes its colour", 1.0),
    "nothing": ("nothing comes out of the drain when it is opened", None),
}
_CLEARLY = 2.0  # times; nearer than this, an order of magnitude decides nothing
_TRIES = 200


@dataclass(frozen=True)
class WaterTask:
    """A sample out of a drain, and what is decided on it. Frozen.

    question, tank, sees : str
    sample : int
        Which sample in a row it is: 1, 2 or 3. Those before it held water.
    volume : float
        Fuel in the tank. [m³]
    warm, cold : float
        Fuel temperature when it was loaded, and now. [K]
    freed, found : float
        Water that cold can have freed at most; water in the sample, None if not seen. [kg]
    decision, reason : str
        One of `WATER_DECISIONS`, and why, as the end of a sentence.
    steps : tuple of str
        The figures behind it, line by line.
    """

    question: str
    tank: str
    sees: str
    sample: int
    volume: float
    warm: float
    cold: float
    freed: float
    found: float | None
    decision: str
    reason: str
    steps: tuple
    caution: str = CAUTION


@lru_cache(maxsize=64)
def water_task(aircraft, draw):
    """Return a task of draining water.

    Parameters
    ----------
    aircraft : Aircraft
    draw : int
        The same number gives the same task, always and on every machine.

    Returns
    -------
    WaterTask

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> task = water_task(load_aircraft("halbrook-180"), 3)
    >>> task.decision in WATER_DECISIONS and task.freed >= 0.0
    True
    """
    look = Lot("water", aircraft.identifier, draw).one_of(tuple(_LOOKS), "look")
    for number in range(_TRIES):
        task = _tried(aircraft, look, Lot("water", aircraft.identifier, draw, number))
        if task:
            return task
    raise AssertionError("water: some night of so many is warm or cold enough")


def _tried(aircraft, look, lot):
    """A task, or None if the figures leave the decision open."""
    tank = aircraft.tank(lot.one_of(_drained(aircraft), "tank"))
    volume = round(tank.refuelled_volume * lot.between(0.15, 0.95, "fill"), 2)
    warm = ZERO_CELSIUS + lot.whole(12, 34, "warm")
    cold = ZERO_CELSIUS + lot.whole(-12, 11, "cold")
    sample = lot.whole(1, SAMPLES, "sample")
    sees, share = _LOOKS[look]
    freed = dissolved_water(volume, warm) - dissolved_water(volume, cold)
    found = None if share is None else share * SAMPLE_VOLUME * WATER_DENSITY
    if (look == "nothing") is not (cold < ZERO_CELSIUS):
        return None  # with ice about, no sample would be trusted
    if look in ("half", "all water") and found / _CLEARLY < freed < found * _CLEARLY:
        return None
    decision, reason = _decided(look, sample, freed, found)
    return WaterTask(
        _question(aircraft, tank, volume, warm, cold, sample, sees), tank.name, sees, sample,
        volume, warm, cold, freed, found, decision, reason,
        _steps(aircraft, tank, volume, warm, cold, freed, found),
    )  # fmt: skip


def _drained(aircraft):
    """Names of the tanks that the walk-around drains; of all that hold fuel if it names none."""
    fuel = [tank.name for tank in aircraft.tanks if tank.holds_fuel]
    named = {n for i in aircraft.walk_around if i.kind == "water drain" for n in i.parts}
    return [name for name in fuel if name in named] or fuel


def _decided(look, sample, freed, found):
    go, again, call = WATER_DECISIONS
    if look == "clear":
        return go, "the sample is fuel alone, and what was drained before it is out"
    if look == "nothing":
        return call, (
            "below 0 °C a drain from which nothing comes is full of ice, and there is water above "
            "it: it is thawed in the approved way and drained again"
        )
    if sample >= SAMPLES:
        return call, (
            f"{SAMPLES} samples in a row have not been clear: the water has a source that "
            "draining does not end"
        )
    if look == "bead":
        return again, "a bead is what settles overnight: it is drained until a sample is clear"
    if look == "cloudy":
        return again, (
            "a cloud that stays is water too fine to sink: it is given time to settle, and "
            "drained until a sample is clear"
        )
    if found > freed:
        return call, (
            "this is far more than cold can have freed from the fuel: it came with a delivery or "
            "with rain, and where it came from is found first"
        )
    return again, (
        "cold can have freed as much as this, and it settles at the drain: it is drained until a "
        "sample is clear"
    )


# --------------------------------------------------------------------------------------- words
def _question(aircraft, tank, volume, warm, cold, sample, sees):
    fuel = f"{volume / LITRE:,.0f}".replace(",", " ")
    before = "" if sample == 1 else f" The {'one' if sample == 2 else 'two'} before it held water."
    return (
        f"{aircraft.name}, {tank.title.lower()}: {fuel} L of fuel, loaded at "
        f"{_celsius(warm)}, are at {_celsius(cold)} after the night. Sample number {sample} of "
        f"{SAMPLE_VOLUME / LITRE:g} L: {sees}.{before} What is decided?"
    )


def _celsius(temperature):
    return f"{temperature - ZERO_CELSIUS:.0f} °C".replace("-", "−")


def _steps(aircraft, tank, volume, warm, cold, freed, found):
    sump = _sump(aircraft, tank)
    steps = [
        f"Fuel of {_celsius(warm)} that was saturated holds at most "
        f"{_litres(dissolved_water(volume, warm))} of water in solution; at {_celsius(cold)} it "
        f"holds {_litres(dissolved_water(volume, cold))}. Cold can have freed "
        f"{_litres(freed)}, an order of magnitude."
    ]
    if sump is not None:
        above = settled_water(freed / WATER_DENSITY, sump)[1]
        reach = "some of it can get into a line" if above > 0.0 else "none of it gets into a line"
        steps.append(
            f"Below its lowest opening the tank holds {_litres(sump * WATER_DENSITY)}: {reach}."
        )
    if found:
        steps.append(f"The sample holds about {_litres(found)} of water.")
    return tuple(steps)


def _sump(aircraft, tank):
    heights = [position[2] for _, position in aircraft.openings_of(tank.name)]
    return tank.levels.volume_below(min(heights)) if heights else None


def _litres(mass):
    volume = mass / WATER_DENSITY / LITRE
    return (
        f"{volume:.3f} L"
        if volume < 0.1
        else f"{volume:.2f} L"
        if volume < 10
        else (f"{volume:.0f} L")
    )
