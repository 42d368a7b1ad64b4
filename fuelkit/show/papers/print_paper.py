"""A paper in print: the questions, the answer sheet, and the instructor's mark scheme."""

import re
from html import unescape

from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.figure_marks import allowed_words
from fuelkit.assess.integrity.limits import TITLE, limits_text
from fuelkit.assess.marking import split_words
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.papers.typed import LETTERS
from fuelkit.assess.written import WORDS
from fuelkit.show.palette import SAFETY
from fuelkit.show.papers.form import HOW_MARKED, pass_mark
from fuelkit.show.print.pieces import with_colon
from fuelkit.show.print.typeset import (
    answer_rows,
    facts,
    hanging,
    heading,
    lines,
    opening,
    page_break,
    paragraph,
    pdf,
    picture,
    placed,
    together,
    words_typeset,
)

_LINES, _WRONG, _HANG = 5, 6, 10.0  # the last in mm, of lines after the first
_SHARES = {"A4": 1.0, "Letter": 0.9}  # of the width that a drawing takes: Letter is less high
_MUCH, _SMALLER = 24, 0.8  # rows of what is given, from which on a drawing is made smaller
_ONE_LINE = 84  # letters of options that stand beside each other
_LONGEST = 2000  # letters of what is read out in place of a drawing
_TAGS = re.compile(r"<[^>]+>")
_CELL_ENDS = re.compile(r"</t[hd]>|</caption>")


def paper_pdf(content, paper="A4", pictures=None):
    """Return a paper with its answer sheet, as PDF: each question begins on a page of its own.

    Parameters
    ----------
    content : dict
        As `papers.content.paper_content` makes it.
    paper : str
        "A4" or "Letter".
    pictures : dict of str to bytes, optional
        Drawings that are set already, by the name of their question; see `typeset.picture`.
    """
    pictures, drawings, body = pictures or {}, {}, _cover(content)
    for number, question in enumerate(content["questions"], start=1):
        svg = question["drawing"]
        if svg.startswith("<svg"):
            drawings[f"{question['name']}.pdf"] = pictures.get(question["name"]) or picture(svg)
        body += page_break() + _question(number, question, _SHARES[paper])
    body += page_break() + _answer_sheet(content)
    return pdf(
        body, title=f"{content['title']}, {content['learner']}",
        head=f"{content['title']} · {content['learner']}", foot=SAFETY, drawings=drawings,
        paper=paper,
    )  # fmt: skip


def _cover(content):
    minutes = f"{content['minutes']:g} minutes" if content["minutes"] else "no time limit"
    return (
        heading(content["title"], 1)
        + paragraph(f"Learner {content['learner']}. {len(content['questions'])} questions, "
                    f"{content['marks']:g} marks, {minutes}. {pass_mark(content)}Aircraft: "
                    f"{content['aircraft']}.")
        + paragraph(f"Write your answers on the answer sheet at the end. {HOW_MARKED}")
        + _always(content["figures"])
        + paragraph(f"Seal of the key to this paper: {' '.join(content['seal'].split())}",
                    small=True)
    )  # fmt: skip


def _always(rows):
    """What is given to all questions about flights."""
    if not rows:
        return ""
    told = "They are given to every question about a flight, beside what the question says itself."
    return heading("Figures of the aircraft") + paragraph(told) + facts(rows)


def _question(number, question, share):
    start = heading(f"Question {number} ({question['marks']:g} marks): {question['title']}")
    if question["lead"]:
        start += paragraph(question["lead"])
    if question["drawing"].startswith("<svg"):
        alt = f"Drawing to question {number}. {_in_words(question['table'])}"[:_LONGEST]
        much = question["words"].count(" | ") > _MUCH
        start += placed(f"{question['name']}.pdf", alt, share * (_SMALLER if much else 1.0))
    given = words_typeset(question["words"])
    asked = hanging(_parts(question["asks"]), _HANG)
    return start + given + together(paragraph(question["when"], bold=True) + asked)


def _in_words(table):
    """The table of a drawing as plain words, for those who do not see it."""
    return " ".join(unescape(_TAGS.sub(" ", _CELL_ENDS.sub(", ", table))).split())


def _parts(asks):
    """The paragraphs of what is asked; options that all parts share, as in an order, stand once."""
    shared = len(asks) > 1 and all(
        a.get("long") and a["options"] == asks[0]["options"] for a in asks
    )
    if not shared:
        return [text for i, ask in enumerate(asks, start=1) for text in _part(i, ask)]
    places = ", ".join(f"{i}. {ask['text']}" for i, ask in enumerate(asks, start=1))
    return [*_lettered(asks[0]["options"]), f"One letter for each: {places}."]


