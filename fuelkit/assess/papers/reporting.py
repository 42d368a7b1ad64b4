"""What a marked sitting says about the class: figures, beliefs, objectives, options, records."""

from dataclasses import dataclass

from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.exports.records import MarkedPaper, MarkedQuestion
from fuelkit.assess.objectives import load_objectives
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.statistics.class_matrix import class_matrix
from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE
from fuelkit.assess.statistics.options import option_table
from fuelkit.assess.statistics.summary import class_figures
from fuelkit.assess.written import WORDS, read_answer

RIGHT = "right"
"""Stands for the right option in the table of options."""

WEAK = 0.6  # share of an objective's marks below which it is named as weak, where enough is known


@dataclass(frozen=True)
class ClassReport:
    """A class, looked at as a whole. Frozen.

    figures : ClassFigures
    earned : tuple of (str, float, float)
        Of each line of the blueprint the marks that this class earned, and those to be had.
    beliefs : tuple of (Belief, tuple of str)
        Beliefs that papers speak for, with the learners, the most frequent first; of whom a
        single question tells, that is said.
    objectives : tuple of (text, share, count, bool)
        Objectives that were asked: mean share of their marks, number of answers, whether weak;
        those with few answers last.
    missing : tuple of str
        Objectives of the course that no paper asked for.
    options : OptionTable
        Over all questions with three options, each named by its belief, or `RIGHT`.
    """

    figures: object
    earned: tuple
    beliefs: tuple
    objectives: tuple
    missing: tuple
    options: object


def class_report(marked):
    """Return the report of a marked sitting.

    Parameters
    ----------
    marked : MarkedSitting

    Raises
    ------
    ValueError
        If no paper was marked.
    """
    if not marked.papers:
        raise ValueError("class report: no paper was marked; there is nothing to report.")
    entries, by_objective = [], {}
    for paper in marked.papers:
        for question, board in zip(paper.key.questions, paper.boards, strict=True):
            marks, full = board.marks, board.full
            entries.append((paper.sheet.learner, question.line, marks, full))
            for name in question.objectives:
                by_objective.setdefault(name, []).append(marks / full)
    return ClassReport(
        class_figures(class_matrix(entries), marked.plan["pass share"]), _earned(entries),
        _counted(marked.papers), _objectives(by_objective),
        tuple(o.text for o in load_objectives() if o.name not in by_objective),
        _options(marked.papers),
    )  # fmt: skip


def _earned(entries):
    """The marks of the class line by line, as facts of this class."""
    found = {}
    for _, line, marks, full in entries:
        earned, whole = found.get(line, (0.0, 0.0))
        found[line] = earned + marks, whole + full
    return tuple((line, *sums) for line, sums in found.items())


def _counted(papers):
    holders = {}
    for paper in papers:
        for belief in paper.beliefs:
            by_one = " (by one question)" if belief.is_by_one else ""
            holders.setdefault(belief.names[0], []).append(f"{paper.sheet.learner}{by_one}")
    ordered = sorted(holders, key=lambda name: (-len(holders[name]), name))
    return tuple((belief_of(name), tuple(sorted(holders[name]))) for name in ordered)


def _objectives(by_objective):
    texts = {objective.name: objective.text for objective in load_objectives()}
    rows = [
        (texts[name], sum(shares) / len(shares), len(shares))
        for name, shares in by_objective.items()
    ]  # fmt: skip
    return tuple(
        (*row, row[1] < WEAK and row[2] >= LEAST_FOR_SHARE)
        for row in sorted(rows, key=lambda row: (row[2] < LEAST_FOR_SHARE, row[1]))
    )


def _options(papers):
    """How often the option of each belief was offered and chosen, in questions with three."""
    rows = []
    for paper in papers:
        for question in paper.key.questions:
            if question.kind == "choice" and question.believed:
                (ask,) = question.board.asks
                given = paper.sheet.answers.get(question.name, {}).get("given", {})
                names = {said[0]: name for name, said in reversed(question.believed.items())}
                names[question.right[0]] = RIGHT
                offered = [names[option] for option in ask.options if option in names]
                rows.append((offered, names.get(given.get(ask.identifier))))
    return option_table(rows)


def records(marked):
    """Return the marked papers as the exports take them."""
    return tuple(
        MarkedPaper(
            paper.sheet.learner, paper.key.paper,
            tuple(
                _record(paper, question, board)
                for question, board in zip(paper.key.questions, paper.boards, strict=True)
            ),
        )
        for paper in marked.papers
    )  # fmt: skip


def _record(paper, question, board):
    answers = answers_of(question.board)
    given = paper.sheet.answers.get(question.name, {}).get("given", {})
    words = "; ".join(filter(None, [question.board.title, question.board.lead])) + ": "
    words += "; ".join(answer.text for answer in answers)
    right, taken, options, tolerance, unit = _single(question, answers, given)
    return MarkedQuestion(
        question.source, question.line, _kind(question, answers), words, options, right, taken,
        min(board.marks, board.full), board.full, tolerance, unit,
    )  # fmt: skip


def _kind(question, answers):
    """The kind as a record has it: several figures in one question are a sheet."""
    several = question.kind in ("figure", "when") and len(answers) > 1
    return "sheet" if several else question.kind


def _single(question, answers, given):
    """Right and given answers, options, tolerance and unit of a question, as a record has them."""
    texts = tuple(given.get(answer.ask.identifier, "") for answer in answers)
    first = answers[0]
    if question.kind == "order":
        return question.right, tuple(filter(None, texts)), first.options, None, ""
    if question.kind == "choice" and len(answers) == 1:
        return question.right, tuple(filter(None, texts)), first.options, None, ""
    if question.kind in ("figure", "when") and len(answers) == 1 and first.unit != WORDS:
        taken = texts if read_answer(first, texts[0]) is not None else ()
        return question.right, taken, (), first.ask.tolerance, first.unit
    right = ("; ".join(question.right),)
    return right, ("; ".join(texts),) if any(texts) else (), (), None, ""
