"""Where the weight of the fuel lies: centre of gravity, and one wing against the other."""

from dataclasses import dataclass

from fuelkit.physics.errors import FuelkitError


class BalanceError(FuelkitError, ValueError):
    """A balance was asked of an aircraft whose file gives no masses."""


@dataclass(frozen=True)
class Balance:
    """Mass and balance at one moment. Frozen.

    mass : float
        Aircraft and fuel. [kg]
    position : float
        Centre of gravity along the aircraft. [m]
    percent : float
        The same, in percent of the mean aerodynamic chord.
    imbalance : float
        Fuel on the right of the aircraft less fuel on its left. [kg]
    moment : float
        Of all fuel about the plane of symmetry, positive to the right. [kg·m]
    """

    mass: float
    position: float
    percent: float
    imbalance: float
    moment: float


def lateral_imbalance(aircraft, quantities):
    """Return the fuel in right tanks less that in left ones [kg]; a middle tank counts for none."""
    return float(aircraft.sides @ quantities[: len(aircraft.tanks)])


def centre_of_gravity(aircraft, fuel, stance, quantities, zero_fuel):
    """Return the centre of gravity in percent of the mean aerodynamic chord.

    Parameters
    ----------
    aircraft : Aircraft
        With masses.
    fuel : Fuel
    stance : Stance
    quantities : ndarray
        [kg], [K]
    zero_fuel : float
        Zero-fuel mass. [kg]
    """
    mass, along, _ = _moments(aircraft, fuel, stance, quantities, zero_fuel)
    return aircraft.masses.percent(along / mass)


def balance_of(aircraft, fuel, stance, quantities, zero_fuel):
    """Return the balance at one moment.

    Raises
    ------
    BalanceError
        If the aircraft's file has no section [masses].
    """
    if aircraft.masses is None:
        raise BalanceError(
            f"{aircraft.name}: masses is missing; a balance needs the zero-fuel mass, its place "
            "and the chord. Add a section [masses] to the aircraft's file."
        )
    mass, along, across = _moments(aircraft, fuel, stance, quantities, zero_fuel)
    return Balance(
        mass=mass,
        position=along / mass,
        percent=aircraft.masses.percent(along / mass),
        imbalance=lateral_imbalance(aircraft, quantities),
        moment=across,
    )


def _moments(aircraft, fuel, stance, quantities, zero_fuel):
    """Mass [kg], and moments about the nose and about the middle [kg·m]."""
    mass, along, across = zero_fuel, zero_fuel * aircraft.masses.zero_fuel_x, 0.0
    count = len(aircraft.tanks)
    for i, table in enumerate(stance.moments):
        held = float(quantities[i])
        if held > 0.0:
            x, y, _ = table.centroid_of(held / fuel.density(float(quantities[i - count])))
            mass, along, across = mass + held, along + held * x, across + held * y
    return mass, along, across
