"""Facts and conditions of an aircraft's rules: read from sentences, never executed."""

import re
from dataclasses import dataclass

_STATE = re.compile(r"(?P<name>.+) (?:is|are) (?P<negated>not )?(?P<state>[^ ].*)")
_LOSS = re.compile(r"(?P<name>.+) has lost (?P<mass>[0-9]+(?:\.[0-9]+)?) kg")
_NUMBER = r"(?P<value>-?[0-9]+(?:\.[0-9]+)?)"
_MEASURES = tuple(
    (measure, re.compile(pattern.replace("VALUE", _NUMBER)))
    for measure, pattern in (
        ("mass", r"(?P<name>.+) holds? (?P<more>more|less) than VALUE kg"),
        ("temperature", r"(?P<name>.+) (?:is|are) (?P<more>warmer|colder) than VALUE C"),
        ("balance", r"(?P<name>centre of gravity) is (?P<more>aft|forward) of VALUE %"),
        ("imbalance", r"(?P<name>lateral imbalance) is (?P<more>above|below) VALUE kg"),
    )
)
_ORDER = re.compile(r"(?P<name>.+) has its ordered quantity")


def is_or_are(name):
    """Return the verb that goes with the name of a part.

    Examples
    --------
    >>> is_or_are("high-lift surfaces"), is_or_are("left bus")
    ('are', 'is')
    """
    return "are" if name.endswith("s") and not name.endswith(("ss", "us")) else "is"


@dataclass(frozen=True)
class StateFact:
    """A component is (or is not) in a state. Frozen. Written "NAME is STATE"."""

    name: str
    state: str
    negated: bool = False

    def __str__(self):
        return f"{self.name} {is_or_are(self.name)} {'not ' if self.negated else ''}{self.state}"


@dataclass(frozen=True)
class LossFact:
    """A tank holds less, by a mass [kg], than when the rule took hold. Frozen."""

    name: str
    mass: float

    def __str__(self):
        return f"{self.name} has lost {self.mass:g} kg"


@dataclass(frozen=True)
class OrderFact:
    """A tank holds at least what the refuelling order gives it. Frozen."""

    name: str

    def __str__(self):
        return f"{self.name} has its ordered quantity"


ALL_TANKS = "all tanks"
"""Name under which a fact speaks of all fuel on board."""


@dataclass(frozen=True)
class MeasureFact:
    """A measured quantity is beyond a value. Frozen.

    measure : str
        "mass" of a tank or of all tanks [kg], "temperature" of a tank [°C], "balance" (centre of
        gravity, % of the mean aerodynamic chord), or lateral "imbalance" [kg].
    above : bool
        Whether it is true above the value; otherwise below it.
    """

    measure: str
    name: str
    above: bool
    value: float

    def __str__(self):
        words = {
            "mass": f"{'more' if self.above else 'less'} than {self.value:g} kg",
            "temperature": f"{'warmer' if self.above else 'colder'} than {self.value:g} C",
            "balance": f"{'aft' if self.above else 'forward'} of {self.value:g} %",
            "imbalance": f"{'above' if self.above else 'below'} {self.value:g} kg",
        }[self.measure]
        verb = is_or_are(self.name)
        if self.measure == "mass":
            verb = "hold" if verb == "are" else "holds"
        return f"{self.name} {verb} {words}"


@dataclass(frozen=True)
class Condition:
    """All facts of `all` hold and, where `any` lists some, at least one of these. Frozen."""

    all: tuple = ()
    any: tuple = ()

    @property
    def facts(self):
        """Every fact that the condition looks at."""
        return self.all + self.any

    def holds(self, is_true):
        """Return whether the condition is met; `is_true` tells of one fact."""
        return all(map(is_true, self.all)) and (not self.any or any(map(is_true, self.any)))

    def __str__(self):
        parts = [" and ".join(map(str, self.all)), " or ".join(map(str, self.any))]
        return ", and ".join(part for part in parts if part)


def read_fact(sentence):
    """Return the fact that a sentence states, or None if it states none.

    Examples
    --------
    >>> read_fact("crossfeed valve is OPEN")
    StateFact(name='crossfeed valve', state='OPEN', negated=False)
    >>> read_fact("left inboard has lost 400 kg").mass
    400.0
    >>> str(read_fact("centre of gravity is aft of 38.5 %"))
    'centre of gravity is aft of 38.5 %'
    """
    if found := _LOSS.fullmatch(sentence):
        return LossFact(found["name"], float(found["mass"]))
    if found := _ORDER.fullmatch(sentence):
        return OrderFact(found["name"])
    for measure, pattern in _MEASURES:
        if found := pattern.fullmatch(sentence):
            above = found["more"] in ("more", "warmer", "aft", "above")
            return MeasureFact(measure, found["name"], above, float(found["value"]))
    if found := _STATE.fullmatch(sentence):
        return StateFact(found["name"], found["state"], bool(found["negated"]))
    return None
