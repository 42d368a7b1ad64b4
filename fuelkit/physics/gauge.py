"""Fuel as a gauge with capacitance probes shows it. Knows a solid and its levels, no aircraft.

A probe tells how much of its length is wetted, nothing of where the rest of the fuel is. The gauge
takes the mean of its probes and looks up what volume that means in level attitude; at another
attitude it is off by what the places of the probes let through.
"""

from bisect import bisect_left
from dataclasses import dataclass
from functools import cached_property
from math import fsum, isfinite

import numpy as np

from fuelkit.physics.attitude import surface_height
from fuelkit.physics.solid import LevelTable, level_table


@dataclass(frozen=True)
class Probe:
    """One probe. Frozen.

    x, y : float
        Where it stands in the aircraft's axes. [m]
    bottom, top : float
        z of its ends. [m]
    weight : float
        Its part in the mean, against the weights of the others. [-]
    """

    x: float
    y: float
    bottom: float
    top: float
    weight: float = 1.0

    def __post_init__(self):
        if not self.top > self.bottom:
            raise ValueError(
                f"gauge: top of the probe at x {self.x} m, y {self.y} m is {self.top} m; it must "
                f"be above its bottom, {self.bottom} m. Correct one of them."
            )
        if not (isfinite(self.weight) and self.weight > 0.0):
            raise ValueError(
                f"gauge: weight of the probe at x {self.x} m, y {self.y} m is {self.weight}; it "
                "must be above 0. Correct it."
            )


@dataclass(frozen=True)
class Gauge:
    """The gauge of one tank, set in level attitude. Frozen.

    probes : tuple of Probe
        At least one.
    levels : LevelTable
        Volume over level of the tank in level attitude.
    unusable : float
        Volume at which the gauge reads zero. [m³]
    """

    probes: tuple
    levels: LevelTable
    unusable: float = 0.0

    def __post_init__(self):
        if not self.probes:
            raise ValueError("gauge: the list of probes is empty; a gauge needs at least one.")
        if not 0.0 <= self.unusable < self.levels.capacity:
            raise ValueError(
                f"gauge: unusable is {self.unusable} m³; it must be at least 0 and less than the "
                f"tank, {self.levels.capacity:g} m³. Correct it."
            )

    @property
    def seen_volumes(self):
        """Least and greatest volume [m³] that its probes tell, in level attitude.

        Below the first no probe is wetted and the gauge reads zero; above the second all are
        covered and it rises no more.
        """
        ends = self._calibration[0]
        return self.levels.volume_below(ends[0]), self.levels.volume_below(ends[-1])

    @cached_property
    def _calibration(self):
        """Levels at which a probe begins or ends, and the mean wetted height at each of them."""
        levels = sorted({z for probe in self.probes for z in (probe.bottom, probe.top)})
        means = [_mean(self.probes, _wetted(self.probes, [z] * len(self.probes))) for z in levels]
        return levels, means


def column(tetrahedra, x, y):
    """Return where a vertical line enters and leaves a solid.

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The solid. [m]
    x, y : float
        Where the line stands. [m]

    Returns
    -------
    tuple of two floats
        The lowest and the highest z of the solid on that line; gaps between are passed over. [m]

    Raises
    ------
    ValueError
        If the line misses the solid.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> low, high = column(bay(rib, [[x, 2, z] for x, _, z in rib]), 0.3, 1.2)
    >>> round(low, 12), round(high, 12)
    (0.0, 1.0)
    """
    tetrahedra = np.asarray(tetrahedra, float)
    edges = tetrahedra[:, 1:] - tetrahedra[:, :1]
    solid = np.abs(np.linalg.det(edges)) > 1e-15 * np.abs(edges).max() ** 3
    inverse = np.linalg.inv(edges[solid])
    # Shares of the four corners in the point (x, y, z) are start + slope·z; inside, none is < 0.
    start = np.einsum("ni,nij->nj", np.array([x, y, 0.0]) - tetrahedra[solid, 0], inverse)
    start = np.column_stack([1.0 - start.sum(axis=1), start])
    slope = np.column_stack([-inverse[:, 2].sum(axis=1), inverse[:, 2]])
    low, high = _where_not_negative(start, slope)
    # A line along an edge or a face still meets the solid, but for rounding.
    met = high - low >= -1e-9
    if not met.any():
        raise ValueError(
            f"gauge: the place x {x} m, y {y} m is outside the tank; a vertical line there meets "
            "no part of it. Correct the place."
        )
    return 0.0 + float(low[met].min()), float(high[met].max())


def full_length_probe(tetrahedra, x, y, *, weight=1.0):
    """Return a probe that reaches from the bottom to the top of a tank at (x, y).

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The tank. [m]
    x, y : float
        Where the probe stands. [m]
    weight : float
        Its part in the mean, against the weights of the others. [-]

    Returns
    -------
    Probe

    Raises
    ------
    ValueError
        If the place is outside the tank or the tank has no height there.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> round(full_length_probe(bay(rib, [[x, 2, z] for x, _, z in rib]), 0.3, 1.2).top, 12)
    1.0
    """
    return Probe(float(x), float(y), *column(tetrahedra, x, y), float(weight))


