"""After the flight: used by counters against gauges, the next uplift, and what the log gets."""

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import (
    engine_counters,
    first_with_counters,
    rounded,
    scale_of,
)
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, fuel_density, number
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.units import LITRE, MINUTE

NOTHING, REPORT = "nothing to report", "report it"
LIMIT_SHARE = 0.02
"""Difference that is taken, as a share of the fuel used. Common practice, no source. [-]"""


def after_flight_sheet(start, used, uncounted, gauges, next_block, dense, *, least_limit=100.0):
    """Return the sheet of the figures after a flight.

    Parameters
    ----------
    start : float
        By gauges before the engines were started. [kg]
    used : sequence of float
        By each counter. [kg]
    uncounted : float
        Used by what no counter counts, such as an APU. [kg]
    gauges : float
        Remaining, by gauges. [kg]
    next_block : float
        Fuel to be on board for the next flight. [kg]
    dense : float
        Density of the fuel that will be delivered, at its temperature. [kg/m³]
    least_limit : float
        Difference that is taken whatever was used: what the gauges can be read to. [kg]

    Raises
    ------
    FigureError
        If a figure is absurd, or more was used than was on board.
    """
    used = tuple(used)
    _check(start, used, uncounted, gauges, next_block, dense, least_limit)
    return Sheet(
        name="after-flight",
        title="After the flight",
        lead="The engines are stopped. Do counters and gauges tell the same, what is taken on "
        "next, and what does the technical log get?",
        givens=(
            Given("start", "By gauges before the engines were started", start, "kg"),
            *(Given(f"used {index}", f"Fuel used, engine {index}", mass, "kg")
              for index, mass in enumerate(used, start=1)),
            Given("uncounted", "Used since, on no counter", uncounted, "kg", "such as an APU"),
            Given("gauges", "Remaining by the gauges", gauges, "kg"),
            Given("share", "Difference that is taken, of the fuel used by the counters",
                  LIMIT_SHARE, "%", COMMON_PRACTICE),
            Given("least", "Difference that is always taken", least_limit, "kg", COMMON_PRACTICE),
            Given("next", "Fuel to be on board for the next flight", next_block, "kg"),
            Given("density", "Density of what will be delivered", dense, "kg/l"),
        ),
        steps=(*_used_steps(len(used)), *_next_steps()),
        cautions=(
            TRAINING_AID,
            "Counters go back to zero when their engine is started next, so they are read before. "
            "What is written in a technical log, and by whom, is the operator's rule.",
        ),
        sources=(f"Limit and counters: {COMMON_PRACTICE}", "14 CFR 25.1337(b) for the gauges"),
        objectives=("fuel-used", "uplift"),
    )  # fmt: skip


def _check(start, used, uncounted, gauges, next_block, dense, least_limit):
    if not used:
        raise FigureError("used: there is no counter; give what each counter shows.")
    named = {"start": start, "uncounted": uncounted, "gauges": gauges, "next_block": next_block,
             **{f"used {i}": mass for i, mass in enumerate(used, start=1)}}  # fmt: skip
    for field, value in named.items():
        number(field, value, "kg", low=0.0, high=1e6)
    number("least_limit", least_limit, "kg", above=0.0, high=1e5)
    fuel_density("dense", dense)
    gone = sum(used) + uncounted
    if gone > start:
        raise FigureError(
            f"used: it is {written(gone, 'kg')} together; it must be at most what was on board, "
            f"{written(start, 'kg')}. Look when the counters were set to zero."
        )


def _used_steps(count):
    names = tuple(f"used {index}" for index in range(1, count + 1))
    return (
        Step(
            "counted", "Used, by the counters", names, "sum of the counters", "kg",
            lambda *parts: sum(parts), tolerance=2.0,
        ),
        Step(
            "expected", "Expected to remain", ("start", "counted", "uncounted"),
            "before - used by counters - used on no counter", "kg",
            lambda start, counted, rest: start - counted - rest, tolerance=4.0,
        ),
        Step(
            "difference", "Gauges less expected", ("gauges", "expected"),
            "remaining by gauges - expected", "kg", lambda shown, left: shown - left,
            tolerance=6.0,
        ),
        Step(
            "limit", "Largest difference that is taken", ("share", "counted", "least"),
            "the share of the fuel used by the counters, or the least figure if that is more", "kg",
            lambda share, counted, least: max(share * counted, least), tolerance=2.0,
            relative=0.005, source=COMMON_PRACTICE,
        ),
        Step(
            "decision", "What goes to maintenance?", ("difference", "limit"),
            "report it if the difference, up or down, is larger than the limit", "",
            lambda off, limit: NOTHING if abs(off) <= limit else REPORT,
            options=(NOTHING, REPORT), source=COMMON_PRACTICE,
        ),
    )  # fmt: skip


