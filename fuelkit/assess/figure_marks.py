"""Mark a figure sheet fairly: an error costs the part where it was made, and no part after it.

Each figure is held against the right one, against what the sheet gives from the learner's own
earlier figures, and against the named slips. Pure: figures in, marks out, in the order of the
sheet, whatever the order in which they were filled in.

Notes
-----
That a part is right if it follows from the learner's own earlier figure is common practice in
marking (no source).
"""

import re
from dataclasses import dataclass

from fuelkit.assess.figure_slips import Explained, Worker, listed, named
from fuelkit.figures.quantities import FigureError, expected_words, read_figure, unit_of

RIGHT = "right"
FOLLOWS = "follows"
DOES_NOT_FOLLOW = "right but does not follow"
SLIP = "slip"
WRONG = "wrong"
NOT_READ = "not read"
MISSING = "missing"
VERDICTS = (RIGHT, FOLLOWS, DOES_NOT_FOLLOW, SLIP, WRONG, NOT_READ, MISSING)
"""Every verdict; the first three earn the mark."""

_EARN = (RIGHT, FOLLOWS, DOES_NOT_FOLLOW)


@dataclass(frozen=True)
class FigureLine:
    """One step, marked. Frozen. Has all that a line of another board has.

    identifier, text : str
        The id of its ask, and its label.
    given, right : str
        As they are written.
    is_right : bool
        Whether it agrees with the right figure; one that only follows earns its mark without.
    marks, full : float
    reason : str
        The verdict in a sentence, then the formula with the numbers put in.
    step : str
        Name of the step.
    value, right_value, own_value : float, str or None
        What was read, what is right, and what the learner's own earlier figures give. SI.
    verdict : str
        One of `VERDICTS`.
    sentence : str
        The verdict alone.
    slips : tuple of str
        Names of the slips that explain it, two at most.
    """

    identifier: str
    text: str
    given: str
    right: str
    is_right: bool
    marks: float
    full: float
    reason: str
    step: str
    value: object
    right_value: object
    own_value: object
    verdict: str
    sentence: str
    slips: tuple = ()


@dataclass(frozen=True)
class SheetMark:
    """A figure sheet, marked. Frozen.

    lines : tuple of FigureLine
        One for each step that is asked, in the order of the sheet.
    """

    name: str
    title: str
    lines: tuple

    @property
    def marks(self):
        """Marks earned on the whole sheet."""
        return sum(line.marks for line in self.lines)

    @property
    def full(self):
        """Marks to be had on the whole sheet."""
        return sum(line.full for line in self.lines)

    @property
    def slips(self):
        """Names of all slips that were recognised, each once."""
        return tuple(dict.fromkeys(name for line in self.lines for name in line.slips))

    @property
    def note(self):
        """How the marks came about, in a sentence."""
        counts = [(v, sum(line.verdict == v for line in self.lines)) for v in VERDICTS]
        parts = ", ".join(f"{count} {_COUNTED[v]}" for v, count in counts if count)
        return f"{self.marks:g} of {self.full:g} marks: {parts}."

    def line(self, step):
        """Return the line of a step by its name."""
        for line in self.lines:
            if line.step == step:
                return line
        raise FigureError(f"sheet '{self.name}': no step '{step}' is asked.")


_COUNTED = {
    RIGHT: "right", FOLLOWS: "right from your own earlier figures",
    DOES_NOT_FOLLOW: "right but not from your own earlier figures", SLIP: "with a known slip",
    WRONG: "wrong", NOT_READ: "not readable", MISSING: "missing",
}  # fmt: skip


# ------------------------------------------------------------------------------------- reading
def asked_steps(sheet):
    """Return the steps of a sheet that a learner fills in: those that carry marks."""
    return tuple(step for step in sheet.steps if step.marks > 0.0)


def ask_id(step, prefix=""):
    """Return the id of the ask of a step, fit for a page: letters, digits and hyphens.

    Examples
    --------
    >>> from fuelkit.figures.chain import Step
    >>> ask_id(Step("trip fuel", "Trip fuel", (), "", "kg", lambda: 0.0), "sheet-1")
    'sheet-1-trip-fuel'
    """
    name = re.sub(r"[^a-z0-9]+", "-", step.name.lower()).strip("-")
    return f"{prefix}-{name}" if prefix else name


