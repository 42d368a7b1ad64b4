"""A piece of a page: HTML for a notebook, and the same in plain text for everything else."""

from dataclasses import dataclass
from html import escape

CAUTION = (
    "Training aid, not for operational use. The approved manuals, local rules and licensed "
    "practice prevail."
)


@dataclass(frozen=True)
class Page:
    """Something to show: what a notebook draws, and what a plain console prints. Frozen."""

    html: str
    text: str

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html, "text/plain": self.text}

    def __repr__(self):
        return self.text


def table_page(title, head, rows, *, note=CAUTION):
    """Return a table as a page: a caption, a head, rows of text, and a note below."""
    cells = "".join(f'<th scope="col" style="{_HEAD}">{escape(h)}</th>' for h in head)
    body = "".join(_row(row) for row in rows)
    html = (
        f'<table style="{_TABLE}"><caption style="{_CAPTION}">{escape(title)}</caption>'
        f"<thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table>"
        f'<p style="{_NOTE}">{escape(note)}</p>'
    )
    return Page(html, _plain(title, head, rows, note))


def _row(row):
    first, *rest = (escape(str(cell)) for cell in row)
    cells = "".join(f'<td style="{_CELL}">{cell}</td>' for cell in rest)
    return f'<tr><th scope="row" style="{_CELL}font-weight:600;">{first}</th>{cells}</tr>'


def _plain(title, head, rows, note):
    lines = [title, " | ".join(head)]
    lines += [" | ".join(str(cell) for cell in row) for row in rows]
    return "\n".join([*lines, note] if note else lines)


_TABLE = (
    "border-collapse:collapse;background:#fff;color:#111;font-size:14px;line-height:1.4;"
    "max-width:1100px;"
)
_CAPTION = (
    "text-align:left;font-weight:700;font-size:16px;padding:6px 0;color:#111;background:#fff;"
)
_HEAD = "text-align:left;padding:5px 10px;border-bottom:2px solid #111;background:#fff;color:#111;"
_CELL = (
    "text-align:left;vertical-align:top;padding:5px 10px;border-bottom:1px solid #c8ced8;"
    "background:#fff;color:#111;white-space:normal;"
)
_NOTE = "color:#4b5563;background:#fff;font-size:12px;margin:6px 0 0;padding:2px 0;"
