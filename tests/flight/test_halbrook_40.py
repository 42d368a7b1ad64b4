"""The Halbrook 40 on its two sectors: every automatic function, jet pump, flap valve, crossfeed."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fuelkit import open_flight
from fuelkit.aircraft.load import load_aircraft
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import load_sector
from fuelkit.flight.stance import tilted_levels
from fuelkit.physics.atmosphere import air
from fuelkit.physics.attitude import height, up_direction
from fuelkit.physics.gauge import column
from fuelkit.physics.jet_pump import JetPump, head_ratio
from fuelkit.physics.units import FOOT, HOUR, STANDARD_GRAVITY
from fuelkit.physics.writing import clock, read_clock

SECTORS = ("eastmere-tarn-hollow", "tarn-hollow-sable-cay")
SIDES = (("left", "engine 1"), ("right", "engine 2"))
AIRCRAFT = load_aircraft("halbrook-40")
GRAM = 0.001


@pytest.fixture(scope="module")
def flights():
    """The two sectors of the kit, computed."""
    return {name: fly(AIRCRAFT, load_sector(name, AIRCRAFT)) for name in SECTORS}


@pytest.fixture(scope="module")
def short(flights):
    """The first sector: 1 h 30 min in the air."""
    return flights["eastmere-tarn-hollow"]


@pytest.fixture(scope="module")
def long(flights):
    """The second sector: cold, and down to little fuel."""
    return flights["tarn-hollow-sable-cay"]


def with_failures(name, *failures, altitude=None):
    """Return a sector of the kit flown with failures, if need be at another altitude [m]."""
    sector = load_sector(name, AIRCRAFT)
    phases = sector.phases
    if altitude is not None:
        phases = tuple(replace(p, altitude=min(p.altitude, altitude)) for p in phases)
    return fly(AIRCRAFT, replace(sector, phases=phases, failures=failures))


def became(flights, name, state):
    """Whether a component was ever in a state that it was not in before."""
    return any(c.name == name and c.after == state for f in flights for c in f.changes)


def share_of_full(flight, tank, time):
    """Volume in a tank over the volume at which it runs over [-]."""
    density = flight.hydraulics.fuel.density(flight.temperature(tank, time))
    return flight.quantity(tank, time) / density / AIRCRAFT.tank(tank).highest_volume


# ------------------------------------------------------------------------------ everything occurs
@pytest.mark.parametrize("rule", [rule.name for rule in AIRCRAFT.rules])
def test_every_automatic_function_takes_hold_on_the_two_sectors(flights, rule):
    """Computed, and with nothing failed: a rule that never acts teaches nothing."""
    assert not any(f.sector.failures for f in flights.values())
    assert became(flights.values(), rule, "ACTIVE")


@pytest.mark.parametrize("alert", AIRCRAFT.alerts, ids=lambda alert: alert.name)
def test_every_alert_that_needs_no_failure_is_shown_and_goes_out(flights, alert):
    """But for a pump that runs dry, which takes a failure (tested below)."""
    needs_failure = any(getattr(f, "state", "") == "LOW PRESS" for f in alert.condition.facts)
    assert became(flights.values(), alert.name, "SHOWN") != needs_failure
    assert became(flights.values(), alert.name, "OUT") != needs_failure


@pytest.mark.parametrize(("side", "engine"), SIDES)
def test_a_standby_pump_in_an_emptied_collector_has_no_pressure(side, engine):
    """A collector that loses fuel faster than it is filled runs dry, and the crew is told."""
    leak = Failure(4000.0, f"{side} collector", "leaking", leak=4000.0 / HOUR)
    flight = with_failures("eastmere-tarn-hollow", leak)
    assert became([flight], f"{side.title()} standby pump has no pressure", "SHOWN")
    assert flight.position(engine, 7000.0) == "STARVED"
    assert abs(flight.conservation_error()) < GRAM


# -------------------------------------------------------------------------------------- the books
@pytest.mark.parametrize("name", SECTORS)
def test_fuel_is_conserved_never_negative_and_never_above_a_tank(flights, name):
    """To a gram, at both ends and in the middle of every segment."""
    flight = flights[name]
    tanks = len(AIRCRAFT.tanks)
    most = [tank.highest_volume for tank in AIRCRAFT.tanks]
    for segment in flight.segments:
        for time in (segment.state.time, 0.5 * (segment.state.time + segment.end)):
            quantities = flight.state_at(time).quantities
            temperatures = quantities[-tanks:]
            volumes = quantities[:tanks] / flight.hydraulics.fuel.density(temperatures)
            assert quantities[:-tanks].min() > -1e-9
            assert (volumes <= np.array(most) + 1e-8).all()
    assert abs(flight.conservation_error()) < GRAM
    assert flight.quantity("overboard", flight.sector.end) == 0.0


@pytest.mark.parametrize("name", SECTORS)
def test_the_same_sector_gives_the_same_flight_bit_for_bit(flights, name):
    """Two computations of one sector."""
    again = fly(AIRCRAFT, load_sector(name, AIRCRAFT))
    assert again.changes == flights[name].changes
    assert again.final.quantities.tobytes() == flights[name].final.quantities.tobytes()


@pytest.mark.parametrize("name", SECTORS)
def test_each_engine_burns_what_the_phases_say(flights, name):
    """The sum over the phases in which it ran, worked out here."""
    flight = flights[name]
    for _, engine in SIDES:
        lit, cut = (c.time for c in flight.changes_of(engine))
        starts = [p.start for p in flight.sector.phases] + [flight.sector.end]
        burned = sum(
            phase.burn * max(0.0, min(cut, end) - max(lit, phase.start))
            for phase, end in zip(flight.sector.phases, starts[1:], strict=True)
        ) * flight.sector.burn_factor.get(engine, 1.0)
        assert flight.fuel_used(engine, flight.sector.end) == pytest.approx(burned, abs=GRAM)


# ------------------------------------------------------------------------- collector and jet pump
@pytest.mark.parametrize(("side", "engine"), SIDES)
@pytest.mark.parametrize("name", SECTORS)
def test_the_jet_pump_keeps_the_collector_full_from_start_until_its_tank_is_empty(
    flights, name, side, engine
):
    """In climb, cruise, crossfeed and descent, at any pitch: within 1.5 % of running over."""
    flight = flights[name]
    lit, cut = (c.time for c in flight.changes_of(engine))
    dry = [c.time for c in flight.changes_of(f"{side} jet pump suction") if c.after == "DRY"]
    end = min([cut, *dry])
    assert end - lit > 2 * HOUR
    for time in np.arange(lit + 300.0, end, 120.0):
        assert share_of_full(flight, f"{side} collector", float(time)) > 0.985


def test_the_wing_tank_gives_what_its_engine_burns_while_the_collector_is_full(short):
    """The jet pump brings more than that, and the rest runs back."""
    time = float(read_clock("1:10:00"))
    motive = picture(short, time).flows["left jet pump"]
    movement = short.movement(time)
    rates = movement(movement.state.quantities)
    index = short.quantities.index
    assert 250.0 < motive * HOUR < 350.0
    assert short.position("left collector overflow", time) == "RUNNING"
    assert 3.5 * motive > 2.0 * short.burns(time)["engine 1"]
    loss = short.burns(time)["engine 1"]  # the collector swells or shrinks with its temperature
    assert rates[index["left wing"]] == pytest.approx(-loss, rel=0.02)


def test_a_jet_pump_of_this_flow_ratio_can_lift_fuel_that_high():
    """By the one-dimensional theory of the jet pump, for a nozzle of 6 % of the throat."""
    for line in AIRCRAFT.lines:
        if line.kind == "jet pump":
            collector = AIRCRAFT.tank(line.end).levels.heights
            lift = 840.0 * STANDARD_GRAVITY * (collector[-1] - line.inlet[2])
            motive = 150_000.0 - lift
            assert head_ratio(JetPump(0.06), line.flow_ratio) > lift / motive


@pytest.fixture(scope="module")
def unpumped():
    """Engine 1 without feed pump and standby pump, low enough to draw its fuel by itself."""
    failures = (Failure(3600.0, "left feed pump", "failed"), Failure(3600.0, "left bus", "failed"))
    return with_failures("eastmere-tarn-hollow", *failures, altitude=3000.0)


def test_without_pressure_the_engine_draws_by_gravity_and_the_jet_pump_stops(unpumped):
    """And the other side goes on as before."""
    now = picture(unpumped, 3700.0)
    assert now.positions["left standby pump"] == "OFF"
    assert now.flows["left jet pump"] == 0.0
    assert now.flows["left gravity valve"] == pytest.approx(unpumped.burns(3700.0)["engine 1"])
    assert now.feeding["engine 1"] == {"left collector": 1.0}
    assert now.positions["Left feed pressure is low"] == "SHOWN"
    assert now.flows["right jet pump"] > 0.0 and now.flows["right gravity valve"] == 0.0


def test_without_the_jet_pump_the_flap_valve_takes_over_by_gravity(unpumped, short):
    """Shut while the collector stands higher; from then on the two levels fall together."""
    opened = None
    for time in np.arange(3610.0, 7900.0, 60.0):
        flow = picture(unpumped, float(time)).flows["left flap valve"]
        fall = short.quantity("left collector", float(time))
        if flow > 0.0 and opened is None:
            opened = float(time)
        if opened is None:
            assert unpumped.quantity("left collector", float(time)) < fall
    assert opened is not None and opened > 3900.0
    assert share_of_full(unpumped, "left collector", opened + 600.0) < 0.8
    wing, collector = (unpumped.levels(opened + 600.0)[i] for i in (0, 1))
    assert 0.0 < wing - collector < 0.08
    assert unpumped.position("engine 1", 7900.0) == "RUN"
    assert short.position("left jet pump suction", 7900.0) == "WET"


def test_the_flap_valve_passes_what_its_loss_allows(unpumped):
    """1 kPa at 1000 kg/h, with a laminar part: from the levels' difference, worked out here."""
    time = 6600.0
    wing, collector = (unpumped.levels(time)[i] for i in (0, 1))
    drive = unpumped.hydraulics.weight * (wing - collector)
    resistance = 1000.0 / (1000.0 / HOUR) ** 2
    laminar = 0.05 * resistance
    root = math.sqrt(laminar**2 + 4.0 * resistance * drive)
    expected = (root - laminar) / (2.0 * resistance)
    flow = picture(unpumped, time).flows["left flap valve"]
    assert flow == pytest.approx(expected, rel=1e-6) and flow * HOUR > 100.0