def full_length_gauge(tetrahedra, places, *, unusable=0.0, weights=None):
    """Return the gauge of a tank with a full-length probe at each of some places.

    Parameters
    ----------
    tetrahedra : array_like, shape (n, 4, 3)
        The tank. [m]
    places : sequence of pairs of floats
        x and y of each probe. [m]
    unusable : float
        Volume at which the gauge reads zero. [m³]
    weights : sequence of floats, optional
        Part of each probe in the mean; equal if not given. [-]

    Returns
    -------
    Gauge

    Raises
    ------
    ValueError
        If a place is outside the tank, there is none, the weights do not fit the places, or the
        unusable volume does not fit the tank.

    Examples
    --------
    >>> from fuelkit.physics.solid import bay
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> tank = bay(rib, [[x, 2, z] for x, _, z in rib])
    >>> len(full_length_gauge(tank, [(0.3, 0.5), (0.3, 1.5)], unusable=0.02).probes)
    2
    """
    weights = [1.0] * len(places) if weights is None else weights
    if len(weights) != len(places):
        raise ValueError(
            f"gauge: the number of weights is {len(weights)}; there are {len(places)} probes. "
            "Give one weight for each probe."
        )
    probes = tuple(
        full_length_probe(tetrahedra, x, y, weight=weight)
        for (x, y), weight in zip(places, weights, strict=True)
    )
    return Gauge(probes, level_table(tetrahedra), float(unusable))


def probe_heights(probes, level, up=(0.0, 0.0, 1.0)):
    """Return how much of each probe is wetted.

    Parameters
    ----------
    probes : sequence of Probe
        The probes.
    level : float
        Height of the surface along up. [m]
    up : sequence of three floats
        Direction of up, of length 1. [-]

    Returns
    -------
    list of floats
        Wetted length of each probe, along the aircraft's z. [m]

    Examples
    --------
    >>> probe_heights([Probe(1.0, 1.0, 0.0, 0.5), Probe(1.0, 9.0, 0.3, 0.6)], 0.25)
    [0.25, 0.0]
    """
    return _wetted(probes, [surface_height(level, probe.x, probe.y, up) for probe in probes])


def indicated_volume(gauge, table, volume):
    """Return what a gauge shows of a volume of fuel at an attitude, unusable fuel taken off.

    In level attitude it is exact from the unusable volume up, as far as the probes see; at the
    unusable volume it reads zero; it is never negative. With no probe wetted it reads zero.

    Parameters
    ----------
    gauge : Gauge
        The gauge.
    table : LevelTable
        Levels of the same tank along up at this attitude.
    volume : float
        Fuel in the tank. [m³]

    Returns
    -------
    float
        Usable volume shown. Times the density the gauge is set to, it is the mass shown. [m³]

    References
    ----------
    14 CFR 25.1337(b): the gauge reads zero at unusable fuel in level flight. That it takes the
    mean of its probes is common practice, no source.

    Examples
    --------
    One probe near the rear wall of a box: right when level, too much with the nose up.

    >>> from fuelkit.physics.attitude import up_direction
    >>> from fuelkit.physics.solid import bay
    >>> rib = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]]
    >>> tank = bay(rib, [[x, 2, z] for x, _, z in rib])
    >>> rear = full_length_gauge(tank, [(0.9, 1.0)], unusable=0.1)
    >>> round(indicated_volume(rear, rear.levels, 1.1), 9)
    1.0
    >>> nose_up = level_table(tank, up_direction(pitch=0.05))
    >>> round(indicated_volume(rear, nose_up, 1.1), 3)
    1.04
    """
    heights = probe_heights(gauge.probes, table.level_of(volume), table.up)
    level = _level_of_mean(gauge, _mean(gauge.probes, heights))
    return max(0.0, gauge.levels.volume_below(level) - gauge.unusable)


def _wetted(probes, surfaces):
    """Wetted length of each probe with the surface at a z of its own."""
    return [
        min(max(0.0, z - probe.bottom), probe.top - probe.bottom)
        for probe, z in zip(probes, surfaces, strict=True)
    ]


def _mean(probes, heights):
    """Weighted mean of wetted heights."""
    weights = [probe.weight for probe in probes]
    return fsum(w * h for w, h in zip(weights, heights, strict=True)) / fsum(weights)


def _level_of_mean(gauge, mean):
    """Level in level attitude that gives a mean wetted height; the lowest, if more than one."""
    levels, means = gauge._calibration
    if mean <= 0.0:
        return float(gauge.levels.heights[0])
    after = min(bisect_left(means, mean), len(means) - 1)
    low, high = means[after - 1], means[after]
    share = min((mean - low) / (high - low), 1.0)
    return levels[after - 1] + share * (levels[after] - levels[after - 1])


def _where_not_negative(start, slope):
    """Ends of the interval of z on which no start + slope·z of a row is negative."""
    level = np.abs(slope) < 1e-11
    with np.errstate(divide="ignore", invalid="ignore"):
        at = -start / slope
    outside = np.where(start < -1e-10, np.inf, -np.inf)
    low = np.where(level, outside, np.where(slope > 0.0, at, -np.inf)).max(axis=1)
    high = np.where(~level & (slope < 0.0), at, np.inf).min(axis=1)
    return low, high
