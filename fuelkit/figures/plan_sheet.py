"""A fuel plan as a chain of steps, worked with a pencil from the figures of the tables."""

from fuelkit.figures.chain import Sheet, Slip
from fuelkit.figures.contingency_steps import add_contingency
from fuelkit.figures.draws import first_fair, rounded, with_telling_slips
from fuelkit.figures.inputs import TRAINING_AID
from fuelkit.figures.limits import tank_capacity
from fuelkit.figures.performance import at_level, holding, performance_of
from fuelkit.figures.plan import fuel_plan
from fuelkit.figures.plan_chain import TABLES, Chain
from fuelkit.figures.plan_draws import drawn_request
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.units import FOOT, LITRE, MINUTE, POUND
from fuelkit.physics.writing import grouped


def plan_sheet(aircraft, plan):
    """Return the sheet that works a plan, part by part.

    Parameters
    ----------
    aircraft : Aircraft
    plan : Plan
        Of this aircraft.

    Notes
    -----
    Times and flows are those of the plan, rounded as a flight plan writes them, so that the sheet
    comes to the plan's own figures but for rounding.
    """
    chain = Chain()
    _masses(chain, aircraft, plan)
    _trip(chain, aircraft, plan)
    _alternate(chain, plan)
    _reserve(chain, plan)
    _taxi(chain, aircraft, plan)
    add_contingency(chain, aircraft, plan)
    _additional(chain, aircraft, plan)
    _sums(chain, plan)
    _tanks(chain, aircraft, plan)
    sheet = Sheet(
        name="plan",
        title="Fuel plan",
        lead=_lead(plan),
        givens=tuple(chain.givens),
        steps=tuple(chain.steps),
        cautions=(
            TRAINING_AID,
            "Unusable fuel counts for nothing in a plan: every part of it must be usable "
            "(14 CFR 121.647).",
        ),
        sources=(f"{plan.policy.title}: {plan.policy.edition}", plan.policy.source),
        objectives=("block-fuel", "final-reserve"),
    )
    return with_telling_slips(sheet)


def _lead(plan):
    route = plan.request.route
    where = f"{written(route.distance, 'NM')} at {grouped(route.level / FOOT)} ft"
    note = f" {plan.policy.note}" if plan.policy.note else ""
    return (
        f"Plan the fuel of a {plan.aircraft} for {where} by {plan.policy.title}; contingency: "
        f"{plan.contingency_rule.title}.{note}"
    )


def _masses(chain, aircraft, plan):
    chain.given("dry", "Dry operating mass", aircraft.mass_limits.dry_operating, "kg")
    chain.given("payload", "Payload", plan.request.payload, "kg")
    chain.step(
        "zero fuel mass", "Zero-fuel mass", ("dry", "payload"), "dry operating mass + payload",
        "kg", lambda dry, payload: dry + payload,
        slips=(_in_pounds("payload", lambda dry, payload: dry + payload * POUND),),
    )  # fmt: skip


def _in_pounds(what, work):
    return Slip("kg and lb", f"The {what} was taken for pounds.", work)


def _trip(chain, aircraft, plan):
    route, flown = plan.request.route, plan.flown
    at = at_level(performance_of(aircraft), route.level, route.deviation)
    chain.given("distance", "Distance, take-off to landing", route.distance, "NM")
    chain.given("airspeed", "True airspeed in cruise", at.speed, "kt", TABLES)
    chain.given("headwind", "Headwind (a tailwind is negative)", route.headwind, "kt")
    for part in flown.parts:
        if part.name == "cruise":
            continue
        chain.given(f"{part.name} distance", f"{part.name.capitalize()}, distance over the ground",
                    part.distance, "NM", TABLES)  # fmt: skip
        chain.given(f"{part.name} fuel", f"{part.name.capitalize()}, fuel", part.fuel, "kg",
                    TABLES)  # fmt: skip
    cruise = flown.part("cruise")
    flow = cruise.fuel / cruise.time if cruise.time else at.cruise.at(flown.cruise_end)
    chain.given("cruise flow", "Fuel flow in cruise, at the mean mass", flow, "kg/h", TABLES)
    _cruise_steps(chain)