def test_a_flap_valve_never_lets_fuel_back_into_the_wing_tank(flights):
    """Though the collector stands higher for hours."""
    for flight in flights.values():
        for time in np.arange(0.0, flight.sector.end, 300.0):
            flows = picture(flight, float(time)).flows
            assert flows["left flap valve"] >= 0.0 and flows["right flap valve"] >= 0.0


# --------------------------------------------------------------------------------------- feeding
@pytest.mark.parametrize("name", SECTORS)
def test_each_engine_is_fed_from_its_own_side_but_for_crossfeed(flights, name):
    """Found from the pressures, every minute."""
    flight = flights[name]
    crossfed = 0
    for time in np.arange(0.0, flight.sector.end, 60.0):
        open_now = flight.position("crossfeed valve", float(time)) != "SHUT"
        crossfed += open_now
        for side, engine in () if open_now else SIDES:
            assert flight.feeding(engine, float(time)) in ({}, {f"{side} collector": 1.0})
    assert crossfed >= 2  # minutes looked at


@pytest.mark.parametrize(
    ("name", "giving", "taking"),
    [("eastmere-tarn-hollow", "left", "right"), ("tarn-hollow-sable-cay", "right", "left")],
)
def test_crossfeed_feeds_both_engines_from_the_side_selected_and_levels_the_wings(
    flights, name, giving, taking
):
    """Its standby pump wins over the other side's feed pump, which runs and delivers nothing."""
    flight = flights[name]
    opened, closed = (c.time for c in flight.changes_of("crossfeed valve") if c.before == "MOVING")
    now = picture(flight, opened + 60.0)
    assert now.feeding["engine 1"] == now.feeding["engine 2"] == {f"{giving} collector": 1.0}
    assert now.positions[f"{taking} feed pump"] == "RUN"
    assert now.flows[f"{taking} feed pump"] == 0.0
    assert now.flows[f"{giving} standby pump"] > 0.0
    before, after = (abs(flight.balance(t).imbalance) for t in (opened, closed))
    assert after < 15.0 < before
    assert flight.position("Wings are level, crossfeed can be shut", closed - 6.0) == "SHOWN"


