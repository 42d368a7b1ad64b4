"""Stops in the middle of writing, and writers at once: nothing acknowledged is lost."""

import os
import random
import signal
import subprocess
import sys
import time

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.lock import held
from fuelkit.assess.integrity.log import FILE, append, entries, head
from fuelkit.assess.integrity.parts import parts_path
from fuelkit.assess.integrity.verify import verify
from tests.assess.integrity.log_tools import environment, marked, raw

KILLS = int(os.environ.get("FUELKIT_LOG_KILLS", "6"))
"""How often a writer is killed here; 200 takes some minutes."""

_WRITER = """
import sys
from pathlib import Path
from fuelkit.assess.integrity.entry import happened
from fuelkit.assess.integrity.log import append
for number in range(int(sys.argv[3])):
    made = append(
        Path(sys.argv[1]),
        happened("marked", "cruise", sys.argv[2], {"turn": number, "text": "x" * 5000}),
    )
    print(made[-1].number, made[-1].digest, flush=True)
"""


def writer(path, learner, count):
    """A process that writes entries and says which are written."""
    command = [sys.executable, "-c", _WRITER, str(path), learner, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment())


def acknowledged(text):
    """Number and digest of the entries that a writer said were written, whole lines only."""
    said = [line.split() for line in text.split("\n")[:-1]]
    return {int(number): digest for number, digest in said}


def test_no_acknowledged_entry_is_lost_when_the_writer_is_killed(folder):
    """Killed at random instants over and over: the chain is whole, each entry said is there."""
    path, chance, said = folder / FILE, random.Random(17), {}
    for _ in range(KILLS):
        process = writer(path, "A07", 100_000)
        first = process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.05))
        process.kill()
        said |= acknowledged(first + process.communicate()[0])
        append(path, marked("A08"))
        assert verify(path) == ()
    there = {entry.number: entry for entry in entries(path)}
    assert len(said) >= KILLS
    for number, digest in said.items():
        assert there[number].digest == digest
        assert there[number].personal["text"] == "x" * 5000
    turns = [e.number for e in there.values() if e.learner == "A08"]
    assert len(turns) == KILLS


def test_writers_at_once_do_not_tear_the_chain(folder):
    """Three processes, each with its entries in its own order, all there, none twice."""
    path, learners = folder / FILE, ("A01", "A02", "A03")
    processes = [writer(path, learner, 25) for learner in learners]
    said = {}
    for process in processes:
        said |= acknowledged(process.communicate()[0])
        assert process.returncode == 0
    found = entries(path)
    assert verify(path) == () and len(found) == 75
    assert said == {entry.number: entry.digest for entry in found}
    for learner in learners:
        assert [e.personal["turn"] for e in found if e.learner == learner] == list(range(25))


posix = pytest.mark.skipif(os.name != "posix", reason="needs fork")


def died_at(name, call, action):
    """Do something in a child that dies at its n-th call of a function of os; say if it did.

    A write is done by two thirds before, any other call not at all.
    """
    child = os.fork()
    if child == 0:
        status, real, count = 1, getattr(os, name), [0]

        def deadly(*words, **more):
            count[0] += 1
            if count[0] == call:
                if name == "write":
                    real(words[0], bytes(words[1])[: 2 * len(words[1]) // 3])
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*words, **more)

        try:
            setattr(os, name, deadly)
            action()
            status = 0
        finally:
            os._exit(status)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
    return os.WIFSIGNALED(status)


@posix
@pytest.mark.parametrize("name", ["write", "fsync", "ftruncate", "replace"])
def test_a_stop_at_each_step_of_an_append_is_mended(folder, name):
    """A torn line is mended and two entries written, with a stop at any step: all goes on."""
    path, deaths, events = folder / FILE, 0, []
    append(path, marked("A01"), marked("A02"))
    for call in range(1, 8):
        before = entries(path)
        with open(path, "ab") as file:
            file.write(b'{"before":"torn')
        deaths += died_at(name, call, lambda: append(path, marked("A03"), marked("A04")))
        made = append(path, marked("A05"))
        after = entries(path)
        assert after[: len(before)] == before and after[-1:] == made
        assert verify(path) == ()
        events += [entry.event for entry in after[len(before) :]]
    assert 0 < deaths < 7 and "mended" in events
    assert len(list(folder.glob("*.torn-*"))) >= 7


def test_a_torn_line_of_any_length_is_set_aside_with_notice(folder):
    """Cut at every length: found by verify, kept in a file of its own, noted in the log."""
    path = folder / FILE
    append(path, marked("A01"), marked("A02"))
    whole, last = path.read_bytes(), raw(path)[-1]
    for cut in range(1, len(last), 13):
        path.write_bytes(whole[:-cut])
        assert len(entries(path)) == 1 and head(path).number == 1
        assert "torn" in verify(path)[0]
        told = []
        append(path, marked("A03"), tell=told.append)
        found = entries(path)
        assert [e.event for e in found] == ["marked", "mended", "marked"]
        aside = folder / found[1].details["set aside"]
        assert aside.read_bytes() == last[:-cut] and aside.name in told[0]
        assert verify(path) == ()


def test_zeros_that_a_power_cut_left_are_set_aside(folder):
    """A file system may lengthen a file before it fills it."""
    path = folder / FILE
    append(path, marked("A01"))
    with open(path, "ab") as file:
        file.write(bytes(5000))
    append(path, marked("A02"))
    assert [e.event for e in entries(path)] == ["marked", "mended", "marked"]
    assert verify(path) == ()


def test_a_torn_personal_part_does_not_reach_the_next_one(folder):
    """The half line is cut off before the next is written."""
    path = folder / FILE
    append(path, marked("A01"))
    with open(parts_path(path), "ab") as file:
        file.write(b'{"format":"fuelkit mark log, pers')
    append(path, marked("A02"))
    assert [e.learner for e in entries(path)] == ["A01", "A02"] and verify(path) == ()


def test_rubbish_larger_than_any_entry_is_not_taken_for_a_torn_line(folder):
    """The numbers would begin again at 1; it is refused instead."""
    path = folder / FILE
    append(path, marked("A01"))
    with open(path, "ab") as file:
        file.write(b"x" * 9_000_000)
    with pytest.raises(IntegrityError, match="larger than any entry"):
        append(path, marked("A02"))


def test_what_is_acknowledged_was_brought_to_the_disk(folder, monkeypatch):
    """No write to log or personal parts is the last word: each is followed by fsync."""
    calls = []
    for name in ("write", "fsync"):
        real = getattr(os, name)
        monkeypatch.setattr(
            os, name, lambda *w, real=real, name=name: calls.append((name, w[0])) or real(*w)
        )
    append(folder / FILE, marked("A01"))
    written = [place for place, (name, _) in enumerate(calls) if name == "write"]
    assert len(written) == 2
    for place in written:
        assert calls[place + 1] == ("fsync", calls[place][1])


def test_a_lock_that_is_not_let_go_is_named(folder):
    """Not waited for without end; let go, it can be taken."""
    path = folder / FILE
    with held(path), pytest.raises(IntegrityError, match="another program"), held(path, 0.05):
        pass
    with held(path, 0.05):
        pass


def test_appending_many_at_once_is_one_write(folder):
    """A thousand entries, one after the other in the chain."""
    path = folder / FILE
    append(path, *[marked(f"A{number:03}") for number in range(1000)])
    assert [e.number for e in entries(path)] == list(range(1, 1001)) and verify(path) == ()
