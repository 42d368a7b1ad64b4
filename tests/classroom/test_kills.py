"""The server is killed at any instant: what a learner was told is committed is there afterwards."""

import os
import random
import threading
import time

import pytest

from fuelkit.assess.sheet import read_sheet
from tests.classroom.rig import wait_for

KILLS = 20 if os.environ.get("FUELKIT_CLASSROOM") == "all" else 2
COMMITS = """
import os, time
from fuelkit.assess.answer_file import AnswerFile, signed_in
folder = os.environ["FUELKIT_ANSWERS"]
file = AnswerFile(folder, "practice-kills", signed_in(folder), "0")
at = 1 + max((int(name.split("-")[1]) for name in file.sheet.answers), default=0)
while True:
    name = f"board-{at}"
    file.commit(name, {"a": str(at)}, most=200)
    with open(folder + "/told", "a") as told:  # what stands here was told to the learner
        told.write(name + "\\n")
        told.flush()
        os.fsync(told.fileno())
    at += 1
    time.sleep(0.02)
"""


@pytest.fixture
def folders(rig):
    """Give the folders of answers of two learners."""
    return {code: rig.home(code) / "answers" for code in ("A07", "B12")}


def test_no_committed_answer_is_lost(rig, folders):
    """Hub alone or all processes at once, by turns: every answer that was told is kept, whole."""
    chance = random.Random(7)
    for number in range(KILLS):
        for code in folders:
            notebook = rig.notebook(code)
            worker = threading.Thread(target=_work, args=(notebook,), daemon=True)
            worker.start()
        for folder in folders.values():
            _wait_for_more(folder)
        time.sleep(chance.uniform(0.0, 0.3))
        if number % 2:
            rig.kill_all()
        else:
            before = rig.kill_hub()
            wait_for("another hub", lambda b=before: rig.hub_pid() not in (None, b))
            assert rig.visitor("A07").get("/hub/home")[0] == 200
            _check_still_at_work(folders)
            for code in folders:
                rig.notebook(code).end_kernels()
        for code, folder in folders.items():
            told = (folder / "told").read_text().split()
            kept = read_sheet(folder / f"practice-kills.{code}.json").answers
            assert set(told[-150:]) <= set(kept), f"kill {number}: {code}"


def _work(notebook):
    try:
        notebook.run(COMMITS, notebook.new_kernel(), patience=600)
    except Exception:
        return  # it was killed, as it should be


def _count(path):
    return len(path.read_text().split()) if path.exists() else 0


def _wait_for_more(folder):
    """Return when three more answers were told to be committed."""
    before = _count(folder / "told")
    wait_for(f"answers in {folder}", lambda: _count(folder / "told") >= before + 3)


def _check_still_at_work(folders):
    """A learner's kernel outlasts the hub: answers still come in."""
    for folder in folders.values():
        _wait_for_more(folder)
