"""The planning page: move payload, distance, wind or rules, and the fuel plan answers at once.

Python computes and draws; the page only has the controls. Nothing here is a plan to fly by.
"""

import math
from pathlib import Path

import traitlets

from fuelkit.aircraft.reading import nearest
from fuelkit.figures.catalogue import without_performance
from fuelkit.figures.draws import rounded
from fuelkit.figures.limits import tank_capacity
from fuelkit.figures.performance import at_level
from fuelkit.figures.plan import fuel_plan
from fuelkit.figures.policies import policies
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.request import PlanRequest
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, HOUR, MINUTE, NAUTICAL_MILE
from fuelkit.physics.writing import grouped, mass_text
from fuelkit.show.explorer import Explorer, ExplorerError, slider
from fuelkit.show.page import PAGE_CSS, Page
from fuelkit.show.palette import SAFETY
from fuelkit.show.planner_bar import planner_drawing
from fuelkit.show.planner_words import outcomes, planner_table, verdict, verdict_html

_HERE = Path(__file__).parent
_KNOT = NAUTICAL_MILE / HOUR
_DENSITY = 800.0  # kg/m³
_THOUSAND = 1000.0 * FOOT
_RULE = "easa-uk / basic"  # what is chosen at the start
_NOTE = (
    "Standard air; still air to the alternate; fuel of 800 kg/m³. Other rule sets are shown with "
    "their usual contingency fuel. A contingency from statistics needs an operator's own records "
    "and is left out. "
)


def planning_page(aircraft):
    """Return the planning page of an aircraft, to show in a notebook.

    Parameters
    ----------
    aircraft : Aircraft

    Returns
    -------
    PlanningPage, or Page
        A page with a sentence if the aircraft has no performance tables.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> page = planning_page(load_aircraft("halbrook-180"))
    >>> page.set(payload=15000, distance=1200, wind=40)
    >>> "Block fuel" in page.said, page.request.payload
    (True, 15000.0)
    """
    lacks = without_performance(aircraft)
    return Page(f'<p class="closed">{lacks}</p>', lacks) if lacks else PlanningPage(aircraft)