def _next_steps():
    return (
        Step(
            "uplift", "Next uplift", ("next", "gauges"),
            "to be on board - remaining by gauges, but not under 0", "kg",
            lambda block, left: max(block - left, 0.0), tolerance=4.0,
            slips=(Slip("all of it", "What remains was not taken off.", lambda block, _: block),),
        ),
        Step(
            "litres", "The same in litres", ("uplift", "density"), "mass ÷ density in kg/l", "l",
            lambda mass, dense: mass / dense, tolerance=10.0, relative=0.002,
            slips=(
                Slip("density inverted", "The mass was multiplied by the density.",
                     lambda mass, dense: mass * (dense * LITRE) * LITRE),
                Slip("kg read as litres", "The kilograms were written as litres.",
                     lambda mass, _: mass * LITRE),
            ),
        ),
    )  # fmt: skip


def log_entry(sheet):
    """Return what the technical log gets, as text put together from a worked sheet.

    Parameters
    ----------
    sheet : Sheet
        From `after_flight_sheet`.

    Examples
    --------
    >>> sheet = after_flight_sheet(9000.0, (2500.0, 2540.0), 60.0, 3880.0, 8000.0, 800.0)
    >>> print(log_entry(sheet))
    Before start 9 000 kg. Used: 2 500 kg + 2 540 kg by counters, 60 kg on no counter.
    Remaining 3 880 kg by gauges, 3 900 kg expected: difference -20 kg, up to 101 kg is accepted.
    Nothing to report. Next uplift 4 120 kg, 5 150 l at 0.8000 kg/l.
    """
    values = sheet.worked()
    said = {given.name: str(given) for given in sheet.givens}
    said |= {step.name: step.written(values[step.name]) for step in sheet.steps}
    counters = " + ".join(said[name] for name in said if name.startswith("used "))
    verdict = {
        NOTHING: "Nothing to report",
        REPORT: "Beyond what is taken, please investigate gauges, counters and tanks",
    }[values["decision"]]
    return (
        f"Before start {said['start']}. Used: {counters} by counters, {said['uncounted']} on no "
        f"counter.\nRemaining {said['gauges']} by gauges, {said['expected']} expected: difference "
        f"{said['difference']}, up to {said['limit']} is accepted.\n{verdict}. "
        f"Next uplift {said['uplift']}, {said['litres']} at {said['density']}."
    )


# --------------------------------------------------------------------------------------- drawing
def draw_after_flight(aircraft, draw):
    """Return the figures after a flight that follow from a number.

    Raises
    ------
    FigureError
        If the aircraft has no fuel-used counters.
    """
    return first_with_counters(_drawn, "after-flight", aircraft, draw)


def _drawn(aircraft, lot):
    scale = scale_of(aircraft)
    counters = engine_counters(aircraft)
    burned = lot.between(0.3, 0.55, "burned") * scale.full
    used = tuple(
        rounded(burned / len(counters) * lot.between(0.98, 1.02, counter.name), 5.0)
        for counter in counters
    )
    apu = any(consumer.kind == "APU" for consumer in aircraft.consumers)
    uncounted = scale.flow * lot.between(1.0, 4.0, "APU") * MINUTE if apu else 0.0
    uncounted = rounded(uncounted, 5.0)
    least, counted = 2.0 * scale.grain, sum(used)
    limit = max(LIMIT_SHARE * counted, least)
    off = lot.one_of((lot.between(0.1, 0.75, "small"), lot.between(1.3, 4.0, "large")), "fault")
    off *= limit * lot.one_of((-1.0, 1.0), "sense")
    start = rounded(lot.between(0.62, 0.9, "start") * scale.full, scale.grain)
    gauges = rounded(start - counted - uncounted + off, scale.grain)
    block = rounded(lot.between(0.4, 0.95, "next") * scale.full, scale.grain)
    if gauges < 0.05 * scale.full or block < gauges + 0.1 * scale.full:
        return None
    dense = rounded(lot.between(778.0, 832.0, "density"), 0.1)
    return after_flight_sheet(start, used, uncounted, gauges, block, dense, least_limit=least)
