"""What a fuel plan is asked for: payload, routes, rule set, and what is carried besides."""

import math
from dataclasses import dataclass, fields

from fuelkit.figures.quantities import FigureError, written
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, HOUR, NAUTICAL_MILE
from fuelkit.physics.writing import grouped

_FARTHEST, _STRONGEST = 20_000.0 * NAUTICAL_MILE, 150.0  # m, m/s: farther and stronger is a slip


@dataclass(frozen=True)
class PlanRequest:
    """What a plan is asked for. Frozen.

    payload : float
        [kg]
    route : Route
    alternate : Route or None
        From the destination, go-around included; None where no alternate is required.
    isolated : bool
        Whether the destination is an isolated aerodrome; then there is no alternate.
    policy, contingency : str, str or None
        Names of the rule set and of its way to contingency fuel; None for the usual one.
    taxi_time : float
        [s]
    additional, extra, discretionary, tankered : float
        Carried besides what the rules ask for: for a critical failure en route, for an expected
        delay, at the commander's discretion, for the next sector. [kg]
    statistical : float or None
        The operator's figure, for a statistical contingency. [kg]
    decision : float or None
        How far from departure the decision point lies, if contingency is to count from there. [m]
    density : float
        Of the fuel, for what the tanks hold. [kg/m³]
    take_off_limit, landing_limit : float or None
        Masses that runway or weather allow today, if less than the structural ones. [kg]
    """

    payload: float
    route: Route
    alternate: Route | None = None
    isolated: bool = False
    policy: str = "easa-uk"
    contingency: str | None = None
    taxi_time: float = 600.0
    additional: float = 0.0
    extra: float = 0.0
    discretionary: float = 0.0
    tankered: float = 0.0
    statistical: float | None = None
    decision: float | None = None
    density: float = 800.0
    take_off_limit: float | None = None
    landing_limit: float | None = None


# Lowest, highest, and what would be right; in SI.
_RANGES = {
    "payload": (0.0, 1e6, "kg", "0 or more, in kg"),
    "taxi_time": (0.0, 4.0 * HOUR, "min", "from 0 to 240 min, in seconds"),
    "additional": (0.0, 1e6, "kg", "0 or more, in kg"),
    "extra": (0.0, 1e6, "kg", "0 or more, in kg"),
    "discretionary": (0.0, 1e6, "kg", "0 or more, in kg"),
    "tankered": (0.0, 1e6, "kg", "0 or more, in kg"),
    "statistical": (0.0, 1e6, "kg", "0 or more, in kg"),
    "decision": (0.0, _FARTHEST, "NM", "inside the route, in metres"),
    "density": (700.0, 900.0, "kg/m³", "from 700 to 900 kg/m³"),
    "take_off_limit": (1.0, 1e7, "kg", "above 0, in kg"),
    "landing_limit": (1.0, 1e7, "kg", "above 0, in kg"),
}
_ROUTE_RANGES = {
    "distance": (1.0, _FARTHEST, "NM", "above 0 and at most 20 000 NM, in metres"),
    "level": (0.0, 20_000.0, "ft", "a pressure altitude in metres"),
    "headwind": (-_STRONGEST, _STRONGEST, "kt", "from -290 to 290 kt, in m/s"),
    "deviation": (-80.0, 80.0, "K", "a difference from the standard atmosphere, in K"),
}
_MAY_BE_NONE = ("statistical", "decision", "take_off_limit", "landing_limit")


def check_request(request):
    """Raise FigureError for the first thing that no plan can be made from."""
    if not isinstance(request, PlanRequest):
        raise FigureError(f"request: it is {request!r}; it must be a PlanRequest.")
    for name, bounds in _RANGES.items():
        value = getattr(request, name)
        if value is not None or name not in _MAY_BE_NONE:
            _check(name, value, bounds)
    _check_route("route", request.route)
    if request.alternate is not None:
        _check_route("alternate", request.alternate)
    if not isinstance(request.isolated, bool):
        raise FigureError(f"isolated: it is {request.isolated!r}; it must be True or False.")
    if request.isolated and request.alternate is not None:
        raise FigureError(
            "isolated: it is True and there is an alternate; an isolated aerodrome has none. "
            "Leave one of them out."
        )


def _check_route(name, route):
    if not isinstance(route, Route):
        raise FigureError(f"{name}: it is {route!r}; it must be a Route.")
    for field in fields(Route):
        _check(f"{name}: {field.name}", getattr(route, field.name), _ROUTE_RANGES[field.name])


def _check(name, value, bounds):
    low, high, unit, right = bounds
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise FigureError(f"{name}: it is {value!r}; it must be a number, {right}.")
    if not low <= value <= high:
        raise FigureError(f"{name}: it is {_shown(value, unit)}; it must be {right}.")


def _shown(value, unit):
    return f"{grouped(value / FOOT)} ft" if unit == "ft" else written(value, unit)
