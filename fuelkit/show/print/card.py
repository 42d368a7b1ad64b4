"""A pocket card of an aircraft: each automatic function as a sentence, its limits, the caution.

The sheet has eight panels and is folded to a quarter of its length and half of its height. The
typesetter measures every piece, so that none is cut: what does not fit begins another sheet.
"""

from fuelkit.aircraft.sentences import rule_sentences
from fuelkit.aircraft.twins import without_twins
from fuelkit.physics.writing import mass_text
from fuelkit.show.findings import litres
from fuelkit.show.page import CAUTION
from fuelkit.show.palette import SAFETY
from fuelkit.show.print.typeset import panels, quoted
from fuelkit.show.words import title_case
from fuelkit.survey.tank_checks import tank_checks

_ORDER = "Where two ask different things of one part, the one with the lower number wins."
_FOLD = (
    "Fold the lower row back along the middle, then at the marks like an accordion, this panel to "
    "the front. Turn it over like the page of a calendar."
)


def card_pdf(aircraft, paper="A4"):
    """Return the pocket card of an aircraft as a tagged PDF.

    Parameters
    ----------
    aircraft : Aircraft
    paper : str
        "A4" or "Letter".

    Returns
    -------
    bytes
    """
    pieces = [*_front(aircraft), *_rules(aircraft), *_limits(aircraft)]
    title = f"{aircraft.name}: pocket card"
    return panels(pieces, title=title, foot=SAFETY, paper=paper)


def _front(aircraft):
    yield f"#text(size: 12pt)[#heading(level: 1)[{quoted(aircraft.name)}]]"
    yield f"#strong[{quoted('Automatic functions of the fuel system')}]"
    yield quoted(aircraft.summary)
    yield f"#strong[{quoted(CAUTION)}]"
    yield f"#emph[{quoted(_FOLD)}]"


def _rules(aircraft):
    """Every rule in its order; one that differs from another only by its side stands once."""
    sentences = rule_sentences(aircraft, aircraft.rules)
    yield f"#heading(level: 2)[{quoted('Each function')}] {quoted(_ORDER)}"
    for numbers, sentence in without_twins(sentences):
        yield f"#strong[{quoted(f'{numbers}.')}] {quoted(sentence)}"


def _limits(aircraft):
    """What the file and the tanks' own shapes set bounds to."""
    tanks = [sentence for _, sentence in without_twins(_tanks(aircraft))]
    first, *rest = (*tanks, *_masses(aircraft))
    yield f"#heading(level: 2)[{quoted('Limits')}] {quoted(first)}"
    yield from map(quoted, rest)


def _tanks(aircraft):
    for check in tank_checks(aircraft):
        yield (
            f"{title_case(check.tank.title)}: holds {litres(check.capacity)}, is refuelled to "
            f"{litres(check.tank.refuelled_volume)}; {litres(check.unusable)} cannot be drawn in "
            "the worst attitude."
        )


def _masses(aircraft):
    own = aircraft.mass_limits
    if own is None:
        return
    yield f"Greatest zero-fuel mass {mass_text(own.zero_fuel)}."
    yield f"Greatest take-off mass {mass_text(own.take_off)}."
    yield f"Greatest landing mass {mass_text(own.landing)}."
    yield f"Least fuel at the beginning of take-off {mass_text(own.least_fuel)}."
