"""The instructor's folder: outside the course, for one reader, whole after a stop."""

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from fuelkit.assess.integrity import keeping
from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.keeping import (
    VARIABLE,
    instructor_folder,
    path_of,
    read_record,
    write_record,
)

posix = pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX systems")


def mode(path):
    """The permission bits of a file or folder."""
    return stat.S_IMODE(path.stat().st_mode)


def test_a_record_comes_back_as_it_was(folder):
    """Written, read, of its kind."""
    write_record(folder, "a paper.json", "key", {"q1": "é", "n": 1.5})
    assert read_record(folder, "a paper.json", "key") == {"q1": "é", "n": 1.5}


@posix
@pytest.mark.parametrize("umask", [0o000, 0o022, 0o077])
def test_folder_and_files_are_for_one_reader(tmp_path, monkeypatch, umask):
    """0700 and 0600, whatever the user's own habit is."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "deep" / "instructor"))
    before = os.umask(umask)
    try:
        folder = instructor_folder()
        path = write_record(folder, "secret.json", "secret", {"secret": "00"})
    finally:
        os.umask(before)
    assert (mode(folder), mode(path)) == (0o700, 0o600)


@posix
def test_a_file_is_never_open_to_others_not_for_an_instant(folder, monkeypatch):
    """Every file that is opened for writing has its mode from the call that makes it."""
    made = []
    opened = os.open

    def watched(path, flags, *rest, **more):
        handle = opened(path, flags, *rest, **more)
        if flags & os.O_CREAT:
            made.append(stat.S_IMODE(os.fstat(handle).st_mode))
        return handle

    before = os.umask(0)
    try:
        monkeypatch.setattr(os, "open", watched)
        write_record(folder, "key.json", "key", {})
    finally:
        os.umask(before)
    assert made and set(made) == {0o600}


@posix
def test_a_folder_that_others_can_read_is_refused_with_what_mends_it(folder):
    """The command in the message mends it."""
    folder.chmod(0o750)
    with pytest.raises(IntegrityError, match="others can get at") as refused:
        instructor_folder()
    command = str(refused.value).split("Mend it with: ")[1]
    subprocess.run(command, shell=True, check=True)
    assert instructor_folder() == folder


@posix
@pytest.mark.parametrize("wider", [0o640, 0o604, 0o620, 0o666])
def test_a_file_that_others_can_reach_is_not_read(folder, wider):
    """Nor trusted: the message says how to mend it."""
    path = write_record(folder, "key.json", "key", {"q": "a"})
    path.chmod(wider)
    with pytest.raises(IntegrityError, match="chmod 600"):
        read_record(folder, "key.json", "key")


@pytest.mark.parametrize("inner", ["", "inside", "in/side/deep"])
def test_a_folder_inside_the_course_is_refused(tmp_path, monkeypatch, inner):
    """Also the course folder itself; and nothing is made there."""
    course = tmp_path / "course"
    course.mkdir()
    monkeypatch.setenv(VARIABLE, str(course / inner))
    with pytest.raises(IntegrityError, match="inside the course folder"):
        instructor_folder(course)
    assert not list(course.iterdir())


def test_a_folder_around_the_course_is_refused(tmp_path, monkeypatch):
    """Learners get the course; what lies around it might be shared with it."""
    (tmp_path / "all" / "course").mkdir(parents=True)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "all"))
    with pytest.raises(IntegrityError, match="lies inside it"):
        instructor_folder(tmp_path / "all" / "course")


def test_the_folder_of_the_kit_is_refused_without_being_named(monkeypatch):
    """The kit's own folder is a course folder always."""
    kit = Path(keeping.__file__).parents[3]
    monkeypatch.setenv(VARIABLE, str(kit / "keys"))
    with pytest.raises(IntegrityError, match="inside the course folder"):
        instructor_folder()
    assert not (kit / "keys").exists()


@posix
def test_links_do_not_lead_around_the_refusal(tmp_path, monkeypatch):
    """A link into the course is the course; a linked course is too."""
    course = tmp_path / "course"
    course.mkdir()
    (tmp_path / "elsewhere").symlink_to(course)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "elsewhere" / "keys"))
    with pytest.raises(IntegrityError, match="inside the course folder"):
        instructor_folder(course)
    monkeypatch.setenv(VARIABLE, str(course / "keys"))
    with pytest.raises(IntegrityError, match="inside the course folder"):
        instructor_folder(tmp_path / "elsewhere")


