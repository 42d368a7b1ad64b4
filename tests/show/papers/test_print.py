"""Papers in print and as data: each word is there, no answer is told, bytes are the same."""

import json
import os
import re
from functools import lru_cache
from html import unescape
from itertools import pairwise
from pathlib import Path

import pytest
import typst

from fuelkit.assess.integrity.scan import scan
from fuelkit.assess.papers.marking import answers_of
from fuelkit.assess.papers.time_limit import digests
from fuelkit.assess.papers.typed import LETTERS
from fuelkit.show.papers.bundle import bundle
from fuelkit.show.papers.content import paper_content
from fuelkit.show.papers.in_heaps import drawn_once, heaps
from fuelkit.show.papers.print_paper import paper_pdf, scheme_pdf, scheme_rows
from fuelkit.show.print import typeset
from fuelkit.show.print.pieces import Pieces
from tests.reading_pdf import read, tags
from tests.small_sitting import LEARNERS, SECRET, blueprint, issued

ALL = os.environ.get("FUELKIT_PAPERS") == "all"
SIZES = {"A4": (595, 842), "Letter": (612, 792)}  # points: ISO 216, ANSI Y14.1, from memory
_QUOTED = re.compile(r'#"((?:[^"\\]|\\.)*)"')


@lru_cache(maxsize=1)
def contents():
    """All papers, drawn as the command draws them: a question's drawing is made once."""
    known = {}
    return tuple(
        paper_content(
            one.key, one.seal, blueprint(),
            digests(SECRET, blueprint().sitting, one.key.learner), known,
        )
        for one in issued()
    )  # fmt: skip


def source_of(monkeypatch, make):
    """What is handed to the typesetter at the last, with its files."""
    caught = []

    def kept(given, **_):
        if isinstance(given, str):  # a folder: it holds what is no text
            given = {path.name: path.read_bytes() for path in Path(given).parent.iterdir()}
        caught.append(given)
        return b""

    monkeypatch.setattr(typst, "compile", kept)
    make()
    monkeypatch.undo()
    typeset.picture.cache_clear()  # what it keeps now was never set
    return {name: data.decode(errors="replace") for name, data in caught[-1].items()}


def texts_in(source):
    """All texts of a source as they will be read: what stands in quotes, with escapes undone."""
    plain = [re.sub(r"\\(.)", lambda m: "\n" if m[1] == "n" else m[1], t)
             for t in _QUOTED.findall(source)]  # fmt: skip
    return "\n".join(plain)


def squeezed(text):
    """A text without blanks, which a typesetter may break anywhere."""
    return "".join(text.split())


# ------------------------------------------------------------------------------- the content
def test_a_paper_holds_no_answer_no_draw_and_no_salt(tmp_path):
    """The bundle passes the scan of the command: secret, salt, draws and other learners' codes."""
    for one, content in list(zip(issued(), contents(), strict=True))[:: 1 if ALL else 3]:
        place = tmp_path / one.key.learner
        place.mkdir()
        for name, data in bundle(content).items():
            (place / name).write_bytes(data)
        draws = [str(q.board.draw) for q in one.key.questions if q.board.draw > 1]
        others = [code for code in LEARNERS if code != one.key.learner]
        secrets = [SECRET, bytes.fromhex(one.seal.salt), *draws, *others]
        assert scan(place, secrets) == ()
        told = {name: content[name] for name in ("paper", "learner", "seal")}
        for leaked in (draws[0], one.seal.salt, others[0]):
            (place / "paper.json").write_text(json.dumps(told | {"title": leaked}))
            assert scan(place, secrets)


def test_a_paper_has_the_asks_of_its_key_and_nothing_that_says_which_flight():
    """Asks in the key's order; no sector, source, failure, reason, belief or mark of an option."""
    for one, content in zip(issued(), contents(), strict=True):
        told = json.dumps(content)
        for question, shown in zip(one.key.questions, content["questions"], strict=True):
            identifiers = [a.ask.identifier for a in answers_of(question.board)]
            assert [ask["id"] for ask in shown["asks"]] == identifiers
            assert question.source not in told and shown["marks"] == question.marks
            for ask in shown["asks"]:
                assert not {"right", "answer", "reason", "given", "is_right", "about"} & set(ask)
            if question.board.more:
                assert question.board.more not in told
        assert one.seal.salt not in told and one.seal.printed in content["seal"]
        for answer in (a for q in one.key.questions if q.kind == "reason"
                       for a in answers_of(q.board)):  # fmt: skip
            assert answer.value not in told