def test_crossfeed_also_drives_the_other_jet_pump_and_so_moves_fuel_across(short):
    """The taking side gains its jet pump's motive fuel while it is fed."""
    opened = next(c.time for c in short.changes_of("crossfeed valve") if c.after == "OPEN")
    right = [
        short.quantity("right wing", t) + short.quantity("right collector", t)
        for t in (opened + 10.0, opened + 100.0)
    ]
    motive = picture(short, opened + 50.0).flows["right jet pump"]
    assert right[1] - right[0] == pytest.approx(90.0 * motive, rel=0.01)


@pytest.mark.parametrize(("side", "engine"), SIDES)
def test_a_standby_pump_takes_over_at_once_when_the_feed_pump_fails(side, engine):
    """The engine is fed from the same cell, and nothing is told of low feed pressure."""
    flight = with_failures("eastmere-tarn-hollow", Failure(3600.0, f"{side} feed pump", "failed"))
    taken = [c for c in flight.changes_of(f"{side} standby pump") if c.time == 3600.0]
    assert [c.after for c in taken] == ["RUN"]
    assert taken[0].rule == f"{side} standby pump takes over"
    assert flight.feeding(engine, 3700.0) == {f"{side} collector": 1.0}
    assert flight.position(f"{side.title()} feed pressure is low", 3700.0) == "OUT"


