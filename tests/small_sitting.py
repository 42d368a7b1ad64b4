"""A small sitting that tests share: papers on the guide's own aircraft, which is quick to fly."""

from dataclasses import replace
from functools import lru_cache
from importlib import resources

from fuelkit.assess.beliefs.models import load_beliefs
from fuelkit.assess.flights import aircraft_of, flight_of
from fuelkit.assess.integrity.commitment import commit
from fuelkit.assess.integrity.seeds import derive, seed
from fuelkit.assess.papers.blueprint import Blueprint, Line
from fuelkit.assess.papers.draw import Drawn, draw_papers
from fuelkit.assess.papers.from_flights import questions_from
from fuelkit.assess.papers.issue import Issued, make_pool
from fuelkit.assess.papers.keys import make_key
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.papers.question import KINDS
from fuelkit.assess.sheet import Sheet

SECRET = b"a secret of the tests, 32 bytes."
OWN = str(resources.files("fuelkit.aircraft") / "own" / "starter.toml")
COUNTS = {"state": 2, "order": 1, "when": 1, "figure": 1, "sheet": 2, "label": 1, "spot": 1,
          "fault": 1, "choice": 1, "reason": 1}  # fmt: skip
MARKS = {"state": 4.0, "order": 3.0, "sheet": 8.0}
LEARNERS = ("A01", "A02", "A03", "A04", "B-1", "B-2")


def line(name, kinds=(), count=1, marks=2.0, **more):
    """A line of a blueprint; its name is its kind unless others are given."""
    fields = {"objectives": (), "stages": (), "difficulty": "any", **more}
    return Line(name, tuple(kinds) or (name,), count=count, marks=marks, **fields)


def blueprint_of(*lines, **changed):
    """A blueprint of some lines."""
    whole = Blueprint("trial-1", "A trial", OWN, lines, 60.0, 0.75, 6, 0.04, 30)
    return replace(whole, **changed)


def blueprint():
    """One line for each kind of question; twelve questions."""
    return blueprint_of(
        *(line(kind, count=COUNTS[kind], marks=MARKS.get(kind, 2.0)) for kind in KINDS)
    )


@lru_cache(maxsize=1)
def pool():
    """The questions of six flights, computed once for all tests of a process."""
    return tuple(make_pool(blueprint(), SECRET, work=map))


@lru_cache(maxsize=1)
def issued():
    """Six papers drawn from the pool, with their keys and seals."""
    plan = blueprint()
    seeds = [seed(SECRET, "paper", plan.sitting, code) for code in LEARNERS]
    drawn = draw_papers(plan, pool(), seeds)
    fingerprint, known, found = aircraft_of(OWN).fingerprint, {}, []
    for code, paper in zip(LEARNERS, drawn, strict=True):
        key = make_key(plan, paper, code, fingerprint, known)
        found.append(Issued(key, commit(key.table(), derive(SECRET, "salt", plan.sitting, code))))
    return tuple(found)


def question_of(kind, holds=lambda question: True):
    """The key's first question of a kind among all papers, and that paper's key."""
    for one in issued():
        for question in one.key.questions:
            if question.kind == kind and holds(question):
                return one.key, question
    raise AssertionError(f"no question of the kind {kind}")


def alone(key, question):
    """A key to a paper that asks one question only."""
    return replace(key, questions=(question,))


def texts(question, said=None):
    """Answers to a question by the identifier of the ask; the right ones unless given."""
    said = question.right if said is None else said
    return {a.ask.identifier: t for a, t in zip(answers_of(question.board), said, strict=True)}


def sheet_for(key, given=None, *, begun=True):
    """A handed-in sheet with given texts by question; all right unless given."""
    if given is None:
        given = {question.name: texts(question) for question in key.questions}
    sheet = Sheet(key.paper, key.learner, key.fingerprint)
    if begun:
        sheet = sheet.with_committed("begin", {})
    for name, said in given.items():
        sheet = sheet.with_committed(name, said)
    return sheet.with_hand_in()


def belief_names():
    """Names of all beliefs."""
    return [belief.name for belief in load_beliefs()]


def short_key(kinds):
    """The key to a paper from one flight, for one learner, with one question of each kind."""
    plan, source = blueprint(), {"aircraft": OWN, "sector": "standard", "draw": 11}
    found = questions_from(flight_of(OWN, "standard", 11), source)
    chosen = [next(q for q in found if q.kind == kind) for kind in kinds]
    drawn = Drawn(tuple((line(q.kind), q) for q in chosen), 0.5)
    return make_key(plan, drawn, "A07", aircraft_of(OWN).fingerprint)
