"""Every automatic function of the course's aircraft occurs in its sector, found and explained.

The functions themselves are those of design: centre fuel first, override pumps inhibited by the
high-lift surfaces, rest and resume, run-on, transfer of both cells together, counters that start
again with their engine: common practice, no source.
"""

from dataclasses import replace

import pytest

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.fly import fly
from fuelkit.flight.picture import picture
from fuelkit.flight.sector import Action, load_sector
from fuelkit.flight.state import EndlessSwitchingError
from fuelkit.physics.units import HOUR

SIDES = ("left", "right")
ENGINES = {"left": "engine 1", "right": "engine 2"}


def rule(content, name):
    """Return the table of one rule."""
    return next(table for table in content["rules"] if table["name"] == name)


def times(flight, name, after):
    """Return when a component came into a state."""
    return [change.time for change in flight.changes_of(name) if change.after == after]


def change_at(flight, name, after, number=0):
    """Return one change of a component into a state."""
    return [change for change in flight.changes_of(name) if change.after == after][number]


def behind(flight, change):
    """Return the names of all changes behind a change."""
    found, waiting = [], list(change.causes)
    while waiting:
        cause = flight.changes[waiting.pop()]
        found.append(cause.name)
        waiting += cause.causes
    return found


def is_scripted(flight, time):
    """Whether the sector's file has this time: a phase or an action."""
    written = [a.time for a in flight.sector.actions] + [p.start for p in flight.sector.phases]
    return any(abs(time - t) < 1e-6 for t in written)


# ------------------------------------------------------------------------- what happens, and why
def test_the_centre_tank_is_used_first(flight):
    """In the climb all six pumps run, and both engines are fed from the centre tank alone."""
    now = picture(flight, 3200.0)
    assert all(now.positions[pump.name] == "RUN" for pump in flight.aircraft.pumps)
    for engine in ENGINES.values():
        assert now.feeding[engine] == {"centre": pytest.approx(1.0)}


def test_who_feeds_is_found_from_the_pressures(flight):
    """The centre pumps win since an inboard pump cannot open its sequence valve against them."""
    now, stance = picture(flight, 3200.0), flight.stance(3200.0)
    weight = flight.sector.density * 9.80665
    head = {j.name: weight * stance.height(j.position) for j in flight.aircraft.junctions}
    for line in (x for x in flight.aircraft.lines if x.kind == "relief valve"):
        start, end = (now.pressures[n] + head[n] for n in (line.start, line.end))
        assert start - end < line.opening
        assert now.flows[line.name] == 0.0
    for side in SIDES:
        assert now.flows[f"{side} centre pump"] > 0.1


def test_with_weaker_centre_pumps_the_wings_feed(content, sector):
    """Nothing declares who feeds: other head curves give another answer."""
    for pump in content["pumps"]:
        if pump["kind"] == "override":
            pump["curve"] = [[0, 200], [3000, 180], [6000, 120]]
    flight = fly(aircraft_from(content), replace(sector, end=1_700.0))
    assert flight.position("left centre pump", 1600.0) == "RUN"
    assert flight.feeding("engine 1", 1600.0) == {"left inboard": pytest.approx(1.0)}
    assert flight.feeding("engine 2", 1600.0) == {"right inboard": pytest.approx(1.0)}


def test_high_lift_surfaces_stop_the_centre_pumps_and_let_them_run_again(flight):
    """Off at once when they go out, on again when they come in; each wing feeds its engine."""
    out, back = (
        next(c.time for c in flight.changes_of("high-lift surfaces") if c.after == position)
        for position in ("out", "in")
    )
    for side in SIDES:
        off = change_at(flight, f"{side} centre pump", "OFF")
        assert off.time == out and "high-lift surfaces" in behind(flight, off)
        assert off.rule == f"{side} centre inhibited by high lift"
        on = change_at(flight, f"{side} centre pump", "RUN", 1)
        assert on.time == back and "high-lift surfaces" in behind(flight, on)
        assert "high-lift surfaces are in" in on.reason
        tank = {f"{side} inboard": pytest.approx(1.0)}
        assert flight.feeding(ENGINES[side], 0.5 * (out + back)) == tank