def test_an_engine_draws_its_fuel_by_itself_only_below_a_certain_height():
    """It needs 50 kPa: at 20 000 ft it starves, at 15 000 ft it does not."""
    assert air(20_000 * FOOT).pressure < 50_000.0 < air(15_000 * FOOT).pressure
    failures = (Failure(3600.0, "left feed pump", "failed"), Failure(3600.0, "left bus", "failed"))
    high = with_failures("eastmere-tarn-hollow", *failures)
    low = with_failures("eastmere-tarn-hollow", *failures, altitude=15_000 * FOOT)
    assert high.position("engine 1", 3601.0) == "STARVED"
    assert high.position("engine 2", 3601.0) == "RUN"
    assert low.position("engine 1", 3601.0) == "RUN"


def test_a_starved_engine_is_fed_again_across_the_crossfeed_valve():
    """With the crossfeed set from the right before the pumps fail, nothing starves at 20 000 ft."""
    sector = load_sector("eastmere-tarn-hollow", AIRCRAFT)
    failures = (Failure(5500.0, "left feed pump", "failed"), Failure(5500.0, "left bus", "failed"))
    actions = tuple(
        replace(a, sets=(("crossfeed selector", "from right"),))
        if ("crossfeed selector", "from left") in a.sets
        else a
        for a in sector.actions
    )
    flight = fly(AIRCRAFT, replace(sector, actions=actions, failures=failures))
    assert flight.feeding("engine 1", 5510.0) == {"right collector": 1.0}


def test_shutting_one_engine_off_does_not_starve_the_other():
    """14 CFR 25.1189, closing one engine's valve: paraphrased in the check values."""
    flight = with_failures(
        "eastmere-tarn-hollow", Failure(3600.0, "engine 1 shut-off valve", "stuck", state="SHUT")
    )
    assert flight.position("engine 1", 3601.0) == "STARVED"
    assert flight.feeding("engine 2", 3700.0) == {"right collector": 1.0}


# ---------------------------------------------------------------------------- refuelling by hand
def test_the_one_hose_fills_one_wing_after_the_other_up_to_its_order(short):
    """Collectors are still full, so the order is met to the kilogram or two by which fuel warms."""
    end = short.sector.end
    ordered = 2900.0
    total = 2.0 * short.final.order["left wing"] + 2.0 * short.final.order["left collector"]
    assert total == pytest.approx(ordered, abs=1e-6)
    assert short.total(end) == pytest.approx(ordered, rel=0.01)
    times = {s: [c.time for c in short.changes_of(f"{s} filler")] for s in ("left", "right")}
    assert times["left"][1] < times["right"][0]
    pumped = sum(t[1] - t[0] for t in times.values()) * 9000.0 / HOUR
    assert short.quantity("delivered", end) == pytest.approx(pumped, abs=GRAM)
    assert became([short], "Wings are unequal", "SHOWN")


def test_emptied_collectors_are_filled_from_the_wing_tanks_through_the_flap_valves(long):
    """After a landing on little fuel, with no pump running."""
    time = float(read_clock("4:36:00"))
    now = picture(long, time)
    assert not any(now.positions[p.name] == "RUN" for p in AIRCRAFT.pumps)
    assert now.flows["right flap valve"] * HOUR > 200.0
    before, after = (long.quantity("right collector", t) for t in (time, long.sector.end))
    assert after > before + 50.0
    wing, collector = long.levels(long.sector.end)[3], long.levels(long.sector.end)[2]
    assert abs(wing - collector) < 0.002


