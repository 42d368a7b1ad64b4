"""Flights at the limits: nothing done, nothing loaded, events on top of each other."""

from dataclasses import replace

import pytest

from fuelkit.aircraft.load import aircraft_from
from fuelkit.aircraft.loading import LoadError, distribution
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import Action


def level(sector):
    """Return a sector with every phase on level ground, in air as warm as its fuel."""
    phases = tuple(
        replace(phase, pitch=0.0, roll=0.0, altitude=0.0, mach=0.0) for phase in sector.phases
    )
    return replace(sector, phases=phases, deviation=sector.temperature - 288.15)


def first(flight, name, after):
    """Return the first change of a component into a state."""
    return next(c for c in flight.changes_of(name) if c.after == after)


def test_a_sector_in_which_nothing_is_done_changes_nothing(halbrook, sector):
    """Only the phases pass; level and in air of its warmth the fuel stays as it was loaded."""
    flight = fly(halbrook, replace(level(sector), actions=()))
    assert {change.name for change in flight.changes} == {"phase"}
    assert flight.samples([0.0])[0] == pytest.approx(flight.samples([sector.end])[0], abs=0.0)
    assert flight.feeding("engine 1", 10_000.0) == {}


def test_an_empty_aircraft_can_be_refuelled(halbrook, sector):
    """No fuel at all: every sensor dry, pumps without pressure, then a refuelling."""
    actions = (
        Action(10.0, (("left centre pump switch", "on"), ("left inboard aft pump switch", "on"))),
        Action(20.0, (("refuel panel", "open"),), 5000.0),
        Action(3000.0, (("refuel panel", "closed"),)),
    )
    flight = fly(halbrook, replace(sector, total=0.0, actions=actions, end=3600.0))
    assert flight.total(0.0) == 0.0
    assert flight.position("left inboard aft pump", 15.0) == "LOW PRESS"
    assert all(flight.position(s.name, 0.0) == "DRY" for s in halbrook.sensors)
    assert 5000.0 <= flight.total(3600.0) < 5100.0
    assert flight.quantity("delivered", 3600.0) == pytest.approx(flight.total(3600.0), abs=1e-6)
    assert flight.position("left inboard aft pump", 3000.0) == "RUN"


def test_a_full_aircraft_that_is_refuelled_takes_nothing(halbrook, sector):
    """Every tank has its order at once: no refuelling valve moves."""
    most = sum(t.refuelled_volume for t in halbrook.tanks) * sector.density
    actions = (Action(20.0, (("refuel panel", "open"),), most),)
    flight = fly(halbrook, replace(sector, total=most, actions=actions, end=600.0))
    assert flight.quantity("delivered", 600.0) == 0.0
    moved = {change.name for change in flight.changes}
    assert not moved & {v.name for v in halbrook.valves if v.name != "coupling valve"}


def test_an_order_below_what_a_tank_holds_leaves_it_alone(halbrook, sector):
    """Only the tanks that hold less than their share are filled; nothing is taken out."""
    actions = (Action(20.0, (("refuel panel", "open"),), 5000.0),)
    flight = fly(halbrook, replace(sector, total=9000.0, actions=actions, end=600.0))
    assert flight.quantity("delivered", 600.0) == 0.0


def test_a_second_order_is_filled_like_the_first(halbrook, sector):
    """What the first order had reached does not count for the second, larger one."""
    actions = (
        Action(20.0, (("refuel panel", "open"),), 9000.0),
        Action(2000.0, (("refuel panel", "closed"),)),
        Action(2100.0, (("refuel panel", "open"),), 12_000.0),
    )
    flight = fly(halbrook, replace(sector, total=2000.0, actions=actions, end=4000.0))
    assert 9000.0 <= flight.total(2050.0) < 9100.0
    assert 12_000.0 <= flight.total(4000.0) < 12_100.0


def test_a_full_cell_stops_running_over_when_its_return_is_shut(halbrook, sector):
    """In cold air an engine that is stopped ends its hot return, and the overflow, at once."""
    stop = Action(1_600.0, (("engine 2 fuel lever", "cut-off"),))
    actions = tuple(a for a in sector.actions if a.time < 1_600.0) + (stop,)
    cold = replace(sector, deviation=-15.0)  # in warm air the full cell swells and runs over
    flight = fly(halbrook, replace(cold, actions=actions, end=1_800.0))
    assert flight.position("right outboard overflow", 1599.0) == "RUNNING"
    still = first(flight, "right outboard overflow", "STILL")
    assert still.time == 1_600.0 and still.reason == "nothing more runs into right outboard"
    assert flight.position("left outboard overflow", 1_700.0) == "RUNNING"


def test_an_order_that_does_not_fit_is_refused(halbrook, sector):
    """The same error as a load that is too large."""
    actions = (Action(20.0, (("refuel panel", "open"),), 20_000.0),)
    with pytest.raises(LoadError, match="the tanks take at most"):
        fly(halbrook, replace(sector, actions=actions, end=600.0))


def test_a_tank_that_is_never_shut_off_runs_over_and_nothing_is_lost(content, sector):
    """Without the shut-off rules refuelling goes on: to the surge tanks, then overboard."""
    ends = ("has its order", "is at its high level")
    content["rules"] = [r for r in content["rules"] if not r["name"].endswith(ends)]
    halbrook = aircraft_from(content)
    actions = (Action(20.0, (("refuel panel", "open"),), 16_000.0),)
    flight = fly(halbrook, replace(sector, actions=actions, end=3600.0))
    assert flight.quantity("overboard", 3600.0) > 100.0
    assert abs(flight.conservation_error()) < 1e-3
    for tank in halbrook.tanks:
        most = tank.highest_volume * flight.hydraulics.fuel.density(
            flight.temperature(tank.name, 3600.0)
        )
        assert flight.quantity(tank.name, 3600.0) <= most + 1e-6


