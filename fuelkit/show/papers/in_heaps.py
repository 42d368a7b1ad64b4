"""Papers of a class made in heaps, on as many cores as there are: each drawing drawn once."""

from fuelkit.show.papers.content import question_content
from fuelkit.show.papers.print_paper import scheme_rows

_AT_MOST = 40  # papers of a heap: what a worker is handed carries their drawings
_HEAPS = 8


def drawn_once(issued, work=map):
    """Return what is shown of each question of a class's papers, and its rows of the mark scheme.

    Parameters
    ----------
    issued : sequence of Issued
    work : callable
        Maps a function over a sequence.

    Returns
    -------
    (dict, dict)
        By the question of the pool: see `content.question_content`, `print_paper.scheme_rows`.
    """
    groups = {}
    for question in {q.source: q for one in issued for q in one.key.questions}.values():
        board = question.board
        flight = (board.aircraft, board.sector, board.draw if board.sector else 0, board.more)
        groups.setdefault(flight, []).append(question)
    shown, schemes = {}, {}
    for content, rows in work(_drawn, list(groups.values())):
        shown |= content
        schemes |= rows
    return shown, schemes


def _drawn(questions):
    """What is made of the questions of one flight."""
    shown = {question.source: question_content(question) for question in questions}
    return shown, {question.source: scheme_rows(question) for question in questions}


def heaps(issued, shown, schemes):
    """Return a class's papers in heaps, each with what its own questions need of the rest."""
    size = max(1, min(_AT_MOST, -(-len(issued) // _HEAPS)))
    found = []
    for begin in range(0, len(issued), size):
        heap = issued[begin : begin + size]
        used = {question.source for one in heap for question in one.key.questions}
        kept = ({source: table[source] for source in used} for table in (shown, schemes))
        found.append((heap, *kept))
    return found
