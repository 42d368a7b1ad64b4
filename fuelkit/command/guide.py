"""Show the instructor's guide in the terminal: its chapters, or one of them."""

import difflib
from importlib import resources

from fuelkit.command.faults import CommandError

SUMMARY = "Show the instructor's guide: its chapters, or one that you name."

GUIDE = resources.files("fuelkit.command") / "guide.md"
_WHERE = "fuelkit/command/guide.md"


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("chapter", nargs="?", help="a word of the chapter's title")


def run(arguments):
    """Print the list of chapters, or a chapter; 0 if there is one."""
    found = chapters(GUIDE.read_text(encoding="utf-8"))
    if not arguments.chapter:
        print(f"The guide is {_WHERE}. Its chapters:\n")
        print("\n".join(f"  {title}" for title in found))
        print("\nFor one of them name a word of its title: python -m fuelkit guide hour")
        return 0
    title = chosen(found, arguments.chapter)
    print(f"{title}\n{'=' * len(title)}\n{found[title]}")
    return 0


def chapters(text):
    """Return the chapters of a guide in Markdown by their titles.

    Examples
    --------
    >>> chapters("intro" + chr(10) + "## One" + chr(10) + "first")
    {'One': 'first'}
    """
    parts = ("\n" + text).split("\n## ")[1:]
    return {part.partition("\n")[0]: part.partition("\n")[2].strip() for part in parts}


def chosen(found, word):
    """Return the title that has a word; the nearest word is named if none has.

    A plural's s may be there or not.
    """
    stem = word.lower().removesuffix("s")
    for title in found:
        if stem in _stems(title):
            return title
    every = [word.lower() for title in found for word in title.split()]
    near = difflib.get_close_matches(word.lower(), every, n=1)
    advice = f"Did you mean '{near[0]}'?" if near else f"The chapters: {'; '.join(found)}."
    raise CommandError(f"No chapter has the word '{word}' in its title. {advice}")


def _stems(title):
    return {word.lower().removesuffix("s") for word in title.split()}
