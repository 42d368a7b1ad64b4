"""What a classroom is made of, without a hub: register, working copies, what is given out."""

import json
import os
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fuelkit.assess.answer_file import AT_HOME, LEARNER, sign_in, signed_in
from fuelkit.assess.delivery import VARIABLE, deliver
from fuelkit.assess.edition.making import EditionError
from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.sheet import Sheet, SheetError, write_sheet
from fuelkit.classroom import running, words
from fuelkit.classroom.course_copy import PARTS, give_out
from fuelkit.classroom.handed_in import by_work, listed
from fuelkit.classroom.layout import Classroom, ClassroomError, Settings
from fuelkit.classroom.register import INSTRUCTOR, Register, read_register, write_register
from fuelkit.classroom.working_copy import TOLD, renew
from fuelkit.command.classroom_slips import write_slips

DAY = date(2031, 5, 6)
PROJECT = Path(__file__).resolve().parents[2]
FEW = (
    "requirements.txt", "lessons/00_start_here.ipynb", "lessons/course.toml",
    "exercises/06_follow_the_cruise.ipynb", "fuelkit/__init__.py", "fuelkit/__main__.py",
)  # fmt: skip


@pytest.fixture
def classroom(tmp_path):
    """Give a classroom with nothing in it but its private folder."""
    found = Classroom(tmp_path)
    found.private.mkdir(mode=0o700)
    return found


