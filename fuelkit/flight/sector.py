"""A sector: load, phases, crew actions and failures with their times. Read from a data file."""

import math
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml
from fuelkit.flight.failures import read_failures
from fuelkit.physics.atmosphere import air, total_air_temperature
from fuelkit.physics.fuel import ZERO_CELSIUS, smooth_density
from fuelkit.physics.units import FOOT, HOUR, KILOPASCAL
from fuelkit.physics.writing import clock, read_clock

SCHEMA = 1
_LIBRARY = resources.files("fuelkit.flight") / "data"


@dataclass(frozen=True)
class Phase:
    """A part of the flight in which an engine burns at a steady rate [s], [kg/s]. Frozen.

    altitude : float
        Pressure altitude. [m]
    mach : float
        [-]
    pitch, roll : float
        How the fuel sees the aircraft tilted: nose up and right wing down are positive. [rad]
    """

    name: str
    start: float
    burn: float
    altitude: float = 0.0
    mach: float = 0.0
    pitch: float = 0.0
    roll: float = 0.0


@dataclass(frozen=True)
class Action:
    """What crew or ground staff do at a time [s]. Frozen.

    sets : tuple of (str, str)
        Switches and their positions.
    order : float or None
        Fuel ordered, all on board. [kg]
    pressure : float or None
        Pressure at the refuelling coupling from now on; 0 or less where fuel is taken out. [Pa]
    """

    time: float
    sets: tuple
    order: float | None = None
    pressure: float | None = None


@dataclass(frozen=True)
class Sector:
    """A flight to be computed: what is loaded, flown and done. Frozen.

    total : float
        Fuel on board at the start. [kg]
    density_15, temperature : float
        Density at 15 °C [kg/m³] and temperature [K] of the fuel.
    burn_factor : dict of str to float
        How much more than the phase's burn an engine takes. [-]
    deviation : float
        Air temperature above the standard atmosphere. [K]
    zero_fuel : float or None
        Zero-fuel mass, if it is not the usual one of the aircraft. [kg]
    failures : tuple of Failure
    """

    name: str
    identifier: str
    aircraft: str
    departure: str
    destination: str
    total: float
    density_15: float
    temperature: float
    burn_factor: dict
    phases: tuple
    actions: tuple
    end: float
    deviation: float = 0.0
    zero_fuel: float | None = None
    failures: tuple = ()

    @property
    def density(self):
        """Density of the fuel as it is loaded [kg/m³]: the table's law without its rounding."""
        return smooth_density(self.density_15, self.temperature)

    def air_temperature(self, phase):
        """Return the total air temperature in a phase [K]."""
        still = air(phase.altitude, deviation=self.deviation).temperature
        return total_air_temperature(still, phase.mach)

    def air_pressure(self, phase):
        """Return the static pressure of the air in a phase [Pa]."""
        return air(phase.altitude).pressure

    def phase_at(self, time):
        """Return the phase that holds at a time [s]; at a boundary, the later one."""
        return [phase for phase in self.phases if phase.start <= time][-1]


def load_sector(name_or_path, aircraft):
    """Return a sector of the kit by its name, or from a file, checked against an aircraft.

    Raises
    ------
    DataFileError
        With every fault of the file: field, value and what would be right.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> load_sector("eastmere-port-ellery", load_aircraft("halbrook-180")).destination
    'Port Ellery (XPTL)'
    """
    text = str(name_or_path)
    if not text.endswith(".toml"):
        known = sector_names()
        if text not in known:
            hint = nearest(text, known)
            raise DataFileError(text, [f"the kit has the sectors {', '.join(known)}.{hint}"])
        text = str(_LIBRARY / f"{text}.toml")
    return sector_from(read_toml(text), aircraft, Path(text).name)


def sector_library():
    """Return the paths of the kit's sectors."""
    found = (Path(str(p)) for p in _LIBRARY.iterdir() if p.name.endswith(".toml"))
    return sorted(found, key=lambda path: path.name)


def sector_names():
    """Return the names of the kit's sectors."""
    return [path.name[:-5] for path in sector_library()]


