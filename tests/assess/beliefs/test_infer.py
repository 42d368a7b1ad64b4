"""From answers to beliefs: held against the model written out by hand, and on synthetic classes."""

from itertools import combinations

import numpy as np
import pytest

from fuelkit.assess.beliefs.infer import infer
from fuelkit.assess.beliefs.table import OTHER, UNANSWERED, Part, Table, table_of
from tests.assess.beliefs.choosing import choose, confusion, information
from tests.assess.beliefs.synthetic import learners, outcome

_RATES = {"slips": ((0.1, 0.7), (0.3, 0.3)), "guess": 0.05, "prior": 0.1, "open_options": 50}


def made(beliefs, questions, seed, *, share=0.06):
    """A table as real ones are: boards of 4 to 8 parts, a quarter of one open part."""
    lots = np.random.default_rng(seed)
    sizes = lots.integers(4, 9, questions)
    single = lots.random(questions) < 0.25
    sizes[single] = 1
    question = np.repeat(np.arange(questions), sizes)
    options = np.where(lots.random(question.size) < 0.8, 2, 4)
    options[np.repeat(single, sizes)] = 0
    wrong = lots.integers(1, np.where(options == 0, 6, options), (beliefs, question.size))
    predicted = np.zeros((1 + beliefs, question.size), int)
    predicted[1:] = np.where(lots.random(wrong.shape) < share, wrong, 0)
    return Table(tuple(f"belief {b}" for b in range(beliefs)), predicted, options, question)


def by_hand(table, given, slips, guess, prior, open_options):
    """The model as `infer` describes it, one set and one part after another."""
    count = len(table.beliefs)
    sets = [(), *((b,) for b in range(count)), *combinations(range(count), 2)]
    weights = []
    for held in sets:
        total = 0.0
        for slip, share in slips:
            product = share * prior ** len(held) * (1 - prior) ** (count - len(held))
            for part, answer in enumerate(given):
                if answer != UNANSWERED:
                    n = table.options[part] or open_options
                    hit = (1 - guess) * (1 - slip) + guess / n
                    miss = (1 - guess) * slip / (n - 1) + guess / n
                    right = table.predicted[0, part]
                    said = {table.predicted[1 + b, part] for b in held} - {right} or {right}
                    product *= sum(hit if answer == s else miss for s in said) / len(said)
            total += product
        weights.append(total)
    weights = np.array(weights) / sum(weights)
    marginal = [sum(w for w, s in zip(weights, sets, strict=True) if b in s) for b in range(count)]
    return weights[0], np.array(marginal)


@pytest.mark.parametrize("seed", range(8))
def test_the_posterior_is_that_of_the_model_written_out(seed):
    """Set by set and part by part, with slips, guesses, open and unanswered parts."""
    table = made(5, 6, seed, share=0.4)
    (learner,) = learners(table, 1, seed, holding=seed % 3, slip=0.3, unanswered=0.2)
    found = infer(table, learner.given, **_RATES)
    none, marginal = by_hand(table, learner.given, **_RATES)
    assert found.none == pytest.approx(none, rel=1e-9)
    assert found.probability == pytest.approx(marginal, rel=1e-9)


def test_one_part_by_hand():
    """Two options, one belief, prior 1/2, slip 1/10: the answer it predicts makes it 9 to 1."""
    table = table_of(("it",), [[Part(("RUN", "OFF"), 2)]])
    found = infer(table, [1], slips=((0.1, 1.0),), guess=0.0, prior=0.5)
    assert found.probability == pytest.approx([0.9]) and found.none == pytest.approx(0.1)
    assert found.evidence[0, 0] == pytest.approx(np.log(9.0))


def test_nothing_answered_leaves_the_prior():
    """And names nobody."""
    table = made(6, 10, 1)
    found = infer(table, np.full(table.options.size, UNANSWERED))
    assert np.ptp(found.probability) < 1e-12 and found.named() == ()


def test_all_right_answers_speak_against_every_belief_that_shows():
    """No belief is more probable than before."""
    table = made(10, 20, 2)
    before = infer(table, np.full(table.options.size, UNANSWERED))
    after = infer(table, table.predicted[0])
    assert (after.probability < before.probability).all() and after.none > before.none


def test_the_order_of_questions_does_not_matter():
    """The same answers give the same posterior; the evidence moves with its question."""
    table = made(8, 12, 3)
    (learner,) = learners(table, 1, 3)
    order = np.random.default_rng(1).permutation(12)
    parts = np.concatenate([np.flatnonzero(table.question == q) for q in order])
    one, other = infer(table, learner.given), infer(table.of(order), learner.given[parts])
    assert one.probability == pytest.approx(other.probability, rel=1e-9)
    assert one.evidence[:, order] == pytest.approx(other.evidence)


def test_an_answer_that_nobody_predicts_says_nothing_between_beliefs():
    """It counts as a slip of all models alike; only the right one and those that share it lose."""
    table = table_of(("a", "b"), [[Part((10.0, 20.0, 30.0))]])
    found = infer(table, [OTHER])
    assert found.probability[0] == pytest.approx(found.probability[1])
    assert found.evidence == pytest.approx(np.zeros((2, 1)))