@pytest.fixture
def course(tmp_path):
    """Give a small course as it is given out."""
    folder = tmp_path / "given-out"
    for name in ("lessons/01.ipynb", "lessons/pictures/a.png", "exercises/01.ipynb"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(notebook("first"))
    return folder


def notebook(source, output=""):
    """Return the text of a notebook of one cell."""
    cell = {"cell_type": "code", "source": [source], "outputs": [output], "metadata": {}}
    return json.dumps({"cells": [cell], "nbformat": 4})


# --------------------------------------------------------------------------- register and words
def test_a_class_grows_and_nobody_loses_their_word(classroom):
    """A longer list adds who is new; who was there keeps account and word."""
    first, told = Register({}).with_class(("A07", "B12"), "x-")
    write_register(classroom, first)
    again, more = read_register(classroom).with_class(("A07", "C3"), "x-")
    assert set(told) == {INSTRUCTOR, "A07", "B12"} and set(more) == {"C3"}
    assert again.learners == ("A07", "B12", "C3")
    assert again.entries["A07"] == first.entries["A07"]
    assert len({again.account(code) for code in again.learners}) == 3
    for code in again.learners:
        assert code.lower() not in again.account(code)


def test_a_register_that_others_could_read_is_refused(classroom):
    """Hashes are for root alone: a wider mode is an error, not a shrug."""
    write_register(classroom, Register({}).with_class(("A07",), "x-")[0])
    classroom.register_file.chmod(0o644)
    with pytest.raises(IntegrityError):
        read_register(classroom)


def test_a_damaged_register_is_named(classroom):
    """It is not taken for an empty class."""
    classroom.register_file.write_text('{"schema": 1}')
    classroom.register_file.chmod(0o600)
    with pytest.raises(ClassroomError, match="damaged"):
        read_register(classroom)


def test_the_instructors_code_is_nobody_elses():
    """A class list that has it is refused, and unknown codes are named."""
    with pytest.raises(ClassroomError, match=INSTRUCTOR):
        Register({}).with_class((INSTRUCTOR,), "x-")
    with pytest.raises(ClassroomError, match="Z9"):
        Register({}).with_new_word("Z9")


def test_words_differ_and_only_the_right_one_agrees():
    """Two hundred words are all different; a hash tells one from another; no hash, no way in."""
    drawn = {words.new_word() for _ in range(200)}
    assert len(drawn) == 200
    kept = words.hashed("ABCD-EFGH")
    assert "ABCD" not in kept and kept != words.hashed("ABCD-EFGH"), "salted"
    assert words.agrees("abcd efgh", kept) and not words.agrees("ABCD-EFGJ", kept)
    assert not words.agrees("", "") and not words.agrees("x" * 10_000, kept)


def test_slips_are_for_one_reader(tmp_path):
    """The page of slips has each code with its word, and the mode 0600."""
    path = write_slips(tmp_path / "slips.html", {"A07": "ABCD-EFGH"})
    assert "A07" in path.read_text() and "ABCD-EFGH" in path.read_text()
    assert path.stat().st_mode & 0o777 == 0o600


# ------------------------------------------------------------------------------- working copies
def test_a_copy_is_given_once_and_left_alone(course, tmp_path):
    """What a learner has shown and saved stays; nothing is told where nothing changed."""
    copy = tmp_path / "copy"
    assert renew(course, copy, DAY) == ()
    (copy / "lessons/01.ipynb").write_text(notebook("first", "shown"))
    assert renew(course, copy, DAY) == ()
    assert "shown" in (copy / "lessons/01.ipynb").read_text()
    assert not (copy / TOLD).exists()


def test_a_changed_lesson_is_renewed_and_told(course, tmp_path):
    """Outputs alone are no change of the learner's; answers beside it are not touched."""
    copy = tmp_path / "copy"
    renew(course, copy, DAY)
    (copy / "answers").mkdir()
    (copy / "answers/x.json").write_text("mine")
    (copy / "lessons/01.ipynb").write_text(notebook("first", "shown"))
    (course / "lessons/01.ipynb").write_text(notebook("second"))
    (course / "lessons/02.ipynb").write_text(notebook("new"))
    assert renew(course, copy, DAY) == ("lessons/01.ipynb", "lessons/02.ipynb")
    assert "second" in (copy / "lessons/01.ipynb").read_text()
    assert "lessons/01.ipynb" in (copy / TOLD).read_text()
    assert (copy / "answers/x.json").read_text() == "mine"
    assert renew(course, copy, DAY) == (), "told once"


def test_a_page_the_learner_changed_is_kept_beside_the_new_one(course, tmp_path):
    """Their own goes on under a name that says so, and that is told."""
    copy = tmp_path / "copy"
    renew(course, copy, DAY)
    (copy / "lessons/01.ipynb").write_text(notebook("my own words"))
    (course / "lessons/01.ipynb").write_text(notebook("second"))
    (told,) = renew(course, copy, DAY)
    assert "01 (mine, 2031-05-06).ipynb" in told
    assert "my own words" in (copy / "lessons/01 (mine, 2031-05-06).ipynb").read_text()
    assert "second" in (copy / "lessons/01.ipynb").read_text()


def test_a_copy_that_was_deleted_comes_back(course, tmp_path):
    """A learner who deletes a lesson has it again the next time, and so after a damaged record."""
    copy = tmp_path / "copy"
    renew(course, copy, DAY)
    (copy / "lessons/01.ipynb").unlink()
    (copy / ".given.json").write_text("{")
    renew(course, copy, DAY)
    assert (copy / "lessons/01.ipynb").read_text() == notebook("first")


# --------------------------------------------------------------------------- what is given out
@pytest.fixture
def source(tmp_path, monkeypatch):
    """Give the instructor's folder, in small, with the worked answers beside it."""
    monkeypatch.delenv("FUELKIT_AIRCRAFT", raising=False)
    folder = tmp_path / "source"
    for place in FEW:
        (folder / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(PROJECT / place, folder / place)
    (folder / "solutions").mkdir()
    (folder / "solutions/a.ipynb").write_text("the answers")
    return folder


def plain(source, outputs=()):
    """Return the text of a notebook of one cell."""
    cell = {
        "cell_type": "code", "id": "a", "source": [source], "outputs": list(outputs),
        "metadata": {}, "execution_count": None,
    }  # fmt: skip
    return json.dumps({"cells": [cell], "metadata": {}, "nbformat": 4, "nbformat_minor": 5})


def test_solutions_are_not_given_out(source, tmp_path):
    """Learners get the parts that are named, readable by all and writable by their owner alone."""
    course = tmp_path / "course"
    assert give_out(source, course) == PARTS
    assert sorted(p.name for p in course.iterdir()) == sorted(PARTS)
    for path in course.rglob("*"):
        assert path.stat().st_mode & 0o777 == (0o755 if path.is_dir() else 0o644)


def test_only_what_changed_is_given_out_again(source, tmp_path):
    """Done twice nothing happens; a change replaces its part whole."""
    course = tmp_path / "course"
    give_out(source, course)
    assert give_out(source, course) == ()
    (source / "lessons/b.ipynb").write_text(plain("more"))
    (source / "exercises/a.ipynb").write_text(plain("other"))
    assert give_out(source, course) == ("lessons", "exercises")
    (source / "lessons/b.ipynb").unlink()
    assert give_out(source, course) == ("lessons",)
    assert not (course / "lessons/b.ipynb").exists()


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("lessons/key.json", "A07"),
        ("exercises/class-list.txt", "A07"),
        ("fuelkit/data.csv", "A07"),
        ("lessons/shown.ipynb", plain("x", [{"output_type": "stream", "text": "shown"}])),
        ("lessons/notes.ipynb", plain("a secret of the tests")),
    ],
)
def test_what_is_not_for_learners_is_refused(source, tmp_path, name, text):
    """It is named, what an instructor's run has left in a lesson too, and nothing is given out."""
    (source / name).write_text(text)
    with pytest.raises(EditionError, match=Path(name).name):
        give_out(source, tmp_path / "course", [b"a secret of the tests"])
    assert not (tmp_path / "course").exists()


