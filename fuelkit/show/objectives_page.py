"""The objectives of the course or of one lesson as a table: codes, lessons, questions."""

from fuelkit.assess.course import load_unit, unit_names
from fuelkit.assess.objectives import coverage, load_table
from fuelkit.show.page import CAUTION, table_page

_HEAD = ("The learner is able to", "stage", "syllabus", "lessons", "questions")


def objectives_page(lesson=None):
    """Return the objectives with their syllabus codes, lessons and number of questions.

    Parameters
    ----------
    lesson : str, optional
        Identifier such as "lesson-cruise"; all objectives of the course if not given.

    Returns
    -------
    Page

    Raises
    ------
    DataFileError
        If the course has no such lesson.

    Examples
    --------
    >>> objectives_page("lesson-cruise").text.splitlines()[0]
    'Objectives of the lesson: Cruise'
    """
    return page_of(load_table(), [load_unit(name) for name in unit_names()], lesson)


def page_of(table, units, lesson=None):
    """Return the page of a table of objectives for given units."""
    chosen = table.objectives if lesson is None else table.of_lesson(lesson)
    title = "Objectives of the course"
    if lesson is not None:
        title = f"Objectives of the lesson: {table.lessons[lesson]}"
    found = coverage(units, chosen)
    rows = [
        (o.text, o.stage or "–", codes_text(o), lessons_text(table, o), len(found[o.name].asks))
        for o in chosen
    ]
    note = " ".join([*map(_edition_text, table.editions), CAUTION])
    return table_page(title, _HEAD, rows, note=note)


def codes_text(objective):
    """Return the codes of an objective by syllabus; those that were not read say so."""
    if not objective.codes:
        return "no code fits"
    groups = {}
    for code in objective.codes:
        groups.setdefault((code.edition.name, code.confirmed), []).append(code.code)
    return "; ".join(_group_text(*group, codes) for group, codes in groups.items())


def lessons_text(table, objective):
    """Return the titles of the lessons that teach an objective."""
    return ", ".join(table.lessons[name] for name in objective.lessons)


def _group_text(edition, confirmed, codes):
    doubt = ", code not confirmed" if len(codes) == 1 else ", codes not confirmed"
    return f"{', '.join(codes)} ({edition}{'' if confirmed else doubt})"


def _edition_text(edition):
    return f"{edition.name}: {edition.title}, {edition.edition}; read: {edition.read}."
