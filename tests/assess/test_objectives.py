"""Objectives: a sound table, and none without a lesson and a question."""

import copy
from collections import Counter
from importlib import resources
from types import SimpleNamespace

import pytest

from fuelkit.aircraft.reading import DataFileError, read_toml
from fuelkit.assess.course import load_unit, unit_names
from fuelkit.assess.objectives import (
    STAGES,
    coverage,
    load_objectives,
    load_table,
    objectives_of,
    table_from,
    uncovered,
)
from fuelkit.show.objectives_page import codes_text, objectives_page, page_of

SMALL = {
    "schema": 1,
    "lessons": [
        {"name": "lesson-tanks", "title": "Tanks"},
        {"name": "lesson-climb", "title": "Climb"},
    ],
    "editions": [
        {"name": "A", "title": "A syllabus", "edition": "first", "read": "page 3"},
        {"name": "B", "title": "B syllabus", "edition": "second", "read": "nothing"},
    ],
    "objectives": [
        {
            "name": "layout",
            "text": "name the tanks <all>",
            "stage": "knowledge",
            "codes": [
                {"edition": "A", "code": "1.2", "confirmed": True},
                {"edition": "B", "code": "K4"},
                {"edition": "B", "code": "K5"},
            ],
            "lessons": ["lesson-tanks", "lesson-climb"],
        },
        {"name": "crossfeed", "text": "use the crossfeed", "lessons": ["lesson-climb"]},
    ],
}


def ask(name, *objectives, **more):
    """Return a stand-in for a question; without objectives it has not even the attribute."""
    named = {"objectives": objectives} if objectives else {}
    return SimpleNamespace(identifier=name, **named, **more)


def board(name, *asks, **more):
    """Return a stand-in for a board."""
    return SimpleNamespace(name=name, asks=asks, **more)


def unit(name, *boards):
    """Return a stand-in for a lesson or an exercise, known by its name."""
    return SimpleNamespace(identifier=name, kind=name.split("-")[0], boards=boards)


def small(**changes):
    """Return the small file with changes to its second objective."""
    content = copy.deepcopy(SMALL)
    content["objectives"][1].update(changes)
    return content


def faults(content):
    """Return the faults of a file's content."""
    with pytest.raises(DataFileError) as problem:
        table_from(content, "small")
    return problem.value.faults


def test_the_table_has_what_the_course_needs():
    """Between 25 and 40 objectives over nine lessons, none of which stays without."""
    table = load_table()
    assert 25 <= len(table.objectives) <= 40 and len(table.lessons) == 9
    assert len({o.text for o in table.objectives}) == len(table.objectives)
    for lesson in table.lessons:
        assert len(objectives_of(lesson)) >= 3, lesson
    assert {o.stage for o in table.objectives} == set(STAGES)


def test_only_what_was_read_counts_as_confirmed():
    """Each syllabus says what of it was read, and only a code of 121.419 was read."""
    codes = [code for objective in load_objectives() for code in objective.codes]
    assert {code.edition.name for code in codes if code.confirmed} == {"14 CFR"}
    for code in codes:
        late = code.code in ("121.419(a)(2)(viii)", "121.419(a)(2)(ix)")
        assert code.confirmed == (code.edition.name == "14 CFR" and not late), code
    assert {code.edition for code in codes} == set(load_table().editions)


def test_a_syllabus_has_codes_of_one_form():
    """EASA: three, two, two, two digits; FAA: task AA.I.A; CFR: the one section."""
    forms = {"EASA 2018": "0", "ACS 11A": "AA.I.A.", "14 CFR": "121.419("}
    for objective in load_objectives():
        places = [(code.edition.name, code.code) for code in objective.codes]
        assert not [p for p, n in Counter(places).items() if n > 1], objective.name
        for edition, code in places:
            assert code.startswith(forms[edition]), code
            if edition == "EASA 2018":
                assert [len(part) for part in code.split()] == [3, 2, 2, 2], code


def test_objectives_of_a_lesson_are_those_that_name_it():
    """A lesson has exactly the objectives that list it; a wrong name is met with the nearest."""
    found = objectives_of("lesson-cruise")
    assert found == tuple(o for o in load_objectives() if "lesson-cruise" in o.lessons)
    with pytest.raises(DataFileError, match="Did you mean 'lesson-cruise'"):
        objectives_of("lesson-cruse")


def test_coverage_counts_questions_of_asks_and_of_whole_boards():
    """A board's objectives go for all its asks; one question is counted once for an objective."""
    table = table_from(SMALL)
    units = (
        unit("lesson-climb", board("b", ask("1", "layout"), ask("2"), objectives=("layout",))),
        unit("exercise-climb", board("b", ask("1", "crossfeed", "layout"))),
    )
    found = coverage(iter(units), table.objectives)
    assert found["layout"].lessons == ("lesson-climb",)
    assert found["layout"].asks == ("lesson-climb: 1", "lesson-climb: 2", "exercise-climb: 1")
    assert found["crossfeed"] == (("lesson-climb",), ("exercise-climb: 1",))
    assert uncovered(iter(units), table.objectives) == ()


