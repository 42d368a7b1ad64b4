"""Marks of papers: sheets worked by hand, promises that hold for any answers, and changed keys."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelkit.assess.figure_marks import asked_steps
from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.marking import mark_board, split_words
from fuelkit.assess.papers.amendments import amendments_from, read_amendments
from fuelkit.assess.papers.marking import answers_of, mark_paper
from fuelkit.assess.sheet import Sheet, SheetError
from fuelkit.assess.stand import sheet_of
from tests.small_sitting import OWN, alone, issued, pool, question_of, sheet_for, texts


def marked(key, question, said, **more):
    """The marks of one question, answered with some texts, part by part."""
    sheet = sheet_for(alone(key, question), {question.name: texts(question, said)})
    return mark_paper(alone(key, question), sheet, **more)


def amended(question, **fields):
    """One amendment to a question, read as from a file."""
    row = {"question": question.source, "because": "the figure was printed badly", **fields}
    return amendments_from({"schema": 1, "amendments": [row]})


# -------------------------------------------------------------------------- worked by hand
def states():
    """A state question in which some parts change and some stay."""
    key, question = question_of("state", lambda q: 0 < len(_changed(q)) < len(q.right))
    return key, question, answers_of(question.board)


def _changed(question):
    return [i for i, answer in enumerate(answers_of(question.board)) if answer.changed]


def test_states_are_marked_by_the_changes_that_were_foreseen():
    """By hand: 4 marks; c parts change, blind guessing hits g of them on average.

    All changes right and one part falsely changed: share = c / (c + 1), and the marks are
    4 (share - g) / (1 - g). Design, section 9: what stays earns nothing, a false change is a miss.
    """
    key, question, answers = states()
    changed = _changed(question)
    guess = sum(1.0 / len(answers[i].options) for i in changed) / len(changed)
    said = list(question.right)
    kept = next(i for i in range(len(said)) if i not in changed)
    said[kept] = next(option for option in answers[kept].options if option != said[kept])
    share = len(changed) / (len(changed) + 1)
    expected = 4.0 * max(0.0, (share - guess) / (1.0 - guess))
    paper = marked(key, question, said)
    assert paper.boards[0].marks == pytest.approx(expected)
    assert f"{len(changed)} of {len(changed)} changes foreseen, 1 that did not" in (
        paper.boards[0].note
    )
    assert marked(key, question, question.right).boards[0].marks == pytest.approx(4.0)


def test_copying_what_is_shown_scores_nothing():
    """Every state question of every paper, answered with what the drawing shows: no marks."""
    for one in issued():
        given = {
            q.name: texts(q, [str(a.shown_value) for a in answers_of(q.board)])
            for q in one.key.questions if q.kind == "state"
        }  # fmt: skip
        assert given and mark_paper(one.key, sheet_for(one.key, given)).marks == 0.0


def test_two_neighbours_changed_over_in_an_order_of_four_lose_a_third():
    """By hand: 6 pairs, 5 in order; half is chance: 2 · 5/6 - 1 = 2/3 of 3 marks = 2.

    First and last changed over: 5 of 6 pairs out of order, 2 · 1/6 - 1 < 0: nothing.
    """
    key, question = question_of("order")
    a, b, c, d = question.right
    assert marked(key, question, (a, c, b, d)).boards[0].marks == pytest.approx(2.0)
    assert marked(key, question, (d, b, c, a)).boards[0].marks == 0.0
    assert marked(key, question, (a, a, a, a)).boards[0].marks == 0.0


def test_a_figure_is_right_up_to_its_tolerance_and_wrong_beyond():
    """By hand: off by the tolerance less 1 kg earns the 2 marks; by 1 kg more than it, none."""
    key, question = question_of("figure", lambda q: q.board.scene == "flight")
    answers = answers_of(question.board)
    for off, share in ((-1.0, 1.0), (1.0, 0.0)):
        said = [f"{a.value + a.ask.tolerance + off:.1f} kg" for a in answers]
        assert marked(key, question, said).boards[0].marks == pytest.approx(2.0 * share)


def test_a_time_is_right_up_to_its_tolerance_and_wrong_beyond():
    """The same of a time, written to the second."""
    key, question = question_of("when")
    (answer,) = answers_of(question.board)
    for off, marks in ((-2.0, 2.0), (2.0, 0.0)):
        paper = marked(key, question, [answer.written(answer.value + answer.ask.tolerance + off)])
        assert paper.boards[0].marks == marks


def test_a_choice_is_right_or_wrong_and_nothing_between():
    """The right sentence: 2 marks. Either other one: none, and what is right stands beside it."""
    key, question = question_of("choice", lambda q: q.board.scene == "flight")
    (answer,) = answers_of(question.board)
    for option in answer.options:
        board = marked(key, question, [option]).boards[0]
        assert board.marks == (2.0 if option == answer.value else 0.0)
        assert board.lines[0].right == answer.value


def uplift():
    """An uplift sheet of some paper, its steps, and its values."""
    key, question = question_of("sheet", lambda q: q.board.sheet == "uplift")
    sheet = sheet_of(aircraft_of(OWN), question.board)
    return key, question, sheet, asked_steps(sheet)


def test_one_slip_in_a_sheet_loses_that_part_only():
    """By hand: the first figure is wrong by a half; all that follows is worked from it.

    It loses its own share of the 8 marks, all other parts earn theirs.
    """
    key, question, sheet, steps = uplift()
    first = steps[0]
    instead = {first.name: 1.5 * sheet.worked()[first.name]}
    values = sheet.worked(instead)
    board = marked(key, question, [s.written(values[s.name]) for s in steps]).boards[0]
    whole = sum(step.marks for step in steps)
    assert board.full == pytest.approx(8.0)
    assert board.marks == pytest.approx(8.0 * (whole - first.marks) / whole)
    assert board.lines[0].marks == 0.0


# ------------------------------------------------------------------------------- promises
def awards(key):
    """All marks for every written reason."""
    return {q.name: 1.0 for q in key.questions if q.kind == "reason"}


def test_an_all_right_sheet_scores_full_and_an_empty_one_nothing():
    """Every paper, every kind; full is what the blueprint says."""
    for one in issued():
        paper = mark_paper(one.key, sheet_for(one.key), awards=awards(one.key))
        assert paper.marks == paper.full == one.key.marks
        assert all(board.marks == pytest.approx(board.full) for board in paper.boards)
        assert mark_paper(one.key, sheet_for(one.key, {})).marks == 0.0


def test_written_reasons_wait_for_the_instructor_and_count_by_the_award():
    """Not marked: none of the 2 marks, and named as open. Awarded a half: 1 mark more."""
    key, question = question_of("reason")
    paper = marked(key, question, ["Because the tank is empty"])
    assert paper.open_reasons == (question.name,) and paper.marks == 0.0
    half = marked(key, question, ["Because"], awards={question.name: 0.5})
    assert half.open_reasons == () and half.marks == 1.0
    assert marked(key, question, [""]).open_reasons == ()


_TEXT = st.one_of(
    st.text(max_size=12), st.sampled_from(["never", "1:00:00", "0", "-5 kg", "1e9", "=1+1", "∞"]),
    st.integers(-10, 99999).map(str),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_marks_stay_between_nought_and_the_maximum_for_any_answers(data):
    """Whatever is written, for whichever parts; question by question and in all."""
    one = data.draw(st.sampled_from(issued()))
    said = {}
    for question in data.draw(
        st.lists(st.sampled_from(one.key.questions), unique_by=lambda q: q.name)
    ):
        parts = zip(answers_of(question.board), question.right, strict=True)
        said[question.name] = {
            a.ask.identifier: data.draw(
                st.one_of(_TEXT, st.just(right), st.sampled_from(a.options or ("0",)))
            )
            for a, right in parts if data.draw(st.booleans())
        }  # fmt: skip
    paper = mark_paper(one.key, sheet_for(one.key, said))
    assert all(-1e-9 <= b.marks <= b.full + 1e-9 for b in paper.boards)
    assert 0.0 <= paper.marks <= paper.full


def test_the_order_of_questions_does_not_matter():
    """Key and sheet turned round: the same marks by question."""
    for one in issued():
        said = {
            q.name: texts(q, q.right if n % 2 else [*q.right[:-1], ""])
            for n, q in enumerate(one.key.questions)
        }
        turned = replace(one.key, questions=tuple(reversed(one.key.questions)))
        plain = mark_paper(one.key, sheet_for(one.key, said))
        other = mark_paper(turned, sheet_for(one.key, dict(reversed(said.items()))))
        assert {b.name: b.marks for b in plain.boards} == {b.name: b.marks for b in other.boards}


def test_each_mark_has_its_line_of_reason():
    """Every part but a written reason says why, even where nothing was answered."""
    for one in issued():
        paper = mark_paper(one.key, sheet_for(one.key, {}))
        for question, board in zip(one.key.questions, paper.boards, strict=True):
            if question.kind != "reason":
                assert all(line.reason and line.right for line in board.lines)


# ------------------------------------------------------------------------------ amendments
def test_a_wider_tolerance_moves_the_figure_that_it_is_about():
    """A figure 1 kg beyond its tolerance is wrong; with 5 kg more of it, right; others stay."""
    key, question = question_of("figure", lambda q: q.board.scene == "flight")
    answer = answers_of(question.board)[0]
    said = [f"{a.value + a.ask.tolerance + 1.0:.1f} kg" for a in answers_of(question.board)]
    wide = amended(question, part=1, tolerance=answer.ask.tolerance + 5.0)
    assert marked(key, question, said).marks == 0.0
    board = marked(key, question, said, amendments=wide).boards[0]
    assert board.lines[0].is_right and board.marks == pytest.approx(2.0 / len(said))
    assert not any(line.is_right for line in board.lines[1:])


def test_a_wider_tolerance_reaches_a_step_of_a_sheet():
    """The first figure is off by thrice its tolerance: wrong; allowed four times, it is right."""
    key, question, sheet, steps = uplift()
    part, step = next((n, s) for n, s in enumerate(steps, start=1) if not s.options)
    value = sheet.worked()[step.name]
    beyond = next(
        off for off in (10.0**n for n in range(-3, 6)) if not step.agrees(value + off, value)
    )
    said = [s.written(value + 2.0 * beyond if s is step else sheet.worked()[s.name])
            for s in steps]  # fmt: skip
    before = marked(key, question, said).boards[0]
    assert not before.lines[part - 1].is_right
    wide = amended(question, part=part, tolerance=1e6)
    after = marked(key, question, said, amendments=wide).boards[0]
    assert after.lines[part - 1].is_right and after.marks > before.marks
    marks = [[line.marks for line in board.lines[part:]] for board in (before, after)]
    assert marks[0] == marks[1]


def test_a_further_answer_counts_as_right():
    """One wrong option is accepted besides: it earns the mark, the other one does not."""
    key, question = question_of("choice", lambda q: q.board.scene == "flight")
    (answer,) = answers_of(question.board)
    wrong = [option for option in answer.options if option != answer.value]
    change = amended(question, accept=[wrong[0]])
    marks = [marked(key, question, [w], amendments=change).marks for w in (*wrong, answer.value)]
    assert marks == [2.0, 0.0, 2.0]


def test_a_dropped_question_earns_everybody_its_marks_and_no_more():
    """Right, wrong or empty: exactly the question's marks, for every kind; and says why."""
    for question_kind in ("state", "order", "when", "figure", "sheet", "choice", "reason", "spot"):
        key, question = question_of(question_kind)
        change = amended(question, drop=True)
        for said in (question.right, [""] * len(question.right)):
            paper = marked(key, question, said, amendments=change)
            assert (paper.marks, paper.full) == (question.marks, question.marks), question_kind
        assert "the figure was printed badly" in paper.boards[0].note
    other = replace(question, source="another")
    assert marked(key, other, [""] * len(other.right), amendments=change).marks == 0.0


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"because": "x", "drop": True}, "question is missing"),
        ({"question": "q", "drop": True}, "because is missing"),
        ({"question": "q", "because": "x"}, "say tolerance, accept or drop"),
        ({"question": "q", "because": "x", "drop": "yes"}, "true or false"),
        ({"question": "q", "because": "x", "part": 61, "drop": True}, "at most 60"),
        ({"question": "q", "because": "x", "tolerance": "wide"}, "number"),
        ({"question": "q", "because": "x", "accepts": ["a"], "drop": True}, "'accept'"),
    ],
)
def test_each_fault_of_an_amendment_is_named(row, words):
    """Field, and what would be right; without a file there are none."""
    with pytest.raises(ValueError, match=words):
        amendments_from({"schema": 1, "amendments": [row]})


