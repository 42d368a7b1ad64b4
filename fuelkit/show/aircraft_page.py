"""One page about an aircraft: drawings, tanks, rules, a flown sector, and what can never happen."""

from html import escape

from fuelkit.aircraft import model
from fuelkit.aircraft.sentences import event_words, joined, with_article
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.findings import litres, rule_rows
from fuelkit.show.page import CAUTION
from fuelkit.show.plan import plan_table_html, plan_view
from fuelkit.show.ribbon import ribbon, ribbon_table_html
from fuelkit.show.schematic import schematic, schematic_table_html
from fuelkit.show.tables import table_html
from fuelkit.show.words import title_case
from fuelkit.survey.standard_sector import cruise_start
from fuelkit.survey.survey import told_changes
from fuelkit.survey.tank_checks import attitude_words

_STYLE = """
body{font:17px/1.5 Arial,"Liberation Sans",Helvetica,sans-serif;color:#111;background:#fff;
max-width:80rem;margin:1.5rem auto;padding:0 1rem}
h1{font-size:1.7rem;margin:0}h2{font-size:1.3rem;margin:2.2rem 0 .4rem;
border-bottom:2px solid #111;padding-bottom:.2rem}
h3{font-size:1.05rem;margin:1.2rem 0 .3rem}p,li{max-width:62rem}
.caution{color:#374151;font-size:.95rem}.look li{margin:.35rem 0}.look strong{margin-right:.3rem}
nav a{margin-right:1.2rem}a{color:#0a4f8f}
table{border-collapse:collapse;width:100%;margin:.4rem 0 1rem}
caption{text-align:left;padding:.3rem 0;color:#374151}
th,td{text-align:left;vertical-align:top;padding:.35rem .6rem;border-bottom:1px solid #9ca3af;
overflow-wrap:break-word}
thead th{border-bottom:2px solid #111}tbody th{font-weight:400}
.scroll{overflow-x:auto}summary{cursor:pointer;padding:.35rem 0;font-weight:700}
footer{margin-top:2rem;border-top:1px solid #9ca3af;padding-top:.5rem;color:#374151}
@media print{body{margin:0;max-width:none;font-size:10.5pt}h2{break-after:avoid}
tr,svg{break-inside:avoid}}
"""
_SECTIONS = (
    ("short", "In short"),
    ("schematic", "The fuel system, drawn"),
    ("plan", "The tanks from above"),
    ("tanks", "The tanks, held against the rules of airworthiness"),
    ("rules", "The rules as sentences"),
    ("flight", "The standard sector, flown"),
    ("supply", "What each engine can draw from"),
    ("limits", "What this page does not say"),
)
_TOPICS = {
    "flight": "Flight", "engines": "Engine supply", "fuel": "Fuel out of reach",
    "tanks": "Tank", "rules": "Rule",
}  # fmt: skip


def aircraft_page(survey, checks, found):
    """Return the page about an aircraft as one HTML document that needs no other file.

    Parameters
    ----------
    survey : Survey
    checks : tuple of TankCheck
    found : tuple of Finding
    """
    aircraft = survey.aircraft
    writers = (
        lambda: _short(survey, found),
        lambda: _schematic(survey),
        lambda: plan_view(aircraft) + _folded("The plan as a table", plan_table_html(aircraft)),
        lambda: _tanks(checks),
        lambda: _rules(survey),
        lambda: _flight(survey),
        lambda: _supply(survey),
        lambda: _limits(survey),
    )
    body = "".join(
        f'<section aria-labelledby="{key}"><h2 id="{key}">{title}</h2>{write()}</section>'
        for (key, title), write in zip(_SECTIONS, writers, strict=True)
    )
    links = "".join(f'<a href="#{key}">{title}</a>' for key, title in _SECTIONS)
    name = escape(aircraft.name)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{name}: its fuel system</title><style>{_STYLE}</style></head><body>"
        f"<header><h1>{name}: its fuel system</h1><p>{escape(aircraft.summary)}</p>"
        f'<p class="caution">{escape(CAUTION)}</p><nav aria-label="On this page">{links}</nav>'
        f"</header><main>{body}</main><footer>{escape(CAUTION)}</footer></body></html>\n"
    )


def _folded(title, table):
    """A table that is opened by a click."""
    return f"<details><summary>{escape(title)}</summary>{_scrolled(title, table)}</details>"


def _scrolled(title, table):
    """A table that can be scrolled, from the keyboard too, where the window is narrow."""
    return (
        f'<div class="scroll" role="region" aria-label="{escape(title)}" tabindex="0">{table}</div>'
    )


def _short(survey, found):
    aircraft = survey.aircraft
    kinds = [c.kind for c in aircraft.consumers]
    facts = (
        f"<p>{_count(kinds.count('engine'), 'engine')}, "
        f"{_count(sum(t.holds_fuel for t in aircraft.tanks), 'fuel tank')}, "
        f"{_count(len(aircraft.pumps), 'pump')}, {_count(len(aircraft.valves), 'motor valve')}, "
        f"{_count(len(aircraft.rules), 'rule')}. Flown: the standard sector and "
        f"{_count(survey.flown, 'variant')} of it.</p>"
    )
    if not found:
        return facts + "<p>Nothing was found that needs a look.</p>"
    items = "".join(
        f"<li><strong>{_TOPICS[f.topic]}:</strong> {escape(f.text)}</li>" for f in found
    )
    return f'{facts}<p>{_count(len(found), "thing")} to look at:</p><ul class="look">{items}</ul>'