def test_what_a_learner_does_not_answer_tests_nothing():
    """Not an example worked through, nor an answer that is given; the finds of a walk-around do."""
    table = table_from(SMALL)
    shown = board("w", ask("1", "layout"), is_committed_by_learner=False)
    half = board("h", ask("2", "layout", given=True), ask("3", "crossfeed", given=False))
    found = coverage([unit("lesson-climb", shown, half)], table.objectives)
    assert found["layout"].asks == () and found["crossfeed"].asks == ("lesson-climb: 3",)
    walk = board("round", objectives=("layout",), scene="walk-around")
    found = coverage([unit("lesson-climb", walk)], table.objectives)
    assert found["layout"].asks == ("lesson-climb: round",)


def test_gaps_are_said_in_sentences():
    """No lesson, no question, and a name that the table has not: each is a sentence."""
    table = table_from(SMALL)
    units = [unit("lesson-tanks", board("b", ask("1", "layuot"), objectives=("nothing like it",)))]
    assert uncovered(units, table.objectives) == (
        "No question tests 'layout'.",
        "No lesson teaches 'crossfeed'.",
        "No question tests 'crossfeed'.",
        "lesson-tanks: board 'b' names the objective 'nothing like it', which the table has not.",
        "lesson-tanks: question '1' names the objective 'layuot', which the table has not. "
        "Did you mean 'layout'?",
    )
    # An exercise tests; it does not teach.
    exercise = unit("exercise-climb", board("b", ask("1", "layout", "crossfeed")))
    assert uncovered([exercise], table.objectives) == (
        "No lesson teaches 'layout'.",
        "No lesson teaches 'crossfeed'.",
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"stage": "sklil"}, "stage is 'sklil'; it must be 'knowledge' or 'risk' or 'skill'"),
        ({"text": "Use the crossfeed."}, "text is 'Use the crossfeed.'; it must go on from"),
        ({"text": ""}, "text is ''; it must be one line"),
        ({"lessons": []}, "lessons is []; it must be a list of texts"),
        ({"lessons": ["lesson-clim"]}, "no lesson of this file. Did you mean 'lesson-climb'?"),
        ({"lessons": ["lesson-climb", "lesson-tanks"]}, "order of the course, each once"),
        ({"lessons": ["lesson-climb", "lesson-climb"]}, "order of the course, each once"),
        ({"codes": [{"edition": "C", "code": "1"}]}, "edition is 'C'; it must be 'A' or 'B'"),
        ({"codes": [{"edition": "A"}]}, "code is missing"),
        ({"codes": [{"edition": "A", "code": "1", "confirmed": 1}]}, "must be true or false"),
        ({"codes": "1.2"}, "it must be repeated sections [[codes]]"),
        ({"name": "layout"}, "The objective 'layout' stands twice"),
        ({"stages": "risk"}, "stages is not a known field. Did you mean 'stage'?"),
    ],
)
def test_a_wrong_field_is_named_with_its_value_and_what_is_right(changes, said):
    """Each slip in the file gives one fault that says where, what and what would be right."""
    found = faults(small(**changes))
    assert len(found) == 1 and said in found[0], found


def test_all_faults_come_at_once():
    """A file with several faults is told all of them."""
    content = small(stage="x", lessons=["lesson-x"])
    content["schema"] = 2
    content["editions"].append(content["editions"][0])
    found = faults(content)
    assert len(found) == 4
    assert "this kit reads version 1" in found[0]
    assert "'A' stands twice" in found[3]


@pytest.mark.parametrize("section", ["schema", "lessons", "editions", "objectives"])
def test_a_missing_section_is_named(section):
    """Without one of its sections the file is refused, and the section is named."""
    content = small()
    del content[section]
    assert any(f"{section} is missing" in fault for fault in faults(content))


def test_the_page_shows_codes_lessons_and_questions():
    """Each row: what is learned, codes with edition and doubt, lessons, questions counted."""
    table = table_from(SMALL)
    units = [unit("lesson-climb", board("b", ask("1", "layout"), ask("2", "layout")))]
    page = page_of(table, units)
    assert codes_text(table.objectives[0]) == "1.2 (A); K4, K5 (B, codes not confirmed)"
    assert page.text.splitlines()[2:4] == [
        "name the tanks <all> | knowledge | 1.2 (A); K4, K5 (B, codes not confirmed)"
        " | Tanks, Climb | 2",
        "use the crossfeed | – | no code fits | Climb | 0",
    ]
    assert "A: A syllabus, first; read: page 3." in page.text
    assert "&lt;all&gt;" in page.html and "<all>" not in page.html
    assert len(page_of(table, units, "lesson-tanks").text.splitlines()) == 4


def test_the_page_of_the_kit_says_what_is_not_confirmed():
    """The course's own page has a row for each objective, and says which codes were not read."""
    page = objectives_page()
    for objective in load_objectives():
        assert f"{objective.text} | " in page.text
    assert "AA.I.A.K4 (ACS 11A, code not confirmed)" in page.text
    assert "121.419(a)(2)(v) (14 CFR)" in page.text
    with pytest.raises(DataFileError, match="there is no such lesson"):
        objectives_page("lesson-loop")


def test_every_objective_has_a_lesson_and_a_question():
    """In the lessons and exercises as they are, nothing that is promised is left out."""
    gaps = uncovered([load_unit(name) for name in unit_names()])
    assert not gaps, "\n".join(gaps)


def test_the_file_says_of_each_code_whether_it_was_read():
    """No code of the course's file leaves `confirmed` to the default."""
    content = read_toml(str(resources.files("fuelkit.assess") / "data" / "objectives.toml"))
    for objective in content["objectives"]:
        assert all("confirmed" in code for code in objective["codes"]), objective["name"]
