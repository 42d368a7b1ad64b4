"""Masses and limits as a sheet, and what the flight management computer says held against them."""

from dataclasses import dataclass, replace

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_fair, rounded, with_telling_slips
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, number
from fuelkit.figures.performance import performance_of
from fuelkit.figures.plan import plan_without_limits
from fuelkit.figures.plan_draws import drawn_request
from fuelkit.figures.plan_variants import cost_of_carrying
from fuelkit.figures.quantities import FigureError

AGREES, ENTER_AGAIN = "agrees", "find out why"
LEAVES, GIVE_UP = "all limits are met", "payload or fuel must be given up"
BY_ZERO_FUEL, BY_TAKE_OFF, BY_LANDING = "zero-fuel mass", "take-off mass", "landing mass"
_TOLERANCE = 10.0  # kg
_WEIGHT = "FAA-H-8083-1B, Aircraft Weight and Balance Handbook, chapter 9"


def limits_sheet(aircraft, plan):
    """Return the sheet of masses and limits of a plan.

    Parameters
    ----------
    aircraft : Aircraft
    plan : Plan
        Of this aircraft; its limits need not be met (`plan_without_limits`).
    """
    allowed = {limit.name: limit.allowed for limit in plan.limits}
    givens = (
        _kg("dry", "Dry operating mass", aircraft.mass_limits.dry_operating),
        _kg("payload", "Payload", plan.request.payload),
        _kg("fuel", "Fuel at take-off", plan.take_off_fuel),
        _kg("trip", "Trip fuel", plan.trip),
        _kg("taxi", "Taxi fuel", plan.taxi),
        _kg("max zero fuel", "Greatest zero-fuel mass", allowed["zero-fuel mass"]),
        _kg("max take-off", "Greatest take-off mass today", allowed["take-off mass"]),
        _kg("max landing", "Greatest landing mass today", allowed["landing mass"]),
        _kg("least fuel", "Least fuel for take-off", aircraft.mass_limits.least_fuel),
    )
    return with_telling_slips(Sheet(
        name="masses",
        title="Masses and limits",
        lead=f"A {aircraft.name} is loaded. Which limit bites, and what must be given up?",
        givens=givens,
        steps=(*_mass_steps(), *_allowed_steps(), *_verdict_steps()),
        cautions=(TRAINING_AID, "A mass above a limit is never flown: load less, or plan again."),
        sources=(_WEIGHT,),
        objectives=("masses",),
    ))  # fmt: skip


def _kg(name, label, value, note=""):
    return Given(name, label, float(round(value)), "kg", note)


def _step(name, label, inputs, words, work, *, slips=(), source=_WEIGHT, options=()):
    return Step(
        name, label, inputs, words, "" if options else "kg", work,
        tolerance=0.0 if options else _TOLERANCE, source=source, slips=slips, options=options,
    )  # fmt: skip


def _mass_steps():
    return (
        _step("zero fuel", "Zero-fuel mass", ("dry", "payload"),
              "dry operating mass + payload", lambda dry, payload: dry + payload),
        _step("take-off", "Take-off mass", ("zero fuel", "fuel"),
              "zero-fuel mass + fuel at take-off", lambda mass, fuel: mass + fuel),
        _step("landing", "Landing mass", ("take-off", "trip", "fuel"),
              "take-off mass - trip fuel", lambda mass, trip, _: mass - trip,
              slips=(Slip("all fuel taken as burned", "All fuel was taken off, not the trip fuel.",
                          lambda mass, _, fuel: mass - fuel),)),
    )  # fmt: skip


def _allowed_steps():
    """The take-off mass that each limit allows."""
    return (
        _step("by zero fuel", "Take-off mass that the zero-fuel limit allows",
              ("max zero fuel", "fuel", "trip"), "greatest zero-fuel mass + fuel at take-off",
              lambda mass, fuel, _: mass + fuel,
              slips=(Slip("trip fuel for take-off fuel", "Trip fuel was added, not all fuel.",
                          lambda mass, _, trip: mass + trip),)),
        _step("by landing", "Take-off mass that the landing limit allows",
              ("max landing", "trip", "taxi"), "greatest landing mass + trip fuel",
              lambda mass, trip, _: mass + trip,
              slips=(Slip("taxi counted as trip", "Taxi fuel was added to the trip fuel.",
                          lambda mass, trip, taxi: mass + trip + taxi),)),
        _step("allowed", "Take-off mass allowed", ("max take-off", "by zero fuel", "by landing"),
              "the least of the three", min,
              slips=(Slip("take-off limit only", "Only the take-off limit was looked at.",
                          lambda take_off, *_: take_off),)),
        _step("bites", "Limit that bites", ("max take-off", "by zero fuel", "by landing"),
              "the one that allows least", _biting,
              options=(BY_ZERO_FUEL, BY_TAKE_OFF, BY_LANDING)),
    )  # fmt: skip


