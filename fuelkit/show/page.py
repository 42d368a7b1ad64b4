"""A piece of a page: HTML for a notebook, and the same in plain text for everything else."""

from dataclasses import dataclass
from html import escape

from fuelkit.physics.writing import held
from fuelkit.show.dark import theme_css
from fuelkit.show.palette import FONT

CAUTION = (
    "Training aid, not for operational use. The approved manuals, local rules and licensed "
    "practice prevail."
)

# The class is named twice so that it counts for more than the notebook's own rules for tables.
_P = ".fuelkit-page.fuelkit-page"
PAGE_CSS = f"""{theme_css()}
{_P},{_P}>div{{background:var(--paper)!important;color:var(--ink)!important}}
{_P}{{padding:2px 8px;font-family:{FONT}}}
{_P} table{{border-collapse:collapse;font-size:14px;line-height:1.4;max-width:1100px;margin:0}}
{_P} caption{{text-align:left;font-weight:700;font-size:16px;padding:6px 0;color:var(--ink)}}
{_P} :is(th,td){{text-align:left;vertical-align:top;padding:5px 10px;white-space:normal;\
max-width:none;border:0;border-bottom:1px solid var(--faint);background:var(--paper);\
color:var(--ink)}}
{_P} thead th{{border-bottom:2px solid var(--ink)}}
{_P} .note{{color:var(--idle);font-size:12px;margin:6px 0 0;padding:2px 0}}
{_P} .closed{{margin:0;padding:10px 14px;border-left:4px solid var(--idle);font-size:15px}}
{_P} a:is(:link,:visited,:hover){{color:var(--flow);text-decoration:underline}}
{_P} summary{{cursor:pointer;padding:4px 0;min-height:24px}}"""
"""The style sheet of pages and of the drawings in them, for light, dark and print."""


@dataclass(frozen=True)
class Page:
    """Something to show: what a notebook draws, and what a plain console prints. Frozen.

    `html` brings its own small style sheet, so that it looks right in a notebook's output, inside
    a board and on a page that stands alone, in light and dark.
    """

    html: str
    text: str

    def __post_init__(self):
        if not self.html.startswith(_OPENING):
            object.__setattr__(self, "html", f"{_OPENING}{self.html}</div>")

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html, "text/plain": self.text}

    def __repr__(self):
        return self.text


_OPENING = f'<div class="fuelkit-page"><style>{PAGE_CSS}</style>'


def foot_words(caution, school=""):
    """Return what stands at the foot of a printed sheet: who gives the course, and the caution.

    Examples
    --------
    >>> foot_words("Training aid.", "Eastmere Ground School")
    'Eastmere Ground School. Training aid.'
    """
    return f"{school.rstrip('.')}. {caution}" if school else caution


def joined(*pages):
    """Return several pages as one, below each other."""
    html = "".join(f'<div style="margin:0 0 14px">{page.html}</div>' for page in pages)
    return Page(html, "\n\n".join(page.text for page in pages))


def table_page(title, head, rows, *, note=CAUTION):
    """Return a table as a page: a caption, a head, rows of text, and a note below."""
    cells = "".join(f'<th scope="col">{escape(h)}</th>' if h else "<td></td>" for h in head)
    body = "".join(_row(row) for row in rows)
    html = (
        f"<table><caption>{escape(held(title))}</caption>"
        f"<thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table>"
        f'<p class="note">{escape(note)}</p>'
    )
    return Page(html, _plain(title, head, rows, note))


def _row(row):
    first, *rest = (escape(held(str(cell))) for cell in row)
    cells = "".join(f"<td>{cell}</td>" for cell in rest)
    return f'<tr><th scope="row">{first}</th>{cells}</tr>'


def _plain(title, head, rows, note):
    lines = [title, " | ".join(head)]
    lines += [" | ".join(str(cell) for cell in row) for row in rows]
    return "\n".join([*lines, note] if note else lines)
