"""Grades of jet fuel: freezing point, density range, flash point, heat. Knows no aircraft."""

import difflib
import functools
import tomllib
from dataclasses import dataclass
from pathlib import Path

from fuelkit.physics.fuel import ZERO_CELSIUS

_FILE = Path(__file__).with_name("data") / "fuel_grades.toml"
_SCHEMA = 1


@dataclass(frozen=True)
class Grade:
    """Limits that a specification sets for one grade of fuel. Frozen.

    name : str
        Name of the grade.
    freezing_point : float
        Highest freezing point allowed. [K]
    lightest, heaviest : float
        Density allowed at 15 °C. [kg/m³]
    flash_point : float or None
        Lowest flash point allowed; None if there is no limit. [K]
    net_heat : float
        Least net heat of combustion. [J/kg]
    source, seen : str
        The specification, and whether its figures were seen or are from memory.
    """

    name: str
    freezing_point: float
    lightest: float
    heaviest: float
    flash_point: float | None
    net_heat: float
    source: str
    seen: str


@functools.cache
def grades():
    """Return the usual grades of jet fuel by name.

    Returns
    -------
    dict of str to Grade
        In the order of the data file, each with its source.

    Raises
    ------
    ValueError
        If the data file is of another schema.

    Examples
    --------
    >>> list(grades())
    ['Jet A-1', 'Jet A', 'Jet B', 'TS-1']
    """
    content = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    if content.get("schema") != _SCHEMA:
        raise ValueError(
            f"{_FILE.name}: schema is {content.get('schema')}; this version reads {_SCHEMA}. "
            "Install the course again."
        )
    return {row["name"]: _grade(row) for row in content["grades"]}


def grade(name):
    """Return one grade of jet fuel.

    Parameters
    ----------
    name : str
        Its name, as `Jet A-1`.

    Returns
    -------
    Grade
        Its limits.

    Raises
    ------
    ValueError
        If there is no such grade, with the nearest name.

    References
    ----------
    Named grade by grade in the data file `fuel_grades.toml`.

    Examples
    --------
    >>> round(grade("Jet A-1").freezing_point - 273.15, 6)
    -47.0
    """
    known = grades()
    if name not in known:
        close = difflib.get_close_matches(str(name), known, n=1, cutoff=0.4)
        hint = f" Did you mean '{close[0]}'?" if close else ""
        raise ValueError(f"fuel: grade is '{name}'; known are {', '.join(known)}.{hint}")
    return known[name]


def freezing_margin(temperature, freezing_point):
    """Return how far fuel is above its freezing point.

    Parameters
    ----------
    temperature : float or ndarray
        Fuel temperature. [K]
    freezing_point : float
        Of the fuel on board: measured, or the limit of its grade. A mixture of grades counts as
        the one that freezes first. [K]

    Returns
    -------
    float or ndarray
        Margin; negative below the freezing point. Operators keep some 3 K of it (common practice,
        no source). [K]

    References
    ----------
    A difference; the freezing points' sources stand with the grades.

    Examples
    --------
    >>> round(freezing_margin(233.15, grade("Jet A-1").freezing_point), 6)
    7.0
    """
    return temperature - freezing_point


def heat_content(mass, net_heat):
    """Return the energy that burning a mass of fuel sets free.

    Parameters
    ----------
    mass : float
        Mass of fuel. [kg]
    net_heat : float
        Net heat of combustion: measured, or the least of its grade. [J/kg]

    Returns
    -------
    float
        Energy. [J]

    References
    ----------
    Mass times specific energy (definition).

    Examples
    --------
    The least energy of an uplift of 5 t, in gigajoules:

    >>> round(heat_content(5000.0, grade("Jet A-1").net_heat) / 1e9, 6)
    214.0
    """
    return mass * net_heat


def _grade(row):
    lightest, heaviest = row["density_15"]
    flash_point = row.get("flash_point_c")
    return Grade(
        name=row["name"],
        freezing_point=ZERO_CELSIUS + row["freezing_point_c"],
        lightest=lightest,
        heaviest=heaviest,
        flash_point=None if flash_point is None else ZERO_CELSIUS + flash_point,
        net_heat=1e6 * row["net_heat_mj_kg"],
        source=row["source"],
        seen=row["seen"],
    )