def test_a_sector_may_end_at_an_event(halbrook, sector, flight):
    """The event at the very end is in the flight, and so is the state after it."""
    event = first(flight, "right inboard full sensor", "WET")
    cut = fly(halbrook, replace(sector, end=event.time + 1e-4))
    same = [c for c in flight.changes if c.time <= event.time + 1e-4]
    assert [(c.name, c.after) for c in cut.changes] == [(c.name, c.after) for c in same]
    assert cut.position("right centre pump", cut.final.time) == "OFF"
    assert cut.final.time == event.time + 1e-4


def test_a_flight_that_is_cut_short_is_the_start_of_the_longer_one(halbrook, sector, flight):
    """What comes later has no influence on what was, but for the rounding of a last step."""
    cut = fly(halbrook, replace(sector, end=7000.0))
    same = [c for c in flight.changes if c.time <= 7000.0]
    assert [(c.name, c.after, c.reason) for c in cut.changes] == [
        (c.name, c.after, c.reason) for c in same
    ]
    assert [c.time for c in cut.changes] == pytest.approx([c.time for c in same], abs=1e-6)
    times = [100.0, 1300.0, 2600.0, 6999.0]
    assert cut.samples(times) == pytest.approx(flight.samples(times), abs=1e-6)


def test_an_action_at_the_very_time_of_an_event_happens_with_it(halbrook, sector, flight):
    """Both at once, each with its own reason, and the flight goes on as before."""
    rests = [c for c in flight.changes_of("right centre rests") if c.after == "ACTIVE"]
    event = rests[0]
    action = Action(event.time, (("crossfeed switch", "on"),))
    actions = tuple(sorted([*sector.actions, action], key=lambda a: a.time))
    both = fly(halbrook, replace(sector, actions=actions, end=event.time + 100.0))
    at_once = {c.name for c in both.changes if abs(c.time - event.time) < 1e-5}
    assert {"right inboard full sensor", "right centre pump", "crossfeed switch"} <= at_once
    assert first(both, "crossfeed valve", "MOVING").time == pytest.approx(event.time)


def test_two_actions_at_one_time_are_both_done(halbrook, sector):
    """In the order of the sector: the later one of the same switch holds."""
    actions = (
        Action(10.0, (("crossfeed switch", "on"),)),
        Action(10.0, (("APU switch", "on"),)),
        Action(10.0, (("crossfeed switch", "off"),)),
    )
    flight = fly(halbrook, replace(sector, actions=actions, end=60.0))
    assert flight.position("APU switch", 10.0) == "on"
    assert flight.position("crossfeed switch", 10.0) == "off"
    assert not flight.changes_of("crossfeed valve")


def test_an_action_at_the_start_holds_from_the_start(halbrook, sector):
    """At time 0 the state is the one after it."""
    actions = (Action(0.0, (("left inboard aft pump switch", "on"),)),)
    flight = fly(halbrook, replace(sector, actions=actions, end=60.0))
    assert flight.position("left inboard aft pump", 0.0) == "RUN"


def test_a_delay_and_a_travel_of_nothing_act_at_once(content, sector):
    """With after_s = 0 and travel_s = 0 an engine lights with its lever."""
    for table in content["rules"]:
        table.pop("after_s", None)
    for table in content["valves"]:
        table["travel_s"] = 0
    flight = fly(aircraft_from(content), replace(sector, end=1500.0))
    lever = first(flight, "engine 2 fuel lever", "run")
    lit = first(flight, "engine 2", "RUN")
    assert lit.time == lever.time == 1260.0
    assert not [c for c in flight.changes if c.after == "MOVING"]


def test_a_delay_that_is_broken_off_starts_anew(halbrook, sector):
    """The engine needs its 18 s without a break: a lever moved back at 10 s begins again."""
    run, cut = (("engine 2 fuel lever", "run"),), (("engine 2 fuel lever", "cut-off"),)
    actions = (Action(100.0, run), Action(112.0, cut), Action(130.0, run))
    flight = fly(halbrook, replace(sector, actions=actions, end=200.0))
    assert [c.time for c in flight.changes_of("engine 2")] == [pytest.approx(150.0)]


def test_an_engine_that_burns_nothing_changes_no_tank(halbrook, sector):
    """A burn of 0 and no return: only what the APU and the returns move."""
    phases = tuple(replace(phase, burn=0.0) for phase in sector.phases)
    flight = fly(halbrook, replace(sector, phases=phases))
    assert flight.quantity("burned by engine 1", sector.end) == 0.0
    assert abs(flight.conservation_error()) < 1e-3


def test_loads_of_every_size_begin_with_true_sensors(halbrook, sector):
    """At the start each sensor is wet exactly if the fuel stands over it."""
    sector = level(sector)
    for total in range(0, 16_001, 1000):
        flight = fly(halbrook, replace(sector, total=float(total), actions=(), end=10.0))
        masses = distribution(halbrook, float(total), sector.density)
        for sensor in halbrook.sensors:
            table = halbrook.tank(sensor.tank).levels
            surface = table.level_of(masses[sensor.tank] / sector.density)
            over = surface > sensor.position[2]
            assert flight.position(sensor.name, 0.0) == ("WET" if over else "DRY")
