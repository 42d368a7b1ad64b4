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
    quadratic, others = link.resistance, ()
    if link.exponent != 2.0:
        quadratic, others = 0.0, ((link.resistance, link.exponent - 1.0),)
    flow = flow_under(abs(drive), link.friction, quadratic, others)
    return flow if drive > 0.0 else -flow


def flow_under(drive, friction, quadratic, others=()):
    """Return the flow at which a loss is as large as a pressure of 0 or more.

    Parameters
    ----------
    drive : float
        [Pa]
    friction, quadratic : float
        Coefficients of q and q² in the loss.
    others : tuple of (float, float)
        Resistance and power of its terms q·q^power that are neither.

    Returns
    -------
    float
        [kg/s]
    """
    # The root in the form that keeps its digits when the loss is mostly laminar.
    flow = 2.0 * drive / (friction + (friction * friction + 4.0 * quadratic * drive) ** 0.5)
    if not others or not flow:
        return flow
    for resistance, power in others:
        if resistance > 0.0:
            flow = min(flow, (drive / resistance) ** (1.0 / (power + 1.0)))
    for _ in range(100):  # from above, so that it converges on a convex law
        loss, slope = friction + quadratic * flow, friction + 2.0 * quadratic * flow
        for resistance, power in others:
            term = resistance * flow**power
            loss, slope = loss + term, slope + (power + 1.0) * term
        change = (loss * flow - drive) / slope
        flow -= change
        if abs(change) <= 1e-15 * flow:
            break
    return flow