def test_hot_fuel_fills_the_outboard_cells_and_then_runs_over_inboard(flight):
    """First the cell gains what returns; once it is full, the inboard tank does."""
    for side, engine in ENGINES.items():
        back = next(r for r in flight.aircraft.returns if r.end == f"{side} outboard")
        (lit,) = times(flight, back.name, "OPEN")
        full = change_at(flight, f"{side} outboard overflow", "RUNNING")
        assert not is_scripted(flight, full.time)
        assert f"{side} outboard is full" in full.reason
        gained = [flight.quantity(f"{side} outboard", t) for t in (lit, full.time)]
        expected = back.flow * (full.time - lit)
        assert gained[1] - gained[0] == pytest.approx(expected, abs=1e-6)
        assert flight.feeding(engine, 3000.0) == {"centre": pytest.approx(1.0)}
        rise = flight.quantity(f"{side} inboard", 3500.0) - flight.quantity(
            f"{side} inboard", 3000.0
        )
        # the full cell swells a little as it warms: what runs over is a little more
        assert back.flow * 500.0 < rise < 1.05 * back.flow * 500.0


def test_a_centre_pump_rests_and_resumes_at_least_twice_on_each_side(flight):
    """From the full sensor falling wet until 400 kg have gone from that inboard tank."""
    for side in SIDES:
        rests = times(flight, f"{side} centre rests", "ACTIVE")
        ends = times(flight, f"{side} centre rests", "AT REST")
        assert len(rests) >= 2 and len(ends) >= 2
        for number, (rest, end) in enumerate(zip(rests, ends, strict=True)):
            assert not is_scripted(flight, rest) and not is_scripted(flight, end)
            assert flight.quantity(f"{side} inboard", rest) - flight.quantity(
                f"{side} inboard", end
            ) == pytest.approx(400.0, abs=1e-6)
            off = next(c for c in flight.changes_of(f"{side} centre pump") if c.time == rest)
            assert off.after == "OFF" and f"{side} inboard full sensor" in behind(flight, off)
            on = next(c for c in flight.changes_of(f"{side} centre pump") if c.time == end)
            assert on.after == "RUN" and f"{side} inboard has lost 400 kg" in on.reason
            assert f"{side} inboard full sensor" in behind(flight, on), number
            tank = {f"{side} inboard": pytest.approx(1.0)}
            assert flight.feeding(ENGINES[side], 0.5 * (rest + end)) == tank


def test_the_centre_pumps_run_on_for_five_minutes_and_stop(flight):
    """From the low sensor falling dry; meanwhile their inlets fall dry and the wings feed."""
    dry = change_at(flight, "centre low sensor", "DRY")
    assert not is_scripted(flight, dry.time)
    for side in SIDES:
        bare = change_at(flight, f"{side} centre pump", "LOW PRESS")
        off = next(
            c
            for c in flight.changes_of(f"{side} centre pump")
            if c.before == "LOW PRESS" and c.after == "OFF"
        )
        assert off.time == pytest.approx(dry.time + 300.0, abs=1e-6)
        assert dry.time < bare.time < off.time
        assert {f"{side} centre pump inlet", f"{side} centre pump switch"} <= set(
            behind(flight, bare)
        )
        assert "centre low sensor" in behind(flight, off)
        assert flight.feeding(ENGINES[side], bare.time + 1.0) == {
            f"{side} inboard": pytest.approx(1.0)
        }
    assert times(flight, "Left centre pump has no pressure", "SHOWN")