def test_no_file_of_amendments_is_no_amendment(tmp_path):
    """Most sittings have none."""
    assert read_amendments(tmp_path / "amendments.toml") == ()


# ------------------------------------------------------------------------------------ time
def timed(key, begun, minutes_after):
    """A sheet whose questions were committed so many minutes after the beginning."""
    sheet = sheet_for(key, {})
    form = "%Y-%m-%dT%H:%M:%SZ"
    start = datetime(2027, 1, 31, 8, 30)
    entries = {"begin": {"given": {}, "committed": begun or start.strftime(form)}}
    for question, minutes in zip(key.questions, minutes_after, strict=False):
        at = (start + timedelta(minutes=minutes)).strftime(form)
        entries[question.name] = {"given": texts(question), "committed": at}
    sheet = replace(sheet, answers=entries)
    return replace(sheet, receipt=sheet.true_receipt())


def test_late_commits_are_named_and_more_time_moves_the_limit():
    """A limit of 60 minutes: 59 and 60 are in time, 61 and 80 late; with 20 more none is."""
    key = issued()[0].key
    sheet = timed(key, "", (59, 60, 61, 80))
    late = tuple(q.name for q in key.questions[2:4])
    assert mark_paper(key, sheet, minutes=60.0).late == late
    assert mark_paper(key, sheet, minutes=60.0, more=20.0).late == ()
    assert mark_paper(key, sheet, minutes=0.0).late == ()
    assert mark_paper(key, sheet, minutes=60.0).marks == mark_paper(key, sheet).marks


