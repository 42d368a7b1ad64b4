"""Statements: their form by section of the specification, no key, no name, the same every time."""

import json
import uuid
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fuelkit.assess.exports.statements import statements
from tests.assess.exports.papers import CHOICE, FIGURE, REASON, one, papers

MARKED = datetime(2026, 11, 25, 19, 30, tzinfo=UTC)
HOME = "https://ground-school.invalid"

# Experience API, Part Two, 2.4.4.1: interaction types (read).
INTERACTIONS = {
    "true-false", "choice", "fill-in", "long-fill-in", "matching", "performance", "sequencing",
    "likert", "numeric", "other",
}  # fmt: skip


def made(some=None, **options):
    """The statements of papers, read back."""
    content = statements(papers() if some is None else some, MARKED, HOME, 0.75, **options)
    return json.loads(content)


def walk(thing):
    """Every value of a statement, however deep, with its name."""
    if isinstance(thing, dict):
        for name, value in thing.items():
            yield name, value
            yield from walk(value)
    if isinstance(thing, list):
        for value in thing:
            yield from walk(value)


def test_a_statement_a_paper_and_one_a_question():
    """By learner code; passed or failed, then answered."""
    verbs = [(s["actor"]["account"]["name"], s["verb"]["id"].rsplit("/", 1)[1]) for s in made()]
    answered = "answered"
    assert verbs == (
        [("A1", "passed")] + [("A1", answered)] * 6 + [("B2", "failed")] + [("B2", answered)] * 6
    )


def test_the_form_is_that_of_the_specification():
    """Sections 2.2 and 2.4: known properties only, no null, sound identifiers and addresses."""
    known = {"id", "actor", "verb", "object", "result", "context", "timestamp"}
    for statement in made():
        assert set(statement) == known
        assert str(uuid.UUID(statement["id"])) == statement["id"]
        assert set(statement["actor"]) == {"objectType", "account"}
        assert statement["actor"]["account"]["homePage"] == HOME
        assert statement["timestamp"] == "2026-11-25T19:30:00Z"
        for name, value in walk(statement):
            assert value is not None and value != {}
            if name in ("display", "description", "name") and isinstance(value, dict):
                assert set(value) == {"en-GB"}
        parents = statement["context"].get("contextActivities", {}).get("parent", ())
        assert len(parents) == (statement["verb"]["display"]["en-GB"] == "answered")
        for activity in (statement["object"], *parents):
            assert activity["objectType"] == "Activity" and activity["id"].startswith(HOME + "/")


def test_scores_keep_to_their_bounds_and_are_right():
    """Section 2.4.5.1: scaled from -1 to 1, raw from min to max. By hand for learner B2."""
    for statement in made():
        score = statement["result"]["score"]
        assert 0.0 <= score["scaled"] <= 1.0 and score["min"] <= score["raw"] <= score["max"]
        assert score["min"] < score["max"]
    by_hand = [(0.6, 6.0, 10.0), (0, 0, 1), (1, 2, 2), (1, 2, 2), (0, 0, 1), (0.5, 1.5, 3)]
    scores = [s["result"]["score"] for s in made()[7:13]]
    assert [(s["scaled"], s["raw"], s["max"]) for s in scores] == by_hand
    assert [s["result"]["success"] for s in made()[7:13]] == [
        False,
        False,
        True,
        True,
        False,
        False,
    ]


def test_interactions_and_responses_have_the_form_of_their_kind():
    """Section 2.4.4.1, interaction types and response patterns. By hand for learner B2."""
    answered = made()[8:]
    kinds = [s["object"]["definition"]["interactionType"] for s in answered]
    assert kinds == ["choice", "sequencing", "numeric", "fill-in", "long-fill-in", "other"]
    assert set(kinds) <= INTERACTIONS
    found = [s["result"].get("response") for s in answered]
    # In alphabetical order: joins 1, levels 2, sends 3; centre pumps 1, centre tank 2, flaps 3.
    wanted = ["option-2", "option-3[,]option-2[,]option-1", "12480.0", "1:40", None, "RUN[,]RUN"]
    assert found == wanted


def test_the_key_is_left_out():
    """Two papers that differ in nothing but the key say the same but for identifiers."""
    other = replace(CHOICE, right=("levels the two tanks",))
    assert made([one(CHOICE)]) == made([one(other)])
    assert "correctResponsesPattern" not in dict(walk(made()))


def test_written_reasons_are_left_out():
    """A learner may have put a name there."""
    content = statements([one(REASON, given=("Signed, A. Learner",))], MARKED, HOME, 0.75)
    assert b"Learner" not in content


def test_what_was_not_answered_has_no_response():
    """Nor has what does not have the form of its kind."""
    for question in (replace(CHOICE, given=()), replace(FIGURE, given=("about 12 t",))):
        result = made([one(question)])[1]["result"]
        assert "response" not in result and result["completion"] is bool(question.given)
    assert "response" not in made([one(CHOICE, given=("melts",))])[1]["result"]


def test_a_second_export_is_the_same_to_the_byte():
    """In whatever order papers come; identifiers are distinct."""
    assert statements(papers(), MARKED, HOME, 0.75) == statements(
        papers()[::-1], MARKED, HOME, 0.75
    )
    names = [statement["id"] for statement in made()]
    assert len(set(names)) == len(names) == 14


def test_a_changed_mark_is_a_new_statement():
    """Section 2.3.1: a statement that is stored may never change."""
    before, after = made([one(CHOICE)]), made([one(CHOICE, got=1.0)])
    assert before[1]["id"] != after[1]["id"]
    assert before[1]["object"] == after[1]["object"]


@given(st.text(min_size=1, max_size=20), st.text(min_size=1, max_size=20))
@example("a\ud800\x00", "b\udfff /?#")
def test_any_words_give_sound_json(words, line):
    """Halves of characters and control characters included; addresses stay addresses."""
    odd = replace(CHOICE, words=words, line=line, identifier=line, kind="fault", given=(words,))
    for statement in made([one(odd)]):
        assert json.dumps(statement, ensure_ascii=False).encode(
            "utf-8"
        )  # strict: no half characters
        assert "\x00" not in "".join(str(value) for _, value in walk(statement))
        assert statement["object"]["id"].isascii() and " " not in statement["object"]["id"]


@pytest.mark.parametrize(
    "home", ["", "ground school", "ftp://a.invalid", "https://", "https://a/?b"]
)
def test_an_address_that_is_none_is_named(home):
    """With one that would do."""
    with pytest.raises(ValueError, match="home_page is .* such as"):
        statements(papers(), MARKED, home, 0.75)


def test_a_time_without_zone_is_named():
    """It would mean another instant elsewhere."""
    with pytest.raises(ValueError, match="must have a time zone"):
        statements(papers(), datetime(2026, 11, 25), HOME, 0.75)
