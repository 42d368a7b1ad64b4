"""A figure sheet: what is given, and a chain of named steps, each worked from those before it.

The same chain works the sheet, prints it, and marks a learner's own: a step can be worked from
other values than the right ones, so that one slip costs one part and not all that follow.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from numbers import Real

from fuelkit.figures.quantities import UNITS, FigureError, unit_of, written
from fuelkit.physics.errors import FuelkitError


@dataclass(frozen=True)
class Given:
    """A figure that is given. Frozen.

    name, label : str
        How steps refer to it, and how people do.
    value : float or str
        SI, or a word.
    unit : str
        Symbol of the unit that it is written in; empty for a word.
    note : str
        Where it comes from, if that is worth saying.
    """

    name: str
    label: str
    value: object
    unit: str = ""
    note: str = ""

    def __str__(self):
        return written(self.value, self.unit) if self.unit else str(self.value)


@dataclass(frozen=True)
class Slip:
    """A known way to get a step wrong. Frozen.

    name : str
        Short and stable, such as "density inverted".
    sentence : str
        For the learner: what was done instead.
    work : callable
        Works the step with the slip, from the same inputs.
    """

    name: str
    sentence: str
    work: Callable = field(repr=False)


@dataclass(frozen=True)
class Step:
    """One step of a sheet. Frozen.

    name, label : str
    inputs : tuple of str
        Names of givens and of earlier steps.
    words : str
        The formula in words.
    unit : str
        Symbol; empty for a decision, whose value is one of `options`.
    work : callable
        Given the inputs in their order (SI), returns the value (SI) or the option.
    tolerance : float
        In the unit of the step.
    relative : float
        A further tolerance, as a share of the right value. [-]
    source : str
    slips : tuple of Slip
    options : tuple of str
    marks : float
        0 for a step that is shown and not asked.
    """

    name: str
    label: str
    inputs: tuple
    words: str
    unit: str
    work: Callable = field(repr=False)
    tolerance: float = 0.0
    relative: float = 0.0
    source: str = ""
    slips: tuple = ()
    options: tuple = ()
    marks: float = 1.0

    def agrees(self, value, right):
        """Return whether a value is right within the tolerance."""
        if self.options:
            return value == right
        allowed = unit_of(self.unit).span(self.tolerance) + self.relative * abs(right)
        return abs(value - right) <= allowed * (1.0 + 1e-9) + 1e-12

    def written(self, value):
        """Return a value as a person would write it."""
        return str(value) if self.options else written(value, self.unit)


@dataclass(frozen=True)
class Sheet:
    """A figure sheet. Frozen.

    name, title, lead : str
    givens : tuple of Given
    steps : tuple of Step
    cautions, sources : tuple of str
    objectives : tuple of str
        Names of the objectives that it tests.
    """

    name: str
    title: str
    lead: str
    givens: tuple
    steps: tuple
    cautions: tuple = ()
    sources: tuple = ()
    objectives: tuple = ()

    def __post_init__(self):
        known = []
        for given in self.givens:
            if given.name in known:
                raise FigureError(f"sheet '{self.name}': the name '{given.name}' stands twice.")
            _check_given(self.name, given)
            known.append(given.name)
        for step in self.steps:
            _check_step(self.name, step)
            missing = [name for name in step.inputs if name not in known]
            if missing:
                raise FigureError(
                    f"sheet '{self.name}', step '{step.name}': inputs has '{missing[0]}', which "
                    "is no given and no earlier step."
                )
            if step.name in known:
                raise FigureError(f"sheet '{self.name}': the name '{step.name}' stands twice.")
            known.append(step.name)

    def step(self, name):
        """Return the step of that name."""
        for step in self.steps:
            if step.name == name:
                return step
        names = ", ".join(step.name for step in self.steps)
        raise FigureError(f"sheet '{self.name}': there is no step '{name}'; it has {names}.")

    def worked(self, instead=None, slips=None):
        """Return the value of every given and step, by name. SI.

        Parameters
        ----------
        instead : dict of str to value, optional
            Values that stand instead of the worked ones, such as a learner's own.
        slips : dict of str to Slip, optional
            Steps that are worked with a slip.
        """
        values = {given.name: given.value for given in self.givens}
        for step in self.steps:
            if instead and step.name in instead:
                values[step.name] = instead[step.name]
                continue
            slip = (slips or {}).get(step.name)
            values[step.name] = self._work(step, values, slip)
        return values

    @staticmethod
    def _work(step, values, slip=None):
        inputs = [values[name] for name in step.inputs]
        return (slip or step).work(*inputs)

    def follow(self, step, values, slip=None):
        """Return what a step gives from values that need not be the right ones; None if nothing.

        A slip may be given to work it with. Whatever a learner wrote may be put in: what cannot
        be worked on gives nothing, and no error.
        """
        try:
            found = self._work(step, values, slip)
        except (FuelkitError, ArithmeticError, LookupError, TypeError, ValueError):
            return None
        if step.options:
            return found if found in step.options else None
        return found if isinstance(found, Real) and math.isfinite(found) else None


def _check_given(sheet, given):
    """Raise if a given with a unit is no finite number, or its unit is not known."""
    if not given.unit:
        return
    where = f"sheet '{sheet}', given '{given.name}'"
    if given.unit not in UNITS:
        raise FigureError(f"{where}: unit is '{given.unit}'; it must be one of {', '.join(UNITS)}.")
    if not isinstance(given.value, Real) or not math.isfinite(given.value):
        raise FigureError(f"{where}: value is {given.value!r}; it must be a finite number.")


def _check_step(sheet, step):
    """Raise if a step can be neither written nor marked."""
    where = f"sheet '{sheet}', step '{step.name}'"
    if not step.options and step.unit not in UNITS:
        raise FigureError(f"{where}: unit is '{step.unit}'; it must be one of {', '.join(UNITS)}.")
    if len(step.options) == 1:
        raise FigureError(f"{where}: options has one; a decision needs two or more.")
    for name in ("tolerance", "relative", "marks"):
        if not 0.0 <= getattr(step, name) < math.inf:
            raise FigureError(f"{where}: {name} is {getattr(step, name)}; it must be 0 or more.")
    names = [slip.name for slip in step.slips]
    for name in names:
        if names.count(name) > 1:
            raise FigureError(f"{where}: the slip '{name}' stands twice.")
