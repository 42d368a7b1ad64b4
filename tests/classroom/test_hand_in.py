"""Handing in: what is on the desk, who may put it there, and what the instructor is shown."""

import json
import os
import urllib.error
import urllib.request

import pytest

from fuelkit.assess.mark_folder import mark_folder
from fuelkit.assess.sheet import Sheet, sheet_text

HAND_IN = """
import os
from fuelkit.show.exercise import open_exercise
exercise = open_exercise({unit!r})
for board in exercise.unit.boards:
    if board.name not in exercise.answer_file.sheet.answers:
        exercise.answer_file.commit(board.name, {{}})
board = exercise.hand_in()
print(board.note if board.committed else board._on_commit({{}})["note"])
"""


def handed_in(learner, unit="exercise-climb", given="x"):
    """Return a sheet that is handed in."""
    sheet = Sheet(unit, learner, "0").with_committed("first", {"a": given})
    return sheet.with_hand_in()


def put(rig, token, data):
    """Bring something to the desk; return (status, what it says)."""
    head = {"Authorization": f"token {token}"} if token else {}
    request = urllib.request.Request(rig.desk, data, head, method="PUT")
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.status, json.loads(answer.read())["said"]
    except urllib.error.HTTPError as problem:
        text = problem.read().decode()
        return problem.code, json.loads(text)["said"] if problem.code == 409 else text


@pytest.fixture(scope="module")
def notebook(rig):
    """Give the server of A07."""
    found = rig.notebook("A07")
    found.end_kernels()  # of other tests
    return found


def test_a_notebook_hands_in_and_the_instructor_sees_it(rig, notebook):
    """One press brings the sheet to the desk; page, list and `mark` have it with its receipt."""
    said = notebook.run(HAND_IN.format(unit="exercise-descent"))
    assert "Your instructor's desk has it." in said, said
    sheet = json.loads((rig.classroom.handed_in / "exercise-descent.A07.json").read_text())
    assert sheet["learner"] == "A07" and sheet["receipt"] in said
    status, page = rig.visitor("INSTRUCTOR").get("/services/desk/")
    assert status == 200 and sheet["receipt"] in page
    assert "exercise-descent: 1 of 5" in page and "Not yet: B12, C3, D-4, E55." in page
    listed = rig.run("--handed-in")
    assert "A07" in listed and sheet["receipt"] in listed
    assert "exercise-descent: 1 handed in; not yet: B12, C3, D-4, E55." in listed
    again = notebook.run(HAND_IN.format(unit="exercise-descent"))
    assert sheet["receipt"] in again and "desk has it" in again, "twice is once"


def test_a_learner_is_known_without_being_asked(notebook):
    """The classroom says who it is: a sheet under another code cannot even be begun."""
    source = (
        "from fuelkit.assess.answer_file import sign_in, signed_in\n"
        "print(signed_in('.'))\nsign_in('.', 'B12')"
    )
    said = notebook.run(source)
    assert said.startswith("A07\n") and "You are signed in as A07" in said


def test_nobody_hands_in_for_another(rig, notebook):
    """A sheet of B12 that A07 brings is refused, whatever the sheet says."""
    status, said = put(rig, notebook.token, sheet_text(handed_in("B12")).encode())
    assert status == 409 and "you are signed in as A07" in said
    assert not (rig.classroom.handed_in / "exercise-climb.B12.json").exists()
    for token in ("", "0" * 32):
        assert put(rig, token, b"{}")[0] in (401, 403)


def test_what_is_handed_in_stays(rig, notebook):
    """A second, better sheet does not replace the first, nor can A07 get at the first."""
    first = sheet_text(handed_in("A07", given="first")).encode()
    assert put(rig, notebook.token, first)[0] == 200
    status, said = put(rig, notebook.token, sheet_text(handed_in("A07", given="better")).encode())
    assert status == 409 and "that one counts" in said
    path = rig.classroom.handed_in / "exercise-climb.A07.json"
    assert path.read_bytes() == first
    for source in (f"open({str(path)!r}, 'w')", f"import os; os.remove({str(path)!r})"):
        assert notebook.run(source).startswith("PermissionError")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "it is empty"),
        (b"{", "damaged"),
        (b"[1]", "not an answer sheet"),
        (b"x" * 600_000, "larger"),
        (sheet_text(Sheet("exercise-climb", "A07", "0")).encode(), "receipt"),
        (sheet_text(handed_in("A07", unit="../../private/register")).encode(), "no exercise"),
        (sheet_text(handed_in("A07", unit="exercise-climb\x00")).encode(), "no exercise"),
    ],
)
def test_the_desk_refuses_what_is_no_sheet(rig, notebook, data, why):
    """Damaged, huge, unfinished and misnamed sheets are refused and named, and leave nothing."""
    before = sorted(os.listdir(rig.classroom.handed_in))
    status, said = put(rig, notebook.token, data)
    assert status == 409 and why in said, said
    assert sorted(os.listdir(rig.classroom.handed_in)) == before


def test_links_of_a_learner_lead_nowhere(rig, notebook):
    """A learner's link in place of their sheet is read with the learner's own rights."""
    key = rig.classroom.private / "linked.json"
    content = sheet_text(handed_in("A07", unit="exercise-engine-start"))
    key.write_text(content)
    said = notebook.run(
        "import os; folder = os.environ['FUELKIT_ANSWERS']; os.makedirs(folder, exist_ok=True); "
        f"os.symlink({str(key)!r}, folder + '/exercise-engine-start.A07.json')"
    )
    assert said == ""
    said = notebook.run(HAND_IN.format(unit="exercise-engine-start"))
    assert "PermissionError" in said or "cannot be read" in said or "desk has it" in said, said
    assert key.read_text() == content, "not written"
    listed = rig.classroom.handed_in / "exercise-engine-start.A07.json"
    assert not listed.exists() or listed.read_text() != content, "not read"


def test_a_sheet_that_does_not_arrive_is_not_lost(rig, notebook):
    """With the desk away the learner is told so; the sheet is kept and goes the next time."""
    away = (
        "import os; at = os.environ['FUELKIT_HAND_IN']; os.environ['FUELKIT_HAND_IN'] = at[:-5]\n"
    )
    quick = "import fuelkit.assess.delivery as d; d.time.sleep = lambda seconds: None\n"
    kernel = notebook.new_kernel()
    said = notebook.run(away + quick + HAND_IN.format(unit="exercise-cruise"), kernel)
    assert "has not reached your instructor's desk" in said, said
    assert not (rig.classroom.handed_in / "exercise-cruise.A07.json").exists()
    said = notebook.run(
        "os.environ['FUELKIT_HAND_IN'] = at\n" + HAND_IN.format(unit="exercise-cruise"), kernel
    )
    assert "desk has it" in said
    assert (rig.classroom.handed_in / "exercise-cruise.A07.json").exists()


def test_marking_reads_the_desk(rig, notebook, tmp_path):
    """`mark` takes the folder of the desk as it is."""
    notebook.run(HAND_IN.format(unit="exercise-descent"))
    marked, _ = mark_folder(rig.classroom.handed_in)
    assert "A07" in {item.sheet.learner for item in marked}
