"""A figure sheet worked through on a page, and on paper: a form to fill in with a pencil, its key.

Everything that is shown comes from the sheet: the formula in words, the numbers put in, and what
the chain gives.
"""

from html import escape

from fuelkit.assess.figure_marks import allowed_words, asked_steps, inputs_said, tolerance_words
from fuelkit.physics.writing import held
from fuelkit.show.page import CAUTION, Page, foot_words, joined, table_page

MOST_ON_ONE_PAGE = 14
"""So many steps fit on one side of A4 or Letter; more go on to a second one."""

_WIDTH, _HEIGHT, _MARGIN = 190.0, 254.0, 10.0  # mm; inside the margins of both sizes of paper
_ROW_LEAST, _ROW_KEY, _ROW_MOST = 8.5, 8.5, 22.0  # mm
_MANY_STEPS, _MANY_GIVENS = 11, 16  # with more, letters are smaller
_LONGEST_FIGURE = 16
_BESIDE, _BELOW = 11, 24  # letters of an option: two a line, one a line, else it is a wide row

_FAIR = (
    "To mark: a figure earns its marks if it is as near as is said, or as near to what the "
    "learner's own earlier figures give. An error costs the part where it was made, and no part "
    "after it."
)

_F = ".fuelkit-form"
_CSS = f"""@page{{margin:{_MARGIN:g}mm}}
body{{margin:0;background:#fff;color:#000}}
{_F}{{color-scheme:light;background:#fff;color:#000;box-sizing:border-box;width:{_WIDTH:g}mm;\
max-width:100%;font:9.5pt/1.25 Arial,'Liberation Sans',Helvetica,sans-serif;\
print-color-adjust:exact;-webkit-print-color-adjust:exact}}
{_F} *{{box-sizing:border-box}}
{_F} h1{{font-size:15pt;line-height:1.2;margin:0;padding-bottom:1mm;border-bottom:2px solid #000}}
{_F} p{{margin:1mm 0}}
{_F} .who{{display:flex;gap:6mm;margin:2.5mm 0 1.5mm}}
{_F} .who span{{flex:1;border-bottom:1px solid #000;padding-bottom:.5mm}}
{_F} .who .short{{flex:0 0 36mm}}
{_F} h2{{font-size:10.5pt;line-height:1.2;margin:1.5mm 0 .7mm;break-after:avoid}}
{_F} dl{{margin:0;columns:2;column-gap:7mm}}
{_F} dl>div{{display:flex;justify-content:space-between;gap:3mm;border-bottom:1px solid #999;\
break-inside:avoid;padding:.4mm 0}}
{_F} dd{{margin:0;max-width:60%;font-weight:700;text-align:right}}
{_F} .of{{font-weight:400;font-size:8pt}}
{_F} table{{border-collapse:collapse;width:100%;table-layout:fixed}}
{_F} :is(th,td){{text-align:left;vertical-align:middle;padding:.4mm 1.5mm;border:1px solid #000;\
overflow-wrap:break-word}}
{_F} thead{{display:table-header-group}}
{_F} thead th{{border-width:0 0 1.5px;font-size:8.5pt;vertical-align:bottom}}
{_F} tr{{break-inside:avoid;page-break-inside:avoid}}
{_F} tbody :is(th,.work,.marks){{border-width:0 0 1px}}
{_F} tbody th{{font-weight:700}}
{_F} .box{{border-width:2px}}
{_F} .unit{{text-align:right;font-weight:700}}
{_F} .tick{{display:inline-block;width:3.6mm;height:3.6mm;border:1.5px solid #000;\
margin-right:1.4mm;vertical-align:-.5mm;text-indent:0}}
{_F} .option{{display:block}}
{_F} .beside .option{{display:inline-block;margin-right:3mm}}
{_F} .marks{{text-align:right}}
{_F} .work{{font-size:8pt;line-height:1.15}}
{_F} .answer{{font-weight:700}}
{_F}.side{{min-height:{_HEIGHT:g}mm;display:flex;flex-direction:column}}
{_F}.side>*{{flex:none}}
{_F}.side>p{{margin:.4mm 0}}
{_F}.side>.foot{{margin-top:1.5mm}}
{_F} thead .marks{{padding-left:0}}
{_F}.key .row{{min-height:6mm}}
{_F}.side>table{{flex:1 1 auto}}
{_F} thead tr{{height:5mm}}
{_F} .row{{min-height:{_ROW_LEAST - 0.6:g}mm;display:flex;align-items:center}}
{_F} .row>*{{flex:1}}
{_F} .option{{padding-left:5mm;text-indent:-5mm}}
{_F}.tight{{font-size:8.8pt;line-height:1.15}}
{_F}.tight .work{{font-size:7pt;line-height:1.1}}
{_F}.tight .of{{font-size:7.4pt}}
{_F}.tight .who{{margin:1.5mm 0 1mm}}
{_F} .cautions{{border:1.5px solid #000;margin-top:2mm;padding:.7mm 2mm;font-size:8.5pt;\
line-height:1.3;break-inside:avoid}}
{_F} .cautions p{{margin:.3mm 0}}
{_F} .foot{{margin:1.5mm 0 0;padding-top:.8mm;border-top:1px solid #000;font-weight:700;\
font-size:8.5pt}}
@media screen{{body{{padding:12px}}{_F}{{border:1px solid #000;padding:6mm;\
width:{_WIDTH + 12:g}mm}}}}"""

