"""Drawing: each paper meets its blueprint exactly, all are as hard, neighbours share little."""

import os
import random
import re
import shutil
from collections import Counter
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from fuelkit.assess.course import Ask, Board
from fuelkit.assess.integrity.seeds import seed
from fuelkit.assess.papers.draw import BlueprintError, _Programme, draw_papers, expected_share
from fuelkit.assess.papers.pool import questions_of, sources
from fuelkit.assess.papers.question import KINDS, Question
from tests.small_sitting import OWN, SECRET, blueprint, blueprint_of, line, pool

ALL = os.environ.get("FUELKIT_PAPERS") == "all"
CLASS = 300 if ALL else 10
SHEETS = ("uplift", "masses", "plan", "leak")


def invented(count=200, believed=8, sources=16):
    """Questions with nothing to answer, of all kinds, from so many flights; some are apart."""
    lots, found = random.Random(5), []
    for number in range(count):
        kind, flight = KINDS[number % len(KINDS)], lots.randrange(sources)
        name = f"{kind}-{flight}-{number}"
        sheet = lots.choice(SHEETS) if kind == "sheet" else ""
        board = Board(name, "", "", scene="sheet" if sheet else "flight", sheet=sheet,
                      asks=(Ask(name, "state"),))  # fmt: skip
        tells = {f"b{b}": ("x",) for b in lots.sample(range(believed), lots.randrange(3))}
        found.append(
            Question(name, kind, board, ("layout",), lots.choice(("climb", "cruise")),
                     lots.randrange(1, 5), lots.randrange(0, 4), tells)
        )  # fmt: skip
    return _apart(found, lots)


def _apart(questions, lots):
    """Questions of one flight of which some may not stand beside each other."""
    beside = {q.identifier: set() for q in questions}
    for one, other in combinations(questions, 2):
        same = one.identifier.split("-")[1] == other.identifier.split("-")[1]
        if same and lots.random() < 0.3:
            beside[one.identifier].add(other.identifier)
            beside[other.identifier].add(one.identifier)
    return [
        Question(q.identifier, q.kind, q.board, q.objectives, q.stage, q.changes, q.steps,
                 q.believed, q.parts, frozenset(beside[q.identifier]))
        for q in questions
    ]  # fmt: skip


def plan(**changed):
    """Twenty questions, as the example has them, over kinds, stages and bands of difficulty."""
    return blueprint_of(
        line("states in the climb", ("state",), 3, 4.0, stages=("climb",)),
        line("states in the cruise", ("state", "order"), 4, 4.0, stages=("cruise",)),
        line("choice", count=3, marks=1.0),
        line("hard figures", ("figure", "when"), 2, 3.0, difficulty="hard"),
        line("sheets", ("sheet",), 3, 8.0),
        line("rest", ("label", "spot", "fault", "reason"), 5, 2.0),
        spread=0.02, **changed,
    )  # fmt: skip


def seeds(count, secret=SECRET):
    """Seeds of a class."""
    return [seed(secret, "paper", "trial-1", f"L{n}") for n in range(count)]


def names(papers):
    """Identifiers of the questions, paper by paper."""
    return [[question.identifier for _, question in paper.questions] for paper in papers]


@pytest.fixture(scope="module")
def drawn():
    """A class drawn from invented questions."""
    return draw_papers(plan(), invented(), seeds(CLASS))


def check(blueprint, papers):
    """Assert that every paper meets its blueprint to the letter."""
    for paper in papers:
        counts = Counter(line.name for line, _ in paper.questions)
        assert counts == {line.name: line.count for line in blueprint.lines}
        assert all(line.fits(question) for line, question in paper.questions)
        found = [question for _, question in paper.questions]
        known = {question.identifier for question in found}
        assert len(known) == len(found)
        assert not any(question.beside & known for question in found)
        sheets = [q.board.sheet for q in found if q.board.sheet]
        assert len(set(sheets)) == len(sheets)


def test_every_paper_meets_the_blueprint_exactly(drawn):
    """Counts by line, each question fits, none twice, none beside another, a sheet once."""
    check(plan(), drawn)


def test_papers_from_real_flights_meet_their_blueprint():
    """The same of a class drawn from the pool of real questions."""
    papers = draw_papers(blueprint(), pool(), seeds(CLASS))
    check(blueprint(), papers)
    shares = [paper.expected for paper in papers]
    assert max(shares) - min(shares) <= blueprint().spread + 1e-9


