"""Pages put together once and shown twice: as HTML to read on a screen, and as PDF to print."""

from fuelkit.show.feedback import BODY, STYLE, escape, row_html, table_html
from fuelkit.show.page import CAUTION
from fuelkit.show.palette import SAFETY
from fuelkit.show.print import typeset

RIGHT, WRONG, EARNED = "✓", "✗", "(✓)"
"""Marks before an answer; the last before one that is not right and still earns some."""

SCREEN, PRINT = "on a screen", "in print"
"""Where a piece may be shown alone; else it is shown in both."""

# The tables of these pages have no columns of set widths, unlike those of a marked exercise.
_FREE = "table{table-layout:auto}thead th:nth-child(n),tbody th:nth-child(n){width:auto}"


class Pieces:
    """Headings, paragraphs and tables in their order.

    Parameters
    ----------
    title : str
    """

    def __init__(self, title):
        self.title, self._pieces = title, []

    def heading(self, text, only=None):
        """Add a heading; shown `only` there, if it is said."""
        self._add(only, "heading", text)

    def paragraph(self, text, only=None):
        """Add a paragraph; else as `heading`."""
        self._add(only, "paragraph", text)

    def lines(self, texts, only=None):
        """Add lines below each other; else as `heading`."""
        self._add(only, "lines", list(texts))

    def table(self, head, rows):
        """Add a table of texts; nothing where it would be empty."""
        if rows:
            self._add(None, "table", head, [[str(cell) for cell in row] for row in rows])

    def answers(self, lines, only=None):
        """Add marked answers: a table to read on a screen, sentences in print.

        What was right takes one paragraph of each question in print, without its reasons: a
        class's sheets are printed for what is to be learned from them.

        Parameters
        ----------
        lines : sequence of (str, str, str, str, str)
            Of each part the mark before it, what was asked, what was given, what is right, why.
        only : str, optional
            Where alone it is shown.
        """
        self._add(only, "marked", list(lines))

    def _add(self, only, kind, *what):
        self._pieces.append((only, kind, *what))

    def _shown(self, where, writers):
        """All pieces that are shown there, written and joined."""
        found = (piece for piece in self._pieces if piece[0] in (None, where))
        return "".join(writers[kind](*what) for _, kind, *what in found)

    def html(self):
        """Return the page as an HTML document that stands alone."""
        body = self._shown(SCREEN, _HTML)
        return (
            '<!doctype html><html lang="en"><head><meta charset="utf-8">'
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            f"<title>{escape(self.title)}</title><style>{STYLE}{_FREE}</style></head>{BODY}<main>"
            f"<h1>{escape(self.title)}</h1>{body}</main><footer>{escape(CAUTION)}</footer>"
            "</body></html>\n"
        )

    def pdf(self, paper="A4"):
        """Return the page as a tagged PDF."""
        body = typeset.heading(self.title, 1)
        body += self._shown(PRINT, _TYPESET)
        return typeset.pdf(body, title=self.title, head=self.title, foot=SAFETY, paper=paper)


def _html_table(head, rows):
    return table_html(head, "".join(row_html(head, list(map(escape, row))) for row in rows))


def _html_answers(lines):
    rows, before = [], None
    for mark, asked, given, right, why in lines:
        again = why and why == before
        rows.append((asked, f"{mark} {given}".strip(), right, "as above" if again else why))
        before = why
    return _html_table(("asked", "your answer", "computed", "because"), rows)


def _printed_answers(lines):
    good = [_said(asked, given) for mark, asked, given, *_ in lines if mark == RIGHT]
    texts = [f"{RIGHT} {'; '.join(good)}."] if good else []
    before = None
    for mark, asked, given, right, why in lines:
        if mark != RIGHT:
            reason = "" if why == before else why
            told = f"{mark} {_said(asked, given)}. {_said('Computed', right)}. {reason}"
            texts.append(told.strip())
            before = why
    return typeset.hanging(texts)


def _said(asked, given):
    """What was asked with its answer, without the full stop of its own."""
    return f"{with_colon(asked)} {given.rstrip('.')}"


def with_colon(text):
    """Return a text with a colon after it, which a question does without."""
    return text if text.endswith("?") else f"{text}:"


_HTML = {
    "heading": lambda text: f"<h2>{escape(text)}</h2>",
    "paragraph": lambda text: f"<p>{escape(text)}</p>",
    "lines": lambda texts: f"<p>{'<br>'.join(map(escape, texts))}</p>",
    "table": _html_table,
    "marked": _html_answers,
}
_TYPESET = {
    "heading": lambda text: typeset.heading(text),
    "paragraph": lambda text: typeset.paragraph(text),
    "lines": lambda texts: typeset.hanging(texts, small=True),
    "table": lambda head, rows: typeset.table(head, rows, _widths(head, rows)),
    "marked": _printed_answers,
}


def _widths(head, rows):
    """Widths of columns that go by their longest text, within bounds, in the typesetter's words."""
    longest = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    return f"({', '.join(f'{min(max(count, 13), 48)}fr' for count in longest)})"
