"""Typeset pages as tagged PDF, by the Typst typesetter: text, tables and drawings in, bytes out."""

import re
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from fuelkit.physics.writing import held
from fuelkit.show.print.lettering import parted

_FONTS = ("Arial", "Liberation Sans", "Helvetica", "DejaVu Sans")
_PICTURE = 176.0  # mm: the width between the margins, of A4
_FEW_FACTS = 4  # that stand in one column
_SVG_FONTS = re.compile(r'font-family="[^"]*"')
_PAGES = {"A4": "a4", "Letter": "us-letter"}
PAPERS = tuple(_PAGES)
"""Sizes of paper that can be printed on."""


def quoted(text):
    """Return a text as Typst reads it back: nothing in it is taken for markup.

    A figure is kept on one line, and with its unit.

    Examples
    --------
    >>> print(quoted("take #off *now*"))
    #"take #off *now*"
    """
    plain = str(text)
    if not plain.isprintable():
        plain = "".join(c if c.isprintable() or c == "\n" else " " for c in plain)
    return '#"' + held(plain).replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def heading(text, level=2):
    """Return a heading."""
    return f"{'=' * level} {quoted(text)}\n"


def paragraph(text, *, small=False, bold=False):
    """Return a paragraph."""
    body = quoted(text)
    body = f"#strong[{body}]" if bold else body
    return f"#text(size: 8pt)[{body}]\n\n" if small else f"{body}\n\n"


def table(head, rows, widths=None, *, row=None):
    """Return a table of texts.

    Parameters
    ----------
    head : sequence of str
    rows : sequence of sequence of str
    widths : str, optional
        In Typst's words, such as "(1fr, 2fr)".
    row : str, optional
        Least height of each row, to write in with a pencil, such as "8mm".
    """
    cells = [[quoted(cell) for cell in cells] for cells in rows]
    return form(head, cells, widths, row=row)


def form(head, rows, widths=None, *, row=None):
    """Return a table whose cells are pieces made here, such as boxes to tick; else as `table`."""
    count = len(head)
    cells = [f"table.header({', '.join(f'[*{quoted(h)}*]' for h in head)})"]
    strut = f" #box(width: 0pt, height: {row}, baseline: 50%)" if row else ""
    for *first, last in rows:
        cells += [cell if cell.startswith(_WIDE) else f"[{cell}]" for cell in first]
        cells.append(f"[{last}{strut}]")
    columns = widths or f"({', '.join(['auto'] * (count - 1) + ['1fr'])})"
    heights = "align: horizon, " if row else ""
    return (
        f"#text(size: 8.5pt)[#table(columns: {columns}, {heights}stroke: 0.4pt, inset: 3pt, "
        f"{', '.join(cells)})]\n\n"
    )


_WIDE = "table.cell(colspan: 2)"


def wide(cell):
    """Return a cell of a form that takes two columns."""
    return f"{_WIDE}[{cell}]"