def test_beliefs_that_cannot_be_told_apart_are_named_together():
    """Half the probability each is not a reason to be silent."""
    answers = ("RUN", "OFF", "OFF", "RUN")
    right = [Part(("OFF",) * 4, 2)] * 8
    table = table_of(("a", "twin", "other"), [*([Part(answers, 2)] for _ in range(4)), right])
    (finding,) = infer(table, [1] * 4 + [0] * 8).named()
    assert finding.names == ("a", "twin") and finding.probability > 0.9
    assert set(finding.questions) == {0, 1, 2, 3}


def test_the_question_that_says_the_most_stands_first():
    """Three parts of one board outweigh one of another."""
    part, same = Part(("RUN", "OFF"), 2), Part(("RUN", "RUN"), 2)
    table = table_of(("it",), [[part, same], [part, part, part], [same]])
    (finding,) = infer(table, table.predicted[1]).named()
    assert finding.questions == (1, 0)


def test_two_beliefs_that_speak_of_different_parts_are_both_found():
    """Each explains what the other leaves."""
    one, two, same = (Part(answers, 2) for answers in ("ABA", "AAB", "AAA"))
    table = table_of(("one", "two"), [[one] * 4, [two] * 4, [same] * 8])
    given = [1] * 8 + [0] * 8
    names = {n for f in infer(table, given).named() for n in f.names}
    assert names == {"one", "two"}


def test_answers_at_random_are_no_belief():
    """A learner who guesses everything is careless, and no believer: claimed in at most 5 %."""
    pool = made(30, 200, 4)
    paper = pool.of(choose(information(pool), 20))
    guessing = learners(paper, 150, 1, holding=0, slip=0.0, guess=1.0)
    assert outcome(paper, guessing).named <= 0.05


def test_too_few_answers_are_refused():
    """The error says how many there are and how many parts."""
    with pytest.raises(ValueError, match="3 answers"):
        infer(made(2, 3, 1), [0, 0, 0])


def test_a_given_answer_is_coded_by_the_tolerance_of_its_part():
    """As predicted, as another belief predicts, as nobody does, not at all."""
    part = Part((40.0, 90.0), agree=lambda a, b: abs(a - b) <= 5.0)
    table = table_of(("it",), [[part]])
    assert [table.code(0, x) for x in (43.0, 88.0, 60.0, None)] == [0, 1, OTHER, UNANSWERED]


# ----------------------------------------------------------------------------- choosing questions
def test_information_of_a_part_by_hand():
    """One part, two options, one belief at even odds: 1 bit less the entropy of a slip."""
    table = table_of(("it",), [[Part(("RUN", "OFF"), 2)], [Part(("RUN", "RUN"), 2)]])
    told = information(table, slip=0.1, prior=0.5)
    entropy = -(0.1 * np.log(0.1) + 0.9 * np.log(0.9))
    assert told.expected == pytest.approx([np.log(2.0) - entropy, 0.0])
    assert told.distance[0, 0, 1] == pytest.approx(-np.log(2.0 * np.sqrt(0.09)))
    assert told.separates.tolist() == [[True], [False]]


def test_pairs_are_told_apart_where_any_part_differs():
    """And a belief never from itself."""
    table = table_of(("a", "b"), [[Part((1, 2, 2), 3)], [Part((1, 2, 3), 3)]])
    told = information(table)
    assert told.pairs[:, 0, 1].tolist() == [False, True] and not told.pairs[:, 0, 0].any()


def test_each_chosen_question_makes_the_bound_smaller():
    """And the greedy choice of two is never worse than the best single one."""
    pool = made(12, 60, 5)
    told = information(pool)
    chosen = choose(told, 10)
    bounds = [confusion(told, chosen[:k]) for k in range(11)]
    assert all(b < a for a, b in zip(bounds, bounds[1:], strict=False))
    assert bounds[1] == min(confusion(told, [q]) for q in range(60))
    assert choose(told, 10) == chosen and len(set(chosen)) == 10


@pytest.mark.parametrize("beliefs", [15, 39])
def test_synthetic_classes_meet_what_was_promised(beliefs):
    """20 questions, slips 10 %: a true belief first for 90 %, a claim for 5 % of those without.

    Shown beside a paper drawn at random from the same pool, which does worse.
    """
    pool = made(beliefs, 300, 6)
    chosen = pool.of(choose(information(pool), 20))
    random = pool.of(np.random.default_rng(7).choice(300, 20, replace=False))
    group = {"count": 100, "seed": 8, "slip": 0.10}
    rightly = [outcome(p, learners(p, **group, holding=1)).first_true for p in (chosen, random)]
    assert rightly[0] >= 0.90 and rightly[0] > rightly[1]
    assert outcome(chosen, learners(chosen, **group, holding=2)).first_true >= 0.90
    assert outcome(chosen, learners(chosen, **group, holding=0)).named <= 0.05


def test_the_same_seed_gives_the_same_class():
    """And another one another."""
    table = made(6, 10, 1)
    one, same, other = (learners(table, 5, s, holding=2) for s in (1, 1, 2))
    assert all(
        a.holds == b.holds and (a.given == b.given).all() for a, b in zip(one, same, strict=True)
    )
    assert any((a.given != b.given).any() for a, b in zip(one, other, strict=True))
    assert all(len(learner.holds) == 2 for learner in one)


def test_slips_are_as_frequent_as_asked():
    """Over many learners without a belief: 10 % of the answers are wrong, within 1 %."""
    table = made(6, 20, 1)
    group = learners(table, 200, 1, holding=0, slip=0.10, guess=0.0)
    wrong = np.mean([(x.given != table.predicted[0]).mean() for x in group])
    assert wrong == pytest.approx(0.10, abs=0.01)
