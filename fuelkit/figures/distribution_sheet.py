"""Distribution and balance: a block fuel shared over the tanks, and what that does to balance."""

from functools import partial

from fuelkit.aircraft.loading import LoadError, distribution
from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import first_fair, rounded, scale_of, with_telling_slips
from fuelkit.figures.inputs import COMMON_PRACTICE, TRAINING_AID, fuel_density, number
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.moments import moment_table
from fuelkit.physics.units import LITRE

WITHIN, MOVE = "within the limit", "beyond the limit"


def distribution_sheet(aircraft, block, dense, gauges, *, imbalance_limit):
    """Return the sheet that shares a block fuel over the tanks and looks at the balance.

    Parameters
    ----------
    aircraft : Aircraft
    block : float
        Fuel to be on board, no more than the tanks take. [kg]
    dense : float
        Density of the fuel at its temperature. [kg/m³]
    gauges : dict of str to float
        What each tank of the loading order shows after refuelling. [kg]
    imbalance_limit : float
        Largest difference of the two sides, given for the exercise. [kg]

    Raises
    ------
    FigureError
        If an input is absurd, the fuel does not fit, or a gauge is missing or unknown.
    """
    number("block", block, "kg", above=0.0, high=1e6)
    fuel_density("dense", dense)
    number("imbalance_limit", imbalance_limit, "kg", above=0.0, high=1e5)
    _check_gauges(aircraft, gauges)
    try:
        planned = distribution(aircraft, block, dense)
    except LoadError as problem:
        raise FigureError(str(problem)) from None
    groups = _groups(aircraft)
    givens = [
        Given("block", "Fuel to be on board", block, "kg"),
        Given("density", "Density at its temperature", dense, "kg/l"),
        *_volume_givens(aircraft, groups), *_gauge_givens(aircraft, gauges),
        Given("limit", "Largest difference of the sides", imbalance_limit, "kg",
              "for this exercise; the approved manual's limit counts"),
    ]  # fmt: skip
    steps = [*_group_steps(aircraft, groups, planned), *_side_steps(aircraft)]
    if aircraft.masses is not None:
        more, work = _gravity_part(aircraft, gauges, dense)
        givens += more
        steps += work
    sheet = Sheet(
        name="distribution",
        title="Distribution and balance",
        lead="The tanks are filled in the order that the aircraft's file gives, each group level "
        "before the next begins. Then the gauges are read.",
        givens=tuple(givens),
        steps=tuple(steps),
        cautions=(
            TRAINING_AID,
            "A load is not moved between tanks on the ground or in the air but by the approved "
            "procedure.",
        ),
        sources=(
            f"Wings before centre, since fuel in a wing relieves its bending: {COMMON_PRACTICE}",
            "Order of filling: the aircraft's own file",
        ),
        objectives=("balance", "refuelling"),
    )
    return with_telling_slips(sheet)


def _check_gauges(aircraft, gauges):
    names = _tanks(aircraft)
    for name in names:
        if name not in gauges:
            raise FigureError(f"gauges: {name} is missing; give one figure for each tank.")
        number(f"gauge of {name}", gauges[name], "kg", low=0.0, high=1e6)
    unknown = next((name for name in gauges if name not in names), None)
    if unknown is not None:
        raise FigureError(f"gauges: '{unknown}' is no tank; they are {', '.join(names)}.")


def _tanks(aircraft):
    return tuple(name for group in aircraft.loading_order for name in group)


def _groups(aircraft):
    """Tanks that are filled together, with the volume that each is refuelled to, to the litre."""
    return tuple(
        {name: rounded(aircraft.tank(name).refuelled_volume, LITRE) for name in group}
        for group in aircraft.loading_order
    )


def _volume_givens(aircraft, groups):
    return tuple(
        Given(f"volume of {name}", f"{aircraft.tank(name).title} is refuelled to", volume, "l",
              f"filled {'first' if at == 0 else f'after group {at}'}")
        for at, group in enumerate(groups)
        for name, volume in group.items()
    )  # fmt: skip


