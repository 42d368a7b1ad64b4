"""`python -m fuelkit aircraft`: a page for a sound file, every fault of a faulty one."""

import os
import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.command import main as command_line

_SECTIONS = (
    "In short", "The fuel system, drawn", "The tanks from above", "The rules as sentences",
    "The standard sector, flown", "What each engine can draw from", "What this page does not say",
)  # fmt: skip
_SAFETY = "Training aid, not for operational use"


@pytest.fixture
def own(tmp_path):
    """A new file of one's own."""
    path = tmp_path / "my aircraft.toml"
    assert command_line.main(["aircraft", "--new", str(path)]) == 0
    return path


def change(path, *pairs):
    """Change words of a file."""
    text = path.read_text(encoding="utf-8")
    for before, after in pairs:
        assert before in text
        text = text.replace(before, after, 1)
    path.write_text(text, encoding="utf-8")


def test_a_new_file_is_sound_at_once_and_gets_its_page(own, capsys):
    """The words in the window, and a page beside the file with every section."""
    assert command_line.main(["aircraft", str(own)]) == 0

    output = capsys.readouterr().out
    assert "the file is sound" in output
    assert "Rules that took hold: 10 of 10." in output
    assert "Nothing was found that needs a look." in output
    page = own.with_suffix(".html").read_text(encoding="utf-8")
    assert all(f">{title}</h2>" in page for title in _SECTIONS)
    assert page.count(_SAFETY) >= 4


def test_the_page_needs_no_other_file_and_its_drawings_are_sound(own):
    """Nothing is fetched, nothing runs, links lead to places on it, drawings are XML."""
    command_line.main(["aircraft", str(own)])
    page = own.with_suffix(".html").read_text(encoding="utf-8")

    assert "<script" not in page and " src=" not in page and "<link" not in page
    anchors = set(re.findall(r'id="([^"]+)"', page))
    assert set(re.findall(r'href="([^"]+)"', page)) == {f"#{name}" for name in anchors}
    drawings = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    assert len(drawings) == 3
    for drawing in drawings:
        assert ElementTree.fromstring(drawing).get("aria-label")


def test_a_new_file_never_overwrites(own, capsys):
    """The old one stays as it is, letter by letter."""
    change(own, ("My aircraft", "Mine"))
    before = own.read_bytes()

    assert command_line.main(["aircraft", "--new", str(own)]) == 1

    assert own.read_bytes() == before
    assert "is there already; nothing was written" in " ".join(capsys.readouterr().err.split())


def test_every_fault_is_named_and_no_page_is_written(own, capsys):
    """Four slips, four sentences, no traceback."""
    change(
        own,
        ('to = "left manifold"', 'to = "left manifld"'),
        ('set = { "left pump" = "RUN" }', 'set = { "left pump" = "ON" }'),
        ("at = [9.7, -1.6, -0.420]", "at = [9.7, -1.6, -0.920]"),
        ('"left low sensor is DRY"', '"left low sensor is EMPTY"'),
    )

    assert command_line.main(["aircraft", str(own)]) == 1

    words = " ".join(capsys.readouterr().err.split())
    assert "4 faults" in words
    for part in ("left manifld", "to ON", "-0.92", "EMPTY"):
        assert part in words
    assert not own.with_suffix(".html").exists()


def test_what_can_never_happen_is_told_in_the_window_and_on_the_page(own, capsys):
    """A rule that contradicts itself, a pump without its rule, an engine with one source."""
    change(
        own,
        ('all = ["crossfeed switch is on"]',
         'all = ["crossfeed switch is on", "crossfeed switch is off"]'),
        ("[[check_valves]]\nname = \"left gravity feed valve\"\nfrom = \"left tank\"\n"
         "to = \"left manifold\"\ninlet = [9.7, -1.15, -0.565]",
         "[[check_valves]]\nname = \"left gravity feed valve\"\nfrom = \"right tank\"\n"
         "to = \"right manifold\"\ninlet = [9.7, 1.15, -0.565]"),
    )  # fmt: skip

    assert command_line.main(["aircraft", str(own)]) == 0

    words = " ".join(capsys.readouterr().out.split())
    page = " ".join(own.with_suffix(".html").read_text(encoding="utf-8").split())
    for text in (words, page):
        assert "Engine 1 has one source only: without the left pump or the left tank" in text
        assert "The rule “crossfeed selected” can never take hold" in text
        assert "exclude each other" in text


