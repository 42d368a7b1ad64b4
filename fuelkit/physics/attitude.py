"""Which way is up in an aircraft's axes. Knows angles and points, no tank and no aircraft.

Axes of an aircraft: x aft from the nose, y to the right, z up. Fuel settles along gravity as the
aircraft feels it, so in a balanced turn, where a hanging weight stays in the plane of symmetry,
the roll that counts is zero whatever the bank.
"""

import math


def up_direction(pitch=0.0, roll=0.0):
    """Return the direction of up in the axes of an aircraft that is pitched and rolled.

    Nose up turns it towards the nose, so that fuel runs aft; right wing down turns it towards
    the left, so that fuel runs to the right.

    Parameters
    ----------
    pitch : float
        Angle of the longitudinal axis above the horizon, positive nose up. [rad]
    roll : float
        Angle about the longitudinal axis, positive right wing down. [rad]

    Returns
    -------
    tuple of three floats
        Unit vector along x (aft), y (right) and z (up). [-]

    References
    ----------
    Third row of the rotation from earth to body axes in the order yaw, pitch, roll, as in any
    textbook of flight dynamics (from memory; checked against scipy's rotations in the tests).

    Examples
    --------
    >>> up_direction()
    (0.0, 0.0, 1.0)
    >>> [round(part, 4) for part in up_direction(pitch=math.radians(30.0))]
    [-0.5, 0.0, 0.866]
    """
    across = -math.sin(roll) * math.cos(pitch)
    return 0.0 - math.sin(pitch), 0.0 + across, math.cos(roll) * math.cos(pitch)


def height(point, up):
    """Return how high a point lies along up, from the origin of the axes.

    A point is wetted when its height is below the level of the fuel, both along the same up.

    Parameters
    ----------
    point : sequence of three floats
        Where it is. [m]
    up : sequence of three floats
        Direction of up, of length 1. [-]

    Returns
    -------
    float
        Height. [m]

    Examples
    --------
    >>> height((3.0, 1.0, 2.0), (0.0, 0.0, 1.0))
    2.0
    """
    return float(point[0] * up[0] + point[1] * up[1] + point[2] * up[2])


def surface_height(level, x, y, up):
    """Return the z at which a level surface crosses the vertical line of the aircraft at (x, y).

    Parameters
    ----------
    level : float
        Height of the surface along up. [m]
    x, y : float
        Where the line stands. [m]
    up : sequence of three floats
        Direction of up, of length 1. [-]

    Returns
    -------
    float
        z of the surface there. [m]

    Raises
    ------
    ValueError
        If the aircraft stands on edge or on its back: the third part of up is not positive.

    Examples
    --------
    With the nose up, the same surface is higher in the tank further aft:

    >>> up = up_direction(pitch=0.1)
    >>> round(surface_height(1.0, 3.0, 0.0, up) - surface_height(1.0, 2.0, 0.0, up), 6)
    0.100335
    """
    if not up[2] > 0.0:
        raise ValueError(
            f"attitude: up is {tuple(up)}; its third part must be above 0, or depths along the "
            "aircraft's z mean nothing. Give an attitude with pitch and roll below 90 degrees."
        )
    return (level - up[0] * x - up[1] * y) / up[2]
