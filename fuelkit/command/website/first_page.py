"""The first page of the site: in plain words, what this is and where answers are kept."""

from html import escape
from pathlib import Path
from string import Template

from fuelkit.command.website.contents import title

_TEMPLATE = Path(__file__).with_name("first_page.html")


def first_page(contents, loaded):
    """Return the page for the lessons and exercises in a folder.

    Parameters
    ----------
    contents : Path
    loaded : int
        What a browser loads before the first line runs. [bytes]
    """
    start = "lessons/00_start_here.ipynb"
    rows = "\n".join(_row(contents, path) for path in sorted(contents.glob("lessons/*.ipynb")))
    page = Template(_TEMPLATE.read_text(encoding="utf-8"))
    return page.substitute(start=address(start), rows=rows, size=f"{loaded / 1e7:.0f}0")


def address(place):
    """Return the address of a notebook, relative to the first page."""
    return f"lab/index.html?path={place}"


def _row(contents, lesson):
    number = lesson.name[:2].lstrip("0")
    head = f"Lesson {number}: " if number else ""
    further = ""
    if (contents / "exercises" / lesson.name).exists():
        further = " · " + _link(f"exercises/{lesson.name}", f"Exercise {number}")
    return f"<li>{head}{_link(f'lessons/{lesson.name}', title(lesson))}{further}</li>"


def _link(place, words):
    return f'<a href="{escape(address(place))}">{escape(words)}</a>'