class PlanningPage(Explorer):
    """Fuel plans with controls.

    Parameters
    ----------
    aircraft : Aircraft
        With performance tables and mass limits.

    Attributes
    ----------
    request : PlanRequest
        What the controls ask for.
    outcomes : tuple of Outcome
        What each rule set makes of it, the chosen one first.
    """

    _esm = "\n".join(
        [
            (_HERE / "tilt.js").read_text(encoding="utf-8").split("export default")[0],
            (_HERE / "planner.js").read_text(encoding="utf-8"),
        ]
    )
    _css = "\n".join(
        [PAGE_CSS, *((_HERE / f"{n}.css").read_text(encoding="utf-8") for n in ("tilt", "planner"))]
    )

    safety = traitlets.Unicode(_NOTE + SAFETY).tag(sync=True)

    def __init__(self, aircraft):
        self.aircraft = aircraft
        self._ranges = _ranges(aircraft)
        self._values = _start(aircraft, self._ranges)
        super().__init__(title=f"{aircraft.name}: plan the fuel of a flight")
        self._draw()
        self.on_msg(self._heard)

    def set(self, **values):
        """Set some controls and draw again.

        Parameters
        ----------
        rule : str
            A rule set and its contingency fuel, such as "easa-uk / basic".
        payload, extra, discretionary : float
            [kg]
        distance, alternate : float
            To the destination, and from there to the alternate; 0 for no alternate. [NM]
        wind : float
            Headwind along the route; negative is a tailwind. [kt]
        level : float
            Pressure altitude of cruise. [ft]
        taxi : float
            [min]

        Raises
        ------
        ExplorerError
            If there is no such control, or a value is outside its range; nothing is changed.
        """
        changed = dict(self._values)
        for name, value in values.items():
            changed[name] = self._checked(name, value)
        before, self._values = self._values, changed
        try:
            self._draw()
        except Exception:
            self._values = before
            raise

    def _checked(self, name, value):
        known = {"rule", *self._ranges}
        if name not in known:
            raise ExplorerError(f"planner: there is no control '{name}'.{nearest(name, known)}")
        if name == "rule":
            return _known_rule(self.aircraft, value)
        low, high, _, unit = self._ranges[name]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ExplorerError(f"planner: {name} is {value!r}; it must be a number [{unit}].")
        if not low <= value <= high:
            raise ExplorerError(
                f"planner: {name} is {value:g} {unit}; it must lie between {low:g} and {high:g} "
                f"{unit}. Set it again."
            )
        return float(value)

    @property
    def request(self):
        """What the controls ask for."""
        return _request(self.aircraft, self._values)

    # ------------------------------------------------------------------------------- drawing
    def _draw(self):
        found = outcomes(self.aircraft, self.request)
        said = verdict(found)
        drawn = planner_drawing(self.aircraft, found, density=_DENSITY, label=said)
        with self.hold_sync():
            self.outcomes = found
            self.controls = self._controls()
            self.drawing = verdict_html(found) + drawn
            self.table, self.said, self.error = planner_table(found), said, ""

    def _controls(self):
        """What the page shows: each control with its range, value and that value in words."""
        v, words = self._values, _words(self.aircraft, self._values)
        found = [{
            "id": "rule", "label": "Rules for reserve fuel", "value": v["rule"],
            "options": [{"value": n, "text": t} for n, t in _rules(self.aircraft).items()],
        }]  # fmt: skip
        for name, (low, high, step, _) in self._ranges.items():
            found.append(slider(name, _LABELS[name], (low, high), step, v[name], words[name]))
        return found

    # ------------------------------------------------------------------------ from the page
    def begin_again(self):
        """Put every control where it began and draw."""
        self.set(**_start(self.aircraft, self._ranges))


_LABELS = {
    "payload": "Payload", "distance": "Distance", "wind": "Wind along the route",
    "level": "Cruise level", "alternate": "To the alternate", "taxi": "Taxi time",
    "extra": "Extra fuel", "discretionary": "Discretionary fuel",
}  # fmt: skip


def _ranges(aircraft):
    """Lowest, highest, step and unit of each control that is a number.

    Each goes beyond what can be flown, so that the limits are met.
    """
    own, tables = aircraft.mass_limits, aircraft.performance
    room = own.zero_fuel - own.dry_operating
    fine = 10.0 if room < 5000.0 else 100.0
    speed = at_level(tables, tables.levels[-1]).speed
    full = tank_capacity(aircraft, _DENSITY)
    reach = full / tables.cruise[0][-1][-1] * speed / NAUTICAL_MILE
    low, high = (round(x / FOOT) for x in (tables.levels[0], tables.levels[-1]))
    some = _up(0.15 * full, fine)
    return {
        "payload": (0.0, _up(1.1 * room, fine), fine, "kg"),
        "distance": (50.0, _up(1.1 * reach, 50.0), 10.0, "NM"),
        "wind": (-100.0, 120.0, 5.0, "kt"),
        "level": (float(low), float(high), 1000.0, "ft"),
        "alternate": (0.0, _up(0.2 * reach, 50.0), 10.0, "NM"),
        "taxi": (0.0, 60.0, 1.0, "min"),
        "extra": (0.0, some, fine, "kg"),
        "discretionary": (0.0, some, fine, "kg"),
    }


def _up(value, step):
    return step * math.ceil(value / step)


