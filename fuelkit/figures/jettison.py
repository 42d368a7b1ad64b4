"""Jettison: how much, how long, and what is left, for an aircraft that has outlets for it."""

import math
from functools import partial

from fuelkit.aircraft.conditions import MeasureFact
from fuelkit.aircraft.loading import distribution
from fuelkit.aircraft.parts import friction
from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_fair, rounded, scale_of
from fuelkit.figures.inputs import TRAINING_AID, number
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.network import Link, Network, solve
from fuelkit.physics.units import MINUTE, STANDARD_GRAVITY

YES, NO = "yes", "no"
QUARTER = 15.0 * MINUTE
"""Time within which a jettison system must reach what is required. 14 CFR 25.1001(b). [s]"""

_TYPICAL_DENSITY = 800.0


def jettison_sheet(fuel, zero_fuel, most, *, flow, burn, protected):
    """Return the sheet of a jettison down to the landing mass.

    Parameters
    ----------
    fuel : float
        On board when it begins. [kg]
    zero_fuel : float
        Zero-fuel mass. [kg]
    most : float
        Mass to be reached: the largest for landing. [kg]
    flow : float
        Through all nozzles together. [kg/s]
    burn : float
        Of the engines meanwhile. [kg/s]
    protected : float
        Fuel that the system leaves on board whatever is selected. [kg]

    Raises
    ------
    FigureError
        If a figure is absurd, the aircraft is light enough already, or what is protected does
        not let the mass be reached.
    """
    _check(fuel, zero_fuel, most, flow, burn, protected)
    return Sheet(
        name="jettison",
        title="Jettison",
        lead="Soon after take-off the crew returns, too heavy to land. How much goes overboard, "
        "and how long does that take?",
        givens=(
            Given("fuel", "Fuel on board", fuel, "kg"),
            Given("zero-fuel", "Zero-fuel mass", zero_fuel, "kg"),
            Given("most", "Largest mass for landing", most, "kg", "for this exercise"),
            Given("flow", "Jettison flow, all nozzles", flow, "kg/min"),
            Given("burn", "Engine burn meanwhile", burn, "kg/min"),
            Given("protected", "Fuel that cannot be jettisoned", protected, "kg"),
        ),
        steps=(*_amount_steps(), *_left_steps(), *_rule_steps()),
        cautions=(
            TRAINING_AID,
            "Fuel is jettisoned where and how air traffic control and the approved procedure "
            "say, clear of other aircraft and of the ground, and never with a fire near an outlet.",
        ),
        sources=(
            "14 CFR 25.1001: 15 minutes; what is protected is for a climb and cruise (from memory)",
        ),
        objectives=("jettison", "masses"),
    )


def _check(fuel, zero_fuel, most, flow, burn, protected):
    for field, value in (("fuel", fuel), ("zero_fuel", zero_fuel), ("most", most)):
        number(field, value, "kg", above=0.0, high=1e6)
    number("flow", flow, "kg/min", above=0.0, high=500.0)
    number("burn", burn, "kg/min", low=0.0, high=20.0)
    number("protected", protected, "kg", low=0.0, high=1e6)
    if most <= zero_fuel:
        raise FigureError(
            f"most: it is {written(most, 'kg')}; it must be more than the zero-fuel mass, "
            f"{written(zero_fuel, 'kg')}."
        )
    if fuel + zero_fuel <= most:
        raise FigureError(
            f"fuel: it is {written(fuel, 'kg')}; the aircraft is light enough to land, so there "
            f"is nothing to jettison. Give more than {written(most - zero_fuel, 'kg')}."
        )
    if most - zero_fuel < protected:
        raise FigureError(
            f"protected: it is {written(protected, 'kg')}; it must be at most what may be on "
            f"board on landing, {written(most - zero_fuel, 'kg')}, or that mass is not reached."
        )


def _amount_steps():
    return (
        Step(
            "mass", "Mass now", ("zero-fuel", "fuel"), "zero-fuel mass + fuel", "kg",
            lambda zero, fuel: zero + fuel, tolerance=2.0,
        ),
        Step(
            "amount", "To be lost", ("mass", "most"), "mass now - largest for landing", "kg",
            lambda mass, most: mass - most, tolerance=4.0, marks=1.0,
        ),
        Step(
            "rate", "Lost in each minute", ("flow", "burn"), "jettison flow + engine burn",
            "kg/min", lambda flow, burn: flow + burn, tolerance=1.0,
            slips=(Slip("burn taken off", "The engine burn was taken off: it helps.",
                        lambda flow, burn: flow - burn),),
        ),
        Step(
            "time", "Time that it takes", ("amount", "rate"), "to be lost ÷ lost in each minute",
            "min", lambda amount, rate: amount / rate, tolerance=0.6, relative=0.01, marks=2.0,
        ),
    )  # fmt: skip