def test_times_that_are_none_are_refused():
    """A sheet whose times were changed to something else, or that was never begun."""
    key = issued()[0].key
    with pytest.raises(SheetError, match="'yesterday'.*2027-01-31T08:30:00Z"):
        mark_paper(key, timed(key, "yesterday", (1,)), minutes=60.0)
    with pytest.raises(SheetError, match="never begun"):
        mark_paper(key, sheet_for(key, begun=False), minutes=60.0)


# ------------------------------------------------------------------------- sheets that do not fit
def test_a_sheet_that_does_not_belong_to_the_key_is_refused_with_the_reason():
    """Another learner, unit, aircraft; not asked; not handed in; changed; half a sign."""
    key, sheet = issued()[0].key, sheet_for(issued()[0].key)
    odd = replace(sheet, answers={**sheet.answers, "q01": {"given": {"q01-99": "x"},
                                                           "committed": ""}})  # fmt: skip
    half = sheet_for(key, {})
    half = replace(half, answers={"q01": {"given": {"q01-1": "\ud800"}, "committed": ""}})
    for wrong, words in (
        (replace(sheet, learner="A02"), "not for this paper"),
        (replace(sheet, unit="paper-trial-2-a01"), "not for this paper"),
        (replace(sheet, aircraft="0" * 16), "another edition"),
        (replace(odd, receipt=odd.true_receipt()), "not asked"),
        (Sheet(key.paper, key.learner, key.fingerprint), "not handed in"),
        (replace(sheet, answers={}), "changed after"),
        (half, "no text has"),
    ):
        with pytest.raises(SheetError, match=words):
            mark_paper(key, wrong)


