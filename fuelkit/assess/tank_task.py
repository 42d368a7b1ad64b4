"""Questions about the tanks themselves: what they take, what warmth does, where they run over.

The situation follows from a number; every answer is worked out from the shape of the tanks, the
order of filling and the density of the fuel.
"""

from dataclasses import dataclass
from functools import lru_cache

from fuelkit.aircraft.loading import distribution
from fuelkit.aircraft.model import OVERBOARD
from fuelkit.physics.fuel import ZERO_CELSIUS, smooth_density
from fuelkit.physics.lots import Lot
from fuelkit.physics.units import LITRE, STANDARD_GRAVITY
from fuelkit.physics.writing import grouped, mass_text
from fuelkit.survey.bending import BendingError, wing_of
from fuelkit.survey.tank_checks import tank_checks

_TOLERANCE = 0.01  # of the mass that is worked out: a slip of the pencil, not of the method
_LEAST_TOLERANCE = 5.0  # kg
_HEAVY = 0.5  # of the tanks' capacity: loads to share out begin here


@dataclass(frozen=True)
class TankQuestion:
    """One question with its computed answer. Frozen.

    key : str
        Which of the questions it is.
    options : tuple of str
        What there is to choose from; empty for a mass.
    value : str or float
        The right one, or a mass [kg].
    tolerance : float
        [kg]
    reason : str
        How it is worked out, with its figures.
    objective : str
        Name of the objective that it tests.
    """

    key: str
    text: str
    options: tuple
    value: object
    tolerance: float
    reason: str
    objective: str


@dataclass(frozen=True)
class TankSituation:
    """The fuel that the questions of one number are about. Frozen. [kg/m³], [K], [kg]"""

    density_15: float
    temperature: float
    warmer: float
    total: float

    @property
    def density(self):
        """Density at the temperature of the fuel."""
        return smooth_density(self.density_15, self.temperature)


def tank_situation(aircraft, draw):
    """Return the fuel of a number: the same one on every machine."""
    lot = Lot("tanks", aircraft.identifier, draw)
    density_15 = float(lot.whole(782, 822, "density"))
    temperature = ZERO_CELSIUS + lot.whole(-2, 18, "temperature")
    warmer = temperature + lot.whole(14, 32, "warmer")
    room = _room(aircraft) * smooth_density(density_15, temperature)
    step = 100.0 if room > 5000.0 else 10.0
    total = step * int(lot.between(_HEAVY, 0.97, "total") * room / step)
    return TankSituation(density_15, temperature, warmer, total)


def _room(aircraft):
    names = [name for step in aircraft.loading_order for name in step]
    return sum(aircraft.tank(name).refuelled_volume for name in names)


@lru_cache(maxsize=64)
def tank_questions(aircraft, draw):
    """Return the questions of a number that make sense for an aircraft.

    Parameters
    ----------
    aircraft : Aircraft
    draw : int
        The same number gives the same questions, always and on every machine.

    Returns
    -------
    tuple of TankQuestion

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> [q.key for q in tank_questions(load_aircraft("halbrook-180"), 1)]
    ['share', 'highest', 'warmed', 'runs-over', 'relief', 'unusable']
    """
    lot, fuel = Lot("tank questions", aircraft.identifier, draw), tank_situation(aircraft, draw)
    tanks = [tank for tank in aircraft.tanks if tank.holds_fuel]
    makers = (_share, _highest, _warmed, _runs_over, _relief, _unusable)
    return tuple(q for q in (make(aircraft, tanks, fuel, lot) for make in makers) if q)


def _mass(key, text, value, reason, objective):
    tolerance = max(_LEAST_TOLERANCE, round(_TOLERANCE * value, -1))
    return TankQuestion(key, text, (), float(value), tolerance, reason, objective)


def _share(aircraft, tanks, fuel, lot):
    masses = distribution(aircraft, fuel.total, fuel.density)
    loaded = [tank for tank in tanks if masses[tank.name] > 0.0]
    part = [t for t in loaded if masses[t.name] < 0.99 * t.refuelled_volume * fuel.density]
    loaded = part or loaded
    tank = lot.one_of(loaded, "shared tank")
    text = (
        f"{mass_text(fuel.total)} are loaded in the order of filling. How much is in {tank.name}?"
    )
    left, steps = fuel.total, []
    for step in aircraft.loading_order:
        each = [f"{name} {mass_text(masses[name])}" for name in step]
        left -= sum(masses[name] for name in step)
        steps.append(f"{' and '.join(each)}, {mass_text(max(left, 0.0))} left")
        if left <= 1e-6:
            break
    return _mass("share", text, masses[tank.name], "; then ".join(steps) + ".", "capacities")


def _highest(aircraft, tanks, fuel, lot):
    tank = lot.one_of(tanks, "filled tank")
    text = f"How much fuel can {tank.name} be refuelled with at most?"
    value = tank.refuelled_volume * fuel.density
    reason = (
        f"It is refuelled to {100 * tank.refuel_limit:.0f} % of {_litres(tank.levels.capacity)}, "
        f"which is {_litres(tank.refuelled_volume)}, times {fuel.density:.1f} kg/m³."
    )
    return _mass("highest", text, value, reason, "density")


