"""Every notebook of the course run for other aircraft: the same cells teach another fuel system."""

import ast
import json
import os

import pytest

from fuelkit.assess.choice import VARIABLE
from fuelkit.assess.flights import aircraft_of
from tests.notebooks.tidy import ROOT, notebooks

OWN = str(ROOT / "fuelkit" / "aircraft" / "own" / "starter.toml")
AIRCRAFT = {"40": "halbrook-40", "300": "halbrook-300", "own": OWN}
LONG = 12  # letters; shorter names may be a part of another word
COURSE = [p for p in notebooks("lessons", "exercises", "solutions") if p.name[:2] != "00"]
ALL = os.environ.get("FUELKIT_OTHER_AIRCRAFT") == "all"


def cases():
    """Lessons for a small aircraft and an own one, exercises for the own one; all if asked."""
    few = {"lessons": ("40", "own"), "exercises": ("own",), "solutions": ()}
    for path in COURSE:
        for name in AIRCRAFT:
            if ALL or name in few[path.parent.name]:
                yield pytest.param(path, name, id=f"{path.parent.name}/{path.stem}-{name}")


def only_the_courses(aircraft):
    """Names of parts that the course's aircraft has and this one has not."""
    own, other = (set(aircraft_of(name).by_name) for name in ("halbrook-180", aircraft))
    parts = " ".join(other).lower()
    return [name for name in own - other if len(name) >= LONG and name.lower() not in parts]


def results(path):
    """Run the code cells of a notebook; yield the source and the value of each last line."""
    names = {}
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] != "code":
            continue
        source = "".join(cell["source"])
        *first, last = ast.parse(source).body
        if isinstance(last, ast.Expr):
            exec(compile(ast.Module(first, []), path.name, "exec"), names)
            yield source, eval(compile(ast.Expression(last.value), path.name, "eval"), names)
        else:
            exec(source, names)


def said(value):
    """All words of a page or a widget that may be read now."""
    traits = ("html", "closed", "title", "lead", "drawing", "table", "figures", "asks", "text")
    words = [str(getattr(value, name, "")) for name in traits]
    return " ".join(words + [said(child) for child in getattr(value, "children", ())])


@pytest.mark.parametrize(("path", "aircraft"), cases())
def test_a_notebook_runs_for_another_aircraft_and_names_nothing_of_the_courses(
    path, aircraft, monkeypatch, tmp_path
):
    """Chosen in one place; figures, drawings and reasons are those of that aircraft."""
    monkeypatch.setenv(VARIABLE, AIRCRAFT[aircraft])
    monkeypatch.setenv("FUELKIT_ANSWERS", str(tmp_path))
    shown, foreign = 0, only_the_courses(AIRCRAFT[aircraft])
    assert len(foreign) > 20
    for source, value in results(path):
        shown += value is not None
        if "contrast" not in source and "goals" not in source:
            text = said(value).lower()
            assert "halbrook 180" not in text, source
            assert not [name for name in foreign if name.lower() in text], source
    assert shown >= 3
