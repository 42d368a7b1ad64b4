"""The feedback sheet of one learner's paper, and the report of the class."""

from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.papers.reporting import RIGHT as RIGHT_OPTION
from fuelkit.assess.papers.reporting import WEAK
from fuelkit.assess.papers.spoken import spoken
from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE
from fuelkit.show.print.pieces import EARNED, PRINT, RIGHT, SCREEN, WRONG, Pieces, with_colon


def feedback(paper, pass_share):
    """Return the feedback of one paper, as Pieces.

    Parameters
    ----------
    paper : PaperMark
    pass_share : float
        Share of the marks that passes. [-]
    """
    sheet = paper.sheet
    page = Pieces(f"{paper.title}: feedback for {sheet.learner}")
    result = "pass" if paper.has_passed(pass_share) else "not yet"
    page.paragraph(
        f"{paper.marks:g} of {paper.full:g} marks ({paper.share_text(pass_share)}): {result}. The "
        f"pass mark is {100 * pass_share:.0f} %."
    )
    if paper.open_reasons:
        page.paragraph("Your written reasons are not marked yet; the sum may still grow.")
    if paper.late:
        names = ", ".join(_number(name) for name in paper.late)
        page.paragraph(f"Committed after the time was up, by your own clock: question {names}.")
    for belief in paper.beliefs:
        page.paragraph(belief.sentence)
    all_right = [_is_all_right(paper, board) for board in paper.boards]
    _told_in_print(page, paper, all_right)
    for board, is_right in zip(paper.boards, all_right, strict=True):
        only = SCREEN if is_right else None
        is_open = board.name in paper.open_reasons
        page.heading(_head(paper, board), only)
        if board.note:
            page.paragraph(f"{board.note}.".replace("..", "."), only)
        page.answers(
            (("" if is_open else _sign(line), line.text, line.given, line.right, line.reason)
             for line in board.lines),
            only,
        )  # fmt: skip
    return page


def _told_in_print(page, paper, all_right):
    """What is printed of questions that were all right: a line each."""
    right = [board for board, is_right in zip(paper.boards, all_right, strict=True) if is_right]
    page.paragraph(
        f"This sheet gives the reasons for what was not right; {paper.sheet.learner}.html, which "
        "goes with it, has all answers and all reasons.", PRINT,
    )  # fmt: skip
    if right:
        page.heading("All right", PRINT)
        page.lines((f"{RIGHT} {_head(paper, board)}" for board in right), PRINT)


def _is_all_right(paper, board):
    """Whether each part of a question was right, and earned all its marks."""
    is_marked = board.name not in paper.open_reasons
    is_full = board.marks > board.full - 1e-6
    return is_marked and is_full and all(line.is_right for line in board.lines)


def _head(paper, board):
    """A question's number and title, and what it has earned."""
    earned = "not marked yet, out" if board.name in paper.open_reasons else f"{board.marks:.1f}"
    return f"{_number(board.name)}. {with_colon(board.title)} {earned} of {board.full:g} marks"


def _sign(line):
    if line.is_right:
        return RIGHT
    return EARNED if line.marks else WRONG


def _number(name):
    return name.removeprefix("q").lstrip("0")


def class_pages(marked, report, head):
    """Return the report of a class, as Pieces.

    Parameters
    ----------
    marked : MarkedSitting
    report : ClassReport
    head : str
        Of the mark log, as it is to be kept in print.
    """
    plan = marked.plan
    page = Pieces(f"{plan['title']}: the class")
    passed = sum(paper.has_passed(plan["pass share"]) for paper in marked.papers)
    page.paragraph(
        f"{len(marked.papers)} papers marked, {passed} at or above the pass mark of "
        f"{100 * plan['pass share']:.0f} %. Together they earned {_of(report.earned)}. "
        f"Mean share of the marks, for classes like this one: {report.figures.mean}."
    )
    waiting = sum(len(paper.open_reasons) for paper in marked.papers)
    if waiting:
        page.paragraph(
            f"Written reasons still to be marked: {waiting}. They count as nothing in all figures "
            "below, and in each learner's marks, until you have marked them."
        )
    _beliefs(page, report)
    _lines(page, report)
    _objectives(page, report)
    _options(page, report)
    _amended(page, marked)
    page.heading("Each learner")
    numbers = {belief.name: str(n) for n, (belief, _) in enumerate(report.beliefs, start=1)}
    page.table(
        ("learner", "marks", "share", "result", "beliefs, by number", "receipt"),
        [_learner(paper, plan["pass share"], numbers) for paper in marked.papers],
    )
    _attention(page, marked)
    page.heading("The mark log")
    page.paragraph(f"Keep this in print; a log that was cut off is found by it. {head}")
    return page


