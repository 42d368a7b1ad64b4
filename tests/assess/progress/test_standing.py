"""What a record says: by objective, by certainty, and when something should come again."""

from dataclasses import replace

import pytest

from fuelkit.assess.marking import BoardMark, Line
from fuelkit.assess.progress.calibration import calibration
from fuelkit.assess.progress.standing import in_order, lessons_met, standings
from fuelkit.assess.progress.tries import tries_of
from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE
from fuelkit.assess.teach import unit_for
from tests.assess.progress.entries import TODAY, believed, tried


def of(name, *entries):
    """How it stands with one objective."""
    return next(s for s in standings(entries, TODAY) if s.objective.name == name)


@pytest.mark.parametrize(
    ("results", "word"),
    [([], "not met"), ([True, False], "too few to say"), ([True, False, False], "weak"),
     ([True] * 3, "steady"), ([True] * 3 + [False], "steady"),
     ([False] * 5 + [True] * 10, "steady"),
     ([True] * 20 + [False] * 3 + [True] * 7, "weak")],
)  # fmt: skip
def test_an_objective_stands_by_its_latest_tries(results, word):
    """Nothing is said of too few; old mistakes are over, new ones count."""
    standing = of("run-on", tried("cruise", "run-on", *results))
    assert standing.word == word
    assert (standing.right, standing.count) == (sum(results), len(results))


def test_weak_ones_stand_first_and_what_was_not_met_last():
    """The weakest at the top."""
    results = {"run-on": [False] * 4, "hot-return": [True] * 4, "overflow": [False, False, True],
               "balance": [True]}  # fmt: skip
    entries = [tried("cruise", name, *given) for name, given in results.items()]
    order = [s.objective.name for s in in_order(standings(entries, TODAY))]
    assert order[:4] == ["run-on", "overflow", "balance", "hot-return"]
    assert {s.word for s in in_order(standings(entries, TODAY))[4:]} == {"not met"}


def test_the_gap_doubles_with_each_right_day_and_a_wrong_one_ends_that():
    """2, 4, 8 days; the day after a wrong one; never more than 64."""
    right = [tried("cruise", "run-on", True, ago=ago) for ago in (40, 30, 20)]
    assert [of("run-on", *right[:n]).days for n in (1, 2, 3)] == [2, 4, 8]
    wrong = tried("cruise", "run-on", False, True, ago=10)
    assert of("run-on", *right, wrong).days == 1
    assert of("run-on", *right, wrong, tried("cruise", "run-on", True, ago=5)).days == 2
    often = [tried("cruise", "run-on", True, ago=ago) for ago in range(100, 80, -1)]
    assert of("run-on", *often).days == 64


def test_what_is_overdue_weak_or_misunderstood_is_needed_more():
    """Each by itself makes a difference."""
    base = tried("cruise", "run-on", True, True, True, ago=1)
    assert of("run-on", {**base, "time": "2026-11-01T12:00:00Z"}).need(TODAY) > of(
        "run-on", base
    ).need(TODAY)  # fmt: skip
    weak = tried("cruise", "run-on", False, False, False, ago=1)
    assert of("run-on", weak).need(TODAY) > of("run-on", base).need(TODAY)
    found = of("run-on", base, believed("no-run-on"))
    assert found.believed == ("no-run-on",) and found.need(TODAY) > of("run-on", base).need(TODAY)
    assert of("run-on", base, believed("no-run-on", ago=90)).believed == ()
    assert of("run-on", base, believed("of-another-edition")).believed == ()


def test_lessons_are_met_by_their_boards_and_by_practice():
    """A review is no lesson."""
    entries = [tried("cruise", "run-on", True), believed("no-run-on"),
               tried("x", "y") | {"unit": "practice-lesson-climb"},
               tried("x", "y") | {"unit": "practice-review"}]  # fmt: skip
    assert lessons_met(entries) == {"cruise", "climb"}


def test_only_what_counts_is_a_try():
    """What the kit had set and what stayed as it was say nothing; a false change does."""
    board = unit_for("lesson-cruise").board("tank-fills")
    asked, given = board.asks[0], board.asks[1]
    same, moved = replace(board.asks[2], given=False), board.asks[3]

    def line(ask, right, change):
        return Line(ask.identifier, "", "a", "b", right, 0.0, 0.0, "", change)

    board = replace(board, asks=(asked, given, same, moved))
    for right, expected in ((True, [asked, moved]), (False, [asked, same, moved])):
        lines = (line(asked, True, True), line(given, True, True), line(same, right, False),
                 line(moved, False, False))  # fmt: skip
        found = tries_of(board, BoardMark("", "", lines, 0.0, 0.0, ""))
        assert [one["ask"] for one in found] == [ask.identifier for ask in expected]
        assert found[0]["objectives"] == list(board.objectives)


def test_certainty_is_told_with_its_interval_where_there_is_enough():
    """Silent below the least count; a question is right if all of it is."""
    few = [tried("cruise", "run-on", True, sure="guess")] * (LEAST_FOR_SHARE - 1)
    many = [tried("cruise", "run-on", True, n % 2 == 0, sure="certain") for n in range(20)]
    guess, fairly, certain = calibration([*few, *many, tried("cruise", "run-on", True)])
    assert (guess.right, guess.count, guess.low) == (11, 11, None)
    assert (fairly.count, fairly.low) == (0, None)
    assert (certain.right, certain.count) == (10, 20)
    assert 0.25 < certain.low < 0.5 < certain.high < 0.75
