"""The numbers behind the charts: what is plotted, as arrays and as rows of a table."""

from dataclasses import dataclass

import numpy as np

from fuelkit.aircraft.conditions import MeasureFact
from fuelkit.flight.balance import lateral_imbalance
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.grades import grade as grade_of
from fuelkit.physics.units import HOUR
from fuelkit.physics.writing import clock
from fuelkit.show.bands import state_pieces, stretch
from fuelkit.show.chart_events import key_events

_STEP = 120.0  # s; the longest between two points of a line
_POINTS = 240  # the fewest on a line
_DRY = 1.0  # kg; fuel has no temperature to speak of in a tank that holds less
_SHORTEST_GAP = 1.0  # s
_FROM_ZERO, _EITHER_SIDE = (0.0,), (-50.0, 50.0)  # kg


@dataclass(frozen=True, eq=False)
class Curve:
    """One line of a chart. Frozen.

    label : str
    values : ndarray
        One a time, in the unit of the panel; NaN where there is nothing to show.
    side : float
        -1 for what lies on the left of the aircraft, 1 on the right, 0 for the rest.
    gap : str
        What a table says where there is nothing to show.
    """

    label: str
    values: np.ndarray
    side: float = 0.0
    gap: str = "not shown"


@dataclass(frozen=True)
class Limit:
    """A level to hold the lines against, in the unit of the panel, and what it is. Frozen.

    below : bool
        Whether its words stand below its line.
    """

    value: float
    words: str
    below: bool = False


@dataclass(frozen=True, eq=False)
class Panel:
    """One scale of a chart with its lines. Frozen.

    title, unit : str
    curves : tuple of Curve
    limits : tuple of Limit
    band : (float, float) or None
        A stretch of the scale that is meant to be kept.
    places : int
        Digits after the point in a table.
    least : (float, float) or None
        What the scale reaches over at the least.
    """

    title: str
    unit: str
    curves: tuple
    limits: tuple = ()
    band: tuple | None = None
    places: int = 0
    least: tuple | None = None

    @property
    def _ends(self):
        """Lowest and highest value of its lines, and of what the scale must reach over."""
        known = [curve.values[~np.isnan(curve.values)] for curve in self.curves]
        values = np.concatenate([*known, self.least or ()])
        return (float(values.min()), float(values.max())) if values.size else (0.0, 1.0)

    @property
    def near(self):
        """Those limits that are near enough to its lines to be drawn."""
        low, high = self._ends
        room = 1.5 * max(high - low, 1.0)
        return tuple(x for x in self.limits if low - room <= x.value <= high + room)

    @property
    def reach(self):
        """What the scale reaches over: lines and near limits; never without any height."""
        values = [*self._ends, *(limit.value for limit in self.near)]
        low, high = min(values), max(values)
        return low, max(high, low + 0.5)


@dataclass(frozen=True, eq=False)
class ChartNumbers:
    """Everything that a chart shows. Frozen.

    start, end : float
        [s]
    times : ndarray
        At least every two minutes, at every change, and on both sides of a step. [s]
    panels : tuple of Panel
    events : tuple of KeyEvent
    ticks : tuple of float
        Times of every change of a pump, a valve or an engine, also those without words. [s]
    notes : tuple of str
        What has to be said in words.
    whose : str
        Where something fails, whether this is the truth or what is shown.
    """

    title: str
    start: float
    end: float
    times: np.ndarray
    panels: tuple
    events: tuple = ()
    ticks: tuple = ()
    notes: tuple = ()
    whose: str = ""

    @property
    def curves(self):
        """Every line, panel by panel."""
        return tuple(curve for panel in self.panels for curve in panel.curves)


@dataclass(frozen=True, eq=False)
class _Asked:
    """What is charted: `hides` where something fails and only what is shown may be told."""

    history: object
    times: np.ndarray
    hides: bool
    truth: bool
    grade: str | None


def chart_numbers(history, kind, start=None, end=None, *, truth=False, grade="Jet A-1"):
    """Return what a chart of a flight plots.

    Parameters
    ----------
    history : History
    kind : str
        "quantities", "temperatures" or "balance".
    start, end : float, optional
        A stretch of the flight; without them all of it. [s]
    truth : bool
        False for what the crew is shown, where something fails.
    grade : str or None
        Grade whose freezing point goes with temperatures.

    Raises
    ------
    AskedError
        If the stretch does not lie in the flight.
    ValueError
        If there is no such kind or grade; names the ones there are.
    """
    if kind not in _KINDS:
        raise ValueError(f"chart: kind is '{kind}'; it must be one of {', '.join(_KINDS)}.")
    start, end = stretch(history, start, end)
    hides = bool(history.sector.failures) and not truth
    times = _times(history, start, end)
    title, panels, notes = _KINDS[kind](_Asked(history, times, hides, truth, grade))
    ticks, events = key_events(history, start, end, hides=hides)
    whose = ", as the crew is shown it" if hides else ", the true state"
    whose = whose if history.sector.failures else ""
    notes = (*notes, *_far(panels))
    return ChartNumbers(title, start, end, times, panels, events, ticks, notes, whose)