def read_step(step, text):
    """Return what was written for a step, in SI or as an option; None if it cannot be read."""
    bare = str(text).strip()
    if step.options:
        known = {option.casefold(): option for option in step.options}
        return known.get(bare.casefold())
    return read_figure(bare, step.unit)


def expected_of(step):
    """Return what would be readable for a step, in words."""
    if step.options:
        return "one of " + ", ".join(step.options)
    return expected_words(step.unit)


def unread(sheet, given, prefix=""):
    """Return a sentence for each figure that cannot be read, with what was expected.

    To be asked before anything is committed, so that nobody loses a mark by the way it is written.
    """
    texts = ((step, _text(step, given, prefix)) for step in asked_steps(sheet))
    return tuple(
        f"“{step.label}”: {text!r} cannot be read{_why(text)}; write {expected_of(step)}."
        for step, text in texts
        if text and read_step(step, text) is None
    )


def _why(text):
    """Why a figure is asked again, where it is because it could mean two things."""
    both = re.fullmatch(r"[+-]?[1-9]\d{0,2}\.\d{3}\D*", text)
    return " (does the point set thousands or decimals apart?)" if both else ""


def _text(step, given, prefix):
    text = given.get(ask_id(step, prefix), given.get(step.name))
    return "" if text is None else str(text).strip()


# ------------------------------------------------------------------------------------- marking
def mark_sheet(sheet, given, prefix=""):
    """Return a figure sheet marked.

    Parameters
    ----------
    sheet : Sheet
    given : dict of str to str
        What was written, by the name of the step or the id of its ask (see `ask_id`).
    prefix : str
        Of those ids.

    Returns
    -------
    SheetMark

    Notes
    -----
    A step's own value is worked from what the learner wrote before it; where nothing readable was
    written, from what the sheet gives there from still earlier figures. It follows also if it was
    worked from those figures before they were rounded to be written down. A slip is sought in the
    step itself, from the learner's own inputs and from the right ones, and in steps before it
    that were not written; two slips at most. It costs the part where it first shows.
    """
    texts = {step.name: _text(step, given, prefix) for step in asked_steps(sheet)}
    read = {step.name: read_step(step, texts[step.name]) for step in asked_steps(sheet)}
    written = {name: value for name, value in read.items() if value is not None}
    worker = Worker(sheet, written)
    lines = []
    for step in sheet.steps:
        if step.name in texts:
            line, carried = _line(worker, step, texts[step.name], ask_id(step, prefix))
            lines.append(line)
        else:
            carried = None
        worker.take(step, carried)
    return SheetMark(sheet.name, sheet.title, tuple(lines))


def _line(worker, step, text, identifier):
    """A step marked, and what it was before the learner rounded it, as far as can be told."""
    right, own = worker.right[step.name], worker.follow(step)
    value = worker.written.get(step.name)
    verdict, found, carried = _verdict(worker, step, text, value)
    own = worker.follow(step) if found.names else own  # with what was found out before it
    sentence = _SENTENCES[verdict](worker, step, found)
    is_right = value is not None and step.agrees(value, right)
    reason = " ".join(filter(None, (sentence, *_workings(worker, step, verdict, own))))
    line = FigureLine(
        identifier, step.label, text or "no answer", _right_text(step, right), is_right,
        step.marks if verdict in _EARN else 0.0, step.marks, reason, step.name, value, right, own,
        verdict, sentence, found.names,
    )  # fmt: skip
    return line, carried


def _right_text(step, right):
    """The computed figure and how near to it counts."""
    return " ".join(filter(None, (step.written(right), allowed_words(step, right))))


def _verdict(worker, step, text, value):
    """The verdict, the slips that explain the figure, and the figure before it was rounded."""
    if value is None:
        return (NOT_READ if text else MISSING), Explained(), None
    right, followed = worker.right[step.name], worker.followed(step, value)
    if step.agrees(value, right):
        departs = worker.departs(step)
        if departs and followed is None:
            return DOES_NOT_FOLLOW, Explained(), right
        return RIGHT, Explained(), followed if departs else right
    if followed is not None:
        return FOLLOWS, Explained(), followed
    found = worker.explain(step, value)
    return (SLIP if found.names else WRONG), found, found.value if found.names else value


