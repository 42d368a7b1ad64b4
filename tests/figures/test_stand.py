"""Quantity on the stand: sticks on a slope to mass, and the gauges beside them."""

import math
from dataclasses import replace

import pytest

from fuelkit.figures.quantities import FigureError
from fuelkit.figures.stand import (
    GAUGE_SHARE,
    GO,
    INVESTIGATE,
    StickRead,
    draw_stand,
    stand_sheet,
    stick_scale,
    unusable_in,
)
from fuelkit.physics.attitude import up_direction
from fuelkit.physics.fuel import density
from fuelkit.physics.hydrometer import density_15_from_reading, reading_of
from fuelkit.physics.solid import level_table
from fuelkit.physics.sticks import stick_reading, volume_of_reading
from fuelkit.survey.tank_checks import tank_checks
from tests.figures.fleet import FLEET, aircraft

CONDITIONS = {
    "pitch": math.radians(1.0), "roll": math.radians(-0.5), "hydrometer": 800.0,
    "sample_temperature": 288.15, "tank_temperature": 288.15,
}  # fmt: skip
H180 = "halbrook-180"
LEFT = StickRead("left inner indicator", 0.235, 2000.0)
WITH_STICKS = [name for name in FLEET if aircraft(name).sticks]


def sheet(reads=(LEFT,), **changed):
    """The sheet of a Halbrook 180 at 15 °C, where nothing is corrected."""
    return stand_sheet(aircraft(H180), reads, **(CONDITIONS | changed))


# ----------------------------------------------------------------------------------- what is true
@pytest.mark.parametrize("name", WITH_STICKS)
@pytest.mark.parametrize("pitch, roll", [(0.0, 0.0), (1.5, -1.0), (-1.25, 0.75)])
@pytest.mark.parametrize("fill", [0.3, 0.6])
def test_the_mass_that_lies_in_a_tank_is_found_again(name, pitch, roll, fill):
    """A known volume makes the stick read; the sheet works back to it, within its tolerance.

    Fuel of 800 kg/m³ at 15 °C and at -40 °C: 840.16 kg/m³, by Table 54B of ASTM D1250-80
    (factor 1.0502, seen).
    """
    own, found = aircraft(name), 0
    angles = {"pitch": math.radians(pitch), "roll": math.radians(roll)}
    for part in own.sticks:
        tank = own.tank(part.tank)
        volume = fill * tank.refuelled_volume
        table = level_table(tank.solid, up_direction(**angles))
        reading = stick_reading(stick_scale(part), table, volume)
        if reading is None:
            continue
        conditions = CONDITIONS | angles | {"tank_temperature": 233.15}
        work = stand_sheet(own, [StickRead(part.name, reading, 0.0)], **conditions)
        usable = (volume - unusable_in(own, tank)) * 800.0 * 1.0502
        assert work.step("mass 1").agrees(work.worked()["mass 1"], usable)
        found += 1
    assert found


@pytest.mark.parametrize(
    "celsius, factor",
    [(-40.0, 1.0502), (-39.0, 1.0493), (-35.0, 1.0457), (-30.0, 1.0412), (-28.8, 1.0402),
     (-25.0, 1.0367), (-22.0, 1.0340)],
)  # fmt: skip
def test_the_density_in_the_tank_is_that_of_the_printed_table(celsius, factor):
    """ASTM D1250-80, Table 54B, jet fuel of 800 kg/m³: printed values, seen."""
    work = sheet(tank_temperature=celsius + 273.15)
    assert work.worked()["density 15"] == pytest.approx(800.0)
    assert work.worked()["density"] == pytest.approx(800.0 * factor, abs=1e-6)


@pytest.mark.parametrize("celsius", [-5.0, 8.0, 22.0, 30.0])
def test_a_hydrometer_reading_goes_back_to_the_density_that_made_it(celsius):
    """ASTM D1250-80, Table 53B, with the correction of soda glass; and back by Table 54B."""
    temperature = 273.15 + celsius
    work = sheet(
        hydrometer=reading_of(812.0, temperature),
        sample_temperature=temperature, tank_temperature=temperature,
    )  # fmt: skip
    step = work.step("density 15")
    assert step.agrees(work.worked()["density 15"], 812.0)
    truth = density(
        density_15_from_reading(reading_of(812.0, temperature), temperature), temperature
    )
    assert work.step("density").agrees(work.worked()["density"], truth)


def test_unusable_fuel_is_what_the_survey_of_the_tanks_finds_in_level_flight():
    """14 CFR 25.1337(b): the gauge reads zero there. Two rooms, one figure."""
    own = aircraft(H180)
    for check in tank_checks(own):
        assert unusable_in(own, check.tank) == pytest.approx(check.unusable_level, rel=1e-9)


def test_on_a_level_stand_ignoring_the_slope_is_no_slip():
    """The table of this attitude is the table of the level aircraft."""
    names = [slip.name for slip in sheet().step("volume 1").slips]
    assert names == ["slope ignored"]
    assert sheet(pitch=0.0, roll=0.0).step("volume 1").slips == ()


