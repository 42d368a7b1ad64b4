"""Question items: structure, not conformance. Well formed, names unique, keys that can be chosen.

And worked: a small reader of the items' own rules marks answers as the kit would.
"""

import re
import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fuelkit.assess.exports.plain import plain_text
from fuelkit.assess.exports.qti import left_out, qti_package
from fuelkit.assess.exports.qti_names import item_name
from tests.assess.exports.papers import CHOICE, FIGURE, ORDER, REASON, STATE, WHEN, one, papers

# As public programs that read and write QTI 3.0 have them; the specification was not read.
ITEM = "{http://www.imsglobal.org/xsd/imsqtiasi_v3p0}"
PACKAGE = "{http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1}"
IDENTIFIER = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]{0,31}")


def trees(some=None):
    """The files of a package, parsed."""
    files = qti_package(papers() if some is None else some)
    return {name: ElementTree.fromstring(content) for name, content in files.items()}


def tree(question, **changes):
    """The item of one question, parsed."""
    found = trees([one(question, **changes)])
    del found["imsmanifest.xml"]
    return next(iter(found.values()))


def every(root, name):
    return list(root.iter(ITEM + name))


def key(root, name="RESPONSE"):
    """What an item declares as right."""
    (declared,) = (
        d for d in every(root, "qti-response-declaration") if d.get("identifier") == name
    )
    return [value.text for value in every(declared, "qti-value")]


def test_a_file_a_question_that_fits_and_a_manifest():
    """However many papers have it; what fits no item is named."""
    names = {f"{item_name(q.identifier)}.xml" for q in (CHOICE, ORDER, FIGURE, WHEN, REASON)}
    assert set(trees()) == names | {"imsmanifest.xml"}
    assert left_out(papers()) == (("state-5", "state"),)


def test_each_kind_has_its_interaction():
    """Choice, order, entries, extended text."""
    for question, interaction, count in (
        (CHOICE, "qti-choice-interaction", 1),
        (ORDER, "qti-order-interaction", 1),
        (FIGURE, "qti-text-entry-interaction", 1),
        (WHEN, "qti-text-entry-interaction", 3),
        (REASON, "qti-extended-text-interaction", 1),
    ):
        root = tree(question)
        found = [e.tag for e in root.iter() if isinstance(e.tag, str) and "interaction" in e.tag]
        assert found == [ITEM + interaction] * count
        assert question.words in "".join(root.itertext())


def test_everything_stands_in_the_namespace():
    """Items in one, the manifest in the other."""
    for name, root in trees().items():
        space = PACKAGE if name == "imsmanifest.xml" else ITEM
        for element in root.iter():
            assert not isinstance(element.tag, str) or element.tag.startswith(space)


def test_identifiers_are_valid_and_unique():
    """In an item, and of items in the package."""
    found = trees()
    manifest = found.pop("imsmanifest.xml")
    items = [root.get("identifier") for root in found.values()]
    assert len(set(items)) == len(items)
    for name, root in found.items():
        assert name == root.get("identifier") + ".xml"
        inside = [
            e.get("identifier") for e in root.iter()
            if isinstance(e.tag, str) and ("declaration" in e.tag or "simple-choice" in e.tag)
        ]  # fmt: skip
        assert len(set(inside)) == len(inside)
        assert all(IDENTIFIER.fullmatch(i) for i in [root.get("identifier"), *inside])
    resources = list(manifest.iter(PACKAGE + "resource"))
    assert {r.get("href") for r in resources} == set(found)
    assert len({r.get("identifier") for r in resources}) == len(resources)


def test_every_reference_finds_what_it_names():
    """Interactions and rules speak of declared variables, keys of options that are there."""
    for name, root in trees().items():
        if name == "imsmanifest.xml":
            continue
        responses = {d.get("identifier") for d in every(root, "qti-response-declaration")}
        asked = {
            e.get("response-identifier") for e in root.iter() if e.get("response-identifier")
        }  # fmt: skip
        assert asked == responses
        used = {
            e.get("identifier")
            for tag in ("variable", "correct")
            for e in every(root, f"qti-{tag}")
        }
        assert used <= responses
        options = {e.get("identifier") for e in every(root, "qti-simple-choice")}
        assert not options or set(key(root)) <= options
        for outcome in every(root, "qti-set-outcome-value"):
            assert outcome.get("identifier") == "SCORE"


