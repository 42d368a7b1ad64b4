"""Blueprints and class lists: the example loads; each fault is named, with what would be right."""

import tomllib

import pytest

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.papers.blueprint import EXAMPLE, blueprint_from, read_blueprint
from fuelkit.assess.papers.class_list import read_class_list


def content(**changed):
    """The example's content; a change of None takes the field away."""
    table = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))
    table |= changed
    return {name: value for name, value in table.items() if value is not None}


def with_line(**changed):
    """The example with one line only, changed."""
    whole = {"name": "states", "kinds": ["state"], "count": 2, "marks": 4} | changed
    return content(lines=[{n: v for n, v in whole.items() if v is not None}])


def faults(table):
    """The sentence with all faults of a blueprint."""
    with pytest.raises(DataFileError) as caught:
        blueprint_from(table)
    return str(caught.value)


def test_the_example_loads_and_is_a_paper_of_twenty_questions():
    """Eleven lines, 20 questions; marks are those of the lines times their counts."""
    blueprint = read_blueprint(str(EXAMPLE))
    lines = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))["lines"]
    assert len(blueprint.lines) == len(lines) == 11
    assert blueprint.count == sum(row["count"] for row in lines) == 20
    assert blueprint.marks == sum(row["count"] * row["marks"] for row in lines)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"schema": 2}, ["schema", "2", "version 1"]),
        ({"schema": None}, ["schema is missing"]),
        ({"sitting": "Fuel 1"}, ["sitting", "Fuel 1", "small letters", "autumn-1"]),
        ({"sitting": "-fuel"}, ["sitting", "-fuel", "small letters"]),
        ({"sitting": "été"}, ["sitting", "été", "small letters"]),
        ({"sitting": "x" * 31}, ["sitting", "small letters"]),
        ({"title": None}, ["title is missing"]),
        ({"title": "two\nlines"}, ["title", "one line of text"]),
        ({"minutes": -1}, ["minutes", "-1", "at least 0"]),
        ({"minutes": 601}, ["minutes", "601", "at most 600"]),
        ({"pass_percent": 0}, ["pass_percent", "0", "greater than 0"]),
        ({"pass_percent": 101}, ["pass_percent", "101", "at most 100"]),
        ({"flights": 0}, ["flights", "0", "at least 1"]),
        ({"flights": 2.5}, ["flights", "2.5", "whole number"]),
        ({"spread_percent": 0}, ["spread_percent", "0", "greater than 0"]),
        ({"spread_percent": 21}, ["spread_percent", "21", "at most 20"]),
        ({"keep_days": "a year"}, ["keep_days", "a year", "number"]),
        ({"keep_days": 4000}, ["keep_days", "4000", "at most 3650"]),
        ({"flight": 3}, ["flight is not a known field", "flights"]),
        ({"lines": None}, ["lines is missing"]),
        ({"lines": []}, ["count", "0", "1 to 60"]),
        ({"lines": "state"}, ["lines", "state", "[[lines]]"]),
    ],
)
def test_each_fault_of_the_whole_is_named(changed, words):
    """Field, value and what would be right."""
    said = faults(content(**changed))
    assert all(word in said for word in words), said


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"kinds": ["stat"]}, ["'states'", "kinds", "stat", "'state'"]),
        ({"kinds": ["chioce", "state"]}, ["kinds", "chioce", "'choice'"]),
        ({"kinds": []}, ["kinds", "at least one"]),
        ({"kinds": "state"}, ["kinds", "list of texts"]),
        ({"kinds": None}, ["kinds is missing"]),
        ({"objectives": ["upliftt"]}, ["objectives", "upliftt", "'uplift'"]),
        ({"stages": ["cruse"]}, ["stages", "cruse", "'cruise'"]),
        ({"difficulty": "very hard"}, ["difficulty", "very hard", "'middle'", "'any'"]),
        ({"count": 0}, ["count", "0", "at least 1"]),
        ({"count": 61}, ["count", "61", "at most 60"]),
        ({"count": 1.5}, ["count", "1.5", "whole number"]),
        ({"count": None}, ["count is missing"]),
        ({"marks": 0}, ["marks", "0", "greater than 0"]),
        ({"marks": 101}, ["marks", "101", "at most 100"]),
        ({"markz": 4}, ["markz is not a known field", "'marks'"]),
    ],
)
def test_each_fault_of_a_line_is_named_with_the_nearest_name(changed, words):
    """The line by its name, the field, the value, and the name that was perhaps meant."""
    said = faults(with_line(**changed))
    assert all(word in said for word in words), said


def test_all_faults_are_told_at_once_and_lines_need_names_of_their_own():
    """Three faults in three places, three sentences; two lines of one name; 61 questions."""
    said = faults(content(minutes=-1, flights=0, title=None))
    assert all(word in said for word in ("minutes", "flights", "title"))
    row = {"name": "a", "kinds": ["state"], "count": 2, "marks": 4}
    assert "line 'a' stands twice" in faults(content(lines=[row, row]))
    many = [row | {"name": name, "count": 31} for name in "ab"]
    assert "62" in faults(content(lines=many))


def written(tmp_path, data):
    """A class list on disk."""
    path = tmp_path / "class.txt"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def test_a_class_list_keeps_its_order_and_reads_no_name(tmp_path):
    """Codes as they sit; a heading, blank lines, notes and what follows a comma are not read."""
    text = "\ufeffcode,name\n b07 , A Person\n\nA03 # late\nC-1;x\r\na02\n"
    assert read_class_list(written(tmp_path, text)) == ("B07", "A03", "C-1", "A02")


def test_a_class_list_that_is_not_there_is_named(tmp_path):
    """A wrong file name is told as a fault of the list, not as one of the kit."""
    with pytest.raises(DataFileError, match="no such file"):
        read_class_list(tmp_path / "elsewhere.txt")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("", ["no learner code", "A07"]),
        ("# nothing\n", ["no learner code"]),
        ("A01\nA Person\n", ["line 2", "A Person", "such as A07."]),
        ("A01\na01\n", ["A01 stands more than once", "lines 1, 2"]),
        ("A01\n../etc\n", ["line 2", "../etc"]),
        (b"A01\n\xff\xfe\n", ["UTF-8"]),
        ("".join(f"L{n}\n" for n in range(2001)), ["2001", "2000"]),
        ("A01, " + "x" * 200_000 + "\nA02\n", ["larger than 200 kB"]),
    ],
)
def test_each_fault_of_a_class_list_is_named(tmp_path, data, words):
    """No line is left out in silence; the line, what it says, what a code is."""
    with pytest.raises(DataFileError) as caught:
        read_class_list(written(tmp_path, data))
    assert all(word in str(caught.value) for word in words), caught.value
