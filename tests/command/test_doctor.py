"""`doctor` runs on any machine and says of each fault how to mend it."""

import errno
import tempfile
from collections import namedtuple

import pytest

from fuelkit.command import doctor
from fuelkit.command.environment import Environment

_Usage = namedtuple("_Usage", "total used free")


def test_a_fresh_machine_is_told_to_open_the_course(bare_course):
    """Nothing is installed, and the doctor installs nothing."""
    code, output = bare_course.run("doctor")

    assert code == 1
    assert "Python 3." in output
    assert "What is wrong 1. The course is not set up yet. Run: python -m fuelkit open" in output
    assert not bare_course.environment.folder.exists()


def test_a_sound_course_has_nothing_wrong(furnished):
    """The kernel was started and asked, each package is named with its version."""
    code, output = furnished.run("doctor")

    assert "Kernel starts, answers and finds the course" in output
    assert "packet 1.0" in output
    assert output.endswith("What is wrong Nothing found wrong.")
    assert code == 0


def test_a_kernel_that_does_not_find_the_course_is_told(furnished):
    """The file that leads from the .venv to the kit is gone, and the kernel runs elsewhere."""
    next(furnished.environment.folder.rglob("fuelkit.pth")).unlink()
    room = furnished.root / "fuelkit" / "command" / "probe.py"
    room.write_text(room.read_text().replace("import sys, fuelkit", "import sys, no_such_kit"))

    code, output = furnished.run("doctor")

    assert code == 1
    assert "The notebooks' kernel does not work (ModuleNotFoundError" in output


def test_packages_that_are_missing_or_of_another_version_are_named(furnished):
    """Someone took one away and changed another after the installation."""
    site = next(furnished.environment.folder.rglob("site-packages"))
    (site / "packet-1.0.dist-info").rename(site / "packet-1.5.dist-info")
    metadata = site / "packet-1.5.dist-info" / "METADATA"
    metadata.write_text(metadata.read_text().replace("1.0", "1.5"))

    code, output = furnished.run("doctor")
    assert code == 1
    assert "Package packet is 1.5; it must be ==1.0." in output

    (site / "packet-1.5.dist-info").rename(site / "gone")
    code, output = furnished.run("doctor")
    assert code == 1
    assert "Package packet is missing from .venv. Run: python -m fuelkit open --rebuild" in output


def test_packages_that_do_not_work_at_all_are_told(course):
    """The .venv has not even Jupyter."""
    code, output = course.run("doctor")

    assert code == 1
    assert "The packages in .venv do not work (ModuleNotFoundError" in output


def test_an_outdated_course_is_told(furnished):
    """The requirements have changed since."""
    (furnished.root / "requirements.txt").write_text("packet==2.0\n")

    code, output = furnished.run("doctor")

    assert code == 1
    assert "The course needs other packages than are installed." in output


@pytest.fixture
def findings(tmp_path, monkeypatch, capsys):
    """Give a function that runs the doctor in this process and returns code and words."""
    monkeypatch.setattr(Environment, "of_project", classmethod(lambda cls: cls(tmp_path)))
    (tmp_path / "requirements.txt").touch()

    def look():
        code = doctor.run(None)
        return code, " ".join(capsys.readouterr().out.split())

    return look


def test_a_folder_that_cannot_be_written_to_is_told(findings, tmp_path, monkeypatch):
    """It is tried, not asked for."""
    (tmp_path / "answers").mkdir()

    def refuse(dir):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(tempfile, "TemporaryFile", refuse)
    code, output = findings()

    assert code == 1
    assert "Answers folder cannot be written to" in output
    assert output.count("cannot be written to (Read-only file system). Move the course") == 2


def test_a_full_disk_is_told(findings, monkeypatch):
    """Less than the installation takes."""
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda place: _Usage(9e9, 9e9, 2e8))
    code, output = findings()

    assert code == 1
    assert "The disk is nearly full (0.2 GB free). Free at least 1 GB." in output


def test_a_missing_part_of_python_comes_before_the_advice_to_open(findings, monkeypatch):
    """Opening would only fail."""
    monkeypatch.setattr(doctor, "missing_module", lambda: "ensurepip")
    _, output = findings()

    assert "1. Python's own module 'ensurepip' is missing" in output
    assert "not set up yet" not in output
