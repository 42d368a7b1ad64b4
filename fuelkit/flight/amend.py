"""A sector with something more in it: failures and crew actions of one question's own flight."""

import json
from dataclasses import replace

from fuelkit.aircraft.reading import DataFileError, Table
from fuelkit.flight.failures import read_failures
from fuelkit.flight.sector import read_actions, read_time_of


def canonical(failures=(), actions=()):
    """Return failures and actions, as tables of a data file, as one text; empty without any.

    A text can be compared and remembered, which tables cannot.

    Examples
    --------
    >>> canonical([{"at": "1:00:00", "part": "APU", "kind": "failed"}])
    '{"failures": [{"at": "1:00:00", "kind": "failed", "part": "APU"}]}'
    """
    found = {"failures": list(failures), "actions": list(actions)}
    kept = {name: tables for name, tables in found.items() if tables}
    return json.dumps(kept, sort_keys=True, default=str) if kept else ""


def amended(sector, aircraft, more):
    """Return a sector with the failures and actions of a text that `canonical` made.

    Raises
    ------
    DataFileError
        With every fault: field, value and what would be right.
    """
    if not more:
        return sector
    faults = []
    section = Table(json.loads(more), "amended flight", faults)
    failures = read_failures(section, aircraft, read_time_of)
    actions = read_actions(section, aircraft)
    section.finish()
    late = [a for a in (*failures, *actions) if a.time >= sector.end]
    faults += [f"amended flight: {a} comes after the end of the sector." for a in late]
    if faults:
        raise DataFileError("amended flight", faults)
    return replace(
        sector,
        failures=tuple(sorted((*sector.failures, *failures), key=lambda f: f.time)),
        actions=tuple(sorted((*sector.actions, *actions), key=lambda a: a.time)),
    )


def cut_short(sector, end):
    """Return a sector that ends earlier, without what would come after. [s]

    Until then its flight is that of the whole sector.
    """
    end = min(end, sector.end)
    return replace(
        sector,
        end=end,
        phases=tuple(phase for phase in sector.phases if phase.start < end),
        actions=tuple(action for action in sector.actions if action.time < end),
        failures=tuple(failure for failure in sector.failures if failure.time < end),
    )
