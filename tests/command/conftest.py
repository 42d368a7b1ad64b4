"""A small course of its own for each test, and packages that are installed without a network."""

import os
import shutil
import subprocess
import sys
import sysconfig
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from fuelkit.command.environment import LEARNER, Environment, prepare

_PROJECT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Course:
    """A copy of the kit in a folder of its own, with what it takes to run its command line."""

    root: Path
    variables: dict

    @property
    def environment(self):
        """Its .venv."""
        return Environment(self.root)

    def start(self, *arguments, **more):
        """Start a command line of this course as a process."""
        return subprocess.Popen(
            [sys.executable, "-m", "fuelkit", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd=self.root,
            env={**self.variables, **more},
        )

    def run(self, *arguments, **more):
        """Run a command line to its end; return its exit code and its words on one line."""
        process = self.start(*arguments, **more)
        output, _ = process.communicate(timeout=240)
        return process.returncode, " ".join(output.split())


def write_wheel(folder, name, version, tag="py3-none-any"):
    """Write a package with one module and no code that matters, ready for pip."""
    information = f"{name}-{version}.dist-info"
    folder.mkdir(exist_ok=True)
    with zipfile.ZipFile(folder / f"{name}-{version}-{tag}.whl", "w") as wheel:
        wheel.writestr(f"{name}.py", f"VERSION = {version!r}\n")
        head = f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
        wheel.writestr(f"{information}/METADATA", head)
        kind = f"Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: {tag}\n"
        wheel.writestr(f"{information}/WHEEL", kind)
        wheel.writestr(f"{information}/RECORD", "")


@pytest.fixture(scope="session")
def _wheels(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheels")
    write_wheel(folder, "packet", "1.0")
    write_wheel(folder, "packet", "2.0")
    write_wheel(folder, "oldpacket", "1.0", tag="cp27-none-any")
    return folder


@pytest.fixture
def offline(_wheels, monkeypatch):
    """Let pip find the small packages of this folder and nothing else."""
    for name in list(os.environ):
        if name.startswith(("PIP_", "PYTEST_", "PYTHONPATH", "FUELKIT_")):
            monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(_wheels))


def _passing(folder, names):
    """What another process is writing just now and will have renamed."""
    return [name for name in names if ".pyc." in name or name.endswith(".part")]


@pytest.fixture
def bare_course(tmp_path, offline):
    """Give a course with nothing installed, which needs the package `packet` 1.0."""
    root = tmp_path / "A course, été"
    # With what Python has compiled: each command would else do so again, for seconds.
    shutil.copytree(_PROJECT / "fuelkit", root / "fuelkit", ignore=_passing)
    (root / "requirements.txt").write_text("packet==1.0  # a trial\n")
    (root / "tests").mkdir()
    (root / "tests" / "requirements.txt").write_text("")
    return Course(root, dict(os.environ))


@pytest.fixture(scope="session")
def _made(tmp_path_factory, _wheels):
    """Make one .venv, in the real way, for all tests that need one that is sound."""
    root = tmp_path_factory.mktemp("made")
    (root / "requirements.txt").write_text("packet==1.0\n")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PIP_CONFIG_FILE", os.devnull)
        patch.setenv("PIP_NO_INDEX", "1")
        patch.setenv("PIP_FIND_LINKS", str(_wheels))
        prepare(Environment(root), LEARNER)
    return root / ".venv"


@pytest.fixture
def course(bare_course, _made):
    """Give a course whose .venv is sound and holds `packet` 1.0."""
    shutil.copytree(_made, bare_course.root / ".venv", symlinks=True)
    return bare_course


@pytest.fixture
def furnished(course):
    """Give a course whose .venv also finds JupyterLab and pytest, those of this very Python."""
    here = sysconfig.get_path("purelib")
    (next(course.environment.folder.rglob("site-packages")) / "here.pth").write_text(here)
    return course
