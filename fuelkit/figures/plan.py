"""The fuel plan: every part of the block fuel, found together with the take-off mass.

The end of the flight is known, so the plan is worked from there: zero-fuel mass and what is not
burned, back over final reserve, alternate and trip to the take-off mass. Contingency fuel depends
on the trip and the trip on what is carried, so this is gone through again until nothing moves.
"""

from dataclasses import dataclass

from fuelkit.figures.limits import PlanError, check_limits, limits_of
from fuelkit.figures.performance import at_level, holding, performance_of
from fuelkit.figures.policies import policy
from fuelkit.figures.quantities import FigureError, written
from fuelkit.figures.request import PlanRequest, check_request
from fuelkit.figures.trip import Trip, Way, mass_after

_CLOSE, _PASSES = 1e-7, 80  # kg; of the parts that depend on the trip
_FEW = 4  # steps of a reserve, half an hour to two hours long
_RUNAWAY = 2.5  # times the greatest take-off mass: from there no plan comes back


@dataclass(frozen=True)
class Plan:
    """A fuel plan. Frozen; masses in kg.

    aircraft : str
    request : PlanRequest
    policy, contingency_rule : Policy, Contingency
    taxi, trip, contingency, alternate, final_reserve, additional, extra, discretionary : float
        The parts of the block fuel.
    tankered : float
        For the next sector.
    made_up : float
        What must be added to reach the least fuel for take-off.
    zero_fuel : float
    flown, diversion : Trip, Trip or None
        The trip, and the way to the alternate.
    floor_rules : bool
        Whether contingency is as much as the holding time below which it may not be.
    limits : tuple of Limit
        Every limit with the figure held against it and the margin.
    """

    aircraft: str
    request: PlanRequest
    policy: object
    contingency_rule: object
    taxi: float
    trip: float
    contingency: float
    alternate: float
    final_reserve: float
    additional: float
    extra: float
    discretionary: float
    tankered: float
    made_up: float
    zero_fuel: float
    flown: Trip
    diversion: Trip | None
    floor_rules: bool
    limits: tuple = ()

    @property
    def parts(self):
        """The parts of the block fuel by name, in the order of a flight plan."""
        names = (
            "taxi", "trip", "contingency", "alternate", "final_reserve", "additional", "extra",
            "discretionary", "tankered", "made_up",
        )  # fmt: skip
        return {name: getattr(self, name) for name in names}

    @property
    def block(self):
        """Fuel on board when the aircraft first moves."""
        return sum(self.parts.values())

    @property
    def take_off_fuel(self):
        """Fuel on board at the beginning of take-off."""
        return self.block - self.taxi

    @property
    def take_off(self):
        """Take-off mass."""
        return self.zero_fuel + self.take_off_fuel

    @property
    def landing(self):
        """Landing mass at the destination, contingency unused."""
        return self.take_off - self.trip

    @property
    def fuel_at_destination(self):
        """Fuel on board after landing at the destination, contingency unused."""
        return self.take_off_fuel - self.trip

    @property
    def minimum(self):
        """Least fuel on board after landing: what MINIMUM FUEL and MAYDAY FUEL are held against."""
        return self.final_reserve

    @property
    def time(self):
        """From the start of take-off to the end of the landing run. [s]"""
        return self.flown.time

    @property
    def distance(self):
        """Of the route. [m]"""
        return self.request.route.distance

    @property
    def bites(self):
        """The limit with the least margin, of those that are not to be exceeded."""
        return min((x for x in self.limits if x.at_most), key=lambda x: x.margin)


def fuel_plan(aircraft, request):
    """Return the fuel plan of an aircraft for a request.

    Parameters
    ----------
    aircraft : Aircraft
        With performance tables and mass limits.
    request : PlanRequest

    Returns
    -------
    Plan

    Raises
    ------
    PlanError
        If a limit cannot be met; it names the limit and by how much.
    FigureError
        If the request cannot be read, the tables do not reach so far, or the level is too high.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> from fuelkit.figures.trip import Route
    >>> request = PlanRequest(16000.0, Route(1500 * 1852.0, 35000 * 0.3048))
    >>> plan = fuel_plan(load_aircraft("halbrook-180"), request)
    >>> round(plan.block - sum(plan.parts.values()), 6), plan.bites.name
    (0.0, 'tank capacity')
    """
    work = Work(aircraft, request)
    plan = work.plan()
    check_limits(plan.limits)
    work.check_levels(plan)
    return plan


def plan_without_limits(aircraft, request):
    """Return the plan even if limits are not met, to see by how much. Else as `fuel_plan`."""
    return Work(aircraft, request).plan()