def test_the_key_is_the_right_option():
    """By its words, since names of options say nothing."""
    words = {e.get("identifier"): e.text for e in every(tree(CHOICE), "qti-simple-choice")}
    assert [words[name] for name in key(tree(CHOICE))] == list(CHOICE.right)
    words = {e.get("identifier"): e.text for e in every(tree(ORDER), "qti-simple-choice")}
    assert [words[name] for name in key(tree(ORDER))] == list(ORDER.right)


def test_the_order_of_options_gives_nothing_away():
    """The kit's data has the right one first; the item is the same whatever their order."""
    assert qti_package([one(CHOICE)]) == qti_package([one(CHOICE, options=CHOICE.options[::-1])])
    (interaction,) = every(tree(CHOICE), "qti-choice-interaction")
    assert interaction.get("shuffle") == "true" and interaction.get("max-choices") == "1"


def test_several_right_options_may_all_be_chosen():
    """Then the response is a set."""
    root = tree(CHOICE, right=CHOICE.options[:2])
    (declared,) = every(root, "qti-response-declaration")
    assert declared.get("cardinality") == "multiple" and len(key(root)) == 2
    assert every(root, "qti-choice-interaction")[0].get("max-choices") == "3"


# The items' own rules, worked


def worked(element, given, right):
    """The value of an expression of an item, by its meaning in QTI (from memory)."""
    kind = element.tag.removeprefix(ITEM)
    parts = [worked(child, given, right) for child in element]
    if kind == "qti-base-value":
        return float(element.text)
    if kind in ("qti-variable", "qti-correct"):
        return (given if kind == "qti-variable" else right)[element.get("identifier")]
    if kind == "qti-match":
        return parts[0] == parts[1]
    if kind == "qti-sum":
        return sum(parts)
    if kind == "qti-product":
        return parts[0] * parts[1]
    assert kind == "qti-equal"
    exact = element.get("tolerance-mode") == "exact"
    assert exact or element.get("tolerance-mode") == "absolute"
    return abs(parts[1] - parts[0]) <= (0.0 if exact else float(element.get("tolerance")))


def marked(root, **given):
    """The marks that an item's rules give for responses."""
    (condition,) = every(root, "qti-response-if")
    test, scored = condition
    right = {"RESPONSE": key(root)} if every(root, "qti-correct") else {}
    return float(scored[0].text) if worked(test, given, right) else 0.0


def test_choice_and_order_are_marked_by_the_items_own_rules():
    """Full marks for the key, none for anything else."""
    for question in (CHOICE, ORDER):
        root = tree(question)
        assert marked(root, RESPONSE=key(root)) == question.most
        assert marked(root, RESPONSE=["option-2"]) == 0.0
    assert marked(tree(ORDER), RESPONSE=key(tree(ORDER))[::-1]) == 0.0


@pytest.mark.parametrize(("value", "marks"), [(12500, 2), (12450, 2), (12550, 2), (12449.9, 0)])
def test_a_figure_is_marked_within_its_tolerance(value, marks):
    """12 500 kg ± 50 kg, ends included."""
    assert marked(tree(FIGURE), RESPONSE=float(value)) == marks


def test_a_figure_without_tolerance_must_be_exact():
    """As the kit takes it."""
    root = tree(FIGURE, tolerance=None, right=("0.804",), unit="kg/l")
    assert (marked(root, RESPONSE=0.804), marked(root, RESPONSE=0.805)) == (2.0, 0.0)
    assert key(tree(FIGURE, right=("-2.5",), unit="°C")) == ["-2.5"]


@pytest.mark.parametrize(
    ("given", "marks"), [((1, 32, 5), 1), ((1, 34, 5), 1), ((0, 92, 5), 1), ((1, 34, 6), 0)]
)
def test_a_time_is_marked_within_its_tolerance(given, marks):
    """1:32:05 ± 2 min, in three entries; minutes beyond sixty count."""
    root = tree(WHEN)
    assert [key(root, name) for name in ("HOURS", "MINUTES", "SECONDS")] == [["1"], ["32"], ["5"]]
    hours, minutes, seconds = given
    assert marked(root, HOURS=hours, MINUTES=minutes, SECONDS=seconds) == marks


def test_a_reason_is_marked_by_a_person():
    """No rule; what the mark scheme says is shown to scorers alone."""
    root = tree(REASON)
    assert not every(root, "qti-response-processing") and key(root) == []
    (score,) = (d for d in every(root, "qti-outcome-declaration") if d.get("external-scored"))
    assert score.get("external-scored") == "human"
    (rubric,) = every(root, "qti-rubric-block")
    assert rubric.get("view") == "scorer" and "The inlet is dry." in "".join(rubric.itertext())


