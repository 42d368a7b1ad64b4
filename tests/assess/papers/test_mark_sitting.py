"""A folder of sheets: every sound one is marked once, every other one named; the log is kept."""

import json
import os
import random
import signal
import time
import tracemalloc
from dataclasses import replace

import pytest

from fuelkit.assess.integrity.canonical import canonical
from fuelkit.assess.integrity.log import entries
from fuelkit.assess.integrity.receipt import confirms
from fuelkit.assess.integrity.sittings import paper_name
from fuelkit.assess.integrity.verify import verify
from fuelkit.assess.mark_folder import set_aside_csv
from fuelkit.assess.papers.issue import LOG_FILE, Issued, keep_sitting, secret_of
from fuelkit.assess.papers.mark_sitting import (
    AMENDMENTS_FILE,
    awards_of,
    keep_award,
    mark_sitting,
)
from fuelkit.assess.papers.spoken import spoken
from fuelkit.assess.papers.time_limit import word_for
from fuelkit.assess.sheet import FORMAT, LARGEST_BYTES, SCHEMA, Sheet, sheet_path, write_sheet
from tests.small_sitting import LEARNERS, blueprint, issued, sheet_for, texts

ALL = os.environ.get("FUELKIT_PAPERS") == "all"
HOSTILE = 2000 if ALL else 200
KILLS = 200 if ALL else 10
MEMORY, EACH = 60_000_000, 20_000  # bytes beyond what was there, and for each file of a folder


def written(folder, sheet):
    """A sheet put into a folder as a learner hands it in; its path."""
    path = sheet_path(folder, sheet.unit, sheet.learner)
    write_sheet(sheet, path)
    return path


@pytest.fixture
def sheets(tmp_path):
    """A folder with an all-right sheet of each learner."""
    folder = tmp_path / "sheets"
    for one in issued():
        written(folder, sheet_for(one.key))
    return folder


def marks(marked):
    """Marks by learner."""
    return {paper.sheet.learner: paper.marks for paper in marked.papers}


def logged(folder, event):
    """Learners of the entries of one kind, in order."""
    return [entry.learner for entry in entries(folder / LOG_FILE) if entry.event == event]


def test_each_sheet_is_marked_and_logged_once(folder, sitting, sheets):
    """One entry a learner with marks and receipt; marked again, nothing is added or moved."""
    first = mark_sitting(folder, sitting.name, sheets, work=map)
    assert list(marks(first)) == sorted(LEARNERS) and first.set_aside == first.moved == ()
    again = mark_sitting(folder, sitting.name, sheets)  # over the cores, which share the flights
    assert marks(again) == marks(first) and again.moved == ()
    assert (
        sorted(logged(folder, "marked")) == sorted(logged(folder, "handed in")) == sorted(LEARNERS)
    )
    assert verify(folder / LOG_FILE) == ()
    told = {e.learner: e.personal for e in entries(folder / LOG_FILE) if e.event == "marked"}
    for paper in first.papers:
        assert told[paper.sheet.learner]["marks"] == paper.marks
        data = canonical({"sheet": paper.sheet.true_receipt(), "of": paper.sheet.unit})
        assert confirms(told[paper.sheet.learner]["receipt"], data)
        assert spoken(paper.sheet) == told[paper.sheet.learner]["receipt"]


def test_a_paper_of_another_sitting_is_left_to_that_one(folder, sitting, tmp_path):
    """In one folder with the first, each is marked by its own sitting; neither is a fault."""
    other, one, sheets = "trial-2", issued()[0], tmp_path / "sheets"
    paper = paper_name(other, one.key.learner)
    moved = Issued(replace(one.key, sitting=other, paper=paper), one.seal)
    keep_sitting(folder, replace(blueprint(), sitting=other), [moved])
    secret_of(folder, other)
    written(sheets, sheet_for(issued()[1].key))
    written(sheets, sheet_for(moved.key))
    for name, learner, missing in (
        (sitting.name, issued()[1].key.learner, sorted({*LEARNERS} - {issued()[1].key.learner})),
        (other, one.key.learner, []),
    ):
        found = mark_sitting(folder, name, sheets, work=map)
        assert list(marks(found)) == [learner] and list(found.missing) == missing
        (left,) = found.set_aside
        assert not left.is_fault and "a paper of the sitting trial-" in left.reason


