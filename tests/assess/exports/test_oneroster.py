"""Gradebook rows: their header rows, that every reference holds, that identifiers are stable."""

import csv
import io
import re
import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from fuelkit.assess.exports.oneroster import Gradebook, Sitting, oneroster
from tests.assess.exports.papers import CHOICE, FIGURE, one, papers

GRADEBOOK = Gradebook("school-1", "class-7", "tests", "term-2", (("B2", "pupil-0042"),))
SITTING = Sitting(
    "2026-fuel-1", "=Fuel, first paper", date(2026, 11, 24), date(2026, 11, 25),
    datetime(2026, 11, 25, 20, 30, tzinfo=timezone(timedelta(hours=1))),
)  # fmt: skip

# Header rows as two public programs write or check them, and as remembered; 1EdTech's tables were
# not read. Manifest entries as four such programs have them.
LINE_ITEMS = (
    "sourcedId,status,dateLastModified,title,description,assignDate,dueDate,classSourcedId,"
    "categorySourcedId,academicSessionSourcedId,resultValueMin,resultValueMax,schoolSourcedId"
)
RESULTS = (
    "sourcedId,status,dateLastModified,lineItemSourcedId,studentSourcedId,scoreStatus,score,"
    "scoreDate,comment,textScore,classSourcedId,inProgress,incomplete,late,missing"
)
MANIFEST_FILES = (
    "academicSessions,categories,classes,classResources,courses,courseResources,demographics,"
    "enrollments,lineItemLearningObjectiveIds,lineItems,lineItemScoreScales,orgs,resources,"
    "resultLearningObjectiveIds,results,resultScoreScales,roles,scoreScales,userProfiles,"
    "userResources,users"
)


def tables(files):
    """Rows of each file as dictionaries."""
    return {
        name: list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))
        for name, content in files.items()
    }


def export(**changes):
    """The files of the two papers."""
    return oneroster(papers(), replace(SITTING, **changes), GRADEBOOK)


def test_header_rows_are_those_of_version_1_2():
    """Names and order."""
    files = export()
    assert list(files) == ["manifest.csv", "lineItems.csv", "results.csv"]
    heads = {
        name: content.decode().splitlines()[0].replace('"', "") for name, content in files.items()
    }
    assert heads["lineItems.csv"] == LINE_ITEMS and heads["results.csv"] == RESULTS
    assert heads["manifest.csv"] == "propertyName,value"


def test_the_manifest_names_every_file_and_only_what_is_there():
    """Two are given as changes, all others are absent."""
    found = {row["propertyName"]: row["value"] for row in tables(export())["manifest.csv"]}
    files = {f"file.{name}" for name in MANIFEST_FILES.split(",")}
    others = {"manifest.version", "oneroster.version", "source.systemName", "source.systemCode"}
    assert set(found) == files | others
    assert (found["manifest.version"], found["oneroster.version"]) == ("1.0", "1.2")
    given = {name for name in files if found[name] == "delta"}
    assert given == {"file.lineItems", "file.results"}
    assert {found[name] for name in files - given} == {"absent"}


def test_every_result_refers_to_a_line_item_that_is_there():
    """And to the class of that line item; students by the receiving system's identifier."""
    found = tables(export())
    (line,) = found["lineItems.csv"]
    for row in found["results.csv"]:
        assert row["lineItemSourcedId"] == line["sourcedId"]
        assert row["classSourcedId"] == line["classSourcedId"] == "class-7"
    assert [row["studentSourcedId"] for row in found["results.csv"]] == ["A1", "pupil-0042"]
    assert (line["categorySourcedId"], line["academicSessionSourcedId"]) == ("tests", "term-2")
    assert line["schoolSourcedId"] == "school-1"


def test_scores_by_hand():
    """10 and 6 of 10; days and instants as ISO 8601, the instant in universal time."""
    found = tables(export())
    assert [row["score"] for row in found["results.csv"]] == ["10", "6"]
    (line,) = found["lineItems.csv"]
    assert (line["resultValueMin"], line["resultValueMax"]) == ("0", "10")
    assert (line["assignDate"], line["dueDate"]) == ("2026-11-24", "2026-11-24")
    for row in [line, *found["results.csv"]]:
        assert (row["status"], row["dateLastModified"]) == ("active", "2026-11-25T19:30:00.000Z")
    for row in found["results.csv"]:
        assert (row["scoreStatus"], row["scoreDate"]) == ("fully graded", "2026-11-25")
        flags = {row[field] for field in ("inProgress", "incomplete", "late", "missing")}
        assert flags == {"false"}


def test_identifiers_are_stable_and_distinct():
    """A second export, re-marked a day later, changes the rows of the first."""
    before, after = tables(export()), tables(export(changed=datetime(2026, 11, 26, tzinfo=UTC)))
    for name in ("lineItems.csv", "results.csv"):
        one_id = [row["sourcedId"] for row in before[name]]
        assert one_id == [row["sourcedId"] for row in after[name]]
        assert len({uuid.UUID(text).version for text in one_id} | {5}) == 1
    every = [row["sourcedId"] for name in ("lineItems.csv", "results.csv") for row in before[name]]
    assert len(set(every)) == 3
    other = tables(export(name="2026-fuel-2"))
    assert {row["sourcedId"] for row in other["results.csv"]}.isdisjoint(every)


def test_the_bytes_do_not_depend_on_the_order_of_papers():
    """Nor on when they are written."""
    assert oneroster(papers()[::-1], SITTING, GRADEBOOK) == export()


def test_a_title_is_no_formula():
    """Such files are opened in spreadsheets too."""
    assert tables(export())["lineItems.csv"][0]["title"] == "'=Fuel, first paper"


def test_no_answer_key_or_word_of_a_learner_is_in_it():
    """Marks only."""
    everything = b"".join(export().values()).decode()
    for question in papers()[0].questions:
        for text in (*question.right, *question.given, *question.options, question.words):
            assert not re.search(rf'"{re.escape(text)}"', everything)


def test_papers_of_different_worth_are_not_mixed():
    """A line item has one maximum."""
    with pytest.raises(ValueError, match=r"worth 1\.0, 2\.0; a line item has one maximum"):
        oneroster([one(CHOICE, "A1"), one(FIGURE, "B2")], SITTING, GRADEBOOK)
    with pytest.raises(ValueError, match="papers are worth nothing"):
        oneroster([], SITTING, GRADEBOOK)


def test_what_must_be_given_is_named():
    """Time zone, names, references."""
    with pytest.raises(ValueError, match="must have a time zone"):
        replace(SITTING, changed=datetime(2026, 11, 25))
    with pytest.raises(ValueError, match="name and title"):
        replace(SITTING, title="")
    with pytest.raises(ValueError, match="gradebook: category is empty"):
        replace(GRADEBOOK, category="")