def _left_steps():
    return (
        Step(
            "burned", "Of it, burned by the engines", ("burn", "time"), "engine burn × time", "kg",
            lambda burn, time: burn * time, tolerance=30.0, relative=0.05,
        ),
        Step(
            "jettisoned", "Of it, through the nozzles", ("amount", "burned"),
            "to be lost - burned by the engines", "kg", lambda amount, burned: amount - burned,
            tolerance=30.0, relative=0.01,
            slips=(Slip("burn left out", "The engines were taken to burn nothing.",
                        lambda amount, _: amount),),
        ),
        Step(
            "left", "Fuel left on board", ("fuel", "amount"), "fuel - to be lost", "kg",
            lambda fuel, amount: fuel - amount, tolerance=6.0,
        ),
        Step(
            "landing", "Mass when it ends", ("zero-fuel", "left"), "zero-fuel mass + fuel left",
            "kg", lambda zero, left: zero + left, tolerance=8.0,
        ),
    )  # fmt: skip


def _rule_steps():
    return (
        Step(
            "quarter", "What 15 minutes take off", ("rate",), "lost in each minute × 15", "kg",
            lambda rate: rate * QUARTER, tolerance=20.0, relative=0.005,
            source="14 CFR 25.1001(b)",
        ),
        Step(
            "within", "Is the mass reached within 15 minutes?", ("amount", "quarter"),
            "yes if what is to be lost is not more than what 15 minutes take off", "",
            lambda amount, quarter: YES if amount <= quarter else NO, options=(YES, NO),
            source="14 CFR 25.1001(b): the system must manage within 15 minutes what it is "
            "required for; a landing mass well below take-off may take longer",
        ),
    )  # fmt: skip


# ------------------------------------------------------------------------------------- the system
def jettison_flow(aircraft, fill=0.5, dense=_TYPICAL_DENSITY):
    """Return what an aircraft's nozzles let out together: pumps run, other valves shut. [kg/s]

    Parameters
    ----------
    aircraft : Aircraft
    fill : float
        Of every tank, which gives the heads. [-]
    dense : float
        Density of the fuel. [kg/m³]

    Returns
    -------
    float
        0 for an aircraft without outlets.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> jettison_flow(load_aircraft("halbrook-180"))
    0.0
    """
    outlets = {outlet.name: outlet.position[2] for outlet in aircraft.outlets}
    if not outlets:
        return 0.0
    kept, heights = _lines_to(aircraft, outlets, fill)
    weight = dense * STANDARD_GRAVITY
    ends = {node for link in kept for node in (link.start, link.end)}
    sources = tuple(node for node in heights if node in ends)
    found = solve(Network(tuple(kept), sources), {n: weight * heights[n] for n in sources}, {})
    return sum(found.flows[link.name] for link in kept if link.end in outlets)


def protected_fuel(aircraft, fuel, dense=_TYPICAL_DENSITY):
    """Return what of a load cannot be jettisoned. [kg]

    Parameters
    ----------
    aircraft : Aircraft
    fuel : float
        On board, in the aircraft's order of filling. [kg]
    dense : float
        Density of the fuel. [kg/m³]

    Returns
    -------
    float
        In level flight: what lies below the pumps that reach the outlets, or what the aircraft's
        rules keep if that is more; and all that is in tanks from which no pump reaches them, or
        only through a further valve.
    """
    outlets = {outlet.name: outlet.position[2] for outlet in aircraft.outlets}
    kept = {link.name for link in _lines_to(aircraft, outlets, 0.5)[0]}
    total = 0.0
    for name, mass in distribution(aircraft, fuel, dense).items():
        pumps = [pump for pump in aircraft.pumps if pump.start == name and pump.name in kept]
        total += min(mass, _protected_in(aircraft, name, pumps, dense)) if pumps else mass
    return total


def _protected_in(aircraft, tank, pumps, dense):
    below = aircraft.tank(tank).levels.volume_below(min(pump.inlet[2] for pump in pumps))
    return max([below * dense, *(_kept_by_rules(aircraft, tank, pumps))])