# ----------------------------------------------------------------------------------- sentences
def _right(worker, step, found):
    return "Right."


def _follows(worker, step, found):
    if not worker.departs(step):
        return "Right from your own figures as you rounded them; it earns its mark."
    rounded = "" if worker.is_as_written(step) else ", before you rounded"
    return f"Right from your own earlier {_earlier(worker, step)}{rounded}; it earns its mark."


def _does_not_follow(worker, step, found):
    return (
        f"The right figure, but it does not follow from your own earlier {_earlier(worker, step)}; "
        "it earns its mark. Look again at how you came to it."
    )


def _slip(worker, step, found):
    return f"{found.sentence} No mark for this part; what follows from it still counts."


def _wrong(worker, step, found):
    if worker.departs(step):
        return "Neither the right figure nor what your own earlier figures give."
    return "Not the right figure." if not step.options else "Not the right decision."


def _not_read(worker, step, found):
    return f"It cannot be read; expected was {expected_of(step)}."


def _missing(worker, step, found):
    return f"Nothing is written here; expected was {expected_of(step)}."


def _earlier(worker, step):
    labels = [f"“{label}”" for label in worker.departed(step)]
    return f"figure for {listed(labels)}" if len(labels) == 1 else f"figures for {listed(labels)}"


_SENTENCES = {
    RIGHT: _right, FOLLOWS: _follows, DOES_NOT_FOLLOW: _does_not_follow, SLIP: _slip,
    WRONG: _wrong, NOT_READ: _not_read, MISSING: _missing,
}  # fmt: skip


def _workings(worker, step, verdict, own):
    """The formula with the numbers put in: the right ones, and the learner's where they differ."""
    right = worker.right
    yield worked_words(worker.sheet, step, right, right[step.name])
    if verdict == MISSING or (verdict == FOLLOWS and not worker.is_as_written(step)):
        return
    if own is not None and worker.departs(step):
        put = numbers_put_in(worker.sheet, step, worker.own)
        yield f"From your own earlier figures ({put}) it gives {step.written(own)}."


def numbers_put_in(sheet, step, values):
    """Return the inputs of a step with their numbers, in words."""
    return "; ".join(f"{label} = {text}" for label, text in inputs_said(sheet, step, values))


def inputs_said(sheet, step, values):
    """Return the inputs of a step as pairs of what they are called and how they are written."""
    return tuple((named(sheet, n), said(sheet, n, values[n])) for n in step.inputs)


def said(sheet, name, value):
    """Return the value of a given or a step as a person would write it."""
    for given in sheet.givens:
        if given.name == name:
            return str(given)
    return sheet.step(name).written(value)


def tolerance_words(step):
    """Return how near a figure must be, such as "within 5 kg"; nothing for a decision.

    A share is told as a share, since its amount would tell the figure.
    """
    if step.options:
        return ""
    parts = [span_words(step, unit_of(step.unit).span(step.tolerance))] if step.tolerance else []
    parts += [f"{100.0 * step.relative:g} %"] if step.relative else []
    return f"within {' plus '.join(parts)}" if parts else "exactly"


def allowed_words(step, right):
    """Return how far a figure may be from the right one, such as "± 12 kg"; perhaps nothing."""
    if step.options or not (step.tolerance or step.relative):
        return ""
    allowed = unit_of(step.unit).span(step.tolerance) + step.relative * abs(right)
    return f"± {span_words(step, allowed)}"


def span_words(step, span):
    """Return a difference in the unit of a step as it is written; two digits are enough."""
    unit = unit_of(step.unit)
    symbol = {"h:mm": "min", "°C": "K"}.get(step.unit, step.unit)
    return (
        f"{span / unit.factor:.2g} {symbol}"
        if span / unit.factor < 100.0
        else (f"{span / unit.factor:.0f} {symbol}")
    )


def worked_words(sheet, step, values, result):
    """Return a step as a sentence: the formula in words, the numbers put in, and the result."""
    put = numbers_put_in(sheet, step, values)
    words = step.words.strip().rstrip(".")
    words = words[:1].upper() + words[1:]
    return f"{words}: {f'{put}: ' if put else ''}{step.written(result)}."