def _cruise_steps(chain):
    chain.step(
        "cruise distance", "Cruise, distance",
        ("distance", "climb distance", "descent distance", "approach distance"),
        "distance - climb - descent - approach", "NM",
        lambda whole, climb, descent, approach: whole - climb - descent - approach,
        slips=(Slip("climb and descent left in", "The whole distance was taken for cruise.",
                    lambda whole, *_: whole),),
    )  # fmt: skip
    chain.step(
        "ground speed", "Ground speed in cruise", ("airspeed", "headwind"),
        "true airspeed - headwind", "kt", lambda airspeed, wind: airspeed - wind,
        slips=(Slip("wind with the wrong sense", "A headwind was added, or a tailwind taken off.",
                    lambda airspeed, wind: airspeed + wind),
               Slip("wind left out", "The wind was left out.", lambda airspeed, wind: airspeed)),
    )  # fmt: skip
    chain.step(
        "cruise time", "Cruise, time", ("cruise distance", "ground speed"),
        "cruise distance / ground speed", "h:mm", lambda distance, speed: distance / speed,
    )  # fmt: skip
    chain.step(  # from the distance: a time rounded to minutes would cost half a minute's fuel
        "cruise fuel", "Cruise, fuel", ("cruise flow", "cruise distance", "ground speed"),
        "fuel flow × cruise distance / ground speed", "kg",
        lambda flow, distance, speed: flow * distance / speed,
    )  # fmt: skip
    chain.step(
        "trip", "Trip fuel", ("climb fuel", "cruise fuel", "descent fuel", "approach fuel"),
        "climb + cruise + descent + approach", "kg", lambda *parts: sum(parts),
        slips=(Slip("approach left out", "Fuel for approach and landing was left out.",
                    lambda climb, cruise, descent, approach: climb + cruise + descent),),
    )  # fmt: skip


def _alternate(chain, plan):
    if plan.diversion is None:
        chain.given("alternate", "Destination alternate fuel", 0.0, "kg", "no alternate")
        return
    time = rounded(plan.diversion.time, MINUTE)
    chain.given("alternate time", "To the alternate, time", time, "h:mm", TABLES)
    flow = plan.alternate / time
    chain.given("alternate flow", "To the alternate, mean fuel flow", flow, "kg/h", TABLES)
    chain.step(
        "alternate", "Destination alternate fuel", ("alternate flow", "alternate time"),
        "fuel flow × time", "kg", lambda flow, time: flow * time, plan.policy.source,
    )  # fmt: skip


def _reserve(chain, plan):
    time, where = plan.policy.reserve_time, plan.policy.reserve_at
    label = "Fuel flow at holding speed, 1 500 ft" if where == "holding" else (
        "Fuel flow at normal cruise")  # fmt: skip
    chain.given("reserve time", "Final reserve, time", time, "min", plan.policy.source)
    chain.given("reserve flow", f"{label}, for the final reserve", plan.final_reserve / time,
                "kg/h", TABLES)  # fmt: skip
    chain.step(
        "final reserve", "Final reserve fuel", ("reserve flow", "reserve time"),
        "fuel flow × time", "kg", lambda flow, time: flow * time,
        f"{plan.policy.title}, {plan.policy.edition}",
    )  # fmt: skip


def _taxi(chain, aircraft, plan):
    chain.given("taxi time", "Taxi, time", plan.request.taxi_time, "min")
    chain.given("taxi flow", "Taxi, fuel flow", performance_of(aircraft).taxi, "kg/h", TABLES)
    chain.step(
        "taxi", "Taxi fuel", ("taxi flow", "taxi time"), "fuel flow × time", "kg",
        lambda flow, time: flow * time,
    )  # fmt: skip


def _additional(chain, aircraft, plan):
    required = plan.additional - plan.request.additional
    source = f"{plan.policy.title}, {plan.policy.edition}"
    if plan.request.isolated:
        whole = required + plan.final_reserve
        chain.given("isolated time", "Above an isolated aerodrome, final reserve included",
                    plan.policy.isolated, "min", source)  # fmt: skip
        chain.given("isolated flow", "Fuel flow at normal cruise, then",
                    whole / plan.policy.isolated, "kg/h", TABLES)  # fmt: skip
        chain.step(
            "additional", "Additional fuel", ("isolated flow", "isolated time", "final reserve"),
            "fuel flow × time - final reserve", "kg",
            lambda flow, time, reserve: max(0.0, flow * time - reserve), source,
            slips=(Slip("reserve counted twice", "The time includes the final reserve.",
                        lambda flow, time, reserve: flow * time),),
        )  # fmt: skip
    elif plan.diversion is None and plan.policy.no_alternate:
        chain.given("no alternate time", "Without an alternate, holding for",
                    plan.policy.no_alternate, "min", source)  # fmt: skip
        flow = holding(performance_of(aircraft)).at(plan.landing)
        chain.given("waiting flow", "Fuel flow at holding speed above the destination", flow,
                    "kg/h", TABLES)  # fmt: skip
        chain.step(
            "additional", "Additional fuel", ("waiting flow", "no alternate time"),
            "fuel flow × time", "kg", lambda flow, time: flow * time, source,
        )  # fmt: skip
    else:
        chain.given("additional", "Additional fuel", required, "kg", "none is required")


