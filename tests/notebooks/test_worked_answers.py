"""A worked answer is only worth its storage if a changed kit makes it fail: shown here."""

import os
import shutil
import subprocess
import sys

import pytest

from tests.notebooks.tidy import ROOT

CHANGES = {
    "a number of a rule": ("right inboard has lost 400 kg", "right inboard has lost 350 kg"),
    "a delay": ("after_s = 300", "after_s = 240"),
    "a pump's head curve": (
        "[[0, 345], [3000, 322], [6000, 250]]",
        "[[0, 240], [3000, 220], [6000, 160]]",
    ),
}


def check(folder):
    """Run nbval over the worked answers for the cruise with the kit in a folder."""
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "--nbval", "-q", "-p", "no:cacheprovider", "-x",
               "-c", os.devnull, "--rootdir", str(folder),
               str(folder / "solutions" / "06_follow_the_cruise.ipynb")]  # fmt: skip
    return subprocess.run(command, env=environment, cwd=folder, capture_output=True, text=True)


@pytest.fixture
def kit(tmp_path):
    """A copy of the kit and the worked answers that may be changed."""
    for name in ("fuelkit", "solutions"):
        skipped = shutil.ignore_patterns("__pycache__", ".ipynb_checkpoints")
        shutil.copytree(ROOT / name, tmp_path / name, ignore=skipped)
    return tmp_path


def test_the_worked_answers_hold_for_the_kit_as_it_is(kit):
    """The copy alone changes nothing."""
    result = check(kit)
    assert result.returncode == 0, result.stdout[-2000:]


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_kit_makes_the_worked_answers_fail(kit, name):
    """A rule, a delay or a pump curve changed in the data file is noticed."""
    before, after = CHANGES[name]
    path = kit / "fuelkit" / "aircraft" / "data" / "halbrook-180.toml"
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")
    result = check(kit)
    assert result.returncode == 1 and "mismatch" in result.stdout, result.stdout[-2000:]
