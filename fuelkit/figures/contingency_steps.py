"""Contingency fuel on a plan sheet: by its rule, and never below a holding time."""

from fuelkit.figures.chain import Slip
from fuelkit.figures.performance import holding, performance_of
from fuelkit.figures.plan_chain import TABLES
from fuelkit.figures.quantities import FigureError


def add_contingency(chain, aircraft, plan):
    """Add the steps: by rule, then the holding time that it may not be below, then the greater."""
    rule = plan.contingency_rule
    source = f"{rule.source}; {plan.policy.edition}"
    without = plan.request.isolated and not plan.policy.isolated_contingency
    if rule.kind == "none" or without:
        chain.given("contingency", "Contingency fuel", 0.0, "kg", rule.source)
        return
    whole = "contingency" if rule.floor == 0.0 else "contingency by rule"
    _BY_KIND[rule.kind](chain, plan, whole, source)
    if rule.floor == 0.0:
        return
    flow = holding(performance_of(aircraft)).at(plan.landing)
    chain.given("floor time", "Contingency is never below holding for", rule.floor, "min", source)
    chain.given("hold flow", "Fuel flow at holding speed, 1 500 ft, at the landing mass", flow,
                "kg/h", TABLES)  # fmt: skip
    chain.step(
        "holding", "Least contingency fuel", ("hold flow", "floor time"), "fuel flow × time",
        "kg", lambda flow, time: flow * time, source,
    )  # fmt: skip
    chain.step(
        "contingency", "Contingency fuel", ("contingency by rule", "holding"),
        "the greater of both", "kg", max, source,
        slips=(Slip("least contingency left out", "The holding time was not looked at.",
                    lambda rule, least: rule),
               Slip("both added", "Both were added; the greater counts.",
                    lambda rule, least: rule + least)),
    )  # fmt: skip


def _share_of_trip(chain, plan, name, source):
    chain.given("share", "Contingency, share", plan.contingency_rule.amount, "%", source)
    base = "trip"
    if plan.request.decision is not None:
        base = "after decision"
        after = plan.contingency / plan.contingency_rule.amount
        if plan.floor_rules:
            raise FigureError("decision: at this decision point contingency is holding fuel only.")
        chain.given(base, "Fuel from the decision point to the destination", after, "kg", TABLES)
    chain.step(
        name, "Contingency fuel by its rule", (base, "share", "alternate", "final reserve", "taxi"),
        "share × trip fuel", "kg", lambda trip, share, *_: share * trip, source,
        slips=(Slip("contingency on block instead of trip",
                    "The share was taken of all fuel, not of the trip fuel.",
                    lambda trip, share, *more: share * (trip + sum(more))),
               Slip("share ten times too small", "The decimal point slipped.",
                    lambda trip, share, *_: 0.1 * share * trip)),
    )  # fmt: skip


def _time_given(chain, plan):
    chain.given("trip time", "Trip, time", plan.time, "h:mm", TABLES)


def _time_of_trip(chain, plan, name, source):
    _time_given(chain, plan)
    amount = plan.contingency_rule.amount
    chain.given("contingency time", "Contingency, time", amount, "min", source)
    chain.step(
        name, "Contingency fuel by its rule", ("trip", "trip time", "contingency time"),
        "trip fuel / trip time × contingency time", "kg",
        lambda trip, time, part: trip / time * part, source,
    )  # fmt: skip


def _statistical(chain, plan, name, source):
    chain.given("statistical", "The operator's figure", plan.request.statistical, "kg", source)
    chain.step(
        name, "Contingency fuel by its rule", ("statistical",), "the operator's figure", "kg",
        lambda figure: figure, source, marks=0.0,
    )  # fmt: skip


def _share_of_time(chain, plan, name, source):
    _time_given(chain, plan)
    amount = plan.contingency_rule.amount
    flow = plan.contingency / (amount * plan.time)
    chain.given("share", "Contingency, share of the trip's time", amount, "%", source)
    chain.given("late flow", "Fuel flow at the end of the cruise", flow, "kg/h", TABLES)
    chain.step(
        name, "Contingency fuel", ("trip time", "share", "late flow", "trip"),
        "share × trip time × fuel flow", "kg", lambda time, share, flow, _: share * time * flow,
        source,
        slips=(Slip("share of fuel instead of time", "The share was taken of the trip fuel.",
                    lambda time, share, flow, trip: share * trip),),
    )  # fmt: skip


_BY_KIND = {
    "share of trip": _share_of_trip,
    "time of trip": _time_of_trip,
    "statistical": _statistical,
    "share of time": _share_of_time,
}