def test_questions_that_earn_nothing_are_not_in_the_pool():
    """Each question that is drawn can be marked: its board has marks to be had."""
    for question in pool():
        if question.kind != "reason":
            assert mark_board(question.board, answers_of(question.board), {}).full > 0.0


# ------------------------------------------------------------------------- marked by hand
def test_what_the_scheme_says_of_the_split_is_how_marks_are_given():
    """Some of the changes right and the others open: the share that stands in the mark scheme."""
    shares = set()
    for question in (q for q in pool() if q.kind == "state"):
        answers = answers_of(question.board)
        words = split_words(answers)
        changed = [a.ask.identifier for a in answers if a.changed]
        told = {int(r): int(s) for r, s in re.findall(r"(\d+) right, (\d+) %", words)}
        numbers = [str(i) for i, a in enumerate(answers, start=1) if a.changed]
        assert re.findall(r"\d+", words.partition(";")[0]) == numbers
        assert told[len(changed)] == 100 and 0 not in told.values()
        assert ("fewer, nothing" in words) == (len(told) < len(changed))
        for right in range(1, len(changed) + 1):
            share = told.get(right, 0)
            open_ones = changed[right:]
            given = {i: text for i, text in texts(question).items() if i not in open_ones}
            mark = mark_board(question.board, answers, given)
            assert round(100.0 * mark.marks / mark.full) == share
            shares.add(share)
    assert len(shares) > 3