def _start(aircraft, ranges):
    """Return a flight to begin from: the farthest and highest of some that it can fly."""
    rules = _rules(aircraft)
    high = {name: r[1] for name, r in ranges.items()}
    values = {
        "rule": _RULE if _RULE in rules else next(iter(rules)), "wind": 0.0, "taxi": 10.0,
        "alternate": rounded(max(0.3 * high["alternate"], 60.0), 10.0), "extra": 0.0,
        "discretionary": 0.0, "level": ranges["level"][0],
    }  # fmt: skip
    for share in (1.0, 0.7, 0.4, 0.2):
        values["payload"] = rounded(0.6 * share * high["payload"], ranges["payload"][2])
        values["distance"] = max(50.0, rounded(0.4 * share * high["distance"], 10.0))
        level = _highest(aircraft, values, ranges["level"])
        if level is not None:
            return values | {"level": level}
    return values


def _highest(aircraft, values, levels):
    """Return the highest level [ft] at which there is a plan, or None."""
    low, top, step, _ = levels
    down = (low + i * step for i in range(int((top - low) / step), -1, -1))
    return next((x for x in down if _can_be_flown(aircraft, values | {"level": x})), None)


def _can_be_flown(aircraft, values):
    try:
        fuel_plan(aircraft, _request(aircraft, values))
    except FigureError:
        return False
    return True


def _request(aircraft, values):
    rule, contingency = values["rule"].split(" / ")
    route = Route(
        values["distance"] * NAUTICAL_MILE, values["level"] * FOOT, values["wind"] * _KNOT
    )
    return PlanRequest(
        values["payload"], route, _alternate(aircraft, values), policy=rule,
        contingency=contingency, taxi_time=values["taxi"] * MINUTE, extra=values["extra"],
        discretionary=values["discretionary"], density=_DENSITY,
    )  # fmt: skip


def _alternate(aircraft, values):
    """The way to the alternate, the higher the farther (our own choice); None at 0 NM."""
    distance = values["alternate"] * NAUTICAL_MILE
    if not distance:
        return None
    tables = aircraft.performance
    low, high = tables.levels[0], tables.levels[-1]
    level = low + min(1.0, distance / (450.0 * NAUTICAL_MILE)) * (high - low)
    level = _THOUSAND * math.floor(level / _THOUSAND + 1e-6)
    while level > low and _up_and_down(aircraft, level) > distance:
        level -= _THOUSAND
    return Route(distance, max(low, level))


def _up_and_down(aircraft, level):
    """How far climb, descent and approach take the heaviest aircraft in still air [m]."""
    at = at_level(aircraft.performance, level)
    climb = at.climb_distance.beyond(aircraft.mass_limits.landing)
    return climb + at.descent_distance + aircraft.performance.approach_distance


def _words(aircraft, values):
    """Each number in words."""
    v, other = values, _alternate(aircraft, values)
    wind = f"{abs(v['wind']):g} kt {'headwind' if v['wind'] > 0 else 'tailwind'}"
    return {
        "payload": mass_text(v["payload"]),
        "distance": f"{grouped(v['distance'])} NM",
        "wind": wind if v["wind"] else "calm",
        "level": f"{grouped(v['level'])} ft",
        "alternate": f"{grouped(v['alternate'])} NM at {grouped(other.level / FOOT)} ft"
        if other else "no alternate",
        "taxi": f"{v['taxi']:g} min",
        "extra": mass_text(v["extra"]),
        "discretionary": mass_text(v["discretionary"]),
    }  # fmt: skip


def _rules(aircraft):
    """Every rule set with its ways to contingency fuel that can be chosen, and what each says."""
    return {
        f"{rules.name} / {c.name}": f"{rules.title}: {_contingency(c)}"
        for rules in policies().values()
        for c in rules.contingencies
        if rules.not_for != aircraft.performance.engines and c.kind != "statistical"
    }


def _contingency(rule):
    return "no contingency fuel" if rule.kind == "none" else rule.title


def _known_rule(aircraft, rule):
    known = _rules(aircraft)
    if not isinstance(rule, str) or rule not in known:
        raise ExplorerError(
            f"planner: rule is {rule!r}; it must be one of {', '.join(known)}."
            f"{nearest(str(rule), known)}"
        )
    return rule
