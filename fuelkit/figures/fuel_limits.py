"""Two limits of fuel in flight: how high it still flows by gravity, and how cold it may become."""

import math
from functools import partial

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import KNOT, first_fair, rounded, scale_of, with_telling_slips
from fuelkit.figures.inputs import (
    COMMON_PRACTICE,
    TRAINING_AID,
    fuel_density,
    fuel_temperature,
    number,
)
from fuelkit.figures.quantities import FigureError, written
from fuelkit.figures.tables import between_rows
from fuelkit.physics.atmosphere import air, total_air_temperature
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.grades import grade, grades
from fuelkit.physics.units import FOOT, KILOPASCAL, MINUTE, STANDARD_GRAVITY
from fuelkit.physics.volatility import gravity_ceiling, vapour_pressure

STAY, DESCEND = "stay", "descend"
GO_ON, ACT = "go on", "keep the fuel warmer"
KEPT = 3.0
"""Margin above the freezing point that operators keep. Common practice, no source. [K]"""

_ROW = 2000.0 * FOOT
_LEVEL = 1000.0 * FOOT


# ---------------------------------------------------------------------------------- gravity feed
def gravity_feed_sheet(altitude, head, loss, need, *, dense, fuel, wide_cut=False):
    """Return the sheet of the ceiling up to which an engine is fed by gravity.

    Parameters
    ----------
    altitude : float
        Present pressure altitude. [m]
    head : float
        Surface of the fuel above the engine's inlet; negative if below. [m]
    loss : float
        Pressure lost in the line at the present flow. [Pa]
    need : float
        Absolute pressure that the engine's inlet needs; at least the vapour pressure counts. [Pa]
    dense : float
        Density of the fuel. [kg/m³]
    fuel : float
        Its temperature. [K]
    wide_cut : bool
        Whether the fuel is a wide-cut and not a kerosene.

    Raises
    ------
    FigureError
        If an input is absurd, or there is no ceiling between sea level and 60 000 ft.
    """
    number("altitude", altitude, "ft", low=0.0, high=60_000.0 * FOOT, hint="Give metres.")
    number("head", head, "m", low=-10.0, high=10.0)
    _pressure("loss", loss)
    _pressure("need", need)
    fuel_density("dense", dense)
    fuel_temperature("fuel", fuel)
    boils = vapour_pressure(fuel, wide_cut=wide_cut)
    needed = max(need, boils)
    gauge = dense * STANDARD_GRAVITY * head - loss
    ceiling = gravity_ceiling(gauge, fuel, margin=needed - boils, wide_cut=wide_cut)
    if not 0.0 <= ceiling < 60_000.0 * FOOT:
        raise FigureError(
            f"need: it is {_kilopascals(needed)}; with a loss of {_kilopascals(loss)} and a head "
            f"of {written(head, 'm')} there is no ceiling between 0 and 60 000 ft. Look at the "
            "pressures: they are in pascals."
        )
    rows = _altitude_rows(ceiling)
    return Sheet(
        name="gravity-feed",
        title="Ceiling for gravity feed",
        lead="The boost pumps are lost. Up to which altitude does the engine still get its fuel "
        "by gravity?",
        givens=(
            Given("altitude", "Present pressure altitude", altitude, "ft"),
            Given("need", "Absolute pressure that the inlet needs", _kilopascals(need)),
            Given("vapour", "Vapour pressure of the fuel at its temperature", _kilopascals(boils),
                  "", written(fuel, "°C")),
            Given("loss", "Lost in the line", _kilopascals(loss)),
            Given("head", "Surface of the fuel above the inlet", head, "m"),
            Given("density", "Density of the fuel", dense, "kg/m³"),
            Given("table", "Standard atmosphere", "; ".join(
                f"{written(at, 'ft')}: {_kilopascals(pressure)}" for pressure, at in rows)),
        ),
        steps=_gravity_steps(needed, loss, rows),
        cautions=(
            TRAINING_AID,
            "A certified ceiling comes from tests: air that leaves the fuel sets it, well before "
            "vapour does. The approved manual's figure counts.",
        ),
        sources=(
            "Pressure at the inlet equal to its need (definition)",
            "ICAO Doc 7488/3, 1993, for the altitude of a pressure",
            "US EPA, AP-42, table 7.1-2, for the vapour pressure",
        ),
        objectives=("gravity-feed",),
    )  # fmt: skip


def _pressure(field, value):
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 3e5:
        raise FigureError(
            f"{field}: it is {value!r} Pa; it must be a number from 0 to 300 000 Pa: 25 kPa is "
            "25 000 Pa."
        )


def _kilopascals(pressure):
    return f"{pressure / KILOPASCAL:.2f} kPa"


def _altitude_rows(ceiling):
    """Two rows around a ceiling: (pressure [Pa], altitude [m])."""
    low = _ROW * int(ceiling / _ROW)
    return tuple((rounded(float(air(at).pressure), 10.0), round(at, 6)) for at in (low, low + _ROW))