def test_marks_to_be_had_are_declared():
    """MAXSCORE is what the question is worth; SCORE begins at nought."""
    for question in (CHOICE, ORDER, FIGURE, WHEN, REASON):
        found = {
            d.get("identifier"): every(d, "qti-value")[0].text
            for d in every(tree(question), "qti-outcome-declaration")
        }
        assert found == {"SCORE": "0.0", "MAXSCORE": repr(question.most)}


# Safety


def test_every_file_says_that_it_claims_no_conformance_and_holds_the_key():
    """In a comment, first of all."""
    for content in qti_package(papers()).values():
        head = " ".join(content.decode().split("-->")[0].split())
        assert "no claim of conformance" in head and "for the instructor only" in head
        assert "not for operational use" in head


def test_nothing_of_learners_is_in_it():
    """Neither codes nor answers nor marks earned."""
    everything = b"".join(qti_package(papers()).values()).decode()
    for text in ("A1", "B2", "12,480", "1:40", "I think the tank ran out."):
        assert text not in everything


@given(st.text(max_size=40), st.text(max_size=40), st.text(min_size=1, max_size=40))
@example("</qti-prompt>\x00\ud800\ufffe", "]]>&amp;", "../\x00")
def test_no_text_gets_out_of_its_element(words, option, name):
    """Marks of XML, control characters, halves of characters: the structure stays the same."""
    options = tuple({option, "OPEN", "SHUT"})
    changes = {"words": words, "options": options, "right": ("OPEN",), "identifier": name}
    (file, root), (manifest, _) = trees([one(CHOICE, **changes)]).items()
    assert manifest == "imsmanifest.xml" and re.fullmatch(r"q-[a-z0-9_-]{1,30}\.xml", file)
    (interaction,) = every(root, "qti-choice-interaction")
    tags = [child.tag.removeprefix(ITEM) for child in interaction]
    assert tags == ["qti-prompt", *["qti-simple-choice"] * len(options)]
    assert len(every(root, "qti-simple-choice")) == len(options)
    kept = plain_text(words).replace("\r\n", "\n").replace("\r", "\n")  # as XML reads line ends
    assert (interaction[0].text or "") == kept


def test_a_hostile_question_stays_text():
    """An element, an entity, a comment and an instruction, word for word."""
    hostile = '</qti-prompt><x y="1"/>&amp;&xxe;--><?php ?><![CDATA[z]]>'
    root = tree(CHOICE, words=hostile)
    assert every(root, "qti-prompt")[0].text == hostile


@pytest.mark.parametrize(
    "name", ["../../etc", "C:\\x", "con.xml", "Ä", "a" * 40, "a b", "", "Climb"]
)
def test_no_identifier_becomes_a_path(name):
    """Made names are safe file names, and never the same for two."""
    assert re.fullmatch(r"q-[a-z0-9_-]{30}", item_name(name))
    assert item_name(name) != item_name(name + "x")


def test_one_identifier_is_one_question():
    """Otherwise one of two keys would be lost."""
    with pytest.raises(ValueError, match="'crossfeed-1' is not the same on all papers"):
        qti_package([one(CHOICE), one(CHOICE, "B2", words="Something else?")])


@pytest.mark.parametrize(
    ("question", "changes", "words"),
    [
        (FIGURE, {"right": ("a lot",)}, "it must be one figure"),
        (FIGURE, {"right": ()}, "it must be one figure"),
        (WHEN, {"right": ("soon",)}, "it must be one time"),
        (ORDER, {"right": ORDER.right[:2]}, "right has 2 of its 3 options"),
        (CHOICE, {"right": ()}, "a right one at least"),
        (CHOICE, {"options": CHOICE.right}, "two options"),
    ],
)
def test_a_key_that_cannot_be_read_is_named(question, changes, words):
    """The question and what would be right."""
    with pytest.raises(ValueError, match=words):
        qti_package([one(question, **changes)])


def test_the_same_questions_give_the_same_bytes():
    """In whatever order papers come."""
    assert qti_package(papers()) == qti_package(papers()[::-1])


def test_papers_with_nothing_that_fits_give_a_manifest_alone():
    """And the list of what was left out."""
    assert list(qti_package([one(STATE)])) == ["imsmanifest.xml"]
