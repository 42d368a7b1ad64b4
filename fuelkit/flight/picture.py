"""One moment of a computed flight, ready to be drawn or put in a table. Knows no screen."""

from dataclasses import dataclass

from fuelkit.physics.attitude import surface_height


@dataclass(frozen=True)
class Picture:
    """What the fuel system is doing at one moment. Frozen.

    time : float
        [s]
    phase : str
    positions : dict of str to str
        State of every component, switch, sensor and alert.
    masses, levels : dict of str to float
        Fuel in each tank [kg], and height of its surface in the middle of the tank [m].
    slope : float
        How much every surface rises for each metre to the right [-].
    temperatures : dict of str to float
        Of the fuel in each tank. [K]
    flows : dict of str to float
        Flow through each pump and line, positive from its start to its end. [kg/s]
    pressures : dict of str to float
        Gauge pressure at each junction [Pa]; `nan` where a section is cut off.
    feeding : dict of str to dict of str to float
        For each engine and APU that runs, the tanks that feed it and their shares. [-]
    returning : dict of str to float
        Flow of each hot return. [kg/s]
    overflowing : tuple of str
        Overflows that run.
    """

    time: float
    phase: str
    positions: dict
    masses: dict
    levels: dict
    slope: float
    temperatures: dict
    flows: dict
    pressures: dict
    feeding: dict
    returning: dict
    overflowing: tuple


def picture(history, time):
    """Return what the fuel system is doing at a time [s] of a computed flight.

    Raises
    ------
    AskedError
        If the time lies outside the flight.
    """
    aircraft, state = history.aircraft, history.state_at(time)
    solved = history.flows(time)
    weight, stance = history.hydraulics.weight, history.stance(time)
    names = [tank.name for tank in aircraft.tanks]
    return Picture(
        time=time,
        phase=history.phase(time),
        positions=dict(state.positions),
        masses={n: float(m) for n, m in zip(names, state.quantities, strict=False)},
        levels=_surfaces(history, time),
        slope=-stance.up[1] / stance.up[2],
        temperatures={name: history.temperature(name, time) for name in names},
        flows={name: q for flow in solved for name, q in flow.flows.items()},
        pressures={
            j.name: flow.pressures[j.name] - weight * stance.height(j.position)
            for flow in solved
            for j in aircraft.junctions
            if j.name in flow.pressures
        },
        feeding={c.name: history.feeding(c.name, time) for c in aircraft.consumers},
        returning={
            r.name: r.flow if state.positions[r.name] == "OPEN" else 0.0 for r in aircraft.returns
        },
        overflowing=tuple(
            o.name for o in aircraft.overflows if state.positions[o.name] == "RUNNING"
        ),
    )


def _surfaces(history, time):
    """Height of each surface over the middle of its tank; as high as the tank at most [m]."""
    up, found = history.stance(time).up, {}
    for tank, level in zip(history.aircraft.tanks, history.levels(time), strict=True):
        xs = [x for rib in tank.ribs for x, _, _ in rib.corners]
        ys = [rib.y for rib in tank.ribs]
        middle = 0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys))
        low, high = (float(h) for h in tank.levels.heights[[0, -1]])
        found[tank.name] = min(max(surface_height(level, *middle, up), low), high)
    return found
