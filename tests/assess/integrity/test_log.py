"""The mark log: what is written comes back, and every kind of tampering is named by its line."""

import json
import re

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError, canonical
from fuelkit.assess.integrity.entry import START, happened, own_digest
from fuelkit.assess.integrity.log import FILE, Head, append, entries, head
from fuelkit.assess.integrity.parts import parts_path
from fuelkit.assess.integrity.verify import verify
from tests.assess.integrity.log_tools import marked, put, raw


@pytest.fixture
def log(folder):
    """A log of eight entries."""
    path = folder / FILE
    append(path, *[marked(f"A0{number}") for number in range(1, 6)])
    append(path, happened("released", "cruise", "A01"))
    append(path, marked("A06"))
    append(
        path,
        happened("re-marked", "cruise", "A06", {"old": 7.5, "new": 8.0, "why": "key of q3 mended"}),
    )
    return path


def test_entries_come_back_as_they_were_written(log):
    """In order, with learner, details and time; the chain is whole."""
    found = entries(log)
    assert [entry.number for entry in found] == list(range(1, 9))
    assert [entry.learner for entry in found[:5]] == ["A01", "A02", "A03", "A04", "A05"]
    assert found[7].personal == {"old": 7.5, "new": 8.0, "why": "key of q3 mended"}
    assert found[0].details == {"edition": 1} and found[0].before == START
    assert all(b.before == a.digest for a, b in zip(found, found[1:], strict=False))
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", found[0].time)
    assert verify(log) == () == verify(log, head(log))


def test_what_append_returns_is_what_is_read(folder):
    """The entries it hands back are those on disk."""
    made = append(folder / FILE, marked("A01"), marked("A02"))
    assert made == entries(folder / FILE)


def test_the_chain_holds_nothing_personal(log):
    """Neither codes, nor marks, nor reasons: those stand in the file beside it."""
    text = log.read_text("ascii")
    for word in ("A01", "A06", "7.5", "key of q3", "salt"):
        assert word not in text
    assert "key of q3" in parts_path(log).read_text("ascii")


def test_head_is_that_of_the_last_entry_and_of_nothing_in_an_empty_log(log, folder):
    """Number and digest, printed in groups."""
    last = entries(log)[-1]
    assert head(log) == Head(last.number, last.digest)
    assert head(log).printed.splitlines()[0] == "Entry 8"
    assert head(folder / "none.jsonl") == Head(0, START)
    assert entries(folder / "none.jsonl") == () == verify(folder / "none.jsonl")


def tampered(log, change):
    """The sentences about a log whose lines were changed."""
    lines = raw(log)
    put(log, change(lines))
    return verify(log)


def rewrite(line, anew=False, **fields):
    """A line with other content, and, if wanted, with a digest that fits it."""
    content = {**json.loads(line), **fields}
    if anew:
        content["digest"] = own_digest(content)
    return canonical(content) + b"\n"


def places(sentences):
    """The numbers of the lines that sentences name."""
    return [int(re.match(r"Line (\d+)", text).group(1)) for text in sentences]


def test_a_changed_line_is_named(log):
    """A field of line 4, its digest left as it was."""
    said = tampered(log, lambda x: [*x[:3], rewrite(x[3], details={"edition": 2}), *x[4:]])
    assert places(said) == [4] and "was changed" in said[0]


def test_a_changed_line_with_a_fitting_digest_breaks_the_next_one(log):
    """Whoever works its digest anew is found one line on."""
    said = tampered(log, lambda x: [*x[:3], rewrite(x[3], True, details={}), *x[4:]])
    assert places(said) == [5] and "does not follow" in said[0]


def test_a_changed_last_line_with_a_fitting_digest_needs_the_head(log):
    """Only a head that was kept elsewhere shows it."""
    kept = head(log)
    assert tampered(log, lambda x: [*x[:7], rewrite(x[7], True, details={"x": 1})]) == ()
    assert "written anew" in verify(log, kept)[0]


@pytest.mark.parametrize(("first", "after", "words"), [(3, 4, "entry 4"), (2, 5, "entries 3 to 5")])
def test_deleted_lines_are_named(log, first, after, words):
    """By the line that stands where they were."""
    said = tampered(log, lambda x: x[:first] + x[after:])
    assert places(said) == [first + 1] and words in said[0] and "deleted" in said[0]


def test_a_deleted_first_line_is_named(log):
    """The log must begin with entry 1."""
    said = tampered(log, lambda x: x[1:])
    assert places(said) == [1] and "entry 1" in said[0]


def test_an_inserted_line_is_named(log):
    """Doubled, and made up with a number and a digest that fit."""
    made_up = rewrite(raw(log)[4], True, event="released")
    assert places(tampered(log, lambda x: [*x[:4], x[3], *x[4:]])) == [5]
    lines = raw(log)
    put(log, [*lines[:4], *lines[5:]])
    said = tampered(log, lambda x: [*x[:4], made_up, *x[4:]])
    assert places(said) == [6] and "put in" in said[0]


def test_swapped_lines_are_named(log):
    """Both of them, and the line after."""
    said = tampered(log, lambda x: [*x[:3], x[4], x[3], *x[5:]])
    assert places(said) == [4, 5, 6]
    assert "moved" in said[0] and "moved" in said[1]


