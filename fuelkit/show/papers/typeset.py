"""Typeset pages as tagged PDF, by the Typst typesetter: text, tables and drawings in, bytes out."""

import re
from functools import lru_cache

from fuelkit.show.papers.lettering import parted

_FONTS = ("Arial", "Liberation Sans", "Helvetica", "DejaVu Sans")
_SVG_FONTS = re.compile(r'font-family="[^"]*"')
_PAGES = {"A4": "a4", "Letter": "us-letter"}
PAPERS = tuple(_PAGES)
"""Sizes of paper that can be printed on."""


def quoted(text):
    """Return a text as Typst reads it back: nothing in it is taken for markup.

    Examples
    --------
    >>> print(quoted("take #off *now*"))
    #"take #off *now*"
    """
    plain = "".join(c if c.isprintable() or c == "\n" else " " for c in str(text))
    return '#"' + plain.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def heading(text, level=2):
    """Return a heading."""
    return f"{'=' * level} {quoted(text)}\n"


def paragraph(text, *, small=False, bold=False):
    """Return a paragraph."""
    body = quoted(text)
    body = f"#strong[{body}]" if bold else body
    return f"#text(size: 8.5pt)[{body}]\n\n" if small else f"{body}\n\n"


def table(head, rows, widths=None):
    """Return a table; `widths` in Typst's words, such as "(1fr, 2fr)"."""
    count = len(head)
    cells = [f"table.header({', '.join(f'[*{quoted(h)}*]' for h in head)})"]
    cells += [f"[{quoted(cell)}]" for row in rows for cell in row]
    columns = widths or f"({', '.join(['auto'] * (count - 1) + ['1fr'])})"
    return (
        f"#text(size: 8.5pt)[#table(columns: {columns}, stroke: 0.4pt, inset: 3pt, "
        f"{', '.join(cells)})]\n\n"
    )


def drawing(name, svg, alt):
    """Return a drawing, which must be among the files under its name; its words are set as text."""
    _, words, (width, height) = parted(svg)
    rows = "".join(
        f"({w.x:g}, {w.foot:g}, {w.size:g}, {'700' if w.bold else '400'}, {_ENDS[w.anchor]}, "
        f'"{w.fill}", "{w.halo}", {quoted(w.text)[1:]}), '
        for w in words
    )
    place = f'"{name}", {quoted(alt)[1:]}, {width:g}, {height:g}'
    return f"#lettered({place}, ({rows}))\n\n"


_ENDS = {"start": "left", "middle": "center", "end": "right"}
_LETTERED = """#let lettered(name, alt, width, height, words) = layout(size => {
  let k = 0.92 * size.width / width
  let set-at(w, ..more) = place(top + w.at(4),
    dx: k * (w.at(0) - (if w.at(4) == left { 0 } else if w.at(4) == center { width / 2 } else {
    width })), dy: k * w.at(1),
    text(size: k * w.at(2), weight: w.at(3), top-edge: "baseline", bottom-edge: "baseline",
    ..more, w.at(7)))
  align(center, block(width: k * width, height: k * height, align(left, {
    place(top + left, image(name, width: k * width, alt: alt))
    pdf.artifact(for w in words {
      if w.at(6) != "" {
        set-at(w, fill: rgb(w.at(6)), stroke: (paint: rgb(w.at(6)), thickness: k * 3))
      }
      set-at(w, fill: rgb(w.at(5)))
    })
  })))
})
"""


def lines(count):
    """Return ruled lines to write on."""
    rule = "#v(7mm)#line(length: 100%, stroke: 0.4pt)\n"
    return rule * count + "\n"


def page_break():
    """Return the beginning of a new page."""
    return "#pagebreak(weak: true)\n"


def together(body):
    """Return a piece that is not broken over two pages."""
    return f"#block(breakable: false)[\n{body}\n]\n"


def words_typeset(text):
    """Return plain text with its tables, whose cells are set apart by bars."""
    found, rows = [], []
    for line in [*text.splitlines(), ""]:
        cells = [cell.strip() for cell in line.split(" | ")]
        if len(cells) > 1 and (not rows or len(rows[0]) == len(cells)):
            rows.append(cells)
            continue
        if rows:
            found.append(table(rows[0], rows[1:]))
            rows = [cells] if len(cells) > 1 else []
        if len(cells) == 1 and line.strip():
            found.append(paragraph(line, small=True))
    return "".join(found)


def pdf(body, *, title, head, foot, drawings=(), paper="A4"):
    """Return pages as a tagged PDF.

    Parameters
    ----------
    body : str
        Put together from the functions of this module.
    title : str
        Of the document.
    head, foot : str
        On every page; the head has the page's number beside it.
    drawings : dict of str to str
        SVG by the name that `drawing` gives.
    paper : str
        One of `PAPERS`.

    Returns
    -------
    bytes
        The same for the same content: no date goes in.

    Raises
    ------
    ValueError
        If the size of the paper is not known.
    """
    import typst  # heavy, and not needed to sit a paper

    if paper not in _PAGES:
        raise ValueError(f"paper: it is {paper!r}; it must be {' or '.join(PAPERS)}.")
    font = _font()
    source = (
        f"#set document(title: {quoted(title)[1:]}, date: none)\n"
        f'#set page(paper: "{_PAGES[paper]}", margin: (x: 17mm, top: 19mm, bottom: 17mm), '
        f"header: text(size: 8pt)[{quoted(head)} #h(1fr) #context counter(page).display("
        f'"1 of 1", both: true)], footer: text(size: 7.5pt)[{quoted(foot)}])\n'
        f'#set text(font: "{font}", size: 10pt, lang: "en", region: "GB")\n'
        "#show heading: set block(above: 1.4em, below: 0.7em)\n"
        f"{_LETTERED}{body}"
    )
    files = {"main.typ": source.encode()}
    for name, svg in dict(drawings).items():
        files[name] = _SVG_FONTS.sub(f'font-family="{font}"', parted(svg)[0]).encode()
    return typst.compile(files, font_paths=_fonts())


@lru_cache(maxsize=1)
def _fonts():
    """The fonts of this machine, searched for once: that takes longer than a page."""
    import typst

    return typst.Fonts()


@lru_cache(maxsize=1)
def _font():
    """The first of our fonts that the typesetter finds; its own if there is none."""
    known = {font.family for font in _fonts().fonts()}
    return next((font for font in _FONTS if font in known), "DejaVu Sans Mono")