def _lettered(options):
    return [f"    ({c}) {o}" for c, o in zip(LETTERS, options, strict=False)]


def _part(number, ask):
    text = f"{number}. {ask['text']}"
    if ask["kind"] == "choice":
        if ask.get("long") and sum(map(len, ask["options"])) > _ONE_LINE:
            return [text, *_lettered(ask["options"])]
        options = zip(LETTERS, ask["options"], strict=False)
        return [f"{with_colon(text)}   " + "   ".join(f"({c}) {o}" for c, o in options)]
    hint = ", ".join(filter(None, [ask["unit"], ask["hint"]]))
    return [f"{text} ({hint})" if hint else text]


def _answer_sheet(content):
    body = heading(f"Answer sheet · {content['learner']}", 1)
    body += paragraph("Ring one letter in each row, or write the figure with its unit.")
    rows, written = "", ""
    for number, question in enumerate(content["questions"], start=1):
        own = []
        for part, ask in enumerate(question["asks"], start=1):
            name = f"{number}.{part}"
            if ask["kind"] == "text":
                written += together(paragraph(f"{name} {ask['text']}") + lines(_LINES))
            elif ask["kind"] == "choice":
                letters = "     ".join(LETTERS[: len(ask["options"])])
                own.append((name, ask["text"][:70], letters))
            else:
                own.append((name, ask["text"][:70], ""))
        rows += answer_rows(own) if own else ""
    return body + rows + written


def scheme_pdf(key, seal, paper="A4", known=None):
    """Return the mark scheme of one learner's paper, for the instructor, as PDF.

    Parameters
    ----------
    key : Key
    seal : Commitment
    paper : str
        "A4" or "Letter".
    known : dict, optional
        What `scheme_rows` returns, by the question of the pool, so that it is made once for all.
    """
    known = known or {}
    body = heading(f"Mark scheme · {key.title} · {key.learner}", 1)
    body += paragraph("For the instructor only. Keep it apart from the papers.", bold=True)
    for number, question in enumerate(key.questions, start=1):
        body += _scheme(number, question, known.get(question.source) or scheme_rows(question))
    body += page_break() + heading("The seal", 2)
    body += paragraph(f"Printed on the paper: {' '.join(seal.printed.split())}")
    body += paragraph(f"Salt, to be shown when the key is opened: {seal.salt}", small=True)
    limits = limits_text().removeprefix(TITLE).splitlines()
    body += heading(TITLE, 2) + "".join(paragraph(text) for text in limits if text)
    title = f"Mark scheme · {key.title} · {key.learner}"
    return pdf(body, title=title, head=title.upper(), foot=SAFETY, paper=paper)


def scheme_rows(question):
    """Return what the mark scheme says of a question, wherever it stands.

    Returns
    -------
    tuple of (str, str, str), str
        For each ask part, right answer and reason; and how the marks are split.
    """
    answers = answers_of(question.board)
    return tuple((a.text, _right(a), _why(a)) for a in answers), split_words(answers)


def _scheme(number, question, known):
    board, (asks, split) = question.board, known
    head = heading(f"{number}. {board.title} ({question.kind}, {question.marks:g} marks)")
    where = f"{board.shown} to {board.asked}. " if board.scene == "flight" else ""
    rows = [
        f"{number}.{i} {with_colon(asked)} {right.rstrip('.')}. {why}"
        for i, (asked, right, why) in enumerate(asks, start=1)
    ]
    told = f"{where}Tests: {', '.join(question.objectives)}. In the pool: {question.source}."
    told = hanging(filter(None, (told, split)), small=True)
    wrong = {}
    for name, said in question.believed.items():
        wrong.setdefault("; ".join(said).rstrip("."), []).append(belief_of(name).learner)
    lines = [f"Who answers {said}: {'; or '.join(who)}." for said, who in wrong.items()]
    rest = hanging(lines[:_WRONG], small=True)
    return opening(head + told) + hanging(rows, 8.0) + rest


def _why(answer):
    """Why an answer is right; for a written reason, what it should say."""
    return f"It should say: {answer.value}" if answer.unit == WORDS else answer.reason


def _right(answer):
    if answer.unit == WORDS:
        return "in own words"
    letter = ""
    if answer.options:
        letter = f"({LETTERS[list(answer.options).index(answer.value)]}) "
    written = answer.written()
    unit = " s" if ":" in written else ""  # a time bears no unit; that of a mass stands before
    tolerance = f" ± {answer.ask.tolerance:g}{unit}" if answer.ask.tolerance else ""
    if answer.sheet is not None and not tolerance:
        tolerance = f" {allowed_words(answer.sheet.step(answer.ask.about), answer.value)}".rstrip()
    return f"{letter}{written}{tolerance}"