@pytest.mark.parametrize(("ability", "points"), [(0.0, 2.0), (-1.0, 4.0), (1.0, 4.0)])
def test_papers_are_equally_hard(drawn, ability, points):
    """Within 2 percentage points for the ability that they are drawn for, worked out anew here."""
    shares = [
        sum(line.marks * expected_share(q, ability) for line, q in paper.questions) / plan().marks
        for paper in drawn
    ]
    assert 100.0 * (max(shares) - min(shares)) <= points + 1e-6
    if ability == 0.0:
        assert [paper.expected for paper in drawn] == pytest.approx(shares)


def test_an_easier_question_and_an_abler_learner_expect_more():
    """Rises with ability, falls with difficulty, stays between nought and one."""
    questions = sorted(invented(60), key=lambda q: q.difficulty)
    for ability in (-3.0, 0.0, 3.0):
        shares = [expected_share(q, ability) for q in questions]
        assert shares == sorted(shares, reverse=True) and 0.0 < min(shares) < max(shares) < 1.0
        assert expected_share(questions[0], ability) < expected_share(questions[0], ability + 0.1)


def test_neighbours_have_no_question_in_common(drawn):
    """But for the one line that too few fit for three papers. Three places apart they may.

    In a room of 24 no two papers are one.
    """
    scarce = plan().lines[0]
    fitting = {q.identifier for q in invented() if scarce.fits(q)}
    assert 2 * scarce.count < len(fitting) < 3 * scarce.count
    sets = [set(paper) for paper in names(drawn)]
    shared = [a & b for a, b in zip(sets, sets[1:], strict=False)]
    assert all(s <= fitting for s in shared)
    assert np.mean([len(s) for s in shared]) < 0.7 * scarce.count
    assert any((a & b) - fitting for a, b in zip(sets, sets[3:], strict=False))
    assert all(a != b for a, b in combinations(sets[:24], 2))


def test_where_a_share_of_the_pool_is_too_small_neighbours_share_as_little_as_can_be():
    """Five questions fit a line that needs three: at least one is shared, and all else is not."""
    few = [q for q in invented() if q.kind == "spot"][:5]
    rest = [q for q in invented() if q.kind != "spot"]
    narrow = blueprint_of(line("spot", count=3), line("state", count=4), spread=0.2)
    sets = [set(paper) for paper in names(draw_papers(narrow, few + rest, seeds(4)))]
    known = {q.identifier for q in few}
    for one, other in zip(sets, sets[1:], strict=False):
        assert 1 <= len(one & other) <= 3 and one & other <= known


def test_a_question_of_one_choice_tells_less_than_one_of_several_parts():
    """Of beliefs that one question can show, one that it shows for sure is preferred."""
    board = Board("x", "", "", asks=(Ask("x", "state"),))
    offered = [
        Question(f"state-{n}-{parts}", "state", board, ("layout",), "climb", 2, 0,
                 believed={f"b{parts}": ("x",) * parts}, right=("y",) * parts)
        for n in range(20) for parts in (1, 2)
    ]  # fmt: skip
    for (name,) in names(draw_papers(blueprint_of(line("state", count=1)), offered, seeds(6))):
        assert name.endswith("-2")


def test_same_secret_and_list_give_the_same_papers_and_another_secret_others(drawn):
    """Drawn again: the same. With another secret: not one paper is the same."""
    few = names(drawn)[:3]
    assert names(draw_papers(plan(), invented(), seeds(3))) == few
    others = names(draw_papers(plan(), invented(), seeds(3, b"another secret of 32 bytes' size")))
    assert not any(paper in few for paper in others)


def test_the_order_of_the_pool_does_not_matter(drawn):
    """A pool that was worked out in another order gives the same papers."""
    mixed = invented()
    random.Random(3).shuffle(mixed)
    assert names(draw_papers(plan(), mixed, seeds(3))) == names(drawn)[:3]


@pytest.mark.parametrize("backwards", [False, True])
def test_the_order_in_which_a_set_gives_its_names_does_not_matter(backwards):
    """It differs from process to process; the solver's choice hangs on the order of its rows."""

    class Ordered(frozenset):
        def __iter__(self):
            return iter(sorted(frozenset.__iter__(self), reverse=backwards))

    mixed = [replace(q, beside=Ordered(q.beside)) for q in invented()]
    assert names(draw_papers(plan(), mixed, seeds(CLASS))) == names(
        draw_papers(plan(), invented(), seeds(CLASS))
    )
    programme = _Programme(plan(), mixed)
    groups = programme._apart(programme._offered())
    assert groups == _Programme(plan(), invented())._apart(programme._offered())


