"""Fuel from a stick under the tank, at any attitude. Knows a solid's levels, no aircraft.

Two kinds are known. Both find the surface of the fuel at one place of the tank and are read
where they pass through its lower skin.
"""

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from fuelkit.physics.attitude import height, surface_height

_LAST_DIGIT = 1e-9
"""A full scale that is written down and read again may lie so far beyond itself."""


class StickKind(Enum):
    """How a stick finds the surface, and so where its scale begins.

    MAGNETIC : a float rides on the surface around a closed tube. The rod inside, once let down,
        hangs from it by magnets. Its scale gives the depth of fuel: 0 is a float at the base.
    DRIP : an open tube is pulled down until fuel just drips from it: its top is then at the
        surface. Its scale gives how far it was pulled: 0 is fuel up to the top.
    """

    MAGNETIC = "magnetic level indicator"
    DRIP = "drip stick"


CAUTIONS = {
    StickKind.MAGNETIC: "Let the rod down by hand and do not let it drop. Stow and lock it after.",
    StickKind.DRIP: (
        "Fuel runs out and may run onto the hand: wear gloves and eye protection, keep sources "
        "of ignition away, catch the fuel, push the stick home and check that it does not leak."
    ),
}
"""What to mind with each kind: common practice, no source. Local rules prevail."""


class StickState(Enum):
    """Whether a stick finds the surface of the fuel."""

    DRY = "the surface is below the stick: the tank holds at most what its lowest reading means"
    READS = "the stick finds the surface"
    COVERED = "the surface is above the stick: the tank holds at least what its top means"


@dataclass(frozen=True)
class Stick:
    """One stick. Frozen.

    x, y : float
        Where it stands in the aircraft's axes. [m]
    base, top : float
        z of the lowest and the highest surface that it can find. [m]
    kind : StickKind
        How it finds the surface.
    unit : float
        Length of one unit of its scale; 1 if the scale is in metres. [m]
    """

    x: float
    y: float
    base: float
    top: float
    kind: StickKind = StickKind.MAGNETIC
    unit: float = 1.0

    def __post_init__(self):
        if not all(map(isfinite, (self.x, self.y, self.base, self.top))):
            raise ValueError(
                f"stick: x, y, base, top are {self.x}, {self.y}, {self.base}, {self.top}; each "
                "must be a number of metres. Correct them."
            )
        if not self.top > self.base:
            raise ValueError(
                f"stick: top is {self.top} m; it must be above the base, {self.base} m. "
                "Correct one of them."
            )
        if not (isfinite(self.unit) and self.unit > 0.0):
            raise ValueError(
                f"stick: unit is {self.unit} m; it must be a length above 0. Correct it."
            )
        if not isinstance(self.kind, StickKind):
            kinds = " or ".join(str(kind) for kind in StickKind)
            raise ValueError(f"stick: kind is {self.kind!r}; it must be {kinds}. Correct it.")

    @property
    def full_scale(self):
        """Greatest reading, in units of its scale [-]."""
        return (self.top - self.base) / self.unit


def readable_volumes(stick, table):
    """Return the least and the greatest volume that a stick can tell, at one attitude.

    A dry stick means at most the first, a covered one at least the second.

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.

    Returns
    -------
    tuple of two floats
        Volumes with the surface at the base and at the top of the stick. [m³]

    Examples
    --------
    >>> from fuelkit.physics.solid import bay, level_table
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> [round(v, 9) for v in readable_volumes(Stick(0.5, 1.0, 0.05, 0.95), table)]
    [0.1, 1.9]
    """
    return _volume_at(stick, table, stick.base), _volume_at(stick, table, stick.top)


def stick_state(stick, table, volume):
    """Return whether a stick is dry, reads or is covered at a volume of fuel [m³].

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.
    volume : float
        Fuel in the tank. [m³]

    Returns
    -------
    StickState

    Examples
    --------
    See `stick_reading`.
    """
    return _state(stick, _surface(stick, table, volume))


