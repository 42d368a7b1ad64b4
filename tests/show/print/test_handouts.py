"""Handouts, blank drawings, figure sheets, pocket cards: computed, whole, tagged, in two sizes."""

import json
import os
import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest

from fuelkit.aircraft.sentences import rule_sentence, rule_sentences
from fuelkit.aircraft.twins import exchanged, without_twins
from fuelkit.assess.course import LESSONS
from fuelkit.assess.figure_marks import asked_steps
from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.sheet import write_bytes_atomically
from fuelkit.command import handout as command
from fuelkit.command import main as command_line
from fuelkit.figures.catalogue import draw_sheet, sheets_for
from fuelkit.show.lesson import Lesson
from fuelkit.show.palette import SAFETY
from fuelkit.show.print import blank, sheets, typeset
from fuelkit.show.print.card import card_pdf
from fuelkit.show.print.pictures import SHOWN, pictures
from fuelkit.show.words import short_name
from tests.reading_pdf import read, tags, text_of, words_outside
from tests.small_sitting import OWN

ALL = os.environ.get("FUELKIT_HANDOUTS") == "all"
EVERY = ("halbrook-180", "halbrook-40", "halbrook-300", OWN)
AIRCRAFT = EVERY if ALL else ("halbrook-40", OWN)
SIZES = {"A4": {595, 842}, "Letter": {612, 792}}  # points: ISO 216, ANSI Y14.1, from memory
ROOT = Path(__file__).resolve().parents[3]
SVG = "{http://www.w3.org/2000/svg}"
_STATE = re.compile(r"\b(RUN|OFF|OPEN|SHUT|WET|DRY|FED FROM|LIVE|DEAD|MOVING|LOW PRESS|\d+ kg)\b")


def check_pages(data, size, figures=None):
    """Tagged, titled, in a language, of the size, nothing beyond an edge, the caution on each."""
    pdf = read(data)
    root = pdf.trailer["/Root"]
    assert str(root["/Lang"]).startswith("en") and pdf.metadata.title
    assert root["/MarkInfo"]["/Marked"]
    found = tags(root["/StructTreeRoot"], [])
    shown = [alt for kind, alt in found if kind == "/Figure"]
    assert all(len(alt) > 15 for alt in shown)
    assert figures is None or len(shown) == figures
    assert any(kind in ("/H1", "/H2") for kind, _ in found)
    for page in pdf.pages:
        assert {round(page.mediabox.width), round(page.mediabox.height)} == SIZES[size]
        assert not words_outside(page)
        assert SAFETY in " ".join(page.extract_text().split())


def test_a_word_beyond_the_edge_would_be_found():
    """What these tests lean on: it tells a word off the page from one on it."""
    for far, count in ((900, 1), (90, 0)):
        data = typeset.pdf(f"#place(dx: {far}pt)[word]", title="a", head="b", foot="c")
        assert len(words_outside(read(data).pages[0])) == count


# ---------------------------------------------------------------------------------- handouts
@pytest.mark.parametrize("lesson", LESSONS)
def test_a_handout_shows_what_the_lesson_shows(lesson):
    """The table of pictures and the calls in the notebook agree, in both directions."""
    place = LESSONS.index(lesson) + 1
    (path,) = (ROOT / "lessons").glob(f"{place:02d}_*.ipynb")
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = "".join("".join(c["source"]) for c in cells if c["cell_type"] == "code")
    called = set(re.findall(r"lesson\.(\w+)\(", code.replace("drawing_at", "picture")))
    known = {name for names in SHOWN.values() for name in names}
    assert set(SHOWN[lesson]) == called & known


@pytest.mark.parametrize("size", SIZES)
def test_a_handout_is_whole_on_both_sizes(size):
    """Tags, title, alternatives of all pictures; goals, objectives and cautions stand in it."""
    lesson = Lesson("lesson-tanks", OWN, projector=True)
    ((name, data),) = command.made("tanks", OWN, size)
    assert name == "handout-01-tanks.pdf"
    check_pages(data, size, figures=len(pictures(lesson)))
    told = text_of(data)
    for words in (*lesson.unit.goals, *lesson.unit.cautions, "The learner is able to"):
        assert " ".join(words.split()) in told


