"""One format and one set of lint rules for every file, notebooks too."""

import subprocess
import sys

import pytest

from tests.notebooks.tidy import ROOT


@pytest.mark.parametrize("words", [("check",), ("format", "--check")], ids=["rules", "format"])
def test_every_file_keeps_the_style_of_the_project(words):
    """`ruff check` and `ruff format` have nothing to say; the settings are in pyproject.toml."""
    command = [sys.executable, "-m", "ruff", *words, "--no-cache", str(ROOT)]
    result = subprocess.run(command, capture_output=True, text=True)
    assert result.returncode == 0, result.stdout + result.stderr
