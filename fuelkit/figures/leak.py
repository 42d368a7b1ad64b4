"""Leak, faulty gauge, or neither: what three fuel checks one after another point to.

What is on board by the gauges and what the counters have taken must together stay the same.
"""

from dataclasses import dataclass

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_with_counters, rounded, scale_of
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, number
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.units import MINUTE

NEITHER, LEAK, GAUGE = "neither", "leak", "gauge fault"
POINTS_TO = (NEITHER, LEAK, GAUGE)

SAME_RATE = 2.0
"""Two losses of rates within this factor are one steady loss. Our own number. [-]"""


@dataclass(frozen=True)
class Reading:
    """One of the three checks. Frozen.

    time : float
        Since the first. [s]
    gauges : float
        Total of the gauges. [kg]
    used : float
        Total of the counters. [kg]
    """

    time: float
    gauges: float
    used: float


def points_to(first, second, first_rate, second_rate, tolerance):
    """Return what two changes of gauges and counters together point to.

    Parameters
    ----------
    first, second : float
        Change from the first to the second check, and on to the third; a loss is negative. [kg]
    first_rate, second_rate : float
        The same over the time between. [kg/s]
    tolerance : float
        Change that gauges and counters make by themselves. [kg]

    Returns
    -------
    str
        One of `POINTS_TO`.

    Notes
    -----
    Fuel that leaves goes on leaving: two losses of about the same rate are a leak. A change that
    comes once and does not go on, or one upward, is a gauge (or a counter) that reads wrong. A
    leak that began between the last two checks looks like that at first: hence the caution.

    References
    ----------
    Common practice, no source; conservation of mass.

    Examples
    --------
    >>> points_to(-300.0, -320.0, -0.17, -0.18, 100.0)
    'leak'
    >>> points_to(-300.0, 10.0, -0.17, 0.01, 100.0), points_to(20.0, -30.0, 0.01, -0.02, 100.0)
    ('gauge fault', 'neither')
    """
    if abs(first) <= tolerance and abs(second) <= tolerance:
        return NEITHER
    both_lost = first < -tolerance and second < -tolerance
    if both_lost and 1.0 / SAME_RATE <= first_rate / second_rate <= SAME_RATE:
        return LEAK
    return GAUGE


def leak_sheet(readings, *, tolerance):
    """Return the sheet that tells a leak from a faulty gauge by three checks.

    Parameters
    ----------
    readings : sequence of three Reading
        In the order of time; counters that were not set to zero in between.
    tolerance : float
        Change that gauges and counters make by themselves. [kg]

    Raises
    ------
    FigureError
        If there are not three, or times or counters do not rise.
    """
    readings = tuple(readings)
    _check(readings, tolerance)
    given = []
    for index, reading in enumerate(readings, start=1):
        given += [
            Given(f"time {index}", f"Time of check {index}", reading.time, "h:mm"),
            Given(f"gauges {index}", f"Gauges at check {index}", reading.gauges, "kg"),
            Given(f"counters {index}", f"Fuel used at check {index}", reading.used, "kg"),
        ]
    given.append(Given("tolerance", "Change that means nothing", tolerance, "kg", COMMON_PRACTICE))
    return Sheet(
        name="leak",
        title="Leak, faulty gauge, or neither",
        lead="Three fuel checks one after another. What do they point to?",
        givens=tuple(given),
        steps=(*map(_sum_step, (1, 2, 3)), *_change_steps(1), *_change_steps(2), _verdict_step()),
        cautions=(
            TRAINING_AID,
            "What cannot be told apart is treated as a leak. Crossfeed stays shut until a leak is "
            "ruled out, by the approved procedure: it would feed the leak from the other side.",
        ),
        sources=(f"Conservation of mass; how crews read it: {COMMON_PRACTICE}",),
        objectives=("leak-or-imbalance", "in-flight-check"),
    )


