"""Rule sets for fuel as data: which parts a plan must have, and how large each is.

The rule sets are in `data/policies.toml`, each with its edition and source.
"""

from dataclasses import dataclass
from functools import cache
from importlib import resources

from fuelkit.aircraft.performance import ENGINES
from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.units import MINUTE

SCHEMA = 1
KINDS = ("share of trip", "time of trip", "statistical", "share of time", "none")
_FILE = resources.files("fuelkit.figures") / "data" / "policies.toml"


@dataclass(frozen=True)
class Contingency:
    """One way to find contingency fuel. Frozen.

    kind : str
        One of `KINDS`.
    amount : float
        A share [-] or a time [s], by kind.
    floor : float
        Time at holding speed that it may not be less than. [s]
    """

    name: str
    title: str
    kind: str
    amount: float
    floor: float
    source: str


@dataclass(frozen=True)
class Policy:
    """A rule set. Frozen.

    contingencies : tuple of Contingency
        The first is the usual one.
    reserve_time, reserve_at : float, str
        Final reserve: how long [s], and at "holding" or at "cruise" consumption.
    no_alternate : float
        Holding time to be carried in place of an alternate. [s]
    isolated : float or None
        Time at cruise consumption above an isolated aerodrome, final reserve included; None if
        the rules provide for none. [s]
    isolated_contingency : bool
        Whether contingency fuel is carried to an isolated aerodrome.
    not_for : str
        Engines of aircraft that it does not apply to; empty if it applies to all.
    """

    name: str
    title: str
    edition: str
    source: str
    note: str
    contingencies: tuple
    reserve_time: float
    reserve_at: str
    no_alternate: float
    isolated: float | None
    isolated_contingency: bool
    not_for: str = ""

    def contingency(self, name):
        """Return the contingency of that name, or the usual one for None."""
        if name is None:
            return self.contingencies[0]
        found = [c for c in self.contingencies if c.name == name]
        if not found:
            known = ", ".join(f"'{c.name}'" for c in self.contingencies)
            raise FigureError(f"contingency: it is '{name}'; '{self.name}' has {known}.")
        return found[0]


def policy(name):
    """Return a rule set by its name, or raise FigureError with those there are.

    Examples
    --------
    >>> policy("easa-uk").contingency("en-route alternate").amount
    0.03
    """
    known = policies()
    if name not in known:
        hint = nearest(name, known)
        raise FigureError(f"policy: it is '{name}'; the kit has {', '.join(known)}.{hint}")
    return known[name]


@cache
def policies():
    """Return all rule sets of the kit by name, in the order of the file."""
    return policies_from(read_toml(str(_FILE)))


def policies_from(content, label="policies.toml"):
    """Return the rule sets of a file's content; raise DataFileError with all faults."""
    faults = []
    section = Table(content, label, faults)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    found = [_policy(table) for table in section.tables("policies", required=True)]
    section.finish()
    names = [p.name for p in found]
    faults.extend(f"{label}: '{n}' stands twice." for n in sorted(set(names)) if names.count(n) > 1)
    if faults:
        raise DataFileError(label, faults)
    return {p.name: p for p in found}


def _policy(table):
    isolated = table.number("isolated_cruise_min", None, above=0, high=600)
    found = Policy(
        name=table.text("name"),
        title=table.text("title"),
        edition=table.text("edition"),
        source=table.text("source"),
        note=table.text("note", ""),
        contingencies=tuple(_contingency(t) for t in table.tables("contingency", required=True)),
        reserve_time=table.number("final_reserve_min", above=0, high=600) * MINUTE,
        reserve_at=table.choice("final_reserve_at", ("holding", "cruise")),
        no_alternate=table.number("no_alternate_hold_min", low=0, high=600) * MINUTE,
        isolated=None if isolated is None else isolated * MINUTE,
        isolated_contingency=table.flag("isolated_contingency", True),
        not_for=table.choice("not_for", ENGINES, ""),
    )
    if "contingency" in table and not found.contingencies:
        table.fault("contingency", [], "a rule set has at least one")
    table.finish()
    return found


def _contingency(table):
    kind = table.choice("kind", KINDS)
    factor = MINUTE if kind == "time of trip" else 0.01
    found = Contingency(
        name=table.text("name"),
        title=table.text("title"),
        kind=kind,
        amount=table.number("amount", low=0, high=100) * factor,
        floor=table.number("floor_hold_min", low=0, high=60) * MINUTE,
        source=table.text("source"),
    )
    table.finish()
    return found
