"""What an aircraft burns and how fast it flies, and the masses it may have. Both are optional.

Records and their reading; figures are looked up in `fuelkit.figures.performance`.
"""

from dataclasses import dataclass

from fuelkit.aircraft.reading import is_number
from fuelkit.physics.atmosphere import air
from fuelkit.physics.units import FOOT, HOUR, MINUTE, NAUTICAL_MILE

_KNOT = NAUTICAL_MILE / HOUR
_PER_HOUR = 1.0 / HOUR
ENGINES = ("turbofan", "turboprop")


@dataclass(frozen=True)
class MassLimits:
    """Masses that an aircraft may have. Frozen. [kg]

    dry_operating : float
        Ready to fly without payload and usable fuel; unusable fuel is part of it.
    zero_fuel, take_off, landing : float
        Greatest structural masses.
    least_fuel : float
        Least fuel on board at the beginning of take-off.
    unusable : float
        Fuel that the tanks hold and no engine can draw.
    """

    dry_operating: float
    zero_fuel: float
    take_off: float
    landing: float
    least_fuel: float
    unusable: float


@dataclass(frozen=True)
class Performance:
    """Tables of time, distance and fuel. Frozen; all of SI, all engines together.

    masses, levels, deviations : tuple of float
        Axes: mass [kg], pressure altitude [m], warmer than the standard atmosphere [K].
    mach : tuple of float
        In cruise, by level. [-]
    ceilings : tuple of float
        Highest level of cruise, by mass. [m]
    taxi : float
        Fuel flow while taxiing, APU included. [kg/s]
    approach_time, approach_distance, approach_fuel : float
        From the end of the descent to the end of the landing run. [s], [m], [kg]
    holding : tuple of float
        Fuel flow at holding speed at 1 500 ft in standard conditions, by mass. [kg/s]
    descent_time, descent_distance, descent_fuel : tuple of float
        From a level to the approach. [s], [m], [kg]
    climb_time, climb_distance, climb_fuel : tuple of tuple of float
        From the start of take-off to a level, in standard air: rows by level, columns by mass.
    climb_warm : float
        How much longer, farther and dearer a climb is for each kelvin above standard. [1/K]
    cruise : tuple of tuple of tuple of float
        Fuel flow in cruise by deviation, level, mass. [kg/s]
    engines : str
        "turbofan" or "turboprop": some rules are for one kind only.
    """

    source: str
    masses: tuple
    levels: tuple
    deviations: tuple
    mach: tuple
    ceilings: tuple
    taxi: float
    approach_time: float
    approach_distance: float
    approach_fuel: float
    holding: tuple
    descent_time: tuple
    descent_distance: tuple
    descent_fuel: tuple
    climb_time: tuple
    climb_distance: tuple
    climb_fuel: tuple
    climb_warm: float
    cruise: tuple
    engines: str = ENGINES[0]


def mass_limits(section):
    """Return the masses that the aircraft may have, or None where the file does not say."""
    if "mass_limits" not in section:
        return None
    table = section.table("mass_limits")
    found = MassLimits(
        dry_operating=table.number("dry_operating_kg", above=0),
        zero_fuel=table.number("max_zero_fuel_kg", above=0),
        take_off=table.number("max_take_off_kg", above=0),
        landing=table.number("max_landing_kg", above=0),
        least_fuel=table.number("least_take_off_fuel_kg", low=0),
        unusable=table.number("unusable_kg", 0.0, low=0),
    )
    ladder = (
        ("max_zero_fuel_kg", found.dry_operating, found.zero_fuel, "dry_operating_kg"),
        ("max_landing_kg", found.zero_fuel, found.landing, "max_zero_fuel_kg"),
        ("max_take_off_kg", found.landing, found.take_off, "max_landing_kg"),
    )
    for field, low, value, below in ladder:
        if value < low:
            table.fault(field, value, f"it must be at least {below}, {low:g}")
    table.finish()
    return found


