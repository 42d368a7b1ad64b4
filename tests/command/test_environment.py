"""The .venv is made once, known to be whole, and made again when it is not."""

import errno
import json
import os
import shutil
import signal
import socket
import subprocess
import time

import psutil
import pytest

from fuelkit.command import environment as room
from fuelkit.command import lock
from fuelkit.command.environment import LEARNER, Condition, condition_of, prepare
from fuelkit.command.faults import CommandError

_POSIX = pytest.mark.skipif(os.name == "nt", reason="done in the way of POSIX systems")


def packet(course):
    """Return the version of `packet` that the course's own Python finds, and the kit's place."""
    code = "import fuelkit, packet; print(packet.VERSION, fuelkit.__path__[0])"
    answer = subprocess.run(
        [course.environment.python, "-c", code], capture_output=True, cwd=course.root.parent
    )
    return answer.stdout.decode("utf-8", "replace").strip()


def test_the_first_run_installs_and_the_second_does_nothing(bare_course, capsys):
    """What is installed works from any folder; then there is nothing to do or to say."""
    assert condition_of(bare_course.environment, LEARNER) is Condition.ABSENT
    prepare(bare_course.environment, LEARNER)

    first = capsys.readouterr().out
    assert "Setting up the course" in first
    assert "Installed 1 packages" in first
    assert packet(bare_course) == f"1.0 {bare_course.root / 'fuelkit'}"

    log = bare_course.environment.log.stat().st_mtime_ns
    prepare(bare_course.environment, LEARNER)
    assert capsys.readouterr().out == ""
    assert bare_course.environment.log.stat().st_mtime_ns == log


def test_a_changed_requirement_is_installed_into_what_is_there(course, capsys):
    """A new version comes in place; what else was in the .venv stays."""
    kept = course.environment.folder / "kept.txt"
    kept.write_text("still here")
    (course.root / "requirements.txt").write_text("packet==2.0\n")

    assert condition_of(course.environment, LEARNER) is Condition.OUTDATED
    prepare(course.environment, LEARNER)

    assert packet(course).startswith("2.0 ")
    assert kept.exists()
    assert condition_of(course.environment, LEARNER) is Condition.CURRENT


def test_a_changed_comment_changes_nothing(course):
    """Only what is asked for counts."""
    (course.root / "requirements.txt").write_text("# said otherwise\n\npacket==1.0\n")

    assert condition_of(course.environment, LEARNER) is Condition.CURRENT


def test_the_tests_packages_add_to_the_course_and_take_nothing(course):
    """After the developer's packages the learner's are still up to date."""
    both = ("requirements.txt", "tests/requirements.txt")
    (course.root / "tests" / "requirements.txt").write_text("packet<3\n")

    assert condition_of(course.environment, both) is Condition.OUTDATED
    prepare(course.environment, both)
    assert condition_of(course.environment, both) is Condition.CURRENT
    assert condition_of(course.environment, LEARNER) is Condition.CURRENT


def test_the_course_may_be_moved(course):
    """The kit is found at its new place, without a new installation."""
    moved = course.root.with_name("moved")
    course.root.rename(moved)
    there = type(course)(moved, course.variables)

    assert condition_of(there.environment, LEARNER) is Condition.CURRENT
    assert packet(there) == f"1.0 {moved / 'fuelkit'}"


def _no_python(folder):
    shutil.rmtree(folder / room.Environment(folder.parent).python.parent.name)


def _another_systems(folder):
    _no_python(folder)
    (folder / ("bin" if os.name == "nt" else "Scripts")).mkdir()


def _base_deleted(folder):
    python = room.Environment(folder.parent).python
    python.unlink()
    python.symlink_to(folder / "deleted" / "python3")


def _python_that_fails(folder):
    python = room.Environment(folder.parent).python
    python.unlink()
    python.write_text("#!/bin/sh\nexit 127\n")
    python.chmod(0o755)


def _no_pip(folder):
    for part in next(folder.rglob("site-packages")).glob("pip*"):
        shutil.rmtree(part)


def _of_another_python(folder):
    stamp = folder / "fuelkit-stamp.json"
    stamp.write_text(json.dumps({**json.loads(stamp.read_text()), "python": [3, 99]}))


@pytest.mark.parametrize(
    "harm",
    [_no_python, _another_systems, _base_deleted, _python_that_fails, _no_pip, _of_another_python],
)
@_POSIX
def test_a_broken_venv_is_known(course, harm):
    """Made on another system, its Python deleted or replaced, or its pip gone."""
    harm(course.environment.folder)

    assert condition_of(course.environment, LEARNER) is Condition.BROKEN


def test_a_broken_venv_is_made_again(course, capsys):
    """Nothing of the broken one is left, and the new one works."""
    _no_python(course.environment.folder)
    rest = course.environment.folder / "rest.txt"
    rest.write_text("of the broken one")

    prepare(course.environment, LEARNER)

    assert "does not work on this machine. It is made again." in capsys.readouterr().out
    assert packet(course).startswith("1.0 ")
    assert not rest.exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"schema": 1}',
        '{"schema": 2}',
        '{"schema": 1, "complete": "yes", "python": [], "files": {}}',
    ],
)
def test_a_stamp_that_cannot_be_understood_counts_as_interrupted(course, text):
    """Whatever stands in the file, the .venv is not trusted."""
    course.environment.stamp.write_text(text)

    assert condition_of(course.environment, LEARNER) is Condition.INTERRUPTED