_PRINT = (
    "<style>@media print{.fuelkit-page.fuelkit-page table{width:100%;max-width:none;"
    "font-size:9.5pt}.fuelkit-page tr{break-inside:avoid}"
    ".fuelkit-page.fuelkit-page :is(th,td){padding:3px 5px}}</style>"
)


# --------------------------------------------------------------------------------------- a page
def figures_html(sheet):
    """Return what is given, as a table in HTML: for the view of figures of a board."""
    return givens_page(sheet).html


def givens_page(sheet):
    """Return what is given, as a page."""
    noted = any(given.note for given in sheet.givens)
    rows = [(g.label, _figure(g), *((g.note,) if noted else ())) for g in sheet.givens]
    head = ("given", "figure", *(("from",) if noted else ()))
    return table_page(f"{sheet.title}: what is given", head, rows, note="")


def worked_page(sheet):
    """Return a sheet worked through: what is given, then each step with its numbers, as a page.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    Page
        Givens; each step with the formula in words, the numbers put in, the result in its unit
        and the source; cautions and sources. It prints on paper as well.
    """
    lead = Page(f"{_PRINT}<p>{escape(sheet.lead)}</p>", sheet.lead)
    return joined(lead, givens_page(sheet), _steps_page(sheet), _words_page(sheet))


def _steps_page(sheet):
    values = sheet.worked()
    rows = [
        (
            f"{number}. {step.label}", step.words, _put_in(sheet, step, values),
            _kept(step.written(values[step.name])), step.source,
        )
        for number, step in enumerate(sheet.steps, start=1)
    ]  # fmt: skip
    head = ("step", "how", "numbers put in", "result", "source")
    if not any(step.source for step in sheet.steps):
        rows, head = [row[:-1] for row in rows], head[:-1]
    return table_page(f"{sheet.title}: worked", head, rows, note=CAUTION)


def _put_in(sheet, step, values):
    said = inputs_said(sheet, step, values)
    return "; ".join(f"{label} =\u00a0{_kept(text)}" for label, text in said)


def _kept(text):
    """A figure that is not broken between two lines; a longer text may be, between figures."""
    if len(text) <= _LONGEST_FIGURE:
        return text.replace(" ", "\u00a0")
    return held(text)


def _figure(given):
    return _kept(str(given))


def _words_page(sheet):
    lines = [("Caution", text) for text in _cautions(sheet)]
    lines += [("Source", text) for text in sheet.sources]
    html = "".join(f"<p><strong>{what}.</strong> {escape(text)}</p>" for what, text in lines)
    return Page(html, "\n".join(f"{what}: {text}" for what, text in lines))


def _cautions(sheet):
    """The cautions without the line on training aids, which stands at the foot of every page."""
    return [text for text in sheet.cautions if "training aid" not in text.lower()]


# ------------------------------------------------------------------------------------- on paper
def paper_sheet(sheet, blank=True, *, school=""):
    """Return a sheet as a form on paper, A4 or Letter: a page of HTML to be opened and printed.

    Parameters
    ----------
    sheet : Sheet
    blank : bool
        Whether the boxes are empty; else they are filled in, with the work beside them.
    school : str
        Who gives the course; stands at the foot.

    Returns
    -------
    str
        A whole page of HTML, black on white; on one side if there are no more steps than
        `MOST_ON_ONE_PAGE` and what is given leaves room for them.
    """
    title = f"{sheet.title}{'' if blank else ': key'}"
    inside = "".join(
        (
            f"<h1>{escape(title)}</h1>", _who() if blank else "", f"<p>{escape(sheet.lead)}</p>",
            _givens(sheet, blank), _form(sheet, blank), _boxed(sheet), _sources(sheet, blank),
            f'<p class="foot">{escape(foot_words(CAUTION, school))}</p>',
        )
    )  # fmt: skip
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{escape(title)}</title><style>{_CSS}</style></head>\n"
        f'<body><article class="{_classes(sheet, blank)}">{inside}</article></body></html>\n'
    )