def test_the_cold_sector_cools_the_fuel_to_where_the_crew_is_told(long):
    """Below -37 °C, never below the air's total temperature; not shown once the sensor is dry."""
    alert = next(c for c in long.changes_of("Left wing fuel is cold") if c.after == "SHOWN")
    assert long.temperature("left wing", alert.time) - 273.15 == pytest.approx(-37.0, abs=1e-3)
    coldest = min(long.sector.air_temperature(p) for p in long.sector.phases)
    for time in np.arange(0.0, long.sector.end, 300.0):
        assert long.temperature("left wing", float(time)) > coldest
    dry = next(c for c in long.changes_of("left temperature sensor") if c.after == "DRY")
    assert long.shown_temperature("left temperature sensor", dry.time) is None


# ----------------------------------------------------------------------------------------- sizing
def openings(tank):
    """Where pumps, jet pumps and lines draw from a tank."""
    drawn = [p.inlet for p in AIRCRAFT.pumps if p.start == tank.name]
    return drawn + [
        x.inlet for x in AIRCRAFT.lines if x.inlet and (x.suction or x.start) == tank.name
    ]


@pytest.mark.parametrize("tank", AIRCRAFT.tanks, ids=lambda tank: tank.name)
def test_expansion_space_and_sump_satisfy_part_25(tank):
    """14 CFR 25.969: 2 % or more; 25.971: 0.10 % or 1/16 US gal or more below the lowest inlet."""
    table = tank.levels
    assert tank.expansion_space >= 0.02 and tank.refuel_limit <= 1.0 - tank.expansion_space
    sump = table.volume_below(min(z for _, _, z in openings(tank)))
    assert sump >= max(0.001 * table.capacity, 3.785411784e-3 / 16.0)
    assert sump < 0.01 * table.capacity


@pytest.mark.parametrize("tank", AIRCRAFT.tanks, ids=lambda tank: tank.name)
def test_little_fuel_is_out_of_reach_in_climb_and_cruise(tank):
    """Under 1 % of a tank lies below the last opening that is still covered, at 0° to 8°."""
    for pitch in (0.0, 2.0, 5.0, 8.0):
        up = up_direction(math.radians(pitch), 0.0)
        table = tilted_levels(tank, math.radians(pitch), 0.0)
        lowest = min(height(point, up) for point in openings(tank))
        assert table.volume_below(lowest) < 0.01 * table.capacity


def test_each_wing_holds_about_two_tonnes_and_both_sides_are_alike():
    """At 800 kg/m³, filled to the limit."""
    masses = [tank.refuelled_volume * 800.0 for tank in AIRCRAFT.tanks]
    assert masses == pytest.approx(masses[::-1])
    assert 4000.0 < sum(masses) < 4500.0
    assert 0.1 < masses[1] / sum(masses[:2]) < 0.2


@pytest.mark.parametrize("stick", AIRCRAFT.sticks, ids=lambda stick: stick.name)
def test_every_drip_stick_stands_inside_its_tank_from_foot_to_top(stick):
    """Between the lower and the upper skin at its place."""
    assert stick.kind == "drip"
    x, y, z = stick.foot
    low, high = column(AIRCRAFT.tank(stick.tank).solid, x, y)
    assert low <= z < z + stick.length <= high


def test_every_probe_and_sensor_lies_inside_its_tank():
    """There is tank above and below each of them."""
    places = [(t, *probe, None) for t in AIRCRAFT.tanks for probe in t.probes]
    places += [(AIRCRAFT.tank(s.tank), *s.position) for s in AIRCRAFT.sensors]
    assert len(places) == 12
    for tank, x, y, z in places:
        low, high = column(tank.solid, x, y)
        assert low < high and (z is None or low < z < high)


# ---------------------------------------------------------------------------------------- drawing
@pytest.mark.parametrize("name", SECTORS)
def test_a_drawing_of_any_moment_can_be_made(name):
    """With jet pumps, flap valves, fillers and no coupling: every half hour."""
    viewer = open_flight(name, "halbrook-40")
    for half_hours in range(int(viewer.flight.sector.end // 1800) + 1):
        html = viewer.drawing_at(clock(1800.0 * half_hours)).html
        for part in ("left jet pump", "right flap valve", "left standby pump", "crossfeed valve"):
            assert f'data-part="{part}"' in html
