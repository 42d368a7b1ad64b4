"""`test` runs every step, says what each does, and fails when one does."""

import argparse

import nbformat
import pytest

from fuelkit.command import test as check
from fuelkit.command.browser import VARIABLE, find_browser

_FAILS = "def test_it():\n    assert False\n"


def _write_notebook(place, source, stored):
    cell = nbformat.v4.new_code_cell(source, execution_count=1)
    cell.outputs = [nbformat.v4.new_output("stream", name="stdout", text=stored)]
    notebook = nbformat.v4.new_notebook(cells=[cell])
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    place.parent.mkdir(exist_ok=True)
    nbformat.write(notebook, place)


@pytest.fixture
def checked(furnished):
    """Give a course with a test and a worked answer that fail, and a lesson that runs."""
    (furnished.root / "tests" / "test_one.py").write_text(_FAILS)
    # A lesson may print what it likes; a worked answer must print what is stored in it.
    _write_notebook(furnished.root / "lessons" / "01.ipynb", "print(6 * 7)", "41\n")
    _write_notebook(furnished.root / "solutions" / "01.ipynb", "print(6 * 7)", "41\n")
    return furnished


def test_each_failing_step_is_named_and_the_others_still_run(checked):
    """A failing test and a worked answer that prints another number than is stored.

    Without a browser the step that needs one says how to get it.
    """
    code, output = checked.run("test", "--", "tests", "-n", "0", **{VARIABLE: "no-such-browser"})

    assert code == 1
    assert "Step 1 of 3. Tests. No Chromium or Chrome was found. On Debian or Ubuntu:" in output
    assert "Step 2 of 3. Worked answers: run, and compared with what is stored" in output
    assert "Step 3 of 3. Lessons and exercises: run from top to bottom" in output
    assert output.count("1 failed") == 2
    assert output.count("1 passed") == 1
    assert "Failed: 1. Tests" in output
    assert "2. Worked answers" in output.split("Failed:")[-1]
    assert "3. Lessons" not in output.split("Failed:")[-1]


@pytest.mark.parametrize(
    ("answer", "code", "words"),
    [
        (0, 0, "All steps passed."),
        (1, 1, "Failed:\n  1. Tests, without those in a browser"),
        (5, 1, "No test ran: that counts as failed."),  # of pytest: nothing was collected
    ],
)
def test_what_pytest_answers_is_what_the_check_says(answer, code, words, monkeypatch, capsys):
    """A selection that chose nothing has shown nothing; what stands after -- chose it."""
    asked = []
    monkeypatch.setattr(check, "prepare", lambda *_: None)
    monkeypatch.setattr(check.subprocess, "call", lambda line, **_: asked.append(line) or answer)

    assert check.run(_parsed("--quick", "--", "-k", "no_such_test")) == code

    assert words in capsys.readouterr().out
    ((*_, option, chosen),) = asked
    assert (option, chosen) == ("-k", "no_such_test")


def test_the_thorough_check_leaves_nothing_out(monkeypatch):
    """Pytest is told by an environment variable, and only where it is asked for."""
    told = []
    monkeypatch.delenv(check.THOROUGH, raising=False)
    monkeypatch.setattr(check, "prepare", lambda *_: None)
    monkeypatch.setattr(check.subprocess, "call", lambda _, env, **__: told.append(env) or 0)

    for words in (["--quick"], ["--quick", "--thorough"]):
        assert check.run(_parsed(*words)) == 0

    assert [variables.get(check.THOROUGH) for variables in told] == [None, "1"]


def _parsed(*words):
    parser = argparse.ArgumentParser()
    check.add_arguments(parser)
    return parser.parse_args(words)


def _steps(root, *words):
    return check.steps(root, _parsed(*words))


def test_quick_leaves_out_browser_and_notebooks(tmp_path):
    """One step is left, and it passes over the browser's folder."""
    ((_, arguments),) = _steps(tmp_path, "--quick", "--", "-x")

    assert "--ignore=tests/browser" in arguments
    assert arguments[-1] == "-x"


def test_a_folder_without_notebooks_is_passed_over(tmp_path):
    """The step stays in the list and says that there is nothing to run."""
    (tmp_path / "lessons").mkdir()
    (tmp_path / "lessons" / "01.ipynb").touch()
    _, (answers, nothing), (_, lessons) = _steps(tmp_path)

    assert answers.endswith("no notebook there, nothing to run")
    assert nothing == []
    assert lessons[-1] == "lessons"
    assert "exercises" not in lessons


def test_a_browser_is_found_by_its_name_or_by_its_usual_place(tmp_path):
    """On the path first, then where Windows puts it; the variable overrides both."""
    place = tmp_path / "Google" / "Chrome" / "Application" / "chrome.exe"
    place.parent.mkdir(parents=True)
    place.write_text("")
    on_path = tmp_path / "bin" / "chromium-browser"
    on_path.parent.mkdir()
    on_path.write_text("#!/bin/sh\n")
    on_path.chmod(0o755)
    windows = {"PATH": str(tmp_path), "PROGRAMFILES": str(tmp_path)}

    assert find_browser(windows) == str(place)
    assert find_browser({**windows, "PATH": str(on_path.parent)}) == str(on_path)
    assert find_browser({**windows, VARIABLE: str(on_path)}) == str(on_path)
    assert find_browser({**windows, VARIABLE: "no-such-browser"}) is None
