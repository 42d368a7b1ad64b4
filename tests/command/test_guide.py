"""The instructor's guide: every command in it exists, every message in it is one of the kit's."""

import argparse
import ast
import importlib
import re
import shlex
from pathlib import Path

import pytest

from fuelkit.command import main as command_line
from fuelkit.command.guide import GUIDE, chapters

ROOT = Path(__file__).resolve().parents[2]
TEXT = GUIDE.read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
WANTED = (
    "The first hour", "The first lesson", "The first paper", "Your own aircraft",
    "Marking evening", "When something fails", "Learners at home", "A classroom server",
    "Nothing installed",
)  # fmt: skip


def commands(text):
    """Every command line of a guide, in backticks or on a line of its own."""
    inline = re.findall(r"`(python -m fuelkit[^`\n]*)`", text)
    alone = re.findall(r"^ *(python -m fuelkit[^\n`]*)$", text, re.M)
    return sorted({line.strip() for line in (*inline, *alone)})


def said():
    """All texts in the kit's own code, put together as they are there, with single blanks."""
    found = []
    for path in (ROOT / "fuelkit").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.append(" ".join(node.value.split()))
    return "\n".join(found)


@pytest.mark.parametrize("line", sorted({*commands(TEXT), *commands(README)}))
def test_every_command_of_guide_and_readme_exists_with_its_options(line, capsys):
    """It is read by the command's own parser, options and all."""
    words = shlex.split(line)[3:]
    name, *rest = words or ["open"]
    assert name in command_line.COMMANDS, name
    if not rest:
        return  # the command is named, not typed out
    module = importlib.import_module(f"fuelkit.command.{name}")
    parser = argparse.ArgumentParser(exit_on_error=False)
    module.add_arguments(parser)
    try:
        parser.parse_args(rest)
    except SystemExit:
        pytest.fail(f"{line}: {capsys.readouterr().err}")


def test_there_are_commands_to_check():
    """The check above would say nothing of a guide without commands."""
    assert len(commands(TEXT)) >= 20 and len(commands(README)) >= 8


def test_every_message_of_the_table_is_one_of_the_kits_own():
    """Each piece of what is quoted stands in the code; "…" parts what differs."""
    rows = [line.split("|")[1] for line in TEXT.splitlines() if line.startswith("| “")]
    told, pieces = said(), 0
    for row in rows:
        for piece in re.search("“(.*)”", row)[1].split("…"):
            if piece.strip():
                assert piece.strip(" ';,") in told, piece
                pieces += 1
    assert len(rows) >= 15 and pieces >= len(rows)


def test_the_guide_has_its_chapters_and_its_links_lead_somewhere():
    """From the first hour to what is done when something fails."""
    assert set(WANTED) <= set(chapters(TEXT))
    links = re.findall(r"\]\(([^)#]+)\)", TEXT)
    assert links and all((ROOT / "fuelkit" / "command" / link).resolve().exists() for link in links)
    assert "fuelkit/command/guide.md" in README
    assert "Training aid, not for operational use" in TEXT


def test_the_command_lists_the_chapters_and_shows_one(capsys):
    """By a word of the title, a plural too; a wrong word is answered by a near one."""
    assert command_line.main(["guide"]) == 0
    listed = capsys.readouterr().out
    assert all(title in listed for title in WANTED)
    assert command_line.main(["guide", "papers"]) == 0
    assert "The first paper" in capsys.readouterr().out
    assert command_line.main(["guide", "marknig"]) == 1
    assert "Did you mean 'marking'?" in capsys.readouterr().err