def test_a_changed_key_moves_marks_and_says_whose_and_why(folder, sitting, tmp_path):
    """One learner had the figure wrong: it is dropped, that learner gains its marks, others none.

    Marked once more, nothing moves; the log has one entry of it, with old, new and why.
    """
    place, wrong = tmp_path / "wrong", issued()[0].key
    question = next(q for q in wrong.questions if q.kind == "figure")
    for one in issued():
        said = {q.name: texts(q) for q in one.key.questions}
        if one.key is wrong:
            said[question.name] = texts(question, ["1 kg"] * len(question.right))
        written(place, sheet_for(one.key, said))
    before = marks(mark_sitting(folder, sitting.name, place, work=map))
    (sitting.folder / AMENDMENTS_FILE).write_text(
        f'schema = 1\n[[amendments]]\nquestion = "{question.source}"\ndrop = true\n'
        'because = "the drawing was cut off"\n'
    )
    after = mark_sitting(folder, sitting.name, place, work=map)
    (moved,) = after.moved
    assert (moved.learner, moved.old, moved.new) == (
        wrong.learner, before[wrong.learner], before[wrong.learner] + question.marks,
    )  # fmt: skip
    assert moved.why == f"{question.source}: the drawing was cut off"
    rest = {name: mark for name, mark in marks(after).items() if name != wrong.learner}
    assert rest.items() <= before.items()
    assert mark_sitting(folder, sitting.name, place, work=map).moved == ()
    assert logged(folder, "re-marked") == [wrong.learner] and verify(folder / LOG_FILE) == ()


def test_an_amendment_that_fits_no_paper_is_named(folder, sitting, sheets):
    """A slip of the pen in the name of a question would change nothing in silence."""
    (sitting.folder / AMENDMENTS_FILE).write_text(
        'schema = 1\n[[amendments]]\nquestion = "figure-nowhere"\ndrop = true\nbecause = "x"\n'
    )
    with pytest.raises(ValueError, match="figure-nowhere.*no paper of this sitting"):
        mark_sitting(folder, sitting.name, sheets, work=map)
    question = issued()[0].key.questions[0]
    (sitting.folder / AMENDMENTS_FILE).write_text(
        f'schema = 1\n[[amendments]]\nquestion = "{question.source}"\npart = 59\ndrop = true\n'
        'because = "x"\n'
    )
    with pytest.raises(ValueError, match="part.*59"):
        mark_sitting(folder, sitting.name, sheets, work=map)


def test_awards_are_kept_at_once_and_counted(folder, sitting, sheets):
    """A half of the marks of one written reason: that learner's marks rise by as much."""
    before = mark_sitting(folder, sitting.name, sheets, work=map)
    assert all(paper.open_reasons for paper in before.papers)
    key = issued()[0].key
    question = next(q for q in key.questions if q.kind == "reason")
    keep_award(sitting, key.learner, question.name, 0.5)
    assert awards_of(sitting) == {key.learner: {question.name: 0.5}}
    after = mark_sitting(folder, sitting.name, sheets, work=map)
    assert [(m.learner, m.new - m.old) for m in after.moved] == [
        (key.learner, 0.5 * question.marks)
    ]
    assert "written reasons" in after.moved[0].why


def test_an_amendment_that_moves_nothing_is_not_blamed(folder, sitting, sheets):
    """Beside it a reason was marked: that is named, and the amendment's words are not."""
    mark_sitting(folder, sitting.name, sheets, work=map)
    key = issued()[0].key
    right = next(q for q in key.questions if q.kind == "figure")
    (sitting.folder / AMENDMENTS_FILE).write_text(
        f'schema = 1\n[[amendments]]\nquestion = "{right.source}"\ndrop = true\n'
        'because = "nobody could read it"\n'
    )
    reason = next(q for q in key.questions if q.kind == "reason")
    keep_award(sitting, key.learner, reason.name, 0.5)
    (moved,) = mark_sitting(folder, sitting.name, sheets, work=map).moved
    assert "written reasons" in moved.why and "nobody could read it" not in moved.why


