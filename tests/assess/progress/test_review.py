"""Today's review: ten, fresh, spread and weighted; the same for the same day and record."""

import json
from collections import Counter
from datetime import timedelta

import pytest

from fuelkit.assess.beliefs.flown import beliefs_about
from fuelkit.assess.marking import BoardMark, Line
from fuelkit.assess.papers.believing import with_beliefs
from fuelkit.assess.papers.placed import computed, flight_of_board
from fuelkit.assess.papers.pool import Source, plain_questions_of, questions_of
from fuelkit.assess.progress.believed import beliefs_that_fit
from fuelkit.assess.progress.lines import parsed, written
from fuelkit.assess.progress.review import MOST, draw_review, question_again
from fuelkit.assess.progress.tries import tries_of
from fuelkit.assess.stand import SCENES_ON_THE_STAND
from tests.assess.progress.entries import TODAY, tried

COURSE, SECTOR = "halbrook-180", "eastmere-port-ellery"
STAND = [tried("tanks", "layout", *[True] * 4), tried("walk-around", "sticks", *[True] * 4)]
FLOWN = [
    tried("engine-start", "start-feed", *[True] * 4),
    tried("climb", "feed-sequence", *[True] * 4),
    tried("cruise", "rest-and-resume", *[False] * 4),
]


def drawn(entries, day=TODAY, learner="HOME"):
    """A day's review and its questions."""
    entry = draw_review(entries, COURSE, learner, day)
    known = {}
    return entry, [question_again(one, COURSE, known) for one in entry["questions"]]


@pytest.fixture(scope="module")
def review():
    """A review after five lessons."""
    return drawn([*STAND, *FLOWN])


def test_there_are_ten_from_the_lessons_that_were_met(review):
    """Named after the day, with answers that are computed, each with its reason."""
    entry, questions = review
    assert len(questions) == MOST
    assert {q.stage for q in questions} <= {
        "tanks",
        "walk-around",
        "engine-start",
        "climb",
        "cruise",
    }
    assert [q.board.name for q in questions] == [f"2026-11-26-{n:02d}" for n in range(1, 11)]
    for question in questions:
        asked = {name for ask in question.board.asks for name in ask.objectives}
        assert asked <= set(question.board.objectives) <= set(question.objectives)
        assert question.board.scene == "tanks" or question.board.objectives == question.objectives
        if question.board.scene not in SCENES_ON_THE_STAND:
            for answer in computed(question.board):
                assert answer.reason and answer.value is not None
    assert parsed(written(entry).strip()) == json.loads(json.dumps(entry))


def test_it_is_spread_over_lessons_and_weighted_to_what_is_weak(review):
    """No lesson is left out or has more than its share and two; the weak one has most."""
    _, questions = review
    counts = Counter(q.stage for q in questions)
    assert len(counts) == 5 and max(counts.values()) <= MOST / 5 + 2
    weak = [q for q in questions if "rest-and-resume" in q.objectives]
    assert len(weak) >= 2 and counts["cruise"] >= MOST / 5
    steady = [*FLOWN[:2], tried("cruise", "rest-and-resume", *[True] * 4)]
    _, others = drawn([*STAND, *steady])
    assert sum("rest-and-resume" in q.objectives for q in others) <= len(weak)


def test_with_the_first_lesson_alone_every_part_comes_and_none_ten_times():
    """Two parts a question, the parts in turn; a part counts for its own objective alone."""
    _, questions = drawn([tried("tanks", "capacities", True)])
    asks = [ask for question in questions for ask in question.board.asks]
    assert len(questions) == MOST and len(asks) <= 2 * MOST
    counts = Counter(ask.about for ask in asks)
    assert len(counts) >= 6 and max(counts.values()) <= 4
    for question in questions:
        right = {ask.identifier: list(ask.objectives) for ask in question.board.asks}
        lines = [line(ask.identifier) for ask in question.board.asks]
        found = tries_of(question.board, BoardMark("", "", lines, 0.0, 0.0, ""))
        assert {one["ask"]: one["objectives"] for one in found} == right