def _biting(take_off, zero_fuel, landing):
    least = min(take_off, zero_fuel, landing)
    if least == take_off:
        return BY_TAKE_OFF
    return BY_ZERO_FUEL if least == zero_fuel else BY_LANDING


def _verdict_steps():
    return (
        _step("underload", "Underload (negative: overload)", ("allowed", "take-off"),
              "take-off mass allowed - take-off mass", lambda allowed, mass: allowed - mass),
        _step("verdict", "What follows", ("underload",),
              "an overload must go", lambda under: LEAVES if under >= 0.0 else GIVE_UP,
              options=(LEAVES, GIVE_UP)),
        _step("give up", "Payload or fuel to give up, with this fuel", ("underload",),
              "the overload, or nothing", lambda under: max(0.0, -under)),
        _step("fuel above least", "Fuel at take-off above the least", ("fuel", "least fuel"),
              "fuel at take-off - least fuel for take-off", lambda fuel, least: fuel - least,
              source="mass limits of the aircraft"),
    )  # fmt: skip


@dataclass(frozen=True)
class Entered:
    """What the flight management computer was given, and what it predicts. Frozen. [kg]

    zero_fuel : float
        As entered.
    trip, at_destination : float
        Predicted: fuel burned, and fuel on board after landing.
    """

    zero_fuel: float
    trip: float
    at_destination: float


def computer_sheet(aircraft, plan, load_sheet, last_minute, entered, *, carrying):
    """Return the sheet that holds the flight management computer against plan and load sheet.

    Parameters
    ----------
    plan : Plan
    load_sheet : float
        Zero-fuel mass of the load sheet, before the last-minute change. [kg]
    last_minute : float
        Last-minute change of the load, off it negative. [kg]
    entered : Entered
    carrying : float
        Trip fuel that each further kilogram costs, from `cost_of_carrying`. [-]
    """
    number("load sheet", load_sheet, "kg", above=0.0, high=1e6)
    number("last-minute change", last_minute, "kg", low=-1e5, high=1e5)
    for name in ("zero_fuel", "trip", "at_destination"):
        number(f"entered {name}", getattr(entered, name), "kg", above=0.0, high=1e6)
    number("carrying", carrying, "%", low=0.0, high=1.0)
    return with_telling_slips(Sheet(
        name="computer",
        title="Flight management computer against plan and load sheet",
        lead=f"The load of a {aircraft.name} has just changed. Does the computer know?",
        givens=_computer_givens(plan, load_sheet, last_minute, entered, carrying),
        steps=(*_entry_steps(), *_prediction_steps()),
        cautions=(
            TRAINING_AID,
            "Two people check each entry by themselves: a wrong mass makes every speed wrong.",
        ),
        sources=(f"What is taken as agreement: {COMMON_PRACTICE}",),
        objectives=("masses",),
    ))  # fmt: skip


def _computer_givens(plan, load_sheet, last_minute, entered, carrying):
    return (
        _kg("load sheet", "Zero-fuel mass, load sheet", load_sheet),
        _kg("change", "Last-minute change (off: negative)", last_minute),
        _kg("entered", "Zero-fuel mass as entered in the computer", entered.zero_fuel),
        _kg("planned mass", "Zero-fuel mass of the flight plan", plan.zero_fuel),
        _kg("planned trip", "Trip fuel of the flight plan", plan.trip),
        _kg("fuel", "Fuel at take-off", plan.take_off_fuel),
        Given("carrying", "Trip fuel that a mass carried costs, of the mass",
              rounded(carrying, 0.001), "%"),
        _kg("computed trip", "Trip fuel, by the computer", entered.trip),
        _kg("computed fuel", "Fuel after landing, by the computer", entered.at_destination),
        _kg("taken", "Difference that is taken as agreement", max(100.0, 0.02 * plan.trip),
            COMMON_PRACTICE),
    )  # fmt: skip


def _agrees(difference, taken):
    return AGREES if abs(difference) <= taken else ENTER_AGAIN


def _entry_steps():
    return (
        _step("adjusted", "Zero-fuel mass, adjusted", ("load sheet", "change"),
              "load sheet + last-minute change", lambda sheet, change: sheet + change,
              slips=(Slip("change with the wrong sense", "What was taken off was added.",
                          lambda sheet, change: sheet - change),
                     Slip("change left out", "The last-minute change was left out.",
                          lambda sheet, change: sheet))),
        _step("entry difference", "Entered, less adjusted", ("entered", "adjusted"),
              "entered - adjusted", lambda entered, adjusted: entered - adjusted),
        _step("entry", "The entry", ("entry difference", "taken"),
              "agrees if the difference is no more than is taken", _agrees,
              options=(AGREES, ENTER_AGAIN), source=COMMON_PRACTICE),
    )  # fmt: skip


