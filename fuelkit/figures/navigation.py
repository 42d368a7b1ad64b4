"""Equal time point and point of safe return, with wind, all engines and one engine out."""

from functools import partial

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import KNOT, first_fair, rounded, scale_of
from fuelkit.figures.inputs import TRAINING_AID, number
from fuelkit.figures.quantities import FigureError, written
from fuelkit.physics.units import HOUR, MINUTE, NAUTICAL_MILE

_WIND = "along the track outbound; a headwind outbound is negative"
_EXCHANGED = Slip(
    "speeds exchanged",
    "The speed on stands above the line, where the speed back belongs.",
    lambda distance, out, home: distance * out / (out + home),
)
_WRONG_SENSE = "The wind was taken with the wrong sense."


def equal_time_point(distance, out, home):
    """Return how far out it is as long to go on as to go back. [m]

    Parameters
    ----------
    distance : float
        Whole way. [m]
    out, home : float
        Ground speeds, on and back. [m/s]

    References
    ----------
    Equal times: x/home = (distance - x)/out.

    Examples
    --------
    560 NM, 220 kt out, 180 kt home:

    >>> round(equal_time_point(560.0, 220.0, 180.0), 9)
    252.0
    """
    return distance * home / (out + home)


def safe_return_time(endurance, out, home):
    """Return after what time out one still comes home on the fuel. [s]

    Parameters
    ----------
    endurance : float
        Time that the fuel lasts, reserves left out. [s]
    out, home : float
        Ground speeds. [m/s]

    References
    ----------
    Same way out and home: t × out = (endurance - t) × home.

    Examples
    --------
    5 h, 220 kt out, 180 kt home:

    >>> round(safe_return_time(5.0, 220.0, 180.0), 9)
    2.25
    """
    return endurance * home / (out + home)


def safe_return_time_engine_out(fuel, flow, flow_out, out, home):
    """Return after what time out one still comes home if an engine fails there. [s]

    Parameters
    ----------
    fuel : float
        Usable for the flight, reserves left out. [kg]
    flow, flow_out : float
        All engines, and with one out. [kg/s]
    out, home : float
        Ground speed out with all engines, and home with one out. [m/s]

    References
    ----------
    Fuel out and home: fuel = flow × t + flow_out × (t × out ÷ home).

    Examples
    --------
    With the same flow it is the point of safe return of all engines:

    >>> round(safe_return_time_engine_out(5.0, 1.0, 1.0, 220.0, 180.0), 9)
    2.25
    """
    return fuel / (flow + flow_out * out / home)


def equal_time_sheet(distance, speed, wind, speed_engine_out):
    """Return the sheet of the equal time point, all engines and one engine out.

    Parameters
    ----------
    distance : float
        From the last aerodrome behind to the next ahead. [m]
    speed, speed_engine_out : float
        True airspeeds. [m/s]
    wind : float
        Along the track outbound, a headwind negative. [m/s]

    Raises
    ------
    FigureError
        If a figure is absurd, or the wind is stronger than the aircraft is fast.
    """
    _check_way(distance)
    _check_speeds(speed, wind, speed_engine_out)
    return Sheet(
        name="equal-time",
        title="Equal time point",
        lead="Between two aerodromes: up to where is it quicker to go back?",
        givens=(
            Given("distance", "Distance between the two aerodromes", distance, "NM"),
            *_speed_givens(speed, wind, speed_engine_out),
        ),
        steps=(
            *_ground_speeds("speed", "", "all engines"),
            _point_step("point", "", "all engines"),
            _time_to("time", "point", ""),
            *_ground_speeds("speed engine out", " engine out", "one engine out"),
            _point_step("point engine out", " engine out", "one engine out"),
            _time_to("time engine out", "point engine out", " one-engine-out"),
        ),
        cautions=(TRAINING_AID, "The wind ahead is not the wind behind: use what is forecast "
                  "for each way, and the approved procedure."),
        sources=("Equal times on and back (derived)",),
        objectives=("in-flight-check",),
    )  # fmt: skip


