"""Answer sheets: whole at every instant, checked field by field, never run."""

import json
import os
import random
import signal
import subprocess
import sys
import textwrap
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.assess.answer_file import AT_HOME, AnswerFile, sign_in, signed_in
from fuelkit.assess.sheet import (
    LARGEST_BYTES,
    Sheet,
    SheetError,
    learner_code,
    read_sheet,
    write_sheet,
)

KILLS = int(os.environ.get("FUELKIT_SHEET_KILLS", "10"))  # 200 for a full run
COMMITTED = Sheet("exercise-cruise", "A07", "f" * 16).with_committed("b1", {"p1": "RUN"})


def test_a_sheet_comes_back_as_it_was_written(tmp_path):
    """Writing and reading changes nothing."""
    sheet = COMMITTED.with_draft("b2", {"p2": "3 500"}).with_hand_in()
    write_sheet(sheet, tmp_path / "s.json")
    assert read_sheet(tmp_path / "s.json") == sheet


def test_a_committed_board_cannot_be_changed():
    """Neither by a second commit nor after hand-in."""
    with pytest.raises(SheetError, match="committed already"):
        COMMITTED.with_committed("b1", {"p1": "OFF"})
    with pytest.raises(SheetError, match="handed in"):
        COMMITTED.with_hand_in().with_committed("b2", {})


def test_the_receipt_fits_only_what_was_handed_in():
    """Any change of an answer, learner or time shows."""
    sheet = COMMITTED.with_hand_in()
    changed = {"b1": {"given": {"p1": "OFF"}, "committed": "x"}}
    assert sheet.receipt == sheet.true_receipt()
    assert sheet.with_hand_in() is sheet
    for other in (
        replace(sheet, answers=changed),
        replace(sheet, learner="A08"),
        replace(sheet, handed_in="2026-01-01T00:00:00Z"),
    ):
        assert other.true_receipt() != sheet.receipt


@pytest.mark.parametrize("code", ["", "a b", "=SUM(1)", "A" * 21, "../A", "Ä7", None, "-A", "A-"])
def test_a_learner_code_that_is_none_is_refused(code):
    """Only letters, digits and hyphens inside; nothing that a file name or a cell could misread."""
    with pytest.raises(SheetError, match="1 to 20 letters and digits"):
        learner_code(code)


DAMAGES = {
    "empty": (b"", "it is empty"),
    "half": (b'{"format": "fuelkit answer sheet", "sch', "not a whole JSON file"),
    "binary": (b"\xff\xfe\x00\x01", "not text in UTF-8"),
    "a list": (b"[1, 2]", "not an answer sheet"),
    "deep": (b"[" * 100_000, "not a whole JSON file"),
    "nan": (b'{"format": NaN}', "not a whole JSON file"),
    "large": (b" " * (LARGEST_BYTES + 1), "larger than"),
    "foreign": (b'{"format": "something else"}', "not an answer sheet"),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_file_is_refused_with_its_reason(tmp_path, name):
    """In a sentence, never with another error."""
    content, message = DAMAGES[name]
    (tmp_path / "s.json").write_bytes(content)
    with pytest.raises(SheetError, match=message):
        read_sheet(tmp_path / "s.json")


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.sampled_from([*COMMITTED.__dict__, "schema", "format", "extra"]), JSON_VALUES)
def test_any_value_in_any_field_is_read_or_refused(tmp_path_factory, name, value):
    """A sheet with any one field replaced gives a sound sheet or a SheetError, nothing else."""
    path = tmp_path_factory.mktemp("sheets") / "s.json"
    write_sheet(COMMITTED, path)
    content = json.loads(path.read_text(encoding="utf-8"))
    content[name] = value
    path.write_text(json.dumps(content), encoding="utf-8")
    try:
        assert isinstance(read_sheet(path), Sheet)
    except SheetError as refused:
        assert str(refused)


def test_signing_in_is_kept_and_a_damaged_note_is_forgiven(tmp_path):
    """The code comes back in its standard form; without one the learner is at home."""
    assert signed_in(tmp_path) == AT_HOME
    assert sign_in(tmp_path, " b-12 ") == "B-12"
    assert signed_in(tmp_path) == "B-12"
    (tmp_path / "learner.json").write_text("{", encoding="utf-8")
    assert signed_in(tmp_path) == AT_HOME


def test_a_damaged_answer_file_is_put_aside_not_lost(tmp_path):
    """The learner starts anew and is told where the old file is."""
    file = AnswerFile(tmp_path, "exercise-cruise", "A07", "f" * 16)
    file.path.write_text("garbage", encoding="utf-8")
    assert file.sheet.answers == {}
    (kept,) = tmp_path.glob("*.put-aside-*")
    assert kept.read_text(encoding="utf-8") == "garbage" and kept.name in file.note


def test_two_open_notebooks_do_not_undo_each_other(tmp_path):
    """Each commit reads what is on disk first."""
    first = AnswerFile(tmp_path, "exercise-cruise", "A07", "f" * 16)
    second = AnswerFile(tmp_path, "exercise-cruise", "A07", "f" * 16)
    first.commit("b1", {"p1": "RUN"})
    second.commit("b2", {"p2": "OFF"})
    assert set(first.sheet.answers) == {"b1", "b2"}


_COMMITTER = textwrap.dedent(
    """
    import sys
    from fuelkit.assess.answer_file import AnswerFile
    file = AnswerFile(sys.argv[1], "exercise-cruise", "A07", "f" * 16)
    start = len(file.sheet.answers)
    for number in range(start, start + 400):
        file.draft(f"b{number}", {"p": "draft"})
        file.commit(f"b{number}", {"p": f"answer {number}"})
        print(number, flush=True)
    """
)


def _killed_run(folder, wait):
    """Commit boards in another process, kill it after a while; return what it said it had kept."""
    process = subprocess.Popen(
        [sys.executable, "-c", _COMMITTER, str(folder)], stdout=subprocess.PIPE, text=True
    )
    first = process.stdout.readline()
    try:
        process.wait(wait)
    except subprocess.TimeoutExpired:
        process.send_signal(getattr(signal, "SIGKILL", signal.SIGTERM))
    rest, _ = process.communicate()
    return [int(line) for line in (first + rest).split()]


def test_no_committed_answer_is_lost_when_killed(tmp_path):
    """Killed at random instants while saving: every answer that was said to be kept is there,
    and the sheet can always be read."""
    chance = random.Random(7)
    for round_ in range(KILLS):
        folder = tmp_path / str(round_ // 20)
        said = _killed_run(folder, chance.uniform(0.0, 0.05))
        sheet = read_sheet(folder / "exercise-cruise.A07.json")
        for number in said:
            assert sheet.answers[f"b{number}"]["given"] == {"p": f"answer {number}"}
