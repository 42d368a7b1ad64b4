"""Feedback for a learner and the report of a class: what they say is what was marked."""

import re
from dataclasses import replace
from html import unescape
from types import SimpleNamespace

import pytest

from fuelkit.assess.mark_folder import SetAside
from fuelkit.assess.marking import Totals
from fuelkit.assess.papers.amendments import Amendment
from fuelkit.assess.papers.beliefs_found import FoundBelief, with_beliefs
from fuelkit.assess.papers.mark_sitting import MarkedSitting, Moved
from fuelkit.assess.papers.marking import mark_paper
from fuelkit.assess.papers.reporting import class_report, records
from fuelkit.show.papers.reports import class_pages, feedback
from tests.reading_pdf import read
from tests.small_sitting import blueprint, issued, sheet_for, texts


def words(page):
    """The words of a page as they are read."""
    body = page.html().partition("<main>")[2].partition("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def paper_of(number, wrong=()):
    """A marked paper, right but for some kinds, which were left open."""
    key = issued()[number].key
    said = {q.name: {} if q.kind in wrong else texts(q) for q in key.questions}
    return with_beliefs(mark_paper(key, sheet_for(key, said), f"{key.learner}.json"))


@pytest.fixture(scope="module")
def marked():
    """Six papers: half of them without states and orders; one moved, one sheet set aside."""
    papers = tuple(paper_of(n, ("state", "order") if n % 2 else ()) for n in range(6))
    lines = [[line.name, line.count, line.marks] for line in blueprint().lines]
    plan = {"title": "A trial", "minutes": 60.0, "pass share": 0.75, "lines": lines}
    return MarkedSitting(
        "trial-1", plan, papers, (SetAside("odd.json", "it is empty"),),
        (Moved("A01", 30.0, 39.0, "figure-1: it was cut off"),),
    )  # fmt: skip


def test_feedback_says_every_mark_with_its_reason():
    """Sum, share, pass mark; of each question its marks; of each part what was given and why."""
    paper = paper_of(0, ("order",))
    told = words(feedback(paper, 0.75))
    assert f"{paper.marks:g} of {paper.full:g} marks" in told and "pass mark is 75 %" in told
    for board in paper.boards:
        earned = "not marked yet, out" if board.name in paper.open_reasons else f"{board.marks:.1f}"
        head = f"{board.title}: {earned} of {board.full:g} marks".replace("?:", "?")
        assert head in told
        for line in board.lines:
            assert all(" ".join(text.split()) in told for text in (line.given, line.right))
            assert " ".join(line.reason.split()) in told
    assert "written reasons are not marked yet" in told


def test_printed_feedback_gives_reasons_for_what_was_not_right():
    """A line for a question that was all right; else every answer, with its reason if wrong."""
    paper = paper_of(0, ("order",))
    told = squeezed(" ".join(p.extract_text() for p in read(feedback(paper, 0.75).pdf()).pages))
    assert squeezed(f"{paper.sheet.learner}.html, which goes with it, has all answers") in told
    all_right = set()
    for board in paper.boards:
        is_open = board.name in paper.open_reasons
        is_right = all(line.is_right for line in board.lines) and not is_open
        all_right.add(is_right)
        number = board.name.removeprefix("q").lstrip("0")
        head = squeezed(f"{number}. {board.title}: ".replace("?:", "?"))
        assert (squeezed("✓ ") + head in told) is is_right and head in told
        for line in board.lines:
            answer = squeezed(f"{line.text}: {line.given}".replace("?:", "?").rstrip("."))
            assert (answer in told) is not is_right
            if not line.is_right and not is_open:
                assert squeezed(f"Computed: {line.right}".rstrip(".")) in told
                assert squeezed(line.reason) in told
    assert all_right == {True, False}


def test_a_question_that_counts_as_right_for_all_is_printed_with_its_note():
    """The wrong answers to it stand there: it is no question that was all right."""
    paper = paper_of(0, ("order",))
    place = next(i for i, q in enumerate(paper.key.questions) if q.kind == "order")
    board = paper.boards[place]
    full = replace(board, state_marks=board.state_full, note="Dropped: it was cut off")
    boards = (*paper.boards[:place], full, *paper.boards[place + 1 :])
    pages = read(feedback(replace(paper, boards=boards), 0.75).pdf()).pages
    assert squeezed(full.note) in squeezed(" ".join(page.extract_text() for page in pages))


def test_what_earns_marks_without_being_right_has_a_sign_of_its_own():
    """A figure that follows from an earlier one that was wrong is neither ticked nor crossed."""
    paper = paper_of(0)
    place = next(i for i, q in enumerate(paper.key.questions) if q.kind == "sheet")
    line = replace(paper.boards[place].lines[0], is_right=False)
    assert line.marks > 0.0
    signs = {}
    for name, one in (("earned", line), ("wrong", replace(line, marks=0.0))):
        board = replace(paper.boards[place], lines=(one,))
        boards = (*paper.boards[:place], board, *paper.boards[place + 1 :])
        page = feedback(replace(paper, boards=boards), 0.75).html()
        part = page.split(f"<h2>{place + 1}. ")[1].split("<h2>")[0]
        signs[name] = "(✓)" in part, "✗" in part
    assert signs == {"earned": (True, False), "wrong": (False, True)}


def squeezed(text):
    """A text without blanks, which a typesetter may break anywhere."""
    return "".join(text.split())


def test_a_reason_that_waits_is_neither_right_nor_wrong():
    """Until the instructor has marked it there is no cross beside it and no mark of nought."""
    paper = paper_of(0)
    assert paper.open_reasons
    page = feedback(paper, 0.75).html()
    number = paper.open_reasons[0].removeprefix("q").lstrip("0")
    part = page.split(f"<h2>{number}. ")[1].split("<h2>")[0]
    assert "not marked yet, out of" in part and "✗" not in part and "✓" not in part


def test_feedback_names_late_questions_and_beliefs_with_the_question_that_shows_them():
    """By number as the paper has it; the sentence of the belief stands as it is."""
    paper = replace(paper_of(0), late=("q03", "q11"))
    name = next(n for q in paper.key.questions for n in q.believed)
    belief = FoundBelief((name,), 0.9, ("q02",))
    told = words(feedback(replace(paper, beliefs=(belief,)), 0.75))
    assert "question 3, 11" in told and " ".join(belief.sentence.split()) in told
    assert "See question 2." in told


@pytest.mark.parametrize(
    ("marks", "pass_share", "told"),
    [
        (34.4, 0.75, "74.7 %"),  # 34.4 / 46 = 0.7478: rounded it would be the pass mark
        (34.4, 0.70, "75 %"),
        (34.5, 0.75, "75 %"),
        (45.9, 1.00, "99.7 %"),
        (0.0, 0.75, "0 %"),
    ],
)
def test_a_share_below_the_pass_mark_is_not_written_as_the_pass_mark(marks, pass_share, told):
    """Nobody reads that 75 % is not enough where 75 % is the pass mark."""
    paper = Totals()
    paper.boards = (SimpleNamespace(marks=marks, full=46.0),)
    assert paper.share_text(pass_share) == told
    assert paper.has_passed(pass_share) is (marks / 46.0 >= pass_share)


def test_a_paper_passes_at_the_pass_mark_and_not_below():
    """Of 41 marks 39 are earned: a pass up to 39/41, not above it."""
    paper = paper_of(0)
    assert (paper.marks, paper.full) == (39.0, 41.0)
    assert "pass." in words(feedback(paper, 39.0 / 41.0)).partition("The pass")[0]
    assert "not yet." in words(feedback(paper, 39.1 / 41.0)).partition("The pass")[0]


def test_the_report_counts_objectives_by_hand(marked):
    """For each objective: mean share of the marks of its questions and how many there were."""
    report, shares = class_report(marked), {}
    for paper in marked.papers:
        for question, board in zip(paper.key.questions, paper.boards, strict=True):
            for name in question.objectives:
                shares.setdefault(name, []).append(board.marks / board.full)
    found = sorted((round(share, 9), count) for _, share, count, _ in report.objectives)
    assert found == sorted((round(sum(s) / len(s), 9), len(s)) for s in shares.values())
    assert all(weak == (share < 0.6) for _, share, _, weak in report.objectives)


def test_the_class_is_reported_with_all_that_is_to_be_seen_to(marked):
    """Marks of each learner, lines, who moved and why, what waits, what was set aside, the log."""
    report = class_report(marked)
    change = Amendment("figure-1", 0, 5.0, ("a lot",), False, "the gauge was misread")
    marked = replace(marked, missing=("Z-99",), amendments=(change,))
    page = class_pages(marked, report, "HEAD-OF-THE-LOG")
    assert "no paper marked" in words(page) and "Z-99" in words(page)
    told = words(page)
    passed = sum(paper.has_passed(0.75) for paper in marked.papers)
    assert f"6 papers marked, {passed} at or above the pass mark of 75 %" in told
    for paper in marked.papers:
        assert f"{paper.sheet.learner} {paper.marks:g} of {paper.full:g}" in told
    for line in blueprint().lines:
        assert f" {line.name} " in told
    for text in ("30 to 39: figure-1: it was cut off", "odd.json it is empty", "HEAD-OF-THE-LOG",
                 "written reasons", "what is right within 5; “a lot” too",
                 "the gauge was misread", "Written reasons still to be marked: "):  # fmt: skip
        assert text in told
    earned = f"{sum(p.marks for p in marked.papers):.1f} of "
    assert f"Together they earned {earned}" in told
    assert page.pdf() == page.pdf()


def test_a_small_class_is_not_judged_by_figures_that_it_cannot_carry(marked):
    """Two papers: no reliability is given, and it says so."""
    few = replace(marked, papers=marked.papers[:2])
    figures = class_report(few).figures
    assert figures.alpha.silent and figures.near_pass.silent
    told = words(class_pages(few, class_report(few), ""))
    assert "not given" in told.lower()
    for line, marks, full in class_report(few).earned:  # what these two earned is a fact
        assert f"{line} {marks:.1f} of {full:g} marks" in told


def test_nothing_marked_is_nothing_to_report(marked):
    """A sentence, not a division by nought."""
    with pytest.raises(ValueError, match="no paper was marked"):
        class_report(replace(marked, papers=()))


def test_records_carry_the_marks_that_the_papers_have(marked):
    """Question by question, as the exports take them; none above its maximum."""
    for paper, record in zip(marked.papers, records(marked), strict=True):
        assert record.learner == paper.sheet.learner
        got = [question.got for question in record.questions]
        assert got == pytest.approx([board.marks for board in paper.boards])
        assert (record.total, record.most) == (paper.marks, paper.full)
        assert all(question.got <= question.most for question in record.questions)


def test_all_documents_agree_on_who_has_passed(marked):
    """A paper that passes on its feedback, rounded to a tenth, does on the mark sheet too."""
    paper, lifted = marked.papers[0], 0
    needed = round(0.75 * paper.full, 1)  # marks
    share = needed / paper.full
    key = replace(paper.key, questions=paper.key.questions[:1])
    first = paper.boards[0]
    for step in range(-100, 100):  # around the pass mark, in hundredths of a mark
        line = replace(first.lines[0], marks=needed + 0.01 * step, full=0.0)
        board = replace(first, lines=(line,), state_marks=0.0, state_full=paper.full)
        one = replace(paper, boards=(board,), key=key)
        (record,) = records(replace(marked, papers=(one,)))
        assert record.total == one.marks and record.has_passed(share) is one.has_passed(share)
        lifted += one.has_passed(share) and step < 0
    assert lifted  # some pass that would not, were they not rounded


def test_counted_beliefs_are_those_of_the_papers(marked):
    """Every belief is counted that a paper speaks for, with the very learners, none besides."""
    held = {(f.names[0], p.sheet.learner) for p in marked.papers for f in p.beliefs}
    told = class_report(marked).beliefs
    assert {(belief.name, learner) for belief, who in told for learner in who} == held
    assert [len(who) for _, who in told] == sorted((len(who) for _, who in told), reverse=True)
