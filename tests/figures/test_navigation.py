"""Equal time point and point of safe return, with wind and with an engine out."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.draws import KNOT
from fuelkit.figures.navigation import (
    equal_time_point,
    equal_time_sheet,
    safe_return_sheet,
    safe_return_time,
    safe_return_time_engine_out,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.units import HOUR, NAUTICAL_MILE

SPEED = st.floats(120.0, 500.0)
WIND = st.floats(-100.0, 100.0)


def equal_time(distance, speed, wind, slower):
    """A sheet from NM and kt."""
    return equal_time_sheet(distance * NAUTICAL_MILE, speed * KNOT, wind * KNOT, slower * KNOT)


def safe_return(fuel, reserve, flow, less, speed, wind, slower):
    """A sheet from kg, kg/h and kt."""
    return safe_return_sheet(
        fuel, reserve, flow / HOUR, less / HOUR, speed * KNOT, wind * KNOT, slower * KNOT
    )


def test_the_equal_time_point_of_the_books():
    """D·H/(O+H): 560 NM, 220 kt out, 180 kt home: 252 NM (check-values of the course)."""
    assert equal_time_point(560.0, 220.0, 180.0) == pytest.approx(252.0)
    values = equal_time(560.0, 200.0, 20.0, 150.0).worked()
    assert values["out"] / KNOT == pytest.approx(220.0)
    assert values["home"] / KNOT == pytest.approx(180.0)
    assert values["point"] / NAUTICAL_MILE == pytest.approx(252.0)
    assert values["time"] / HOUR == pytest.approx(252.0 / 220.0)


def test_the_point_of_safe_return_of_the_books():
    """E·H/(O+H): 5 h, 220 kt out, 180 kt home: 2.25 h (check-values of the course)."""
    assert safe_return_time(5.0, 220.0, 180.0) == pytest.approx(2.25)
    values = safe_return(11_000.0, 1000.0, 2000.0, 1800.0, 200.0, 20.0, 150.0).worked()
    assert values["endurance"] / HOUR == pytest.approx(5.0)
    assert values["time"] / HOUR == pytest.approx(2.25)
    assert values["point"] / NAUTICAL_MILE == pytest.approx(495.0)


@given(st.floats(100.0, 5000.0), SPEED, WIND, st.floats(0.6, 1.0))
def test_at_the_equal_time_point_it_is_as_long_on_as_back(distance, speed, wind, share):
    """With all engines, and with one out at the speed of one out."""
    values = equal_time(distance, speed, wind, max(share * speed, 110.0)).worked()
    way = distance * NAUTICAL_MILE
    for suffix in ("", " engine out"):
        at, out, home = (values[name + suffix] for name in ("point", "out", "home"))
        assert 0.0 < at < way
        assert at / home == pytest.approx((way - at) / out, rel=1e-9)


@given(st.floats(100.0, 5000.0), SPEED, st.floats(1.0, 100.0))
def test_the_equal_time_point_lies_toward_the_wind(distance, speed, wind):
    """In still air half way; a headwind out puts it further out, a tailwind nearer home."""
    still, head, tail = (
        equal_time(distance, speed, w, speed).worked()["point"] for w in (0.0, -wind, wind)
    )
    assert still == pytest.approx(0.5 * distance * NAUTICAL_MILE)
    assert tail < still < head


@given(st.floats(2000.0, 1e5), SPEED, WIND, st.floats(0.6, 1.0), st.floats(0.6, 1.2))
def test_at_the_point_of_safe_return_the_fuel_is_enough_and_no_more(fuel, speed, wind, share, part):
    """Fuel out and fuel home are the fuel for the way, with all engines and with one out."""
    slower, flow = max(share * speed, 110.0), 1000.0
    values = safe_return(fuel, 500.0, flow, part * flow, speed, wind, slower).worked()
    for suffix, home, burn in (("", "home", flow), (" engine out", "home engine out", part * flow)):
        out = values[f"time{suffix}"]
        back = values[f"point{suffix}"] / values[home]
        assert out * flow / HOUR + back * burn / HOUR == pytest.approx(fuel - 500.0, rel=1e-9)


@given(st.floats(1000.0, 1e5), SPEED, st.floats(1.0, 100.0))
def test_any_wind_brings_the_point_of_safe_return_nearer(fuel, speed, wind):
    """What is gained one way is lost over more time on the other; head or tail alike."""
    still, head, tail = (
        safe_return(fuel, 0.0, 1000.0, 900.0, speed, w, speed).worked()["point"]
        for w in (0.0, -wind, wind)
    )
    assert head == pytest.approx(tail) and head < still


def test_with_the_same_flow_and_speed_one_engine_out_changes_nothing():
    """Then it is the point of safe return of all engines."""
    assert safe_return_time_engine_out(5000.0, 1.0, 1.0, 220.0, 180.0) == pytest.approx(
        safe_return_time(5000.0, 220.0, 180.0)
    )


def test_the_wind_with_the_wrong_sense_is_a_slip():
    """200 kt and 20 kt of tailwind: 180 kt on and 220 kt back."""
    work = equal_time(560.0, 200.0, 20.0, 150.0)
    for name, wrong in (("out", 180.0), ("home", 220.0)):
        (slip,) = work.step(name).slips
        assert slip.work(200.0 * KNOT, 20.0 * KNOT) / KNOT == pytest.approx(wrong)
    (slip,) = work.step("point").slips
    assert slip.work(560.0, 220.0, 180.0) == pytest.approx(308.0)


@pytest.mark.parametrize(
    "figures, told",
    [
        ((0.0, 200.0, 20.0, 150.0), "distance: it is 0 NM; it must be more than 0 NM"),
        ((math.nan, 200.0, 20.0, 150.0), "distance: it is nan"),
        ((560.0, 0.0, 20.0, 150.0), "speed: it is 0 kt; it must be more than 0 kt"),
        ((560.0, 2000.0, 20.0, 150.0), "speed: it is 2 000 kt.*Give it in m/s"),
        ((560.0, 200.0, 150.0, 150.0), "wind: it is 150 kt.*less than the speed_engine_out"),
        ((560.0, 200.0, -250.0, 180.0), "wind: it is -250 kt.*less than the speed of 200 kt"),
        ((560.0, 200.0, math.inf, 150.0), "wind: it is inf"),
    ],
)
def test_a_way_that_cannot_be_flown_is_told(figures, told):
    """No way, no speed, a wind as strong as the aircraft is fast: no division by nothing."""
    with pytest.raises(FigureError, match=told):
        equal_time(*figures)


@pytest.mark.parametrize(
    "figures, told",
    [
        ((1000.0, 1000.0, 2000.0, 1800.0), "reserve: it is 1 000 kg; it must be less than"),
        ((-1.0, 0.0, 2000.0, 1800.0), "fuel: it is -1 kg"),
        ((9000.0, 0.0, 0.0, 1800.0), "flow: it is 0 kg/h; it must be more than 0 kg/h"),
        ((9000.0, 0.0, 2000.0, math.nan), "flow_engine_out: it is nan"),
        ((9000.0, -1.0, 2000.0, 1800.0), "reserve: it is -1 kg"),
    ],
)
def test_fuel_that_cannot_be_is_told(figures, told):
    """No fuel for the way, negative, no flow."""
    with pytest.raises(FigureError, match=told):
        safe_return(*figures, 200.0, 20.0, 150.0)


def test_a_text_with_its_unit_is_refused():
    """A sheet takes numbers in SI; text is for people."""
    with pytest.raises(FigureError, match="distance: it is '560 NM'"):
        equal_time_sheet("560 NM", 100.0, 5.0, 80.0)