def test_a_cut_tail_is_found_by_a_head_alone(log):
    """Without one, nothing can be missed; with one, it says what is missing."""
    kept = head(log)
    assert tampered(log, lambda x: x[:6]) == ()
    assert "ends with entry 6, but entry 8" in verify(log, kept)[0]
    log.unlink()
    assert verify(log) == () and "ends with entry 0" in verify(log, kept)[0]


def test_a_log_that_grew_still_meets_an_older_head(log):
    """A printed head stays good."""
    kept = head(log)
    append(log, marked("A09"))
    assert verify(log, kept) == ()


def test_a_log_written_anew_is_found_by_a_head(log, folder):
    """The same number of entries, all digests in order, but not those."""
    other = folder / "other.jsonl"
    append(other, *[marked(f"B{number:02}") for number in range(8)])
    assert verify(other) == () and "written anew" in verify(other, head(log))[0]


@pytest.mark.parametrize(
    "change",
    [
        lambda line: line.replace(b",", b", ", 1),
        lambda line: line.replace(b"{", b'{"number":9,', 1),
        lambda line: b" " + line,
        lambda line: b"\n",
        lambda line: b"null\n",
        lambda line: b"\xff\xfe\n",
        lambda line: b"[" * 50_000 + b"\n",
        lambda line: rewrite(line, True, extra=1),
        lambda line: rewrite(line, True, number=4.0),
        lambda line: rewrite(line, True, schema=2),
        lambda line: rewrite(line, True, time="yesterday"),
        lambda line: rewrite(line, True, event="improved"),
        lambda line: rewrite(line, True, before="0"),
    ],
)
def test_a_line_that_the_log_never_writes_is_named(log, change):
    """Layout, doubled fields, rubbish, foreign fields: line 4, and 5 that follows from it."""
    said = tampered(log, lambda x: [*x[:3], change(x[3]), *x[4:]])
    assert places(said) == [4, 5] and "not a line" in said[0]
    with pytest.raises(IntegrityError, match="line 4: it is damaged"):
        entries(log)


def test_every_bit_of_the_chain_counts(log):
    """Any one bit turned, anywhere in the log, is found, with the head kept elsewhere."""
    kept, whole = head(log), log.read_bytes()
    for place in range(0, len(whole), 7):
        data = bytearray(whole)
        data[place] ^= 1 << place % 8
        log.write_bytes(data)
        assert verify(log, kept), place


def test_a_changed_or_lost_personal_part_is_named(log):
    """A mark that was bettered does not fit its digest and is shown to nobody."""
    place = parts_path(log)
    place.write_bytes(place.read_bytes().replace(b'"new":8.0', b'"new":9.5'))
    said = verify(log)
    assert places(said) == [8] and "personal part is missing or was changed" in said[0]
    assert entries(log)[7].personal is None and entries(log)[7].learner == ""
    place.unlink()
    assert places(verify(log)) == list(range(1, 9))


def test_parts_cannot_be_exchanged(log):
    """Two parts with their numbers exchanged fit neither line."""
    place = parts_path(log)
    lines = raw(place)
    one, two = (json.loads(line) for line in lines[:2])
    one["number"], two["number"] = 2, 1
    put(place, [canonical(two) + b"\n", canonical(one) + b"\n", *lines[2:]])
    assert places(verify(log)) == [1, 2]


def test_nothing_is_added_to_a_log_with_a_damaged_end(log):
    """The new entry would follow from something that nobody wrote."""
    put(log, [*raw(log)[:7], b"rubbish\n"])
    before = log.read_bytes()
    with pytest.raises(IntegrityError, match="last line is damaged"):
        append(log, marked())
    assert log.read_bytes() == before


def test_a_log_that_others_can_read_is_refused(log):
    """Written, read and verified only where nobody else could have been."""
    log.chmod(0o644)
    for use in (entries, verify, head, lambda path: append(path, marked())):
        with pytest.raises(IntegrityError, match="chmod 600"):
            use(log)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("improved", "cruise", "A07"), "event is 'improved'"),
        (("purged", "cruise", "A07"), "event is 'purged'"),
        (("marked", "../cruise", "A07"), "sitting: its name"),
        (("marked", "", "A07"), "sitting: its name"),
        (("marked", "cruise", "A 07"), "learner code"),
        (("marked", "cruise", "A"), "2 signs or more"),
        (("marked", "cruise", "A" * 25), "learner code"),
        (("marked", "cruise", "=A07"), "learner code"),
        (("re-marked", "cruise", "A07", {"old": 1, "new": 2}), "and why"),
    ],
)
def test_an_event_that_cannot_be_is_refused(words, why):
    """The field is named."""
    with pytest.raises(IntegrityError, match=why):
        happened(*words)


def test_an_event_that_cannot_be_written_leaves_the_log_as_it_was(log):
    """One bad event among many: none is written."""
    before = log.read_bytes()
    with pytest.raises(IntegrityError, match="cannot be written as JSON"):
        append(log, marked("A01"), happened("marked", "cruise", "A02", {"mark": float("nan")}))
    with pytest.raises(IntegrityError, match="larger than"):
        append(log, happened("marked", "cruise", "A02", {"text": "x" * 5_000_000}))
    assert log.read_bytes() == before and verify(log) == ()
