"""How fuel relieves the wing's bending over a flight, as flown and in the reverse order."""

from fuelkit.physics.writing import clock, mass_text
from fuelkit.show.page import Page
from fuelkit.show.palette import FAINT, FLOW, IDLE, INK, SAFETY
from fuelkit.show.svg import drawing, element, plate, polyline, text, wrapped
from fuelkit.show.tables import table_html
from fuelkit.survey.bending import LIMITS, relief_over

RELIEF_COLUMNS = (
    "Time", "Phase", "Fuel in wings and middle", "Left wing, as flown", "Left wing, reverse order",
    "Right wing, as flown", "Right wing, reverse order",
)  # fmt: skip
_SIDES = ("left", "right")
_LEFT, _RIGHT, _TOP, _FOOT = 96.0, 1010.0, 120.0, 360.0
_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0)  # kN·m
_TIME_STEPS = (900.0, 1800.0, 3600.0, 7200.0, 14400.0)  # s
_CHOICE = 0.02  # of the greatest relief; with less there is no order to choose


def relief_page(history, *, moments=7):
    """Return the relief of the wing's root bending moment by fuel over a flight, as a page.

    Parameters
    ----------
    history : History
    moments : int
        Rows of the table.

    Raises
    ------
    BendingError
        If the aircraft has no wing tanks.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.flight.fly import fly
    >>> from fuelkit.flight.sector import load_sector
    >>> halbrook = load_aircraft("halbrook-180")
    >>> page = relief_page(fly(halbrook, load_sector("eastmere-port-ellery", halbrook)))
    >>> "more relief" in page.text, page.html.count("<svg")
    (True, 1)
    """
    found = relief_over(history)
    rows = relief_rows(found, moments)
    title = f"Fuel that relieves the wing: {history.aircraft.name}, {history.sector.name}"
    picture = _drawn(found, title)
    table = table_html(rows, caption=f"{title}; in kN·m", columns=RELIEF_COLUMNS)
    said = relief_sentence(found)
    text_lines = [title, said, *(" | ".join(row) for row in (RELIEF_COLUMNS, *rows)), LIMITS]
    details = f"<details open><summary>The same as a table</summary>{table}</details>"
    style = "max-width:1280px;background:#fff;color:#111"
    return Page(f'<div style="{style}">{picture}{details}</div>', "\n".join(text_lines))


def relief_rows(found, moments=7):
    """Return the relief at some moments, evenly apart, as rows of text."""
    last, rows = len(found.times) - 1, []
    for k in range(moments):
        i = round(k * last / max(1, moments - 1))
        pairs = zip(found.flown[i], found.reversed[i], strict=True)
        rows.append((
            clock(found.times[i]), found.history.phase(float(found.times[i])),
            mass_text(found.total[i]), *(f"{1e-3 * v:.1f}" for pair in pairs for v in pair),
        ))  # fmt: skip
    return rows


def relief_sentence(found):
    """Return what the order of burning does, in a sentence."""
    time, side, gap = found.largest
    if gap < _CHOICE * found.flown.max():
        return (
            "There is little to choose: burned in the order as flown or out of the outermost tanks "
            f"first, the relief differs by at most {1e-3 * gap:.1f} kN·m."
        )
    i = int(abs(found.times - time).argmin())
    flown, other = (1e-3 * x[i, side] for x in (found.flown, found.reversed))
    return (
        f"At {clock(time)} ({found.history.phase(time)}) the order as flown leaves "
        f"{1e-3 * gap:.0f} kN·m more relief at the root of the {_SIDES[side]} wing than the same "
        f"fuel burned out of the outermost tanks first and the middle last would: {flown:.0f} "
        f"against {other:.0f} kN·m."
    )


def _drawn(found, title):
    _, side, _ = found.largest
    said = wrapped(relief_sentence(found), 1230.0, size=16, bold=True)
    limits = wrapped(LIMITS, 1230.0, size=14)
    across, upward, top = _scales(found)
    curves = [
        (found.flown[:, side], FLOW, None, "as flown"),
        (found.reversed[:, side], INK, "9 5", "reverse order"),
    ]
    content = (
        text(24, 33, title, size=20, bold=True)
        + text(24, 58, said, size=16, bold=True, step=20)
        + _axes(found, across, upward, top)
        + "".join(_curve(found.times, values, look, across, upward) for values, *look in curves)
        + _names(curves, upward)
        + text(24, _TOP - 14, f"Relief at the root of the {_SIDES[side]} wing, kN·m", size=14)
        + text(24, _FOOT + 52, limits, size=14, fill=IDLE, step=18)
        + text(24, _FOOT + 56 + 18 * len(limits), SAFETY, size=14, fill=IDLE)
    )
    desc = element("desc", relief_sentence(found))
    return drawing(desc + content, height=int(_FOOT + 70 + 18 * len(limits)), label=title)


def _scales(found):
    """Where a time [s] and a relief [N·m] are drawn, and the highest line of the scale [kN·m]."""
    first, last = found.times[0], found.times[-1]
    highest = 1e-3 * max(found.flown.max(), found.reversed.max(), 1.0)
    step = next((s for s in _STEPS if highest / s <= 6.0), _STEPS[-1])
    top = step * (int(highest / step) + 1)

    def across(time):
        return _LEFT + (_RIGHT - _LEFT) * (time - first) / (last - first)

    def upward(value):
        return _FOOT - (_FOOT - _TOP) * 1e-3 * value / top

    return across, upward, (step, top)


def _axes(found, across, upward, scale):
    step, top = scale
    drawn = []
    for k in range(round(top / step) + 1):
        y = upward(1e3 * k * step)
        drawn.append(polyline([(_LEFT, y), (_RIGHT, y)], stroke=FAINT if k else INK, width=1))
        drawn.append(text(_LEFT - 10, y + 5, f"{k * step:g}", size=14, anchor="end"))
    for time in _round_times(found.times[0], found.times[-1]):
        x = across(time)
        drawn.append(polyline([(x, _FOOT), (x, _FOOT + 6)], stroke=INK, width=1))
        drawn.append(text(x, _FOOT + 23, clock(time).rpartition(":")[0], size=14, anchor="middle"))
    drawn.append(text(_RIGHT + 12, _FOOT + 23, "time, h:mm", size=14))
    return "".join(drawn)


def _round_times(first, last):
    """Times on the axis, at most thirteen, at full quarters of an hour or rounder. [s]"""
    step = next((s for s in _TIME_STEPS if (last - first) / s <= 12.0), _TIME_STEPS[-1])
    begin = -int(-first // step)
    return [k * step for k in range(begin, int(last // step) + 1)]


def _curve(times, values, look, across, upward):
    stroke, dashes, _ = look
    points = [(across(t), upward(v)) for t, v in zip(times, values, strict=True)]
    return polyline(points, stroke=stroke, width=3, stroke_dasharray=dashes)


def _names(curves, upward):
    """Name of each of the two curves at its end, with its last value."""
    ends = sorted(((upward(v[-1]), v[-1], look) for v, *look in curves), key=lambda e: e[0])
    feet = [min(y + 5.0, _FOOT + 5.0 - 19.0 * (1 - i)) for i, (y, *_) in enumerate(ends)]
    feet[1] = max(feet[1], feet[0] + 19.0)
    return "".join(
        plate(_RIGHT + 12, foot, f"{name}: {1e-3 * value:.0f} kN·m", size=15, bold=True,
              anchor="start", fill=stroke)
        for foot, (_, value, (stroke, _, name)) in zip(feet, ends, strict=True)
    )  # fmt: skip
