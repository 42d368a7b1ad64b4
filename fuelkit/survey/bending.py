"""How fuel in the wings relieves their bending, and what the order of burning does to it.

Fuel alone, at rest, at 1 g, about the wing's root: the lift, the wing's own mass, engines and
gusts are left out, so this is a relief and no bending moment.
"""

from dataclasses import dataclass

import numpy as np

from fuelkit.flight.stance import tilted_moments
from fuelkit.physics.errors import FuelkitError
from fuelkit.physics.units import STANDARD_GRAVITY

LIMITS = (
    "Fuel alone, at rest, at 1 g: how the lift is spread, the mass of wing and engines, gusts and "
    "manoeuvres are left out. Not for any loading decision."
)
_GAP = 3.0  # m; tanks further apart along the aircraft are not of one wing
_SAME = 0.05  # m; tanks whose fuel lies as far out as this, one with the other, are burned together


class BendingError(FuelkitError, ValueError):
    """A relief was asked of what has no wing tanks, or of fuel that cannot be."""


@dataclass(frozen=True)
class Wing:
    """Which tanks load which wing. Frozen.

    root : float
        Distance of the wing's root from the middle. [m]
    left, right, middle : tuple of str
        Tanks of each wing that take fuel, outermost first, and those between the wings.
    """

    root: float
    left: tuple
    right: tuple
    middle: tuple


@dataclass(frozen=True)
class Relief:
    """Relief of the root bending moment over a flight, as flown and in another order. Frozen.

    times, total : ndarray
        [s], and fuel in wings and between them [kg].
    flown, reversed : ndarray, shape (n_times, 2)
        Relief of the left and the right wing [N·m]: as flown, and had the same fuel been burned
        out of the outermost tanks first and out of the middle last.
    """

    history: object
    wing: Wing
    times: np.ndarray
    total: np.ndarray
    flown: np.ndarray
    reversed: np.ndarray

    @property
    def largest(self):
        """Time [s], side (0 left, 1 right) and size [N·m] of the largest difference."""
        gap = self.flown - self.reversed
        i, side = np.unravel_index(np.argmax(gap), gap.shape)
        return float(self.times[i]), int(side), float(gap[i, side])


def wing_of(aircraft):
    """Return which tanks load which wing, and where the wing's root is.

    The root is the outermost point of the tanks between the wings, else the innermost point of
    the wings' tanks. Tanks far ahead or aft of the wing, such as in a tail, load no wing.

    Raises
    ------
    BendingError
        If no tank stands in a wing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> wing = wing_of(load_aircraft("halbrook-180"))
    >>> wing.root, wing.left, wing.middle
    (1.95, ('left outboard', 'left inboard'), ('centre',))
    """
    group = max(_groups(aircraft), key=lambda tanks: sum(t.levels.capacity for t in tanks))
    sides = {tank.name: side for tank, side in zip(aircraft.tanks, aircraft.sides, strict=True)}
    halves = {s: [t for t in group if sides[t.name] == s] for s in (-1.0, 0.0, 1.0)}
    if not halves[-1.0] or not halves[1.0]:
        raise BendingError(
            f"{aircraft.name}: tanks are {', '.join(t.name for t in group)}; a relief needs tanks "
            "on both sides of the middle. Give each wing a tank of its own."
        )
    spans = {s: [abs(rib.y) for t in halves[s] for rib in t.ribs] for s in halves}
    root = max(spans[0.0]) if halves[0.0] else min(spans[-1.0] + spans[1.0])
    order = {s: tuple(t.name for t in sorted(halves[s], key=_reach, reverse=True)) for s in halves}
    return Wing(float(root), order[-1.0], order[1.0], order[0.0])


def _groups(aircraft):
    """Tanks that take fuel, those near each other along the aircraft as one."""
    groups, end = [], 0.0
    tanks = [t for t in aircraft.tanks if t.holds_fuel]
    for tank in sorted(tanks, key=lambda t: _along(t)[0]):
        first, last = _along(tank)
        if groups and first - end <= _GAP:
            groups[-1].append(tank)
            end = max(end, last)
        else:
            groups.append([tank])
            end = last
    return groups


def _along(tank):
    along = [x for rib in tank.ribs for x in (rib.front[0], rib.rear[0])]
    return min(along), max(along)


def _reach(tank):
    """How far out the fuel of a full tank lies. [m]"""
    return abs(tilted_moments(tank, 0.0, 0.0).centroid_of(tank.levels.capacity)[1])


def moment_about(root, loads):
    """Return the moment of point loads about a wing's root [N·m], each (mass [kg], distance [m]).

    What lies inboard of the root relieves nothing.

    Examples
    --------
    1 000 kg at 5 m, the root at 2 m: 1 000 kg · 9.80665 m/s² · 3 m.

    >>> round(moment_about(2.0, [(1000.0, 5.0), (400.0, 1.0)]), 3)
    29419.95
    """
    arms = [(mass, max(0.0, abs(y) - root)) for mass, y in loads]
    return STANDARD_GRAVITY * sum(mass * arm for mass, arm in arms)


