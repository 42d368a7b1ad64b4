"""What a learner's edition says of itself: its settings, its first page, its README."""

import json
import re
from html import escape

from fuelkit.assess.choice import COURSE_AIRCRAFT

_SIGNS = re.compile(r"([\\`*_{}\[\]()#+\-.!|~$])")  # those that mean something in Markdown
_SCHOOL_LINE, _PAPERS_LINE = "<!-- school -->\n", "<!-- papers -->\n"


def course_toml(aircraft, school):
    """Return the settings of an edition as text.

    Parameters
    ----------
    aircraft : str
        Name in the kit, or of a file beside the lessons; "" for the course's own.
    school : str
    """
    lines = ["# The aircraft that this course is taught on, and who gives it.", "", "schema = 1"]
    lines.append(f"aircraft = {_quoted(aircraft or COURSE_AIRCRAFT)}")
    lines += [f"school = {_quoted(school)}"] if school else []
    return "\n".join(lines) + "\n"


def _quoted(text):
    """A text as TOML writes it; a string of JSON is one of TOML."""
    return json.dumps(text, ensure_ascii=False)


def first_page(data, school):
    """Return a notebook with the name of the school below its title; as it is if it is damaged.

    Parameters
    ----------
    data : bytes
        Of the notebook.
    school : str
        Shown as it is, whatever signs are in it.
    """
    try:
        book = json.loads(data)
        source = book["cells"][0]["source"]
    except (ValueError, RecursionError, KeyError, IndexError, TypeError):
        return data
    title, _, rest = "".join(source).partition("\n")
    text = f"{title}\n\n**{_literal(school)}**\n{rest}"
    book["cells"][0]["source"] = text.splitlines(keepends=True)
    return (json.dumps(book, indent=1, ensure_ascii=False, sort_keys=True) + "\n").encode()


def _literal(text):
    """A text that Markdown shows sign by sign."""
    return _SIGNS.sub(r"\\\1", escape(text, quote=False))


def readme(text, school, papers):
    """Return the learner's README with the school and the papers that this edition has.

    Parameters
    ----------
    text : str
        As it lies in the kit, with a line where each of them goes.
    school : str
    papers : sequence of str
    """
    told = f"**{_literal(school)}**\n\n" if school else ""
    return text.replace(_SCHOOL_LINE, told).replace(_PAPERS_LINE, _papers(papers))


def _papers(names):
    if not names:
        return ""
    listed = ", ".join(f"`papers/{name}/paper.ipynb`" for name in names)
    return (
        f"## Your paper\n\n{listed}: open it when your instructor tells you to, run every cell "
        "once, and begin. Your sheet is then in the folder `answers` beside it; hand it in as you "
        "were told.\n\n"
    )
