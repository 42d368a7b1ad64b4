"""Sitting a paper: nothing opens before it is begun, nothing is told, nothing committed is lost."""

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from fuelkit.assess.integrity.canonical import canonical
from fuelkit.assess.integrity.receipt import confirms, heard
from fuelkit.assess.papers import time_limit
from fuelkit.assess.papers.begun import check_seal
from fuelkit.assess.papers.marking import mark_paper
from fuelkit.assess.papers.time_limit import digests, word_for
from fuelkit.assess.sheet import SheetError, read_sheet
from fuelkit.figures.quantities import UNITS
from fuelkit.show.papers.content import paper_content
from fuelkit.show.papers.form import HOW_MARKED, pass_mark
from fuelkit.show.papers.sitting import PaperError, PaperSitting, read_paper
from tests.small_sitting import SECRET, blueprint, issued, texts

KILLS = 200 if os.environ.get("FUELKIT_PAPERS") == "all" else 20
KEY = 0


@pytest.fixture(scope="module")
def content():
    """The first learner's paper, as JSON gives it back."""
    one = issued()[KEY]
    words = digests(SECRET, blueprint().sitting, one.key.learner)
    return json.loads(json.dumps(paper_content(one.key, one.seal, blueprint(), words)))


@pytest.fixture
def paper(content, tmp_path):
    """That paper, opened with an empty folder of answers."""
    return PaperSitting(content, tmp_path / "answers")


def begun(paper):
    """The same paper, begun."""
    paper.begin().commit({})
    return paper


def right(number):
    """Right answers to a question, as the board takes them."""
    return texts(issued()[KEY].key.questions[number - 1])


def board(paper, number):
    """The board of a question, whether it opened at once or later."""
    place = paper.question(number)
    return place if hasattr(place, "commit") else place.children[0]


def test_the_cover_says_how_marks_are_earned_and_when_the_time_is_up(paper):
    """Before Begin: what earns marks, that a commit is final; after it: when it ends."""
    cover = paper.begin()
    assert HOW_MARKED in cover.lead and "stays as it is then" in cover.lead
    assert "\n" not in cover.lead and "The pass mark is 75 %." in cover.lead
    assert not any(pass_mark({"pass_share": share}) for share in ("75", None, 7.5, -1.0))
    begun(paper)
    assert re.search(r"The time is up at \d\d:\d\d by this machine's clock", paper.begin().note)


def test_nothing_opens_before_it_is_begun_and_then_by_itself(paper):
    """Each place shows a sentence and no question; begun, all have opened."""
    places = [paper.question(number) for number in range(1, 13)]
    assert not any(place.is_open for place in places)
    assert all("opens when you have begun" in place.children[0].closed for place in places)
    assert not any(place.children[0].html for place in places)
    begun(paper)
    assert all(place.is_open for place in places)
    assert "has 12 questions" in paper.question(13).text


def test_nothing_is_told_on_commit(paper):
    """Right or wrong: the board has no comparison, no reason and the very same words."""
    begun(paper)
    notes = set()
    for number in range(1, 13):
        shown = board(paper, number)
        said = right(number)
        if number % 2:
            said = {name: f"1 {a['unit']}" if a["kind"] == "number" else said[name]
                    for name, a in zip(said, shown.asks, strict=True)}  # fmt: skip
        shown.commit(said)
        assert shown.committed, (number, shown.error)
        assert not (shown.comparison or shown.after_drawing or shown.after_table)
        notes.add(shown.note.split("(")[0] + shown.note.rpartition(")")[2])
    assert notes == {"Committed and saved . Nothing is told until the papers are marked."}


def test_a_figure_that_cannot_be_read_is_asked_again(paper, content):
    """In a sheet: nothing is saved, and the sentence says what would be readable."""
    begun(paper)
    number, question = next(
        (n, q) for n, q in enumerate(content["questions"], start=1)
        if any(a["kind"] == "number" and a["unit"] in UNITS for a in q["asks"])
        and len(q["asks"]) > 2
    )  # fmt: skip
    asked = next(a for a in question["asks"] if a["kind"] == "number")
    shown = board(paper, number)
    shown.commit({**right(number), asked["id"]: "a good deal"})
    assert not shown.committed and "'a good deal' cannot be read" in shown.error
    assert asked["unit"] in shown.error and question["name"] not in paper.file.sheet.answers
    shown.commit(right(number))
    assert shown.committed