def paper_key(sheet, *, school=""):
    """Return the key of a form on paper: every box filled in, with its work and its marks."""
    return paper_sheet(sheet, blank=False, school=school)


def _classes(sheet, blank):
    """One side for as many steps as it takes; smaller letters where there is much on it."""
    many = len(sheet.steps) > _MANY_STEPS or len(sheet.givens) > _MANY_GIVENS
    side = len(sheet.steps) <= MOST_ON_ONE_PAGE
    return (
        f"fuelkit-form{' side' if side else ''}{' tight' if many else ''}{'' if blank else ' key'}"
    )


def _who():
    return (
        '<div class="who"><span>Learner code:</span><span class="short">Date:</span>'
        '<span class="short">Marks:</span></div>'
    )


def _givens(sheet, blank):
    rows = "".join(
        f"<div><dt>{escape(g.label)}{_small(g.note if blank else '')}</dt>"
        f"<dd>{escape(_figure(g))}</dd></div>"
        for g in sheet.givens
    )
    return f"<h2>Given</h2><dl>{rows}</dl>"


def _small(note):
    return f' <span class="of">({escape(note)})</span>' if note else ""


def _form(sheet, blank):
    values = sheet.worked()
    steps = asked_steps(sheet) if blank else sheet.steps
    most = (_ROW_MOST if blank else _ROW_KEY) * (len(steps) + 1)
    rows = "".join(
        _row(sheet, step, number, values, blank) for number, step in enumerate(steps, start=1)
    )
    work = "Your work" if blank else "Work"
    sizes = (62, 70, 46, 12) if blank else (50, 92, 35, 13)
    widths = "".join(f'<col style="width:{size}mm">' for size in sizes)
    return (
        f"<h2>{'To be worked' if blank else 'Worked'}</h2>"
        f'<table style="max-height:{most:g}mm"><colgroup>{widths}</colgroup>'
        f'<thead><tr><th scope="col">Step</th><th scope="col">{work}</th>'
        '<th scope="col">Result</th><th scope="col" class="marks">Marks</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _row(sheet, step, number, values, blank):
    label = f'<th scope="row"><div class="row">{number}. {escape(step.label)}</div></th>'
    marks = f'<td class="marks">{f"{step.marks:g}" if step.marks else "–"}</td>'
    if blank:
        wide = any(len(option) > _BELOW for option in step.options)
        near = _small(tolerance_words(step)).strip()
        work = f'<td class="work">{near}</td><td class="box">'
        start = '<td class="box" colspan="2">' if wide else work
        return f"<tr>{label}{start}{_box(step)}</td>{marks}</tr>"
    put, answer = _put_in(sheet, step, values), step.written(values[step.name])
    work = escape(f"{step.words}: {put}" if put else step.words)
    box = f'<span class="answer">{escape(answer)}</span>{_allowed(step, values)}'
    return f'<tr>{label}<td class="work">{work}</td><td class="box">{box}</td>{marks}</tr>'


def _allowed(step, values):
    words = allowed_words(step, values[step.name])
    return f' <span class="of">{escape(_kept(words))}</span>' if words else ""


def _box(step):
    """An empty box: its unit, or a box to tick for each option."""
    if step.options:
        beside = all(len(option) <= _BESIDE for option in step.options)
        ticks = "".join(
            f'<span class="option"><span class="tick"></span>{escape(option)}</span>'
            for option in step.options
        )
        return f'<div class="{"beside" if beside else "below"}">{ticks}</div>'
    unit = "h : min" if step.unit == "h:mm" else step.unit
    return f'<div class="row"><span class="unit">{escape(unit)}</span></div>'


def _boxed(sheet):
    items = "".join(f"<p>{escape(text)}</p>" for text in _cautions(sheet))
    return f'<div class="cautions"><p><strong>Cautions</strong></p>{items}</div>' if items else ""


def _sources(sheet, blank):
    if blank:
        return ""
    lines = [_FAIR, *([f"Sources: {'; '.join(sheet.sources)}"] if sheet.sources else [])]
    return "".join(f'<p class="work">{escape(line)}</p>' for line in lines)
