"""Failures: what fails, when and how. Records, and their reader and checks. Frozen data."""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.aircraft.reading import nearest
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.units import HOUR

KINDS = ("failed", "stuck", "leaking", "misreading", "blocked")
ABSENT, PRESENT = "ABSENT", "PRESENT"


class FailureError(FuelkitError, ValueError):
    """A failure does not fit the aircraft; the message names field, value and what would."""


@dataclass(frozen=True)
class Failure:
    """Something that fails at a time and stays failed. Frozen.

    time : float
        [s]
    part : str
        What fails: see `kind`.
    kind : str
        "failed": a pump, an engine or APU, or an electrical bus. "stuck": a motor valve, check
        valve, flap valve, relief valve, switch or sensor. "leaking": a tank, a junction, or an
        engine or APU. "misreading": the gauge of a tank. "blocked": the vent of a tank.
    state : str or None
        For what is stuck, the state that it goes to and keeps; without it, that of the moment.
        A check valve sticks OPEN (it lets fuel back) or SHUT.
    leak : float
        Size of the leak. [kg/s]
    hole : tuple or None
        Where a tank leaks, (x, y, z); without it, at its lowest point. [m]
    factor, offset : float
        What a gauge shows: factor · mass + offset. [-], [kg]
    """

    time: float
    part: str
    kind: str
    state: str | None = None
    leak: float = 0.0
    hole: tuple | None = None
    factor: float = 1.0
    offset: float = 0.0

    @property
    def name(self):
        """What the failure is called among the states of a flight: "crossfeed valve stuck"."""
        subject = {"misreading": "gauge ", "blocked": "vent "}.get(self.kind, "")
        return f"{self.part} {subject}{self.kind}"

    @property
    def hole_name(self):
        """Name under which the hole of a leaking tank is covered (WET) or not."""
        return f"{self.part} hole"


def truth_of(sensor):
    """Return the name under which the true state of a sensor stands, if it can be wrong."""
    return f"{sensor}, in truth"


def shown_mass(mass, tank, failures, positions):
    """Return what the gauge of a tank shows of a mass in it [kg]."""
    for failure in failures:
        is_wrong = failure.kind == "misreading" and failure.part == tank
        if is_wrong and positions[failure.name] == PRESENT:
            return max(0.0, failure.factor * mass + failure.offset)
    return mass


def check_failures(failures, aircraft):
    """Raise FailureError for the first failure that does not fit the aircraft."""
    for fault in failure_faults(failures, aircraft):
        raise FailureError(fault)


def failure_faults(failures, aircraft):
    """Yield a sentence for each failure that the aircraft cannot have."""
    seen = set()
    for failure in failures:
        where = f"failure '{failure.name}'"
        if failure.kind not in KINDS:
            yield f"{where}: kind is '{failure.kind}'; it must be one of {', '.join(KINDS)}."
            continue
        known = [n for n in aircraft.by_name if _can(failure.kind, aircraft.by_name[n])]
        if failure.part not in known:
            hint = nearest(failure.part, known)
            yield f"{where}: part is '{failure.part}'; it must name {_WHAT[failure.kind]}.{hint}"
            continue
        if failure.name in seen:
            yield f"{where}: it is given twice; a failure stays, so once is enough."
        seen.add(failure.name)
        if not 0.0 <= failure.time < float("inf"):
            yield f"{where}: time is {failure.time} s; it must be 0 or more."
        yield from _detail_faults(where, failure, aircraft.by_name[failure.part])


def _detail_faults(where, failure, part):
    states = stuck_states(part)
    if failure.kind == "stuck" and failure.state is not None and failure.state not in states:
        yield f"{where}: state is '{failure.state}'; it must be {' or '.join(states)}."
    needs_state = isinstance(part, model.Line) and part.kind != "valve"
    if failure.kind == "stuck" and failure.state is None and needs_state:
        yield f"{where}: state is missing; a check valve sticks OPEN or SHUT. Give one."
    if failure.kind == "leaking" and not 0.0 < failure.leak < float("inf"):
        yield f"{where}: leak is {failure.leak} kg/s; it must be above 0."
    if failure.kind == "misreading" and not 0.0 < failure.factor < float("inf"):
        yield f"{where}: factor is {failure.factor}; it must be above 0."
    if failure.hole is not None and isinstance(part, model.Tank):
        low, high = (float(h) for h in part.levels.heights[[0, -1]])
        if not low < failure.hole[2] < high:
            yield (
                f"{where}: hole has z = {failure.hole[2]:g}; the tank reaches from {low:.3f} to "
                f"{high:.3f} m."
            )


def stuck_states(part):
    """Return the states in which a part may stick; none if it cannot stick."""
    if isinstance(part, model.Switch):
        return part.positions
    if isinstance(part, model.Sensor):
        return ("DRY", "WET")
    if isinstance(part, model.Line):
        if part.kind == "valve":
            return ("SHUT", "HALF OPEN", "OPEN")
        return ("SHUT", "OPEN") if part.kind in ("check valve", "relief valve") else ()
    return ()


_WHAT = {
    "failed": "a pump, engine, APU or electrical bus",
    "stuck": "a valve, check valve, switch or sensor",
    "leaking": "a tank, a junction, an engine or the APU",
    "misreading": "a tank",
    "blocked": "a tank",
}


def _can(kind, part):
    if kind == "failed":
        return isinstance(part, model.Pump | model.Consumer | model.Bus)
    if kind == "stuck":
        return bool(stuck_states(part))
    if kind == "leaking":
        return isinstance(part, model.Tank | model.Junction | model.Consumer)
    return isinstance(part, model.Tank)


def read_failures(section, aircraft, time_of):
    """Return the failures of a sector file; `time_of` reads a time from a table."""
    found = []
    for table in section.tables("failures"):
        failure = Failure(
            time=time_of(table, "at"),
            part=table.text("part"),
            kind=table.choice("kind", KINDS),
            state=table.text("state", None),
            leak=table.number("leak_kg_h", 0.0, low=0) / HOUR,
            hole=table.numbers("hole", 3, None),
            factor=table.number("factor", 1.0, above=0, high=10),
            offset=table.number("offset_kg", 0.0),
        )
        table.finish()
        found.append(failure)
    section.faults.extend(failure_faults(found, aircraft))
    return tuple(sorted(found, key=lambda failure: failure.time))
