"""What carrying costs, what payload must be given up, and plans by a decision point."""

from dataclasses import dataclass, replace

from fuelkit.figures.limits import PlanError, check_limits
from fuelkit.figures.plan import Plan, fuel_plan, plan_without_limits
from fuelkit.figures.quantities import FigureError, written

_PROBE = 100.0  # kg of payload more or less, to see what carrying it costs
_CLOSE, _PASSES = 0.01, 60  # kg
_CARRIED = 1.2  # block fuel for a kilogram carried, about; only how soon a search ends


@dataclass(frozen=True)
class Tankering:
    """Fuel carried for the next sector. Frozen. [kg]

    without, with_it : Plan
    carried : float
        On board after landing for the next sector.
    """

    without: Plan
    with_it: Plan
    carried: float

    @property
    def burned(self):
        """Trip fuel that is burned only to carry it [kg]."""
        return self.with_it.trip - self.without.trip

    @property
    def share(self):
        """Burned for each kilogram that arrives. [-]"""
        return self.burned / self.carried if self.carried else 0.0


def tankering(aircraft, request, carried):
    """Return what it takes to arrive with fuel for the next sector.

    Parameters
    ----------
    aircraft : Aircraft
    request : PlanRequest
    carried : float
        What is to be on board for the next sector after landing, besides all else. [kg]

    Raises
    ------
    PlanError
        If a limit is not met with it; `most_carried` says how much would go.
    """
    return Tankering(
        fuel_plan(aircraft, replace(request, tankered=0.0)),
        fuel_plan(aircraft, replace(request, tankered=carried)),
        carried,
    )


def most_carried(aircraft, request):
    """Return the most fuel that can be carried for the next sector within all limits [kg]."""
    fuel_plan(aircraft, replace(request, tankered=0.0))
    highest = aircraft.mass_limits.take_off
    return _most(aircraft, lambda kg: replace(request, tankered=kg), highest)


def most_payload(aircraft, request):
    """Return the greatest payload with which every limit is met [kg].

    Raises
    ------
    PlanError
        If not even an empty aircraft meets them.
    """
    check_limits(plan_without_limits(aircraft, replace(request, payload=0.0)).limits)
    own = aircraft.mass_limits
    highest = own.zero_fuel - own.dry_operating
    return _most(aircraft, lambda kg: replace(request, payload=kg), highest)


def payload_to_give_up(aircraft, request):
    """Return how much less payload meets every limit; 0 if all are met [kg]."""
    try:
        check_limits(plan_without_limits(aircraft, request).limits)
    except PlanError:
        return request.payload - most_payload(aircraft, request)
    return 0.0


def _most(aircraft, changed, highest):
    """Halve until the greatest amount that meets every limit is known to 10 g."""
    low, high = 0.0, highest
    if _meets(aircraft, changed(high)):
        return high
    for _ in range(_PASSES):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _meets(aircraft, changed(middle)) else (low, middle)
        if high - low < _CLOSE:
            break
    return low


def _meets(aircraft, request):
    try:
        check_limits(plan_without_limits(aircraft, request).limits)
    except PlanError:
        return False
    return True


def cost_of_carrying(aircraft, request):
    """Return how much more trip fuel each further kilogram of payload burns [-]."""
    more = plan_without_limits(aircraft, replace(request, payload=request.payload + _PROBE))
    return (more.trip - plan_without_limits(aircraft, request).trip) / _PROBE


def reduced_contingency(aircraft, request, second):
    """Return the plan by a decision point: contingency counts only from there.

    Parameters
    ----------
    aircraft : Aircraft
    request : PlanRequest
        To the destination, with `decision`, how far the decision point lies from departure.
    second : PlanRequest
        To the en-route aerodrome by way of the decision point, with all of its contingency.

    Returns
    -------
    tuple of Plan
        The plan for the destination, with what the second needs more as additional fuel; and the
        plan for the second. The block fuel of the first is enough for both.

    References
    ----------
    AMC6 CAT.OP.MPA.181, (c) and (d): reduced contingency fuel; the greater of the two sums. The
    5 min of holding are kept as the least contingency, which the text may not ask for.
    """
    if request.decision is None:
        raise FigureError(
            "decision: it is None; give how far from departure the decision point lies, in metres."
        )
    if second.payload != request.payload:
        raise FigureError(
            f"second: payload is {written(second.payload, 'kg')}; it must be that of the flight, "
            f"{written(request.payload, 'kg')}."
        )
    other = fuel_plan(aircraft, second)
    first = fuel_plan(aircraft, request)
    own = request.additional
    for _ in range(_PASSES):
        missing = other.block - first.block
        if abs(missing) < _CLOSE or (missing < 0.0 and request.additional == own):
            break
        more = max(own, request.additional + missing / _CARRIED)
        request = replace(request, additional=more)
        first = fuel_plan(aircraft, request)
    return first, other