def test_another_sheet_of_the_same_learner_is_told(folder, sitting, sheets):
    """Handed in anew with fewer answers: it moves, and the reason is that it is another one."""
    mark_sitting(folder, sitting.name, sheets, work=map)
    written(sheets, sheet_for(issued()[0].key, {}))
    (moved,) = mark_sitting(folder, sitting.name, sheets, work=map).moved
    assert (moved.learner, moved.new, moved.why) == ("A01", 0.0, "another sheet was handed in")


def test_another_sheet_that_earns_the_same_is_told_and_logged(folder, sitting, sheets, monkeypatch):
    """The same answers handed in a minute later: another receipt, the mark as before."""
    before = mark_sitting(folder, sitting.name, sheets, work=map)
    monkeypatch.setattr("fuelkit.assess.sheet._now", lambda: "2027-01-31T08:31:00Z")
    key = next(one.key for one in issued() if one.key.learner == "A01")
    write_sheet(sheet_for(key), sheet_path(sheets, key.paper, "A01"))
    (moved,) = mark_sitting(folder, sitting.name, sheets, work=map).moved
    mark = marks(before)["A01"]
    assert moved.words == f"{mark:g} as before: another sheet was handed in"
    assert mark_sitting(folder, sitting.name, sheets, work=map).moved == ()


def test_more_time_counts_for_the_learner_whose_word_it_is(folder, sitting, tmp_path):
    """65 minutes after the beginning of 60: late; with a word for 10 minutes not; once each.

    A neighbour's word gives nothing, and a word that is written twice does not count twice.
    """
    key, secret = issued()[0].key, secret_of(folder, sitting.name)
    own, other = (word_for(secret, sitting.name, code, 10) for code in ("A01", "A02"))
    for words, minutes, is_late in (
        ([], 65, True), ([own], 65, False), ([other], 65, True), ([own], 75, True),
        ([own, own.lower(), own.replace("-", " ")], 75, True),
    ):  # fmt: skip
        sheet = sheet_for(key, {})
        answers = {
            "begin": {"given": {}, "committed": "2027-01-31T08:00:00Z"},
            "q01": {"given": {}, "committed": f"2027-01-31T{8 + minutes // 60:02}:"
                                              f"{minutes % 60:02}:00Z"},
        }  # fmt: skip
        for n, word in enumerate(words):
            answers[f"more-time-{n}"] = {"given": {"word": word}, "committed": ""}
        sheet = replace(sheet, answers=answers)
        place = tmp_path / f"sheets-{words}-{minutes}"
        written(place, replace(sheet, receipt=sheet.true_receipt()))
        (paper,) = mark_sitting(folder, sitting.name, place, work=map).papers
        assert bool(paper.late) is is_late, (words, minutes)


# ------------------------------------------------------------------------------- hostile
def hostile(number, lots):
    """The bytes of a hostile sheet, and whether it may be marked all the same."""
    kind = number % len(_HOSTILE)
    content = {"format": FORMAT, "schema": SCHEMA, **sheet_for(issued()[0].key).__dict__}
    return _HOSTILE[kind](json.loads(json.dumps(content)), lots)


def _bytes(content):
    return json.dumps(content).encode()


def _truncated(content, lots):
    data = _bytes(content)
    return data[: lots.randrange(len(data))]


def _deep(content, lots):
    content["answers"] = "DEEP"
    depth = lots.choice((50, 5000, 200_000))
    return _bytes(content).replace(b'"DEEP"', b'{"a":' * depth + b"0" + b"}" * depth)


def _wrong_type(content, lots):
    field = lots.choice(sorted(content))
    content[field] = lots.choice((None, True, 7, -1.5, [], [[]], {"a": {}}, "x" * 200, {"a": 1}))
    return _bytes(content)


def _wrong_entry(content, lots):
    name = lots.choice(sorted(content["answers"]))
    content["answers"][name] = lots.choice(
        (None, [], "x", {"given": {}}, {"given": [], "committed": ""}, {"given": {"a": 1},
         "committed": ""}, {"given": {"a": "x" * 2001}, "committed": ""})
    )  # fmt: skip
    return _bytes(content)


