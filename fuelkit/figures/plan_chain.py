"""A plan sheet while it is put together: givens rounded as written, steps, tolerances."""

from dataclasses import dataclass, field

from fuelkit.figures.chain import Given, Step
from fuelkit.figures.draws import rounded
from fuelkit.figures.quantities import unit_of

TABLES = "performance tables of the aircraft"
"""Where most givens of a plan come from."""

_MASS_TOLERANCE, _SHARE = 10.0, 0.003  # kg, and of the value: what rounding on the way makes
TOLERANCES = {"NM": (2.0, 0.0), "kt": (1.0, 0.0), "h:mm": (1.0, 0.005), "l": (20.0, 0.004)}


@dataclass
class Chain:
    """Givens and steps of a sheet while it is put together."""

    givens: list = field(default_factory=list)
    steps: list = field(default_factory=list)

    def given(self, name, label, value, unit, note=""):
        """Add a given, rounded to what is written."""
        places = unit_of(unit).places
        number = rounded(unit_of(unit).number(value), 10.0**-places)
        self.givens.append(Given(name, label, unit_of(unit).value(number), unit, note))

    def step(self, name, label, inputs, words, unit, work, source="", slips=(), **rest):
        """Add a step."""
        tolerance, relative = TOLERANCES.get(unit, (_MASS_TOLERANCE, _SHARE))
        self.steps.append(
            Step(name, label, tuple(inputs), words, unit, work, tolerance, relative, source,
                 tuple(slips), **rest)
        )  # fmt: skip