def test_a_neighbour_with_a_name_that_begins_alike_is_no_part(tmp_path, monkeypatch):
    """`course-keys` does not lie in `course`."""
    (tmp_path / "course").mkdir()
    monkeypatch.setenv(VARIABLE, str(tmp_path / "course-keys"))
    assert instructor_folder(tmp_path / "course").is_dir()


def test_a_path_that_depends_on_the_working_folder_is_refused(monkeypatch):
    """The same command elsewhere would use other keys."""
    monkeypatch.setenv(VARIABLE, "keys")
    with pytest.raises(IntegrityError, match="full path"):
        instructor_folder()


def test_without_the_variable_it_lies_in_the_home_folder(tmp_path, monkeypatch):
    """Where the system says the user's home is."""
    monkeypatch.delenv(VARIABLE, raising=False)
    for name in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(name, str(tmp_path))
    assert instructor_folder() == tmp_path / ".fuelkit-instructor"


def test_a_file_in_the_place_of_the_folder_is_named(tmp_path, monkeypatch):
    """No traceback."""
    (tmp_path / "file").write_text("x")
    for named in ("file", "file/inner"):
        monkeypatch.setenv(VARIABLE, str(tmp_path / named))
        with pytest.raises(IntegrityError, match="instructor's folder"):
            instructor_folder()


@pytest.mark.parametrize(
    "name", ["", ".", "..", "../x", "a/b", "a\\b", ".hidden", "x\0", "a\n", "c:x", "x" * 101, None]
)
def test_a_name_that_leads_elsewhere_is_refused(folder, name):
    """Only plain names of files in the folder."""
    with pytest.raises(IntegrityError, match="its name is"):
        path_of(folder, name)


@posix
def test_a_link_a_pipe_and_a_folder_are_not_read(folder, tmp_path):
    """Nothing is followed, nothing is waited for."""
    (tmp_path / "real.json").write_text("{}")
    (folder / "link.json").symlink_to(tmp_path / "real.json")
    os.mkfifo(folder / "pipe.json", 0o600)
    (folder / "folder.json").mkdir(mode=0o700)
    for name, why in [("link", "a link"), ("pipe", "plain file"), ("folder", "plain file")]:
        with pytest.raises(IntegrityError, match=why):
            read_record(folder, f"{name}.json", "key")


GOOD = {"format": keeping.FORMAT, "schema": 1, "kind": "key", "content": {}}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "damaged"),
        ("{", "damaged"),
        ("[" * 100_000, "damaged"),
        ("[]", "no record"),
        ("{}", "no record"),
        (json.dumps({**GOOD, "schema": 2}), "schema is 2; it must be 1"),
        (json.dumps({**GOOD, "schema": True}), "schema is True"),
        (json.dumps({**GOOD, "kind": "log"}), "it is a 'log'; it must be a 'key'"),
        (json.dumps({**GOOD, "content": None}), "content is missing"),
    ],
)
def test_a_damaged_or_foreign_record_is_named(folder, text, why):
    """What is wrong, in words."""
    keeping.write_private(folder / "key.json", text)
    with pytest.raises(IntegrityError, match=why):
        read_record(folder, "key.json", "key")


def test_a_missing_record_is_named(folder):
    """With the name of the file."""
    with pytest.raises(IntegrityError, match="'none.json': it cannot be opened"):
        read_record(folder, "none.json", "key")


def test_a_stop_in_the_middle_leaves_the_old_record(folder):
    """A process that dies between writing and renaming changes nothing."""
    write_record(folder, "key.json", "key", {"edition": 1})
    code = (
        "import os\n"
        "from pathlib import Path\n"
        "from fuelkit.assess.integrity import keeping\n"
        "os.replace = lambda *_: os._exit(9)\n"
        f"keeping.write_record(Path({str(folder)!r}), 'key.json', 'key', {{'edition': 2}})\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    assert subprocess.run([sys.executable, "-c", code], env=environment).returncode == 9
    assert read_record(folder, "key.json", "key") == {"edition": 1}
