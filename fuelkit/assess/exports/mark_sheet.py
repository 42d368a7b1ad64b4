"""The mark sheet of a class as CSV: a row a learner, a column a question."""

from fuelkit.assess.exports.cells import csv_bytes
from fuelkit.assess.exports.records import by_learner


def mark_sheet(papers, pass_share, notes=None):
    """Return the mark sheet as CSV bytes, safe to open in a spreadsheet.

    Papers differ, so a column is a question of the blueprint: its line, numbered where a paper has
    several of one line. A cell is empty where a learner did not have it.

    Parameters
    ----------
    papers : iterable of MarkedPaper
        One a learner.
    pass_share : float
        Share of the marks that passes. [-]
    notes : mapping of str to str, optional
        The instructor's, by learner code.

    Returns
    -------
    bytes
        UTF-8 without a byte order mark. Columns: learner, paper, the questions, total, of, share,
        result ("pass" or "not yet"), notes. By learner code. Marks of a question to a hundredth;
        the total to a tenth, as it stands on the feedback.

    Raises
    ------
    ValueError
        If a learner has two papers, or a note belongs to nobody here.
    """
    papers = by_learner(papers)
    notes = notes or {}
    strange = sorted(set(notes) - {paper.learner for paper in papers})
    if strange:
        raise ValueError(f"notes: {strange[0]!r} has no paper here; correct the code.")
    marks = [_by_column(paper) for paper in papers]
    columns = list(dict.fromkeys(column for row in marks for column in row))
    several = {line for line, number in columns if number > 1}
    heads = [f"{line} ({number})" if line in several else line for line, number in columns]
    rows = [("learner", "paper", *heads, "total", "of", "share", "result", "notes")]
    for paper, row in zip(papers, marks, strict=True):
        result = "pass" if paper.has_passed(pass_share) else "not yet"
        cells = (row.get(column) for column in columns)
        rows.append(
            (paper.learner, paper.paper, *cells, paper.total, paper.most, paper.share, result)
            + (notes.get(paper.learner, ""),)
        )
    return csv_bytes(rows)


def _by_column(paper):
    """Return the marks of a paper by (line, number within the line)."""
    found, seen = {}, {}
    for question in paper.questions:
        seen[question.line] = seen.get(question.line, 0) + 1
        found[question.line, seen[question.line]] = round(question.got, 2)
    return found
