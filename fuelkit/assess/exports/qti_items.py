"""One question as a QTI 3.0 item: what is declared, what is asked, how it is marked."""

from xml.etree.ElementTree import Element, SubElement

from fuelkit.assess.exports.option_names import option_names
from fuelkit.assess.written import read_mass, read_time

NAMESPACE = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
LANGUAGE = "en-GB"
TIME_UNIT = "h:mm:ss"

_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
_TIME_PARTS = (("HOURS", "h", 3600), ("MINUTES", "min", 60), ("SECONDS", "s", 1))


def item(name, question):
    """Return the item of a question as an XML element.

    Parameters
    ----------
    name : str
        Its identifier in the package.
    question : MarkedQuestion
        Of a kind in `ITEMS`.

    Raises
    ------
    ValueError
        If its key does not fit its kind.
    """
    root = Element(
        "qti-assessment-item",
        {
            "xmlns": NAMESPACE, "identifier": name, "title": name, "adaptive": "false",
            "time-dependent": "false", _LANG: LANGUAGE,
        },
    )  # fmt: skip
    ITEMS[question.kind](root, question)
    return root


def _choice(root, question):
    names = _keyed_options(question)
    several = len(question.right) > 1
    cardinality = "multiple" if several else "single"
    _response(root, "RESPONSE", cardinality, "identifier", [names[o] for o in question.right])
    _score(root, question)
    most = str(len(names)) if several else "1"
    _options(root, "qti-choice-interaction", question, names, {"max-choices": most})
    _marked_if(root, question, _matches)


def _order(root, question):
    names = _keyed_options(question)
    if sorted(question.right) != sorted(question.options):
        raise ValueError(
            f"question {question.identifier!r}: right has {len(question.right)} of its "
            f"{len(question.options)} options; an order has each once."
        )
    _response(root, "RESPONSE", "ordered", "identifier", [names[o] for o in question.right])
    _score(root, question)
    _options(root, "qti-order-interaction", question, names, {})
    _marked_if(root, question, _matches)


def _quantity(root, question):
    return _time(root, question) if question.unit == TIME_UNIT else _figure(root, question)


def _figure(root, question):
    value = _key(question, _read_figure)
    _response(root, "RESPONSE", "single", "float", [repr(value)])
    _score(root, question)
    blank = _asked(root, question)
    SubElement(blank, "qti-text-entry-interaction", _entry("RESPONSE", 12)).tail = (
        f" {question.unit}" if question.unit else None
    )
    _marked_if(root, question, lambda where: _near(where, question, value, _given_figure))