@pytest.mark.skipif(not ALL, reason="minutes: FUELKIT_HANDOUTS=all")
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("aircraft", EVERY)
@pytest.mark.parametrize("what", (*LESSONS, *command.MORE))
def test_everything_can_be_printed_for_every_aircraft(what, aircraft, size):
    """Each lesson and each sheet of the kit's three aircraft and of one's own, A4 and Letter."""
    for _, data in command.made(what, aircraft, size):
        check_pages(data, size)


# ------------------------------------------------------------------------------ blank drawings
@pytest.mark.parametrize("aircraft", AIRCRAFT)
def test_a_blank_drawing_keeps_names_and_tells_no_state(aircraft):
    """No state, no quantity, nothing hidden that could be laid open; every pump has its name."""
    svg = blank.blank_schematic(aircraft)
    root = ElementTree.fromstring(svg)
    drawn = " ".join(" ".join(text.itertext()) for text in root.iter(f"{SVG}text"))
    assert not _STATE.search(drawn), _STATE.search(drawn)
    assert 'display="none"' not in svg and " ?" not in drawn and "data-variant" in svg
    for pump in aircraft_of(aircraft).pumps:
        assert short_name(aircraft_of(aircraft), pump).split()[0] in drawn


@pytest.mark.parametrize("aircraft", AIRCRAFT)
def test_boxes_to_write_in_do_not_overlap(aircraft):
    """A box for each pump, and none lies over another."""
    root = ElementTree.fromstring(blank.blank_schematic(aircraft))
    rects = [r for r in root.iter(f"{SVG}rect") if (r.get("rx"), r.get("fill")) == ("3", "none")]
    boxes = [[float(r.get(k)) for k in ("x", "y", "width", "height")] for r in rects]
    assert len(boxes) >= len(aircraft_of(aircraft).pumps)
    for (x, y, w, h), (u, v, k, m) in combinations(boxes, 2):
        assert x + w <= u or u + k <= x or y + h <= v or v + m <= y


@pytest.mark.parametrize("aircraft", AIRCRAFT)
def test_letters_stand_once_each_and_the_key_names_them_all(aircraft):
    """As many letters as pumps and motor valves, each on the drawing; the key has their names."""
    letters = blank.part_letters(aircraft_of(aircraft))
    root = ElementTree.fromstring(blank.lettered_schematic(aircraft))
    drawn = [text.text for text in root.iter(f"{SVG}text")]
    assert all(drawn.count(letter) == 1 for letter in letters.values())
    told = text_of(blank.schematics_key_pdf(aircraft))
    for name, letter in letters.items():
        assert f"{letter} {name[0].upper()}{name[1:]}" in told


# --------------------------------------------------------------------------------- the card
@pytest.mark.parametrize("aircraft", EVERY)
def test_every_rule_is_told_on_the_card_by_itself_or_by_its_twin(aircraft):
    """The numbers on the card are those of all rules, once each; a twin is the true exchange."""
    record = aircraft_of(aircraft)
    sentences = rule_sentences(record, record.rules)
    told = without_twins(sentences)
    numbers = [int(n) for label, _ in told for n in label.split(", ")]
    assert sorted(numbers) == list(range(1, len(record.rules) + 1))
    for label, sentence in told:
        first, *others = (sentences[int(n) - 1] for n in label.split(", "))
        assert sentence.startswith(first) and all(other == exchanged(first) for other in others)


@pytest.mark.parametrize("size", SIZES)
def test_the_card_fits_one_sheet_with_every_sentence(size):
    """The aircraft with most rules too: eight panels of one sheet, nothing cut."""
    for aircraft in ("halbrook-300", OWN):
        record = aircraft_of(aircraft)
        data = card_pdf(record, size)
        check_pages(data, size)
        assert len(read(data).pages) == 1
        told = text_of(data).replace("- ", "-")
        for label, sentence in without_twins(rule_sentences(record, record.rules)):
            assert f"{label}. {sentence}".replace("- ", "-") in told, sentence


def test_the_card_follows_the_file(tmp_path):
    """A rule that is changed in one's own file reads otherwise on the card."""
    path = tmp_path / "mine.toml"
    path.write_text(Path(OWN).read_text(encoding="utf-8").replace(
        'because = "', 'because = "so we teach it and '), encoding="utf-8")  # fmt: skip
    assert "because so we teach it and" in text_of(card_pdf(aircraft_of(str(path))))
    assert "because so we teach it and" not in text_of(card_pdf(aircraft_of(OWN)))


