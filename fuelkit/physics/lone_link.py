"""Flow through one link between two given pressures: a network too small for a network."""


def flow_through(link, pressure_start, pressure_end):
    """Return the flow through one link whose both ends have a given pressure.

    Parameters
    ----------
    link : Link
    pressure_start, pressure_end : float
        Piezometric pressure at each end. [Pa]

    Returns
    -------
    float
        Flow, positive from start to end; 0 where a one-way link is held closed. [kg/s]

    Notes
    -----
    The inverse of the law of `physics.network.Link`: in closed form for a quadratic loss, by
    Newton's method, which converges from above on a convex law, for another exponent.

    Examples
    --------
    >>> from fuelkit.physics.network import Link
    >>> round(flow_through(Link("pipe", "a", "b", 2000.0, friction=1.0), 2001.0, 0.0), 12)
    1.0
    >>> flow_through(Link("flap", "a", "b", 2000.0, one_way=True), 0.0, 2000.0)
    0.0
    """
    drive = pressure_start - pressure_end + link.rise - link.opening
    if drive == 0.0 or (drive < 0.0 and link.one_way):
        return 0.0
    size = abs(drive)
    if link.exponent == 2.0:
        # The root in the form that keeps its digits when the loss is mostly laminar.
        root = (link.friction**2 + 4.0 * link.resistance * size) ** 0.5
        flow = 2.0 * size / (link.friction + root)
    else:
        flow = _newton(link, size)
    return flow if drive > 0.0 else -flow


def _newton(link, size):
    flow = size / link.friction
    if link.resistance > 0.0:
        flow = min(flow, (size / link.resistance) ** (1.0 / link.exponent))
    for _ in range(100):
        loss = link.resistance * flow ** (link.exponent - 1.0)
        change = ((link.friction + loss) * flow - size) / (link.friction + link.exponent * loss)
        flow -= change
        if abs(change) <= 1e-15 * flow:
            break
    return flow
