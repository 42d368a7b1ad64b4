"""Marked papers: sums by hand, codes and never names, impossible records named."""

from dataclasses import replace

import pytest

from fuelkit.assess.exports.records import MarkedPaper, by_learner
from tests.assess.exports.papers import ALL, CHOICE, FIGURE, one, papers


def test_sums_by_hand():
    """0 + 2 + 2 + 0 + 1.5 + 0.5 of 1 + 2 + 2 + 1 + 3 + 1."""
    paper = MarkedPaper("B2", "p", ALL)
    assert (paper.total, paper.most, paper.share) == (6.0, 10.0, 0.6)
    assert paper.has_passed(0.6) and not paper.has_passed(0.61)


def test_the_pass_mark_is_reached_in_spite_of_decimal_fractions():
    """Ten tenths of 0.75 make 7.5 of 10, though their sum in floats may fall short."""
    tenth = replace(CHOICE, got=0.75)
    questions = tuple(replace(tenth, identifier=f"q{i}") for i in range(10))
    assert MarkedPaper("A1", "p", questions).has_passed(0.75)


@pytest.mark.parametrize("name", ["John Smith", "a07", "", "A07;", "Zoë"])
def test_a_name_is_no_learner_code(name):
    """Codes in standard form only, so that no name gets into an export."""
    with pytest.raises(ValueError, match="learner"):
        MarkedPaper(name, "p", ALL)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"got": 1.5}, "got is 1.5; it must be from 0 to 1.0"),
        ({"got": float("nan")}, "got is nan"),
        ({"most": 0.0}, "most is 0.0"),
        ({"tolerance": -1.0}, "tolerance is -1.0"),
        ({"right": ("melts",)}, "right is 'melts'"),
        ({"options": ("a", "a")}, "stands twice"),
        ({"line": ""}, "must be named"),
    ],
)
def test_impossible_questions_are_named(changes, words):
    """The field, its value and what would be right."""
    with pytest.raises(ValueError, match=words):
        replace(CHOICE, **changes)


def test_a_question_stands_once_on_a_paper():
    """And a paper has one at least."""
    with pytest.raises(ValueError, match="'uplift-3' stands twice"):
        MarkedPaper("A1", "p", (FIGURE, FIGURE))
    with pytest.raises(ValueError, match="must have a name and a question"):
        MarkedPaper("A1", "p", ())


def test_nobody_guesses_which_of_two_papers_counts():
    """Both are named."""
    assert [paper.learner for paper in by_learner(papers())] == ["A1", "B2"]
    with pytest.raises(ValueError, match="A1 has two papers, 'paper-A1' and 'paper-A1'"):
        by_learner([one(CHOICE), one(FIGURE)])