def _signed(content):
    """Changed, and the receipt worked out anew: a learner has the kit and can do that."""
    fields = {name: content[name] for name in Sheet.__dataclass_fields__}
    sheet = Sheet(**fields)
    try:
        content["receipt"] = sheet.true_receipt()
    except UnicodeEncodeError:
        content["receipt"] = "x"
    return _bytes(content)


def _other_code(content, lots):
    content["learner"] = lots.choice(("A02", "Z99", "HOME", "../A01", "a01", ""))
    return _signed(content)


def _replayed(content, lots):
    content["unit"] = lots.choice(("paper-trial-0-a01", "paper-trial-1-a02", "paper-", "lesson-x"))
    return _signed(content)


def _edited(content, lots):
    name = lots.choice([n for n in content["answers"] if n.startswith("q")])
    content["answers"][name]["given"] = {}
    return _bytes(content)


def _path_trick(content, lots):
    trick = lots.choice(("../../../etc/passwd", "/etc/passwd", "q01/../q02", "C:\\x", "q01\0"))
    where = lots.choice(("question", "part", "unit", "learner"))
    if where == "question":
        content["answers"][trick] = {"given": {}, "committed": ""}
    elif where == "part":
        content["answers"]["q01"]["given"][trick] = "x"
    else:
        content[where] = trick
    return _signed(content)


def _formula(content, lots):
    text = lots.choice(('=cmd|"/c calc"!A0', "+1+1", "-1", "@SUM(1)", "\t=1", "\r\n=1", "<script>"))
    for entry in content["answers"].values():
        entry["given"] = {ask: text for ask in entry["given"]}
    return _signed(content)


def _not_text(content, lots):
    data = bytearray(_bytes(content))
    data[lots.randrange(len(data))] = lots.choice((0xFF, 0xFE, 0xC0, 0x80))
    return bytes(data)


def _half_sign(content, lots):
    for name, entry in content["answers"].items():
        if name.startswith("q12"):
            entry["given"] = {ask: "\ud800" for ask in entry["given"]}
    return _signed(content)


def _huge(content, lots):
    content["aircraft"] = "x" * lots.choice((101, LARGEST_BYTES, 4 * LARGEST_BYTES))
    return _bytes(content)


def _no_constant(content, lots):
    content["schema"] = "HERE"
    odd = lots.choice((b"NaN", b"Infinity", b"1e999", b"9" * 5000, b"2.0000000000000001", b"true"))
    return _bytes(content).replace(b'"HERE"', odd)


def _stuffed(content, lots):
    content["drafts"] = {f"d{n}": {"a": "x" * 1900} for n in range(200)}
    return _bytes(content)


def _rubbish(content, lots):
    return lots.choice((b"", b"   ", lots.randbytes(300), b"[]", b"0", b"null", b'"x"', b"{}"))


_HOSTILE = (
    _truncated, _deep, _wrong_type, _wrong_entry, _other_code, _replayed, _edited, _path_trick,
    _formula, _not_text, _half_sign, _huge, _no_constant, _stuffed,
    _rubbish,
)  # fmt: skip


def test_hostile_sheets_are_each_named_and_nothing_is_lost(folder, sitting, tmp_path):
    """One folder full of them beside five sound sheets: all five are marked as if alone.

    Every other file is in one of the two lists; no file in the folder is touched; memory stays
    bounded; nothing is written outside.
    """
    lots, place = random.Random(23), tmp_path / "sheets"
    for one in issued()[1:]:
        written(place, sheet_for(one.key))
    sound = marks(mark_sitting(folder, sitting.name, place, work=map))
    for number in range(HOSTILE):
        (place / f"hostile-{number:04}.json").write_bytes(hostile(number, lots))
    (place / "=cmd.json").write_bytes(b"{}")
    (place / "folder.json").mkdir()
    (place / "link.json").symlink_to("/etc/passwd")
    (place / "none.json").symlink_to(tmp_path / "nowhere")
    os.mkfifo(place / "pipe.json")
    odd = os.fsdecode(b"\xff\xfe.json")
    (place / odd).write_bytes(b"{}")
    before = {p.name: p.stat().st_size for p in place.iterdir() if p.is_file()}
    tracemalloc.start()
    marked = mark_sitting(folder, sitting.name, place, work=map)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    named = [p.file for p in marked.papers] + [a.file for a in marked.set_aside]
    assert len(named) == len(set(named)) == len(list(place.iterdir()))
    assert {n: m for n, m in marks(marked).items() if n != "A01"} == sound
    assert all(len(a.reason) > 10 for a in marked.set_aside)
    assert {p.name: p.stat().st_size for p in place.iterdir() if p.is_file()} == before
    assert peak < MEMORY + EACH * HOSTILE, peak
    text = set_aside_csv(marked.set_aside)
    assert not any(row[:1] in "=+@-\t" for row in text.splitlines() if row)
    assert text.encode() and "'=cmd.json" in text
    assert verify(folder / LOG_FILE) == ()


