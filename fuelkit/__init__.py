"""Fuelkit: a workbook that teaches an airliner's fuel system by computed flights.

Training aid, not for operational use; the approved manuals, local rules and licensed practice
prevail.

This file and ``__main__`` are read by any Python, also one that is too old for the rest, so that
it can be told so in a sentence: they keep to old syntax and import nothing of the kit by
themselves.
"""

import importlib
import sys

__version__ = "0.1.0"

_OLDEST_PYTHON = (3, 11)

# The public names of the kit, each with the module it lives in. A module is imported when its
# name is first asked for, so `import fuelkit` stays quick.
_PUBLIC = {
    "density": "fuelkit.physics.fuel",
    "level_table": "fuelkit.physics.solid",
    "Link": "fuelkit.physics.network",
    "Network": "fuelkit.physics.network",
    "solve": "fuelkit.physics.network",
    "load_aircraft": "fuelkit.aircraft.load",
    "distribution": "fuelkit.aircraft.loading",
    "load_sector": "fuelkit.flight.sector",
    "fly": "fuelkit.flight.fly",
    "fly_many": "fuelkit.flight.many",
    "Failure": "fuelkit.flight.failures",
    "indications": "fuelkit.flight.indications",
    "differences": "fuelkit.flight.truth",
    "picture": "fuelkit.flight.picture",
    "why": "fuelkit.flight.reasons",
    "why_fed": "fuelkit.flight.reasons",
    "mark_folder": "fuelkit.assess.mark_folder",
    "open_flight": "fuelkit.show.viewer",
    "open_lesson": "fuelkit.show.lesson",
    "open_exercise": "fuelkit.show.exercise",
    "open_solution": "fuelkit.show.solution",
    "open_sheet": "fuelkit.show.figure_sheet",
    "open_paper": "fuelkit.show.papers.sitting",
    "open_progress": "fuelkit.show.progress",
}

__all__ = sorted(_PUBLIC)


def _python_fault(version):
    """Return a sentence if this version of Python is too old for the course, else nothing."""
    if tuple(version[:2]) >= _OLDEST_PYTHON:
        return ""
    return (
        "This is Python %d.%d; the course needs Python %d.%d or newer. "
        "Install a newer one from python.org and run the same command with it, "
        "for example: python3.13 -m fuelkit open"
    ) % (tuple(version[:2]) + _OLDEST_PYTHON)


def __getattr__(name):
    """Import a public name when it is first used (PEP 562)."""
    if name not in _PUBLIC:
        raise AttributeError("fuelkit has no public name '%s'" % name)
    fault = _python_fault(sys.version_info)
    if fault:
        raise ImportError(fault)
    value = getattr(importlib.import_module(_PUBLIC[name]), name)
    globals()[name] = value
    return value


def __dir__():
    """List the public names for completion."""
    return sorted(list(globals()) + list(_PUBLIC))