def test_a_low_level_on_one_side_opens_the_transfers_on_both(flight):
    """They open together, though only one inboard tank is low, and carry fuel inboard."""
    low = [s for s in SIDES if times(flight, f"{s} inboard low sensor", "DRY")]
    assert low == ["right"]  # engine 2 burns more, so its side is lower
    (dry,) = times(flight, "right inboard low sensor", "DRY")
    assert not is_scripted(flight, dry)
    for side in SIDES:
        moving, opened = (
            change_at(flight, f"{side} transfer valve", state) for state in ("MOVING", "OPEN")
        )
        assert moving.time == dry and opened.time == pytest.approx(dry + 4.0)
        assert "right inboard low sensor" in behind(flight, opened)
        before = flight.quantity(f"{side} outboard", opened.time)
        assert flight.quantity(f"{side} outboard", opened.time + 120.0) < before - 50.0


def test_the_transfers_stay_open_until_the_next_refuelling(flight):
    """The tank is soon over its low level again; they shut when the refuel panel is opened."""
    (wet,) = times(flight, "right inboard low sensor", "WET")
    (panel,) = [a.time for a in flight.sector.actions if a.order is not None]
    for side in SIDES:
        (opened,), (shut,) = (
            times(flight, f"{side} transfer valve", state) for state in ("OPEN", "SHUT")
        )
        assert opened < wet < panel < shut == pytest.approx(panel + 4.0)
        shutting = change_at(flight, f"{side} transfer valve", "SHUT")
        assert "refuel panel" in behind(flight, shutting)


def test_refuelling_brings_what_was_ordered_and_shuts_by_itself(flight):
    """Each tank's valve shuts at its share; what came in while it shut is small."""
    order = next(a.order for a in flight.sector.actions if a.order is not None)
    assert order <= flight.total(flight.sector.end) < order + 100.0
    for valve in (v for v in flight.aircraft.valves if v.name.endswith("refuel valve")):
        shut = change_at(flight, valve.name, "SHUT")
        assert not is_scripted(flight, shut.time)
        assert f"{valve.end} has its ordered quantity" in behind(flight, shut)


def test_the_apu_draws_by_gravity_after_the_pumps_are_off(flight):
    """Every pump is off, and fuel still runs through the gravity feed valve of the left side."""
    now = picture(flight, 18_600.0)
    assert all(now.positions[pump.name] == "OFF" for pump in flight.aircraft.pumps)
    assert now.feeding["APU"] == {"left inboard": pytest.approx(1.0)}
    assert now.flows["left gravity feed valve"] == pytest.approx(120.0 / HOUR)


def test_counters_show_the_last_flight_until_their_engine_starts_again(halbrook, sector, flight):
    """After shutdown they stand; a second start sets the one of that engine to zero."""
    stopped = times(flight, "engine 1", "OFF")[0]
    used = flight.fuel_used("engine 1", stopped)
    assert used > 4000.0
    assert flight.fuel_used("engine 1", sector.end) == used
    start = change_at(flight, "engine 1 fuel used", "ZERO")
    assert "engine 1" in behind(flight, start) and flight.fuel_used("engine 1", start.time) == 0.0

    again = Action(20_000.0, (("engine 1 fuel lever", "run"),))
    longer = fly(halbrook, replace(sector, actions=(*sector.actions, again)))
    lit = times(longer, "engine 1", "RUN")[1]
    assert longer.fuel_used("engine 1", lit - 1e-3) == pytest.approx(used)
    assert longer.fuel_used("engine 1", lit) == 0.0
    assert longer.fuel_used("engine 1", lit + 100.0) == pytest.approx(10.0)
    assert longer.fuel_used("engine 2", lit + 100.0) == flight.fuel_used("engine 2", sector.end)