def _warmed(aircraft, tanks, fuel, lot):
    """Filled to its highest level and left in the sun: what runs over."""
    tank = lot.one_of(tanks, "warmed tank")
    warm = smooth_density(fuel.density_15, fuel.warmer)
    over = tank.highest_volume * (fuel.density - warm)
    text = (
        f"{_capital(tank.name)} is filled to its highest level at {_celsius(fuel.temperature)}. "
        f"How much has run over when it has warmed to {_celsius(fuel.warmer)}?"
    )
    reason = (
        f"{_litres(tank.highest_volume)} at {fuel.density:.1f} kg/m³ weigh "
        f"{mass_text(tank.highest_volume * fuel.density)}; the same volume at {warm:.1f} kg/m³ "
        f"only {mass_text(tank.highest_volume * warm)}. What no longer fits below "
        "that level runs over. That is a simplification of these tanks: in an aircraft warm fuel "
        "swells into the expansion space first, from whose top the vents open."
    )
    question = _mass("warmed", text, over, reason, "unusable-and-expansion")
    tolerance = max(2.0, round(0.1 * over))
    return TankQuestion(**{**question.__dict__, "tolerance": tolerance})


def _runs_over(aircraft, tanks, fuel, lot):
    ways = {o.start: o.end for o in aircraft.overflows}
    starts = [tank for tank in tanks if tank.name in ways]
    if not starts:
        return None
    tank = lot.one_of(starts, "overflowing tank")
    right = ways[tank.name]
    known = [t.name for t in aircraft.tanks if t.name not in (tank.name, right)]
    wrong = lot.some_of([*known, *([] if right == OVERBOARD else [OVERBOARD])], 2, "wrong ways")
    chain, end = [right], right
    while end in ways and ways[end] not in chain:
        end = ways[end]
        chain.append(end)
    return TankQuestion(
        "runs-over", f"Where does {tank.name} run over to first?",
        lot.some_of((right, *wrong), 3, "ways in order"), right, 0.0,
        f"From {tank.name} fuel runs to {', then to '.join(chain)}.", "overflow",
    )  # fmt: skip


def _relief(aircraft, tanks, fuel, lot):
    """The same mass in one tank or another: where it takes most off the bending of the root."""
    try:
        wing = wing_of(aircraft)
    except BendingError:
        return None
    names = [*wing.middle, *wing.right]
    arms = {n: max(0.0, _outboard(aircraft.tank(n)) - wing.root) for n in names}
    right = max(arms, key=arms.get)
    if len(names) < 2 or list(arms.values()).count(arms[right]) > 1:
        return None
    told = "; ".join(
        f"{n} {1e-3 * 1000.0 * STANDARD_GRAVITY * arm:.1f} kN·m" for n, arm in arms.items()
    )
    text = "In which tank does a tonne of fuel take most off the bending of the wing's root?"
    return TankQuestion(
        "relief", text,
        lot.some_of(names, len(names), "arms in order"), right, 0.0,
        f"Weight times distance from the root, for a tonne: {told}.",
        "balance",
    )  # fmt: skip


def _outboard(tank):
    """How far the middle of a tank's volume lies from the middle of the aircraft. [m]"""
    corners = tank.solid
    edges = corners[:, 1:] - corners[:, :1]
    volumes = abs((edges[:, 0] * _cross(edges[:, 1], edges[:, 2])).sum(axis=1)) / 6.0
    middles = corners.mean(axis=1)
    return abs(float((volumes * middles[:, 1]).sum() / volumes.sum()))


def _cross(a, b):
    turned = [1, 2, 0], [2, 0, 1]
    return a[:, turned[0]] * b[:, turned[1]] - a[:, turned[1]] * b[:, turned[0]]


def _unusable(aircraft, tanks, fuel, lot):
    checks = {c.tank.name: c for c in tank_checks(aircraft) if c.opening}
    fed = [tank for tank in tanks if tank.name in checks and checks[tank.name].unusable > 1e-4]
    if not fed:
        return None
    tank = lot.one_of(fed, "unusable tank")
    check = checks[tank.name]
    text = f"Of the fuel in {tank.name}, how much counts as unusable?"
    value = check.unusable * fuel.density
    reason = (
        f"{_litres(check.unusable)} lie below {check.opening} in the least favourable attitude of "
        f"normal flight, times {fuel.density:.1f} kg/m³. In level flight it would be "
        f"{_litres(check.unusable_level)}."
    )
    question = _mass("unusable", text, value, reason, "unusable-and-expansion")
    return TankQuestion(**{**question.__dict__, "tolerance": max(1.0, round(0.05 * value))})


def tank_figures(aircraft, draw):
    """Return the figures that go with the questions of a number, as pairs of words."""
    fuel = tank_situation(aircraft, draw)
    yield "Density at 15 °C", f"{fuel.density_15:.0f} kg/m³"
    for temperature in (fuel.temperature, fuel.warmer):
        density = smooth_density(fuel.density_15, temperature)
        yield f"Density at {_celsius(temperature)}", f"{density:.1f} kg/m³"
    yield "Temperature of the fuel", _celsius(fuel.temperature)
    for check in tank_checks(aircraft):
        tank = check.tank
        if not tank.holds_fuel:
            continue
        yield f"{tank.name}: capacity", _litres(check.capacity)
        yield f"{tank.name}: runs over at", f"{_litres(tank.highest_volume)}"
        yield f"{tank.name}: refuelled to", f"{100 * tank.refuel_limit:.0f} % of its capacity"
        if check.opening:
            yield (
                f"{tank.name}: below its lowest opening, in the least favourable attitude",
                _litres(check.unusable),
            )
    order = ["; ".join(step) for step in aircraft.loading_order]
    yield "Order of filling, each step level", ", then ".join(order)


def _litres(volume):
    return f"{grouped(volume / LITRE)} litres"


def _celsius(temperature):
    return f"{temperature - ZERO_CELSIUS:.0f} °C"


def _capital(text):
    return text[:1].upper() + text[1:]