def side_by_side(head, rows, widths, *, row=None, columns=2):
    """Return a table in columns of about the same height; other parameters as for `table`."""
    each = max(1, -(-len(rows) // columns))
    parts = [rows[i : i + each] for i in range(0, len(rows), each)]
    cells = ", ".join(f"[{table(head, part, widths, row=row)}]" for part in parts)
    return f"#grid(columns: (1fr,) * {columns}, column-gutter: 5mm, {cells})\n"


def filled(body):
    """Return a page whose rows of the height "row" are as high as lets all of it fit one page."""
    return f"#filled(row => [\n{body}\n])\n"


def tick(text):
    """Return a text with a box to tick before it."""
    return f"#box(width: 3.4mm, height: 3.4mm, stroke: 0.9pt, baseline: 0.5mm) {quoted(text)}"


def drawing(name, svg, alt, *, share=0.92, highest=1e4):
    """Return a drawing, which must be among the files under its name; its words are set as text.

    Parameters
    ----------
    name, svg, alt : str
    share : float
        Of the width of the page that it takes.
    highest : float
        It is made smaller where it would be higher. [mm]
    """
    _, words, (width, height) = _parted(svg)
    rows = "".join(
        f"({w.x:g}, {w.foot:g}, {w.size:g}, {'700' if w.bold else '400'}, {_ENDS[w.anchor]}, "
        f'"{w.fill}", "{w.halo}", {quoted(w.text)[1:]}), '
        for w in words
    )
    place = f'"{name}", {quoted(alt)[1:]}, {width:g}, {height:g}, {share:g}, {highest:g}mm'
    return f"#lettered({place}, ({rows}))\n\n"


@lru_cache(maxsize=512)
def picture(svg):
    """Return a drawing as a PDF of its own, set once for all the pages that show it."""
    body = f"#set page(width: {_PICTURE:g}mm, height: auto, margin: 0pt)\n" + _OWN
    body += drawing("drawing.svg", svg, "", share=1.0)
    return _compiled("", body, {"drawing.svg": svg}, tags=False)  # it has its tag where it stands


def placed(name, alt, share=0.92):
    """Return a `picture`, which must be among the files under its name.

    Far quicker than `drawing` where many pages show the same, and twice as large.
    """
    return f'#align(center, image("{name}", width: {100 * share:g}%, alt: {quoted(alt)[1:]}))\n\n'


_ENDS = {"start": "left", "middle": "center", "end": "right"}
_OWN = """#let filled(made) = layout(size => {
  let heights = (16mm, 14mm, 12.5mm, 11mm, 10mm, 9mm, 8mm, 7mm)
  let fits(row) = measure(block(width: size.width, made(row))).height <= size.height
  let row = heights.find(fits)
  made(if row == none { 10mm } else { row })
})
#let lettered(name, alt, width, height, share, highest, words) = layout(size => {
  let k = calc.min(share * size.width / width, highest / height)
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


def hanging(texts, indent=4.5, *, small=False):
    """Return paragraphs whose first line stands out before the rest; far quicker than a table.

    Parameters
    ----------
    texts : sequence of str
    indent : float
        Of the lines after the first. [mm]
    small : bool
        In small letters, close together.
    """
    body = "".join(f"#par(hanging-indent: {indent:g}mm)[{quoted(text)}]\n" for text in texts)
    return _set("8pt", "0.55em", body) if small else f"{body}\n"


def _set(size, spacing, body):
    """A piece with its own size of letters and space between paragraphs and lines."""
    rules = f"#set text(size: {size})\n#set par(spacing: {spacing})\n#set block(spacing: {spacing})"
    return f"#[{rules}\n{body}]\n"


def facts(rows):
    """Return pairs of what a figure is of and the figure, as lines in two columns."""
    lines = [f"{what}: {figure}" for what, figure in rows]
    half = -(-len(lines) // 2) if len(lines) > _FEW_FACTS else len(lines)
    columns = "][".join(hanging(part, small=True) for part in (lines[:half], lines[half:]))
    return f"#grid(columns: (1fr, 1fr), column-gutter: 6mm)[{columns}]\n"


def answer_rows(rows):
    """Return rows to answer on, under a line: a number, what is asked, letters to ring or a blank.

    Parameters
    ----------
    rows : sequence of (str, str, str)
        The last is empty where something is to be written.
    """
    blank = "#box(width: 55mm, height: 4.4mm, stroke: (bottom: 0.4pt))"
    body = ""
    for number, asked, letters in rows:
        place = f"#box(width: 55mm)[{quoted(letters)}]" if letters else blank
        body += f"#par[{quoted(f'{number}  {asked}')} #h(1fr) {place}]\n"
    rule = "#line(length: 100%, stroke: 0.4pt + luma(60%))"
    return _set("9pt", "0.8em", rule + body)


def lines(count):
    """Return ruled lines to write on."""
    rule = "#v(7mm)#line(length: 100%, stroke: 0.4pt)\n"
    return rule * count + "\n"


def items(texts, *, numbered=False):
    """Return texts as a list."""
    body = ", ".join(f"[{quoted(text)}]" for text in texts)
    return f"#{'enum' if numbered else 'list'}({body})\n\n" if body else ""


def boxed(body):
    """Return a piece in a frame, not broken over two pages: for cautions."""
    return (
        "#block(breakable: false, width: 100%, stroke: 1.2pt, inset: 3mm, above: 1.4em)"
        f"[\n{body}\n]\n"
    )


def across(body):
    """Return pages that lie on their long side: for a drawing as large as the paper."""
    return f"#page(flipped: true)[\n{body}\n]\n"


def page_break():
    """Return the beginning of a new page."""
    return "#pagebreak(weak: true)\n"


def together(body):
    """Return a piece that is not broken over two pages."""
    return f"#block(breakable: false)[\n{body}\n]\n"


def opening(body):
    """Return a piece that is not broken, nor parted from the beginning of what follows."""
    return f"#block(breakable: false, sticky: true)[\n{body}\n]\n"


def words_typeset(text):
    """Return plain text with its tables, whose cells are set apart by bars; see `facts`."""
    found, rows = [], []
    for line in [*text.splitlines(), ""]:
        cells = [cell.strip() for cell in line.split(" | ")]
        if len(cells) > 1 and (not rows or len(rows[0]) == len(cells)):
            rows.append(cells)
            continue
        if rows:
            found.append(facts(rows[1:]) if len(rows[0]) == 2 else table(rows[0], rows[1:]))
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
    drawings : dict of str to (str or bytes)
        SVG by the name that `drawing` gives; a `picture` by the name that `placed` gives.
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
    _check_paper(paper)
    page = (
        f'#set page(paper: "{_PAGES[paper]}", margin: (x: 17mm, top: 19mm, bottom: 17mm), '
        f"header: text(size: 8pt)[{quoted(head)} #h(1fr) #context counter(page).display("
        f'"1 of 1", both: true)], footer: text(size: 7.5pt)[{quoted(foot)}])\n'
        f"#set text(size: 10pt)\n"
    )
    return _compiled(title, page + _OWN + body, drawings)


_FOLDED = """#let folded(width, height, pieces) = context {
  let inset = 4mm
  let stacked(held, size) = block(width: width - 2 * inset, {
    set text(size: size)
    set par(leading: 0.5em)
    stack(spacing: 1em, ..held)
  })
  let shared(size) = {
    let panels = ()
    let held = ()
    for piece in pieces {
      if held != () and measure(stacked((..held, piece), size)).height > height - 2 * inset {
        panels.push(held)
        held = ()
      }
      held.push(piece)
    }
    (..panels, held)
  }
  let size = (9.5pt, 9pt, 8.5pt, 8pt, 7.5pt, 7pt, 6.5pt).find(s => shared(s).len() <= 8)
  if size == none { size = 7pt }
  for sheet in shared(size).chunks(8) {
    pagebreak(weak: true)
    grid(columns: (width,) * 4, rows: (height,) * 2, inset: inset,
      stroke: (paint: luma(60%), thickness: 0.4pt, dash: "dashed"),
      ..sheet.map(held => stacked(held, size)))
  }
}
"""
_SHEETS = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9)}  # mm; ISO 216, ANSI Y14.1, from memory
_EDGE, _TAIL = 5.0, 8.0  # mm: what printers leave white, and the line at the foot


def panels(pieces, *, title, foot, paper="A4"):
    """Return pieces as a tagged PDF of sheets with eight panels each, folded at the dashed lines.

    Parameters
    ----------
    pieces : sequence of str
        Made here or by `quoted`, in their order; each is kept whole.
    title, foot : str
    paper : str
        One of `PAPERS`.

    Raises
    ------
    ValueError
        If the size of the paper is not known.
    """
    _check_paper(paper)
    width, height = _SHEETS[paper]
    panel = (width - 2 * _EDGE) / 4, (height - _EDGE - _TAIL) / 2
    page = (
        f'#set page(paper: "{_PAGES[paper]}", flipped: true, footer-descent: 1mm, margin: '
        f"(x: {_EDGE:g}mm, top: {_EDGE:g}mm, bottom: {_TAIL:g}mm), "
        f"footer: text(size: 6.5pt)[{quoted(foot)}])\n"
    )
    held = "".join(f"[{piece}], " for piece in pieces)
    call = f"#folded({panel[0]:g}mm, {panel[1]:g}mm, ({held}))\n"
    return _compiled(title, page + _FOLDED + call, {})


_parted = lru_cache(maxsize=256)(parted)  # of a class's papers many show the same drawing


def _check_paper(paper):
    if paper not in _PAGES:
        raise ValueError(f"paper: it is {paper!r}; it must be {' or '.join(PAPERS)}.")


def _compiled(title, body, drawings, *, tags=True):
    import typst  # heavy, and not needed to sit a paper

    font = _font()
    source = (
        f"#set document(title: {quoted(title)[1:]}, date: none)\n"
        f'#set text(font: "{font}", lang: "en", region: "GB")\n'
        "#show heading: set block(above: 1.4em, below: 0.7em)\n"
        f"{body}"
    )
    files, is_text = {"main.typ": source.encode()}, True
    for name, made in dict(drawings).items():
        if isinstance(made, str):
            made = _SVG_FONTS.sub(f'font-family="{font}"', _parted(made)[0]).encode()
        else:
            is_text = False
        files[name] = made
    how = {"font_paths": _fonts(), "pdf_tags": tags}
    if is_text:
        return typst.compile(files, **how)
    with TemporaryDirectory() as folder:  # the typesetter takes text alone from memory
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        return typst.compile(str(Path(folder) / "main.typ"), root=folder, **how)


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
