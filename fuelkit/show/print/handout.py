"""The handout of a lesson: what a learner can do after it, pictures, reasons, rules, cautions."""

from fuelkit.aircraft.sentences import rule_sentence
from fuelkit.aircraft.twins import without_twins
from fuelkit.assess.objectives import load_table
from fuelkit.assess.walk_around import CAUTIONS
from fuelkit.physics.writing import clock
from fuelkit.show.lesson import Lesson
from fuelkit.show.objectives_page import codes_text
from fuelkit.show.palette import SAFETY
from fuelkit.show.print.pictures import pictures
from fuelkit.show.print.typeset import (
    across,
    boxed,
    drawing,
    heading,
    items,
    paragraph,
    pdf,
    table,
)

_KEEP = "To keep after the lesson. It shows what the lesson asks you to predict: predict first."
_HIGHEST = {"A4": 156.0, "Letter": 161.0}  # mm that a drawing may take of a page on its side
_WALK = "walk-around"


def handout_pdf(identifier, aircraft="", paper="A4"):
    """Return the handout of a lesson as a tagged PDF.

    Parameters
    ----------
    identifier : str
        Such as "lesson-cruise".
    aircraft : str
        A name in the kit or the path of a file, if not the one that the course is taught on.
    paper : str
        "A4" or "Letter".

    Returns
    -------
    bytes

    Raises
    ------
    DataFileError
        If there is no such lesson or aircraft, or a file has faults.
    """
    lesson = Lesson(identifier, aircraft, projector=True)
    shown = pictures(lesson)
    files = {f"picture-{number}.svg": one.svg for number, one in enumerate(shown, start=1)}
    body = _first(lesson) + "".join(
        _page(name, one, paper) for name, one in zip(files, shown, strict=True)
    )
    body += _happened(lesson) + _rules(lesson) + _sources(lesson)
    title = f"{lesson.unit.title}: handout"
    head = f"{title} · {lesson.flight.aircraft.name}"
    return pdf(body, title=title, head=head, foot=SAFETY, drawings=files, paper=paper)


def _first(lesson):
    """The first page: what one is able to do now, what to remember, cautions."""
    unit, flight = lesson.unit, lesson.flight
    rows = [(o.text, codes_text(o)) for o in load_table().of_lesson(unit.identifier)]
    body = heading(unit.title, 1)
    body += paragraph(f"{flight.aircraft.name}, {flight.sector.name}. {_KEEP}")
    body += heading("You will be able to") + items(unit.goals)
    if unit.summary:
        body += heading("To remember") + items(unit.summary, numbered=True)
    body += _cautions(unit)
    if rows:
        body += heading("Objectives and where public syllabuses have them")
        body += table(("The learner is able to", "syllabus"), rows, "(3fr, 2fr)")
    return body


def _cautions(unit):
    cautions = (*unit.cautions, *(CAUTIONS if unit.stage == _WALK else ()))
    return boxed(heading("Cautions") + items(cautions)) if cautions else ""


def _page(name, one, paper):
    """A picture on a page of its own that lies on its side, so that its letters can be read."""
    highest = _HIGHEST[paper] - 6.5 * len(one.words)
    words = "".join(paragraph(text, small=True) for text in one.words)
    picture = drawing(name, one.svg, one.alt, share=1.0, highest=highest)
    return across(heading(one.heading) + picture + words)


def _happened(lesson):
    start, end = lesson.span()
    rows = lesson.viewer.event_rows(start, end)
    if not rows:
        return ""
    return heading(f"What happened from {clock(start)} to {clock(end)}, and why") + table(
        ("time", "part", "became", "because"), rows, "(15mm, 40mm, 26mm, 1fr)"
    )


def _rules(lesson):
    aircraft, parts = lesson.flight.aircraft, set(lesson.stage_parts())
    rules = [r for r in aircraft.rules if parts & {name for name, _ in r.sets}]
    if not rules:
        return ""
    sentences = [rule_sentence(aircraft, rule) for rule in rules]
    return (
        heading("The automatic functions of this stage")
        + paragraph("Where two ask different things of one part, the one with the lower number wins.")
        + table(("", "function"), without_twins(sentences), "(14mm, 1fr)")
    )


def _sources(lesson):
    table_ = load_table()
    said = " ".join(f"{e.name}: {e.title}, {e.edition}; read: {e.read}." for e in table_.editions)
    made = "Aircraft, sector and every figure are computed by the kit's model; all are invented."
    return heading("Sources") + paragraph(f"{made} {said}", small=True)