def test_a_rule_that_others_refer_to_is_named():
    """And only such a rule: a number alone would not tell what “refuelling” is."""
    big = aircraft_of("halbrook-300")
    whole = " ".join(rule_sentence(big, rule) for rule in big.rules)
    for rule, sentence in zip(big.rules, rule_sentences(big, big.rules), strict=True):
        assert sentence.startswith(f"“{rule.name}”") == (f"“{rule.name}”" in whole)


# ------------------------------------------------------------------------------ figure sheets
def test_forms_do_not_tell_what_is_worked_and_keys_do():
    """No result that is not given stands on a form; each stands in the key."""
    record = aircraft_of(OWN)
    results = 0
    for name in sheets_for(record):
        sheet = draw_sheet(name, record, 3)
        values = sheet.worked()
        form, key = sheets._form(sheet, 3), sheets._key(sheet, 3).replace("\u00a0", " ")
        given = " ".join([sheet.lead, *(f"{g.label} {g}" for g in sheet.givens)])
        for step in asked_steps(sheet):
            written = step.written(values[step.name])
            assert written in key
            if not step.options and len(written) > 5 and written not in given:
                assert written not in form.replace("\u00a0", " ")
                results += 1
    assert results > 20


def test_figure_sheets_are_whole_and_keys_stand_apart():
    """Two files; every sheet that the aircraft can have is in both, with its number."""
    record = aircraft_of(OWN)
    (form, forms), (key, keys) = sheets.sheet_pdfs(record, 3)
    assert (form, key) == ("figures.pdf", "figures-key.pdf")
    check_pages(forms, "A4"), check_pages(keys, "A4")
    on_forms, on_keys = text_of(forms), text_of(keys)
    for name in sheets_for(record):
        title = f"{draw_sheet(name, record, 3).title}, number 3"
        assert title in on_forms and f"{title}: key" in on_keys


# -------------------------------------------------------------------------------- the command
def test_the_command_writes_what_is_named(tmp_path, capsys):
    """Into a folder that it makes; files that anyone may read."""
    out = tmp_path / "for the class"
    line = ["handout", "card", "schematics", "--aircraft", OWN, "--out", str(out)]
    assert command_line.main([*line, "--page", "Letter"]) == 0
    assert sorted(path.name for path in out.iterdir()) == [
        "card.pdf", "schematics-key.pdf", "schematics.pdf"
    ]  # fmt: skip
    check_pages((out / "schematics.pdf").read_bytes(), "Letter", figures=2)
    assert "My aircraft" in capsys.readouterr().out
    assert os.name == "nt" or (out / "card.pdf").stat().st_mode & 0o044


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["cruize"], "There is no 'cruize'. Did you mean 'cruise'?"),
        (["card", "--aircraft", "halbrook-18"], "halbrook-18"),
        (["figures", "--number", "-1", "--aircraft", OWN], "-1"),
    ],
)
def test_what_cannot_be_made_is_said_in_a_sentence(more, said, tmp_path, capsys):
    """Field and value; nothing is written."""
    assert command_line.main(["handout", *more, "--out", str(tmp_path / "out")]) == 1
    assert said in " ".join(capsys.readouterr().err.split())
    assert not (tmp_path / "out").exists()


def test_a_file_where_the_folder_should_be_is_told(tmp_path, capsys):
    """A sentence, and the file is left alone."""
    (tmp_path / "taken").write_text("mine")
    line = ["handout", "card", "--aircraft", OWN, "--out", str(tmp_path / "taken")]
    assert command_line.main(line) == 1
    assert capsys.readouterr().err.strip() and (tmp_path / "taken").read_text() == "mine"


def test_bytes_are_written_whole_or_not_at_all(tmp_path, monkeypatch):
    """A stop while the new file is written leaves the old one."""
    path = tmp_path / "card.pdf"
    write_bytes_atomically(path, b"%PDF-\x00\xff old")

    def stopped(_handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_bytes_atomically(path, b"new")
    assert path.read_bytes() == b"%PDF-\x00\xff old" and list(tmp_path.iterdir()) == [path]
