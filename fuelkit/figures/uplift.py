"""Uplift check: what was on board and what was delivered, against what the gauges show after."""

from dataclasses import dataclass
from functools import partial

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_fair, rounded, scale_of
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, choice, fuel_density, number
from fuelkit.figures.quantities import FigureError, unit_of
from fuelkit.physics.units import IMPERIAL_GALLON, LITRE, POUND, US_GALLON

ACCEPT, INVESTIGATE = "accept", "investigate"
LIMIT_SHARE = 0.03
"""Discrepancy that is taken, as a share of the uplift. Common practice, no source. [-]"""

NAMED_WEIGHTS = {
    "FAA AMT Handbook - General": 6.7,
    "FAA-H-8083-25B (from memory)": 6.8,
}
"""Weight of a US gallon of jet fuel that is assumed where none was measured. [lb/US gal]"""

_VOLUMES = ("l", "US gal", "imp gal")
_MASSES = ("kg", "lb")


@dataclass(frozen=True)
class Delivery:
    """What the delivery note says. Frozen.

    volume : float
        [m³]
    unit : str
        Unit of the note: "l", "US gal" or "imp gal".
    density : float or None
        Measured, at the temperature of the fuel when it was metered. [kg/m³]
    rule : str
        Where no density was measured, the name of a weight in `NAMED_WEIGHTS`.
    """

    volume: float
    unit: str
    density: float | None = None
    rule: str = ""


def uplift_sheet(before, delivery, after, *, used=0.0, gauge_unit="kg", least_limit=100.0):
    """Return the sheet that holds an uplift against the gauges.

    Parameters
    ----------
    before, after : float
        On board by gauges before and after. [kg]
    delivery : Delivery
    used : float or None
        Used by the APU meanwhile; None where there is no APU. [kg]
    gauge_unit : str
        What the gauges are in: "kg" or "lb".
    least_limit : float
        Discrepancy that is taken whatever the uplift: what the gauges can be read to. [kg]

    Raises
    ------
    FigureError
        If an input is absurd, or a weight is both measured and assumed, or neither.
    """
    _check(before, delivery, after, used, gauge_unit, least_limit)
    givens = (
        Given("before", "On board before, by gauges", before, gauge_unit),
        Given("volume", "Delivered, by the meter", delivery.volume, delivery.unit),
        _weight_given(delivery),
        *((Given("used", "Used by the APU meanwhile", used, "kg"),) if used is not None else ()),
        Given("after", "On board after, by gauges", after, gauge_unit),
        Given("share", "Discrepancy that is taken, of the uplift", LIMIT_SHARE, "%",
              COMMON_PRACTICE),
        Given("least", "Discrepancy that is always taken", least_limit, "kg", COMMON_PRACTICE),
    )  # fmt: skip
    return Sheet(
        name="uplift",
        title="Uplift check",
        lead="Refuelling has ended. Does what was delivered explain what the gauges now show?",
        givens=givens,
        steps=(*_mass_steps(delivery), *_balance_steps(gauge_unit, used is not None)),
        cautions=(
            TRAINING_AID,
            "A discrepancy that is not explained is reported, and the aircraft does not leave on "
            "the hope that a gauge is wrong.",
        ),
        sources=(f"Limit: {COMMON_PRACTICE}; an operator's manual sets its own.",
                 "Units: NIST SP 811, appendix B"),
        objectives=("uplift", "density"),
    )  # fmt: skip


def _check(before, delivery, after, used, gauge_unit, least_limit):
    for field, value in (("before", before), ("after", after), ("used", used or 0.0)):
        number(field, value, "kg", low=0.0, high=1e6)
    number("least_limit", least_limit, "kg", above=0.0, high=1e5)
    choice("gauge_unit", gauge_unit, _MASSES)
    choice("unit", delivery.unit, _VOLUMES)
    number("volume", delivery.volume, delivery.unit, above=0.0, high=1000.0,
           hint="Give it in m³: 5 000 l is 5 m³.")  # fmt: skip
    if (delivery.density is None) == (not delivery.rule):
        raise FigureError(
            f"density: it is {delivery.density}, and rule is '{delivery.rule}'; give the measured "
            "density, or the name of an assumed weight, and not both."
        )
    if delivery.rule:
        choice("rule", delivery.rule, tuple(NAMED_WEIGHTS))
        if delivery.unit != "US gal":
            raise FigureError(
                f"unit: it is '{delivery.unit}'; an assumed weight is one of a US gallon. Give "
                "the volume in US gal, or a measured density."
            )
    else:
        fuel_density("density", delivery.density)


def _weight_given(delivery):
    if delivery.rule:
        weight = f"{NAMED_WEIGHTS[delivery.rule]} lb in each US gallon"
        return Given("weight", "Weight of the fuel, assumed", weight, "", delivery.rule)
    return Given("density", "Density, measured at the temperature of delivery", delivery.density,
                 "kg/l")  # fmt: skip


def _mass_steps(delivery):
    if delivery.rule:
        return _assumed_steps(NAMED_WEIGHTS[delivery.rule], delivery.rule)
    steps = []
    volume = "volume"
    if delivery.unit != "l":
        volume = "litres"
        steps.append(_litres_step(delivery.unit))
    return (*steps, _mass_step(volume))


def _litres_step(unit):
    right = unit_of(unit).factor / LITRE
    other = IMPERIAL_GALLON if unit == "US gal" else US_GALLON
    factor = other / unit_of(unit).factor
    kind = "imperial" if unit == "US gal" else "US"
    return Step(
        "litres", "Delivered, in litres", ("volume",),
        f"gallons × {right:.4f} litres in each {unit}", "l", lambda volume: volume, tolerance=5.0,
        relative=0.001, source="NIST SP 811, appendix B",
        slips=(Slip("the other gallon", f"It was converted as {kind} gallons.",
                    lambda volume: volume * factor),),
    )  # fmt: skip


