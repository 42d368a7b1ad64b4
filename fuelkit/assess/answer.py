"""The computed answer to one ask: what is right, what there is to choose from, and why."""

from dataclasses import dataclass

from fuelkit.assess.written import periods_text
from fuelkit.physics.writing import clock, mass_text


@dataclass(frozen=True)
class Answer:
    """What is right for one ask, computed. Frozen.

    ask : Ask
    text : str
        The question as the learner reads it.
    options : tuple of str
        What there is to choose from; empty for a figure, a time or periods.
    value : str, float or tuple
        The right option, the figure [kg], the time [s], or periods as (begin, end) [s].
    shown_value : str or float
        The same at the moment that the learner was shown.
    unit : str
        "kg", "h:mm:ss", "periods", "words" or empty; for a step of a sheet, the symbol of its unit.
    reason : str
        Why, as sentences.
    sheet : Sheet or None
        The figure sheet that a step belongs to.
    """

    ask: object
    text: str
    options: tuple
    value: object
    shown_value: object
    unit: str
    reason: str
    sheet: object = None

    @property
    def changed(self):
        """Whether it differs from what the learner was shown."""
        return self.value != self.shown_value

    def written(self, value=None):
        """Return a value as a person would write it, the right one if none is given."""
        value = self.value if value is None else value
        if self.sheet is not None:
            return self.sheet.step(self.ask.about).written(value)
        if self.unit == "kg":
            return mass_text(value)
        if self.unit == "periods":
            return periods_text(value)
        return clock(value) if self.unit == "h:mm:ss" else str(value)
