"""Questions once worked out are found again; nothing stale, damaged or foreign is used."""

import json
import stat
from dataclasses import replace

import pytest

from fuelkit.assess.papers import kept_pool
from fuelkit.assess.papers.draw import BlueprintError
from fuelkit.assess.papers.issue import make_pool
from fuelkit.assess.papers.kept_pool import (
    FOLDER,
    KeptQuestions,
    forget,
    question_from,
    question_table,
)
from tests.small_sitting import SECRET, blueprint_of, line, pool

PLAN = blueprint_of(line("label"), line("spot"), line("sheet"), flights=2)


class Stopped(Exception):
    """The work was stopped."""


def working(most):
    """Work that counts what it is given and is stopped after so many sources."""

    def work(function, sources):
        for number, source in enumerate(sources):
            if number == most:
                raise Stopped
            worked.append(source)
            yield function(source)

    worked = []
    return work, worked


@pytest.fixture
def private(tmp_path):
    """A folder of the instructor's."""
    tmp_path.chmod(0o700)
    return tmp_path


@pytest.fixture(scope="module")
def plain():
    """The pool without anything kept."""
    return make_pool(PLAN, SECRET, work=map)


def test_every_kind_of_question_comes_back_as_it_was():
    """Written as JSON and read again, each question of a pool is equal to itself."""
    for question in pool():
        again = question_from(json.loads(json.dumps(question_table(question))))
        assert again == question
        assert type(again.board.asks) is tuple and hash(again.board) == hash(question.board)


def test_what_was_worked_out_is_not_worked_out_again(private, plain):
    """A stop keeps what is done; the rest is worked out, and the third time nothing is."""
    kept = KeptQuestions(private, PLAN.sitting)
    work, first = working(3)
    with pytest.raises(Stopped):
        make_pool(PLAN, SECRET, work=work, kept=kept)
    work, second = working(1000)
    assert make_pool(PLAN, SECRET, work=work, kept=kept) == plain
    assert len(first) == 3 and not set(first) & set(second)
    work, third = working(0)
    assert make_pool(PLAN, SECRET, work=work, kept=KeptQuestions(private, PLAN.sitting)) == plain
    assert third == []


def test_more_flights_cost_only_themselves(private, plain):
    """A blueprint with more flights works out what is new, and gives what it gives by itself."""
    more = replace(PLAN, flights=12)
    kept = KeptQuestions(private, PLAN.sitting)
    make_pool(PLAN, SECRET, work=map, kept=kept)
    work, worked = working(1000)
    found = make_pool(more, SECRET, work=work, kept=kept)
    assert found == make_pool(more, SECRET, work=map)
    known = {question.identifier for question in plain}
    assert worked and known <= {question.identifier for question in found}


@pytest.mark.parametrize("damage", [b"", b"{}", b"\xff", b'{"format": 1}', None])
def test_a_damaged_file_is_worked_out_anew(private, plain, damage):
    """Cut short, emptied, of another form, or with a field taken out: never used, never fatal."""
    kept = KeptQuestions(private, PLAN.sitting)
    make_pool(PLAN, SECRET, work=map, kept=kept)
    path = sorted(kept.folder.iterdir())[0]
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"right"', b'"rigth"') if damage is None else damage)
    work, worked = working(1000)
    assert make_pool(PLAN, SECRET, work=work, kept=kept) == plain
    assert len(worked) == 1 and path.read_bytes() == whole


def test_another_kit_uses_nothing_of_this_one(private, plain, monkeypatch):
    """A changed rule changes the digest: what is old is taken away and worked out again."""
    kept = KeptQuestions(private, PLAN.sitting)
    make_pool(PLAN, SECRET, work=map, kept=kept)
    monkeypatch.setattr(kept_pool, "kit_digest", lambda: "f" * 16)
    later = KeptQuestions(private, PLAN.sitting)
    assert not list(later.folder.iterdir())
    work, worked = working(1000)
    assert make_pool(PLAN, SECRET, work=work, kept=later) == plain and worked


def test_the_digest_tells_one_kit_from_another(tmp_path, monkeypatch):
    """One byte more in a rule's file, or another name, is another kit."""
    found = set()
    for name, text in (("a.toml", "x = 1\n"), ("a.toml", "x = 2\n"), ("b.toml", "x = 2\n")):
        for old in tmp_path.iterdir():
            old.unlink()
        (tmp_path / name).write_text(text, encoding="utf-8")
        monkeypatch.setattr(kept_pool, "_PACKAGE", tmp_path)
        kept_pool.kit_digest.cache_clear()
        found.add(kept_pool.kit_digest())
    monkeypatch.undo()
    kept_pool.kit_digest.cache_clear()
    assert len(found) == 3


def test_nobody_else_can_read_what_is_kept(private):
    """Answers stand in it: the folders have the mode 0700 and the files 0600."""
    kept = KeptQuestions(private, PLAN.sitting)
    make_pool(PLAN, SECRET, work=map, kept=kept)
    modes = {stat.S_IMODE(p.stat().st_mode) for p in (private / FOLDER, kept.folder)}
    assert modes == {0o700}
    assert {stat.S_IMODE(p.stat().st_mode) for p in kept.folder.iterdir()} == {0o600}


def test_a_purge_takes_them_away(private):
    """They go with the sitting that they were worked out for; another's stay."""
    for sitting in ("trial-1", "trial-2"):
        KeptQuestions(private, sitting)
    forget(private, "trial-1")
    forget(private, "trial-1")
    assert [path.name for path in (private / FOLDER).iterdir()] == ["trial-2"]


def test_a_line_that_cannot_be_met_is_told_before_flights_are_computed():
    """Only the labels are worked out, and what no flight can add to is not waited for."""
    wide = blueprint_of(line("label", count=9), line("state", count=1), flights=2)
    work, worked = working(1000)
    with pytest.raises(BlueprintError, match="line 'label' needs 9, and 8 fit"):
        make_pool(wide, SECRET, work=work)
    assert {source.kind for source in worked} == {"label"}
