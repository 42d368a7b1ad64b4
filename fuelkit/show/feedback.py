"""One feedback page a learner: every answer beside the right one, with the reason. HTML, prints."""

from html import escape as _escape
from pathlib import Path

from fuelkit.assess.marking import PASS_SHARE
from fuelkit.assess.sheet import moment_words, write_atomically
from fuelkit.physics.writing import held
from fuelkit.show.dark import theme_css
from fuelkit.show.page import CAUTION

STYLE = (
    theme_css()
    + """
body{font:16px/1.5 "DejaVu Sans",Arial,sans-serif;color:var(--ink);background:var(--paper);
max-width:66rem;margin:2rem auto;padding:0 1rem;overflow-wrap:break-word}
h1{font-size:1.5rem;margin:0}h2{font-size:1.1rem;margin:1.8rem 0 .3rem}
.result{font-size:1.2rem;margin:.4rem 0 1rem}
table{border-collapse:collapse;width:100%;table-layout:fixed}
th:nth-child(1){width:18%}th:nth-child(2),th:nth-child(3){width:13%}th:nth-child(4){width:9%}
caption{text-align:left;padding:.2rem 0;color:var(--idle)}
th,td{text-align:left;vertical-align:top;padding:.35rem .6rem;border-bottom:1px solid var(--edge);
overflow-wrap:break-word}
thead th{border-bottom:2px solid var(--ink)}tbody th{font-weight:400}
.right{white-space:nowrap}.differs{font-weight:700;white-space:nowrap}
footer{margin-top:2rem;border-top:1px solid var(--edge);padding-top:.5rem;color:var(--idle);
font-size:.9rem}
@media screen and (max-width:44rem){table,caption,tbody,tr,tbody th,td{display:block}
thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}
tr{border-bottom:1px solid var(--edge);padding:.5rem 0}
tbody th:nth-child(n),td{width:auto;border:0;padding:.1rem 0}tbody th{font-weight:700}
td:empty{display:none}td::before{content:attr(data-of) ": ";color:var(--idle)}}
@media print{body{margin:0;max-width:none;font-size:11pt}
h2{break-after:avoid}tr{break-inside:avoid}}
"""
)

BODY = '<body class="fuelkit-page">'
"""How the body of a page begins for which the style counts, in light and dark."""

_COUNTED = (
    "Rows marked “a change” are counted. No change foreseen, no mark; each change that was set "
    "and did not happen costs."
)


def escape(text):
    """Return a text for a page, its figures on one line with their units."""
    return _escape(held(text))


def feedback_html(marked, pass_share=PASS_SHARE):
    """Return the feedback page of one marked sheet as an HTML document.

    Parameters
    ----------
    marked : MarkedSheet
    pass_share : float
        Share of the marks that passes. [-]
    """
    sheet = marked.sheet
    result = "pass" if marked.has_passed(pass_share) else "not yet"
    head = (
        f"<h1>{escape(marked.title)}: feedback for {escape(sheet.learner)}</h1>"
        f'<p class="result"><strong>{marked.marks:g} of {marked.full:g} marks</strong> '
        f"({100 * marked.share:.0f} %), {result}. The pass mark is {100 * pass_share:.0f} %.</p>"
        f"<p>Handed in {escape(moment_words(sheet.handed_in))}, receipt "
        f"{escape(str(sheet.receipt))}. {_advice(marked)}</p>"
    )
    boards = "".join(_board(board, board.name in sheet.answers) for board in marked.boards)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Feedback {escape(sheet.learner)}: {escape(marked.title)}</title>"
        f"<style>{STYLE}</style></head>{BODY}<main>{head}{boards}</main>"
        f"<footer>{escape(CAUTION)}</footer></body></html>\n"
    )


def _advice(marked):
    lost = [board for board in marked.boards if board.marks < board.full - 1e-9]
    if not lost:
        return "Every mark was earned."
    most = max(lost, key=lambda board: board.full - board.marks)
    return f"Most marks were lost on “{escape(most.title)}”: begin your review there."


def _board(board, committed):
    rows = "".join(_row(line) for line in board.lines)
    note = "" if committed else "You did not commit this board. "
    if board.state_full:
        note += (
            f"States and feeding tanks: {board.state_marks:.1f} of {board.state_full:g} marks "
            f"({escape(board.note)}). {_COUNTED} "
        )
    return (
        f"<h2>{escape(board.title)}: {board.marks:.1f} of {board.full:g} marks</h2>"
        f"{table_html(_HEAD, rows, note)}"
    )


_HEAD = ("asked", "your answer", "computed", "result", "because")


def table_html(head, rows, caption=""):
    """Return a table, whose rows stand below each other on a narrow screen.

    Parameters
    ----------
    head : sequence of str
    rows : str
        As `row_html` makes them.
    caption : str
        Escaped already.
    """
    cells = "".join(f'<th role="columnheader" scope="col">{escape(h)}</th>' for h in head)
    told = f"<caption>{caption}</caption>" if caption else ""
    return (
        f'<table role="table">{told}<thead role="rowgroup"><tr role="row">{cells}</tr></thead>'
        f'<tbody role="rowgroup">{rows}</tbody></table>'
    )


def row_html(head, cells):
    """Return a row of a table; each cell after the first knows the head of its column.

    Parameters
    ----------
    head : sequence of str
    cells : sequence of str or (str, str)
        Escaped already; of a pair the first is its kind, by which the style knows it.
    """
    first, *rest = cells
    written = f'<tr role="row"><th role="rowheader" scope="row">{first}</th>'
    for of, cell in zip(head[1:], rest, strict=True):
        kind, text = cell if isinstance(cell, tuple) else ("", cell)
        named = f' class="{kind}"' if kind else ""
        written += f'<td role="cell"{named} data-of="{escape(of)}">{text}</td>'
    return f"{written}</tr>"


def _row(line):
    kind, verdict = ("right", "✓ agrees") if line.is_right else ("differs", "✗ differs")
    change = "<br>a change" if line.is_change else ""
    marks = f" ({line.marks:g} of {line.full:g})" if line.full else ""
    return row_html(
        _HEAD,
        (f"{escape(line.text)}{marks}", escape(line.given), escape(line.right),
         (kind, f"{verdict}{change}"), escape(line.reason)),
    )  # fmt: skip


def write_feedback(folder, marked, pass_share=PASS_SHARE):
    """Write the feedback page of one marked sheet into a folder; return its path."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{marked.sheet.learner}.{marked.sheet.unit}.html"
    write_atomically(path, feedback_html(marked, pass_share))
    return path
