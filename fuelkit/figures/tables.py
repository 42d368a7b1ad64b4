"""Excerpts of printed tables, as a sheet gives them: two rows, and what lies between them."""

from dataclasses import dataclass

from fuelkit.figures.chain import Given, Slip, Step
from fuelkit.figures.draws import rounded
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.fuel import ZERO_CELSIUS, volume_correction_factor
from fuelkit.physics.hydrometer import density_15_from_reading

_ROW = 5.0  # kg/m³ between rows of the density tables


@dataclass(frozen=True)
class TableStep:
    """A step that is looked up in an excerpt. Frozen.

    givens : tuple of Given
        The excerpt, as text.
    step : Step
    value : float
        What it gives from the right inputs, SI.
    """

    givens: tuple
    step: Step
    value: float


def between_rows(rows, at):
    """Return the value that lies at `at` on the straight line through the two rows of a table.

    Examples
    --------
    >>> between_rows(((0.20, 1.0), (0.22, 1.2)), 0.205)
    1.05
    """
    (low, first), (high, second) = rows
    return round(first + (second - first) * (at - low) / (high - low), 12)


def row_text(rows):
    """Return rows of a stick table in words.

    Examples
    --------
    >>> row_text(((0.20, 1.234), (0.22, 1.402)))
    '20.0 cm: 1 234 l; 22.0 cm: 1 402 l'
    """
    return "; ".join(f"{written(at, 'cm')}: {written(volume, 'l')}" for at, volume in rows)


def density_15_step(name, reading, temperature):
    """Return the step from a hydrometer's reading [kg/m³] to the density at 15 °C.

    Parameters
    ----------
    name : str
        Of the given that holds the reading.
    reading : float
        [kg/m³]
    temperature : float
        Of the sample when it was read. [K]
    """
    low = _ROW * int(reading / _ROW)
    try:
        rows = tuple((at, density_15_from_reading(at, temperature)) for at in (low, low + _ROW))
    except ValueError as problem:
        raise FigureError(str(problem)) from None
    text = "; ".join(f"{at:.0f} read: {value:.1f}" for at, value in rows)
    label = f"Table 53B at {written(temperature, '°C')}, kg/m³"
    step = Step(
        "density 15", "Density at 15 °C", (name, "table 53B"),
        "between the two rows of the table, in proportion to the reading", "kg/m³",
        lambda value, _: between_rows(rows, value), tolerance=0.4,
        source="ASTM D1250-80, Table 53B (API MPMS 11.1, IP 200)",
        slips=_uncorrected(rows, reading),
    )  # fmt: skip
    return TableStep((Given("table 53B", label, text),), step, between_rows(rows, reading))


def _uncorrected(rows, reading):
    """The slip of taking the reading for the density at 15 °C, where that makes a difference."""
    if abs(between_rows(rows, reading) - reading) < 1.0:
        return ()
    return (
        Slip("reading not corrected", "The reading was taken as the density at 15 °C.",
             lambda value, _: value),
    )  # fmt: skip


def volume_correction_step(density_15, temperature, *, name="density 15"):
    """Return the step from the density at 15 °C [kg/m³] to the volume correction factor, in %.

    Parameters
    ----------
    density_15 : float
        [kg/m³]
    temperature : float
        Of the fuel. [K]
    name : str
        Of the given or step that holds the density.
    """
    low = _ROW * int(density_15 / _ROW)
    try:
        rows = tuple((at, volume_correction_factor(at, temperature)) for at in (low, low + _ROW))
    except ValueError as problem:
        raise FigureError(str(problem)) from None
    text = "; ".join(f"{at:.0f}: {100.0 * value:.2f} %" for at, value in rows)
    label = f"Table 54B at {temperature - ZERO_CELSIUS:.1f} °C, by density at 15 °C"
    step = Step(
        "correction", "Volume correction factor, in %", (name, "table 54B"),
        "between the two rows of the table, in proportion to the density at 15 °C", "%",
        lambda value, _: between_rows(rows, value), tolerance=0.06,
        source="ASTM D1250-80, Table 54B (API MPMS 11.1, IP 200)",
    )  # fmt: skip
    value = rounded(between_rows(rows, density_15), 1e-6)
    return TableStep((Given("table 54B", label, text),), step, value)
