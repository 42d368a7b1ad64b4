"""Pages about a learner's progress: by objective, by certainty, and a day's questions."""

from html import escape

from fuelkit.assess.course import LESSONS
from fuelkit.assess.marking import PASS_SHARE
from fuelkit.assess.objectives import load_table
from fuelkit.assess.progress.standing import LAST, LEAST, in_order
from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE
from fuelkit.show.page import CAUTION, Page, table_page

NOTEBOOKS = {
    "tanks": "01_know_the_tanks", "walk-around": "02_walk_around",
    "cockpit-preparation": "03_prepare_the_cockpit", "engine-start": "04_start_the_engines",
    "climb": "05_follow_the_climb", "cruise": "06_follow_the_cruise",
    "descent": "07_follow_the_descent", "after-landing": "08_after_landing",
    "abnormal": "09_when_something_fails",
}  # fmt: skip
"""The notebook of each lesson, without its ending."""

_WIDTH, _HEIGHT = 150, 16  # px, of a bar
_HEAD = ("To be able to", "how it stands", "right at the first try", "lesson")
_HOW = (
    f"Of the last {LAST} tries, {100 * PASS_SHARE:.0f} % must be right for “steady”; with fewer "
    f"than {LEAST} nothing is said. A part that stays as it was and was left so is not counted, "
    "and neither are exercises and papers: those are marked. Everything here stands in one file "
    "on this machine and goes nowhere."
)


def progress_page(standings, note=""):
    """Return how a learner stands with each objective, the weak ones first.

    Parameters
    ----------
    standings : sequence of Standing
    note : str
        What had to be set aside or was taken over, to be told above the table.

    Returns
    -------
    Page
    """
    found = in_order(standings)
    counts = {}
    for one in found:
        counts[one.word] = counts.get(one.word, 0) + 1
    told = ", ".join(f"{count} {word}" for word, count in counts.items())
    first = f"{len(found)} objectives: {told}."
    met, not_met = [o for o in found if o.count], [o for o in found if not o.count]
    folded = f"<details><summary>Not met yet: {len(not_met)}</summary>{_table(not_met)}</details>"
    html = (
        f"{f'<p>{escape(note)}</p>' if note else ''}<p>{escape(first)}</p>"
        f"{_table(met, 'Progress by objective') if met else ''}{folded if not_met else ''}"
        f'<p class="note">{escape(_HOW)} {escape(CAUTION)}</p>'
    )
    lines = [" | ".join((o.objective.text, o.word, _tries(o), _lessons(o))) for o in found]
    return Page(html, "\n".join([*([note] if note else []), first, " | ".join(_HEAD), *lines]))


def _table(found, caption="Objectives that you have not met"):
    head = "".join(f'<th scope="col">{cell}</th>' for cell in _HEAD)
    body = "".join(_row(one) for one in found)
    return (
        f"<table><caption>{caption}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table>"
    )


def _row(one):
    links = ", ".join(_link(lesson) for lesson in one.objective.lessons)
    word = f"<strong>{one.word}</strong>" if one.word == "weak" else one.word
    return (
        f'<tr><th scope="row" style="font-weight:400">{escape(one.objective.text)}</th>'
        f"<td>{word}</td>"
        f"<td>{_bar(one)}{escape(_tries(one))}</td><td>{links}</td></tr>"
    )


def _tries(one):
    if not one.count:
        return "–"
    late = f"{one.late_right} of the last {one.late_count}"
    return late if one.count == one.late_count else f"{late}; {one.right} of {one.count} in all"


def _bar(one):
    """A bar as long as the share that is right, in a frame; what it says stands beside it."""
    if not one.count:
        return ""
    length = (_WIDTH - 2) * one.late_right / one.late_count
    filled = f'<rect x="1" y="1" width="{length:.1f}" height="{_HEIGHT - 2}" fill="var(--flow)"/>'
    return (
        f'<svg width="{_WIDTH}" height="{_HEIGHT}" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        'aria-hidden="true" style="display:block;margin:2px 0">'
        f'<rect x=".5" y=".5" width="{_WIDTH - 1}" height="{_HEIGHT - 1}" fill="var(--paper)" '
        f'stroke="var(--edge)"/>{filled if one.late_right else ""}</svg>'
    )


def _link(lesson):
    stage, title = lesson.removeprefix("lesson-"), load_table().lessons[lesson]
    number = 1 + LESSONS.index(stage)
    return f'<a href="{NOTEBOOKS[stage]}.ipynb">{number}.&nbsp;{escape(title)}</a>'


def _lessons(one):
    return ", ".join(load_table().lessons[lesson] for lesson in one.objective.lessons)


def calibration_page(found):
    """Return how often a learner was right at each rating, as a page.

    Parameters
    ----------
    found : sequence of Calibration
    """
    rows = [(one.word, one.count or "–", *_calibrated(one)) for one in found]
    note = (
        "Who says “certain” and is right nearly always, and says “guess” and is right as often "
        "as chance would have it, knows what they know. The interval is Wilson's of 95 %; below "
        f"{LEAST_FOR_SHARE} ratings it would be too wide to say anything. No marks hang on this."
    )
    head = ("you said", "questions", "right throughout", "so of a hundred, right are likely")
    return table_page("How sure, and how often right", head, rows, note=note)


def _calibrated(one):
    if not one.count:
        return "–", "–"
    if one.low is None:
        return f"{one.right}", f"too few to say ({LEAST_FOR_SHARE} are needed)"
    return f"{one.right}", f"{100 * one.low:.0f} to {100 * one.high:.0f}"


def day_page(rows):
    """Return a day's questions with how each went.

    Parameters
    ----------
    rows : sequence of (int, Question, int, int)
        Number, question, answers that were right, and all of them.
    """
    whole = sum(right == count for _, _, right, count in rows)
    told = [
        (
            f"{number}. {question.board.title}", load_table().lessons[f"lesson-{question.stage}"],
            f"✓ all {count} right" if right == count else f"✗ {right} of {count} right",
        )
        for number, question, right, count in rows
    ]  # fmt: skip
    note = "That is all for today. Tomorrow there are ten others."
    title = f"Today's review: {whole} of {len(rows)} questions right throughout"
    return table_page(title, ("question", "lesson", "how it went"), told, note=note)