def test_progress_is_told_paper_by_paper():
    """How many are drawn and how many there are."""
    told = []
    draw_papers(plan(), invented(), seeds(2), lambda done, total: told.append((done, total)))
    assert told == [(1, 2), (2, 2)]


# ------------------------------------------------------------------------- what cannot be met
def test_a_line_that_too_few_fit_is_named_with_both_numbers():
    """Needs 21; 20 invented questions are of that kind."""
    wide = blueprint_of(line("choice", count=21), line("when", count=5))
    with pytest.raises(BlueprintError, match=r"line 'choice' needs 21, and 20 fit"):
        draw_papers(wide, invented(), seeds(1))


def test_what_no_question_at_all_is_about_is_named():
    """Then more flights may not help: the aircraft may lack it."""
    asked = blueprint_of(
        line("choice", objectives=("hot-return",)), line("state", stages=("descent",)),
        line("figure", difficulty="easy", objectives=("layout",), count=30),
    )  # fmt: skip
    with pytest.raises(BlueprintError) as caught:
        draw_papers(asked, invented(), seeds(1))
    told = str(caught.value)
    assert "line 'choice' needs 1, and 0 fit (nothing at all for hot-return: this aircraft" in told
    assert "line 'state' needs 1, and 0 fit (nothing at all for descent" in told
    assert re.search(r"line 'figure' needs 30, and \d+ fit\.", told)


def test_lines_that_compete_are_named_with_what_they_could_have():
    """Both lines want all four sheets and more than there are: 3 and 2, but there are only 4."""
    both = blueprint_of(line("first", ("sheet",), 3), line("second", ("sheet",), 2))
    with pytest.raises(BlueprintError) as caught:
        draw_papers(both, invented(), seeds(1))
    assert "line 'first' could have 2 instead of 3" in str(caught.value)
    assert "line 'second' could have 1 instead of 2" in str(caught.value)


def test_questions_that_give_each_other_away_are_named_as_a_line_that_cannot_be_met():
    """Four questions that may not stand beside each other cannot make a line of two."""
    four = [q for q in invented() if q.kind == "state"][:4]
    known = frozenset(q.identifier for q in four)
    apart = [
        Question(q.identifier, q.kind, q.board, q.objectives, q.stage, q.changes, q.steps,
                 beside=known - {q.identifier})
        for q in four
    ]  # fmt: skip
    with pytest.raises(BlueprintError, match="line 'state' could have 1 instead of 2"):
        draw_papers(blueprint_of(line("state", count=2)), apart, seeds(1))


def test_a_spread_that_cannot_be_kept_is_named_with_one_that_can():
    """Two questions far apart in difficulty: one paper of one question lies off their mean."""
    board = Board("x", "", "", asks=(Ask("x", "state"),))
    ends = [
        Question(f"state-{n}", "state", board, ("layout",), "climb", n, 0) for n in (2, 6)
    ]  # fmt: skip
    shares = [expected_share(question) for question in ends]
    narrow = blueprint_of(line("state", count=1), spread=0.02)
    with pytest.raises(BlueprintError, match="no single line") as caught:
        draw_papers(narrow, ends, seeds(1))
    assert 100.0 * abs(shares[0] - shares[1]) > 20.0 and "spread" not in str(caught.value)
    ends[1] = Question("state-6", "state", board, ("layout",), "climb", 3, 0)
    needed = 100.0 * abs(expected_share(ends[0]) - expected_share(ends[1]))
    with pytest.raises(BlueprintError, match="not equally hard") as caught:
        draw_papers(narrow, ends, seeds(1))
    assert f"spread_percent = {int(np.ceil(needed))} would do" in str(caught.value)


def test_where_an_aircrafts_file_lies_changes_no_paper(tmp_path):
    """The same file in another folder, as on another machine: the same draws of the same things."""
    moved = shutil.copy(OWN, tmp_path / "moved.toml")
    kinds = {"state", "fault", "label", "spot", "sheet"}
    here, there = (sources(str(place), 6, kinds, 1234) for place in (OWN, moved))
    assert [replace(s, aircraft="") for s in here] == [replace(s, aircraft="") for s in there]
    labels = [
        [[ask.options for ask in q.board.asks] for q in questions_of(found[i])]
        for found in (here, there) for i, s in enumerate(found) if s.kind == "label"
    ]  # fmt: skip
    assert labels[: len(labels) // 2] == labels[len(labels) // 2 :]
