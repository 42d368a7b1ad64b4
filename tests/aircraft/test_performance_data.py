"""What the loader promises of the sections [mass_limits] and [performance]."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from fuelkit.aircraft import load
from fuelkit.aircraft.load import aircraft_from, load_aircraft
from fuelkit.aircraft.reading import DataFileError
from fuelkit.figures.performance import performance_of
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.atmosphere import air

KIT = ("halbrook-40", "halbrook-180", "halbrook-300")


def faults_of(content):
    """Return what the loader finds wrong with a content."""
    with pytest.raises(DataFileError) as caught:
        aircraft_from(content, "halbrook-180.toml")
    return caught.value.faults


@pytest.mark.parametrize("name", KIT)
def test_every_aircraft_of_the_kit_can_be_planned(name):
    """Tables and limits are there, and the usual zero-fuel mass is an allowed one."""
    aircraft = load_aircraft(name)
    own = aircraft.mass_limits
    assert own.dry_operating < aircraft.masses.zero_fuel <= own.zero_fuel
    assert own.zero_fuel <= own.landing <= own.take_off
    assert performance_of(aircraft).masses[-1] >= own.take_off


def test_a_file_without_the_sections_stays_readable(content):
    """The sections are optional; only a plan needs them, and then says so in a sentence."""
    del content["mass_limits"], content["performance"]
    aircraft = aircraft_from(content)
    assert aircraft.performance is None and aircraft.mass_limits is None
    with pytest.raises(FigureError, match=r"no performance tables.*\[mass_limits\]"):
        performance_of(aircraft)


def test_tables_need_limits(content):
    """Whether the tables reach far enough can only be told with the limits."""
    del content["mass_limits"]
    assert any("needs a section [mass_limits]" in fault for fault in faults_of(content))


def test_limits_may_stand_alone(content):
    """Masses can be taught without tables."""
    del content["performance"]
    assert aircraft_from(content).mass_limits.take_off == content["mass_limits"]["max_take_off_kg"]


def test_units_become_si(content):
    """ft, NM, min and kg/h stand in the file only."""
    tables, shown = aircraft_from(content).performance, content["performance"]
    assert tables.levels[0] == pytest.approx(shown["levels_ft"][0] * 0.3048)
    assert tables.taxi * 3600.0 == pytest.approx(shown["taxi_kg_h"])
    assert tables.climb_time[1][2] / 60.0 == pytest.approx(shown["climb_min"][1][2])
    assert tables.climb_distance[1][2] / 1852.0 == pytest.approx(shown["climb_nm"][1][2])
    assert tables.cruise[2][1][3] * 3600.0 == pytest.approx(shown["cruise_kg_h"][2][1][3])


def test_true_airspeed_may_stand_for_mach(content):
    """By level, in standard air."""
    table = content["performance"]
    del table["mach"]
    table["true_airspeed_kt"] = [300, 380, 440, 450, 450, 448]
    tables = aircraft_from(content).performance
    speed = tables.mach[0] * air(tables.levels[0]).speed_of_sound
    assert speed * 3600.0 / 1852.0 == pytest.approx(300.0)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("masses_kg", [40000, 39000], "two or more rising numbers"),
        ("masses_kg", [], "two or more rising numbers"),
        ("masses_kg", [45000, 50000, 55000, 60000, 70000, 80000], "dry_operating_kg, 41000"),
        ("masses_kg", [40000, 48000, 56000, 64000, 72000, 77000], "max_take_off_kg, 78000"),
        ("levels_ft", [10000, "20000"], "two or more rising numbers"),
        ("deviations_k", [5, 10, 20], "0 or below to 0 or above"),
        ("mach", [0.52, 0.66, 0.77, 0.78, 0.78], "a list of 6 numbers"),
        ("mach", [0.52, 0.66, 0.77, 0.78, 0.78, 1.2], "below 1"),
        ("ceiling_ft", [1000, 2000, 3000, 4000, 5000, 6000], "at most the one before"),
        ("holding_kg_h", [1860, 2090, 2000, 2560, 2790, 3020], "at least the one before"),
        ("climb_kg", [[1, 2], [3, 4]], "a list of 6 lists of 6 numbers"),
        ("cruise_kg_h", "none", "a list of 3 lists of 6 lists of 6 numbers"),
        ("taxi_kg_h", -1, "greater than 0"),
        ("engines", "rocket", "'turbofan' or 'turboprop'"),
        ("climb_kgs", 1, "Did you mean 'climb_kg'?"),
    ],
)
def test_each_fault_names_the_field_and_what_would_be_right(content, field, value, words):
    """One sentence for each mistake in the tables."""
    content["performance"][field] = value
    assert any(field in fault and words in fault for fault in faults_of(content))


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("max_zero_fuel_kg", 30000, "at least dry_operating_kg"),
        ("max_landing_kg", 60000, "at least max_zero_fuel_kg"),
        ("max_take_off_kg", 66000, "at least max_landing_kg"),
        ("least_take_off_fuel_kg", -5, "at least 0"),
    ],
)
def test_limits_stand_in_their_order(content, field, value, words):
    """Empty, zero-fuel, landing, take-off: each at least the one before."""
    content["mass_limits"][field] = value
    assert any(field in fault and words in fault for fault in faults_of(content))


def test_tables_are_frozen(halbrook):
    """A plan reads them and never writes."""
    with pytest.raises(AttributeError):
        halbrook.performance.taxi = 0.0
    assert replace(halbrook.performance, taxi=1.0) != halbrook.performance


def test_the_guide_s_sections_can_be_planned_with():
    """What the guide shows is a sound pair of sections for the file to begin from."""
    own = Path(load.__file__).parent / "own"
    guide = (own / "describe_your_aircraft.md").read_text(encoding="utf-8")
    block = next(b for b in re.findall(r"```toml\n(.*?)```", guide, re.S) if "[mass_limits]" in b)
    starter = tomllib.loads((own / "starter.toml").read_text(encoding="utf-8"))
    shown = tomllib.loads(block)
    aircraft = aircraft_from({**starter, **shown})
    assert performance_of(aircraft).engines == "turboprop"
    assert set(starter["performance"]) <= set(shown["performance"])