def _gravity_steps(needed, loss, rows):
    def ceiling(_need, _vapour, _loss, head, dense, _table):
        return between_rows(rows, needed + loss - head * dense * STANDARD_GRAVITY)

    def head_added(_need, _vapour, _loss, head, dense, _table):
        return between_rows(rows, needed + loss + head * dense * STANDARD_GRAVITY)

    def loss_left_out(_need, _vapour, _loss, head, dense, _table):
        return between_rows(rows, needed - head * dense * STANDARD_GRAVITY)

    return (
        Step(
            "ceiling", "Ceiling for gravity feed",
            ("need", "vapour", "loss", "head", "density", "table"),
            "what the inlet needs (the vapour pressure, if that is more) + loss - head × density "
            "× 9.81 must be there outside; the altitude of that pressure, between the two rows",
            "ft", ceiling, tolerance=250.0, source="ICAO Doc 7488/3, 1993", marks=3.0,
            slips=(
                Slip("head added", "The head of fuel was added: it helps.", head_added),
                Slip("loss left out", "The loss in the line was left out.", loss_left_out),
            ),
        ),
        Step(
            "level", "Highest altitude to be used", ("ceiling",),
            "the ceiling, down to the next full 1 000 ft", "ft",
            lambda top: _LEVEL * math.floor(top / _LEVEL + 1e-9), tolerance=1.0,
            slips=(Slip("rounded up", "The ceiling was rounded up.",
                        lambda top: _LEVEL * math.ceil(top / _LEVEL)),),
        ),
        Step(
            "decision", "What is done?", ("altitude", "level"),
            "descend if the present altitude is above the highest to be used", "",
            lambda now, level: DESCEND if now > level + 1e-3 else STAY, options=(STAY, DESCEND),
        ),
    )  # fmt: skip


def draw_gravity_feed(aircraft, draw):
    """Return a sheet of the ceiling for gravity feed that follows from a number."""
    return first_fair(partial(_drawn_gravity, aircraft), "gravity-feed", aircraft.identifier, draw)


