"""Figure sheets as PDF: a form of each to fill in with a pencil, and the keys apart from them."""

from fuelkit.assess.figure_marks import allowed_words, asked_steps, inputs_said, tolerance_words
from fuelkit.figures.catalogue import draw_sheet, sheets_for
from fuelkit.show.palette import SAFETY
from fuelkit.show.print.typeset import (
    boxed,
    filled,
    form,
    heading,
    items,
    page_break,
    paragraph,
    pdf,
    quoted,
    side_by_side,
    table,
    tick,
    wide,
)

FAIR = (
    "A figure earns its marks if it is as near as is said, or as near to what the learner's own "
    "earlier figures give. An error costs the part where it was made, and no part after it."
)
_WHO = "Learner code: ........................    Date: ..................    Marks: ........"
_LONG = 24  # letters of an option that needs the whole width


def sheet_pdfs(aircraft, number=1, paper="A4"):
    """Return every figure sheet that an aircraft can have: names and bytes of forms and of keys.

    Parameters
    ----------
    aircraft : Aircraft
    number : int
        The same number gives the same situations.
    paper : str
        "A4" or "Letter".

    Raises
    ------
    FigureError
        If the number is none.
    """
    sheets = [draw_sheet(name, aircraft, number) for name in sheets_for(aircraft)]
    forms = page_break().join(_form(sheet, number) for sheet in sheets)
    keys = page_break().join(_key(sheet, number) for sheet in sheets)
    title = f"Figure sheets: {aircraft.name}"
    return (
        ("figures.pdf", pdf(forms, title=title, head=title, foot=SAFETY, paper=paper)),
        ("figures-key.pdf", pdf(keys, title=f"{title}: key", head=f"{title}: KEY, for the one "
                                "who marks", foot=SAFETY, paper=paper)),
    )  # fmt: skip


def _form(sheet, number):
    """One sheet to fill in."""
    steps = asked_steps(sheet)
    rows = [_row(i, step) for i, step in enumerate(steps, start=1)]
    return filled(
        heading(f"{sheet.title}, number {number}", 1)
        + paragraph(_WHO)
        + paragraph(sheet.lead)
        + _givens(sheet)
        + heading("To be worked")
        + form(("step", "your work", "result", "marks"), rows, "(52mm, 1fr, 50mm, 13mm)", row="row")
        + _cautions(sheet)
    )


def _row(number, step):
    near = f"#text(size: 7pt)[{quoted(tolerance_words(step))}]"
    answer = [near, _answer(step)]
    if any(len(option) > _LONG for option in step.options):
        answer = [wide(_answer(step))]
    return (quoted(f"{number}. {step.label}"), *answer, quoted(f"{step.marks:g}"))


def _answer(step):
    """Where the answer is written: boxes to tick, or room with its unit."""
    if step.options:
        apart = " #linebreak() " if max(map(len, step.options)) > _LONG // 2 else " #h(3mm) "
        return apart.join(tick(option) for option in step.options)
    return f"#align(right)[{quoted('h : min' if step.unit == 'h:mm' else step.unit)}]"


def _givens(sheet):
    rows = [(g.label + (f" ({g.note})" if g.note else ""), str(g)) for g in sheet.givens]
    return heading("Given") + side_by_side(("what", "figure"), rows, "(3fr, 2fr)")


def _cautions(sheet):
    said = [text for text in sheet.cautions if "training aid" not in text.lower()]
    return boxed(heading("Cautions") + items(said)) if said else ""


def _key(sheet, number):
    """One sheet worked, each step with the numbers put in."""
    values = sheet.worked()
    rows = [
        (
            f"{i}. {step.label}", _work(sheet, step, values),
            f"{step.written(values[step.name])} {allowed_words(step, values[step.name])}".strip(),
            f"{step.marks:g}" if step.marks else "–",
        )
        for i, step in enumerate(sheet.steps, start=1)
    ]  # fmt: skip
    sources = paragraph(f"Sources: {'; '.join(sheet.sources)}", small=True) if sheet.sources else ""
    return (
        heading(f"{sheet.title}, number {number}: key", 1)
        + paragraph(sheet.lead)
        + _givens(sheet)
        + heading("Worked")
        + table(("step", "work", "result", "marks"), rows, "(46mm, 1fr, 34mm, 13mm)")
        + paragraph(FAIR, small=True)
        + sources
    )


def _work(sheet, step, values):
    put = "; ".join(f"{label} = {text}" for label, text in inputs_said(sheet, step, values))
    return f"{step.words}: {put}" if put else step.words