def test_a_venv_made_by_hand_is_used_as_it_is(course):
    """Without a stamp but sound: the packages are installed into it, nothing is removed."""
    course.environment.stamp.unlink()
    own = course.environment.folder / "own.txt"
    own.write_text("mine")

    assert condition_of(course.environment, LEARNER) is Condition.UNSTAMPED
    prepare(course.environment, LEARNER)
    assert own.exists()
    assert condition_of(course.environment, LEARNER) is Condition.CURRENT


@pytest.fixture
def silent_index():
    """Give the address of a package index that takes calls and never answers."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield f"http://127.0.0.1:{server.getsockname()[1]}/simple"


def _wait_for(truth):
    end = time.monotonic() + 300  # a busy machine fails no test
    while not truth() and time.monotonic() < end:
        time.sleep(0.05)
    assert truth()


def _start_and_wait_for_pip(course, index):
    """Start an installation whose pip then waits for an index that never answers."""
    course.environment.log.unlink(missing_ok=True)
    variables = {"PIP_INDEX_URL": index, "PIP_NO_INDEX": "0", "PIP_FIND_LINKS": ""}
    process = course.start("open", "--no-browser", **variables)
    log = course.environment.log
    _wait_for(lambda: log.exists() and "Looking in" in log.read_text())
    return process, psutil.Process(process.pid).children()


@_POSIX
def test_an_installation_that_was_killed_is_made_again(bare_course, silent_index, capsys):
    """The next run knows it, starts from nothing and ends well."""
    process, children = _start_and_wait_for_pip(bare_course, silent_index)
    for victim in (process, *children):
        victim.kill()
    psutil.wait_procs(children)
    process.communicate()

    assert condition_of(bare_course.environment, LEARNER) is Condition.INTERRUPTED
    prepare(bare_course.environment, LEARNER)
    assert "was interrupted" in capsys.readouterr().out
    assert packet(bare_course).startswith("1.0 ")


@_POSIX
def test_stopping_from_the_keyboard_ends_pip_too(course, silent_index):
    """One word, no traceback; what was there before stays in use, since nothing was changed."""
    (course.root / "requirements.txt").write_text("packet==2.0\n")
    process, children = _start_and_wait_for_pip(course, silent_index)
    process.send_signal(signal.SIGINT)
    output, _ = process.communicate(timeout=60)

    assert process.returncode == 130
    assert output.endswith("Stopped.\n")
    assert "Traceback" not in output
    assert not any(child.is_running() for child in children)
    assert condition_of(course.environment, LEARNER) is Condition.OUTDATED


@_POSIX
def test_a_pip_left_behind_by_a_kill_is_waited_for(course, silent_index):
    """While it may still write, no other installation begins."""
    (course.root / "requirements.txt").write_text("packet==2.0\n")
    process, (pip,) = _start_and_wait_for_pip(course, silent_index)
    process.kill()
    process.wait()

    with pytest.raises(CommandError, match="is being installed already"):
        prepare(course.environment, LEARNER)
    pip.kill()
    _wait_for(lambda: not pip.is_running())
    prepare(course.environment, LEARNER)
    assert packet(course).startswith("2.0 ")


def test_a_failed_update_that_changed_nothing_leaves_the_old_stamp(course):
    """With the network away the course that was there can still be used as it was."""
    before = course.environment.stamp.read_text()
    old = (course.root / "requirements.txt").read_text()
    (course.root / "requirements.txt").write_text("packet==3.0\n")

    with pytest.raises(CommandError):
        prepare(course.environment, LEARNER)

    assert course.environment.stamp.read_text() == before
    (course.root / "requirements.txt").write_text(old)
    assert condition_of(course.environment, LEARNER) is Condition.CURRENT


def test_two_installations_at_once_are_refused(bare_course):
    """The second says that the first is at work, and touches nothing."""
    environment = bare_course.environment
    with (
        lock.held(environment.folder),
        pytest.raises(CommandError, match="is being installed already, in another window"),
    ):
        prepare(environment, LEARNER)

    assert not environment.stamp.exists()


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_how_to_get_it(bare_course, module, monkeypatch):
    """As Debian ships it."""
    find = room.importlib.util.find_spec
    monkeypatch.setattr(
        room.importlib.util, "find_spec", lambda name: None if name == module else find(name)
    )

    with pytest.raises(CommandError, match=f"'{module}' is missing.*sudo apt install python3-venv"):
        prepare(bare_course.environment, LEARNER)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "The disk is full. Free at least 1 GB"),
        (errno.EROFS, "cannot be written to. Move the course to a folder of your own"),
        (errno.EACCES, "cannot be written to. Move the course to a folder of your own"),
    ],
)
def test_a_folder_that_cannot_be_written_to_is_told(bare_course, number, words, monkeypatch):
    """The system's refusal becomes a sentence that says what to do."""

    def refuse(*arguments):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(room, "write_stamp", refuse)

    with pytest.raises(CommandError, match=words):
        prepare(bare_course.environment, LEARNER)


def test_a_missing_requirements_file_is_named(course):
    """The copy of the course is not whole."""
    (course.root / "requirements.txt").unlink()

    with pytest.raises(CommandError, match=r"requirements\.txt is missing. Copy the whole course"):
        prepare(course.environment, LEARNER)