def test_unusable_fuel_left_in_is_a_slip_where_it_shows():
    """54 l in an inner tank of the long-range aircraft: 43 kg of a few tonnes."""
    own = aircraft("halbrook-300")
    read = StickRead("left inner inboard stick", 0.30, 4000.0)
    work = stand_sheet(own, [read], **CONDITIONS)
    (slip,) = (s for s in work.step("mass 1").slips if s.name == "unusable included")
    unusable = unusable_in(own, own.tank("left inner"))
    assert slip.work(5.0, unusable, 800.0) == pytest.approx(4000.0)


def test_the_slope_ignored_is_the_level_table():
    """The slip gives the volume that the level aircraft would have."""
    own = aircraft(H180)
    work = sheet()
    slip = work.step("volume 1").slips[0]
    level = volume_of_reading(
        stick_scale(own.by_name[LEFT.stick]), own.tank("left inboard").levels, LEFT.reading
    )
    assert slip.work(0.235, "", "") == pytest.approx(level, abs=0.003)


# -------------------------------------------------------------------------------------- decisions
def test_mass_is_conserved():
    """The sum of the tanks is the total; gauge less difference is the stick."""
    right_side = StickRead("right inner indicator", 0.228, 1950.0)
    values = sheet((LEFT, right_side)).worked()
    assert values["total"] == values["mass 1"] + values["mass 2"]
    assert values["gauge 2"] - values["difference 2"] == pytest.approx(values["mass 2"])


@pytest.mark.parametrize("over, told", [(-0.5, GO), (0.5, INVESTIGATE)])
@pytest.mark.parametrize("sense", [-1.0, 1.0])
def test_the_gauges_agree_up_to_their_share(over, told, sense):
    """3 % of the gauge, common practice, no source: half a kilogram on either side of it."""
    mass = sheet().worked()["mass 1"]
    gauge = (mass + sense * over) / (1.0 - sense * GAUGE_SHARE)
    assert sheet((replace(LEFT, gauge=gauge),)).worked()["decision"] == told


def test_one_tank_that_disagrees_is_enough():
    """Two errors that cancel in the total are still two errors."""
    mass = sheet().worked()["mass 1"]
    alike = StickRead("right inner indicator", 0.235, 0.0)
    level = {"pitch": math.radians(1.0), "roll": 0.0}
    other = sheet((LEFT, alike), **level).worked()["mass 2"]
    mass = sheet((LEFT, alike), **level).worked()["mass 1"]
    reads = (replace(LEFT, gauge=1.1 * mass), replace(alike, gauge=mass + other - 1.1 * mass))
    values = sheet(reads, **level).worked()
    assert values["difference 1"] + values["difference 2"] == pytest.approx(0.0, abs=1e-6)
    assert values["decision"] == INVESTIGATE


# ------------------------------------------------------------------------------------- bad input
@pytest.mark.parametrize(
    "read, told",
    [
        (replace(LEFT, stick="left inner indicater"), "Did you mean 'left inner indicator'"),
        (replace(LEFT, reading=0.5), "reading of left inner indicator: it is 50.0 cm.*at most 42"),
        (replace(LEFT, reading=-0.01), "at least 0.0 cm"),
        (replace(LEFT, reading=math.nan), "must be a number"),
        (replace(LEFT, reading="23.5 cm"), "must be a number"),
        (replace(LEFT, gauge=-1.0), "gauge at left inner indicator: it is -1 kg"),
    ],
)  # fmt: skip
def test_a_stick_that_cannot_be_is_told(read, told):
    """Unknown, off its scale, no number, a text with a unit, a negative gauge."""
    with pytest.raises(FigureError, match=told):
        sheet((read,))


@pytest.mark.parametrize(
    "changed, told",
    [
        ({"pitch": 1.0}, "pitch: it is 57.30 °.*Give radians"),
        ({"hydrometer": 0.8}, "hydrometer: .*0.8 kg/l is 800 kg/m³"),
        ({"hydrometer": math.nan}, "hydrometer: it is nan"),
        ({"sample_temperature": 15.0}, "15 °C is 288.15 K"),
        ({"tank_temperature": math.inf}, "tank_temperature: it is inf"),
    ],
)
def test_conditions_that_cannot_be_are_told(changed, told):
    """Degrees for radians, kg/l for kg/m³, Celsius for kelvin, no number."""
    with pytest.raises(FigureError, match=told):
        sheet(**changed)


def test_no_stick_and_two_of_one_tank_are_told():
    """Two sticks of one tank would count its fuel twice."""
    with pytest.raises(FigureError, match="at least one stick"):
        sheet(())
    with pytest.raises(FigureError, match="left inboard is there twice"):
        sheet((LEFT, StickRead("left middle indicator", 0.1, 2000.0)))


def test_a_drip_stick_brings_its_caution():
    """Fuel runs out of it: gloves, eye protection, no source of ignition."""
    assert any("gloves" in text for text in draw_stand(aircraft("halbrook-40"), 0).cautions)
