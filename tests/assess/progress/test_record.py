"""The record of progress on disk: what it reports as kept is there, whatever happens."""

import json
import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from fuelkit.assess.integrity.scan import scan
from fuelkit.assess.mark_folder import mark_folder
from fuelkit.assess.progress.lines import head, parsed, written
from fuelkit.assess.progress.record import ProgressRecord
from fuelkit.assess.sheet import SheetError
from tests.assess.progress.entries import believed, tried

KILLS = int(os.environ.get("FUELKIT_PROGRESS_KILLS", "5"))
"""How often a writer is killed here; 200 takes some minutes."""

ENTRIES = tuple(tried("cruise", "run-on", True, board=f"b{n}") for n in range(4))


@pytest.fixture
def record(tmp_path):
    """A record of some entries."""
    record = ProgressRecord(tmp_path / "answers", "A07")
    record.add(*ENTRIES)
    return record


def test_what_is_added_is_read_again(tmp_path):
    """Entry by entry, in order; another learner's is another file; it can be read by a person."""
    record = ProgressRecord(tmp_path, "A07")
    assert record.entries() == ()
    for entry in ENTRIES:
        record.add(entry)
    assert ProgressRecord(tmp_path, "A07").entries() == ENTRIES
    assert ProgressRecord(tmp_path, "A08").entries() == ()
    lines = record.path.read_text("utf-8").splitlines()
    assert json.loads(lines[0])["schema"] == 1 and '"right": true' in lines[1]


def test_a_stop_at_any_byte_loses_no_whole_entry(record):
    """Cut off anywhere, the file gives the entries before the cut and takes new ones."""
    whole = record.path.read_bytes()
    for length in range(0, len(whole), 19):
        record.path.write_bytes(whole[:length])
        count = max(0, whole[:length].count(b"\n") - 1)
        again = ProgressRecord(record.folder, "A07")
        assert again.entries() == ENTRIES[:count]
        again.add(ENTRIES[3])
        assert again.entries() == (*ENTRIES[:count], ENTRIES[3])
        torn = bool(length) and whole[length - 1 : length] != b"\n"
        begun = length < len(whole.split(b"\n")[0])
        assert bool(again.note) == (torn and not begun), length
        for piece in again.set_aside():
            piece.unlink()


def test_a_damaged_file_is_kept_aside_and_its_sound_lines_go_on(record):
    """Any byte wrong, anywhere: told, kept, and every other entry is still there."""
    whole, chance = record.path.read_bytes(), random.Random(5)
    for place in chance.sample(range(len(whole) - 1), 30):
        wrong = bytes([whole[place] ^ 1 << chance.randrange(8)])
        data = whole[:place] + wrong + whole[place + 1 :]
        record.path.write_bytes(data)
        again = ProgressRecord(record.folder, "A07")
        found = again.entries()
        assert [e for e in ENTRIES if e in found] == list(found)
        assert len(found) >= len(ENTRIES) - 2  # a line's end that is gone joins two
        (aside,) = again.set_aside()
        assert aside.read_bytes() == data and aside.name in again.note
        again.add(ENTRIES[0])
        assert again.entries() == (*found, ENTRIES[0])
        aside.unlink()


@pytest.mark.parametrize(
    "data",
    [b"\x00" * 500, b"{}\n", b"[]\n[]\n", b"\xff\xfe\n", b"[" * 5000 + b"\n", b'{"a": 1e999}\n',
     written(head("B01")) + written(ENTRIES[0]), written({**head("A07"), "schema": 9})],
)  # fmt: skip
def test_a_file_that_is_no_record_is_kept_aside(tmp_path, data):
    """Of nobody, of someone else, of another edition: a new one is begun, nothing is lost."""
    record = ProgressRecord(tmp_path, "A07")
    record.path.write_bytes(data)
    record.entries()
    record.add(ENTRIES[1])
    assert ENTRIES[1] in record.entries()
    assert [p.read_bytes() for p in record.set_aside()] == [data]


@pytest.mark.parametrize("field", ["time", "tries", "certainty", "more", "event", "unit"])
def test_a_line_that_says_something_else_is_not_taken(field):
    """With a right check, but a field that is not what it must be."""
    wrong = {**ENTRIES[0], field: ["x"]}
    assert parsed(written(wrong).strip()) is None
    assert parsed(written(ENTRIES[0]).strip()) == ENTRIES[0]


def test_a_file_that_is_too_large_is_told(record, monkeypatch):
    """Not read into memory, and not lost."""
    monkeypatch.setattr("fuelkit.assess.progress.record.LARGEST_BYTES", 10)
    with pytest.raises(SheetError, match="too large"):
        record.entries()


def test_two_notebooks_may_write_at_once(tmp_path):
    """Each entry is there once, and no line is broken."""
    entries = [tried("cruise", "run-on", True, board=f"b{n}") for n in range(24)]

    def write(entry):
        ProgressRecord(tmp_path, "A07").add(entry)

    with ThreadPoolExecutor(6) as threads:
        list(threads.map(write, entries))
    record = ProgressRecord(tmp_path, "A07")
    assert sorted(e["board"] for e in record.entries()) == sorted(e["board"] for e in entries)
    assert record.set_aside() == ()


_WRITER = textwrap.dedent("""
    import sys
    from fuelkit.assess.progress.record import ProgressRecord
    from tests.assess.progress.entries import tried
    record = ProgressRecord(sys.argv[1], "A07")
    for number in range(len(record.entries()), 100_000):
        record.add(tried("cruise", "run-on", True, board=f"b{number}"))
        print(number, flush=True)
""")


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX systems")
def test_no_entry_is_lost_when_the_writer_is_killed(tmp_path):
    """After every kill the record holds at least all that was reported, in order, whole."""
    chance = random.Random(3)
    for _ in range(KILLS):
        writer = subprocess.Popen([sys.executable, "-c", _WRITER, str(tmp_path)], text=True,
                                  stdout=subprocess.PIPE)  # fmt: skip
        first = writer.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.15))
        writer.send_signal(signal.SIGKILL)
        said = (first + writer.communicate()[0]).split()
        record = ProgressRecord(tmp_path, "A07")
        boards = [entry["board"] for entry in record.entries()]
        assert boards == [f"b{number}" for number in range(len(boards))]
        assert len(boards) > int(said[-1])


def test_erasing_leaves_nothing_but_that_it_was_erased(record):
    """Not in pieces that were set aside either."""
    record.path.write_bytes(record.path.read_bytes()[:-20])
    record.add(believed("no-run-on"))
    assert record.set_aside()
    record.erase()
    assert [entry["event"] for entry in record.entries()] == ["erased"]
    left = b"".join(p.read_bytes() for p in record.folder.iterdir())
    assert b"run-on" not in left and record.set_aside() == ()


def test_marking_and_giving_out_do_not_stumble_on_it(record):
    """`mark` sees no sheet in it, and the scan of what is given out refuses it."""
    assert mark_folder(record.folder) == ((), ())
    assert any("record of progress" in finding.why for finding in scan(record.path))
