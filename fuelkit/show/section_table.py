"""What a section of the tanks shows, as rows and as sentences. Every figure is computed."""

import math
from html import escape

from fuelkit.aircraft import model
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text
from fuelkit.show.tables import table_html
from fuelkit.show.words import title_case
from fuelkit.survey.tank_checks import attitude_words

SPOT_COLUMNS = ("Part", "Number", "Kind", "Tank", "State", "Height above the tank's lowest point")
_LAW = (
    "A tank runs over at its highest fill whatever the attitude, as in the computed flights; air "
    "and fuel in the vent pipes are left out."
)


def quantity_rows(rest, names):
    """Return the figures of some tanks as rows, one quantity each, one column a tank.

    Parameters
    ----------
    rest : FuelAtRest
    names : sequence of str
        Tanks.
    """
    states = [rest.states[name] for name in names]
    return [(words, *(value(state) for state in states)) for words, value in _QUANTITIES]


def quantity_columns(rest, names):
    """Return the headings of `quantity_rows`."""
    return ("Quantity", *(rest.states[name].tank.title for name in names))


def _litres(volume):
    return f"{1000.0 * volume:,.0f} L".replace(",", " ")


def _either(value, words="–"):
    return words if value is None else value


def _both(volume, density):
    return "–" if volume is None else f"{_litres(volume)}, {mass_text(volume * density)}"


def _gauge(s):
    if s.shown is None:
        return "no probes"
    off = s.shown - s.usable
    return f"{mass_text(s.shown)} ({off:+.0f} kg)"


def _usable(s):
    return mass_text(s.usable) if s.tank.holds_fuel else "–"


def _over_at(s):
    """At which temperature what was put in reaches the highest fill."""
    if s.loaded <= 0.0 or not s.tank.holds_fuel:
        return "–"
    if s.runs_over_at is None:
        too_much = s.loaded > s.density * s.tank.highest_volume
        return "at any, also cold" if too_much else "none up to 60 °C"
    return f"{s.runs_over_at - ZERO_CELSIUS:.0f} °C"


_QUANTITIES = (
    ("Put in", lambda s: mass_text(s.loaded)),
    ("In the tank", lambda s: mass_text(s.mass)),
    ("Volume of the fuel", lambda s: _litres(s.volume)),
    ("Depth of the fuel at its deepest", lambda s: f"{s.depth:.3f} m"),
    ("Capacity of the whole tank", lambda s: _litres(s.capacity)),
    ("Highest fill", lambda s: _litres(s.tank.highest_volume) if s.tank.holds_fuel else "–"),
    ("Unusable at this attitude", lambda s: _both(s.unusable, s.density)),
    ("Unusable, worst of normal flight", lambda s: _both(s.unusable_defined, s.density)),
    ("Space above the fuel", lambda s: f"{max(0.0, s.space_left):.1f} % of capacity"),
    ("Ran into it from other tanks", lambda s: mass_text(s.came_in)),
    ("Ran over out of it", lambda s: mass_text(s.ran_over)),
    ("What was put in is its highest fill at", _over_at),
    ("Usable, what the gauge ought to show", _usable),
    ("Gauge shows (and is off by)", _gauge),
)  # fmt: skip


def numbered(rest, names):
    """Return (number, spot) of everything in some tanks that can be wet or dry."""
    spots = [spot for name in names for spot in rest.states[name].spots]
    return tuple(enumerate(spots, start=1))


def spot_rows(rest, names):
    """Return inlets, sensors, vents and sticks of some tanks as rows."""
    rows = []
    for number, spot in numbered(rest, names):
        state = rest.states[spot.tank]
        low = min(corner[2] for rib in state.tank.ribs for corner in rib.corners)
        rows.append((
            title_case(spot.name), str(number), spot.kind, state.tank.title, spot_words(spot),
            f"{spot.position[2] - low:.3f} m",
        ))  # fmt: skip
    return rows


def spot_words(spot):
    """Return the state of a spot in words: WET, DRY, or what a stick reads.

    Examples
    --------
    >>> from fuelkit.survey.tank_state import Spot
    >>> spot_words(Spot("left stick", "drip stick", "left tank", (0, 0, 0), True, 0.123, "READS"))
    'reads 0.123 m'
    """
    if not spot.found:
        return spot.state
    if spot.found == "READS":
        return f"reads {spot.reading:.3f} m"
    return (
        "covered, the fuel is above its scale" if spot.found == "COVERED" else "dry, no fuel on it"
    )


def spill_sentences(rest):
    """Return what runs over, tank by tank as far as it gets, in sentences; at least one."""
    found = []
    for spill in rest.spills:
        tank = rest.states[spill.start].tank
        over = f"{mass_text(spill.mass)} ({_litres(spill.volume)})"
        to = (
            "runs overboard"
            if spill.end == model.OVERBOARD
            else f"runs over into the {_small(rest.states[spill.end].tank.title)}"
        )
        brim = "its highest fill" if tank.holds_fuel else "what it holds"
        found.append(
            f"{title_case(tank.title)}: at {rest.temperature - ZERO_CELSIUS:.0f} °C there is "
            f"{over} more than {brim}, {_litres(tank.highest_volume)}; it {to}."
        )
    if not found:
        return ["Nothing runs over: no tank is filled above its highest fill."]
    if not rest.overboard:
        found.append("Nothing leaves the aircraft: the last tank has room for it.")
    return found


def _small(title):
    return title[:1].lower() + title[1:]


def conditions_words(rest):
    """Return attitude, temperature and density in words."""
    density = next(iter(rest.states.values())).density
    return (
        f"{_attitude(rest)}; fuel at {rest.temperature - ZERO_CELSIUS:.0f} °C, "
        f"{density:.1f} kg/m³ ({rest.density_15:.1f} kg/m³ at 15 °C)"
    )


def _attitude(rest):
    # Angles come from degrees and go back to them: rounding takes the dust away.
    rounded = [math.radians(round(math.degrees(a), 3)) for a in (rest.pitch, rest.roll)]
    return title_case(attitude_words(rounded))


def wet_words(rest, names):
    """Return which parts of some tanks are wet and which are dry, in a sentence each."""
    found = []
    for state in ("WET", "DRY"):
        spots = [s.name for _, s in numbered(rest, names) if s.state == state and not s.found]
        found.append(f"{state}: {', '.join(spots) or 'none'}.")
    return found


def tables_html(rest, names):
    """Return both tables of some tanks and the sentences on what runs over, for a page."""
    said = "".join(f"<p>{escape(sentence)}</p>" for sentence in spill_sentences(rest))
    figures = table_html(
        quantity_rows(rest, names),
        caption=f"The fuel in figures: {conditions_words(rest)}",
        columns=quantity_columns(rest, names),
    )
    spots = spot_rows(rest, names)
    parts = table_html(spots, caption="What is wet, and what sticks read", columns=SPOT_COLUMNS)
    return said + figures + (parts if spots else "") + f"<p>{_LAW}</p>"


def plain_text(rest, names):
    """Return the same as plain text."""
    rows = [quantity_columns(rest, names), *quantity_rows(rest, names)]
    rows += [SPOT_COLUMNS, *spot_rows(rest, names)]
    lines = [conditions_words(rest), *spill_sentences(rest)]
    return "\n".join([*lines, *(" | ".join(row) for row in rows)])