def _gauge_givens(aircraft, gauges):
    return tuple(
        Given(f"gauge of {name}", f"{aircraft.tank(name).title} shows", gauges[name], "kg")
        for name in _tanks(aircraft)
    )


def _group_steps(aircraft, groups, planned):
    """For each group that gets fuel what it takes, and what each kind of its tanks gets."""
    steps, before = [], []
    for number_of, group in enumerate(groups, start=1):
        whole = f"group {number_of}"
        asked = any(planned[name] > 0.0 for name in group)
        steps.append(_group_step(whole, group, tuple(before), asked))
        before.append(whole)
        steps += [_tank_step(aircraft, name, group, whole, planned[name] > 0.0) for name in group]
    return steps


def _group_step(whole, group, before, asked):
    names = tuple(f"volume of {name}" for name in group)
    left = " less what the groups before it took" if before else ""

    def work(block, dense, *values):
        volumes, taken = values[: len(names)], values[len(names) :]
        return min(max(block - sum(taken), 0.0), sum(volumes) * dense)

    def inverted(block, dense, *values):
        volumes, taken = values[: len(names)], values[len(names) :]
        return min(max(block - sum(taken), 0.0), sum(volumes) / LITRE / (dense * LITRE))

    return Step(
        whole, f"To {', '.join(group)} together", ("block", "density", *names, *before),
        f"the block fuel{left}, but no more than their litres × density", "kg", work,
        tolerance=10.0, relative=0.002, source="order of filling in the aircraft's file",
        marks=1.0 if asked else 0.0,
        slips=(Slip("density inverted", "What the tanks take was divided by the density.",
                    inverted),),
    )  # fmt: skip


def _tank_step(aircraft, name, group, whole, asked):
    names = tuple(f"volume of {other}" for other in group)
    own = list(group).index(name)

    def work(mass, *volumes):
        return mass * volumes[own] / sum(volumes)

    def shared_alike(mass, *volumes):
        return mass / len(volumes)

    return Step(
        f"to {name}", f"To the {aircraft.tank(name).title.lower()}", (whole, *names),
        "its part of the group, as its litres are of the group's litres", "kg", work,
        tolerance=8.0, relative=0.002, marks=1.0 if asked else 0.0,
        slips=(Slip("shared alike", "The group was shared alike, whatever its tanks hold.",
                    shared_alike),),
    )  # fmt: skip


def _side_steps(aircraft):
    """Sum of the gauges, and right less left."""
    names = _tanks(aircraft)
    side = {tank.name: side for tank, side in zip(aircraft.tanks, aircraft.sides, strict=True)}
    lateral = tuple(name for name in names if side[name])
    signs = tuple(float(side[name]) for name in lateral)

    def imbalance(*masses):
        return sum(sign * mass for sign, mass in zip(signs, masses, strict=True))

    return (
        Step(
            "shown", "On board by the gauges", tuple(f"gauge of {name}" for name in names),
            "sum of the gauges", "kg", lambda *masses: sum(masses), tolerance=1.0,
        ),
        Step(
            "short", "By the gauges less block fuel", ("shown", "block"), "gauges - block fuel",
            "kg", lambda shown, block: shown - block, tolerance=2.0,
        ),
        Step(
            "imbalance", "Right side less left side", tuple(f"gauge of {name}" for name in lateral),
            "tanks on the right - tanks on the left; a tank in the middle counts for neither",
            "kg", imbalance, tolerance=1.0,
            slips=(Slip("left less right", "The sides were exchanged.",
                        lambda *masses: -imbalance(*masses)),),
        ),
        Step(
            "decision", "Is the difference of the sides within the limit?", ("imbalance", "limit"),
            "within if the difference, to either side, is not larger than the limit", "",
            lambda off, limit: WITHIN if abs(off) <= limit else MOVE, options=(WITHIN, MOVE),
            source="limit given for the exercise",
        ),
    )  # fmt: skip