def _kept_by_rules(aircraft, tank, pumps):
    """Masses below which a rule stops a tank's pumps while fuel is jettisoned. [kg]"""
    outlets = {outlet.name for outlet in aircraft.outlets}
    opened = {(line.name, "OPEN") for line in aircraft.valves if line.end in outlets}
    jettisons = {rule.name for rule in aircraft.rules if opened & set(rule.sets)}
    stopped = {(pump.name, "OFF") for pump in pumps}
    for rule in aircraft.rules:
        facts = rule.condition.all
        meant = any(getattr(f, "state", "") == "ACTIVE" and f.name in jettisons for f in facts)
        if meant and stopped & set(rule.sets):
            yield from (
                fact.value for fact in facts
                if isinstance(fact, MeasureFact) and fact.measure == "mass"
                and fact.name == tank and not fact.above
            )  # fmt: skip


def _lines_to(aircraft, outlets, fill):
    """Links that hang together with the outlets, and the height of every source. [m]"""
    tanks = {tank.name: tank for tank in aircraft.tanks}
    heights, links = dict(outlets), []
    for part in (*aircraft.pumps, *aircraft.lines):
        link = _link(part, tanks, outlets, heights, fill)
        if link is not None:
            links.append(link)
    return _reaching(links, outlets), heights


def _link(part, tanks, outlets, heights, fill):
    """A pump or line as a link, a tank's end a source of its own; None if it stays shut."""
    if getattr(part, "kind", "") == "jet pump":
        return None
    if getattr(part, "kind", "") == "valve" and part.end not in outlets:
        return None
    ends = []
    for word, node in (("inlet", part.start), ("outlet", part.end)):
        if node in tanks:
            tank = tanks[node]
            node = f"{part.name} {word}"
            heights[node] = tank.levels.level_of(fill * tank.levels.capacity)
        ends.append(node)
    return Link(
        part.name, *ends, part.resistance, rise=getattr(part, "rise", 0.0),
        exponent=getattr(part, "exponent", 2.0), opening=getattr(part, "opening", 0.0),
        one_way=getattr(part, "one_way", False), friction=friction(part),
    )  # fmt: skip


def _reaching(links, outlets):
    """The links that hang together with the outlets."""
    known, kept = set(outlets), []
    while more := [x for x in links if x not in kept and {x.start, x.end} & known]:
        kept += more
        known |= {node for link in more for node in (link.start, link.end)}
    return kept


# --------------------------------------------------------------------------------------- drawing
def without_jettison(aircraft):
    """Return a sentence if an aircraft has no jettison, or nothing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> without_jettison(load_aircraft("halbrook-40"))[:50]
    'Halbrook 40: no outlets to jettison fuel through. '
    """
    if not aircraft.outlets:
        return (
            f"{aircraft.name}: no outlets to jettison fuel through. Too heavy to land, it burns "
            "fuel off in a hold, or lands overweight by the approved procedure."
        )
    if aircraft.masses is None:
        return f"{aircraft.name}: masses is missing, so no landing mass is known. Add [masses]."
    if not jettison_flow(aircraft) * MINUTE > 0.001 * scale_of(aircraft).full:
        return f"{aircraft.name}: no pump delivers to its outlets, so there is no flow to reckon."
    return ""


def draw_jettison(aircraft, draw):
    """Return a jettison that follows from a number.

    Raises
    ------
    FigureError
        If the aircraft has no outlets, with what it does instead.
    """
    if sentence := without_jettison(aircraft):
        raise FigureError(sentence)
    return first_fair(partial(_drawn, aircraft), "jettison", aircraft.identifier, draw)


def _drawn(aircraft, lot):
    scale, limits = scale_of(aircraft), aircraft.mass_limits
    flow = round(jettison_flow(aircraft) * lot.between(0.94, 1.0, "flow") * MINUTE / 10.0) * 10.0
    burn = round(scale.flow * lot.between(0.9, 1.2, "burn") * MINUTE / 5.0) * 5.0
    zero_fuel = rounded(aircraft.masses.zero_fuel * lot.between(0.94, 1.04, "zero-fuel"), 100.0)
    most = limits.landing if limits else rounded(zero_fuel + 0.4 * scale.full, 500.0)
    amount = (flow + burn) * lot.between(7.0, 24.0, "time")
    fuel = rounded(most - zero_fuel + amount, scale.grain)
    heaviest = limits.take_off if limits else math.inf
    if not 0.2 * scale.full < fuel < 0.95 * scale.full or zero_fuel + fuel > heaviest:
        return None
    protected = rounded(protected_fuel(aircraft, fuel), scale.grain)
    if most - zero_fuel < protected:
        return None
    return jettison_sheet(
        fuel, zero_fuel, most, flow=flow / MINUTE, burn=burn / MINUTE, protected=protected
    )