def test_parts_that_are_left_open_are_asked_about_once(paper, content):
    """As on paper, what is worked so far can be kept; all left open, there is nothing to keep."""
    begun(paper)
    number, question = next(
        (n, q) for n, q in enumerate(content["questions"], start=1) if len(q["asks"]) > 3
    )
    first, second, *_ = right(number)
    shown, some = board(paper, number), dict.fromkeys(right(number), "")
    shown.commit(some)
    assert not shown.committed and "Nothing is answered" in shown.error
    some[first] = right(number)[first]
    shown.commit(some)
    assert not shown.committed and "Parts still open" in shown.error and "once more" in shown.error
    assert question["asks"][1]["text"] in shown.error
    some[second] = right(number)[second]  # others are open now: asked anew
    shown.commit(some)
    assert not shown.committed and question["asks"][1]["text"] not in shown.error
    shown.commit(some)
    assert shown.committed, shown.error
    assert paper.file.sheet.answers[question["name"]]["given"] == some


def test_an_event_takes_one_place_of_an_order(paper, content):
    """Set twice, nothing is saved, and the event is named; each in one place is taken."""
    begun(paper)
    number = next(
        n for n, q in enumerate(content["questions"], start=1)
        if len(q["asks"]) > 1 and all(a.get("once") for a in q["asks"])
    )  # fmt: skip
    shown, given = board(paper, number), right(number)
    first, second, *_ = given
    shown.commit({**given, second: given[first]})
    assert not shown.committed and f"'{given[first]}' takes 2 places" in shown.error
    shown.commit(given)
    assert shown.committed, shown.error


def test_answers_and_drafts_are_there_after_a_new_open(paper, content, tmp_path):
    """What was committed stays committed; what was only set is set again, and says so."""
    begun(paper)
    board(paper, 1).commit(right(1))
    draft = {name: text for name, text in list(right(2).items())[:1]}
    board(paper, 2).answers = draft
    again = PaperSitting(content, tmp_path / "answers")
    first, second = board(again, 1), board(again, 2)
    assert first.committed and dict(first.answers) == right(1)
    assert not second.committed and dict(second.answers) == draft
    assert second.restored_note == "What you had set was restored."
    first.commit({name: "OFF" for name in right(1)})
    assert again.file.sheet.answers["q01"]["given"] == right(1)


def test_time_that_is_up_refuses_and_a_word_gives_more(paper, monkeypatch):
    """After 61 of 60 minutes: refused, nothing saved; a word for 10 lets it through once."""
    begun(paper)
    shown, real = board(paper, 1), time_limit.now
    monkeypatch.setattr(time_limit, "now", lambda: real() + timedelta(minutes=61))
    shown.commit(right(1))
    assert not shown.committed and "time is up" in shown.error
    assert "q01" not in paper.file.sheet.answers
    assert "time is up: hand in, unless" in paper.begin().note
    more = paper.more_time()
    more.commit({"word": "0000-0000"})
    assert "not known for this paper" in more.error and not more.committed
    other = paper.more_time()
    other.commit({"word": word_for(SECRET, "trial-1", "A02", 10)})
    assert "not known for this paper" in other.error
    more.commit({"word": word_for(SECRET, "trial-1", "A01", 10)})
    assert more.committed and "10 minutes more" in more.note
    twice = paper.more_time()
    twice.commit({"word": word_for(SECRET, "trial-1", "A01", 10)})
    assert "entered before" in twice.error
    shown.commit(right(1))
    assert shown.committed
    monkeypatch.setattr(time_limit, "now", lambda: real() + timedelta(minutes=71))
    late = board(paper, 2)
    late.commit(right(2))
    assert "time is up" in late.error


