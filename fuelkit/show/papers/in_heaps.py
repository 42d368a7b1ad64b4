"""Papers of a class made in heaps, on as many cores as there are: each drawing drawn once."""

from dataclasses import dataclass, field

from fuelkit.assess.papers.placed import flight_asked
from fuelkit.show.papers.content import question_content
from fuelkit.show.papers.print_paper import scheme_rows
from fuelkit.show.print.typeset import picture

_AT_MOST = 40  # papers of a heap: what a worker is handed carries their drawings
_HEAPS = 8


@dataclass(frozen=True)
class Made:
    """What is made once of questions that many papers ask, by their name in the pool. Frozen.

    shown : dict of str to dict
        What a learner sees; see `content.question_content`.
    schemes : dict of str to tuple
        What the mark scheme says; see `print_paper.scheme_rows`.
    pictures : dict of str to bytes
        The drawing as it is printed, where there is one; see `typeset.picture`.
    """

    shown: dict = field(default_factory=dict)
    schemes: dict = field(default_factory=dict)
    pictures: dict = field(default_factory=dict)

    def needed(self, keys):
        """Return what some papers need of it, by their keys."""
        used = {question.source for key in keys for question in key.questions}
        tables = (self.shown, self.schemes, self.pictures)
        return Made(*({s: table[s] for s in used if s in table} for table in tables))

    def pictures_of(self, key):
        """Return the pictures of one paper, by the names that its questions have there."""
        found = ((q.name, self.pictures.get(q.source)) for q in key.questions)
        return {name: data for name, data in found if data}


def drawn_once(issued, work=map):
    """Return all that is made of the questions of a class's papers, as `Made`.

    Parameters
    ----------
    issued : sequence of Issued
    work : callable
        Maps a function over a sequence.
    """
    groups, made = {}, Made()
    for question in {q.source: q for one in issued for q in one.key.questions}.values():
        groups.setdefault(flight_asked(question.board), []).append(question)
    for found in work(_drawn, list(groups.values())):
        made.shown.update(found.shown)
        made.schemes.update(found.schemes)
        made.pictures.update(found.pictures)
    return made


def _drawn(questions):
    """What is made of the questions of one flight."""
    made = Made()
    for question in questions:
        shown = question_content(question)
        made.shown[question.source] = shown
        made.schemes[question.source] = scheme_rows(question)
        if shown["drawing"].startswith("<svg"):
            made.pictures[question.source] = picture(shown["drawing"])
    return made


def heaps(issued, made):
    """Return a class's papers in heaps, each with what its own questions need of what is made."""
    size = max(1, min(_AT_MOST, -(-len(issued) // _HEAPS)))
    parts = [issued[begin : begin + size] for begin in range(0, len(issued), size)]
    return [(part, made.needed(one.key for one in part)) for part in parts]