def _gravity_part(aircraft, gauges, dense):
    """Givens and steps of the centre of gravity, for an aircraft that has masses."""
    masses, names = aircraft.masses, _tanks(aircraft)
    arms = {name: _arm(aircraft.tank(name), gauges[name] / dense) for name in names}
    givens = (
        Given("zero-fuel mass", "Zero-fuel mass", masses.zero_fuel, "kg"),
        Given("zero-fuel place", "Its centre of gravity, aft of the nose", masses.zero_fuel_x, "m"),
        *(Given(f"place of {name}", f"Fuel in the {aircraft.tank(name).title.lower()}", arms[name],
                "m", "its centre, aft of the nose") for name in names),
        Given("chord start", "Leading edge of the mean aerodynamic chord", masses.chord_start, "m"),
        Given("chord", "Length of the mean aerodynamic chord", masses.chord, "m"),
    )  # fmt: skip
    inputs = ("zero-fuel mass", "zero-fuel place", *(f"gauge of {name}" for name in names),
              *(f"place of {name}" for name in names))  # fmt: skip
    count = len(names)

    def place(zero, at, *values):
        moment = sum(m * x for m, x in zip(values[:count], values[count:], strict=True))
        return (zero * at + moment) / (zero + sum(values[:count]))

    steps = (
        Step(
            "place", "Centre of gravity, aft of the nose", inputs,
            "sum of mass × place of every part ÷ sum of all masses", "m", place, tolerance=0.02,
            source="balance of moments (definition)", marks=2.0,
        ),
        Step(
            "percent", "Centre of gravity, of the mean aerodynamic chord",
            ("place", "chord start", "chord"), "(place - leading edge) ÷ chord", "%",
            lambda at, start, chord: (at - start) / chord, tolerance=0.5, source="definition",
            slips=(Slip("from the nose", "The leading edge was not taken off.",
                        lambda at, _, chord: at / chord),),
        ),
    )  # fmt: skip
    return givens, steps


def _arm(tank, volume):
    """Place of a tank's fuel along the aircraft, level, to the centimetre. [m]"""
    return rounded(float(moment_table(tank.solid).centroid_of(volume)[0]), 0.01)


# --------------------------------------------------------------------------------------- drawing
def without_sides(aircraft):
    """Return a sentence if an aircraft has no tanks on both sides to balance, or nothing.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> without_sides(load_aircraft("halbrook-180"))
    ''
    """
    loaded = set(_tanks(aircraft))
    sides = {side for tank, side in zip(aircraft.tanks, aircraft.sides, strict=True)
             if tank.name in loaded}  # fmt: skip
    if {-1.0, 1.0} <= sides:
        return ""
    return f"{aircraft.name}: it has no tanks on both sides, so there is nothing to balance."


def draw_distribution(aircraft, draw):
    """Return a sheet of distribution and balance that follows from a number.

    Raises
    ------
    FigureError
        If the aircraft has no tanks on both sides.
    """
    if sentence := without_sides(aircraft):
        raise FigureError(sentence)
    return first_fair(partial(_drawn, aircraft), "distribution", aircraft.identifier, draw)


def _drawn(aircraft, lot):
    scale = scale_of(aircraft)
    dense = rounded(lot.between(780.0, 830.0, "density"), 0.1)
    block = lot.between(0.3, 0.92, "block") * scale.full
    block = rounded(block, 10.0 * scale.grain)
    planned = distribution(aircraft, block, dense)
    sides = dict(zip((tank.name for tank in aircraft.tanks), aircraft.sides, strict=True))
    limit = rounded(0.015 * scale.full, 2.0 * scale.grain)
    right = sum(mass for name, mass in planned.items() if sides[name] > 0.0)
    if not right > limit:
        return None
    off = lot.one_of(((0.2, 0.8), (1.2, 2.2)), "within or beyond")
    side = lot.one_of((-1.0, 1.0), "side") * lot.between(*off, "off") * limit / right
    gauges = {
        name: rounded(planned[name] * (1.0 + _play(lot, name, side * sides[name])),
                      scale.grain)
        for name in _tanks(aircraft)
    }  # fmt: skip
    return distribution_sheet(aircraft, block, dense, gauges, imbalance_limit=limit)


def _play(lot, name, toward):
    """Share by which a tank departs from what it should have got: one side gets more."""
    return 0.5 * toward + lot.between(-0.004, 0.004, f"play of {name}")
