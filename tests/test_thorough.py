"""The list of what the check of every day leaves out names tests that there are, and not all."""

import ast
import fnmatch
from pathlib import Path

import pytest

from tests.thorough import LIST, is_left_out, patterns

ROOT = Path(__file__).resolve().parents[1]
LEFT_OUT = patterns(LIST.read_text(encoding="utf-8"))


def functions(path):
    """Names of the test functions of a file."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    names = {n.name for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)}
    return {name for name in names if name.startswith("test_")}


@pytest.mark.parametrize("pattern", LEFT_OUT)
def test_each_line_of_the_list_names_a_test(pattern):
    """A test that was given another name would be run, or left out, against the list."""
    path, _, name = pattern.partition("::")
    assert fnmatch.filter(functions(path), name.partition("[")[0])


def test_what_is_on_the_list_is_left_out_and_nothing_else(monkeypatch):
    """A name counts as a whole; with the switch nothing is left out."""
    one = next(pattern for pattern in LEFT_OUT if "*" not in pattern)
    monkeypatch.delenv("FUELKIT_THOROUGH", raising=False)
    assert is_left_out(one) and not is_left_out(f"{one}_too")
    monkeypatch.setenv("FUELKIT_THOROUGH", "1")
    assert not is_left_out(one)