def _time(root, question):
    """Hours, minutes and seconds are three entries, so that a tolerance in seconds can be kept."""
    value = _key(question, read_time)
    whole = int(value)
    parts = (whole // 3600, whole % 3600 // 60, whole % 60)
    for (name, _, _), part in zip(_TIME_PARTS, parts, strict=True):
        _response(root, name, "single", "integer", [str(part)])
    _score(root, question)
    blank = _asked(root, question)
    for name, sign, _ in _TIME_PARTS:
        SubElement(blank, "qti-text-entry-interaction", _entry(name, 3)).tail = f" {sign} "
    _marked_if(root, question, lambda where: _near(where, question, value, _given_time))


def _reason(root, question):
    """Marked by a person; what the mark scheme says is shown to scorers alone."""
    _response(root, "RESPONSE", "single", "string", [])
    _score(root, question, {"external-scored": "human"})
    body = SubElement(root, "qti-item-body")
    entry = {"response-identifier": "RESPONSE", "expected-lines": "6"}
    interaction = SubElement(body, "qti-extended-text-interaction", entry)
    SubElement(interaction, "qti-prompt").text = question.words
    if question.right:
        rubric = SubElement(body, "qti-rubric-block", {"use": "scoring", "view": "scorer"})
        content = SubElement(rubric, "qti-content-body")
        for text in question.right:
            SubElement(content, "p").text = text


ITEMS = {
    "choice": _choice,
    "order": _order,
    "figure": _quantity,
    "when": _quantity,
    "reason": _reason,
}
"""Kinds of question that fit, and what makes their items."""


def _keyed_options(question):
    if not question.right or len(question.options) < 2:
        raise ValueError(
            f"question {question.identifier!r} has {len(question.options)} options and "
            f"{len(question.right)} right; it must have two options and a right one at least."
        )
    return option_names(question.options)


def _key(question, reader):
    """Return the one right figure or time of a question."""
    text = question.right[0] if len(question.right) == 1 else None
    value = None if text is None else reader(_without_unit(text, question.unit))
    if value is None:
        raise ValueError(
            f"question {question.identifier!r}: right is {question.right!r}; it must be one "
            f"{'time' if question.unit == TIME_UNIT else 'figure'} as a person would write it."
        )
    return value


def _without_unit(text, unit):
    return text.strip().removesuffix(unit).strip() if unit else text


def _read_figure(text):
    try:
        return read_mass(text) if read_mass(text) is not None else float(text)
    except ValueError:
        return None


def _response(root, name, cardinality, base, right):
    form = {"identifier": name, "cardinality": cardinality, "base-type": base}
    declaration = SubElement(root, "qti-response-declaration", form)
    if right:
        correct = SubElement(declaration, "qti-correct-response")
        for value in right:
            SubElement(correct, "qti-value").text = value


def _score(root, question, extra=None):
    """Declare the marks earned, nought until marked, and the marks to be had."""
    for name, value, more in (("SCORE", 0.0, extra or {}), ("MAXSCORE", question.most, {})):
        form = {"identifier": name, "cardinality": "single", "base-type": "float"}
        declaration = SubElement(root, "qti-outcome-declaration", form | more)
        default = SubElement(declaration, "qti-default-value")
        SubElement(default, "qti-value").text = repr(float(value))


def _options(root, interaction, question, names, extra):
    """Ask for options. They are shuffled, since their order in the kit's data gives them away."""
    body = SubElement(root, "qti-item-body")
    form = {"response-identifier": "RESPONSE", "shuffle": "true"} | extra
    asked = SubElement(body, interaction, form)
    SubElement(asked, "qti-prompt").text = question.words
    for option, name in names.items():
        SubElement(asked, "qti-simple-choice", {"identifier": name}).text = option


def _asked(root, question):
    """Write the question and return the paragraph for the entries."""
    body = SubElement(root, "qti-item-body")
    SubElement(body, "p").text = question.words
    return SubElement(body, "p")


def _entry(name, length):
    return {"response-identifier": name, "expected-length": str(length)}


def _marked_if(root, question, condition):
    """Give all marks if a condition is met, none otherwise."""
    processing = SubElement(root, "qti-response-processing")
    if_met = SubElement(SubElement(processing, "qti-response-condition"), "qti-response-if")
    condition(if_met)
    scored = SubElement(if_met, "qti-set-outcome-value", {"identifier": "SCORE"})
    _base(scored, "float", repr(float(question.most)))


def _matches(where):
    match = SubElement(where, "qti-match")
    SubElement(match, "qti-variable", {"identifier": "RESPONSE"})
    SubElement(match, "qti-correct", {"identifier": "RESPONSE"})


def _near(where, question, value, given):
    """Within the tolerance, ends included, which is what QTI takes for granted."""
    mode = {"tolerance-mode": "exact"}
    if question.tolerance:
        mode = {"tolerance-mode": "absolute", "tolerance": repr(float(question.tolerance))}
    equal = SubElement(where, "qti-equal", mode)
    _base(equal, "float", repr(float(value)))
    given(equal)


def _given_figure(where):
    SubElement(where, "qti-variable", {"identifier": "RESPONSE"})


def _given_time(where):
    total = SubElement(where, "qti-sum")
    for name, _, seconds in _TIME_PARTS:
        product = SubElement(total, "qti-product")
        _base(product, "integer", str(seconds))
        SubElement(product, "qti-variable", {"identifier": name})


def _base(where, kind, value):
    SubElement(where, "qti-base-value", {"base-type": kind}).text = value
