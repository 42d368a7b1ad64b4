"""Sections of the tanks: true to the tilted plane, with their figures, for any aircraft."""

import math
import random
import re
from pathlib import Path

import numpy as np
import pytest

import fuelkit.aircraft
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.indications import gauge_reading, indications
from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.gauge import column
from fuelkit.show.section import section_drawing, section_page, usual_cut
from fuelkit.show.section_shapes import Sight, cut_at, seen_from_behind, span_of, under
from fuelkit.show.section_table import quantity_rows, spill_sentences
from fuelkit.survey.tank_state import TankStateError, fuel_at_rest

STARTER = str(Path(fuelkit.aircraft.__file__).parent / "own" / "starter.toml")
KINDS = ("halbrook-40", "halbrook-180", "halbrook-300", STARTER)
PITCH, ROLL = math.radians(4.0), math.radians(-1.5)

every_aircraft = pytest.mark.parametrize("aircraft", KINDS, indirect=True, ids=lambda n: n[-12:])


@pytest.fixture
def aircraft(request):
    """Load an aircraft by name."""
    return load_aircraft(request.param)


def filled(aircraft, share):
    """Return this share of the highest fill in every tank [kg]."""
    return {t.name: share * 800.0 * t.highest_volume for t in aircraft.tanks if t.holds_fuel}


@every_aircraft
def test_what_is_drawn_below_the_surface_is_below_it_in_the_tank(aircraft):
    """A point of the solid is seen under the line if, and only if, it lies below the plane."""
    rest = fuel_at_rest(aircraft, filled(aircraft, 0.5), pitch=PITCH, roll=ROLL)
    draws = np.random.default_rng(1)
    for state in rest.states.values():
        solid = state.tank.solid
        points = np.einsum(
            "nk,nkd->nd", draws.dirichlet(np.ones(4), len(solid)), solid
        )  # one in each tetrahedron
        for sight in (Sight(rest.up, 1, 15.0), Sight(rest.up, 0, -3.0)):
            start, slope = sight.surface(state.level)
            for point in points:
                across, above = sight.see(point)
                seen_below = above < start + slope * across
                assert seen_below == (height(point, rest.up) < state.level)


@every_aircraft
def test_the_outline_from_behind_holds_the_tank_and_no_more(aircraft):
    """All corners of the solid lie on or in it, and each corner of it is one, or a crossing."""
    sight = Sight(up_direction(PITCH, ROLL), 1, 15.0)
    for tank in aircraft.tanks:
        outline = seen_from_behind(tank, sight)
        seen = [sight.see(corner) for corner in tank.solid.reshape(-1, 3)]
        for i, extreme in ((0, min), (0, max), (1, min), (1, max)):
            assert extreme(p[i] for p in outline) == pytest.approx(extreme(p[i] for p in seen))


@every_aircraft
def test_the_cut_is_the_solid(aircraft):
    """Its floor and top are where a vertical line enters and leaves the solid; area from below."""
    for tank in aircraft.tanks:
        low, high = span_of(tank)
        y = low + 0.37 * (high - low)
        cut = cut_at(tank, y, Sight((0.0, 0.0, 1.0), 0, y))
        xs = [x for x, _ in cut]
        x = min(xs) + 0.41 * (max(xs) - min(xs))
        bottom, top = column(tank.solid, x, y)
        floor = np.interp(x, [p[0] for p in cut[:3]], [p[1] for p in cut[:3]])
        roof = np.interp(x, [p[0] for p in cut[:2:-1]], [p[1] for p in cut[:2:-1]])
        assert (floor, roof) == pytest.approx((bottom, top), abs=1e-9)


def area(points):
    """Return the area of a shape by the shoelace formula (any geometry textbook)."""
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return 0.5 * abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs))


@every_aircraft
def test_fuel_in_all_cuts_together_is_the_volume_in_the_tank(aircraft):
    """Areas of fuel in many cuts, summed along the span, against the exact solid, tilted."""
    name = aircraft.loading_order[0][0]
    rest = fuel_at_rest(aircraft, filled(aircraft, 0.4), pitch=PITCH, roll=ROLL)
    state = rest.states[name]
    low, high = span_of(state.tank)
    places = low + (high - low) * (np.arange(400) + 0.5) / 400
    areas = []
    for y in places:
        sight = Sight(rest.up, 0, y)
        cut = cut_at(state.tank, y, sight)
        areas.append(area(part) if (part := under(cut, sight.surface(state.level))) else 0.0)
    assert np.mean(areas) * (high - low) == pytest.approx(state.volume, rel=1e-4)


