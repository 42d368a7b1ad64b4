"""Beliefs as data: read, checked, and made on any aircraft or any figure sheet.

That wrong answers come from a wrong procedure, carried out well, and that such procedures can be
models which predict them: Brown and Burton, Cognitive Science 2 (1978), 155-192 (title, journal
and pages read in the paper's own head).
"""

import hashlib
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.assess.beliefs.changes import read_change
from fuelkit.assess.objectives import load_objectives
from fuelkit.figures.catalogue import SHEETS
from fuelkit.physics.errors import FuelkitError

SCHEMA = 1
"""Version of the beliefs file that this kit reads."""

_FILE = resources.files("fuelkit.assess.beliefs") / "data" / "beliefs.toml"


@dataclass(frozen=True)
class Belief:
    """A named misconception. Frozen.

    name : str
        Short and stable.
    learner : str
        Follows "your answers fit someone who thinks that".
    look_again : str
        What to look at again, as it follows "look again at".
    instructor : str
        What to teach again, as a sentence of the class report.
    objectives : tuple of str
    changes : tuple of Change
        What an aircraft is like to someone who believes it; or
    slips : tuple of (str, str)
        Sheets and the names of the slips that someone who believes it makes there.
    """

    name: str
    learner: str
    look_again: str
    instructor: str
    objectives: tuple
    changes: tuple = ()
    slips: tuple = ()

    @property
    def is_of_figures(self):
        """Whether it is a slip in figure sheets, and not about the aircraft."""
        return bool(self.slips)

    @property
    def feedback(self):
        """The whole sentence for the learner."""
        return (
            f"Your answers fit someone who thinks that {self.learner}. "
            f"Look again at {self.look_again}."
        )


@lru_cache(maxsize=1)
def load_beliefs():
    """Return every belief of the kit, in the order of its file.

    Raises
    ------
    DataFileError
        If the file has faults; all are listed.

    Examples
    --------
    >>> len(load_beliefs()) >= 34
    True
    """
    return beliefs_from(read_toml(Path(str(_FILE))), _FILE.name)


def belief_of(name):
    """Return the belief of that name.

    Raises
    ------
    FuelkitError
        If there is none.
    """
    known = {belief.name: belief for belief in load_beliefs()}
    if name not in known:
        raise FuelkitError(f"belief: there is no '{name}'.{nearest(name, known)}")
    return known[name]


def beliefs_from(content, label="beliefs"):
    """Return the beliefs of a file's content; raise DataFileError with all faults."""
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    section.text("source")
    objectives = {o.name for o in load_objectives()}
    beliefs = tuple(_read(t, objectives) for t in section.tables("beliefs", required=True))
    section.finish()
    names = [b.name for b in beliefs]
    found += [f"{label}: '{n}' stands twice." for n in sorted(set(names)) if names.count(n) > 1]
    if found:
        raise DataFileError(label, found)
    return beliefs


def _read(table, objectives):
    belief = Belief(
        name=table.text("name"),
        learner=table.text("learner"),
        look_again=table.text("look_again"),
        instructor=table.text("instructor"),
        objectives=table.texts("objectives"),
        changes=tuple(read_change(t) for t in table.tables("changes")),
        slips=tuple(_read_slip(t) for t in table.tables("slips")),
    )
    for name in belief.objectives:
        if name not in objectives:
            table.fault("objectives", name, f"no objective{nearest(name, objectives)}")
    if bool(belief.changes) == bool(belief.slips):
        table.fault_here("must have either changes or slips")
    table.finish()
    return belief


def _read_slip(table):
    sheet, slip = table.choice("sheet", tuple(SHEETS)), table.text("slip")
    table.finish()
    return sheet, slip


# ------------------------------------------------------------------------------------ an aircraft
def believed(belief, aircraft):
    """Return an aircraft as someone sees it who holds a belief, or None.

    Parameters
    ----------
    belief : Belief
    aircraft : Aircraft
        Any: roles of parts are found from kinds and lines.

    Returns
    -------
    Aircraft or None
        Frozen, with a fingerprint of its own. None where the belief says nothing about this
        aircraft, or is one of figures.
    """
    changed = aircraft
    for change in belief.changes:
        changed = change.made_on(changed)
    if all(getattr(changed, f) == getattr(aircraft, f) for f in _CHANGED):
        return None
    return replace(changed, fingerprint=_fingerprint(belief, aircraft))


_CHANGED = ("rules", "lines", "pumps", "returns", "overflows", "consumers")


def _fingerprint(belief, aircraft):
    text = f"{aircraft.fingerprint}|{belief.name}|{belief.changes}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]


# --------------------------------------------------------------------------------- a figure sheet
def slips_in(belief, name, sheet):
    """Return which steps of a sheet a belief works with which slip, as a dict of Slip by step.

    Parameters
    ----------
    belief : Belief
    name : str
        The sheet's name in the catalogue.
    sheet : Sheet
    """
    wanted = [slip for other, slip in belief.slips if other == name]
    return {
        step.name: slip for step in sheet.steps for slip in step.slips if slip.name in wanted
    }  # fmt: skip


def slipped(belief, name, sheet):
    """Return every value of a sheet as someone works it who holds a belief, or None. SI.

    None where the belief says nothing about this sheet. What follows from a slip follows on.
    """
    slips = slips_in(belief, name, sheet)
    if not slips:
        return None
    right = sheet.worked()
    try:
        values = sheet.worked(slips=slips)
    except (FuelkitError, ArithmeticError, LookupError, TypeError, ValueError):
        return None
    return None if all(s.agrees(values[s.name], right[s.name]) for s in sheet.steps) else values