def _far(panels):
    """What is said of limits that lie far beyond the lines, each once."""
    far = [(p, x) for p in panels for x in p.limits if x not in p.near and x.value > 0.0]
    return tuple(f"Off the scale: {x.words} at {x.value:g} {p.unit}." for p, x in far)


def rows_of(numbers, history):
    """Return the table of a chart: a row at each phase, each change in words and each hour.

    Returns
    -------
    (tuple of str, list of tuple of str)
        Headings, and rows: time, phase, then a number for each line.
    """
    hours = _hours(numbers.start, numbers.end)
    phases = [p.start for p in history.sector.phases]
    moments = {*hours, *phases, *(e.time for e in numbers.events), numbers.start, numbers.end}
    shown = [t for t in sorted(moments) if numbers.start <= t <= numbers.end]
    pairs = [(panel, curve) for panel in numbers.panels for curve in panel.curves]
    head = ("time", "phase", *(f"{curve.label}, {panel.unit}" for panel, curve in pairs))
    rows = []
    for time in shown:
        place = int(np.searchsorted(numbers.times, time))
        cells = (_cell(curve, panel.places, place) for panel, curve in pairs)
        row = (clock(time), history.phase(time), *cells)
        if not rows or rows[-1] != row:
            rows.append(row)
    return head, rows


def _hours(start, end):
    """The whole hours of a stretch [s]."""
    return np.arange(np.ceil(start / HOUR), end / HOUR) * HOUR


def _cell(curve, places, place):
    value = curve.values[place]
    if np.isnan(value):
        return curve.gap
    text = f"{value:,.{places}f}".replace(",", " ")
    return text.removeprefix("-") if float(f"{value:.{places}f}") == 0.0 else text


def _times(history, start, end):
    """When lines are sampled [s]: often, at every change, and just before what may jump."""
    count = max(_POINTS, int(np.ceil((end - start) / _STEP))) + 1
    bulbs = {s.name for s in history.aircraft.sensors if s.kind == "temperature"}
    jumps = {p.start for p in history.sector.phases} | {f.time for f in history.sector.failures}
    jumps |= {c.time for c in history.changes if c.name in bulbs}
    before = [np.nextafter(time, -np.inf) for time in jumps]
    wanted = np.array([*(c.time for c in history.changes), *jumps, *before, *_hours(start, end)])
    inside = wanted[(wanted >= start) & (wanted <= end)]
    return np.unique([*np.linspace(start, end, count), *inside])


# --------------------------------------------------------------------------------- quantities
def _quantities(asked):
    history, times, hides = asked.history, asked.times, asked.hides
    masses, tanks = _masses(history, times, hides), history.aircraft.tanks
    curves = tuple(
        Curve(tank.name, masses[:, i], history.aircraft.sides[i])
        for i, tank in enumerate(tanks)
        if tank.holds_fuel or masses[:, i].max() > _DRY
    )
    whole = Panel("All tanks together", "kg", (Curve("all tanks", masses.sum(axis=1)),),
                  least=_FROM_ZERO)  # fmt: skip
    return (
        "Fuel on board, and in each tank",
        (whole, Panel("Each tank", "kg", curves, least=_FROM_ZERO)),
        (),
    )


def _masses(history, times, hides):
    """What is in each tank, or what its gauge shows; shape (n_times, n_tanks) [kg]."""
    if not hides:
        return history.samples(times)
    tanks = history.aircraft.tanks
    shown = [
        [history.shown_mass(t.name, float(at)) if t.holds_fuel else 0.0 for t in tanks]
        for at in times
    ]
    return np.array(shown).reshape(len(times), len(tanks))


# ------------------------------------------------------------------------------- temperatures
def _temperatures(asked):
    """Lines of each tank and of the air; a tank with a bulb has a gap while that is uncovered."""
    history, times = asked.history, asked.times
    bulbs = {}
    for sensor in history.aircraft.sensors:
        if sensor.kind == "temperature":
            bulbs.setdefault(sensor.tank, []).append(sensor.name)
    masses = history.samples(times)
    curves = [
        _fuel_curve(asked, i, masses[:, i], bulbs)
        for i, tank in enumerate(history.aircraft.tanks)
        if tank.holds_fuel and (tank.name in bulbs or not asked.hides)
    ]
    air = [history.sector.air_temperature(history.sector.phase_at(float(t))) for t in times]
    curves.append(Curve("total air temperature", np.array(air) - ZERO_CELSIUS))
    limits, notes = _freezing(asked.grade)
    panel = Panel("Temperature of fuel and air", "°C", tuple(curves), limits, places=1)
    return "How cold the fuel becomes", (panel,), (*_bulb_notes(asked, bulbs), *notes)


