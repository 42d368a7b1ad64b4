"""Purging: what is personal is gone from every file, and the chain can be checked as before."""

import json
import os
from datetime import date, datetime, timedelta

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.entry import happened
from fuelkit.assess.integrity.keeping import write_private
from fuelkit.assess.integrity.log import FILE, append, entries, head
from fuelkit.assess.integrity.names import names
from fuelkit.assess.integrity.parts import parts_path
from fuelkit.assess.integrity.purge import REMINDER, Purged, purge
from fuelkit.assess.integrity.sittings import due, new_sitting, sitting_of, sittings
from fuelkit.assess.integrity.verify import verify
from tests.assess.integrity.log_tools import marked
from tests.assess.integrity.test_log_stops import died_at, posix

LAST_DAY = date(2027, 6, 30)
AFTER = LAST_DAY + timedelta(days=1)
PERSONAL = ("ZZ17", "ZZ18", "because the left pump", "receipt-of-zz")


@pytest.fixture
def sat(folder):
    """A folder with two sittings, their answers and their entries."""
    for name in ("cruise", "climb"):
        new_sitting(folder, name, LAST_DAY if name == "cruise" else AFTER)
    personal = sitting_of(folder, "cruise").personal
    (personal / "answers").mkdir(mode=0o700)
    write_private(personal / "answers" / "ZZ17.json", '{"why": "because the left pump"}')
    write_private(personal / "ZZ18.json", '{"why": "because the left pump"}')
    other = sitting_of(folder, "climb").personal / "YY01.json"
    write_private(other, '{"why": "kept"}')
    path = folder / FILE
    append(path, marked("ZZ17", receipt="receipt-of-zz"), marked("YY01", "climb"))
    append(path, marked("ZZ18"), happened("released", "cruise", "ZZ17"))
    return folder


def found(folder, words):
    """The words that stand in any file of a folder, or in a file's name."""
    text = b""
    for place, _, files in os.walk(folder):
        for name in files:
            text += name.encode() + (path_bytes(os.path.join(place, name)))
    return [word for word in words if word.encode() in text]


def path_bytes(path):
    """The content of a file."""
    with open(path, "rb") as file:
        return file.read()


def test_what_is_personal_is_gone_from_every_file(sat):
    """Codes, answers, reasons, receipts, and the salts of the entries."""
    salts = [
        json.loads(line)["salt"]
        for line in parts_path(sat / FILE).read_text().splitlines()
        if json.loads(line)["learner"].startswith("ZZ")
    ]
    assert found(sat, [*PERSONAL, *salts]) == [*PERSONAL, *salts] and len(salts) == 3
    assert purge(sat, "cruise", AFTER) == Purged("cruise", 3, 2)
    assert found(sat, [*PERSONAL, *salts]) == []


def test_other_sittings_keep_what_they_have(sat):
    """Entries, parts and files of the sitting whose date has not come."""
    purge(sat, "cruise", AFTER)
    assert entries(sat / FILE)[1].learner == "YY01" and entries(sat / FILE)[1].personal
    assert found(sat, ["kept"]) == ["kept"]


def test_the_chain_can_be_checked_after_the_purge(sat):
    """No line was touched: an older head is met, the purge is an entry, the log goes on."""
    path = sat / FILE
    kept, before = head(path), path.read_bytes()
    purge(sat, "cruise", AFTER)
    assert path.read_bytes().startswith(before)
    assert verify(path, kept) == ()
    assert entries(path)[-1].event == "purged"
    append(path, marked("YY02", "climb"))
    assert verify(path, kept) == ()


def test_a_token_stands_for_each_learner_and_cannot_be_led_back(sat, tmp_path, monkeypatch):
    """Entries of one learner stay together; another purge of the same draws other tokens."""
    purge(sat, "cruise", AFTER)
    one, _, two, three, _ = entries(sat / FILE)
    assert one.learner == three.learner != two.learner
    assert one.learner.startswith("purged-") and one.personal is two.personal is None
    append(sat / FILE, marked("ZZ17"))
    purge(sat, "cruise", AFTER)
    assert entries(sat / FILE)[5].learner not in (one.learner, two.learner)


def test_a_changed_line_is_found_after_the_purge_too(sat):
    """The chain is still a chain."""
    purge(sat, "cruise", AFTER)
    path = sat / FILE
    path.write_bytes(path.read_bytes().replace(b'"released"', b'"marked"'))
    assert "Line 4" in verify(path)[0]


def test_a_part_taken_away_without_a_purge_is_no_purge(sat):
    """It is named."""
    place = parts_path(sat / FILE)
    place.write_bytes(b"".join(place.read_bytes().splitlines(keepends=True)[1:]))
    assert "no purge of it is recorded" in verify(sat / FILE)[0]


def test_before_its_date_a_sitting_is_purged_only_with_a_reason(sat):
    """The reason stays in the log."""
    with pytest.raises(IntegrityError, match="kept until 2027-06-30, and today is 2027-06-30"):
        purge(sat, "cruise", LAST_DAY)
    assert found(sat, PERSONAL) == list(PERSONAL)
    told = []
    purge(sat, "cruise", LAST_DAY, early="asked for by a learner", tell=told.append)
    assert entries(sat / FILE)[-1].details["why"] == "asked for by a learner"
    assert told == [REMINDER] and found(sat, PERSONAL) == []


