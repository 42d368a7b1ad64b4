"""A Python that is too old is told so in a sentence, by the two files that it can read."""

import ast
import runpy
import sys
from pathlib import Path

import pytest

import fuelkit

_ROOM = Path(fuelkit.__file__).parent


@pytest.mark.parametrize("name", ["__init__.py", "__main__.py"])
def test_the_first_two_files_can_be_read_by_an_old_python(name):
    """Old syntax alone: no f-string, and what Python 3.8 parses."""
    tree = ast.parse((_ROOM / name).read_text(), feature_version=(3, 8))

    assert not [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]


@pytest.mark.parametrize("version", [(3, 8, 18), (3, 10, 13), (2, 7, 18)])
def test_an_old_python_gets_a_sentence(version, monkeypatch):
    """Running the kit ends at once with what is wrong and what to do."""
    monkeypatch.setattr(sys, "version_info", version)

    with pytest.raises(SystemExit) as ended:
        runpy.run_module("fuelkit", run_name="__main__")

    said = str(ended.value)
    assert f"This is Python {version[0]}.{version[1]}; the course needs Python 3.11" in said
    assert "Install a newer one from python.org" in said


def test_the_oldest_python_that_will_do_is_the_one_promised(monkeypatch):
    """At the limit there is no fault, one below there is."""
    assert fuelkit._python_fault((3, 11, 0)) == ""
    assert fuelkit._python_fault((3, 10, 99)) != ""


def test_a_public_name_is_imported_when_it_is_first_used(monkeypatch):
    """The table gives the module; the name is then the module's own object."""
    monkeypatch.setitem(fuelkit._PUBLIC, "Stamp", "fuelkit.command.stamp")
    from fuelkit.command.stamp import Stamp

    try:
        assert fuelkit.Stamp is Stamp
        assert "Stamp" in dir(fuelkit)
    finally:
        vars(fuelkit).pop("Stamp", None)


def test_an_unknown_public_name_is_named(monkeypatch):
    """The error is the one that Python expects, and says the name."""
    with pytest.raises(AttributeError, match="fuelkit has no public name 'flaps'"):
        fuelkit.flaps  # noqa: B018


def test_an_old_python_gets_the_sentence_for_a_public_name_too(monkeypatch):
    """In a notebook of another Python, say."""
    monkeypatch.setitem(fuelkit._PUBLIC, "Stamp", "fuelkit.command.stamp")
    monkeypatch.setattr(sys, "version_info", (3, 9, 1))

    with pytest.raises(ImportError, match=r"This is Python 3\.9"):
        fuelkit.Stamp  # noqa: B018