def safe_return_sheet(fuel, reserve, flow, flow_engine_out, speed, wind, speed_engine_out):
    """Return the sheet of the point of safe return, all engines and one engine out.

    Parameters
    ----------
    fuel : float
        Usable, on board at the start of the way out. [kg]
    reserve : float
        To be left on landing. [kg]
    flow, flow_engine_out : float
        Of the whole aircraft. [kg/s]
    speed, wind, speed_engine_out : float
        As for `equal_time_sheet`. [m/s]

    Raises
    ------
    FigureError
        If a figure is absurd, the reserve is more than the fuel, or the wind is too strong.
    """
    number("fuel", fuel, "kg", above=0.0, high=1e6)
    number("reserve", reserve, "kg", low=0.0, high=1e6)
    number("flow", flow, "kg/h", above=0.0, high=20.0)
    number("flow_engine_out", flow_engine_out, "kg/h", above=0.0, high=20.0)
    _check_speeds(speed, wind, speed_engine_out)
    if reserve >= fuel:
        raise FigureError(
            f"reserve: it is {written(reserve, 'kg')}; it must be less than the fuel, "
            f"{written(fuel, 'kg')}, or no way out is safe."
        )
    return Sheet(
        name="safe-return",
        title="Point of safe return",
        lead="No aerodrome ahead is certain. How long can the flight go out and still come home "
        "with its reserve?",
        givens=(
            Given("fuel", "Usable fuel at the start of the way out", fuel, "kg"),
            Given("reserve", "To be left on landing", reserve, "kg"),
            Given("flow", "Fuel flow, all engines", flow, "kg/h"),
            Given("flow engine out", "Fuel flow, one engine out", flow_engine_out, "kg/h"),
            *_speed_givens(speed, wind, speed_engine_out),
        ),
        steps=_return_steps(),
        cautions=(TRAINING_AID, "A point of safe return is worked before it is reached, and "
                  "again when wind or flow turn out otherwise."),
        sources=("Way out equals way home (derived)",),
        objectives=("in-flight-check",),
    )  # fmt: skip


def _check_way(distance):
    number("distance", distance, "NM", above=0.0, high=2.0e7, hint="Give it in metres.")


def _check_speeds(speed, wind, speed_engine_out):
    number("wind", wind, "kt", hint="Give it in m/s.")
    for field, value in (("speed", speed), ("speed_engine_out", speed_engine_out)):
        number(field, value, "kt", above=0.0, high=340.0, hint="Give it in m/s.")
        if abs(wind) >= value:
            raise FigureError(
                f"wind: it is {written(wind, 'kt')} along the track; it must be less than the "
                f"{field} of {written(value, 'kt')}, or one of the two ways is never flown."
            )


def _speed_givens(speed, wind, speed_engine_out):
    return (
        Given("speed", "True airspeed, all engines", speed, "kt"),
        Given("speed engine out", "True airspeed, one engine out", speed_engine_out, "kt"),
        Given("wind", "Wind along the track", wind, "kt", _WIND),
    )


def _ground_speeds(speed, suffix, words):
    return (
        Step(
            f"out{suffix}", f"Ground speed on, {words}", (speed, "wind"), "airspeed + wind", "kt",
            lambda air, wind: air + wind, tolerance=1.0,
            slips=(Slip("wind with the wrong sense", _WRONG_SENSE, lambda air, wind: air - wind),),
        ),
        Step(
            f"home{suffix}", f"Ground speed back, {words}", (speed, "wind"), "airspeed - wind",
            "kt", lambda air, wind: air - wind, tolerance=1.0,
            slips=(Slip("wind with the wrong sense", _WRONG_SENSE, lambda air, wind: air + wind),),
        ),
    )  # fmt: skip


def _point_step(name, suffix, words):
    return Step(
        name, f"Equal time point, {words}", ("distance", f"out{suffix}", f"home{suffix}"),
        "distance × speed back ÷ (speed on + speed back)", "NM", equal_time_point, tolerance=2.0,
        relative=0.005, source="equal times on and back (derived)", slips=(_EXCHANGED,),
        marks=2.0,
    )  # fmt: skip


def _time_to(name, point, words):
    return Step(
        name, f"Time to the{words} equal time point, all engines up to there", (point, "out"),
        "distance to the point ÷ ground speed on, all engines", "h:mm",
        lambda way, speed: way / speed, tolerance=2.0, relative=0.005,
    )  # fmt: skip


