"""What the planning page tells: the plan by every rule set, the sentence above, the table below."""

from dataclasses import dataclass, replace
from html import escape

from fuelkit.figures.performance import holding
from fuelkit.figures.plan import fuel_plan, plan_without_limits
from fuelkit.figures.policies import policies
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.writing import held, mass_text
from fuelkit.show.tables import table_html

PARTS = {
    "taxi": "Taxi", "trip": "Trip", "contingency": "Contingency",
    "alternate": "Destination alternate", "final_reserve": "Final reserve",
    "additional": "Additional", "extra": "Extra", "discretionary": "Discretionary",
    "made_up": "To least fuel",
}  # fmt: skip
"""The word of every part of the block fuel that the page can have, in the order of a plan."""


@dataclass(frozen=True)
class Outcome:
    """What one rule set makes of the flight. Frozen.

    policy, contingency : Policy, Contingency
    plan : Plan or None
        None if there can be none.
    limits : tuple of Limit
        With the figures held against them, also if they are not met; empty if none were found.
    problem : str
        Why there is no plan, and by how much; empty if there is one.
    floor : float
        What contingency fuel may not be less than. [kg]
    """

    policy: object
    contingency: object
    plan: object
    limits: tuple
    problem: str
    floor: float = 0.0

    @property
    def first_sentence(self):
        """What stands in the way, without the advice."""
        return self.problem.split(". ")[0].rstrip(".") + "."


def outcomes(aircraft, request):
    """Return what every rule set makes of a request: the chosen one first, then the others.

    The others are taken with their usual contingency fuel.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.figures.request import PlanRequest
    >>> from fuelkit.figures.trip import Route
    >>> request = PlanRequest(16000.0, Route(1500 * 1852.0, 35000 * 0.3048))
    >>> found = outcomes(load_aircraft("halbrook-180"), request)
    >>> found[0].policy.name, len(found) == len(policies()), found[0].floor < found[0].plan.trip
    ('easa-uk', True, True)
    """
    others = [n for n in policies() if n != request.policy]
    usual = [replace(request, policy=name, contingency=None) for name in others]
    return tuple(outcome(aircraft, asked) for asked in (request, *usual))


def outcome(aircraft, request):
    """Return what the rule set of a request makes of it."""
    rules = policies()[request.policy]
    rule = rules.contingency(request.contingency)
    try:
        plan = fuel_plan(aircraft, request)
    except FigureError as problem:
        return Outcome(rules, rule, None, _limits(aircraft, request), str(problem))
    least = rule.floor * holding(aircraft.performance).beyond(plan.landing)
    return Outcome(rules, rule, plan, plan.limits, "", least)


def _limits(aircraft, request):
    try:
        return plan_without_limits(aircraft, request).limits
    except FigureError:
        return ()


def minutes(seconds):
    """Return a time of the rules in minutes, such as "5 min"."""
    return f"{seconds / 60.0:g} min"


def floor_words(outcome):
    """Return what the rules ask for at least: of contingency fuel, and of final reserve."""
    plan, rule, rules = outcome.plan, outcome.contingency, outcome.policy
    reserve = f"least final reserve {mass_text(plan.final_reserve)}: {minutes(rules.reserve_time)}"
    if not rule.floor:
        return "", f"{reserve} {rules.reserve_at}; no floor of contingency"
    least = f"least contingency {mass_text(outcome.floor)}: {minutes(rule.floor)} holding"
    return least, f"{reserve} {rules.reserve_at}"


def verdict(found):
    """Return what comes of it, in sentences: the limit that bites, or why there is no plan."""
    first, others = found[0], found[1:]
    by = first.policy.title
    if first.plan is None:
        return f"No plan by {by}. {_capital(_advice(first))}{_also(first)} {_who_else(others)}"
    plan, bites = first.plan, first.plan.bites
    said = [
        f"Block fuel {mass_text(plan.block)} by {by}; {written(plan.time, 'h:mm')} from take-off "
        f"to landing. The limit that bites first is {bites.name}: "
        f"{mass_text(bites.margin)} to spare."
    ]
    if plan.floor_rules:
        said.append(
            f"Contingency fuel is at its floor, {minutes(first.contingency.floor)} holding."
        )
    if plan.made_up > 0.5:
        said.append(f"{mass_text(plan.made_up)} are added to reach the least fuel for take-off.")
    return " ".join(said)


def _advice(outcome):
    """Why there is no plan and what to do; the way to the alternate is at its lowest level."""
    if outcome.problem.startswith("alternate: distance"):
        return f"{outcome.first_sentence} Give an alternate farther away, or none."
    return outcome.problem


def _also(outcome):
    """The limits that are exceeded besides the one that is exceeded most."""
    over = [x for x in outcome.limits if x.at_most and x.margin < -1e-6]
    over.sort(key=lambda x: x.margin)
    names = [f"{x.name}, {margin_words(x)}" for x in over[1:]]
    return f" Exceeded too: {'; '.join(names)}." if names else ""


def _who_else(others):
    can = [o.policy.title for o in others if o.plan is not None]
    if not can:
        return "No other rule set gives a plan either."
    return f"A plan can still be made by: {'; '.join(can)}."


def _capital(sentence):
    return sentence[:1].upper() + sentence[1:]


def planner_table(found):
    """Return the table that tells the same as the bars, a column for each rule set."""
    rows = [(word, *(_part(o, name) for o in found)) for name, word in PARTS.items()]
    rows += [
        ("Block fuel", *(mass_text(o.plan.block) if o.plan else "no plan" for o in found)),
        ("Contingency not below", *(_floor(o) for o in found)),
        ("Final reserve not below", *(_part(o, "final_reserve") for o in found)),
    ]
    names = dict.fromkeys(x.name for o in found for x in o.limits)
    rows += [(_capital(name), *(_limit(o, name) for o in found)) for name in names]
    if any(o.problem for o in found):
        rows.append(("Why no plan", *(o.first_sentence if o.problem else "–" for o in found)))
    columns = ("Part", *(o.policy.title for o in found))
    return table_html(rows, caption="The same in figures", columns=columns)


def _part(outcome, name):
    return mass_text(getattr(outcome.plan, name)) if outcome.plan else "–"


def _floor(outcome):
    if outcome.plan is None:
        return "–"
    return mass_text(outcome.floor) if outcome.contingency.floor else "no floor"


def _limit(outcome, name):
    limit = next((x for x in outcome.limits if x.name == name), None)
    if limit is None:
        return "not found"
    said = f"{mass_text(limit.value)}, {margin_words(limit)}"
    return held(said)  # its column is narrow; no figure is broken


def margin_words(limit):
    """Return how a figure stands to its limit, such as "300 kg to spare"."""
    if limit.margin >= -1e-6:
        return f"{mass_text(max(0.0, limit.margin))} to spare"
    return f"{mass_text(-limit.margin)} {'too much' if limit.at_most else 'too little'}"


def verdict_html(found):
    """Return the sentences of `verdict` as a paragraph; a plan that cannot be made is framed."""
    kind = "verdict" if found[0].plan else "verdict none"
    return f'<p class="{kind}">{escape(verdict(found))}</p>'