def _drawn_gravity(aircraft, lot):
    engines = [c for c in aircraft.consumers if c.kind == "engine"]
    need = engines[0].least_pressure if engines else 0.0
    if not 20.0 <= need / KILOPASCAL <= 60.0:  # its file does not say: a need of our own
        need = KILOPASCAL * lot.whole(30, 55, "need")
    high = 38_000 if scale_of(aircraft).speed > 300.0 * KNOT else 25_000
    loss = KILOPASCAL * lot.between(4.0, 18.0, "loss", step=0.5)
    head = lot.between(0.25, 1.6, "head", step=0.05)
    try:
        sheet = gravity_feed_sheet(
            FOOT * 1000 * lot.whole(8, high // 1000, "altitude"), head, loss, need,
            dense=rounded(lot.between(785.0, 825.0, "density"), 0.5),
            fuel=ZERO_CELSIUS + lot.whole(-20, 35, "fuel"),
            wide_cut=lot.chance(0.25, "wide-cut"),
        )  # fmt: skip
    except FigureError:
        return None
    above = sheet.worked()["ceiling"] % _LEVEL
    return sheet if 300.0 * FOOT < above < _LEVEL - 300.0 * FOOT else None


# -------------------------------------------------------------------------------------- freezing
def freezing_sheet(grade_before, grade_added, fuel, outside, mach, *, time, constant):
    """Return the sheet of the margin to the freezing point.

    Parameters
    ----------
    grade_before, grade_added : str
        Grade of what was on board and of what was taken on.
    fuel : float
        Coldest tank now. [K]
    outside : float
        Static air temperature of the cruise to come. [K]
    mach : float
        [-]
    time : float
        Of the cruise to come. [s]
    constant : float
        Time constant with which the tank follows the air. [s]

    Raises
    ------
    FigureError
        If an input is absurd or a grade is unknown.
    """
    first, second = _grade("grade_before", grade_before), _grade("grade_added", grade_added)
    fuel_temperature("fuel", fuel)
    number("outside", outside, "°C", low=173.15, high=333.15, hint="Give kelvin.")
    if isinstance(mach, bool) or not isinstance(mach, int | float) or not 0.0 <= mach < 1.0:
        raise FigureError(f"mach: it is {mach!r}; it must be a number from 0 to below 1.")
    number("time", time, "h:mm", above=0.0, high=72_000.0, hint="Give seconds.")
    number("constant", constant, "h:mm", above=0.0, high=360_000.0, hint="Give seconds.")
    sheet = Sheet(
        name="freezing",
        title="Margin to the freezing point",
        lead="A long cold cruise lies ahead. How cold will the coldest tank be at its end?",
        givens=(
            Given("freezing before", f"Freezing point, {first.name} on board",
                  first.freezing_point, "°C", first.source),
            Given("freezing added", f"Freezing point, {second.name} taken on",
                  second.freezing_point, "°C", second.source),
            Given("fuel", "Coldest tank now", fuel, "°C"),
            Given("outside", "Static air temperature of the cruise", outside, "°C"),
            Given("mach", "Mach number", f"{mach:.2f}"),
            Given("time", "Time of cruise to come", time, "h:mm"),
            Given("constant", "Time constant of the tank", constant, "h:mm"),
            Given("kept", "Margin that is kept", KEPT, "K", COMMON_PRACTICE),
        ),
        steps=(*_cooling_steps(mach), *_margin_steps()),
        cautions=(
            TRAINING_AID,
            "Fly lower, faster or in warmer air before fuel gels, not after; the approved "
            "procedure says which.",
        ),
        sources=(
            "Specifications of the grades, named beside them",
            f"Fuel that follows the total air temperature: {COMMON_PRACTICE}",
        ),
        objectives=("freezing",),
    )  # fmt: skip
    return with_telling_slips(sheet)


def _grade(field, name):
    try:
        return grade(name)
    except ValueError as problem:
        raise FigureError(f"{field}: {problem}") from None


def _cooling_steps(mach):
    factor = 0.2 * mach**2

    def in_celsius(outside, _):
        return (outside - ZERO_CELSIUS) * (1.0 + factor) + ZERO_CELSIUS

    return (
        Step(
            "total", "Total air temperature", ("outside", "mach"),
            "static air temperature in kelvin × (1 + 0.2 × Mach²)", "°C",
            lambda outside, _: float(total_air_temperature(outside, mach)), tolerance=0.6,
            source="compressible flow (any textbook; from memory)",
            slips=(
                Slip("worked in °C", "The factor was put on degrees Celsius and not on kelvin.",
                     in_celsius),
                Slip("static taken", "Static air temperature was taken for total.",
                     lambda outside, _: outside),
            ),
        ),
        Step(
            "coldest", "Coldest tank at the end", ("total", "fuel", "time", "constant"),
            "total air temperature + (fuel now - total air temperature) × e^(-time ÷ constant)",
            "°C", lambda air, now, time, constant: air + (now - air) * math.exp(-time / constant),
            tolerance=0.8, source=f"Newton's law of cooling: {COMMON_PRACTICE}", marks=2.0,
            slips=(Slip("all the way", "The fuel was taken to be as cold as the air at once.",
                        lambda air, *_: air),),
        ),
    )  # fmt: skip


def _margin_steps():
    return (
        Step(
            "freezing", "Freezing point that counts", ("freezing before", "freezing added"),
            "the warmer of the two: a mixture counts as the one that freezes first", "°C",
            lambda one, other: max(one, other), tolerance=0.1, source=COMMON_PRACTICE,
            slips=(
                Slip("the colder one", "The colder of the two was taken.",
                     lambda one, other: min(one, other)),
                Slip("the mean", "The mean of the two was taken.",
                     lambda one, other: 0.5 * (one + other)),
            ),
        ),
        Step(
            "margin", "Margin at the end", ("coldest", "freezing"),
            "coldest tank - freezing point", "K", lambda cold, freezing: cold - freezing,
            tolerance=1.0,
            slips=(Slip("with the wrong sign", "Freezing point less temperature.",
                        lambda cold, freezing: freezing - cold),),
        ),
        Step(
            "decision", "What is done?", ("margin", "kept"),
            "keep the fuel warmer if the margin is less than what is kept", "",
            lambda margin, kept: GO_ON if margin >= kept else ACT, options=(GO_ON, ACT),
            source=COMMON_PRACTICE,
        ),
    )  # fmt: skip


def draw_freezing(aircraft, draw):
    """Return a sheet of the margin to the freezing point that follows from a number."""
    return first_fair(partial(_drawn_freezing, aircraft), "freezing", aircraft.identifier, draw)


def _drawn_freezing(aircraft, lot):
    fast = scale_of(aircraft).speed > 300.0 * KNOT
    mach = rounded(lot.between(0.74, 0.82, "mach") if fast else lot.between(0.36, 0.46, "mach"),
                   0.01)  # fmt: skip
    outside = lot.whole(-74, -52, "outside") if fast else lot.whole(-56, -38, "outside")
    warming = aircraft.warming
    constant = warming.empty + lot.between(0.2, 0.8, "fill") * (warming.full - warming.empty)
    names = [name for name, found in grades().items() if found.flash_point is not None]
    sheet = freezing_sheet(
        lot.one_of(names, "before"), lot.one_of(names, "added"),
        ZERO_CELSIUS + lot.whole(-24, 0, "fuel"), ZERO_CELSIUS + outside, mach,
        time=MINUTE * 5 * lot.whole(12, 60, "time"), constant=rounded(constant, 5.0 * MINUTE),
    )  # fmt: skip
    # Most cruises end warm enough: some of these are left out, so that both answers come up.
    warm = sheet.worked()["decision"] == GO_ON
    return None if warm and lot.chance(0.85, "left out") else sheet
