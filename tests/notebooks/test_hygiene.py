"""Notebooks read like a good handout: short cells, more words than code, nothing given away."""

import ast
import json
import re

import pytest

import fuelkit
from fuelkit.assess.course import load_unit
from tests.notebooks.tidy import notebooks, tidied

EVERY = [pytest.param(p, id=f"{p.parent.name}/{p.name}") for p in notebooks()]
LESSONS = [pytest.param(p, id=p.name) for p in notebooks("lessons") if p.name[:2] != "00"]
CAUTION = "Training aid, not for operational use."


def cells(path, kind):
    """The sources of the cells of one kind."""
    content = json.loads(path.read_text(encoding="utf-8"))
    return ["".join(c["source"]) for c in content["cells"] if c["cell_type"] == kind]


@pytest.mark.parametrize("path", EVERY)
def test_a_notebook_is_stored_tidily(path):
    """No outputs outside solutions, fixed ids, nothing of a widget or machine."""
    assert tidied(path) == path.read_text(encoding="utf-8"), "run: python -m tests.notebooks.tidy"


@pytest.mark.parametrize("path", EVERY)
def test_a_code_cell_is_one_short_call(path):
    """At most three lines, and at most one call besides the import."""
    for source in cells(path, "code"):
        tree = ast.parse(source)
        assert len(source.splitlines()) <= 3
        assert len([n for n in tree.body if not isinstance(n, ast.ImportFrom)]) == 1


@pytest.mark.parametrize("path", EVERY)
def test_every_notebook_carries_the_caution(path):
    """Training aid, not for operational use."""
    assert CAUTION in " ".join(cells(path, "markdown"))


@pytest.mark.parametrize("path", LESSONS)
def test_a_lesson_has_its_parts_and_many_words_to_a_line_of_code(path):
    """The parts that a learner looks for, at least 15 words for a line of code."""
    text = "\n".join(cells(path, "markdown"))
    for part in ("**You will be able to**", "**You need**", "## What this leaves out",
                 "## Check yourself", "## Summary", "## Sources"):  # fmt: skip
        assert part in text, part
    lines = [ln for source in cells(path, "code") for ln in source.splitlines() if ln.strip()]
    assert len(text.split()) >= 15 * len(lines)


@pytest.mark.parametrize("path", LESSONS)
def test_no_figure_of_the_flight_is_typed_into_prose(path):
    """Masses, flows and pressures stand in what the cells compute, not beside it."""
    for text in cells(path, "markdown"):
        assert not re.search(r"\d[\d ]*\s?(kg|kPa|kg/h)\b", text), text


@pytest.mark.parametrize("path", EVERY)
def test_names_in_backticks_exist(path):
    """Whatever prose quotes is a public name, a name of the notebook, or a folder of the course."""
    code = "\n".join(cells(path, "code"))
    for text in cells(path, "markdown"):
        for name in re.findall(r"`([^`]+)`", text):
            first, _, attribute = name.partition(".")
            known = first in fuelkit.__all__ or re.search(rf"\b{re.escape(first)}\b", code)
            assert known or name in ("answers",), name
            if attribute:
                opened = {"lesson": "Lesson", "exercise": "Exercise"}[first]
                module = __import__(f"fuelkit.show.{first}", fromlist=[opened])
                assert hasattr(getattr(module, opened), attribute), name


@pytest.mark.parametrize("path", LESSONS)
def test_every_board_of_a_lesson_has_one_cell(path):
    """No board is left out of its notebook, and none stands there twice."""
    source = "\n".join(cells(path, "code"))
    unit = load_unit(re.search(r'open_lesson\("([^"]+)"\)', source)[1])
    blank = [
        b.name for b in unit.boards
        if b.form == "blank" and b.scene != "sheet" and not b.aircraft
    ]  # fmt: skip
    elsewhere = [b.name for b in unit.boards if b.aircraft and b.scene != "sheet"]
    shown = [blank[int(n) - 1] for n in re.findall(r"lesson\.board\((\d+)\)", source)]
    shown += re.findall(r'lesson\.board\("([^"]+)"\)', source)
    shown += [elsewhere[int(n or 1) - 1] for n in re.findall(r"lesson\.contrast\((\d*)\)", source)]
    by_form = {"starter": "starters", "worked": "example", "half": "half_done"}
    for form, call in by_form.items():
        if f"lesson.{call}()" in source:
            shown += [b.name for b in unit.boards if b.form == form][:1]
    assert sorted(shown) == sorted(board.name for board in unit.boards)
