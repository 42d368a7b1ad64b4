"""Changes to keys after the fact: a wider tolerance, a further answer, a question that is dropped.

The instructor writes them into a file of their own; every re-mark says whose mark moves and why.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from fuelkit.aircraft.reading import DataFileError, Table, nearest, read_toml

SCHEMA = 1


@dataclass(frozen=True)
class Amendment:
    """One change to the key of a question of the pool. Frozen.

    question : str
        As the mark scheme names it.
    part : int
        Number of the part, from 1; 0 for all.
    tolerance : float or None
        The new one. [kg or s, as the part is; for a step of a sheet its own unit]
    accept : tuple of str
        Answers that count as right besides.
    drop : bool
        Whether the question earns everybody its full marks.
    because : str
        Why; stands on the feedback and in the log.
    """

    question: str
    part: int
    tolerance: float | None
    accept: tuple
    drop: bool
    because: str

    @property
    def words(self):
        """What counts now."""
        told = ["everybody has its full marks"] if self.drop else []
        told += [] if self.tolerance is None else [f"what is right within {self.tolerance:g}"]
        told += [f"“{text}” too" for text in self.accept]
        return "; ".join(told)


def read_amendments(path):
    """Return the amendments in a file; none if there is no file.

    Raises
    ------
    DataFileError
        With every fault.
    """
    path = Path(path)
    return amendments_from(read_toml(path), path.name) if path.exists() else ()


def amendments_from(content, label="amendments"):
    """Return amendments from the content of a file; raise with all its faults."""
    found = []
    section = Table(content, label, found)
    if section.number("schema") != SCHEMA:
        section.fault("schema", content.get("schema"), f"this kit reads version {SCHEMA}")
    amendments = tuple(_amendment(table) for table in section.tables("amendments", required=True))
    section.finish()
    if found:
        raise DataFileError(label, found)
    return amendments


def _amendment(table):
    tolerance = table.number("tolerance", -1.0, low=-1.0, high=1e6)
    amendment = Amendment(
        question=table.text("question"),
        part=int(table.number("part", 0, low=0, high=60)),
        tolerance=None if tolerance < 0.0 else tolerance,
        accept=table.texts("accept", ()),
        drop=table.flag("drop", False),
        because=table.text("because"),
    )
    if amendment.tolerance is None and not amendment.accept and not amendment.drop:
        table.fault("amendment", amendment.question, "say tolerance, accept or drop")
    table.finish()
    return amendment


def check_amendments(amendments, parts, label="amendments"):
    """Raise DataFileError for each amendment that would change nothing in silence.

    Parameters
    ----------
    amendments : sequence of Amendment
    parts : dict of str to int
        How many parts each question of the sitting has.
    label : str
        Name of the file.
    """
    found = []
    for amendment in amendments:
        name, part = amendment.question, amendment.part
        if name not in parts:
            found.append(
                f"question: '{name}' is on no paper of this sitting; write what the mark scheme "
                f'says after "In the pool:".{nearest(name, parts)}'
            )
        elif part > parts[name]:
            found.append(f"question '{name}': part is {part}; it must be 0 to {parts[name]}.")
    if found:
        raise DataFileError(label, found)


def amended_answers(computed, given, amendments):
    """Return computed answers and given texts as some amendments have them.

    Parameters
    ----------
    computed : sequence of Answer
    given : dict of str to str
        By the identifier of the ask.
    amendments : sequence of Amendment
        Of this question.

    Returns
    -------
    tuple of Answer, dict of str to str
    """
    answers, texts = list(computed), dict(given)
    for amendment in amendments:
        for number, answer in enumerate(answers, start=1):
            if amendment.part not in (0, number):
                continue
            if amendment.tolerance is not None and (answer.ask.tolerance or _is_figure(answer)):
                ask = replace(answer.ask, tolerance=amendment.tolerance)
                answers[number - 1] = replace(answer, ask=ask)
            if texts.get(answer.ask.identifier) in amendment.accept:
                texts[answer.ask.identifier] = answer.written()
    return _with_one_sheet(answers), texts


def _is_figure(answer):
    return answer.sheet is not None and not answer.options


def _with_one_sheet(answers):
    """Answers to a figure sheet, all with the sheet whose tolerances are those of the asks."""
    sheets = {answer.ask.about: answer for answer in answers if answer.sheet is not None}
    changed = {name for name, answer in sheets.items() if answer.ask.tolerance}
    if not changed:
        return tuple(answers)
    first = next(iter(sheets.values())).sheet
    steps = tuple(
        replace(step, tolerance=sheets[step.name].ask.tolerance, relative=0.0)
        if step.name in changed else step
        for step in first.steps
    )  # fmt: skip
    sheet = replace(first, steps=steps)
    return tuple(replace(answer, sheet=sheet) for answer in answers)
