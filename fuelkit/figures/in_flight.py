"""In-flight fuel check: used and remaining against what was on board, and what is due to be said.

MINIMUM FUEL and MAYDAY FUEL follow ICAO Annex 6, Part I, 4.3.7, in our own words.
"""

from dataclasses import dataclass
from functools import partial

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import (
    engine_counters,
    first_with_counters,
    rounded,
    scale_of,
)
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, number
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.units import HOUR, MINUTE

NONE, MINIMUM, MAYDAY = "none", "MINIMUM FUEL", "MAYDAY FUEL"
CALLS = (NONE, MINIMUM, MAYDAY)

REASONS = {
    "enough": "more than final reserve is left on landing, even after the change that may come",
    "open": "another aerodrome can still be chosen, so nothing is committed yet",
    "change": "committed, and the change that may come would mean landing with less than final "
    "reserve",
    "reserve": "less than final reserve is expected on landing at the nearest suitable aerodrome",
}
"""Why each call is due, or none is."""

ANNEX_6 = "ICAO Annex 6, Part I, 4.3.7 (paraphrased)"
YES, NO = "yes", "no"


@dataclass(frozen=True)
class Check:
    """What is read at a check. Masses of usable fuel [kg].

    start : float
        On board when the counters began.
    used : tuple of float
        By each counter.
    uncounted : float
        Used by what no counter counts, such as an APU.
    gauges : float
        Remaining by the gauges.
    planned_used, planned_left : float
        By the flight plan: used up to this point, and burned from here to the destination.
    """

    start: float
    used: tuple
    uncounted: float
    gauges: float
    planned_used: float
    planned_left: float


def call_due(at_destination, at_nearest, change, final_reserve, committed):
    """Return the call that is due and the name of its reason.

    Parameters
    ----------
    at_destination, at_nearest : float
        Usable fuel expected on landing, at the destination and at the nearest aerodrome where a
        safe landing can be made. [kg]
    change : float
        What a change to the clearance that may come would cost. [kg]
    final_reserve : float
        Planned final reserve fuel. [kg]
    committed : bool
        Whether the aircraft is committed to land at the destination.

    Returns
    -------
    tuple of two str
        One of `CALLS`, and a name in `REASONS`.

    Notes
    -----
    MAYDAY FUEL: the usable fuel predicted on landing at the nearest suitable aerodrome is less
    than the planned final reserve. MINIMUM FUEL: committed to one aerodrome, and any change to the
    clearance may mean landing with less than it. Both are strict: equal is not yet less.

    Examples
    --------
    >>> call_due(1500.0, 1500.0, 300.0, 1200.0, True)
    ('none', 'enough')
    >>> call_due(1499.0, 1499.0, 300.0, 1200.0, True)
    ('MINIMUM FUEL', 'change')
    >>> call_due(1199.0, 1199.0, 300.0, 1200.0, True)
    ('MAYDAY FUEL', 'reserve')
    """
    if at_nearest < final_reserve:
        return MAYDAY, "reserve"
    if at_destination - change >= final_reserve:
        return NONE, "enough"
    if not committed:
        return NONE, "open"
    return MINIMUM, "change"


def in_flight_sheet(check, *, to_nearest, change, final_reserve, committed):
    """Return the sheet of an in-flight fuel check.

    Parameters
    ----------
    check : Check
    to_nearest : float
        Planned burn from here to the nearest suitable aerodrome, which may be the destination.
        [kg]
    change : float
        What a change to the clearance that may come would cost. [kg]
    final_reserve : float
        Planned final reserve fuel. [kg]
    committed : bool
        Whether the aircraft is committed to land at the destination.

    Raises
    ------
    FigureError
        If a figure is absurd, or more was used than was on board.
    """
    _check(check, to_nearest, change, final_reserve, committed)
    return Sheet(
        name="in-flight",
        title="Fuel check in flight",
        lead="A check on the way. Do used and remaining explain what was on board, what is "
        "expected on landing, and is a call due?",
        givens=_givens(check, to_nearest, change, final_reserve, committed),
        steps=(*_check_steps(len(check.used)), *_landing_steps(), *_call_steps()),
        cautions=(
            TRAINING_AID,
            "A call is not put off until the figures are certain, and neither call is a matter "
            "of arithmetic alone: the commander decides.",
        ),
        sources=(
            ANNEX_6,
            "14 CFR 25.1337(b): gauges read zero at unusable fuel, so what they show is usable",
        ),
        objectives=("in-flight-check", "minimum-fuel", "final-reserve", "fuel-used"),
    )