def test_options_stand_in_the_order_of_the_key():
    """Also where a drawing was made for a neighbour, at another place: the letters are the same."""
    places = {}
    for one, content in zip(issued(), contents(), strict=True):
        for question, shown in zip(one.key.questions, content["questions"], strict=True):
            for answer, ask in zip(answers_of(question.board), shown["asks"], strict=True):
                assert list(answer.options) == ask["options"]
            places.setdefault(question.source, set()).add(question.name)


def test_figures_and_sheets_are_not_worked_in_advance():
    """The right figure of a question does not stand in its own words, drawing or table."""
    for one, content in zip(issued(), contents(), strict=True):
        for question, shown in zip(one.key.questions, content["questions"], strict=True):
            if question.kind == "figure" and question.board.scene == "flight":
                given = shown["words"] + shown["figures"] + shown["drawing"] + shown["table"]
                for answer in answers_of(question.board):
                    if abs(answer.value - answer.shown_value) > 1.0:
                        assert answer.written() not in given


def test_what_is_worked_out_is_given_in_print_as_on_the_screen():
    """Each row of the figures on the screen is told: in the question's words or on the cover.

    Some with others like it.
    """
    rows, together, on_cover = 0, 0, 0
    for one, content in zip(issued(), contents(), strict=True):
        for question, shown in zip(one.key.questions, content["questions"], strict=True):
            if question.kind in ("figure", "when", "order"):
                for row in re.findall(r"<tr>(.*?)</tr>", shown["figures"], re.S):
                    cells = re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)
                    what, figure = (unescape(cell).replace("\u00a0", " ") for cell in cells)
                    lines = [line.split(" | ") for line in shown["words"].splitlines()]
                    same = [line[0] for line in lines if line[1:] == [figure]]
                    always = [what for what, of_all in content["figures"] if of_all == figure]
                    told = [is_told(what, found) for found in (same, always)]
                    assert sum(told) == 1, what
                    rows, on_cover = rows + 1, on_cover + told[1]
                    together += what not in same + always
    assert rows > 100 and together > 20 and on_cover > 20


def test_a_sheet_tells_what_the_units_that_it_names_are_worth():
    """In print and on the screen, and no others. The international pound, the US gallon of 231
    cubic inches and the imperial gallon are exact by definition (from memory).
    """
    worth = {"lb": "0.453592 kg", "US gal": "3.78541 l", "imp gal": "4.54609 l"}
    seen = set()
    for content in contents():
        for shown in content["questions"]:
            told = dict(re.findall(r"^1 (lb|US gal|imp gal) \| (.*)$", shown["words"], re.M))
            given = shown["words"].partition("\nUnits\n")[0]
            named = {unit for unit in worth if re.search(rf"\b{unit}\b", given)}
            assert told == {unit: worth[unit] for unit in named}
            for unit in named:
                assert worth[unit] in unescape(shown["figures"]).replace("\u00a0", " ")
            seen |= named
    assert seen


def is_told(what, found):
    """Whether something is among what is told, by itself or with others like it."""
    return what in found or any(tells(line, what) for line in found)


def tells(line, what):
    """Whether a line on each of some parts names one of them."""
    words = what.split()
    for own in range(1, len(words) + 1):
        own_name, shared = " ".join(words[:own]), " ".join(["", *words[own:]])
        if line.startswith("each of ") and line.endswith(shared):
            names = line.removeprefix("each of ").removesuffix(shared)
            if own_name in re.split(", | and ", names):
                return True
    return False


def test_the_notebook_has_one_cell_a_question_and_no_output():
    """Begin, every question, hand in; nothing saved."""
    book = json.loads(bundle(contents()[0])["paper.ipynb"])
    cells = ["".join(cell["source"]) for cell in book["cells"]]
    for number in range(1, len(contents()[0]["questions"]) + 1):
        assert cells.count(f"paper.question({number})") == 1
    assert "paper.begin()" in cells and "paper.hand_in()" in cells
    assert not any(cell.get("outputs") for cell in book["cells"])


# ------------------------------------------------------------------------------------ print
@pytest.mark.parametrize("size", SIZES)
def test_a_paper_is_made_as_tagged_pages_of_the_size_asked_for(size):
    """A PDF with a structure tree, a language, and pages of that size; the same bytes again."""
    data = paper_pdf(contents()[0], size)
    assert data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF")
    whole = unpacked(data)
    assert b"/StructTreeRoot" in whole and b"/MarkInfo" in whole
    assert re.search(rb"/Lang\s*\(en", whole)
    boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", whole)
    assert boxes and {(round(float(w)), round(float(h))) for w, h in boxes} == {SIZES[size]}
    assert paper_pdf(contents()[0], size) == data


