"""The summary of a lesson on one page of paper: what is now known, one drawing, the cautions.

One page on A4 and on US Letter alike: words that would not leave the drawing enough room are
refused, and the drawing takes what they leave.
"""

import re
from html import escape
from pathlib import Path

from fuelkit.assess.sheet import write_atomically
from fuelkit.show.page import Page, foot_words
from fuelkit.show.palette import COLOURS, DARK, INK, PAPER, SAFETY
from fuelkit.show.svg import wrapped

MOST_LINES = 12
_MARGIN, _WIDTH, _HEIGHT = 10.0, 190.0, 257.0  # mm; inside the margins of both sizes of paper
_LETTERS, _SPACING, _POINT = 9.0, 1.35, 25.4 / 72.0  # pt, -, mm
_ROW = _LETTERS * _SPACING * _POINT  # mm
_INDENT, _GUTTER, _BETWEEN_ITEMS = 5.0, 6.0, 0.8  # mm
_TITLE, _HEADING, _FOOT, _BOX = 11.0, 7.2, 9.0, 4.0  # mm
_LEAST_DRAWING, _HIGHEST_DRAWING = 72.0, 112.0  # mm
_OPENING = '<article class="fuelkit-sheet" lang="en">'
_DRAWING = re.compile(r"<svg\b.*?</svg>", re.DOTALL)

_LIGHT = "".join(f"--{name}:{colour};" for name, colour in COLOURS.items())
_LIGHT += "--black:#000;--white:#fff"
_DIM = "".join(f"--{name}:{DARK.get(colour, colour)};" for name, colour in COLOURS.items())
_DIM += f"--black:{DARK[INK]};--white:{DARK[PAPER]}"  # on a dark screen of JupyterLab alone
_S = ".fuelkit-sheet"
_CSS = f"""@page{{margin:{_MARGIN:g}mm}}
{_S}{{{_LIGHT};color-scheme:light;background:var(--white);color:var(--black);box-sizing:border-box;\
width:{_WIDTH:g}mm;max-width:100%;font:{_LETTERS:g}pt/{_SPACING:g} Arial,'Liberation Sans',\
Helvetica,sans-serif;print-color-adjust:exact;-webkit-print-color-adjust:exact}}
{_S} *{{box-sizing:border-box}}
{_S} h1{{font-size:15pt;line-height:1.2;margin:0 0 2mm;padding-bottom:1.2mm;\
border-bottom:2px solid;color:inherit}}
{_S} h2{{font-size:10.5pt;line-height:1.2;margin:2mm 0 .7mm;color:inherit;break-after:avoid}}
{_S} :is(ul,ol){{margin:0;padding:0 0 0 {_INDENT:g}mm}}
{_S} li{{margin:0 0 {_BETWEEN_ITEMS:g}mm;break-inside:avoid;page-break-inside:avoid}}
{_S} ol{{columns:2;column-gap:{_GUTTER:g}mm}}
{_S} figure{{margin:2mm 0 0;page-break-inside:avoid;break-inside:avoid}}
{_S} svg{{display:block;width:100%!important;max-width:none!important;height:auto}}
{_S} .cautions{{border:1.5px solid;margin-top:2mm;padding:0 2mm 1mm;break-inside:avoid}}
{_S} .cautions h2{{margin-top:1mm}}
{_S} .foot{{margin:2mm 0 0;padding-top:1mm;border-top:1px solid;font-weight:700}}
@media screen{{{_S}{{border:1px solid;padding:6mm;width:{_WIDTH + 12:g}mm}}
[data-jp-theme-light="false"] {_S}{{{_DIM};color-scheme:dark}}}}
@media print{{{_S}{{height:{_HEIGHT:g}mm;display:flex;flex-direction:column;\
page-break-inside:avoid;break-inside:avoid;overflow:hidden}}
{_S}>*{{flex:none}}
{_S} figure{{flex:1 1 0;min-height:0;max-height:{_HIGHEST_DRAWING:g}mm}}
{_S} svg{{height:100%!important}}}}"""

_ALONE = """body{margin:0;background:#fff;color:#000}
@media screen{body{padding:12px}.how{font:16px/1.5 Arial,'Liberation Sans',sans-serif}}
@media print{.how{display:none}}"""
_HOW = (
    "To print this page: press Ctrl and P (on a Mac, Command and P). It fills one side of A4 or "
    "Letter paper, at 100 %, in grey as well as in colour. This line is not printed."
)


def summary_sheet(title, goals, lines, pages=(), cautions=(), sources=(), *, school=""):
    """Return the summary of a lesson as one page that prints on A4 and on US Letter.

    Parameters
    ----------
    title : str
    goals : sequence of str
        What the learner is able to do now, each as it follows "You are now able to".
    lines : sequence of str
        What to remember; twelve at most.
    pages : sequence of Page
        At most one; its drawing or chart is taken, without its table.
    cautions, sources : sequence of str
    school : str
        Who gives the course; stands at the foot.

    Returns
    -------
    Page
        `write_sheet_file` makes a file of it to be opened and printed.

    Raises
    ------
    ValueError
        If a text is empty, there are too many lines or drawings, or all the words together
        would not leave room for the drawing on one page; names the field and what would fit.

    Examples
    --------
    >>> sheet = summary_sheet("Cruise", ["say which tank feeds"], ["The centre tank first."])
    >>> print(sheet.text.splitlines()[0])
    Summary: Cruise
    """
    parts = {"goals": goals, "lines": lines, "cautions": cautions, "sources": sources}
    parts = {name: tuple(texts) for name, texts in parts.items()}
    pages = tuple(pages)
    _check(title, parts, pages)
    drawing = _drawing(pages[0]) if pages else ""
    inside = _inside(title, parts, drawing, school)
    html = f"<style>{_CSS}</style>{_OPENING}{inside}</article>"
    return Page(html, _text(title, parts, pages))