def stick_reading(stick, table, volume):
    """Return what a stick reads at a volume of fuel.

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.
    volume : float
        Fuel in the tank. [m³]

    Returns
    -------
    float or None
        Reading in units of the stick's scale, None if it finds no surface. [-]

    Notes
    -----
    The surface is a plane across up; the fuel is at rest.

    Examples
    --------
    Depth in centimetres from the base of a magnetic level indicator, and how far a drip stick at
    the same place is pulled:

    >>> from fuelkit.physics.solid import bay, level_table
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> magnetic = Stick(0.5, 1.0, base=0.05, top=0.95, unit=0.01)
    >>> drip = Stick(0.5, 1.0, base=0.05, top=0.95, unit=0.01, kind=StickKind.DRIP)
    >>> round(stick_reading(magnetic, table, 0.5), 9), round(stick_reading(drip, table, 0.5), 9)
    (20.0, 70.0)
    >>> print(stick_reading(magnetic, table, 0.02), stick_state(magnetic, table, 0.02).name)
    None DRY
    """
    surface = _surface(stick, table, volume)
    if _state(stick, surface) is not StickState.READS:
        return None
    from_end = surface - stick.base if stick.kind is StickKind.MAGNETIC else stick.top - surface
    return from_end / stick.unit


def volume_of_reading(stick, table, reading):
    """Return the volume of fuel at which a stick reads `reading`.

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.
    reading : float
        In units of the stick's scale, from 0 to its full scale. [-]

    Returns
    -------
    float
        Fuel in the tank. [m³]

    Raises
    ------
    ValueError
        If the reading is not on the scale.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay, level_table
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> round(volume_of_reading(Stick(0.5, 1.0, 0.05, 0.95, unit=0.01), table, 20.0), 9)
    0.5
    """
    return _volume_at(stick, table, _surface_of(stick, reading))


def mass_of_reading(stick, table, reading, density):
    """Return the mass of fuel at which a stick reads `reading`.

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.
    reading : float
        In units of the stick's scale, from 0 to its full scale. [-]
    density : float
        Density of the fuel at its temperature in the tank. [kg/m³]

    Returns
    -------
    float
        Fuel in the tank. [kg]

    Raises
    ------
    ValueError
        If the reading is not on the scale or the density is not above 0.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay, level_table
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> round(mass_of_reading(Stick(0.5, 1.0, 0.05, 0.95, unit=0.01), table, 20.0, 800.0), 6)
    400.0
    """
    _check_density(density)
    return volume_of_reading(stick, table, reading) * density


def mass_resolution(stick, table, reading, density, *, resolution=1.0):
    """Return the mass that one step of a stick's reading stands for.

    It is the free surface, seen along the stick, times the step, times the density: a stick in a
    wide shallow tank tells less than one in a narrow deep tank.

    Parameters
    ----------
    stick : Stick
        The stick.
    table : LevelTable
        Levels of the tank along up at this attitude.
    reading : float
        In units of the stick's scale, from 0 to its full scale. [-]
    density : float
        Density of the fuel at its temperature in the tank. [kg/m³]
    resolution : float
        Least difference that can be read, in units of the stick's scale. [-]

    Returns
    -------
    float
        Mass per step of reading. [kg]

    Raises
    ------
    ValueError
        If the reading is not on the scale or the density is not above 0.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay, level_table
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> table = level_table(bay(rib, [[x, 2, z] for x, _, z in rib]))
    >>> round(mass_resolution(Stick(0.5, 1.0, 0.05, 0.95, unit=0.01), table, 20.0, 800.0), 6)
    16.0
    """
    _check_density(density)
    level = _level(stick, table, _surface_of(stick, reading))
    # A step along the stick raises the level, which is measured along up, by a little less.
    return table.area_at(level) * table.up[2] * stick.unit * resolution * density


def _surface(stick, table, volume):
    """Height of the fuel's surface at the stick, along the aircraft's z."""
    return surface_height(table.level_of(volume), stick.x, stick.y, table.up)


def _state(stick, surface):
    if surface < stick.base:
        return StickState.DRY
    return StickState.COVERED if surface > stick.top else StickState.READS


def _surface_of(stick, reading):
    """Height of the surface that a reading stands for, along the aircraft's z."""
    if not -_LAST_DIGIT <= reading <= stick.full_scale + _LAST_DIGIT:
        raise ValueError(
            f"stick: reading is {reading}; the scale goes from 0 to {stick.full_scale:g}. "
            "Correct the reading, or use the volumes between which the stick can be read."
        )
    length = reading * stick.unit
    return stick.base + length if stick.kind is StickKind.MAGNETIC else stick.top - length


def _level(stick, table, surface):
    """Level along up of a surface that crosses the stick at z `surface`."""
    return height((stick.x, stick.y, surface), table.up)


def _volume_at(stick, table, surface):
    return table.volume_below(_level(stick, table, surface))


def _check_density(density):
    if not (isfinite(density) and density > 0.0):
        raise ValueError(
            f"stick: density is {density} kg/m³; it must be above 0. Give the density at the "
            "temperature of the fuel."
        )