def test_every_change_of_a_component_has_a_reason_that_leads_back(flight):
    """Back to a switch, a level or a phase: nothing happens by itself."""
    roots = set()
    for change in flight.changes:
        if not change.causes:
            roots.add(change.name)
    switches = {switch.name for switch in flight.aircraft.switches}
    sensors = {sensor.name for sensor in flight.aircraft.sensors}
    overflows = {overflow.name for overflow in flight.aircraft.overflows}
    inlets = set(flight.hydraulics.plumbing.watched_ports)
    facts = {c.name for c in flight.changes if c.after == "MET"}
    assert roots <= switches | sensors | overflows | inlets | facts | {"phase"}


# --------------------------------------------------------------- other data, another flight
def test_another_mass_in_the_rest_rule_moves_the_resumption_by_what_it_should(
    content, sector, flight
):
    """With 300 kg for 400 kg the pump resumes when 300 kg have gone, and so earlier."""
    for side in SIDES:
        rule(content, f"{side} centre rests")["until"] = [f"{side} inboard has lost 300 kg"]
    other = fly(aircraft_from(content), sector)
    for side in SIDES:
        rest, new = (times(f, f"{side} centre rests", "ACTIVE")[0] for f in (flight, other))
        assert new == rest
        end, new_end = (times(f, f"{side} centre rests", "AT REST")[0] for f in (flight, other))
        gone = [other.quantity(f"{side} inboard", t) for t in (new, new_end)]
        assert gone[0] - gone[1] == pytest.approx(300.0, abs=1e-6)
        assert 0.6 * (end - rest) < new_end - rest < 0.8 * (end - rest)


def test_another_delay_moves_the_end_of_the_run_on(content, sector, flight):
    """With 240 s on the left, the left pump stops 60 s earlier and the right one as before."""
    rule(content, "left centre run-on ended")["after_s"] = 240
    other = fly(aircraft_from(content), sector)
    ends = {
        side: [
            next(c.time for c in f.changes_of(f"{side} centre pump") if c.before == "LOW PRESS")
            for f in (flight, other)
        ]
        for side in SIDES
    }
    assert ends["left"][0] - ends["left"][1] == pytest.approx(60.0, abs=1e-6)
    assert ends["right"][0] == ends["right"][1]


def test_without_its_rule_a_function_is_gone(content, sector):
    """No rest: the hot return runs over into the surge tanks. No transfer: the cells stay full."""
    gone = ("left centre rests", "right centre rests", "outboard transfer")
    content["rules"] = [r for r in content["rules"] if r["name"] not in gone]
    other = fly(aircraft_from(content), sector)
    for side in SIDES:
        assert not times(other, f"{side} transfer valve", "MOVING")
        assert times(other, f"{side} inboard overflow", "RUNNING")
        assert other.quantity(f"{side} outboard", 19_000.0) > 800.0
    assert other.quantity("left surge", 19_000.0) > 1.0


def test_the_rule_that_stands_first_wins(content, sector):
    """With the selection above the inhibition, the centre pumps run with high lift out."""
    chosen = [r for r in content["rules"] if r["name"].endswith("centre pump selected")]
    others = [r for r in content["rules"] if r not in chosen]
    content["rules"] = chosen + others
    other = fly(aircraft_from(content), replace(sector, end=2400.0))
    assert other.position("high-lift surfaces", 2000.0) == "out"
    assert other.position("left centre pump", 2000.0) == "RUN"


def test_a_valve_that_turns_round_takes_as_long_as_it_had_gone(halbrook, sector):
    """Also when it turns twice: 1 s open, 0.4 s back, then the 5.4 s that are left of 6."""
    on, off = (("crossfeed switch", "on"),), (("crossfeed switch", "off"),)
    actions = (Action(10.0, on), Action(11.0, off), Action(11.4, on))
    flight = fly(halbrook, replace(sector, actions=actions, end=100.0))
    assert times(flight, "crossfeed valve", "OPEN") == [pytest.approx(16.8)]
    flight = fly(halbrook, replace(sector, actions=actions[:2], end=100.0))
    assert times(flight, "crossfeed valve", "SHUT") == [pytest.approx(12.0)]