def line(identifier):
    """A line of marks that is wrong."""
    return Line(identifier, "", "a", "b", False, 0.0, 0.0, "", True)


def test_no_question_gives_another_one_away(review):
    """As on a paper: what one shows, none of the others asks."""
    _, questions = review
    names = {q.identifier for q in questions}
    assert not any(names & q.beside for q in questions)


def test_the_same_day_and_record_give_the_same_ten(review):
    """Another learner or another day has other ones."""
    entry, _ = review
    again, _ = drawn([*STAND, *FLOWN])
    assert again["questions"] == entry["questions"]
    other, _ = drawn([*STAND], learner="A07")
    mine, _ = drawn([*STAND])
    assert not {q["situation"] for q in other["questions"]} & {
        q["situation"] for q in mine["questions"]
    }  # fmt: skip


def test_no_situation_comes_twice_in_a_fortnight():
    """The record knows what was asked, and so does the draw."""
    entries, asked = list(STAND), []
    for number in range(14):
        entry, _ = drawn(entries, TODAY + timedelta(days=number))
        asked += [one["situation"] for one in entry["questions"]]
        entries.append(entry)
    assert len(asked) == len(set(asked)) == 14 * MOST


def test_a_number_that_the_record_knows_is_not_drawn_again():
    """Neither from a review nor from practice, whatever the lot says."""
    first, _ = drawn([*STAND])
    taken = [
        tried("tanks", "layout", True, situation=one["situation"]) for one in first["questions"]
    ]
    again, _ = drawn([*STAND, *taken])
    draws = {one["draw"] for one in first["questions"]}
    assert not draws & {one["draw"] for one in again["questions"]}


def test_without_a_lesson_there_is_no_review():
    """There is nothing to come back to yet."""
    assert draw_review([], COURSE, "HOME", TODAY) is None


def test_a_question_of_another_edition_is_told_apart(review):
    """What the kit does not make any more is nothing, and no error."""
    one = review[0]["questions"][0] | {"question": "gone"}
    assert question_again(one, COURSE, {}) is None


def test_what_is_right_or_senseless_fits_no_belief(review):
    """Nobody is told of a belief for an answer that none of them gives."""
    _, questions = review
    found = 0
    for question in questions:
        if question.board.scene != "sheet" and question.kind != "state":
            continue
        right = {a.ask.identifier: a.written() for a in computed(question.board)}
        assert beliefs_that_fit(question, right) == ()
        nonsense = dict.fromkeys(right, "nothing that anybody believes")
        assert beliefs_that_fit(question, nonsense) == ()
        found += 1
    assert found


def test_a_wrong_answer_is_traced_to_the_belief_that_gives_it():
    """What a holder of a belief would answer in flight is led back to it, unless many fit."""
    made = plain_questions_of(Source("flight", COURSE, SECTOR, 123_456, "0"))
    question = next(q for q in made if q.kind == "state" and q.stage == "climb")
    tested = set(question.objectives)
    about = [b for b in beliefs_about(COURSE) if tested & set(b.objectives)]
    (told,) = with_beliefs(flight_of_board(question.board), [question], about)
    asks = [ask.identifier for ask in question.board.asks]
    named = set()
    for name, said in told.believed.items():
        names = beliefs_that_fit(question, dict(zip(asks, said, strict=True)))
        assert names == () or name in names
        named |= set(names)
    assert named


def test_a_belief_is_named_on_a_sheet_where_its_slip_is_made():
    """Figures typed as people type them, off by exactly what a slip makes."""
    found = []
    for number in range(1, 7):
        (question,) = questions_of(Source("stand", COURSE, draw=number, what="uplift"))
        asks = [ask.identifier for ask in question.board.asks]
        for name, said in question.believed.items():
            names = beliefs_that_fit(question, dict(zip(asks, said, strict=True)))
            assert names == () or name in names
            found += names
    assert found
