"""What an instructor should look at in an aircraft of their own, in plain sentences.

Each is put together from a survey and the checks of the tanks. A finding is no fault: an aircraft
may have one engine pump only, and say so.
"""

from dataclasses import dataclass

from fuelkit.aircraft.sentences import condition_words, joined, rule_sentence, with_article
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.words import title_case
from fuelkit.survey.tank_checks import attitude_words

_LITRE = 1000.0  # in a cubic metre


@dataclass(frozen=True)
class Finding:
    """One thing to look at. Frozen. `topic` is "flight", "rules", "fuel", "engines" or "tanks"."""

    topic: str
    text: str


def findings(survey, checks):
    """Return everything to look at, the gravest topic first.

    Parameters
    ----------
    survey : Survey
    checks : tuple of TankCheck

    Returns
    -------
    tuple of Finding
    """
    return tuple(
        Finding(topic, text)
        for topic, texts in (
            ("flight", _flight(survey)),
            ("engines", _engines(survey)),
            ("fuel", _fuel(survey)),
            ("tanks", _tanks(checks)),
            ("rules", _rules(survey)),
        )
        for text in texts
    )


def litres(volume):
    """Return a volume [m³] in litres as it is written, thousands set apart by a space.

    Examples
    --------
    >>> litres(10.4286), litres(0.00428)
    ('10 429 L', '4.3 L')
    """
    value = volume * _LITRE
    return f"{value:,.0f} L".replace(",", " ") if value >= 100.0 else f"{value:.1f} L"


def _flight(survey):
    if survey.failed:
        yield f"The standard sector cannot be flown to its end: {survey.failed}"
        return
    flight, aircraft = survey.flight, survey.aircraft
    states = {name: {c.after for c in flight.changes_of(name)} for name in aircraft.by_name}
    for part in (*aircraft.consumers, *aircraft.pumps):
        if "RUN" not in states[part.name]:
            subject = title_case(with_article(aircraft, part.name))
            yield (
                f"{subject} never ran in the standard sector: no position of a switch that its "
                "rules lead back to made it run. Look at the rules that set it to RUN."
            )
    for consumer in aircraft.consumers:
        starved = [c for c in flight.changes_of(consumer.name) if c.after == "STARVED"]
        if starved:
            first = starved[0]
            yield (
                f"{title_case(consumer.name)} was starved at {clock(first.time)} with "
                f"{mass_text(flight.total(first.time))} on board: {first.reason}."
            )
    lost = flight.quantity("overboard", survey.sector.end)
    if lost > 1.0:
        yield f"{mass_text(lost)} ran overboard in the standard sector."
    for words, problem in survey.not_flyable:
        yield f"With “{words}” the flight cannot be computed: {problem}"


def _engines(survey):
    for supply in survey.one_source:
        name = title_case(supply.consumer)
        if not supply.sources:
            yield f"{name} has no source: every way to it stays shut, or its pumps never run."
            continue
        parts = joined([with_article(survey.aircraft, x.part) for x in supply.single_sources], "or")
        yield f"{name} has one source only: without {parts} nothing is left."


def _fuel(survey):
    aircraft = survey.aircraft
    for name in survey.unreachable:
        yield (
            f"The fuel in {with_article(aircraft, name)} cannot be reached: no way leads from it "
            "to any engine. Add a pump, or a valve that a rule opens."
        )
    for name, first, least in survey.undrained:
        if name not in survey.unreachable:
            yield (
                f"{title_case(with_article(aircraft, name))} is never drained in the standard "
                f"sector: of {mass_text(first)} it keeps {mass_text(least)} to the end."
            )


def _tanks(checks):
    for check in checks:
        title = check.tank.title
        if not check.expansion_is_met:
            yield (
                f"{title}: its expansion space is {litres(check.expansion)}; it must be at least "
                f"{litres(check.least_expansion)} (14 CFR 25.969)."
            )
        if check.opening and not check.sump_is_met:
            yield (
                f"{title}: below its lowest opening ({check.opening}) lie "
                f"{litres(check.sump)}; a sump holds at least {litres(check.least_sump)} "
                "(14 CFR 25.971). Put the opening higher."
            )
        if check.opening and check.unusable > 0.1 * check.capacity:
            share = 100.0 * check.unusable / check.capacity
            yield (
                f"{title}: with the aircraft {attitude_words(check.attitude)}, {share:.0f} % of it "
                "cannot be drawn (14 CFR 25.959). Look at where its openings stand."
            )


def _rules(survey):
    rules = {rule.name: rule for rule in survey.aircraft.rules}
    words = {
        "cannot": "can never take hold",
        "failure only": "can take hold after a failure only",
        "outranked": "never has a say",
    }
    for found in survey.impossible:
        yield f"The rule “{found.rule}” {words[found.kind]}: {found.reason}."
    told = {found.rule for found in survey.impossible}
    flights = "flight" if survey.flown == 0 else f"{survey.flown + 1} flights"
    for name in survey.never_seen:
        if name not in told:
            when = condition_words(survey.aircraft, rules[name].condition)
            yield (
                f"The rule “{name}” took hold in none of the {flights} that were flown. Its "
                f"conditions do not exclude each other, so it may still: when {when}."
            )


def rule_rows(survey):
    """Return the rules as rows: place, name, sentence, and when it first took hold.

    Returns
    -------
    list of (str, str, str, str)
    """
    kinds = {x.rule: x.kind for x in survey.impossible}
    words = {"cannot": "never: see above", "outranked": "never has a say: see above"}
    rows = []
    for place, rule in enumerate(survey.aircraft.rules, start=1):
        held = survey.first_held.get(rule.name)
        seen = "in no flight" if held is None else held or "standard sector"
        if kinds.get(rule.name) in words:
            seen = words[kinds[rule.name]]
        rows.append((str(place), rule.name, rule_sentence(survey.aircraft, rule), seen))
    return rows
