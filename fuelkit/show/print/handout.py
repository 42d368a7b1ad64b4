"""The handout of a lesson: what a learner can do after it, pictures, reasons, rules, cautions."""

from fuelkit.aircraft.sentences import rule_sentences
from fuelkit.aircraft.twins import without_twins
from fuelkit.assess.objectives import load_table
from fuelkit.assess.walk_around import CAUTIONS
from fuelkit.physics.writing import clock
from fuelkit.show.lesson import Lesson
from fuelkit.show.objectives_page import codes_text
from fuelkit.show.palette import SAFETY
from fuelkit.show.print.pictures import SHOWN, pictures
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

_MOST = 36  # changes that are listed: about a page
_KEEP = "To keep after the lesson. It shows what the lesson asks you to predict: predict first."
_HIGHEST = {"A4": 156.0, "Letter": 161.0}  # mm that a drawing may take of a page on its side


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
    words = (_first, _happened, _rules, _objectives, _sources)
    body = "".join(write(lesson) for write in words)
    body += "".join(across(page) for page in _pages(list(zip(files, shown, strict=True)), paper))
    title = f"{lesson.unit.title}: handout"
    head = f"{title} · {lesson.flight.aircraft.name}"
    return pdf(body, title=title, head=head, foot=SAFETY, drawings=files, paper=paper)


def _first(lesson):
    """The beginning: what one is able to do now, what to remember, cautions."""
    unit, flight = lesson.unit, lesson.flight
    body = heading(unit.title, 1)
    body += paragraph(f"{flight.aircraft.name}, {flight.sector.name}. {_KEEP}")
    body += heading("You will be able to") + items(unit.goals)
    if unit.summary:
        body += heading("To remember") + items(unit.summary, numbered=True)
    return body + _cautions(unit)


def _objectives(lesson):
    rows = [(o.text, codes_text(o)) for o in load_table().of_lesson(lesson.unit.identifier)]
    if not rows:
        return ""
    return heading("Objectives, and where public syllabuses have them") + table(
        ("The learner is able to", "syllabus"), rows, "(1fr, 1fr)"
    )


def _cautions(unit):
    cautions = (*unit.cautions, *(CAUTIONS if "cautions" in SHOWN[unit.stage] else ()))
    cautions = tuple(dict.fromkeys(cautions))
    return boxed(heading("Cautions") + items(cautions)) if cautions else ""


def _pages(named, paper):
    """Pages that lie on their side, for large letters: a picture each, or two flat ones."""
    found = []
    while named:
        pair = named[:2] if len(named) > 1 and named[0][1].is_flat and named[1][1].is_flat else ()
        here = pair or named[:1]
        highest = (_HIGHEST[paper] - 14.0 * bool(pair)) / len(here)
        found.append("".join(_placed(name, one, highest) for name, one in here))
        named = named[len(here) :]
    return found


def _placed(name, one, highest):
    """A picture under its heading, with its words."""
    highest -= 6.5 * len(one.words)
    words = "".join(paragraph(text, small=True) for text in one.words)
    picture = drawing(name, one.svg, one.alt, share=1.0, highest=highest)
    return heading(one.heading) + picture + words


def _happened(lesson):
    if "summary" not in SHOWN[lesson.unit.stage]:
        return ""
    start, end = lesson.span()
    rows = lesson.viewer.event_rows(start, end)
    if not rows:
        return ""
    said = heading(f"What happened from {clock(start)} to {clock(end)}, and why") + table(
        ("time", "part", "became", "because"), rows[:_MOST], "(15mm, 40mm, 26mm, 1fr)"
    )
    more = len(rows) - _MOST
    return said + (
        paragraph(f"And {more} more: see the time axis.", small=True) if more > 0 else ""
    )


def _rules(lesson):
    aircraft, parts = lesson.flight.aircraft, set(lesson.stage_parts())
    rules = [r for r in aircraft.rules if parts & {name for name, _ in r.sets}]
    if not rules or "rules" not in SHOWN[lesson.unit.stage]:
        return ""
    sentences = rule_sentences(aircraft, rules)
    return (
        heading("The automatic functions of this stage")
        + paragraph(
            "Where two ask different things of one part, the one with the lower number wins."
        )
        + table(("", "function"), without_twins(sentences), "(14mm, 1fr)")
    )


def _sources(lesson):
    table_ = load_table()
    said = " ".join(f"{e.name}: {e.title}, {e.edition}; read: {e.read}." for e in table_.editions)
    made = "Aircraft, sector and every figure are computed by the kit's model; all are invented."
    return heading("Sources") + paragraph(f"{made} {said}", small=True)