@every_aircraft
def test_the_surface_on_the_drawing_has_the_true_slope(aircraft, parsed):
    """On the SVG: rise over run, by the scales it states, is the tangent of the roll seen level."""
    rest = fuel_at_rest(aircraft, filled(aircraft, 0.5), pitch=PITCH, roll=ROLL)
    root = parsed(section_drawing(rest))
    up = rest.up
    slopes = {"behind": -up[1] / up[2], "side": -up[0] / up[2]}
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        if view := group.get("data-view"):
            scale = float(group.get("data-upward")) / float(group.get("data-across"))
            lines = [e for e in group.iter() if e.get("data-part") == "surface"]
            assert lines
            for line in lines:
                x0, y0, x1, y1 = map(float, re.findall(r"-?[\d.]+", line.get("d")))
                assert (y0 - y1) / (x1 - x0) == pytest.approx(slopes[view] * scale, abs=2e-3)


def test_figures_are_those_of_the_solid_and_of_the_flight(flight):
    """Volume, gauge, sticks, sensors and vents as the computed flight has them at that moment."""
    time = 0.0
    state = flight.state_at(time)
    masses = {t.name: flight.quantity(t.name, time) for t in flight.aircraft.tanks}
    stance = flight.stance(time)
    rest = fuel_at_rest(
        flight.aircraft, masses, pitch=stance.pitch, roll=stance.roll,
        temperature=flight.temperature("centre", time), density_15=flight.sector.density_15,
    )  # fmt: skip
    shown = indications(flight, time)
    for name, found in rest.states.items():
        assert found.table.volume_below(found.level) == pytest.approx(found.volume)
        if found.tank.holds_fuel:
            assert found.shown == pytest.approx(gauge_reading(flight, name, time), abs=0.1)
        for spot in found.spots:
            if spot.found:
                assert spot.found == shown.sticks[spot.name].state
                assert spot.reading == pytest.approx(shown.sticks[spot.name].reading, abs=1e-4)
            elif spot.name in state.positions and spot.kind.endswith(("sensor", "vent opening")):
                assert spot.state == state.positions[spot.name]


def test_warm_fuel_runs_over_down_the_chain():
    """Mass is kept: outboard into inboard into surge, and overboard once that is full.

    The surplus is worked by hand from mass and density: m - highest fill x density.
    """
    halbrook = load_aircraft("halbrook-180")
    hot = ZERO_CELSIUS + 55.0
    rest = fuel_at_rest(halbrook, filled(halbrook, 1.0), temperature=hot)
    outboard, inboard = rest.states["left outboard"], rest.states["left inboard"]
    density = outboard.density
    surplus = {s.start: s.mass for s in rest.spills}
    expected = outboard.loaded - outboard.tank.highest_volume * density
    assert surplus["left outboard"] == pytest.approx(expected) and expected > 0.0
    assert surplus["left inboard"] == pytest.approx(
        expected + inboard.loaded - inboard.tank.highest_volume * density
    )
    total = sum(s.mass for s in rest.states.values()) + rest.overboard
    assert total == pytest.approx(sum(filled(halbrook, 1.0).values()))
    assert rest.overboard == pytest.approx(surplus["left surge"] + surplus.get("right surge", 0.0))
    assert any("it runs overboard" in s for s in spill_sentences(rest))


def test_the_temperature_at_which_it_runs_over_is_the_one():
    """A little colder nothing runs over, a little warmer it does."""
    starter = load_aircraft(STARTER)
    masses = filled(starter, 0.985)
    at = fuel_at_rest(starter, masses).states["left tank"].runs_over_at
    colder = fuel_at_rest(starter, masses, temperature=at - 0.01)
    warmer = fuel_at_rest(starter, masses, temperature=at + 0.01)
    assert not colder.spills and {s.end for s in warmer.spills} == {"overboard"}


@every_aircraft
def test_every_tank_from_empty_to_full_is_drawn_and_told(aircraft, parsed):
    """Extremes of attitude and fill, each tank in turn, cut at its ends too."""
    draws = random.Random(2)
    for share in (0.0, 0.001, 1.0):
        for tank in aircraft.tanks:
            rest = fuel_at_rest(
                aircraft, filled(aircraft, share), pitch=draws.uniform(-0.2, 0.2),
                roll=draws.uniform(-0.1, 0.1), temperature=ZERO_CELSIUS + draws.uniform(-40, 50),
            )  # fmt: skip
            for cut in (usual_cut(aircraft, tank.name), *span_of(tank)):
                parsed(section_drawing(rest, tank=tank.name, cut=cut))
            assert all(len(row) == 2 for row in quantity_rows(rest, [tank.name]))


@pytest.mark.parametrize(
    "given, words",
    [
        ({"masses": {"left inbord": 1.0}}, "left inboard"),
        ({"masses": {"centre": -1.0}}, "must be 0 or more"),
        ({"pitch": 1.0}, "pitch is 57.3°"),
        ({"temperature": 20.0}, "must lie between -60 and 60 °C"),
        ({"density_15": 100.0}, "Correct the density"),
        ({"tank": "middle"}, "no such tank"),
        ({"cut": 9.0}, "between -7.60 and -1.95 m"),
    ],
)
def test_bad_input_is_named(halbrook, given, words):
    """The field, the value and what would be right."""
    with pytest.raises((TankStateError, ValueError), match=re.escape(words)):
        section_page(halbrook, **({"masses": {"centre": 900.0}} | given))
