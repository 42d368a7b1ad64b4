"""What learners are given while the classroom is there: papers, each their own, and new lessons."""

import json

import pytest

from fuelkit.classroom import set_up
from fuelkit.classroom.layout import ClassroomError
from fuelkit.classroom.working_copy import TOLD
from tests.classroom.rig import wait_for

PAPER = "papers/sitting-1/paper.json"


@pytest.fixture(scope="module")
def papers(rig, tmp_path_factory):
    """Give the folder of a sitting in which A07 and B12 have a paper; both are given out."""
    folder = tmp_path_factory.mktemp("papers") / "sitting-1"
    for code in ("A07", "B12"):
        (folder / code).mkdir(parents=True)
        (folder / code / "paper.json").write_text(f"the paper of {code}")
        (folder / code / "paper.ipynb").write_text('{"cells": []}')
        (folder / code / "paper.pdf").write_text("not given out on a screen")
    assert "Given to: A07, B12." in rig.run("--give", str(folder))
    return folder


def test_a_paper_is_read_by_its_learner_alone(rig, papers):
    """A07 reads the paper of A07 and not that of B12; neither can write there."""
    for code, other in (("A07", "B12"), ("B12", "A07")):
        own = rig.classroom.given / rig.account(code).pw_name / PAPER
        assert rig.as_learner(code, "cat", own).stdout == f"the paper of {code}"
        refused = rig.as_learner(other, "cat", own)
        assert "Permission denied" in refused.stderr and not refused.stdout
        for command in (("touch", own), ("rm", "-f", own), ("mkdir", own.parent / "x")):
            assert "Permission denied" in rig.as_learner(code, *command).stderr


def test_signing_in_again_brings_paper_and_new_lesson(rig, papers):
    """Signing out stops the server; with the next one paper and lesson are there and told."""
    rig.notebook("B12")
    copy = rig.home("B12")
    lesson = rig.classroom.course / "lessons/02_walk_around.ipynb"
    content = json.loads(lesson.read_text())
    content["cells"][0]["source"] = ["# A new walk-around"]
    lesson.write_text(json.dumps(content))
    visitor = rig.visitor("B12")
    visitor.get("/hub/logout")
    wait_for("the server to stop", lambda: not rig.processes(rig.account("B12")))
    rig.notebook("B12")
    assert (copy / PAPER).read_text() == "the paper of B12"
    assert not (copy / "papers/sitting-1/paper.pdf").exists()
    assert "A new walk-around" in (copy / "lessons/02_walk_around.ipynb").read_text()
    assert "lessons/02_walk_around.ipynb" in (copy / TOLD).read_text()


def test_a_folder_without_papers_is_named(rig, tmp_path):
    """Nothing is given out by mistake."""
    with pytest.raises(ClassroomError, match="has no folder with paper.ipynb"):
        set_up.give_papers(rig.classroom, tmp_path)