class Work:
    """One plan being worked out. Holds what does not change while it is gone through again."""

    def __init__(self, aircraft, request):
        check_request(request)
        self.aircraft, self.request = aircraft, request
        self.tables = performance_of(aircraft)
        self.policy = policy(request.policy)
        self.rule = self.policy.contingency(request.contingency)
        self.way = _way("route", request.route, self.tables)
        alternate = request.alternate
        self.other = alternate and _way("alternate", alternate, self.tables)
        self.hold = holding(self.tables).beyond
        self.carried = request.additional + request.extra + request.discretionary + request.tankered
        self.zero_fuel = aircraft.mass_limits.dry_operating + request.payload
        self._check_rule()

    def _check_rule(self):
        if self.policy.not_for == self.tables.engines:
            raise FigureError(
                f"policy: it is '{self.policy.name}', which is not for a {self.policy.not_for}; "
                f"{self.aircraft.name} is one. Name another policy."
            )
        if self.request.isolated and self.policy.isolated is None:
            raise FigureError(
                f"isolated: it is True; '{self.policy.name}' does not provide for an isolated "
                "aerodrome. Name an alternate, or another policy."
            )
        if self.rule.kind == "statistical" and self.request.statistical is None:
            raise FigureError(
                "statistical: it is None; a statistical contingency needs the operator's figure "
                "in kg."
            )

    def plan(self):
        """Go through the plan until nothing moves."""
        contingency = additional = made_up = 0.0
        take_off = landing = self.zero_fuel + self.carried
        for _ in range(_PASSES):
            before = (contingency, additional, made_up, landing, take_off)
            end = self.zero_fuel + self.carried + contingency + additional + made_up
            arrival = end + self._reserve(end)
            landing = self.other.once(arrival, landing) if self.other else arrival
            take_off = self.way.once(landing, take_off)
            self._check_runaway(max(take_off, landing))
            contingency = self._contingency(landing, take_off)
            additional = self._required_additional(end - additional, arrival - end, landing)
            made_up = self._made_up(take_off - self.zero_fuel - made_up)
            after = (contingency, additional, made_up, landing, take_off)
            if all(abs(a - b) < _CLOSE for a, b in zip(before, after, strict=True)):
                return self._written(before[:3], end, arrival, landing, take_off)
        raise FigureError("plan: no take-off mass was found; give a shorter route or less wind.")

    def _reserve(self, end):
        """Final reserve that ends at a mass [kg]."""
        flow = self.hold if self.policy.reserve_at == "holding" else self.way.at.cruise.beyond
        return mass_after(flow, end, -self.policy.reserve_time, steps=_FEW) - end

    def _contingency(self, landing, take_off):
        if self.request.isolated and not self.policy.isolated_contingency:
            return 0.0
        return max(self._by_rule(landing, take_off), self.floor(landing))

    def floor(self, landing):
        """Return what contingency may not be less than [kg]: holding at the landing mass."""
        return self.rule.floor * self.hold(landing)

    def _by_rule(self, landing, take_off):
        kind, amount = self.rule.kind, self.rule.amount
        if kind == "share of trip":
            return amount * (self._after_decision(landing, take_off) - landing)
        if kind == "statistical":
            return self.request.statistical
        if kind == "none":
            return 0.0
        time = self._trip_time(take_off)
        if kind == "time of trip":
            return amount * (take_off - landing) / time
        return amount * time * self.way.at.cruise.beyond(self.way.cruise_end(landing))

    def _trip_time(self, take_off):
        at = self.way.at
        other = at.climb_time.beyond(take_off) + at.descent_time + self.tables.approach_time
        return other + max(0.0, self.way.cruise_time(take_off))

    def _after_decision(self, landing, take_off):
        """Mass from which contingency counts: at take-off, or at the decision point [kg]."""
        if self.request.decision is None:
            return take_off
        way, at = self.way, self.way.at
        descent = at.descent_distance - way.route.headwind * at.descent_time
        left = way.route.distance - self.request.decision - descent
        left -= self.tables.approach_distance
        if not 0.0 <= left <= way.cruise_distance(take_off):
            raise FigureError(
                f"decision: it is {written(self.request.decision, 'NM')} from departure; the "
                "decision point must lie on the cruise."
            )
        return mass_after(at.cruise.beyond, way.cruise_end(landing), -left / way.ground_speed)

    def _required_additional(self, end, reserve, landing):
        """Additional fuel that the rules ask for where there is no alternate [kg]."""
        if self.request.isolated:
            flow = self.way.at.cruise.beyond
            whole = mass_after(flow, end, -self.policy.isolated, steps=_FEW) - end
            return max(0.0, whole - reserve)
        return 0.0 if self.other else self.policy.no_alternate * self.hold(landing)

    def _made_up(self, required):
        return max(0.0, self.aircraft.mass_limits.least_fuel - required)

    def _check_runaway(self, mass):
        most = self.aircraft.mass_limits.take_off
        if not mass < _RUNAWAY * most:
            raise PlanError("take-off mass", most, mass, at_least=True)

    def _written(self, parts, end, arrival, landing, take_off):
        contingency, additional, made_up = parts
        request = self.request
        flown = self.way.trip(landing, take_off)
        diversion = self.other.trip(arrival, landing) if self.other else None
        values = {
            "taxi": request.taxi_time * self.tables.taxi,
            "trip": take_off - landing,
            "contingency": contingency,
            "alternate": landing - arrival,
            "final_reserve": arrival - end,
            "additional": additional + request.additional,
            "extra": request.extra,
            "discretionary": request.discretionary,
            "tankered": request.tankered,
            "made_up": made_up,
        }
        block = sum(values.values())
        return Plan(
            self.aircraft.name,
            request,
            self.policy,
            self.rule,
            **values,
            zero_fuel=self.zero_fuel,
            flown=flown,
            diversion=diversion,
            floor_rules=contingency > 0.0 and contingency <= self.floor(landing) + 1e-6,
            limits=limits_of(self.aircraft, request, self.zero_fuel, take_off, landing, block),
        )

    def check_levels(self, plan):
        """Raise FigureError if a level is above what the aircraft reaches at its mass."""
        self.way.check_ceiling(plan.flown)
        if plan.diversion is not None:
            self.other.check_ceiling(plan.diversion)


def _way(name, route, tables):
    at = at_level(tables, route.level, route.deviation)
    if route.headwind >= at.speed:
        raise FigureError(
            f"{name}: headwind is {written(route.headwind, 'kt')}; true airspeed is "
            f"{written(at.speed, 'kt')}, so the aircraft never arrives. Give a weaker wind."
        )
    return Way(name, route, tables, at)