def unpacked(data):
    """A PDF with all its packed streams laid open."""
    import zlib

    pieces = [data]
    for found in re.finditer(rb"stream\r?\n", data):
        try:
            pieces.append(zlib.decompressobj().decompress(data[found.end() :]))
        except zlib.error:
            continue
    return b"\n".join(pieces)


def test_every_word_of_every_question_is_printed(monkeypatch):
    """Title, lead, what is given, what is asked, every part and option; seal, code and caution."""
    for content in contents():
        files = source_of(monkeypatch, lambda c=content: paper_pdf(c))
        told = squeezed(texts_in(files["main.typ"]))
        for question in content["questions"]:
            wanted = [question["title"], question["lead"], question["when"]]
            wanted += [cell for row in question["words"].splitlines() for cell in row.split(" | ")]
            for ask in question["asks"]:
                wanted += [ask["text"], ask["unit"], ask["hint"], *ask["options"]]
            for text in filter(None, wanted):
                assert squeezed(text) in told, text
            if question["drawing"].startswith("<svg"):
                assert f"{question['name']}.pdf" in files
        assert squeezed(content["seal"]) in told and content["learner"] in told
        assert squeezed(content["safety"]) in told


def test_events_to_be_put_in_order_are_printed_once(monkeypatch):
    """All parts of an order share their options: one list, and a letter asked for each place."""
    content = next(
        c for c in contents() if any(q["asks"][0]["text"] == "First" for q in c["questions"])
    )
    question = next(q for q in content["questions"] if q["asks"][0]["text"] == "First")
    alone = {**content, "questions": [question]}
    told = texts_in(source_of(monkeypatch, lambda: paper_pdf(alone))["main.typ"])
    for option in question["asks"][0]["options"]:
        assert told.count(f") {option}") == 1
    assert "One letter for each: 1. First, 2. Then, 3. After that, 4. Last." in told


def test_the_answer_sheet_has_a_row_for_each_part(monkeypatch):
    """Numbered as in the paper, with as many letters as there are options."""
    content = contents()[0]
    source = source_of(monkeypatch, lambda: paper_pdf(content))["main.typ"]
    told = texts_in(source[source.index("Answer sheet ·") - 4 :])
    for number, question in enumerate(content["questions"], start=1):
        for part in range(1, len(question["asks"]) + 1):
            assert f"{number}.{part}" in told


def test_letters_of_the_mark_scheme_are_those_of_the_printed_paper(monkeypatch):
    """For every right option: the letter in the scheme stands before it in the paper."""
    seen = 0
    for one, content in zip(issued(), contents(), strict=True):
        make = lambda one=one: scheme_pdf(one.key, one.seal)  # noqa: E731
        scheme = texts_in(source_of(monkeypatch, make)["main.typ"])
        assert one.seal.salt in scheme
        for question, shown in zip(one.key.questions, content["questions"], strict=True):
            for right, ask in zip(question.right, shown["asks"], strict=True):
                if ask["kind"] == "choice":
                    letter = LETTERS[ask["options"].index(right)]
                    assert f"({letter}) {right}" in scheme
                    seen += 1
    assert seen > 50


def test_the_mark_scheme_says_what_a_written_reason_should_say(monkeypatch):
    """Whoever marks on paper has the model's reason; "What this does not prove" stands once."""
    one = issued()[0]
    text = texts_in(source_of(monkeypatch, lambda: scheme_pdf(one.key, one.seal))["main.typ"])
    reason = next(q for q in one.key.questions if q.kind == "reason")
    assert squeezed(answers_of(reason.board)[0].value) in squeezed(text)
    assert text.count("What this does not prove") == 1


@pytest.mark.parametrize(
    "text", ["#let x = 1", "*bold* _it_", "$x^2$", "@ref <label>", "a\\b", 'say "so"', "= head",
             "- list\n+ more", "[x] {y} `z`", "// no comment", "~ -- ...", "\\u{41}"],
)  # fmt: skip
def test_markup_in_a_text_is_printed_as_written(text):
    """The typesetter itself reads it back: what it makes of the text is the text."""
    source = f"#metadata({typeset.quoted(text)[1:]})<t>\n{typeset.paragraph(text)}"
    found = json.loads(typst.query({"main.typ": source.encode()}, "<t>", field="value", one=True))
    assert found == text
    body = (
        typeset.heading(text)
        + typeset.paragraph(text, bold=True)
        + typeset.table((text, "b"), [(text, text)])
    )
    assert typeset.pdf(body, title=text, head=text, foot=text).startswith(b"%PDF-")