def relief(aircraft, masses, densities, *, pitch=0.0, roll=0.0):
    """Return the relief of the root bending moment of the left and the right wing. [N·m]

    Parameters
    ----------
    aircraft : Aircraft
    masses : dict of str to float
        Fuel by tank; a tank that is not named is empty. [kg]
    densities : dict of str to float, or float
        Density of the fuel in each tank, or in all of them. [kg/m³]
    pitch, roll : float
        [rad]

    Raises
    ------
    BendingError
        If a tank is not known, a mass is below 0 or a density is not above 0.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> halbrook = load_aircraft("halbrook-180")
    >>> left, right = relief(halbrook, {"left outboard": 800.0, "right inboard": 800.0}, 800.0)
    >>> left > right > 0.0, relief(halbrook, {"centre": 5000.0}, 800.0)
    (True, (0.0, 0.0))
    """
    wing = wing_of(aircraft)
    known = {tank.name for tank in aircraft.tanks}
    for name, mass in masses.items():
        if name not in known or not 0.0 <= mass < np.inf:
            raise BendingError(
                f"bending: mass in '{name}' is {mass} kg; it must be 0 or more, in a tank of "
                f"{aircraft.name}. Correct it."
            )
    of = densities if isinstance(densities, dict) else dict.fromkeys(known, densities)
    found = []
    for side in (wing.left, wing.right):
        loads = []
        for name in side:
            if (mass := masses.get(name, 0.0)) > 0.0:
                loads.append((mass, _out(aircraft.tank(name), mass, of[name], pitch, roll)))
        found.append(moment_about(wing.root, loads))
    return tuple(found)


def _out(tank, mass, density, pitch, roll):
    """How far right of the middle the fuel in a tank lies. [m]"""
    if not density > 0.0:
        raise BendingError(f"bending: density is {density} kg/m³; it must be above 0. Correct it.")
    return tilted_moments(tank, pitch, roll).centroid_of(mass / density)[1]


def burned_in_order(masses, steps, burned):
    """Return what is left of masses [kg] when some fuel is burned out of tanks, step after step.

    Parameters
    ----------
    masses : dict of str to float
    steps : sequence of sequence of str
        Tanks of one step are burned together, in proportion to what they hold.
    burned : float
        [kg]

    Examples
    --------
    >>> burned_in_order({"tip": 100.0, "root": 300.0}, [["tip"], ["root"]], 150.0)
    {'tip': 0.0, 'root': 250.0}
    """
    left, wanted = dict(masses), burned
    for step in steps:
        held = sum(left[name] for name in step)
        taken = min(held, wanted)
        for name in step:
            left[name] *= 1.0 - taken / held if held > taken else 0.0
        wanted -= taken
    return left


def outermost_first(aircraft):
    """Return the tanks of wings and middle in steps, the outermost first, the middle last."""
    wing = wing_of(aircraft)
    names = sorted((*wing.left, *wing.right), key=lambda n: -_reach(aircraft.tank(n)))
    steps = []
    for name in names:
        reach = _reach(aircraft.tank(name))
        if steps and abs(reach - _reach(aircraft.tank(steps[-1][0]))) < _SAME:
            steps[-1].append(name)
        else:
            steps.append([name])
    return [*steps, list(wing.middle)] if wing.middle else steps


def relief_over(history, *, samples=61):
    """Return the relief over a flight, from its greatest load until refuelling or its end.

    Parameters
    ----------
    history : History
    samples : int
        How many moments, evenly apart; 2 or more.

    Returns
    -------
    Relief

    Raises
    ------
    BendingError
        If the aircraft has no wing tanks, or there are fewer than two moments.

    Notes
    -----
    The other order is an accounting, no flight: at every moment the same fuel is left in wings
    and middle altogether, each tank at the density that it has then, and burned down to nothing,
    unusable fuel too. Tanks elsewhere, such as in a tail, stay as they were flown.
    """
    if samples < 2:
        raise BendingError(f"bending: samples is {samples}; it must be 2 or more. Ask for more.")
    aircraft = history.aircraft
    wing, steps = wing_of(aircraft), outermost_first(aircraft)
    names = (*wing.left, *wing.right, *wing.middle)
    times = _burning(history, samples)
    start = _masses(history, names, times[0])
    rows = []
    for time in times:
        held, stance = _masses(history, names, time), history.stance(time)
        law = history.hydraulics.fuel
        density = {n: float(law.density(history.temperature(n, time))) for n in names}
        burned = max(0.0, sum(start.values()) - sum(held.values()))
        other = burned_in_order(start, steps, burned)
        tilt = {"pitch": stance.pitch, "roll": stance.roll}
        fitted = _fitted(aircraft, other, density)
        both = [relief(aircraft, masses, density, **tilt) for masses in (held, fitted)]
        rows.append((sum(held.values()), *both))
    total, flown, reversed_ = zip(*rows, strict=True)
    return Relief(history, wing, times, *(np.array(x) for x in (total, flown, reversed_)))


def _fitted(aircraft, masses, density):
    """No more than what each tank holds: fuel that was loaded cold swells."""
    return {n: min(m, aircraft.tank(n).levels.capacity * density[n]) for n, m in masses.items()}


def _masses(history, names, time):
    return {name: max(0.0, history.quantity(name, float(time))) for name in names}


def _burning(history, samples):
    """Moments from when the aircraft is loaded until it is refuelled, or to the end. [s]"""
    times = np.linspace(0.0, history.sector.end, 400)
    rises = np.flatnonzero(np.diff([history.total(float(t)) for t in times]) > 1.0)
    airborne = [p.start for p in history.sector.phases if p.mach > 0.0]
    off = airborne[0] if airborne else 0.0
    before, after = rises[times[rises] < off], rises[times[rises] >= off]
    first = times[before[-1] + 1] if len(before) else 0.0
    last = times[after[0]] if len(after) else history.sector.end
    return np.linspace(first, last, samples)