def _beliefs(page, report):
    page.heading("What to teach again")
    if not report.beliefs:
        page.paragraph(
            "No belief stands out in any paper. That says nothing of how well the class did: see "
            "the objectives below."
        )
    page.table(
        ("number", "belief", "learners", "who", "what to do"),
        [(number, f"thinks that {b.learner}", len(who), ", ".join(who), b.instructor)
         for number, (b, who) in enumerate(report.beliefs, start=1)],
    )  # fmt: skip


def _lines(page, report):
    figures = report.figures
    page.heading("Line by line")
    page.paragraph(
        "What this class earned is a fact. Facility is the mean share of the marks that classes "
        "like it would earn; discrimination tells whether those who do well on the rest of the "
        "paper do well here too (1: always, 0: no more than others). Both with their 95 % "
        "interval, and silent where the class is too small to say."
    )
    earned = {line: _of([(line, marks, full)]) for line, marks, full in report.earned}
    page.table(
        ("line", "this class earned", "facility", "discrimination"),
        [(line.line, earned[line.line], line.facility, line.item_rest)
         for line in figures.lines],
    )  # fmt: skip
    page.paragraph(f"Reliability, alpha: {figures.alpha}.")
    page.paragraph(f"Reliability, KR-20: {figures.kr20}.")
    page.paragraph(f"Standard error of measurement, in marks: {figures.standard_error}.")
    near = figures.near_pass
    if near.silent:
        page.paragraph(f"Who lies near the pass mark: not given: {near.silent}.")
    else:
        page.paragraph(
            "Within one standard error of the pass mark: above it "
            f"{', '.join(near.above) or 'nobody'}; below it {', '.join(near.below) or 'nobody'}."
        )


def _of(earned):
    """Marks of some lines together, of how many, and their share."""
    marks, full = (sum(row[i] for row in earned) for i in (1, 2))
    return f"{marks:.1f} of {full:g} marks ({100 * marks / full:.0f} %)"


def _objectives(page, report):
    page.heading("Objectives")
    page.paragraph(
        f"Weak: less than {100 * WEAK:.0f} % of the marks, from at least {LEAST_FOR_SHARE} answers."
    )
    page.table(
        ("able to", "mean share", "answers", "standing"),
        [(text, f"{100 * share:.0f} %", count, "weak" if weak else "")
         for text, share, count, weak in report.objectives],
    )  # fmt: skip
    if report.missing:
        page.paragraph(
            f"Not asked on these papers: {len(report.missing)} objectives of the course."
        )


def _options(page, report):
    uses = report.options.uses
    if not uses:
        return
    page.heading("Options of three")
    page.table(
        ("what the option says", "offered", "chosen"),
        [(_option(use.option), use.offered, use.chosen) for use in uses],
    )
    enough = {use.option for use in uses if use.offered >= LEAST_FOR_SHARE}
    count = len(enough.intersection(report.options.unchosen))
    if not enough:
        page.paragraph(
            f"No option was offered to {LEAST_FOR_SHARE} learners or more: which of them mislead "
            "nobody cannot be said."
        )
        return
    page.paragraph(
        f"Of {len(enough)} options that at least {LEAST_FOR_SHARE} learners were offered, {count} "
        "were chosen by nobody: they mislead no one here."
    )


def _amended(page, marked):
    """How the key was changed: who reads the figures above must know."""
    if marked.amendments:
        page.heading("Changes to the key")
    page.table(
        ("question of the pool", "part", "what counts now", "because"),
        [(a.question, a.part or "all", a.words, a.because) for a in marked.amendments],
    )


def _option(name):
    return "what is right" if name == RIGHT_OPTION else f"thinks that {belief_of(name).learner}"


def _learner(paper, pass_share, numbers):
    held = [numbers[belief.names[0]] for belief in paper.beliefs]
    return (
        paper.sheet.learner, f"{paper.marks:g} of {paper.full:g}", paper.share_text(pass_share),
        "pass" if paper.has_passed(pass_share) else "not yet", ", ".join(held) or "none",
        spoken(paper.sheet),
    )  # fmt: skip


def _attention(page, marked):
    rows = [("no paper marked", code, "not handed in, or set aside") for code in marked.missing]
    rows += [("mark moved", m.learner, m.words) for m in marked.moved]
    rows += [("not marked yet", p.sheet.learner, "written reasons") for p in marked.papers
             if p.open_reasons]  # fmt: skip
    rows += [("after the time", p.sheet.learner, ", ".join(_number(n) for n in p.late))
             for p in marked.papers if p.late]  # fmt: skip
    rows += [("set aside", a.file, a.reason) for a in marked.set_aside if a.is_fault]
    if rows:
        page.heading("To be seen to")
    page.table(("what", "who", "why"), rows)