def _check(readings, tolerance):
    if len(readings) != 3:
        raise FigureError(f"readings: there are {len(readings)}; give three checks.")
    number("tolerance", tolerance, "kg", above=0.0, high=1e5)
    for index, reading in enumerate(readings, start=1):
        number(f"time {index}", reading.time, "h:mm", low=0.0)
        number(f"gauges {index}", reading.gauges, "kg", low=0.0, high=1e6)
        number(f"used {index}", reading.used, "kg", low=0.0, high=1e6)
    for index, (before, after) in enumerate(zip(readings, readings[1:], strict=False), start=2):
        if not after.time >= before.time + MINUTE:
            raise FigureError(
                f"time {index}: it is {written(after.time, 'h:mm')}; it must be at least a minute "
                f"after the check before, {written(before.time, 'h:mm')}."
            )
        if after.used < before.used:
            raise FigureError(
                f"used {index}: it is {written(after.used, 'kg')}; it must be at least "
                f"{written(before.used, 'kg')}, what it was: a counter does not run back."
            )


def _sum_step(index):
    return Step(
        f"sum {index}", f"Gauges and counters together, check {index}",
        (f"gauges {index}", f"counters {index}"), "gauges + fuel used", "kg",
        lambda gauges, used: gauges + used, tolerance=1.0,
        slips=(Slip("used taken off", "Fuel used was taken off instead of added.",
                    lambda gauges, used: gauges - used),),
    )  # fmt: skip


def _change_steps(index):
    after = index + 1
    return (
        Step(
            f"change {index}", f"Change from check {index} to {after}",
            (f"sum {index}", f"sum {after}"), "sum after - sum before; a loss is negative", "kg",
            lambda before, then: then - before, tolerance=2.0,
            slips=(Slip("with the wrong sign", "Before less after: a loss came out as a gain.",
                        lambda before, then: before - then),),
        ),
        Step(
            f"rate {index}", f"The same, for an hour, {index} to {after}",
            (f"change {index}", f"time {index}", f"time {after}"), "change ÷ time between", "kg/h",
            lambda change, before, then: change / (then - before), tolerance=8.0, relative=0.02,
            slips=(Slip("time in minutes",
                        "The change was divided by the minutes and not multiplied by 60.",
                        lambda change, before, then: change / (then - before) / 60.0),),
        ),
    )  # fmt: skip


def _verdict_step():
    return Step(
        "verdict", "What do the checks point to?",
        ("change 1", "change 2", "rate 1", "rate 2", "tolerance"),
        "neither, if no change is larger than what means nothing; a leak, if both are losses at "
        "about the same rate; else a gauge",
        "", points_to, options=POINTS_TO, source=COMMON_PRACTICE, marks=3.0,
    )  # fmt: skip


# --------------------------------------------------------------------------------------- drawing
def draw_leak(aircraft, draw):
    """Return three fuel checks that follow from a number: leak, gauge fault and neither in turn.

    Raises
    ------
    FigureError
        If the aircraft has no fuel-used counters.
    """
    return first_with_counters(_drawn, "leak", aircraft, draw)


def _drawn(aircraft, lot):
    scale, grain = scale_of(aircraft), scale_of(aircraft).grain
    kind, tolerance = lot.one_of(POINTS_TO, "kind"), 4.0 * grain
    times = (0.0, *(MINUTE * lot.whole(20, 40, f"gap {i}") for i in (1, 2)))
    times = tuple(sum(times[: i + 1]) for i in range(3))
    on_board = lot.between(0.45, 0.9, "on board") * scale.full
    used = tuple(rounded(lot.between(0.02, 0.1, "gone") * scale.full + scale.flow * time, 5.0)
                 for time in times)  # fmt: skip
    lost = _drawn_loss(lot, kind, times, tolerance)
    readings = [
        Reading(time, rounded(on_board - gone + off + lot.between(-1, 1, f"play {time}") * grain,
                              grain), gone)
        for time, gone, off in zip(times, used, lost, strict=True)
    ]  # fmt: skip
    if readings[-1].gauges < 0.1 * scale.full:
        return None
    return leak_sheet(readings, tolerance=tolerance)


def _drawn_loss(lot, kind, times, tolerance):
    """What each check shows less (or more) than is burned. [kg]"""
    if kind == LEAK:
        rate = tolerance * lot.between(2.0, 6.0, "rate") / (20.0 * MINUTE)
        return tuple(-rate * time for time in times)
    if kind == GAUGE:
        size = lot.one_of((-1.0, 1.0), "sense") * tolerance * lot.between(2.0, 6.0, "size")
        begins = lot.one_of((1, 2), "begins")
        return tuple(size if index >= begins else 0.0 for index in range(3))
    return 0.0, 0.0, 0.0