def _return_steps():
    return (
        Step(
            "for the way", "Fuel for the way out and home", ("fuel", "reserve"), "fuel - reserve",
            "kg", lambda fuel, reserve: fuel - reserve, tolerance=2.0,
            slips=(Slip("reserve left in", "The reserve was used for the way.",
                        lambda fuel, _: fuel),),
        ),
        Step(
            "endurance", "Time that it lasts, all engines", ("for the way", "flow"),
            "fuel for the way ÷ fuel flow", "h:mm", lambda fuel, flow: fuel / flow, tolerance=2.0,
            relative=0.003,
        ),
        *_ground_speeds("speed", "", "all engines"),
        Step(
            "time", "Time to the point of safe return, all engines", ("endurance", "out", "home"),
            "endurance × speed home ÷ (speed out + speed home)", "h:mm", safe_return_time,
            tolerance=2.0, relative=0.005, source="way out equals way home (derived)", marks=2.0,
            slips=(
                Slip("speeds exchanged", "The speed out stands above the line.",
                     lambda time, out, home: time * out / (out + home)),
                Slip("half the endurance", "Half the endurance was taken, whatever the wind.",
                     lambda time, *_: 0.5 * time),
            ),
        ),
        _way_step("point", "time", "all engines"),
        Step(
            "home engine out", "Ground speed home, one engine out", ("speed engine out", "wind"),
            "airspeed - wind", "kt", lambda air, wind: air - wind, tolerance=1.0,
            slips=(Slip("wind with the wrong sense", _WRONG_SENSE, lambda air, wind: air + wind),),
        ),
        Step(
            "time engine out", "Time to it, if an engine fails there",
            ("for the way", "flow", "flow engine out", "out", "home engine out"),
            "fuel for the way ÷ (flow + flow with one out × speed out ÷ speed home)", "h:mm",
            safe_return_time_engine_out, tolerance=2.0, relative=0.007, marks=2.0,
            source="fuel out and fuel home (derived)",
        ),
        _way_step("point engine out", "time engine out", "if an engine fails there"),
    )  # fmt: skip


def _way_step(name, time, words):
    return Step(
        name, f"Distance to it, {words}", (time, "out"), "time × ground speed out", "NM",
        lambda time, speed: time * speed, tolerance=4.0, relative=0.007,
    )  # fmt: skip


# --------------------------------------------------------------------------------------- drawing
def draw_equal_time(aircraft, draw):
    """Return a sheet of the equal time point that follows from a number."""
    return first_fair(partial(_drawn_equal_time, aircraft), "equal-time", aircraft.identifier, draw)


def draw_safe_return(aircraft, draw):
    """Return a sheet of the point of safe return that follows from a number."""
    return first_fair(
        partial(_drawn_safe_return, aircraft), "safe-return", aircraft.identifier, draw
    )


def _drawn_speeds(scale, lot):
    """Airspeed, wind along the track, airspeed with one engine out, in whole knots. [m/s]"""
    speed = lot.between(0.93, 1.05, "speed") * scale.speed
    wind = lot.one_of((-1.0, 1.0), "side") * lot.between(15.0, 80.0, "wind") * KNOT
    slower = speed * lot.between(0.72, 0.85, "engine out")
    return tuple(KNOT * round(value / KNOT / 5.0) * 5 for value in (speed, wind, slower))


def _drawn_equal_time(aircraft, lot):
    scale = scale_of(aircraft)
    way = 0.6 * scale.full / scale.flow * scale.speed * lot.between(0.4, 0.9, "way")
    return equal_time_sheet(
        NAUTICAL_MILE * round(way / NAUTICAL_MILE / 10.0) * 10, *_drawn_speeds(scale, lot)
    )


def _drawn_safe_return(aircraft, lot):
    scale = scale_of(aircraft)
    fuel = rounded(lot.between(0.4, 0.9, "fuel") * scale.full, scale.grain)
    reserve = rounded(scale.flow * lot.between(45.0, 75.0, "reserve") * MINUTE, scale.grain)
    flow = round(scale.flow * lot.between(0.92, 1.06, "flow") * HOUR / 10.0) * 10.0
    speed, wind, slower = _drawn_speeds(scale, lot)
    # With one engine out each mile costs more: lower, and with drag from the other side.
    dearer = slower / speed * lot.between(1.03, 1.2, "flow engine out")
    less = round(flow * dearer / 10.0) * 10.0
    return safe_return_sheet(fuel, reserve, flow / HOUR, less / HOUR, speed, wind, slower)