def test_what_the_scheme_says_of_pairs_is_how_orders_are_marked():
    """For every order that four events can be put in."""
    board = next(q.board for q in pool() if q.kind == "order")
    answers = answers_of(board)
    told = {int(r): int(s) for r, s in re.findall(r"(\d+) right, (\d+) %", split_words(answers))}
    right, seen = [answer.value for answer in answers], set()
    for order in permutations(right):
        pairs = sum(order.index(a) < order.index(b) for a, b in combinations(right, 2))
        said = {a.ask.identifier: text for a, text in zip(answers, order, strict=True)}
        mark = mark_board(board, answers, said)
        assert round(100.0 * mark.marks / mark.full) == told.get(pairs, 0)
        seen.add(pairs)
    assert set(told) <= seen and 0 not in told.values()


def test_what_the_scheme_says_of_the_parts_of_a_sheet_is_what_each_earns():
    """Each part of every sheet answered alone, the others open."""
    seen = set()
    for question in (q for q in pool() if q.kind == "sheet"):
        answers, board = answers_of(question.board), question.board
        words = split_words(answers)
        even = re.search(r"Each of (\d+) parts earns ([\d.]+) %", words)
        told = {str(i): even[2] for i in range(1, int(even[1]) + 1)} if even else {}
        for parts, share in re.findall(r"([\d, and]+): ([\d.]+) %", "" if even else words):
            told |= dict.fromkeys(re.findall(r"\d+", parts), share)
        seen.add(bool(even))
        assert len(told) == len(answers)
        for number, answer in enumerate(answers, start=1):
            alone = {answer.ask.identifier: texts(question)[answer.ask.identifier]}
            mark = mark_board(board, answers, alone)
            assert f"{100.0 * mark.marks / mark.full:.1f}" == told[str(number)]
    assert seen


def test_each_kind_of_question_with_parts_says_how_its_marks_are_split():
    """Sheets in words; a question of one part says nothing."""
    said = {q.kind: split_words(answers_of(q.board)) for q in pool()}
    assert "parts earns" in said["sheet"] or "own marks" in said["sheet"]
    assert said["choice"] == said["reason"] == said["when"] == ""
