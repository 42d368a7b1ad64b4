"""Answers from a printed answer sheet, typed in row by row as they stand there."""

from dataclasses import dataclass

from fuelkit.assess.answer import Answer
from fuelkit.assess.papers.begun import BEGIN
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.written import WORDS, expected_form, read_answer
from fuelkit.figures.quantities import UNITS, expected_words, read_figure
from fuelkit.physics.errors import FuelkitError

LETTERS = "abcdefghijklmn"
"""Letters of options, on a printed paper and on its mark scheme."""


class TypedError(FuelkitError, ValueError):
    """What was typed cannot stand in a row; the message says what could."""


@dataclass(frozen=True)
class Row:
    """A row of a printed answer sheet. Frozen.

    name : str
        As printed, such as "3.2".
    question : str
        Its name in the key, such as "q03".
    answer : Answer
        What is asked there.
    """

    name: str
    question: str
    answer: Answer

    @property
    def lettered(self):
        """The options by their printed letters."""
        return dict(zip(LETTERS, self.answer.options, strict=False))


def rows_of(key):
    """Return the rows of the answer sheet of a key, in printed order, as a tuple of Row."""
    return tuple(
        Row(f"{number}.{part}", question.name, answer)
        for number, question in enumerate(key.questions, start=1)
        for part, answer in enumerate(answers_of(question.board), start=1)
    )


def read_row(row, text):
    """Return what stands in a row as a learner's sheet holds it; empty where nothing stands.

    Parameters
    ----------
    row : Row
    text : str
        A letter, also in brackets; or a figure or time with its unit; or words.

    Raises
    ------
    TypedError
        If there is no such letter, or the figure cannot be read.
    """
    bare = text.strip()
    if not bare:
        return ""
    if row.answer.options:
        return _option(row, bare)
    expected = _expected(row.answer, bare)
    if expected:
        raise TypedError(f"row {row.name}: {bare[:40]!r} cannot be read; it must be {expected}.")
    return bare


def _option(row, text):
    letter = text.strip("().").lower()
    if letter not in row.lettered:
        last = LETTERS[len(row.answer.options) - 1]
        raise TypedError(f"row {row.name}: it is {text[:40]!r}; it must be a letter, a to {last}.")
    return row.lettered[letter]


def _expected(answer, text):
    """What would have been readable, or nothing if it is."""
    if answer.unit == WORDS:
        return ""
    if answer.sheet is not None and answer.unit in UNITS:
        return "" if read_figure(text, answer.unit) is not None else expected_words(answer.unit)
    return "" if read_answer(answer, text) is not None else expected_form(answer)


def typed_sheet(sheet, rows):
    """Return a sheet on which all that was typed is committed, and which is handed in.

    Time is not judged: whoever sat on paper was timed in the room.

    Parameters
    ----------
    sheet : Sheet
        With what was typed as its drafts, by question.
    rows : sequence of Row
    """
    typed = {question: dict(given) for question, given in sheet.drafts.items()}
    sheet = sheet.with_committed(BEGIN, {})
    for question in dict.fromkeys(row.question for row in rows):
        given = {ask: text for ask, text in typed.get(question, {}).items() if text}
        if given:
            sheet = sheet.with_committed(question, given)
    return sheet.with_hand_in()
