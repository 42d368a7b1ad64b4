"""Marking a folder: sound sheets are marked, every other file is named and set aside."""

import csv
import io
import json
import os
import shutil

import pytest

from fuelkit.assess.mark_folder import mark_folder, mark_sheet_csv, set_aside_csv
from fuelkit.assess.sheet import write_sheet
from fuelkit.assess.teach import unit_for
from fuelkit.command.mark import add_arguments, run
from fuelkit.physics.writing import held
from tests.assess.conftest import right_answers, sheet_of


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Two good sheets among damaged, foreign, doubled, empty and hostile ones."""
    folder = tmp_path_factory.mktemp("class")
    unit = unit_for("exercise-cruise")
    right = right_answers(unit)
    write_sheet(sheet_of(unit.identifier, "A01", right), folder / "a01.json")
    partial = {k: v for k, v in right.items() if k != "figures"}
    write_sheet(sheet_of(unit.identifier, "A02", partial), folder / "a02.json")
    for name, answers in (("a03.json", right), ("a03-again.json", partial)):
        write_sheet(sheet_of(unit.identifier, "A03", answers), folder / name)
    shutil.copy(folder / "a02.json", folder / "copy-of-a02.json")
    (folder / "empty.json").write_bytes(b"")
    (folder / "damaged.json").write_text((folder / "a01.json").read_text()[:300])
    (folder / "notes.json").write_text('{"shopping": ["milk"]}')
    _edited(folder, "foreign.json", unit="exercise-other")
    _edited(folder, "lesson.json", unit="lesson-cruise")
    _edited(folder, "edited.json", learner="A09")
    _edited(folder, "not-handed-in.json", handed_in=None, receipt=None)
    _edited(folder, "old-aircraft.json", aircraft="0" * 16)
    _edited(folder, "extra.json", answers={"nothing": {"given": {"p": "x"}, "committed": "t"}})
    _edited(folder, "none.json", answers={})
    (folder / "folder.json").mkdir()
    (folder / "readme.txt").write_text("not a sheet")
    (folder / "learner.json").write_text('{"schema": 1, "learner": "A01"}')
    return folder


def _edited(folder, name, **fields):
    content = json.loads((folder / "a01.json").read_text(encoding="utf-8"))
    (folder / name).write_text(json.dumps({**content, **fields}), encoding="utf-8")


REASONS = {
    "a03.json": "more than one sheet",
    "a03-again.json": "more than one sheet",
    "copy-of-a02.json": "the same sheet as a02.json, which is marked",
    "empty.json": "it is empty",
    "damaged.json": "not a whole JSON file",
    "notes.json": "not an answer sheet",
    "foreign.json": "belongs to no exercise",
    "lesson.json": "lesson",
    "edited.json": "changed after it was handed in",
    "not-handed-in.json": "was not handed in",
    "old-aircraft.json": "another edition of the aircraft file",
    "extra.json": "answers something that is not asked",
    "none.json": "has no answers",
    "folder.json": "not a plain file",
}


def test_bad_files_are_named_with_their_reason_and_the_rest_is_marked(folder):
    """Each file is accounted for: marked, or set aside for the reason that fits."""
    marked, aside = mark_folder(folder)
    assert [item.sheet.learner for item in marked] == ["A01", "A02"]
    assert {item.file for item in aside} == set(REASONS)
    for item in aside:
        assert REASONS[item.file] in item.reason, item


def test_marks_are_full_for_the_right_sheet_and_less_by_the_missing_board(folder):
    """A02 left out one board and loses exactly its marks."""
    full, partial = mark_folder(folder)[0]
    missing = next(b for b in full.boards if b.name == "figures")
    assert full.marks == full.full and full.has_passed()
    assert partial.marks == pytest.approx(full.full - missing.full)


def test_progress_is_told_for_every_file(folder):
    """Done counts up to the total."""
    told = []
    mark_folder(folder, lambda done, total: told.append((done, total)))
    assert told == [(i, len(told)) for i in range(1, len(told) + 1)]


def test_the_mark_sheet_is_one_line_a_learner_and_safe_in_a_spreadsheet(folder):
    """No cell begins like a formula."""
    marked, aside = mark_folder(folder)
    rows = list(csv.reader(io.StringIO(mark_sheet_csv(marked))))
    assert [row[0] for row in rows] == ["learner", "A01", "A02"]
    cells = [c for text in (mark_sheet_csv(marked), set_aside_csv(aside)) for c in _cells(text)]
    assert not [cell for cell in cells if cell[:1] in "=+-@" and cell]


def _cells(text):
    return [cell for row in csv.reader(io.StringIO(text)) for cell in row]


def test_a_name_like_a_formula_is_defused(tmp_path):
    """A file whose name begins with = cannot become a formula in the list."""
    (tmp_path / "=cmd.json").write_text("x")
    _, aside = mark_folder(tmp_path)
    assert "'=cmd.json" in set_aside_csv(aside)


def test_the_order_of_files_does_not_matter(folder, tmp_path):
    """The same sheets under other names give the same marks."""
    for number, name in enumerate(("a02.json", "a01.json")):
        (tmp_path / f"{number}.json").write_bytes((folder / name).read_bytes())
    marks = {m.sheet.learner: m.marks for m in mark_folder(tmp_path)[0]}
    assert marks == {m.sheet.learner: m.marks for m in mark_folder(folder)[0]}


def command(*words):
    import argparse

    parser = argparse.ArgumentParser()
    add_arguments(parser)
    return run(parser.parse_args([str(word) for word in words]))


def test_the_command_writes_mark_sheet_and_feedback(folder, tmp_path, capsys):
    """The files are there, the bad sheets are named, and the exit code says so."""
    assert command(folder, "--out", tmp_path) == 1
    printed = capsys.readouterr().out
    assert "Marked 2 sheets" in printed and "damaged.json" in printed
    faults, left = printed.split("Left alone 2, which are not marked:")
    assert "lesson.json" in left and "lesson.json" not in faults
    assert (tmp_path / "mark-sheet.csv").exists() and (tmp_path / "set-aside.csv").exists()
    page = (tmp_path / "feedback" / "A02.exercise-cruise.html").read_text(encoding="utf-8")
    assert "You did not commit this board" in page
    assert "Training aid, not for operational use" in page


def test_every_lost_mark_has_its_reason_on_the_feedback_page(folder, tmp_path, capsys):
    """Each wrong or missing answer stands beside the right one and the because."""
    command(folder, "--out", tmp_path)
    partial = mark_folder(folder)[0][1]
    page = (tmp_path / "feedback" / "A02.exercise-cruise.html").read_text(encoding="utf-8")
    wrong = [line for board in partial.boards for line in board.lines if not line.is_right]
    assert wrong
    for line in wrong:
        assert held(line.reason.split(";")[0]) in page and held(line.right) in page


def test_an_answer_is_shown_as_text_never_as_a_tag(tmp_path):
    """What a learner typed cannot become part of the page."""
    unit = unit_for("exercise-cruise")
    given = right_answers(unit)
    first = next(iter(given["figures"]))
    given["figures"][first] = "<script>alert(1)</script>"
    write_sheet(sheet_of(unit.identifier, "A01", given), tmp_path / "s.json")
    assert command(tmp_path) == 0
    page = (tmp_path / "marks" / "feedback" / "A01.exercise-cruise.html").read_text("utf-8")
    assert "<script>" not in page and "&lt;script&gt;" in page


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="no symbolic links on this system")
def test_a_link_is_not_followed(folder, tmp_path):
    """A sheet that points elsewhere is set aside."""
    try:
        (tmp_path / "link.json").symlink_to(folder / "a01.json")
    except OSError:
        pytest.skip("symbolic links are not allowed here")
    marked, aside = mark_folder(tmp_path)
    assert not marked and "plain file" in aside[0].reason