def performance(section, limits):
    """Return the tables of performance, or None where the file does not give them.

    Parameters
    ----------
    section : Table
        The whole file.
    limits : MassLimits or None
        The tables must cover every mass that these allow.
    """
    if "performance" not in section:
        return None
    if limits is None:
        section.fault_here("has a section [performance]; it needs a section [mass_limits] as well")
    table = section.table("performance")
    masses = _axis(table, "masses_kg", 1.0, low=1e-9)
    levels = _axis(table, "levels_ft", FOOT, low=0.0, high=60_000)
    deviations = _axis(table, "deviations_k", 1.0, low=-60.0, high=60.0)
    _check_cover(table, masses, deviations, limits)
    by_level, by_mass, by_both = (len(levels),), (len(masses),), (len(levels), len(masses))
    found = Performance(
        source=table.text("source"),
        masses=masses,
        levels=levels,
        deviations=deviations,
        mach=_mach(table, levels),
        ceilings=_array(table, "ceiling_ft", by_mass, FOOT, shrinks=True),
        taxi=table.number("taxi_kg_h", above=0) / HOUR,
        approach_time=table.number("approach_min", above=0) * MINUTE,
        approach_distance=table.number("approach_nm", 0.0, low=0) * NAUTICAL_MILE,
        approach_fuel=table.number("approach_kg", above=0),
        holding=_array(table, "holding_kg_h", by_mass, _PER_HOUR, grows=True),
        descent_time=_array(table, "descent_min", by_level, MINUTE, grows=True),
        descent_distance=_array(table, "descent_nm", by_level, NAUTICAL_MILE, grows=True),
        descent_fuel=_array(table, "descent_kg", by_level, 1.0, grows=True),
        climb_time=_array(table, "climb_min", by_both, MINUTE, grows=True),
        climb_distance=_array(table, "climb_nm", by_both, NAUTICAL_MILE, grows=True),
        climb_fuel=_array(table, "climb_kg", by_both, 1.0, grows=True),
        climb_warm=table.number("climb_warm_percent_per_k", 0.0, low=0, high=5) / 100.0,
        cruise=_array(table, "cruise_kg_h", (len(deviations), *by_both), _PER_HOUR, grows=True),
        engines=table.choice("engines", ENGINES, ENGINES[0]),
    )
    table.finish()
    return found


def _axis(table, field, factor, *, low, high=float("inf")):
    """A list of at least two rising numbers."""
    rule = f"it must be a list of two or more rising numbers, each at least {low:g}"
    rule += f" and at most {high:g}" if high < float("inf") else ""
    numbers = table.raw(field, list, rule)
    sound = len(numbers) >= 2 and all(map(is_number, numbers))
    sound = sound and all(a < b for a, b in zip(numbers, numbers[1:], strict=False))
    if sound and low <= numbers[0] and numbers[-1] <= high:
        return tuple(factor * float(n) for n in numbers)
    if field in table and isinstance(numbers, list):
        table.fault(field, numbers, rule)
    return (factor, 2.0 * factor)


def _array(table, field, shape, factor, *, grows=False, shrinks=False):
    """Numbers above 0 in lists of a shape; the innermost is by mass or, for descent, by level."""
    words = " lists of ".join(str(n) for n in shape)
    rule = f"it must be a list of {words} numbers above 0"
    value = table.raw(field, list, rule)
    if not _has_shape(value, shape):
        if field in table:
            table.fault(field, value, rule)
        return _filled(shape, factor)
    rows = list(_rows(value, len(shape)))
    for row in rows:
        pairs = list(zip(row, row[1:], strict=False))
        if grows and any(b < a for a, b in pairs):
            table.fault(field, row, "each number must be at least the one before it")
            return _filled(shape, factor)
        if shrinks and any(b > a for a, b in pairs):
            table.fault(field, row, "each number must be at most the one before it")
            return _filled(shape, factor)
    return _scaled(value, factor)


def _has_shape(value, shape):
    if not shape:
        return is_number(value) and value > 0
    return (
        isinstance(value, list)
        and len(value) == shape[0]
        and all(_has_shape(inner, shape[1:]) for inner in value)
    )


def _rows(value, depth):
    if depth == 1:
        yield value
    else:
        for inner in value:
            yield from _rows(inner, depth - 1)


def _scaled(value, factor):
    if isinstance(value, list):
        return tuple(_scaled(inner, factor) for inner in value)
    return factor * float(value)


def _filled(shape, factor):
    return (factor if len(shape) == 1 else _filled(shape[1:], factor),) * shape[0]


def _mach(table, levels):
    """Mach by level; a file may give true airspeed instead, in standard air."""
    count = (len(levels),)
    if "true_airspeed_kt" not in table:
        found = _array(table, "mach", count, 1.0)
        if max(found) >= 1.0:
            table.fault("mach", list(found), "each must be below 1")
        return found
    if "mach" in table:
        table.fault_here("gives both mach and true_airspeed_kt; give one of them")
    speeds = _array(table, "true_airspeed_kt", count, _KNOT)
    found = tuple(v / air(z).speed_of_sound for v, z in zip(speeds, levels, strict=True))
    if max(found) >= 1.0:
        table.fault("true_airspeed_kt", [v / _KNOT for v in speeds], "each must be below Mach 1")
    return found


def _check_cover(table, masses, deviations, limits):
    if not deviations[0] <= 0.0 <= deviations[-1]:
        table.fault(
            "deviations_k", list(deviations), "they must reach from 0 or below to 0 or above"
        )
    if limits is None:
        return
    if masses[0] > limits.dry_operating or masses[-1] < limits.take_off:
        rule = f"they must reach from dry_operating_kg, {limits.dry_operating:g}, or below to "
        table.fault(
            "masses_kg", list(masses), f"{rule}max_take_off_kg, {limits.take_off:g}, or above"
        )
