"""Where what is shown in a computed flight differs from the truth, and why."""

from dataclasses import dataclass

from fuelkit.flight.failures import truth_of
from fuelkit.flight.indications import indications, present_failures, usable_mass


@dataclass(frozen=True)
class Difference:
    """Something that is shown otherwise than it is, or not at all. Frozen.

    shown, true : float or str or None
        Masses in kg; None where nothing is shown.
    reason : str
        Why they differ.
    """

    name: str
    shown: object
    true: object
    reason: str


def differences(history, time, *, least=10.0):
    """Return what is shown otherwise than it is at a moment, and what is wrong and not shown.

    Parameters
    ----------
    history : History
    time : float
        [s]
    least : float
        By how much a gauge must be off. [kg]

    Returns
    -------
    tuple of Difference
        Gauges, sensors, pumps, consumers, valves, then failures that nothing shows by itself.

    Raises
    ------
    AskedError
        If the time lies outside the flight.

    Examples
    --------
    A leak on the stand, the aircraft all but level:

    >>> from dataclasses import replace
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.failures import Failure
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> sector = load_sector("eastmere-port-ellery", halbrook)
    >>> leak = Failure(60.0, "centre", "leaking", leak=0.1)
    >>> flight = fly(halbrook, replace(sector, failures=(leak,), end=200.0, actions=()))
    >>> [(d.name, d.shown, d.true) for d in differences(flight, 100.0, least=50.0)]
    [('centre', None, 'leaking')]
    """
    shown, now = indications(history, time), history.state_at(time).positions
    found = [*_gauge_differences(history, shown, time, least)]
    for name, seen in shown.sensors.items():
        if now.get(truth_of(name), seen) != seen:
            found.append(Difference(name, seen, now[truth_of(name)], f"{name} stuck"))
    hidden = {"FAIL": "it has failed", "LOW PRESS": "its inlet is dry", "STARVED": "no fuel",
              "HALF OPEN": "it has stopped on its way"}  # fmt: skip
    for group in (shown.pumps, shown.consumers, shown.valves):
        for name, seen in group.items():
            if now[name] in hidden:
                found.append(Difference(name, seen, now[name], hidden[now[name]]))
    told = {d.name for d in found}
    for failure in present_failures(history, time):
        unseen = failure.kind in ("leaking", "blocked")
        if unseen or failure.kind == "stuck" and failure.part not in told:
            true = f"stuck {failure.state}" if failure.state else failure.kind
            found.append(Difference(failure.part, None, true, failure.name))
    return tuple(found)


def _gauge_differences(history, shown, time, least):
    misread = {f.part: f.name for f in present_failures(history, time) if f.kind == "misreading"}
    for name, mass in shown.masses.items():
        true = usable_mass(history, name, time)
        if abs(mass - true) >= least:
            where = f"its probes do not see all of it, {history.stance(time).in_words()}"
            yield Difference(name, mass, true, misread.get(name, where))