def _mass_step(volume):
    return Step(
        "mass", "Mass delivered", (volume, "density"), "litres × density in kg/l", "kg",
        lambda litres, dense: litres * dense, tolerance=5.0, relative=0.002,
        source="definition of density; the volume and the density at one temperature",
        slips=(
            Slip("density inverted", "The volume was divided by the density.",
                 lambda litres, dense: litres / LITRE / (dense * LITRE)),
            Slip("litres read as kg", "The litres were written as kilograms.",
                 lambda litres, _: litres / LITRE),
        ),
    )  # fmt: skip


def _assumed_steps(weight, rule):
    dense = weight * POUND / US_GALLON
    pounds = Step(
        "pounds", "Mass delivered, in pounds", ("volume", "weight"),
        f"US gallons × {weight} lb", "lb", lambda volume, _: volume * dense, tolerance=10.0,
        relative=0.001, source=rule,
    )  # fmt: skip
    kilograms = Step(
        "mass", "Mass delivered, in kilograms", ("pounds",), "pounds × 0.4536", "kg",
        lambda mass: mass, tolerance=5.0, relative=0.001, source="NIST SP 811, appendix B",
        slips=(Slip("lb read as kg", "The pounds were written as kilograms.",
                    lambda mass: mass / POUND),),
    )  # fmt: skip
    return pounds, kilograms


def _balance_steps(gauge_unit, has_apu):
    inputs = ("before", "mass", *(("used",) if has_apu else ()))
    burnt = " - used by the APU" if has_apu else ""
    where = "" if gauge_unit == "kg" else ", each in kilograms"
    mixed = () if gauge_unit == "kg" else (
        Slip("lb read as kg", "The gauge before, in pounds, was added to kilograms.",
             lambda before, mass, used=0.0: before / POUND + mass - used),
    )  # fmt: skip
    return (
        Step(
            "expected", "Expected on board", inputs,
            f"before + delivered{burnt}{where}", "kg",
            lambda before, mass, used=0.0: before + mass - used, tolerance=8.0, relative=0.001,
            slips=mixed,
        ),
        Step(
            "discrepancy", "Discrepancy, gauges less expected", ("after", "expected"),
            f"after - expected{where}", "kg", lambda after, expected: after - expected,
            tolerance=16.0,
        ),
        Step(
            "limit", "Largest discrepancy that is taken", ("share", "mass", "least"),
            "the share of the mass delivered, or the least figure if that is more", "kg",
            lambda share, mass, least: max(share * mass, least), tolerance=2.0, relative=0.005,
            source=COMMON_PRACTICE,
        ),
        Step(
            "decision", "What is decided?", ("discrepancy", "limit"),
            "accept if the discrepancy, up or down, is not larger than the limit", "",
            lambda off, limit: ACCEPT if abs(off) <= limit else INVESTIGATE,
            options=(ACCEPT, INVESTIGATE), source=COMMON_PRACTICE, marks=2.0,
        ),
    )  # fmt: skip


# --------------------------------------------------------------------------------------- drawing
def draw_uplift(aircraft, draw):
    """Return an uplift check of an aircraft that follows from a number."""
    return first_fair(partial(_drawn, aircraft), "uplift", aircraft.identifier, draw)


def _drawn(aircraft, lot):
    scale = scale_of(aircraft)
    gauge_unit = "lb" if lot.chance(0.3, "gauge unit") else "kg"
    step = unit_of(gauge_unit).span(scale.grain)
    before = lot.between(0.1, 0.35, "before") * scale.full
    uplift = lot.between(0.2, 0.55, "uplift") * scale.full
    apu = any(consumer.kind == "APU" for consumer in aircraft.consumers)
    used = rounded(lot.between(0.0, 0.003, "used", step=None) * scale.full, 5.0) if apu else None
    delivery = _drawn_delivery(lot, uplift)
    error = lot.between(0.045, 0.15, "error") if lot.chance(0.5, "fault") else 0.012
    off = lot.one_of((-1.0, 1.0), "sense") * error * lot.between(0.5, 1.0, "size") * uplift
    after = before + delivered_mass(delivery) - (used or 0.0) + off
    return uplift_sheet(
        rounded(before, step), delivery, rounded(after, step), used=used,
        gauge_unit=gauge_unit, least_limit=3.0 * scale.grain,
    )  # fmt: skip


def _drawn_delivery(lot, uplift):
    unit = lot.one_of(("l", "l", "US gal", "imp gal"), "unit")
    rule = ""
    dense = rounded(lot.between(778.0, 832.0, "density"), 0.1)
    if unit == "US gal" and lot.chance(0.5, "assumed"):
        rule = lot.one_of(tuple(NAMED_WEIGHTS), "rule")
        dense = NAMED_WEIGHTS[rule] * POUND / US_GALLON
    number_of = round(uplift / dense / unit_of(unit).factor)
    return Delivery(unit_of(unit).value(number_of), unit, None if rule else dense, rule)


def delivered_mass(delivery):
    """Return the mass that a delivery note stands for. [kg]

    Examples
    --------
    1 000 US gallons at 6.7 lb each:

    >>> note = Delivery(1000 * US_GALLON, "US gal", rule="FAA AMT Handbook - General")
    >>> round(delivered_mass(note) / POUND, 6)
    6700.0
    """
    if delivery.rule:
        return delivery.volume / US_GALLON * NAMED_WEIGHTS[delivery.rule] * POUND
    return delivery.volume * delivery.density
