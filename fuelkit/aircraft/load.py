"""Load an aircraft from its data file, or refuse it with all of its faults."""

import hashlib
import json
from importlib import resources
from pathlib import Path

from fuelkit.aircraft import characteristics, checks, parts, performance, walk_around
from fuelkit.aircraft.model import Aircraft
from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.physics.units import KILOPASCAL

SCHEMA = 2
"""Version of the aircraft file that this kit reads."""

_LIBRARY = resources.files("fuelkit.aircraft") / "data"


def load_aircraft(name_or_path):
    """Return an aircraft by the name it has in the kit, or from an instructor's own file.

    Parameters
    ----------
    name_or_path : str or Path
        "halbrook-180", or the path of a file that ends in .toml.

    Returns
    -------
    Aircraft
        Frozen; a flight never changes it.

    Raises
    ------
    DataFileError
        If there is no such file or it has faults; `faults` lists them all, each with the field,
        the value and what would be right.

    Examples
    --------
    >>> load_aircraft("halbrook-180").name
    'Halbrook 180'
    """
    content = read_toml(aircraft_file(name_or_path))
    return aircraft_from(content, Path(str(name_or_path)).name)


def aircraft_file(name_or_path):
    """Return the path of an aircraft's file: one of the kit's by its name, or one's own."""
    text = str(name_or_path)
    if text.endswith(".toml"):
        return Path(text)
    known = sorted(p.name[:-5] for p in _LIBRARY.iterdir() if p.name.endswith(".toml"))
    if text not in known:
        hint = nearest(text, known)
        raise DataFileError(
            text, [f"there is no aircraft of this name; the kit has {', '.join(known)}.{hint}"]
        )
    return Path(str(_LIBRARY / f"{text}.toml"))


def aircraft_from(content, label="aircraft"):
    """Return an aircraft from the content of a file; raise DataFileError with all faults."""
    found = []
    section = Table(content, label, found)
    schema = section.number("schema")
    if schema != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    aircraft = _assembled(section, content)
    section.finish()
    if not found:
        names = [p.name for group in _named_groups(aircraft) for p in group]
        found.extend(checks.faults(aircraft, names))
    if found:
        raise DataFileError(label, found)
    return aircraft


def _assembled(section, content):
    refuelling = section.table("refuelling") if "refuelling" in section else None
    section.text("source")
    limits = performance.mass_limits(section)
    aircraft = Aircraft(
        name=section.text("name"),
        identifier=section.text("identifier"),
        summary=section.text("summary"),
        attitudes=characteristics.attitudes(section),
        warming=characteristics.warming(section),
        venting=characteristics.venting(section),
        masses=characteristics.masses(section),
        tanks=parts.tanks(section),
        overflows=parts.overflows(section),
        junctions=parts.junctions(section),
        outlets=parts.outlets(section),
        buses=parts.buses(section),
        pumps=parts.pumps(section),
        lines=parts.lines(section),
        consumers=parts.consumers(section),
        returns=parts.returns(section),
        fillers=parts.fillers(section),
        **_coupling(refuelling),
        sensors=parts.sensors(section),
        vents=parts.vents(section),
        sticks=parts.sticks(section),
        switches=parts.switches(section),
        rules=parts.rules(section),
        counters=parts.counters(section),
        alerts=parts.alerts(section),
        walk_around=walk_around.read(section),
        loading_order=_loading_order(section),
        fingerprint=_fingerprint(content),
        mass_limits=limits,
        performance=performance.performance(section, limits),
    )
    return aircraft


def _coupling(table):
    """The coupling for pressure refuelling; an aircraft that has none is filled by hand."""
    if table is None:
        return {"coupling": "", "coupling_pressure": 0.0, "coupling_at": ()}
    found = {
        "coupling": table.text("coupling"),
        "coupling_pressure": table.number("pressure_kpa", above=0) * KILOPASCAL,
        "coupling_at": table.numbers("at", 2),
    }
    table.finish()
    return found


def _loading_order(section):
    loading = section.table("loading")
    order = loading.raw("order", list, "it must be a list of lists of tank names")
    if not all(isinstance(s, list) and s and all(isinstance(n, str) for n in s) for s in order):
        loading.fault("order", order, "it must be a list of lists of tank names")
        order = []
    loading.finish()
    return tuple(tuple(step) for step in order)


def _named_groups(aircraft):
    return (
        aircraft.tanks, aircraft.overflows, aircraft.junctions, aircraft.outlets, aircraft.buses,
        aircraft.pumps, aircraft.lines, aircraft.consumers, aircraft.returns, aircraft.fillers,
        aircraft.sensors, aircraft.vents, aircraft.sticks, aircraft.switches, aircraft.rules,
        aircraft.counters, aircraft.alerts,
    )  # fmt: skip


def _fingerprint(content):
    """Short digest of the content, so that a sheet can say which aircraft it was answered for."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
