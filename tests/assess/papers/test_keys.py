"""Keys and seals: what is sealed opens, and a key comes back from its table as it was."""

import json
import re
import stat
from dataclasses import replace

import pytest

from fuelkit.assess.integrity.commitment import opens
from fuelkit.assess.integrity.keeping import read_record
from fuelkit.assess.integrity.log import entries
from fuelkit.assess.integrity.verify import verify
from fuelkit.assess.papers.issue import LOG_FILE, draw_sitting, secret_of
from fuelkit.assess.papers.keys import key_from
from fuelkit.assess.papers.mark_sitting import key_of
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.papers.pool import Source, questions_of
from fuelkit.assess.papers.question import KINDS
from fuelkit.assess.papers.time_limit import digests, minutes_of, word_for
from tests.small_sitting import LEARNERS, OWN, SECRET, blueprint, issued, pool


def test_a_key_comes_back_from_its_table_as_it_was():
    """Through JSON and back: equal in every field, and so is its table."""
    for one in issued():
        again = key_from(json.loads(json.dumps(one.key.table())))
        assert again == one.key and again.table() == one.key.table()


def test_the_key_opens_its_seal_and_a_changed_key_does_not():
    """One mark, one right answer, one belief or one learner otherwise: it does not open."""
    one = issued()[0]
    assert opens(one.seal, one.key.table())
    first, *rest = one.key.questions
    for changed in (
        replace(first, marks=first.marks + 0.5),
        replace(first, right=(*first.right[:-1], "FAIL")),
        replace(first, believed={}) if first.believed else replace(first, believed={"x": ("y",)}),
        replace(first, board=replace(first.board, draw=first.board.draw + 1)),
    ):
        assert not opens(one.seal, replace(one.key, questions=(changed, *rest)).table())
    assert not opens(one.seal, replace(one.key, learner="A09").table())
    assert not opens(issued()[1].seal, one.key.table())


def test_right_answers_of_a_key_are_those_that_its_boards_compute():
    """Every kind is there; each right answer is computed anew, and stands among its options."""
    kinds = set()
    for question in (q for one in issued() for q in one.key.questions):
        found = answers_of(question.board)
        assert question.right == tuple(answer.written() for answer in found)
        assert all(a.written() in a.options for a in found if a.options)
        assert [a.ask.identifier for a in found] == [a.identifier for a in question.board.asks]
        assert all(a.identifier.startswith(f"{question.name}-") for a in question.board.asks)
        kinds.add(question.kind)
    assert kinds == set(KINDS)


def test_a_model_reason_explains_the_change_that_is_asked_about():
    """Part, state and time of the question and of its model agree, however the time was rounded."""
    more = questions_of(Source("flight", OWN, "standard", 135439, "0"))
    found = [q for q in (*pool(), *more) if q.kind == "reason"]
    assert len(found) > 3
    for question in found:
        (answer,) = answers_of(question.board)
        time, part, state = re.fullmatch(
            r"At (\S+) (.+) comes to (.+)\. Why\?", answer.text
        ).groups()
        assert answer.value.lower().startswith(f"{part} is {state} since {time},".lower()), (
            answer.text, answer.value,
        )  # fmt: skip


def test_a_mass_is_asked_for_with_its_time():
    """No drawing of a paper says when a figure is for: each question about one does."""
    found = [q for q in pool() if q.kind == "figure" and q.board.scene == "flight"]
    assert len(found) >= 3
    for question in found:
        for answer in answers_of(question.board):
            assert re.search(r" at \d:\d\d:\d\d$", answer.text), (question.identifier, answer.text)


def test_the_order_of_options_does_not_tell_which_is_right():
    """If another option were the right one, they would stand in the same order.

    Also wherever the question stands on a paper, so that the letters of the mark scheme fit.
    """
    seen = 0
    for question in (q for one in issued() for q in one.key.questions):
        board = question.board
        if question.kind not in ("choice", "label") or board.scene != "flight":
            continue
        for number, ask in enumerate(board.asks):
            orders = set()
            for first in ask.options:
                rest = tuple(option for option in ask.options if option != first)
                about = first if question.kind == "label" else ask.about
                other = replace(ask, options=(first, *rest), about=about, identifier=f"x-{first}")
                asks = (*board.asks[:number], other, *board.asks[number + 1 :])
                orders.add(answers_of(replace(board, asks=asks))[number].options)
            assert len(orders) == 1
            seen += 1
    assert seen > 10


