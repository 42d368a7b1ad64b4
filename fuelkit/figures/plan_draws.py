"""Requests for a fuel plan that somebody could meet, drawn by a number."""

from fuelkit.figures.draws import KNOT, rounded
from fuelkit.figures.limits import tank_capacity
from fuelkit.figures.performance import at_level, performance_of
from fuelkit.figures.policies import policies
from fuelkit.figures.request import PlanRequest
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, MINUTE, NAUTICAL_MILE


def drawn_request(aircraft, draw):
    """Return a request that somebody could meet, drawn; a plan for it need not exist."""
    tables, own = performance_of(aircraft), aircraft.mass_limits
    room = own.zero_fuel - own.dry_operating
    reach = 0.8 * tank_capacity(aircraft, 800.0) / tables.cruise[0][-1][-1]  # s
    speed = at_level(tables, tables.levels[-1]).speed
    longest = max(300.0 * NAUTICAL_MILE, 0.8 * reach * speed)
    rules = policies()
    fitting = tuple(n for n, r in rules.items() if r.not_for != tables.engines)
    rule = rules[draw.one_of(fitting, "policy")]
    alternate = draw.chance(0.75, "alternate")
    isolated = not alternate and rule.isolated is not None and draw.chance(0.4, "isolated")
    contingency = draw.one_of(rule.contingencies, "contingency")
    return PlanRequest(
        payload=draw.between(0.3 * room, 0.95 * room, "payload", step=50.0),
        route=_drawn_route(draw, "route", tables, 0.1 * longest, longest),
        alternate=_drawn_route(draw, "alternate", tables, 0.02 * longest, 0.12 * longest)
        if alternate else None,
        isolated=isolated,
        policy=rule.name,
        contingency=contingency.name,
        taxi_time=draw.whole(6, 20, "taxi") * MINUTE,
        extra=draw.one_of((0.0, 0.0, 200.0), "extra"),
        discretionary=draw.one_of((0.0, 100.0, 300.0), "discretionary"),
        statistical=0.035 * longest / speed * tables.cruise[0][-1][-1],
        density=draw.between(785.0, 825.0, "density", step=1.0),
    )  # fmt: skip


def _drawn_route(draw, name, tables, low, high):
    distance = draw.between(low, high, f"{name} distance", step=NAUTICAL_MILE)
    lowest, highest = tables.levels[0], tables.levels[-1]
    wanted = lowest + (highest - lowest) * min(1.0, 0.15 + distance / (450.0 * NAUTICAL_MILE))
    level = rounded(wanted * draw.between(0.85, 1.0, f"{name} level"), 1000.0 * FOOT)
    return Route(
        distance,
        min(max(level, lowest), highest),
        draw.between(-60.0 * KNOT, 80.0 * KNOT, f"{name} wind", step=5.0 * KNOT),
        float(draw.whole(-10, 10, f"{name} deviation")),
    )