def test_each_kind_of_hostile_sheet_alone_is_set_aside_or_marked_safely(folder, sitting, tmp_path):
    """By itself, so that no other sheet of A01 hides it: named with its reason."""
    lots, marked_alone = random.Random(7), set()
    for number, make in enumerate(_HOSTILE * 3):
        place = tmp_path / f"alone-{number}"
        place.mkdir()
        (place / "a.json").write_bytes(hostile(number, lots))
        marked = mark_sitting(folder, sitting.name, place, work=map)
        assert len(marked.papers) + len(marked.set_aside) == 1
        if marked.papers:
            marked_alone.add(make.__name__)
            assert marked.papers[0].marks <= marked.papers[0].full
    assert marked_alone <= {"_formula", "_no_constant", "_wrong_type", "_stuffed"}


def test_two_sheets_of_a_learner_are_both_set_aside(folder, sitting, sheets):
    """Nobody guesses which one counts."""
    written(sheets, sheet_for(issued()[0].key)).rename(sheets / "copy.json")
    written(sheets, sheet_for(issued()[0].key, {}))
    marked = mark_sitting(folder, sitting.name, sheets, work=map)
    assert [a.file for a in marked.set_aside] == ["copy.json", "paper-trial-1-a01.A01.json"]
    assert "A01" not in marks(marked) and len(marked.papers) == len(LEARNERS) - 1


def test_a_copy_of_a_sheet_is_left_alone_and_the_sheet_is_marked(folder, sitting, sheets):
    """Saved twice under other names: it counts once, and the copy is named, not as a fault."""
    path = written(sheets, sheet_for(issued()[0].key))
    (sheets / "zz.json").write_bytes(path.read_bytes())
    marked = mark_sitting(folder, sitting.name, sheets, work=map)
    (left,) = marked.set_aside
    assert left.file == "zz.json" and not left.is_fault and path.name in left.reason
    assert len(marked.papers) == len(LEARNERS)


# ------------------------------------------------------------------------------- stops
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_marking_that_is_killed_is_marked_again_to_the_same(folder, sitting, sheets):
    """Killed at random instants: the log verifies, nobody is marked twice, the marks are the same.

    The kills are spread over the whole of a marking, whose length is taken here.
    """
    log, lots = folder / LOG_FILE, random.Random(41)
    was = marks(mark_sitting(folder, sitting.name, sheets, work=map))
    begun = time.monotonic()
    mark_sitting(folder, sitting.name, sheets, work=map)
    length = time.monotonic() - begun
    parts = [p for p in folder.iterdir() if p.name.startswith(log.name.partition(".")[0])]
    died = 0
    for _ in range(KILLS):
        for path in parts:
            path.unlink(missing_ok=True)
        child = os.fork()
        if child == 0:
            try:
                mark_sitting(folder, sitting.name, sheets, work=map)
            finally:
                os._exit(0)
        time.sleep(lots.uniform(0.0, 1.1 * length))
        os.kill(child, signal.SIGKILL)
        died += os.WIFSIGNALED(os.waitpid(child, 0)[1])
        assert not log.exists() or verify(log) == () or "torn" in verify(log)[0]
        assert marks(mark_sitting(folder, sitting.name, sheets, work=map)) == was
        assert verify(log) == ()
        assert sorted(logged(folder, "marked")) == sorted(LEARNERS)
    assert died > 0