def _fuel_curve(asked, number, masses, bulbs):
    history, times = asked.history, asked.times
    tank = history.aircraft.tanks[number].name
    values = np.array([history.temperature(tank, float(t)) for t in times]) - ZERO_CELSIUS
    values[masses < _DRY] = np.nan
    side = history.aircraft.sides[number]
    if tank not in bulbs or asked.truth:
        return Curve(tank, values, side, "no fuel")
    values[~_covered(history, bulbs[tank], times)] = np.nan
    return Curve(f"{tank}, shown", values, side, "not shown")


def _covered(history, bulbs, times):
    """Whether some bulb of a tank shows a temperature at each time."""
    return np.array(
        [any(history.position(bulb, float(t)) == "WET" for bulb in bulbs) for t in times]
    )


def _freezing(grade):
    if grade is None:
        return (), ()
    known = grade_of(grade)
    value = known.freezing_point - ZERO_CELSIUS
    words = f"freezing point of {grade}: {value:.0f} °C".replace("-", "−").replace("A−", "A-")
    note = (
        f"The freezing point is the highest that the specification of {grade} allows "
        f"({known.source}); what a delivery has is measured. The sector does not name its grade."
    )
    return (Limit(value, words, below=True),), (note,)


def _bulb_notes(asked, bulbs):
    """In words: which tanks have a bulb, and when none of a bulb's readings is shown."""
    notes = []
    if not bulbs:
        notes.append("This aircraft shows no fuel temperature; the lines are computed.")
    elif asked.truth:
        notes.append(f"True temperatures. The aircraft shows those of {_listed(bulbs)} only.")
    else:
        rest = "no other is shown" if asked.hides else "the other lines are computed"
        notes.append(f"The aircraft shows the temperature of {_listed(bulbs)}; {rest}.")
    for bulb in (name for names in bulbs.values() for name in names):
        gaps = [f"from {clock(a)} to {clock(b)}" for a, b in _uncovered(asked, bulb)]
        if gaps:
            notes.append(
                f"No fuel covers the {bulb} {_listed(gaps)}: no temperature is shown then."
            )
    return tuple(notes)


def _uncovered(asked, bulb):
    """Stretches in which a bulb shows no temperature, within what is charted [s]."""
    first, last = asked.times[0], asked.times[-1]
    found = [
        (max(p.start, first), min(p.end, last))
        for p in state_pieces(asked.history, bulb)
        if p.state == "DRY"
    ]
    return [(a, b) for a, b in found if b - a >= _SHORTEST_GAP]


def _listed(names):
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


# ------------------------------------------------------------------------------------ balance
def _balance(asked):
    history, times, hides = asked.history, asked.times, asked.hides
    aircraft = history.aircraft
    masses = _masses(history, times, hides)
    uneven = np.array([lateral_imbalance(aircraft, row) for row in masses])
    limits = []
    for alert in aircraft.alerts:
        for fact in _facts(alert.condition, "imbalance"):
            if fact.above:
                words = f"alert: {alert.name}"
                limits += [Limit(fact.value, words), Limit(-fact.value, words, below=True)]
    lateral = Panel("Right wing less left wing", "kg",
                    (Curve("right less left", uneven),), tuple(limits),
                    least=_EITHER_SIDE)  # fmt: skip
    if aircraft.masses is None:
        note = f"The file of {aircraft.name} gives no masses: no centre of gravity."
        return "One wing against the other", (lateral,), (note,)
    if hides:
        note = "The centre of gravity would tell what the crew is not shown: it is left out."
        return "One wing against the other", (lateral,), (note,)
    note = (
        "The centre of gravity steps where the attitude does: fuel runs fore or aft in its tanks."
    )
    return "Balance: across, and along the aircraft", (lateral, _along(history, times)), (note,)


def _along(history, times):
    aircraft = history.aircraft
    percent = np.array([history.balance(float(t)).percent for t in times])
    edges = [fact for rule in aircraft.rules for fact in _facts(rule.condition, "balance")]
    aft = [fact.value for fact in edges if fact.above]
    forward = [fact.value for fact in edges if not fact.above]
    limits = [
        Limit(fact.value, f"alert: {alert.name}")
        for alert in aircraft.alerts
        for fact in _facts(alert.condition, "balance")
    ]
    band = (max(forward), min(aft)) if aft and forward else None
    if band:
        limits += [
            Limit(band[1], "aft edge: the transfer moves fuel forward"),
            Limit(band[0], "forward edge: the transfer moves fuel aft", below=True),
        ]
    return Panel("Centre of gravity", "% of the mean chord",
                 (Curve("centre of gravity", percent),), tuple(limits), band, 2)  # fmt: skip


def _facts(condition, measure):
    return [
        fact
        for fact in condition.facts
        if isinstance(fact, MeasureFact) and fact.measure == measure
    ]


_KINDS = {"quantities": _quantities, "temperatures": _temperatures, "balance": _balance}
