"""Grades of fuel against their specifications, freezing margin, heat, and the data file itself."""

import math

import numpy as np
import pytest

from fuelkit.physics import grades as module
from fuelkit.physics.fuel import ZERO_CELSIUS, density
from fuelkit.physics.grades import freezing_margin, grade, grades, heat_content


@pytest.mark.parametrize(
    ("name", "freezing", "flash"),
    # ASTM D1655 and DEF STAN 91-091, seen in secondary copies.
    [("Jet A-1", -47.0, 38.0), ("Jet A", -40.0, 38.0)],
)
def test_a_grade_has_the_limits_of_its_specification(name, freezing, flash):
    """Freezing and flash point, and the density range 775 to 840 kg/m³."""
    found = grade(name)
    assert found.freezing_point == pytest.approx(ZERO_CELSIUS + freezing, abs=1e-9)
    assert found.flash_point == pytest.approx(ZERO_CELSIUS + flash, abs=1e-9)
    assert (found.lightest, found.heaviest) == (775.0, 840.0)


def test_every_grade_is_whole_and_says_where_it_comes_from():
    """Within what the density table covers, with a source, and with a word on who saw it."""
    assert len(grades()) >= 4
    for name, found in grades().items():
        assert found.name == name and found.source and "memory" in found.seen
        assert 653.0 <= found.lightest < found.heaviest <= 1075.0
        assert density(found.lightest, found.freezing_point) > found.lightest
        assert 40e6 < found.net_heat < 46e6
        assert found.flash_point is None or found.flash_point > 290.0


def test_the_margin_is_the_difference():
    """Jet A at -37 °C has 3 K left; at -42 °C it is 2 K below; arrays as well."""
    point = grade("Jet A").freezing_point
    assert freezing_margin(ZERO_CELSIUS - 37.0, point) == pytest.approx(3.0, abs=1e-9)
    margins = freezing_margin(ZERO_CELSIUS + np.array([-42.0, -40.0]), point)
    assert margins == pytest.approx([-2.0, 0.0], abs=1e-9)


def test_energy_of_an_uplift():
    """42.8 MJ/kg (the least of Jet A-1, from memory): 10 000 L at 800 kg/m³ hold 342.4 GJ."""
    mass = 10.0 * density(800.0, 288.15)
    assert heat_content(mass, grade("Jet A-1").net_heat) == pytest.approx(342.4e9, rel=1e-12)


@pytest.mark.parametrize("wrong", ["Jet A1", "jet a-1", "Jet-A-1"])
def test_a_misspelt_grade_is_named_with_the_nearest(wrong):
    """And all known ones are listed."""
    with pytest.raises(ValueError, match=rf"grade is '{wrong}'; .*TS-1.*Did you mean 'Jet A"):
        grade(wrong)


def test_a_data_file_of_another_schema_is_refused(tmp_path, monkeypatch):
    """With the number found and the number read."""
    other = tmp_path / "fuel_grades.toml"
    other.write_text("schema = 2\n", encoding="utf-8")
    monkeypatch.setattr(module, "_FILE", other)
    grades.cache_clear()
    try:
        with pytest.raises(ValueError, match="schema is 2; this version reads 1"):
            grades()
    finally:
        grades.cache_clear()


def test_a_grade_cannot_be_changed():
    """Frozen: one flight's fuel is not another's."""
    with pytest.raises(AttributeError):
        grade("Jet A").freezing_point = math.nan