def _check(check, to_nearest, change, final_reserve, committed):
    if not check.used:
        raise FigureError("used: there is no counter; give what each counter shows.")
    named = {
        "start": check.start, "uncounted": check.uncounted, "gauges": check.gauges,
        "planned_used": check.planned_used, "planned_left": check.planned_left,
        "to_nearest": to_nearest, "change": change, "final_reserve": final_reserve,
        **{f"used {index}": used for index, used in enumerate(check.used, start=1)},
    }  # fmt: skip
    for field, value in named.items():
        strict = field in ("start", "planned_used", "final_reserve")
        number(field, value, "kg", high=1e6, **({"above": 0.0} if strict else {"low": 0.0}))
    if not isinstance(committed, bool):
        raise FigureError(f"committed: it is {committed!r}; it must be True or False.")
    if to_nearest > check.planned_left:
        raise FigureError(
            f"to_nearest: it is {to_nearest:.0f} kg; it must be at most the burn to the "
            f"destination, {check.planned_left:.0f} kg, which is an aerodrome too."
        )
    gone = sum(check.used) + check.uncounted
    if gone > check.start:
        raise FigureError(
            f"used: it is {gone:.0f} kg together; it must be at most what was on board, "
            f"{check.start:.0f} kg. Look at the counters, and when they were set to zero."
        )


def _givens(check, to_nearest, change, final_reserve, committed):
    return (
        Given("start", "On board when the counters began", check.start, "kg", "usable"),
        *(Given(f"used {index}", f"Fuel used, engine {index}", used, "kg")
          for index, used in enumerate(check.used, start=1)),
        Given("uncounted", "Used since, on no counter", check.uncounted, "kg", "such as an APU"),
        Given("gauges", "Remaining by the gauges", check.gauges, "kg", "usable"),
        Given("planned used", "Planned to be used up to here", check.planned_used, "kg"),
        Given("planned left", "Planned burn from here to the destination", check.planned_left,
              "kg"),
        Given("to nearest", "Planned burn from here to the nearest suitable aerodrome", to_nearest,
              "kg"),
        Given("change", "What a change to the clearance may cost", change, "kg"),
        Given("final reserve", "Planned final reserve", final_reserve, "kg"),
        Given("committed", "Committed to land at the destination", YES if committed else NO),
    )  # fmt: skip


def _check_steps(count):
    names = tuple(f"used {index}" for index in range(1, count + 1))
    return (
        Step(
            "used", "Used so far", (*names, "uncounted"),
            "sum of the counters + what no counter counts", "kg", lambda *parts: sum(parts),
            tolerance=2.0,
            slips=(Slip("one engine only", "One engine's counter was taken for all.",
                        lambda first, *_: first),) if count > 1 else (),
        ),
        Step(
            "by counters", "Remaining by the counters", ("start", "used"), "on board - used", "kg",
            lambda start, used: start - used, tolerance=4.0,
        ),
        Step(
            "gap", "Gauges less counters", ("gauges", "by counters"),
            "remaining by gauges - remaining by counters", "kg", lambda shown, left: shown - left,
            tolerance=6.0,
        ),
        Step(
            "remaining", "Remaining, to be reckoned with", ("gauges", "by counters"),
            "the lower of the two until the difference is explained", "kg",
            lambda shown, left: min(shown, left), tolerance=4.0, source=COMMON_PRACTICE,
            slips=(Slip("the higher figure", "The higher of the two was taken.",
                        lambda shown, left: max(shown, left)),),
        ),
    )  # fmt: skip