def _prediction_steps():
    return (
        _step("expected trip", "Trip fuel to expect", ("planned trip", "adjusted", "planned mass",
              "carrying"), "planned trip fuel + share × (adjusted - planned zero-fuel mass)",
              lambda trip, mass, planned, share: trip + share * (mass - planned),
              slips=(Slip("whole mass added", "The whole change of mass was added as fuel.",
                          lambda trip, mass, planned, share: trip + mass - planned),)),
        _step("trip difference", "Computer's trip fuel, less expected",
              ("computed trip", "expected trip"), "computer - expected",
              lambda computer, expected: computer - expected),
        _step("trip verdict", "Trip fuel", ("trip difference", "taken"),
              "agrees if the difference is no more than is taken", _agrees,
              options=(AGREES, ENTER_AGAIN), source=COMMON_PRACTICE),
        _step("expected fuel", "Fuel after landing to expect", ("fuel", "expected trip"),
              "fuel at take-off - expected trip fuel", lambda fuel, trip: fuel - trip),
        _step("fuel difference", "Computer's fuel after landing, less expected",
              ("computed fuel", "expected fuel"), "computer - expected",
              lambda computer, expected: computer - expected),
        _step("fuel verdict", "Fuel after landing", ("fuel difference", "taken"),
              "agrees if the difference is no more than is taken", _agrees,
              options=(AGREES, ENTER_AGAIN), source=COMMON_PRACTICE),
    )  # fmt: skip


def draw_limits_sheet(aircraft, draw):
    """Return the sheet of masses and limits of a situation that follows from a number."""
    performance_of(aircraft)
    return first_fair(lambda d: _limits_drawn(aircraft, d), "limits", aircraft.identifier, draw)


def draw_computer_sheet(aircraft, draw):
    """Return the computer check of a situation that follows from a number."""
    performance_of(aircraft)
    return first_fair(lambda d: _computer_drawn(aircraft, d), "computer", aircraft.identifier, draw)


def _limits_drawn(aircraft, draw):
    """Near a limit, on either side of it; each limit bites as often as the others."""
    bites = draw.one_of((BY_ZERO_FUEL, BY_TAKE_OFF, BY_LANDING), "bites")
    try:
        plan = _near(aircraft, drawn_request(aircraft, draw), bites, draw)
        sheet = limits_sheet(aircraft, plan)
    except FigureError:
        return None
    return sheet if sheet.worked()["bites"] == bites else None


def _near(aircraft, request, bites, draw):
    """The plan of a request, changed so that one limit is just met or just not."""
    own, grain = aircraft.mass_limits, max(10.0, rounded(0.001 * aircraft.mass_limits.landing, 10))
    room = draw.between(-0.03, 0.05, "room") * own.dry_operating
    if bites == BY_ZERO_FUEL:
        payload = rounded(own.zero_fuel - own.dry_operating - room, grain)
        return plan_without_limits(aircraft, replace(request, payload=payload))
    plan = plan_without_limits(aircraft, request)
    field, mass = ("take_off_limit", plan.take_off) if bites == BY_TAKE_OFF else (
        "landing_limit", plan.landing)  # fmt: skip
    return plan_without_limits(aircraft, replace(request, **{field: rounded(mass + room, grain)}))


def _computer_drawn(aircraft, draw):
    try:
        request = drawn_request(aircraft, draw)
        plan = plan_without_limits(aircraft, request)
        carrying = cost_of_carrying(aircraft, request)
    except FigureError:
        return None
    step = max(10.0, rounded(0.004 * plan.zero_fuel, 10.0))
    change = step * draw.one_of((-3.0, -2.0, -1.0, 1.0, 2.0), "change")
    sheet = plan.zero_fuel + step * draw.one_of((-2.0, 0.0, 1.0), "load sheet")
    missed = draw.one_of((0.0, 0.0, 1.0), "missed")  # the change was never entered
    mass = sheet + (1.0 - missed) * change + step * draw.one_of((0.0, 0.0, 4.0), "typed")
    trip = plan.trip + carrying * (mass - plan.zero_fuel)
    trip *= draw.one_of((1.0, 1.003, 1.06), "wind")
    entered = Entered(mass, trip, plan.take_off_fuel - trip)
    if entered.at_destination <= 0.0:
        return None
    return computer_sheet(aircraft, plan, sheet, change, entered, carrying=carrying)