def test_a_flight_that_cannot_be_computed_is_told_and_the_rest_is_shown(own, capsys):
    """Two rules that undo each other: a page all the same, and exit code 1."""
    change(
        own,
        ('[[rules]]\nname = "left pump selected"',
         '[[rules]]\nname = "shut it"\nall = ["crossfeed valve is OPEN"]\n'
         'set = { "crossfeed valve" = "SHUT" }\nbecause = "of a trial"\n\n'
         '[[rules]]\nname = "open it"\nall = ["left pump is RUN"]\n'
         'set = { "crossfeed valve" = "OPEN" }\nbecause = "of a trial"\n\n'
         '[[rules]]\nname = "left pump selected"'),
        ("travel_s = 4", "travel_s = 0"),
    )  # fmt: skip

    assert command_line.main(["aircraft", str(own)]) == 1

    assert "undo each other" in " ".join(capsys.readouterr().out.split())
    page = own.with_suffix(".html").read_text(encoding="utf-8")
    assert "Not drawn, because the flight cannot be computed" in page
    assert "The tanks from above" in page


def test_an_aircraft_of_the_kit_is_looked_over_by_name(tmp_path, monkeypatch, capsys):
    """Its page is written where one stands, never into the kit."""
    monkeypatch.chdir(tmp_path)

    assert command_line.main(["aircraft", "halbrook-180"]) == 0

    assert [path.name for path in tmp_path.iterdir()] == ["halbrook-180.html"]
    page = (tmp_path / "halbrook-180.html").read_text(encoding="utf-8")
    for rule in load_aircraft("halbrook-180").rules:
        assert rule.name in page
    assert "sound" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no-such.toml"], "there is no such file"),
        (["halbrook-18"], "Did you mean 'halbrook-180'?"),
        (["halbrook-180", "--to", "page.pdf"], "a page's name ends in .html"),
        (["halbrook-180", "--to", "no-such-folder/page.html"], "There is no folder"),
        (["halbrook-180", "--to", "folder.html"], "is a folder"),
        (["--new", "mine.txt"], "does not end in .toml"),
        (["--new", "no-such-folder/mine.toml"], "There is no folder"),
        (["notes"], "does not end in .toml"),
    ],
)
def test_what_cannot_be_done_is_answered_with_a_sentence(
    arguments, words, tmp_path, monkeypatch, capsys
):
    """Before any long work, exit code 1, no traceback."""
    monkeypatch.chdir(tmp_path)
    Path("folder.html").mkdir()
    Path("notes").write_text("name = 'mine'")

    assert command_line.main(["aircraft", *arguments]) == 1

    output = capsys.readouterr()
    assert words in " ".join(output.err.split())
    assert "Fl" not in output.out


def test_a_page_is_written_whole_or_not_at_all(own, monkeypatch, capsys):
    """The disk fills up at the last moment: the old page stays, nothing lies about."""
    page = own.with_suffix(".html")
    page.write_text("the old page")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)

    assert command_line.main(["aircraft", str(own)]) == 1
    assert "The disk is full" in capsys.readouterr().err
    assert page.read_text() == "the old page"
    assert sorted(path.name for path in own.parent.iterdir()) == [page.name, own.name]


def test_names_from_a_file_are_text_on_the_page(own):
    """A sharp bracket in a name is no markup."""
    change(own, ('name = "My aircraft"', 'name = "My <script>alert(1)</script> aircraft"'))

    assert command_line.main(["aircraft", str(own)]) == 0

    page = own.with_suffix(".html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "My &lt;script&gt;" in page
