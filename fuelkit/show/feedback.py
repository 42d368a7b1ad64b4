"""One feedback page a learner: every answer beside the right one, with the reason. HTML, prints."""

from html import escape as _escape
from pathlib import Path

from fuelkit.assess.marking import PASS_SHARE
from fuelkit.assess.sheet import moment_words, write_atomically
from fuelkit.physics.writing import held
from fuelkit.show.page import CAUTION

STYLE = """
body{font:16px/1.5 "DejaVu Sans",Arial,sans-serif;color:#111;background:#fff;max-width:66rem;
margin:2rem auto;padding:0 1rem}
h1{font-size:1.5rem;margin:0}h2{font-size:1.1rem;margin:1.8rem 0 .3rem}
.result{font-size:1.2rem;margin:.4rem 0 1rem}
table{border-collapse:collapse;width:100%;table-layout:fixed}
th:nth-child(1){width:18%}th:nth-child(2),th:nth-child(3){width:13%}th:nth-child(4){width:9%}
caption{text-align:left;padding:.2rem 0;color:#374151}
th,td{text-align:left;vertical-align:top;padding:.35rem .6rem;border-bottom:1px solid #9ca3af;
overflow-wrap:break-word}
thead th{border-bottom:2px solid #111}tbody th{font-weight:400}
.right{white-space:nowrap}.differs{font-weight:700;white-space:nowrap}
footer{margin-top:2rem;border-top:1px solid #9ca3af;padding-top:.5rem;color:#374151;
font-size:.9rem}
@media print{body{margin:0;max-width:none;font-size:11pt}
h2{break-after:avoid}tr{break-inside:avoid}}
"""

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
        f"<style>{STYLE}</style></head><body><main>{head}{boards}</main>"
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
        f"<table><caption>{note}</caption><thead><tr>"
        '<th scope="col">asked</th><th scope="col">your answer</th>'
        '<th scope="col">computed</th><th scope="col">result</th><th scope="col">because</th>'
        f"</tr></thead><tbody>{rows}</tbody></table>"
    )


def _row(line):
    kind, verdict = ("right", "✓ agrees") if line.is_right else ("differs", "✗ differs")
    change = "<br>a change" if line.is_change else ""
    result = f'<td class="{kind}">{verdict}{change}</td>'
    marks = f" ({line.marks:g} of {line.full:g})" if line.full else ""
    return (
        f'<tr><th scope="row">{escape(line.text)}{marks}</th><td>{escape(line.given)}</td>'
        f"<td>{escape(line.right)}</td>{result}<td>{escape(line.reason)}</td></tr>"
    )


def write_feedback(folder, marked, pass_share=PASS_SHARE):
    """Write the feedback page of one marked sheet into a folder; return its path."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{marked.sheet.learner}.{marked.sheet.unit}.html"
    write_atomically(path, feedback_html(marked, pass_share))
    return path
