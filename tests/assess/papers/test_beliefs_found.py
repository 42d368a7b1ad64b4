"""Beliefs on whole papers: who holds one is told so, who holds none is not; drawing for them helps.

The class is synthetic (`tests.assess.papers.believers`): one belief or none each, 10 % slips. What
is asked is what the course promises: the belief named first is a true one for nine of ten who hold
one that their paper shows, and one in twenty at most is told of a belief that nobody holds. A paper
shows a belief if who holds it and never slips is told so: most of those that its questions speak
of. By default on the small pool of the guide's own aircraft; FUELKIT_PAPERS=all takes the example's
paper of the 180, whose flights alone take minutes.
"""

import os
from dataclasses import replace
from functools import lru_cache

import pytest

from fuelkit.assess.beliefs.models import load_beliefs
from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.integrity.seeds import seed
from fuelkit.assess.papers import draw
from fuelkit.assess.papers.beliefs_found import beliefs_found
from fuelkit.assess.papers.blueprint import EXAMPLE, read_blueprint
from fuelkit.assess.papers.issue import make_pool
from tests.assess.papers.believers import (
    answered,
    believers,
    held,
    keys_of,
    sceptics,
    showing,
    shown,
)
from tests.small_sitting import SECRET, blueprint_of, issued, line, pool, sheet_for

ALL = os.environ.get("FUELKIT_PAPERS") == "all"
PAPERS, TURNS = (24, 20) if ALL else (3, 40)


@lru_cache(maxsize=1)
def setting():
    """Blueprint of twenty questions, and a pool."""
    if ALL:
        plan = read_blueprint(str(EXAMPLE))
        return plan, tuple(make_pool(plan, SECRET))
    plan = blueprint_of(
        line("sheet", count=7, marks=8.0), line("state", count=4, marks=4.0),
        line("order", count=3), line("figure", count=3), line("choice"), line("when"),
        line("label"), spread=0.10,
    )  # fmt: skip
    return plan, pool()


def keys():
    """Keys to a class's papers."""
    plan, questions = setting()
    seeds = [seed(SECRET, "paper", "beliefs", f"L{n}") for n in range(PAPERS)]
    return keys_of(plan, questions, seeds, aircraft_of(plan.aircraft).fingerprint)


@pytest.fixture(scope="module")
def papers():
    """Papers drawn for beliefs."""
    return keys()


@pytest.fixture(scope="module")
def plain():
    """Papers drawn from the same pool by the same seeds, with no regard to beliefs."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(draw, "_ENOUGH", 0.0)
        return keys()


def test_the_belief_named_first_is_true_for_nine_of_ten_believers(papers):
    """Of those whose paper shows what they hold; it shows most of what its questions speak of."""
    found = believers(papers, TURNS)
    assert found.learners == PAPERS * TURNS and found.true_share >= 0.90, found
    for key in papers:
        assert len(shown(key)) >= 0.75 * len(showing(key))


def test_at_most_one_in_twenty_is_told_of_a_belief_that_nobody_holds(papers):
    """With 10 % of slips and no belief."""
    found = sceptics(papers, TURNS)
    assert found.learners == PAPERS * TURNS and found.named_share <= 0.05, found


def test_papers_drawn_for_beliefs_beat_papers_drawn_without(papers, plain):
    """Believers of any belief of the pool: more of them are found; more beliefs can be shown."""
    names = sorted({name for question in setting()[1] for name in question.believed})
    known, by_chance = (sum(len(shown(k)) for k in group) for group in (papers, plain))
    assert known > by_chance
    assert held(papers, names, TURNS).true_share > held(plain, names, TURNS).true_share


def test_no_slip_and_no_answer_name_no_belief(papers):
    """An all-right sheet speaks for none; nor does an empty one."""
    for key in papers[:3]:
        assert beliefs_found(key, sheet_for(key)) == ()
        assert beliefs_found(key, sheet_for(key, {})) == ()


def test_what_is_found_names_its_questions_in_a_sentence(papers):
    """Questions that the belief answers otherwise, by number, after the words for the learner."""
    texts = {belief.name: belief.feedback for belief in load_beliefs()}
    seen, by_one = 0, set()
    for key in papers[:2]:
        for name in showing(key):
            for found in beliefs_found(key, answered(key, name)):
                telling = {q.name for q in key.questions
                           if any(n in q.believed for n in found.names)}  # fmt: skip
                assert found.questions and set(found.questions) <= telling
                assert found.sentence.startswith(texts[found.names[0]])
                number = found.questions[0].removeprefix("q").lstrip("0")
                assert f"See question {number}" in found.sentence
                alone = len(found.questions) == 1
                assert found.is_by_one == alone == ("may be chance" in found.sentence)
                by_one.add(alone)
                seen += 1
    assert seen > 0 and by_one == {False, True}


def test_a_paper_of_written_reasons_alone_says_nothing_about_beliefs():
    """No question of it is answered otherwise by a belief."""
    key = issued()[0].key
    alone = replace(key, questions=tuple(q for q in key.questions if q.kind == "reason"))
    assert alone.questions and beliefs_found(alone, sheet_for(alone)) == ()
