"""Masses against limits: which limit bites, by how much, and what must be given up."""

from dataclasses import dataclass

from fuelkit.figures.quantities import FigureError, written


class PlanError(FigureError):
    """A plan cannot meet a limit. `limit`, `allowed`, `value` and `excess` say which and how far.

    Parameters
    ----------
    limit : str
        Its name.
    allowed, value : float
        What it allows, and what the plan needs. [kg]
    at_least : bool
        Whether the plan needs even more than `value`.

    Notes
    -----
    How far it is too much is worked beyond the performance tables, their last pieces going on: no
    plan is ever returned from there.
    """

    def __init__(self, limit, allowed, value, *, at_least=False):
        self.limit, self.allowed, self.value = limit, allowed, value
        self.excess = value - allowed
        more = "more than " if at_least else ""
        super().__init__(
            f"{limit}: the plan needs {more}{written(value, 'kg')}; at most "
            f"{written(allowed, 'kg')} is allowed, so it is {more}{written(self.excess, 'kg')} "
            "too much. Carry less payload or less fuel, or give a shorter route or a lighter wind."
        )


@dataclass(frozen=True)
class Limit:
    """A limit and the figure held against it. Frozen. [kg]

    at_most : bool
        False for a limit that must be reached.
    """

    name: str
    allowed: float
    value: float
    at_most: bool = True

    @property
    def margin(self):
        """How far the figure is on the right side of the limit; negative on the wrong one."""
        return self.allowed - self.value if self.at_most else self.value - self.allowed


def tank_capacity(aircraft, density):
    """Return the usable fuel that the tanks take at a density [kg], [kg/m³]."""
    names = [name for step in aircraft.loading_order for name in step]
    volume = sum(aircraft.tank(name).refuelled_volume for name in names)
    return volume * density - aircraft.mass_limits.unusable


def limits_of(aircraft, request, zero_fuel, take_off, landing, block):
    """Return every limit of a plan with the figure held against it."""
    own = aircraft.mass_limits
    return (
        Limit("zero-fuel mass", own.zero_fuel, zero_fuel),
        Limit("take-off mass", _least(own.take_off, request.take_off_limit), take_off),
        Limit("landing mass", _least(own.landing, request.landing_limit), landing),
        Limit("tank capacity", tank_capacity(aircraft, request.density), block),
        Limit("minimum fuel for take-off", own.least_fuel, take_off - zero_fuel, at_most=False),
    )


def _least(structural, today):
    return structural if today is None else min(structural, today)


def check_limits(limits):
    """Raise PlanError for the limit that is exceeded most."""
    worst = min((x for x in limits if x.at_most), key=lambda x: x.margin)
    if worst.margin < -1e-6:
        raise PlanError(worst.name, worst.allowed, worst.value)


@dataclass(frozen=True)
class PayloadLimit:
    """What payload the mass limits leave. Frozen. [kg]

    by_limit : dict of str to float
        The payload that each limit leaves.
    """

    by_limit: dict

    @property
    def limit(self):
        """The limit that leaves least."""
        return min(self.by_limit, key=self.by_limit.get)

    @property
    def payload(self):
        """The payload that all limits leave; 0 if there is none."""
        return max(0.0, self.by_limit[self.limit])


def payload_limit(dry_operating, zero_fuel, take_off, landing, take_off_fuel, trip):
    """Return the payload that greatest masses leave for a given fuel. [kg]

    Parameters
    ----------
    dry_operating, zero_fuel, take_off, landing : float
        Mass without payload and fuel; the greatest masses.
    take_off_fuel, trip : float
        Fuel at take-off, and what of it is burned to the destination.

    References
    ----------
    FAA-H-8083-1B, Aircraft Weight and Balance Handbook, chapter 9: payload limit.

    Examples
    --------
    >>> payload_limit(100500, 138000, 184200, 142000, 54000, 40000).payload  # in pounds, there
    27500
    """
    if trip > take_off_fuel:
        raise FigureError(
            f"trip: it is {written(trip, 'kg')}; take-off fuel is only "
            f"{written(take_off_fuel, 'kg')}. Give more fuel or a shorter trip."
        )
    empty = dry_operating + take_off_fuel
    return PayloadLimit(
        {
            "zero-fuel mass": zero_fuel - dry_operating,
            "take-off mass": take_off - empty,
            "landing mass": landing + trip - empty,
        }
    )
