"""An aircraft's rules as plain sentences, put together from the records of the rules alone."""

from fuelkit.aircraft import model
from fuelkit.aircraft.conditions import ALL_TANKS, MeasureFact, OrderFact, StateFact, is_or_are

_STATE_WORDS = {
    "RUN": "running",
    "LOW PRESS": "without pressure",
    "FAIL": "failed",
    "RUNNING": "running over",
    "ACTIVE": "in force",
    "AT REST": "not in force",
    "OUT": "not shown",
}
_VERBS = {
    "RUN": ("runs", "run"),
    "OFF": ("goes off", "go off"),
    "OPEN": ("opens", "open"),
    "SHUT": ("shuts", "shut"),
}

_SET_AT = ("lever", "selector", "switch")  # "the lever is at run", but "the switch is on"
_EVENTS = {
    "RUN": "runs",
    "OFF": "is off",
    "LOW PRESS": "runs dry and has no pressure",
    "FAIL": "fails",
    "STARVED": "is starved of fuel",
    "OPEN": "is open",
    "SHUT": "is shut",
    "HALF OPEN": "stands half open",
    "RUNNING": "begins to run",
    "STILL": "runs no more",
    "DEAD": "is dead",
}


def rule_sentence(aircraft, rule):
    """Return a rule as one sentence of plain English.

    Parameters
    ----------
    aircraft : Aircraft
    rule : Rule

    Returns
    -------
    str

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> text = rule_sentence(halbrook, halbrook.by_name["left centre run-on ended"])
    >>> text.split(", because ")[0]
    'When the centre low sensor is dry for 300 s, the left centre pump goes off'
    """
    when = condition_words(aircraft, rule.condition)
    if rule.delay:
        when += f" for {rule.delay:g} s"
    text = f"When {when}, {effect_words(aircraft, rule)}, because {rule.because}"
    if rule.until:
        stays = "this stays" if len(rule.sets) > 1 else "it stays so"
        text += f"; {stays} until {condition_words(aircraft, rule.until)}"
    return f"{text}."


def rule_sentences(aircraft, rules):
    """Return a sentence for each rule; one that another refers to begins with its name.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> big = load_aircraft("halbrook-300")
    >>> rule_sentences(big, [big.by_name["jettison"]])[0].split(", ")[0]
    '“jettison”: When the jettison switch is on'
    """
    every = {rule.name: rule_sentence(aircraft, rule) for rule in aircraft.rules}
    whole = " ".join(every.values())
    names = {name: f"“{name}”" for name in every}
    return [
        f"{names[rule.name]}: {every[rule.name]}" if names[rule.name] in whole else every[rule.name]
        for rule in rules
    ]


def effect_words(aircraft, rule):
    """Return what a rule does: "the left transfer valve and the right transfer valve open"."""
    by_state = {}
    for name, state in rule.sets:
        by_state.setdefault(state, []).append(with_article(aircraft, name))
    clauses = []
    for state, names in by_state.items():
        singular, plural = _VERBS.get(state, (f"goes to {state}", f"go to {state}"))
        clauses.append(f"{joined(names)} {plural if len(names) > 1 else singular}")
    return joined(clauses)


def condition_words(aircraft, condition):
    """Return a condition in words: all of some facts, and at least one of others."""
    every = joined([fact_words(aircraft, f) for f in condition.all])
    some = joined([fact_words(aircraft, f) for f in condition.any], "or")
    if every and some:
        either = "either " if len(condition.any) > 1 else ""
        return f"{every}, and {either}{some}"
    return every or some


def fact_words(aircraft, fact):
    """Return a fact in words: "the centre low sensor is dry"."""
    if not isinstance(fact, StateFact):
        return _quantity_words(aircraft, fact)
    part = aircraft.by_name.get(fact.name)
    subject = with_article(aircraft, fact.name)
    state = fact.state
    if not isinstance(part, model.Switch):
        state = _STATE_WORDS.get(state, state.lower())
    elif fact.name.split()[-1] in _SET_AT and state not in ("on", "off"):
        state = f"at {state}"
    return f"{subject} {is_or_are(fact.name)} {'not ' if fact.negated else ''}{state}"


def _quantity_words(aircraft, fact):
    subject = with_article(aircraft, fact.name)
    if isinstance(fact, OrderFact):
        return f"{subject} has its ordered quantity"
    rest = str(fact)[len(fact.name) :]
    if isinstance(fact, MeasureFact) and fact.measure == "temperature":
        rest = f"{rest[:-2]} °C"
    return f"{subject}{rest}"


def with_article(aircraft, name):
    """Return a name as it stands in a sentence: "the crossfeed valve", "engine 1".

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> with_article(halbrook, "left inboard"), with_article(halbrook, "engine 1")
    ('the left inboard tank', 'engine 1')
    """
    part = aircraft.by_name.get(name)
    if isinstance(part, model.Rule):
        return f"the rule “{name}”"
    if isinstance(part, model.Alert):
        return f"the message “{name}”"
    if name == ALL_TANKS or name.split()[-1].isdecimal():
        return name
    if isinstance(part, model.Tank) and not {"tank", "cell"} & set(name.lower().split()):
        return f"the {name} tank"
    return f"the {name}"


def joined(words, last="and"):
    """Return words as a list is spoken.

    Examples
    --------
    >>> joined(["a", "b", "c"]), joined(["a", "b"], "or")
    ('a, b and c', 'a or b')
    """
    words = list(words)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def event_words(aircraft, name, state):
    """Return that a part came to a state, in words.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> event_words(load_aircraft("halbrook-180"), "left centre pump", "LOW PRESS")
    'The left centre pump runs dry and has no pressure'
    """
    part = aircraft.by_name.get(name)
    if isinstance(part, model.Alert):
        return f"{part.level.capitalize()} {'shown' if state == 'SHOWN' else 'gone'}: {name}"
    if isinstance(part, model.Switch):
        return f"By hand: {name} to {state}"
    if part is None:
        return f"{name[:1].upper()}{name[1:]}: {state}"
    subject = with_article(aircraft, name)
    return f"{subject[:1].upper()}{subject[1:]} {_EVENTS.get(state, f'is {state}')}"