def _sums(chain, plan):
    request = plan.request
    carried = request.additional + request.extra + request.discretionary + request.tankered
    parts = ["trip", "contingency", "alternate", "final reserve", "additional"]
    for name, label, value in (
        ("further", "Additional fuel for a critical failure", request.additional),
        ("extra", "Extra fuel, for an expected delay", request.extra),
        ("discretionary", "Discretionary fuel, of the commander", request.discretionary),
        ("tankered", "For the next sector", request.tankered),
        ("made up", "To reach the least fuel for take-off", plan.made_up),
    ):
        if value or (name == "discretionary" and not carried):
            chain.given(name, label, value, "kg")
            parts.append(name)
    chain.step(
        "take-off fuel", "Fuel at take-off", parts, "the sum of all parts but taxi fuel", "kg",
        lambda *values: sum(values), plan.policy.source,
        slips=(Slip("reserve counted twice", "The final reserve was counted twice.",
                    lambda *values: sum(values) + values[3]),
               Slip("alternate left out", "The alternate fuel was left out.",
                    lambda *values: sum(values) - values[2])),
    )  # fmt: skip
    chain.step(
        "block", "Block fuel", ("take-off fuel", "taxi"), "fuel at take-off + taxi fuel", "kg",
        lambda fuel, taxi: fuel + taxi, plan.policy.source,
        slips=(Slip("taxi left out", "Taxi fuel was left out.", lambda fuel, taxi: fuel),),
    )  # fmt: skip
    _mass_steps(chain)


def _mass_steps(chain):
    chain.step(
        "take-off mass", "Take-off mass", ("zero fuel mass", "take-off fuel"),
        "zero-fuel mass + fuel at take-off", "kg", lambda mass, fuel: mass + fuel,
    )  # fmt: skip
    chain.step(
        "landing mass", "Landing mass, contingency unused", ("take-off mass", "trip"),
        "take-off mass - trip fuel", "kg", lambda mass, trip: mass - trip,
        slips=(Slip("trip added", "Trip fuel was added.", lambda mass, trip: mass + trip),),
    )  # fmt: skip
    chain.step(
        "at destination", "Fuel on board after landing, contingency unused",
        ("take-off fuel", "trip"), "fuel at take-off - trip fuel", "kg",
        lambda fuel, trip: fuel - trip,
    )  # fmt: skip


def _tanks(chain, aircraft, plan):
    own, density = aircraft.mass_limits, plan.request.density
    takes = tank_capacity(aircraft, density) + own.unusable
    chain.given("density", "Density of the fuel", density, "kg/l")
    chain.given("takes", "The tanks are refuelled to", takes, "kg")
    chain.given("unusable", "of which unusable", own.unusable, "kg")
    chain.step(
        "room", "Room left in the tanks", ("takes", "unusable", "block"),
        "what the tanks take - unusable - block fuel", "kg",
        lambda takes, unusable, block: takes - unusable - block, "14 CFR 121.647, 25.959",
        slips=(Slip("unusable included", "Unusable fuel was counted as usable.",
                    lambda takes, unusable, block: takes - block),),
    )  # fmt: skip
    chain.step(
        "volume", "Block fuel in litres", ("block", "density"), "block fuel / density", "l",
        lambda block, density: block / density,
        slips=(Slip("litre and kg", "Kilograms were taken for litres.",
                    lambda block, density: block * LITRE),
               Slip("density inverted", "The mass was multiplied by the density.",
                    lambda block, density: block * LITRE * density * LITRE)),
    )  # fmt: skip


def draw_plan_sheet(aircraft, draw):
    """Return the plan sheet of a situation that follows from a number.

    Parameters
    ----------
    aircraft : Aircraft
        With performance tables.
    draw : int or str
        The same one gives the same sheet.
    """
    performance_of(aircraft)
    return first_fair(lambda d: _drawn(aircraft, d), "plan", aircraft.identifier, draw)


def _drawn(aircraft, draw):
    try:
        return plan_sheet(aircraft, fuel_plan(aircraft, drawn_request(aircraft, draw)))
    except FigureError:
        return None  # a limit was not met, or a level not reached: nobody would fly that