def test_purging_twice_is_harmless(sat):
    """Nothing is left to do, nothing is written."""
    purge(sat, "cruise", AFTER)
    before = (sat / FILE).read_bytes()
    assert purge(sat, "cruise", AFTER) == Purged("cruise", 0, 0)
    assert (sat / FILE).read_bytes() == before


@posix
@pytest.mark.parametrize("name", ["write", "fsync", "replace", "rmdir"])
def test_a_purge_that_was_stopped_shows_and_can_be_ended(sat, name):
    """Killed at any step: either nothing is written yet, or verify says so until it is done."""
    stopped = 0
    for call in range(1, 9):
        if not died_at(name, call, lambda: purge(sat, "cruise", AFTER)):
            break
        stopped += 1
        said = verify(sat / FILE)
        assert all("torn" in s or "purge again" in s for s in said)
    purge(sat, "cruise", AFTER)
    assert stopped and found(sat, PERSONAL) == [] and verify(sat / FILE) == ()
    assert entries(sat / FILE)[1].learner == "YY01"


def test_a_damaged_log_is_not_purged(sat):
    """Which entries are whose could not be told; nothing is taken away."""
    path = sat / FILE
    path.write_bytes(path.read_bytes().replace(b'"marked"', b'"issued"', 1))
    with pytest.raises(IntegrityError, match="line 1: it is damaged"):
        purge(sat, "cruise", AFTER)
    assert found(sat, PERSONAL) == list(PERSONAL)


@posix
def test_a_purge_does_not_follow_links(sat, tmp_path):
    """What a link in the folder leads to stays; a folder that is a link is refused."""
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "file").write_text("stays")
    personal = sitting_of(sat, "cruise").personal
    (personal / "link").symlink_to(tmp_path / "elsewhere")
    purge(sat, "cruise", AFTER)
    assert (tmp_path / "elsewhere" / "file").exists() and not list(personal.iterdir())
    personal.rmdir()
    personal.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(IntegrityError, match="'personal' is a link"):
        purge(sat, "cruise", AFTER)
    assert (tmp_path / "elsewhere" / "file").exists()


def test_pieces_that_a_stop_left_are_purged(sat):
    """A half-written file beside its place may hold what is personal."""
    (sat / ".ZZ17.json.abc.part").write_text("because the left pump")
    purge(sat, "cruise", AFTER)
    assert found(sat, PERSONAL) == []


def test_sittings_are_due_the_day_after_their_last_day(sat):
    """Of several, those whose day is over."""
    assert [s.name for s in sittings(sat)] == ["climb", "cruise"]
    assert due(sat, LAST_DAY) == ()
    assert [s.name for s in due(sat, AFTER)] == ["cruise"]


@pytest.mark.parametrize("name", ["", "../x", "a/b", ".x", "x" * 61, None])
def test_a_sitting_with_a_name_that_leads_elsewhere_is_refused(folder, name):
    """It becomes the name of a folder."""
    with pytest.raises(IntegrityError, match="sitting: its name"):
        new_sitting(folder, name, LAST_DAY)


@pytest.mark.parametrize("day", ["2027-06-30", None, datetime(2027, 6, 30)])
def test_a_sitting_without_a_date_is_refused(folder, day):
    """A time would make the comparison of days unsure."""
    with pytest.raises(IntegrityError, match="must be a date"):
        new_sitting(folder, "cruise", day)


def test_an_unknown_sitting_is_named_with_those_that_are_there(sat):
    """So that a slip of the pen is seen."""
    with pytest.raises(IntegrityError, match="no 'cruse'; there is: climb, cruise"):
        purge(sat, "cruse", AFTER)


def test_names_are_read_by_code(folder):
    """With a mark at the beginning as spreadsheets write it, codes in any capitals."""
    assert names(folder) == {}
    write_private(folder / "names.csv", '\ufeffcode,name\r\na07,"Ash, Robin"\r\n\r\nB-2,Ó Name\r\n')
    assert names(folder) == {"A07": "Ash, Robin", "B-2": "Ó Name"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "first line"),
        ("name,code\n", "first line"),
        ("code,name\nA07\n", "line 2: it must be a code and a name"),
        ("code,name\nA07,\n", "line 2: it must be a code and a name"),
        ("code,name\nA 7,x\n", "line 2: learner code"),
        ("code,name\nA07,x\na07,y\n", "line 3: the code A07 stands there twice"),
        ('code,name\nA07,"x\n', "no CSV file"),
    ],
)
def test_a_faulty_list_of_names_is_named_by_its_line(folder, text, why):
    """What is wrong and what would be right."""
    write_private(folder / "names.csv", text)
    with pytest.raises(IntegrityError, match=why):
        names(folder)


@posix
def test_a_list_of_names_that_others_can_read_is_refused(folder):
    """As every file of the instructor's."""
    write_private(folder / "names.csv", "code,name\nA07,x\n")
    (folder / "names.csv").chmod(0o644)
    with pytest.raises(IntegrityError, match="chmod 600"):
        names(folder)