def test_what_was_set_when_the_time_was_up_counts_as_it_stood(paper, monkeypatch, content):
    """Committed or not; what is changed later counts no more. Handed in at once, and not late."""
    begun(paper)
    first, second = board(paper, 1), board(paper, 2)
    first.answers = right(1)
    half = dict(list(right(2).items())[:1])
    second.answers = half
    early = paper.hand_in()
    board(paper, 3).commit(right(3))
    early.commit({})
    assert "still open" in early.error and "1 (set, not committed), 2 (set, not" in early.error
    real = time_limit.now
    monkeypatch.setattr(time_limit, "now", lambda: real() + timedelta(minutes=61))
    first.answers = {name: "" for name in right(1)}
    assert "counts no more" in first.error
    shown = []
    first.send = shown.append
    first._heard(first, {"kind": "left"}, [])
    assert shown[0]["seconds"] < 0.0 and early.lead.startswith("The time is up. 1 of 12")
    assert "what was set in the others by then counts as it stood" in early.lead
    end = paper.hand_in()
    assert end.lead == early.lead
    end.commit({})
    assert first.committed and first.answers == right(1) and "Committed" in first.note
    assert end.committed and "Your receipt" in end.note
    assert end.lead == "Handed in with 3 of 12 questions, for learner A01."
    sheet = read_sheet(paper.file.path)
    assert set(sheet.answers) == {"begin", "q01", "q02", "q03"} and not sheet.drafts
    assert sheet.answers["q01"]["given"] == right(1)
    assert {k: v for k, v in sheet.answers["q02"]["given"].items() if v} == half
    begin, committed = (sheet.answers[n]["committed"] for n in ("begin", "q01"))
    assert committed == time_limit.end_of(begin, content["minutes"], 0.0)
    marked = mark_paper(issued()[KEY].key, sheet, minutes=60.0)
    assert marked.late == () and marked.boards[0].marks == marked.boards[0].full > 0.0
    again = paper.hand_in()
    assert again.committed and again.note == end.note


def test_what_is_left_of_the_time_is_told_when_a_board_asks(paper, content):
    """In seconds, by the clock of Python; once more by itself when there is more of it."""
    begun(paper)
    shown, told = board(paper, 1), []
    shown.send = told.append
    assert shown.timed
    shown._heard(shown, {"kind": "left"}, [])
    paper.more_time().commit({"word": word_for(SECRET, "trial-1", "A01", 10)})
    assert [message["kind"] for message in told] == ["left", "left"]
    limit = 60.0 * content["minutes"]
    assert 0.0 <= limit - told[0]["seconds"] < 30.0
    assert 0.0 <= limit + 600.0 - told[1]["seconds"] < 30.0


def test_answers_to_a_paper_that_was_replaced_are_put_aside_not_lost(content, tmp_path):
    """The new paper begins anew; what answers the old one is kept, and not marked by its key."""
    old = begun(PaperSitting(content, tmp_path / "answers"))
    board(old, 1).commit(right(1))
    with pytest.raises(SheetError, match="in whose place another one was drawn"):
        check_seal(old.file.sheet, "0" * 64)
    check_seal(old.file.sheet, issued()[KEY].seal.digest)
    check_seal(replace(old.file.sheet, answers={}), "0" * 64)
    new = PaperSitting(content | {"seal": "0000 " * 16}, tmp_path / "answers")
    assert not new.file.sheet.answers and "put-aside" in new.file.note
    (kept,) = (tmp_path / "answers").glob("*.put-aside-*")
    assert read_sheet(kept).answers["q01"]["given"] == right(1)


def test_a_paper_without_limit_counts_nothing_down(content, tmp_path):
    """Nor does a question that is committed, or one of a sheet that is handed in."""
    free = begun(PaperSitting(content | {"minutes": 0}, tmp_path / "free"))
    assert not board(free, 1).timed
    limited = begun(PaperSitting(content, tmp_path / "limited"))
    board(limited, 1).commit(right(1))
    assert not board(limited, 1).timed and board(limited, 2).timed
    hand_in, open_one = limited.hand_in(), board(limited, 2)
    hand_in.commit({})
    hand_in.commit({})
    again = board(limited, 2)
    assert hand_in.committed and not again.timed
    for closed in (open_one, again):  # there is nothing left to commit to
        assert closed.committed and "left open" in closed.note


def test_hand_in_gives_a_receipt_that_can_be_read_out(paper, content, tmp_path):
    """All right: full marks; the receipt confirms the sheet; then nothing can be changed."""
    begun(paper)
    empty = paper.hand_in()
    empty.commit({})
    assert "nothing to hand in" in empty.error.lower() and not empty.committed
    for number in range(1, 12):
        board(paper, number).commit(right(number))
    hand_in = paper.hand_in()
    assert "11 of 12" in hand_in.lead and "1 is still open" in hand_in.lead
    hand_in.commit({})
    assert "still open, which would earn nothing: 12." in hand_in.error
    assert not hand_in.committed
    board(paper, 12).commit(right(12))
    assert "12 of 12" in hand_in.lead
    hand_in.commit({})
    sheet = read_sheet(paper.file.path)
    told = next(w for w in hand_in.note.replace(".", " ").split() if w.count("-") == 3)
    data = canonical({"sheet": sheet.true_receipt(), "of": sheet.unit})
    assert confirms(heard(told.lower().replace("-", " ")), data)
    key = issued()[KEY].key
    reason = {q.name: 1.0 for q in key.questions if q.kind == "reason"}
    marked = mark_paper(key, sheet, awards=reason, minutes=60.0)
    assert marked.marks == marked.full == key.marks and marked.late == ()
    again = PaperSitting(content, tmp_path / "answers")
    assert told in again.hand_in().note and again.hand_in().committed