def test_signs_that_cannot_be_printed_do_not_break_the_page():
    """Control signs and halves of signs become blanks; other scripts are left alone."""
    assert typeset.quoted("a\x00b\ud800c\x1b") == '#"a b c "'
    assert typeset.quoted("Ж 中") == '#"Ж 中"'
    assert typeset.pdf(typeset.paragraph("a\x00\ud800"), title="a", head="", foot="")


def test_an_unknown_size_of_paper_is_named():
    """And so are those that there are."""
    with pytest.raises(ValueError, match="'A5'; it must be A4 or Letter"):
        typeset.pdf("", title="", head="", foot="", paper="A5")


def test_pages_of_reports_escape_what_they_are_given():
    """A learner's answer is never taken for HTML or for the typesetter's markup."""
    page = Pieces("<b>#x</b>")
    page.heading("<i>&")
    page.paragraph("<script>alert(1)</script> #panic()")
    page.table(("<a>",), [("=cmd <img src=x>",)])
    told = page.html()
    assert "<script>" not in told and "<img" not in told and "<i>" not in told
    assert "&lt;script&gt;" in told
    assert page.pdf().startswith(b"%PDF-")


def test_letters_suffice_for_every_choice():
    """No option of any question is left out for want of a letter."""
    most = max(len(a["options"]) for c in contents() for q in c["questions"] for a in q["asks"])
    assert most <= len(LETTERS)


@pytest.mark.parametrize("size", SIZES)
def test_a_question_of_one_page_stands_on_one_page(size):
    """Heading, what is given and every part of each question: no page begins within one.

    Of a sheet whose figures fill a page, all that is to be worked out stands on the next.
    """
    content = contents()[0]
    parts = {f"Question {n} (": len(q["asks"]) for n, q in enumerate(content["questions"], 1)}
    pages = [page.extract_text() for page in read(paper_pdf(content, size)).pages]
    sheet = next(i for i, text in enumerate(pages) if "Answer sheet" in text)
    for before, text in pairwise(pages[:sheet]):
        if not re.search(r"^Question \d+ \(", text, re.M):
            count = parts[re.search(r"^Question \d+ \(", before, re.M)[0]]
            numbers = re.findall(r"^(\d+)\. ", text, re.M)
            assert numbers == [f"{n}" for n in range(1, count + 1)], text[:200]


def test_lines_for_a_written_reason_stand_under_their_question():
    """The question that they answer is on the page of the lines."""
    content = contents()[0]
    number, question = next(
        (i, q)
        for i, q in enumerate(content["questions"], start=1)
        if q["asks"][0]["kind"] == "text"
    )
    last = read(paper_pdf(content)).pages[-1].extract_text()
    assert squeezed(f"{number}.1 {question['asks'][0]['text']}") in squeezed(last)


def test_a_drawing_is_told_in_words_where_it_tells_no_answer():
    """Each drawing has words in its place: the states as shown; of parts to be named, nothing."""
    content = contents()[0]
    asked = next(i for i, q in enumerate(content["questions"], 1) if "Name the" in q["when"])
    root = read(paper_pdf(content)).trailer["/Root"]
    alts = [alt for kind, alt in tags(root["/StructTreeRoot"], []) if kind == "/Figure"]
    assert len(alts) == sum(q["drawing"].startswith("<svg") for q in content["questions"])
    for alt in alts:
        assert ("pump" in alt or "station" in alt.lower() or "tank" in alt) != (
            alt.startswith(f"Drawing to question {asked}.")
        )


def test_papers_made_in_heaps_are_those_made_alone():
    """Each question worked and drawn once for the class: the same content, the same mark scheme."""
    found = heaps(issued(), drawn_once(issued()))
    assert [one.key.learner for heap, _ in found for one in heap] == [
        one.key.learner for one in issued()
    ]
    for heap, made in found:
        for one in heap:
            alone = paper_content(one.key, one.seal, blueprint())
            assert paper_content(one.key, one.seal, blueprint(), known=made.shown) == alone
            assert set(made.schemes) >= {question.source for question in one.key.questions}
            for question in one.key.questions:
                assert made.schemes[question.source] == scheme_rows(question)
    heap, made = found[0]
    pictures = made.pictures_of(heap[0].key)
    content = paper_content(heap[0].key, heap[0].seal, blueprint())
    assert len(pictures) == sum(q["drawing"].startswith("<svg") for q in content["questions"])
    assert paper_pdf(content, pictures=pictures) == paper_pdf(content)