def test_a_part_that_is_missing_is_named(source, tmp_path):
    """An incomplete course is not given out."""
    shutil.rmtree(source / "exercises")
    with pytest.raises(ClassroomError, match="exercises is missing"):
        give_out(source, tmp_path / "course")


# ---------------------------------------------------------------------------- what is handed in
def test_papers_of_a_sitting_are_told_together_whoever_they_are_for(tmp_path):
    """Each learner's paper has a name of its own; who is missing is told once for the sitting."""
    for unit, code in (
        ("paper-fuel-1-a07", "A07"), ("paper-fuel-1-b-12", "B-12"), ("exercise-climb", "A07"),
    ):  # fmt: skip
        write_sheet(handed_in(unit, code), tmp_path / f"{unit}.{code}.json")
    found = by_work(listed(tmp_path), ("A07", "B-12", "C3"))
    assert [(work, len(own), missing) for work, own, missing in found] == [
        ("exercise-climb", 1, ("B-12", "C3")), ("paper-fuel-1", 2, ("C3",)),
    ]  # fmt: skip


def handed_in(unit, code):
    """Return a sheet as it is handed in."""
    sheet = replace(Sheet(unit, code, "0"), handed_in="2031-05-06T10:00:00Z")
    return replace(sheet, receipt=sheet.true_receipt())


# ------------------------------------------------------------------------ settings and running
def test_settings_are_kept_and_damage_is_named(classroom):
    """The next start has them; a damaged file is not taken for the usual settings."""
    assert classroom.read_settings() == Settings()
    classroom.write_settings(Settings(port=9000))
    assert classroom.read_settings().port == 9000
    classroom.settings_file.write_text('{"schema": 1, "what": 2}')
    with pytest.raises(ClassroomError, match="cannot be used"):
        classroom.read_settings()


def test_there_is_one_hub_at_a_time(classroom):
    """A second start is told that the classroom is running; afterwards it may be started again."""
    hub = running.Hub(classroom, Settings())
    with hub.alone():
        assert running.is_running(classroom)
        with pytest.raises(ClassroomError, match="running already"), hub.alone():
            pass
    assert not running.is_running(classroom)


def test_another_process_with_an_old_number_is_left_alone(classroom):
    """A note of a proxy whose number belongs to another program now is dropped, not obeyed."""
    note = classroom.private / "proxy.pid"
    note.write_text(str(os.getpid()))
    running._forget_stranger(note, "no such program")
    assert not note.exists()


# -------------------------------------------------------------------------------- at home
def test_at_home_nothing_is_delivered_and_nobody_is_known(tmp_path, monkeypatch):
    """Without a classroom there is no desk, and a code is what the learner enters."""
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.delenv(LEARNER, raising=False)
    assert deliver(Sheet("exercise-climb", "A07", "0")) == ""
    assert signed_in(tmp_path) == AT_HOME
    assert sign_in(tmp_path, "b12") == signed_in(tmp_path) == "B12"


def test_a_desk_that_is_away_is_told_after_some_tries(monkeypatch):
    """The sentence says that the sheet is kept and what to do."""
    monkeypatch.setenv(VARIABLE, "http://127.0.0.1:9/services/desk/sheet")
    with pytest.raises(SheetError, match="kept here, but it has not reached"):
        deliver(Sheet("exercise-climb", "A07", "0"), pause=0.0)


# -------------------------------------------------------------------------------- on a cluster
def test_the_settings_of_a_cluster_can_be_made(classroom, monkeypatch):
    """The same roles, sign-in and desk; no cluster is tried, only that the settings stand."""
    settings = pytest.importorskip("fuelkit.classroom.settings")
    config = pytest.importorskip("traitlets.config").Config()
    place = classroom.folder / "register.json"
    monkeypatch.setenv("FUELKIT_REGISTER", str(place))
    write_register(classroom, Register({}).with_class(("A07",), "x-")[0])
    assert place.exists()
    settings.anywhere(config, classroom)
    settings.kubernetes(config, classroom)
    assert config.Authenticator.allowed_users == {"a07", "instructor"}
    assert config.Spawner.environment["FUELKIT_HAND_IN"].endswith("/services/desk/sheet")
    (desk,) = config.JupyterHub.services
    assert desk["url"].startswith("http://hub:")
    files = Path(settings.__file__).parent / "data/kubernetes"
    values = pytest.importorskip("yaml").safe_load((files / "values.yaml").read_text())
    assert str(desk["url"].rsplit(":")[-1]) == str(
        values["hub"]["service"]["extraPorts"][0]["port"]
    )
    assert "kubernetes(c" in values["hub"]["extraConfig"]["fuelkit"]