def test_a_damaged_paper_is_named(content, tmp_path):
    """No JSON, another file, another version, a field gone: a sentence, never a trace."""
    path = tmp_path / "paper.json"
    whole = json.dumps(content).encode()
    for data, words in (
        (whole[:-100], "damaged. Ask for it again"),
        (b"\xff\xfe", "damaged"),
        (b"[" * 100_000, "damaged"),
        (b"{}", "not a paper of this kit"),
        (json.dumps(content | {"schema": 9}).encode(), "version is 9"),
        (json.dumps(content | {"questions": {}}).encode(), "'questions' is damaged"),
        (json.dumps(content | {"minutes": "60"}).encode(), "'minutes' is damaged"),
    ):
        path.write_bytes(data)
        with pytest.raises(PaperError, match=words):
            read_paper(path)
    with pytest.raises(PaperError, match="cannot be read"):
        read_paper(tmp_path / "none.json")
    path.write_bytes(whole)
    assert read_paper(path) == content


_ROOT = str(Path(__file__).resolve().parents[3])
_SITTERS = """
import os, signal, sys
from fuelkit.show.papers.sitting import PaperSitting, read_paper

def sit(paper):
    paper.begin().commit({})
    for number in range(1, 9):
        paper.file.draft(f"q{number}", {"x": "draft"})
        paper.file.commit(f"q{number}", {"x": str(number)})
        print(number, flush=True)
    paper.hand_in().commit({})
    print("handed in", flush=True)

for line in sys.stdin:
    child = os.fork()
    if child == 0:
        print(os.getpid(), flush=True)
        sit(PaperSitting(read_paper(sys.argv[1]), line.strip()))
        signal.pause()  # it is killed in any case
    os.waitpid(child, 0)
    print("over", flush=True)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_nothing_committed_or_handed_in_is_lost_by_a_kill(content, tmp_path):
    """Killed at random instants between and within commits and handing in.

    The sheet is whole; all that was said to be kept is there; at most one more than was said;
    and a sheet that is handed in has its true receipt. Each sitter is forked, so that a kill
    costs no import.
    """
    path, lots, outcomes = tmp_path / "paper.json", random.Random(3), set()
    path.write_text(json.dumps({**content, "questions": []}))
    process = subprocess.Popen(
        [sys.executable, "-c", _SITTERS, str(path)], text=True, stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": _ROOT},
    )  # fmt: skip
    for turn in range(KILLS):
        folder = tmp_path / f"answers-{turn}"
        said = _killed(process, folder, lots.randrange(9), lots.uniform(0.0, 0.004))
        known = list(folder.glob("*.json"))
        answers, handed_in = {}, None
        if known:
            sheet = read_sheet(known[0])
            answers, handed_in = sheet.answers, sheet.handed_in
            assert handed_in is None or sheet.receipt == sheet.true_receipt()
        kept = [int(name[1:]) for name in answers if name.startswith("q")]
        assert kept in (list(range(1, len(said) + 1)), list(range(1, len(said) + 2)))
        assert all(answers[f"q{number}"]["given"] == {"x": str(number)} for number in kept)
        assert not list(folder.glob("*.put-aside-*"))
        outcomes.add(len(kept))
    process.stdin.close()
    process.wait()
    assert len(outcomes) > 3


def _killed(process, folder, lines, wait):
    """Let a sitter say so many lines, wait and kill it; return the numbers that it has said."""
    process.stdin.write(f"{folder}\n")
    process.stdin.flush()
    child = int(process.stdout.readline())
    said = [int(process.stdout.readline()) for _ in range(lines)]
    time.sleep(wait)
    os.kill(child, signal.SIGKILL)
    while (word := process.stdout.readline()) != "over\n":
        if word.strip().isdigit():
            said.append(int(word))
    return said