def test_right_options_stand_in_every_place():
    """Of the choices of the pool, none of the three places has more than two thirds of them."""
    asked = [
        (answer.options.index(answer.value), len(answer.options))
        for question in (q for one in issued() for q in one.key.questions)
        if question.kind in ("choice", "label", "fault")
        for answer in answers_of(question.board)
    ]
    places = [place for place, _ in asked]
    assert {0, 1, 2} <= set(places)
    assert max(places.count(place) for place in set(places)) <= 2 * len(places) / 3


def test_each_place_of_an_order_has_the_reason_of_its_own_event():
    """The reason names the part that comes there, and says because of what."""
    orders = [q for one in issued() for q in one.key.questions if q.kind == "order"]
    assert orders
    for answer in (a for question in orders for a in answers_of(question.board)):
        part = answer.value.rpartition(" comes to ")[0]
        assert answer.reason.startswith(part) and "because" in answer.reason


def test_the_events_of_an_order_do_not_stand_in_their_right_order():
    """Their order on the paper is the same whichever of them comes first."""
    for question in (q for one in issued() for q in one.key.questions if q.kind == "order"):
        board = question.board
        turned = tuple(reversed(board.asks[0].options))
        other = replace(board, asks=tuple(replace(a, options=turned) for a in board.asks))
        assert answers_of(board)[0].options == answers_of(other)[0].options


def test_the_same_secret_draws_the_same_sitting_and_seals(monkeypatch):
    """Papers, keys and seals from the command's own function, twice; another secret: others."""
    monkeypatch.setattr("fuelkit.assess.papers.issue.make_pool", lambda *_: list(pool()))
    once, again = (draw_sitting(blueprint(), LEARNERS[:3], SECRET, work=map) for _ in range(2))
    assert once == again
    other = draw_sitting(blueprint(), LEARNERS[:3], bytes(reversed(SECRET)), work=map)
    assert all(a.seal.digest != b.seal.digest for a, b in zip(once, other, strict=True))
    assert any(a.key != b.key for a, b in zip(once, other, strict=True))


def test_keys_are_kept_for_the_instructor_alone(sitting, folder):
    """Mode 0600; read back they are what was issued; each paper's seal stands in the log."""
    for one in issued():
        path = sitting.personal / f"key-{one.key.learner}.json"
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert key_of(sitting, one.key.learner) == one.key
        assert read_record(sitting.personal, path.name, "key")["salt"] == one.seal.salt
    log = folder / LOG_FILE
    told = {e.learner: e.personal["seal"] for e in entries(log) if e.event == "issued"}
    assert told == {one.key.learner: one.seal.digest for one in issued()}
    assert verify(log) == ()


def test_a_secret_is_made_once(folder):
    """Asked for again it is the same; another sitting has another; 32 bytes."""
    first = secret_of(folder, "one")
    assert secret_of(folder, "one") == first != secret_of(folder, "two") and len(first) == 32


def test_words_for_more_time_hold_for_one_learner_and_one_length():
    """Read out in any manner; not for a neighbour, not for another sitting, not made up."""
    known = digests(SECRET, "trial-1", "A01")
    word = word_for(SECRET, "trial-1", "A01", 15)
    assert minutes_of(word, "A01", known) == 15
    assert minutes_of(word.lower().replace("-", " "), "A01", known) == 15
    assert minutes_of(word, "A02", digests(SECRET, "trial-1", "A02")) == 0
    assert minutes_of(word, "A01", digests(SECRET, "trial-2", "A01")) == 0
    assert minutes_of(word, "A02", known) == 0
    wrong = word[:-1] + ("0" if word[-1] != "0" else "1")
    assert minutes_of(wrong, "A01", known) == minutes_of("", "A01", known) == 0
    assert len({word_for(SECRET, "trial-1", "A01", n) for n in (5, 10, 15, 20, 30, 45, 60)}) == 7
    with pytest.raises(ValueError, match="minutes: it is 7; it must be one of 5, 10"):
        word_for(SECRET, "trial-1", "A01", 7)
