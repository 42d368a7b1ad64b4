"""Situations drawn by a number: the same number gives the same sheet, on every machine."""

from dataclasses import dataclass, replace
from functools import partial

from fuelkit.figures.quantities import FigureError, unit_of
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import HOUR, NAUTICAL_MILE

KNOT = NAUTICAL_MILE / HOUR
"""One knot. [m/s]"""

_TRIES = 200
_TYPICAL_DENSITY = 800.0  # kg/m³


class Draw(Lot):
    """The same lots, with numbers that can be worked with a pencil.

    Examples
    --------
    >>> draw = Draw("uplift", "halbrook-180", 7)
    >>> draw.between(0.0, 100.0, "volume", step=20.0) % 20.0
    0.0
    """

    def between(self, low, high, what, *, step=None):
        """Return a number from low to high; with a step, a whole multiple of it nearby."""
        value = super().between(low, high, what)
        return value if step is None else rounded(value, step)

    def chance(self, likely, what):
        """Return whether something happens that happens in a share of all draws."""
        return self.share(what) < likely


def rounded(value, step):
    """Return the whole multiple of a step nearest to a value, free of dust in its last digits.

    Examples
    --------
    >>> rounded(1234.5, 20.0), rounded(0.8123, 0.001)
    (1240.0, 0.812)
    """
    return round(step * round(value / step), 9)


@dataclass(frozen=True)
class Scale:
    """How large an aircraft's figures are, for situations that are drawn. Our own estimate. Frozen.

    full : float
        What its tanks are refuelled to, at 800 kg/m³. [kg]
    grain : float
        Step to which its gauges and figures are rounded. [kg]
    flow : float
        Of all engines in cruise. [kg/s]
    speed : float
        True airspeed in cruise. [m/s]
    """

    full: float
    grain: float
    flow: float
    speed: float


def scale_of(aircraft):
    """Return how large an aircraft's figures are, from what its tanks take.

    Only drawn situations use it: more fuel means longer legs and more engine. No source.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> scale = scale_of(load_aircraft("halbrook-180"))
    >>> round(scale.full, -3), scale.grain, round(scale.full / scale.flow / 3600.0)
    (17000.0, 20.0, 7)
    """
    volumes = [tank.refuelled_volume for tank in aircraft.tanks if tank.holds_fuel]
    full = _TYPICAL_DENSITY * sum(volumes)
    endurance = min(5.5 + full / 10_000.0, 16.0) * HOUR
    grain = 10.0 if full < 8000.0 else 20.0 if full < 40_000.0 else 100.0
    return Scale(full, grain, full / endurance, (270.0 if full < 8000.0 else 450.0) * KNOT)


def engine_counters(aircraft):
    """Return the fuel-used counters of an aircraft's engines; that of an APU is none of them."""
    engines = {consumer.name for consumer in aircraft.consumers if consumer.kind == "engine"}
    return tuple(counter for counter in aircraft.counters if counter.consumer in engines)


def without_counters(aircraft):
    """Return a sentence if an aircraft has no fuel-used counters of its engines, or nothing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> without_counters(load_aircraft("halbrook-180"))
    ''
    """
    if engine_counters(aircraft):
        return ""
    return (
        f"{aircraft.name}: counters of the engines are missing, so nothing tells what was used. "
        "Add [[counters]] to the aircraft's file."
    )


def first_fair(make, *words):
    """Return the first sheet of a series of draws that can fairly be asked.

    Parameters
    ----------
    make : callable
        Given a Draw, returns a Sheet, or None for a situation that nobody would meet.
    words : str or int
        What the draws follow from.

    Raises
    ------
    FigureError
        If none of 200 is fair: then `make` is wrong, not the learner.
    """
    for attempt in range(_TRIES):
        sheet = make(Draw(*words, attempt))
        if sheet is not None and is_fair(sheet):
            return sheet
    named = ", ".join(map(str, words))
    raise FigureError(f"draw: no fair sheet in {_TRIES} tries for {named}. Widen its ranges.")


def first_with_counters(make, name, aircraft, draw):
    """Return the first fair sheet of an aircraft that has fuel-used counters; see `first_fair`.

    Raises
    ------
    FigureError
        If it has none: says so.
    """
    if sentence := without_counters(aircraft):
        raise FigureError(sentence)
    return first_fair(partial(make, aircraft), name, aircraft.identifier, draw)


def is_fair(sheet):
    """Return whether slips of a sheet can be told from right work, and its decisions are firm.

    A decision is firm if no single step, wrong by its whole tolerance, turns it.
    """
    right = sheet.worked()
    return _slips_show(sheet, right) and _decisions_are_firm(sheet, right)


def with_telling_slips(sheet):
    """Return a sheet without those slips that give the right answer from its figures."""
    right = sheet.worked()
    steps = tuple(
        replace(step, slips=tuple(slip for slip in step.slips if _tells(step, slip, right)))
        for step in sheet.steps
    )
    return replace(sheet, steps=steps)


def _slips_show(sheet, right):
    return all(_tells(step, slip, right) for step in sheet.steps for slip in step.slips)


def _tells(step, slip, right):
    got = slip.work(*(right[name] for name in step.inputs))
    return not step.agrees(got, right[step.name])


def _decisions_are_firm(sheet, right):
    decisions = [step.name for step in sheet.steps if step.options]
    for step in sheet.steps:
        if step.options:
            continue
        value = right[step.name]
        allowed = unit_of(step.unit).span(step.tolerance) + step.relative * abs(value)
        for moved in (value - allowed, value + allowed):
            try:
                got = sheet.worked(instead={step.name: moved})
            except (FigureError, ArithmeticError, ValueError):
                return False
            if any(got[name] != right[name] for name in decisions):
                return False
    return True