def _count(number, word):
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _schematic(survey):
    if survey.flight is None:
        return f"<p>Not drawn, because the flight cannot be computed: {escape(survey.failed)}</p>"
    aircraft, time = survey.aircraft, cruise_start(survey.sector) + 900.0
    now = picture(survey.flight, time)
    drawing = schematic(aircraft, now, title=f"{aircraft.name}: the fuel system in the cruise")
    return drawing + _folded("The drawing as a table", schematic_table_html(aircraft, now))


def _tanks(checks):
    rows = [
        (
            c.tank.title,
            litres(c.capacity),
            f"{litres(c.expansion)} ({_held(c.expansion_is_met)}, at least "
            f"{litres(c.least_expansion)})",
            f"{litres(c.sump)} ({_held(c.sump_is_met)}, at least {litres(c.least_sump)})"
            if c.opening
            else "no opening draws from it",
            f"{litres(c.unusable_level)} level, {litres(c.unusable)} with "
            f"{attitude_words(c.attitude)}",
            c.opening or "none",
        )
        for c in checks
    ]
    columns = (
        "Tank", "Capacity", "Expansion space, 14 CFR 25.969", "Sump, 14 CFR 25.971",
        "Unusable, 14 CFR 25.959", "Lowest opening",
    )  # fmt: skip
    note = (
        "<p>Computed from the shapes. Expansion space: what is left above the highest fill, at "
        "least 2 %. Sump: what lies below the lowest opening with the aircraft level, at least "
        "0.10 % of the tank or 1/16 US gallon. Unusable: what no opening reaches, level and in the "
        "most adverse attitude of normal flight ([attitude] in the file).</p>"
    )
    title = "Each tank that holds fuel"
    return note + _scrolled(title, table_html(rows, caption=title, columns=columns))


def _held(is_met):
    return "met" if is_met else "NOT MET"


def _rules(survey):
    note = (
        "<p>In order of priority: where two rules that hold ask different things of one part, the "
        "one that stands first wins. A part that no rule asks for anything rests.</p>"
    )
    columns = ("No.", "Rule", "In words", "First took hold in")
    title = "Every rule"
    return note + _scrolled(title, table_html(rule_rows(survey), caption=title, columns=columns))


def _flight(survey):
    flight = survey.flight
    if flight is None:
        return f"<p>It cannot be flown to its end: {escape(survey.failed)}</p>"
    aircraft, sector = survey.aircraft, survey.sector
    after = sector.phases[-1].start
    used = flight.total(0.0) - flight.total(after)
    short = (
        f"<p>Loaded {mass_text(flight.total(0.0))} in the aircraft's own order of filling; "
        f"{mass_text(used)} used in {clock(after)}; {mass_text(flight.total(after))} left on the "
        f"stand; {mass_text(flight.total(sector.end))} after refuelling. Burn, heights and times "
        "are the kit's own choice for any aircraft: burn from the pumps, length from the tanks. "
        "Which switch starts what is found from the rules.</p>"
    )
    drawing = ribbon(flight, title="The standard sector: what ran, what was open, where fuel was")
    return (
        short
        + drawing
        + _folded("Every change on the drawing, as a table", ribbon_table_html(flight))
        + _folded("What happened, in order, with the reasons", _events(aircraft, flight))
    )


def _events(aircraft, flight):
    by_hand = [c for c in flight.changes if isinstance(aircraft.by_name.get(c.name), model.Switch)]
    rows = [
        (clock(c.time), event_words(aircraft, c.name, c.after), "" if c in by_hand else c.reason)
        for c in sorted((*told_changes(flight), *by_hand), key=lambda c: c.number)
    ]
    return table_html(rows, caption="In order of time", columns=("Time", "What", "Because"))


def _supply(survey):
    rows = []
    for supply in survey.supplies:
        pumps = [s for s in supply.sources if s.pumped]
        gravity = [s for s in supply.sources if not s.pumped]
        rows.append(
            (
                title_case(supply.consumer),
                joined([f"{s.part} ({s.tank})" for s in pumps]) or "none",
                joined([f"{s.part} ({s.tank})" for s in gravity]) or "none",
                joined([with_article(survey.aircraft, x.part) for x in supply.cut_by], "or")
                or "no single part",
                joined(
                    [with_article(survey.aircraft, x.part) for x in supply.losses if x.left], "or"
                )
                or "no single part",
            )
        )
    note = (
        "<p>Read from the plan of lines with every valve open that a rule can open. An engine's "
        "own shut-off valve cuts it off in any aircraft; a pump, tank or bus should not.</p>"
    )
    columns = (
        "Engine or APU", "By pump", "By gravity", "Cut off by the loss of",
        "Left with gravity by the loss of",
    )  # fmt: skip
    title = "Sources, and single losses"
    return note + _scrolled(title, table_html(rows, caption=title, columns=columns))


def _limits(survey):
    left_out = (
        f" {_count(survey.left_out, 'variant')} of the sector were not flown, because there are "
        "too many."
        if survey.left_out
        else ""
    )
    return (
        "<p>“Can never take hold” is certain: it follows from the rules. “Took hold in no "
        "flight” is only what so many flights showed: other loads, each switch moved once, one "
        "failure at a time; two failures at once were not tried, nor other switches at other "
        f"times.{left_out} The tank checks take sump and unusable fuel from the openings in the "
        "file, not from drain valves or low-pressure tests. That an aircraft has no finding does "
        "not make it airworthy, nor like any real type.</p>"
    )