# ------------------------------------------------------------------------ flights that cannot be
def test_two_rules_that_undo_each_other_are_named(content, sector):
    """At one instant, without end: an error that names what changes back and forth."""
    next(v for v in content["valves"] if v["name"] == "crossfeed valve")["travel_s"] = 0
    pair = [
        ("shuts what is open", "crossfeed valve is OPEN", "SHUT"),
        ("opens what is shut", "crossfeed valve is SHUT", "OPEN"),
    ]
    content["rules"] = [
        {"name": name, "all": [fact], "set": {"crossfeed valve": state}, "because": "of a slip"}
        for name, fact, state in pair
    ] + content["rules"]
    with pytest.raises(EndlessSwitchingError, match=r"flight at 0:00:00: .*crossfeed valve") as e:
        fly(aircraft_from(content), sector)
    assert {"shuts what is open", "opens what is shut"} <= set(e.value.names)


def test_rules_that_undo_each_other_in_time_are_stopped_too(content, sector):
    """A valve that opens and shuts for ever, each time after its travel, is no endless instant."""
    content["rules"].insert(
        0,
        {
            "name": "opens what is shut", "all": ["crossfeed valve is SHUT"], "until":
            ["crossfeed valve is OPEN"], "set": {"crossfeed valve": "OPEN"}, "because": "of a slip",
        },
    )  # fmt: skip
    flight = fly(aircraft_from(content), replace(sector, end=120.0, actions=()))
    assert len(times(flight, "crossfeed valve", "OPEN")) == 10


def test_an_engine_that_finds_no_fuel_is_starved_and_says_since_when(halbrook, sector):
    """With too little fuel both engines stop, the return with them, and the crew is told."""
    flight = fly(halbrook, replace(sector, total=3000.0))
    for number in (1, 2):
        stopped = change_at(flight, f"engine {number}", "STARVED")
        assert stopped.reason == "no fuel reaches it"
        assert stopped.causes and not is_scripted(flight, stopped.time)
        assert flight.position(f"engine {number} hot return", stopped.time) == "SHUT"
        assert flight.position(f"Engine {number} is out", stopped.time) == "SHOWN"
    assert abs(flight.conservation_error()) < 1e-3


def test_an_engine_behind_a_shut_valve_is_starved(content, sector):
    """Engine 2 alone: its own shut-off valve is the only way to it."""
    rule(content, "engine 2 alight")["all"] = ["engine 2 fuel lever is run"]
    rule(content, "engine 2 lever at run")["set"] = {"engine 1 shut-off valve": "OPEN"}
    flight = fly(aircraft_from(content), sector)
    assert flight.position("engine 2", 3000.0) == "STARVED"
    assert flight.position("engine 1", 3000.0) == "RUN"


def test_a_flight_begins_as_the_aircraft_has_stood_for_long(halbrook):
    """At the first moment no valve is on its way and no delay runs: cells open, run-on over."""
    flight = fly(halbrook, load_sector("tarn-hollow-eastmere", halbrook))
    assert "MOVING" not in flight.state_at(0.0).positions.values()
    assert flight.position("left transfer valve", 0.0) == "OPEN"
    assert flight.position("left centre run-on ended", 0.0) == "ACTIVE"
    assert {c.after for c in flight.changes_of("left centre pump") if c.time < 400.0} <= {"OFF"}


def test_what_is_set_at_the_first_moment_takes_its_time(halbrook, sector):
    """A valve asked for at 0:00:00 is on its way, and a start takes its delay."""
    first = Action(0.0, (("APU switch", "on"),))
    flight = fly(halbrook, replace(sector, actions=(first, *sector.actions)))
    assert flight.position("APU shut-off valve", 0.0) == "MOVING"
    assert flight.position("APU", 31.0) == "OFF"
    assert flight.position("APU", 33.0) == "RUN"