def write_sheet_file(path, sheet):
    """Write a summary as a page that stands alone, to be opened in a browser and printed.

    The file is always whole: a stop at any instant leaves the old one or the new one.

    Parameters
    ----------
    path : path
        Ends in ".html"; its folder is made if need be.
    sheet : Page
        From `summary_sheet`.

    Raises
    ------
    ValueError
        If the path has another ending, or the page is not a summary.
    OSError
        If the file cannot be written.
    """
    path = Path(path)
    if path.suffix != ".html":
        raise ValueError(f"sheet: path is '{path.name}'; it must end in .html.")
    if _OPENING not in sheet.html:
        raise ValueError("sheet: the page is not a summary; it must come from summary_sheet.")
    title = escape(sheet.text.splitlines()[0])
    path.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(
        path,
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{title}</title><style>{_ALONE}</style></head>\n"
        f'<body><p class="how">{_HOW}</p>{sheet.html}</body></html>\n',
    )


# --------------------------------------------------------------------------------------- checks
def _check(title, parts, pages):
    for name, texts in {"title": (title,), **parts}.items():
        for text in texts:
            if not isinstance(text, str) or not text.strip():
                raise ValueError(f"sheet: {name} has {text!r}; each must be a text, not empty.")
    for name in ("goals", "lines"):
        if not parts[name]:
            raise ValueError(f"sheet: {name} is empty; a summary needs one at least.")
    if len(parts["lines"]) > MOST_LINES:
        raise ValueError(
            f"sheet: lines has {len(parts['lines'])} lines; a page takes {MOST_LINES} at most."
        )
    if len(pages) > 1:
        raise ValueError(f"sheet: pages has {len(pages)}; one drawing or chart fits.")
    taken = _height_of_words(title, parts)
    room = _HEIGHT - (_LEAST_DRAWING if pages else 0.0)
    if taken > room:
        raise ValueError(
            f"sheet: its words take {taken:.0f} mm of a page that has {room:.0f} mm for them. "
            "Shorten or leave out some of goals, lines, cautions or sources."
        )


def _height_of_words(title, parts):
    """About how high all words are when printed [mm]."""
    title_rows = len(wrapped(title, _WIDTH / _POINT, size=15.0, bold=True))
    taken = _TITLE + 6.4 * (title_rows - 1) + _FOOT
    for name, texts in parts.items():
        if not texts:
            continue
        columns = 2 if name == "lines" else 1
        width = (_WIDTH - _GUTTER * (columns - 1)) / columns - _INDENT - 2.0
        items = [
            _ROW * len(wrapped(text, width / _POINT, size=_LETTERS)) + _BETWEEN_ITEMS
            for text in texts
        ]
        # An item is not broken, so that one column may be higher than half of all.
        taken += _HEADING + sum(items) / columns + (max(items) / 2.0 if columns > 1 else 0.0)
    return taken + (_BOX if parts["cautions"] else 0.0)


# ---------------------------------------------------------------------------------------- words
def _drawing(page):
    found = _DRAWING.search(page.html)
    if not found:
        raise ValueError("sheet: pages has one without a drawing; it must be a drawing or chart.")
    return found[0]


def _inside(title, parts, drawing, school):
    figure = f"<figure>{drawing}</figure>" if drawing else ""
    return (
        f"<h1>{escape(title)}</h1>"
        + _list("You are now able to", parts["goals"], "ul")
        + figure
        + _list("To remember", parts["lines"], "ol")
        + _boxed(_list("Cautions", parts["cautions"], "ul"))
        + _list("Sources", parts["sources"], "ul")
        + f'<p class="foot">{escape(foot_words(SAFETY, school))}</p>'
    )


def _list(heading, texts, kind):
    if not texts:
        return ""
    items = "".join(f"<li>{escape(text)}</li>" for text in texts)
    return f"<h2>{heading}</h2><{kind}>{items}</{kind}>"


def _boxed(html):
    return f'<div class="cautions">{html}</div>' if html else ""


def _text(title, parts, pages):
    lines = [f"Summary: {title}", "You are now able to"]
    lines += [f"- {goal}" for goal in parts["goals"]]
    lines += [f"{i}. {line}" for i, line in enumerate(parts["lines"], 1)]
    lines += [f"Caution: {text}" for text in parts["cautions"]]
    lines += [f"Source: {text}" for text in parts["sources"]]
    lines += [page.text.splitlines()[0] for page in pages if page.text]
    return "\n".join([*lines, SAFETY])