def _landing_steps():
    # The factor: what was really burned for each planned kilogram. More than planned is expected
    # to go on; less is not counted on.
    return (
        Step(
            "factor", "Burn so far, of what was planned", ("used", "planned used"),
            "used ÷ planned to be used, but not under 100 %", "%",
            lambda used, planned: max(used / planned, 1.0), tolerance=0.15,
            source=f"{COMMON_PRACTICE}: what was saved so far is not counted on",
        ),
        Step(
            "at destination", "Expected on landing at the destination",
            ("remaining", "planned left", "factor"), "remaining - planned burn × factor", "kg",
            lambda left, burn, factor: left - burn * factor, tolerance=15.0, relative=0.005,
            slips=(Slip("planned burn counted twice", "The planned burn was taken off twice.",
                        lambda left, burn, factor: left - 2.0 * burn * factor),),
        ),
        Step(
            "at nearest", "Expected on landing at the nearest suitable aerodrome",
            ("remaining", "to nearest", "factor"), "remaining - planned burn × factor", "kg",
            lambda left, burn, factor: left - burn * factor, tolerance=15.0, relative=0.005,
        ),
        Step(
            "margin", "Expected at the destination, above final reserve",
            ("at destination", "final reserve"), "expected on landing - final reserve", "kg",
            lambda left, reserve: left - reserve, tolerance=20.0, relative=0.005,
            slips=(Slip("reserve counted twice", "Final reserve was taken off twice.",
                        lambda left, reserve: left - 2.0 * reserve),),
        ),
    )  # fmt: skip


def _call_steps():
    inputs = ("at destination", "at nearest", "change", "final reserve", "committed")

    def due(index, at_destination, at_nearest, change, reserve, committed):
        found = call_due(at_destination, at_nearest, change, reserve, committed == YES)
        return found[0] if index == 0 else REASONS[found[1]]

    return (
        Step(
            "call", "Which call is due?", inputs,
            "MAYDAY FUEL if less than final reserve is expected at the nearest suitable "
            "aerodrome; MINIMUM FUEL if committed and the change may lead below it; else none",
            "", partial(due, 0), options=CALLS, source=ANNEX_6, marks=2.0,
        ),
        Step("reason", "Why?", inputs, "what decides between the calls", "", partial(due, 1),
             options=tuple(REASONS.values()), source=ANNEX_6),
    )  # fmt: skip


# --------------------------------------------------------------------------------------- drawing
def draw_in_flight(aircraft, draw):
    """Return an in-flight fuel check that follows from a number: each call comes up in turn.

    Raises
    ------
    FigureError
        If the aircraft has no fuel-used counters.
    """
    return first_with_counters(_drawn, "in-flight", aircraft, draw)


def _drawn(aircraft, lot):
    scale, grain = scale_of(aircraft), scale_of(aircraft).grain
    tidy = partial(rounded, step=grain)
    engines = len(engine_counters(aircraft))
    apu = any(consumer.kind == "APU" for consumer in aircraft.consumers)
    reserve = tidy(scale.flow * lot.between(0.42, 0.5, "reserve") * HOUR)
    planned_left = tidy(scale.flow * lot.between(0.4, 2.0, "time left") * HOUR)
    planned_used = tidy(scale.flow * lot.between(0.8, 2.0, "time gone") * HOUR)
    factor = lot.between(0.97, 1.07, "factor")
    used = tuple(tidy(planned_used * factor / engines * lot.between(0.99, 1.01, f"engine {e}"))
                 for e in range(engines))  # fmt: skip
    uncounted = tidy(scale.flow * lot.between(0.0, 4.0, "APU") * MINUTE) if apu else 0.0
    change = tidy(scale.flow * lot.between(8.0, 20.0, "change") * MINUTE)
    wanted = lot.one_of(("enough", "change", "reserve", "open"), "wanted")
    over = {
        "enough": change + reserve * lot.between(0.2, 1.5, "over"),
        "change": change * lot.between(0.1, 0.8, "over"),
        "open": change * lot.between(0.1, 0.8, "over"),
        "reserve": -reserve * lot.between(0.1, 0.5, "over"),
    }[wanted]
    gauges = tidy(reserve + over + planned_left * max(factor, 1.0))
    off = lot.one_of((-1.0, 1.0), "sense") * lot.between(0.004, 0.02, "off") * gauges
    check = Check(
        start=tidy(gauges + off + sum(used) + uncounted), used=used, uncounted=uncounted,
        gauges=gauges, planned_used=planned_used, planned_left=planned_left,
    )  # fmt: skip
    nearest = planned_left if wanted != "open" else tidy(planned_left * 0.6)
    return in_flight_sheet(
        check, to_nearest=nearest, change=change, final_reserve=reserve,
        committed=wanted in ("change", "reserve") or lot.chance(0.5, "committed"),
    )  # fmt: skip
