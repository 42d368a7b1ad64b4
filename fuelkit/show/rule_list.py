"""The automatic functions of an aircraft, as a table of sentences."""

from fuelkit.show.page import table_page


def rules_page(aircraft, names, title="Automatic functions"):
    """Return the rules of an aircraft that act on some components, as a table of sentences."""
    rows = [
        (name, state, _condition_text(rule), rule.because)
        for name in names
        for rule in aircraft.rules_for.get(name, ())
        for target, state in rule.sets
        if target == name
    ]
    head = ("part", "is put to", "when", "because")
    return table_page(f"{title}; the one that stands first wins", head, rows)


def _condition_text(rule):
    text = str(rule.condition)
    if rule.delay:
        text += f", for {rule.delay:.0f} s"
    return f"{text}; until {rule.until}" if rule.until else text