def sector_from(content, aircraft, label="sector"):
    """Return a sector from the content of a file; raise DataFileError with all faults."""
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    section.text("source")
    load, end = section.table("load"), section.table("end")
    atmosphere = section.table("atmosphere", {})
    sector = Sector(
        name=section.text("name"),
        identifier=section.text("identifier"),
        aircraft=section.text("aircraft"),
        departure=section.text("departure"),
        destination=section.text("destination"),
        total=load.number("total_kg", low=0),
        density_15=load.number("density_15_kg_m3", low=653, high=1075),
        temperature=load.number("fuel_temperature_c", low=-60, high=80) + ZERO_CELSIUS,
        burn_factor=_burn_factor(section, aircraft),
        phases=_phases(section),
        actions=read_actions(section, aircraft),
        end=read_time_of(end, "at"),
        deviation=atmosphere.number("deviation_c", 0.0, low=-50, high=50),
        zero_fuel=load.number("zero_fuel_kg", None, above=0),
        failures=read_failures(section, aircraft, read_time_of),
    )
    for table in (load, end, atmosphere, section):
        table.finish()
    found.extend(_order_faults(sector, label))
    if found:
        raise DataFileError(label, found)
    return sector


def read_time_of(table, field):
    """Return a time of a data file [s]; a fault is recorded if it is none."""
    text = table.text(field)
    seconds = read_clock(text)
    if seconds is None and text:
        table.fault(field, text, "it must be a time h:mm:ss")
    return seconds or 0.0


def _burn_factor(section, aircraft):
    if "burn_factor" not in section:
        return {}
    table = section.table("burn_factor")
    engines = [c.name for c in aircraft.consumers if c.kind == "engine"]
    factors = {n: table.number(n, 1.0, low=0.5, high=2.0) for n in engines}
    table.finish()
    return factors


def _phases(section):
    found, tables = [], section.tables("phases", required=True)
    if "phases" in section and not tables:
        section.fault("phases", [], "a flight has at least one phase")
    for table in tables:
        burn = table.number("burn_kg_h", low=0) / HOUR
        found.append(
            Phase(
                table.text("name"),
                read_time_of(table, "from"),
                burn,
                altitude=table.number("altitude_ft", 0.0, low=-2000, high=60_000) * FOOT,
                mach=table.number("mach", 0.0, low=0, high=0.99),
                pitch=math.radians(table.number("pitch_deg", 0.0, low=-30, high=30)),
                roll=math.radians(table.number("roll_deg", 0.0, low=-30, high=30)),
            )
        )
        table.finish()
    return tuple(found)


def read_actions(section, aircraft):
    """Return the crew actions of a data file, in order of time."""
    found = []
    switches = {switch.name: switch.positions for switch in aircraft.switches}
    for table in section.tables("actions"):
        sets = table.raw("set", dict, 'it must read { "switch" = "position" }')
        for name, position in sets.items():
            if name not in switches:
                table.fault("set", name, f"it must name a switch.{nearest(name, switches)}")
            elif position not in switches[name]:
                table.fault(name, position, "it must be " + " or ".join(switches[name]))
        order = table.number("order_kg", None, low=0)
        pressure = table.number("coupling_kpa", None, low=-90, high=1000)
        pressure = None if pressure is None else pressure * KILOPASCAL
        found.append(Action(read_time_of(table, "at"), tuple(sets.items()), order, pressure))
        table.finish()
    return tuple(sorted(found, key=lambda action: action.time))


def _order_faults(sector, label):
    starts = [phase.start for phase in sector.phases]
    if starts and starts[0] != 0.0:
        yield f"{label}: the first phase starts at {clock(starts[0])}; it must start at 0:00:00."
    for before, after in zip(starts, starts[1:], strict=False):
        if after <= before:
            yield f"{label}: a phase starts at {clock(after)}, not after the one before it."
    last = max([*starts, *(action.time for action in sector.actions)], default=0.0)
    if sector.end <= last:
        yield f"{label}: end is {clock(sector.end)}; it must come after the last phase and action."
